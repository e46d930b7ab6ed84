// Reads the command lines of what keeps colors and references: screen, target, card, setup.
#pragma once

#include "cli/request.hpp"

namespace sw::args {

[[nodiscard]] Result<Request> parse_card(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_setup(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_screen(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_target(const std::vector<std::string>& arguments);

}  // namespace sw::args
