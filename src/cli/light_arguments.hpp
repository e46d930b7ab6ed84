// Reads the command lines of what is asked of lights and colors by themselves: spectra, light, color.
#pragma once

#include "cli/request.hpp"

namespace sw::args {

[[nodiscard]] Result<Request> parse_spectra(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_light(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_color_command(const std::vector<std::string>& arguments);

}  // namespace sw::args
