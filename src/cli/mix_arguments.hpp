// Reads the command lines of mix_requests.hpp.
#pragma once

#include "cli/request.hpp"

namespace sw::args {

[[nodiscard]] Result<Request> parse_paint(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_mix(const std::vector<std::string>& arguments);

}  // namespace sw::args
