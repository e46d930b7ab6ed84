// A region as a calibrated camera senses it: the point and doubts from which every statement about its color starts. For match/ and calibrate/.
#pragma once

#include <Eigen/Core>

#include "calibrate/calibration.hpp"
#include "calibrate/sensor_model.hpp"

namespace sw {

/// Factor on the variance that surfaces of like reading have in the library: raw, it covers a little too little of surfaces made otherwise. Chosen
/// with the 190 reflectances under 23 cameras in view (1: 92 to 98 %, 1.2: 95 to 99 %; tests/calibrate/cameras_study.cpp prints it).
inline constexpr double kSpread = 1.2;

/// Middle of a region's bounds: where its color is taken to be.
[[nodiscard]] Point center(const Region&);

struct SensedColor {
    Eigen::Vector3d scene;     // diffuser = 1
    Eigen::Vector3d feature;   // Lab-like, coordinates of SensorModel::view
    Eigen::Matrix3d by_scene;  // derivative of feature
    Eigen::Matrix3d noise;     // covariance of feature from this region's own noise: grain, texture, uneven light too fine to model
    Eigen::Matrix<double, 3, doubt_count> by_doubts;  // derivative of feature with respect to the calibration's doubts
};
[[nodiscard]] SensedColor sense(const Calibration&, const RegionStatistics&, Point at);

/// How the feature hangs on the whole belief (sensitivity, then doubts): 3 x kBeliefSize. Shared by all regions of a photo.
[[nodiscard]] Eigen::MatrixXd by_belief(const SensedColor&, const ModelSpectrum& reflectance);

/// The surface's color under a light, all doubts included. target: lab_view of `under`. Some 1 ms.
struct SurfaceColor {
    Eigen::Vector3d lab;  // relative to the target light's white
    Eigen::Matrix3d covariance;
    double distance = 0;  // of the nearest known surfaces, CIE94 units: large = unlike anything in the library
};
[[nodiscard]] SurfaceColor surface_color(const Calibration&, const RegionStatistics&, Point at, const Light& under, Observer,
                                         const LibraryView& target);

/// Covariance of the feature from the calibration alone.
[[nodiscard]] Eigen::Matrix3d feature_doubt(const Calibration&, const SensedColor&, const ModelSpectrum& reflectance);

}  // namespace sw
