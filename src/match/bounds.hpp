// What physics allows: the colors under another light of all surfaces that a camera sees alike.
#pragma once

#include <Eigen/Core>
#include <vector>

#include "spectral/bands.hpp"

namespace sw {

/// Extreme XYZ (Y = 1 for the diffuser) under `target` of all reflectances 0..1 with rows * R = seen (scene RGB, diffuser = 1), one for each of
/// 14 directions. A footnote for what physics allows, never an interval. Empty where no surface can read like that.
/// Source: metamer mismatch body, Logvinenko, Funt & Godau 2014, IEEE TIP 23(1); here by the smoothed dual of the linear program.
[[nodiscard]] std::vector<Eigen::Vector3d> mismatch_extremes(const Eigen::Matrix<double, 3, kModelBands>& rows, const Eigen::Vector3d& seen,
                                                             const ObserverMatrix& target);

}  // namespace sw
