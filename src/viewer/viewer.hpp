// The window. `swatchwright window [PHOTO] [--workbook FILE] [--demo FOLDER] [--size WxH] [--scale S] [--script FILE] [--screenshot FILE.png]
// [--lit-by LIGHT]`.
#pragma once

#include <iosfwd>
#include <optional>
#include <string>
#include <vector>

#include "color/result.hpp"

namespace sw {

/// Opens the window and returns when it is closed (or after the script and screenshot are done). Arguments after `window`.
/// Returns nothing, or the fault that ended it; messages go to err.
[[nodiscard]] std::optional<Fault> run_window(const std::vector<std::string>& arguments, std::ostream& err);

}  // namespace sw
