// A set-up as JSON text, for a workbook to keep.
#pragma once

#include <string>

#include "calibrate/setup.hpp"

namespace sw {

/// UTF-8. The prior of the camera is not in it: it is computed again from the light and the rendering. A light that its name does not tell (a
/// measured file) is kept by its spectrum.
[[nodiscard]] std::string to_text(const Setup&);
/// Untrusted text: sizes, finite numbers and ranges are checked, covariances are positive semidefinite. Some 20 ms, the prior's.
/// Error (workbook_unreadable): what of it cannot be.
[[nodiscard]] Result<Setup> setup_of_text(const std::string&);

}  // namespace sw
