// What each failure is worth to the shell.
#pragma once

#include "color/result.hpp"

namespace sw {

inline constexpr int kDone = 0, kAnsweredNo = 1, kBadUsage = 2, kBadInput = 3, kWorkbookTrouble = 4, kInternalError = 5;

/// The exit code of a fault. The switch has no default: a new fault does not build until it has a place here.
[[nodiscard]] int exit_code(Fault fault);

}  // namespace sw
