#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "color/result.hpp"

namespace sw::window {

/// Writes 8-bit RGB, rows from the top, as PNG. Error: file_missing with what to do when the file cannot be written.
[[nodiscard]] Result<Done> write_png(const std::string& path, int width, int height, const std::vector<std::uint8_t>& rgb);

}  // namespace sw::window
