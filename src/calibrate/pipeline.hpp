// The plain map as an lcms2 pipeline: the outside witness for it.
#pragma once

#include "calibrate/calibration.hpp"

namespace sw {

/// Lab (D50) of one color of the photo (linear RGB) through the lcms2 pipeline, to be held against plain_map. Curves are clipped to 0..1 as lcms2
/// does.
[[nodiscard]] Lab pipeline_lab(const Calibration&, const Eigen::Vector3d& rgb);

}  // namespace sw
