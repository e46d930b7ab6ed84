// The window's arguments.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "color/result.hpp"

namespace sw::window {

struct Options {
    std::string photo, workbook, demo, script, screenshot, lit_by, timings;
    std::optional<int> width, height;
    std::optional<float> scale;
    float letter_gap = 0;  // px at scale 1 behind each letter: how longer words would fit
};

/// What the arguments are, and all that a script can say.
[[nodiscard]] std::string window_help();
/// Error: bad_usage, place is the argument.
[[nodiscard]] Result<Options> parse_options(const std::vector<std::string>& arguments);

}  // namespace sw::window
