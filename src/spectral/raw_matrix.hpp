// A raw file carries its maker's matrix from XYZ to the sensor's RGB: nine figures about the camera, taken as an observation.
#pragma once

#include <Eigen/Core>
#include <optional>

#include "spectral/sensitivity.hpp"

namespace sw {

/// The cameras as they are believed to be once the matrix is seen: Gaussian update of the statistics' components by the matrix each camera would have
/// (best_matrix under D65, inverted, rows scaled to 1 for white; linear about the mean, twice).
///   from_xyz_d65  XYZ under D65 -> sensor's linear RGB, each row of any scale
/// How far makers' matrices stand from that one was measured with matrices fitted on a chart to 23 cameras (tests/calibrate/cameras_study.cpp); that
/// makers fit theirs on other surfaces and with other aims is common practice, no source, and doubles the spread.
/// Nothing: no camera (singular, not a number), or unlike all cameras learned from (its distance is beyond the 99.99 % of theirs).
[[nodiscard]] std::optional<CameraStatistics> cameras_with_matrix(const CameraStatistics&, const Eigen::Matrix3d& from_xyz_d65);

}  // namespace sw
