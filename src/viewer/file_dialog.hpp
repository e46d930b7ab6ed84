// The desktop's own dialog for choosing a file, where the desktop has one for programs like this: a helper program that prints the path.
#pragma once

#include <optional>
#include <stop_token>
#include <string>

#include "color/result.hpp"

namespace sw::window {

/// The helper that is there, by its full path: zenity, else kdialog. path: as in $PATH. Nothing where neither is.
[[nodiscard]] std::optional<std::string> dialog_helper(const std::string& path);

/// Asks, and waits for the answer: off the frame. Empty where it was given up or stopped. folder: where it begins; may be empty. Error: file_missing,
/// the helper cannot be run.
[[nodiscard]] Result<std::string> ask_for_picture(const std::string& helper, const std::string& folder, const std::stop_token& stop);

}  // namespace sw::window
