// The manual page and the shell's completion, made from the help texts of the commands, which are made from their options.
#pragma once

#include <string>

namespace sw {

/// For man(1), section 1: every command with its help.
[[nodiscard]] std::string manual_page();
/// For bash: commands, their actions, their options, else files.
[[nodiscard]] std::string bash_completion();

}  // namespace sw
