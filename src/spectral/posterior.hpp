// The color under another light (or to an eye instead of a camera) of the surface behind a reading: local linear regression over the surface library.
// A "view" is what one camera or observer under one light sees of every surface of the library, in Lab-like coordinates; a reading is a point in it.
#pragma once

#include <Eigen/Core>
#include <vector>

#include "spectral/bands.hpp"

namespace sw {

/// rows x surfaces of the library; 3 rows for a color, 71 for the reflectance itself.
using LibraryView = Eigen::MatrixXf;

/// Lab of every library surface under a light, relative to its white. Some 8 ms.
[[nodiscard]] LibraryView lab_view(const Light&, Observer);
/// The same of a library of one's own.
[[nodiscard]] LibraryView lab_view(const Light&, Observer, const LibraryView& library);
/// Lab of rows * R relative to a white.
[[nodiscard]] LibraryView lab_view(const Eigen::Matrix<double, 3, kModelBands>& rows, const Eigen::Vector3d& white, const LibraryView& library);
/// Lab-like coordinates of what a sensitivity sees: lab(matrix * rows * R), white D50. matrix: from best_matrix for D50.
[[nodiscard]] LibraryView sensor_view(const Eigen::Matrix<double, 3, kModelBands>& rows, const Eigen::Matrix3d& matrix);
/// Reflectances, 71 rows.
[[nodiscard]] const LibraryView& reflectance_view();

/// Surfaces that look like the reading, with their weights (sum 1).
struct Neighborhood {
    std::vector<int> index;  // nearest first
    Eigen::VectorXd weight;
    double distance = 0;      // of the 60th neighbor, CIE94 units: large = unlike anything in the library
    double range_factor = 1;  // of the readings' mean: see range_factor()
};
/// views and at: one per reading of the same surface, Lab-like. least_width: kernel's least standard deviation in CIE94 units. count: how many
/// neighbors, 61..all; 0: 600, which are enough for one reading and two (measured: 300..1500 say the same), and with a kernel wider than 4 as many
/// more as it has room, up to 4800: else they, not the kernel, would bound what stays open. pull: how much each reading's distance counts, 1 where
/// empty: below 1 for a reading that is doubted more than another. Some 0.4 ms.
[[nodiscard]] Neighborhood neighborhood(const std::vector<const LibraryView*>& views, const std::vector<Eigen::Vector3d>& at, double least_width = 4,
                                        int count = 0, const std::vector<double>& pull = {});

/// By how much the variance that is left among like surfaces must be raised so that 95 % regions hold 95 % of surfaces from a source that the library
/// has not seen: conformal factors (Papadopoulos et al. 2002 for the idea) by region of Lab, dark (L* < 35), near neutral (C* < 15) and other, >= 1.
/// Learned on the published samples, each source left out in turn (tests/learn/learn_ranges.cpp, assets/spectral/ranges.csv).
[[nodiscard]] double range_factor(const Eigen::Vector3d& lab);

/// target ~ mean + gain * (reading - at), leaving `residual` (covariance). Readings and targets stacked.
struct LocalMap {
    Eigen::VectorXd at;        // 3 x readings
    Eigen::VectorXd mean;      // of the targets at `at`
    Eigen::MatrixXd gain;      // targets x readings
    Eigen::MatrixXd residual;  // targets x targets, without the readings' noise; raised by the neighborhood's range_factor
};
/// noise: covariance of the stacked readings, which the gain must know (noisy readings pull less).
[[nodiscard]] LocalMap local_map(const Neighborhood&, const std::vector<const LibraryView*>& views, const std::vector<Eigen::Vector3d>& at,
                                 const Eigen::MatrixXd& noise, const std::vector<const LibraryView*>& targets);
/// The same of what the neighbors read and are, gathered by the caller: readings and targets, one column a neighbor. at: one value a row of readings.
[[nodiscard]] LocalMap local_map(const Neighborhood&, Eigen::MatrixXd readings, Eigen::MatrixXd targets, const Eigen::VectorXd& at,
                                 const Eigen::MatrixXd& noise);

/// Source of the method: locally weighted regression (Cleveland 1979) with errors in the readings. Kernel and widths were measured on published
/// samples left out of the library: widths of 2..6, 300..1200 neighbors, a quadratic instead of a linear map and the conditional median instead of
/// the mean change the errors by less than 2 % either way, so the plainest was kept (tests/spectral/bars_study.cpp prints the figures).

}  // namespace sw
