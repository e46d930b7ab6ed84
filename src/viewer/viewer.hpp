// The window. `swatchwright window [PHOTO] [--workbook FILE] [--demo FOLDER] [--size WxH] [--scale S] [--script FILE] [--screenshot FILE.png]
// [--lit-by LIGHT]`.
#pragma once

#include <iosfwd>
#include <string>
#include <vector>

namespace sw {

/// Opens the window and returns when it is closed (or after the script and screenshot are done). Arguments after `window`.
/// Returns an exit code as in cli/cli.hpp; messages go to err.
[[nodiscard]] int run_window(const std::vector<std::string>& arguments, std::ostream& err);

}  // namespace sw
