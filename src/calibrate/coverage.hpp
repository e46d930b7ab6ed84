// Which colors a calibration's references say nothing about.
#pragma once

#include <string>
#include <vector>

#include "calibrate/calibration.hpp"

namespace sw {

/// In plain words, each a kind of color that lies outside what the used references span: "colors darker than L* 36", "reds stronger than C* 22", "all
/// colors but grays: no colored reference". Empty never: no set of references spans everything. Strength by hue, in sectors of 60 degrees around
/// the names; a sector is as strong as its strongest reference, and counts as covered from C* 60 on. Limits are our own judgment.
[[nodiscard]] std::vector<std::string> not_covered(const std::vector<ReferenceUse>&);

}  // namespace sw
