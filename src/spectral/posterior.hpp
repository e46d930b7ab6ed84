// The color under another light (or to an eye instead of a camera) of the surface behind a reading: local linear regression over the surface library.
// A "view" is what one camera or observer under one light sees of every surface of the library, in Lab-like coordinates; a reading is a point in it.
#pragma once

#include <Eigen/Core>
#include <vector>

#include "spectral/bands.hpp"

namespace sw {

/// rows x surfaces of the library; 3 rows for a color, 71 for the reflectance itself.
using LibraryView = Eigen::MatrixXf;

/// Lab of every library surface under a light, relative to its white.
[[nodiscard]] LibraryView lab_view(const Light&, Observer);
/// Lab-like coordinates of what a sensitivity sees: lab(matrix * rows * R), white D50. matrix: from best_matrix for D50.
[[nodiscard]] LibraryView sensor_view(const Eigen::Matrix<double, 3, kModelBands>& rows, const Eigen::Matrix3d& matrix);
/// Reflectances, 71 rows.
[[nodiscard]] const LibraryView& reflectance_view();

/// Surfaces that look like the reading, with their weights (sum 1).
struct Neighborhood {
    std::vector<int> index;
    Eigen::VectorXd weight;
    double distance = 0;  // of the 60th neighbor, CIE94 units: large = unlike anything in the library
};
/// views and at: one per reading of the same surface, Lab-like. least_width: kernel's least standard deviation in CIE94 units.
[[nodiscard]] Neighborhood neighborhood(const std::vector<const LibraryView*>& views, const std::vector<Eigen::Vector3d>& at, double least_width = 4);

/// target ~ mean + gain * (reading - at), leaving `residual` (covariance). Readings and targets stacked.
struct LocalMap {
    Eigen::VectorXd at;        // 3 x readings
    Eigen::VectorXd mean;      // of the targets at `at`
    Eigen::MatrixXd gain;      // targets x readings
    Eigen::MatrixXd residual;  // targets x targets, without the readings' noise
};
/// noise: covariance of the stacked readings, which the gain must know (noisy readings pull less).
[[nodiscard]] LocalMap local_map(const Neighborhood&, const std::vector<const LibraryView*>& views, const std::vector<Eigen::Vector3d>& at,
                                 const Eigen::MatrixXd& noise, const std::vector<const LibraryView*>& targets);

/// Source of the method: locally weighted regression (Cleveland 1979) with errors in the readings; kernel and widths measured on reflectances not in
/// the library (tests/spectral/posterior_test.cpp prints the figures).

}  // namespace sw
