// The command line: reads arguments, calls the rooms on its left, prints. No science here.
#pragma once

#include <iosfwd>
#include <string>
#include <vector>

namespace sw {

/// Runs one command (arguments without the program's name). Results go to out, messages to err.
/// Returns the exit code: 0 done; 1 answered "no" where --check asked; 2 bad usage; 3 bad or unreadable input; 4 workbook; 5 internal error.
/// `window` is not handled here: see wants_window.
[[nodiscard]] int run_command(const std::vector<std::string>& arguments, std::ostream& out, std::ostream& err);

/// True if the arguments ask for the window: none at all, or the first is `window`.
[[nodiscard]] bool wants_window(const std::vector<std::string>& arguments);

}  // namespace sw
