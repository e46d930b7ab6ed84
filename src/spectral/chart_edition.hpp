// The 24-patch chart in its two editions: the maker changed the formulations in November 2014.
#pragma once

#include <Eigen/Core>
#include <array>
#include <optional>
#include <string>

#include "spectral/surfaces.hpp"

namespace sw {

enum class ChartEdition { before_2014, from_2014 };

/// What the patches reflect, patch 1 first.
struct ChartColors {
    Eigen::Matrix<double, kModelBands, 24> reflectance;
    std::array<Eigen::MatrixXd, 24> covariance;  // 71 x 71; empty where the reflectance was measured
};
/// before_2014: the measured figures of ISO 17321-1, chart_reflectances(). from_2014: known by its Lab alone (assets/cie/chart24_lab_2014.csv), so
/// each older reflectance is moved to the new Lab by the smallest smooth change of its log odds, log(R / (1 - R)): a Gaussian process over wavelength
/// (50 nm wide), whose size is that of the changes found; what Lab leaves open of it is the covariance.
[[nodiscard]] const ChartColors& chart_colors(ChartEdition);
/// Where it cannot be told which it is: between the two, with half of their difference as standard deviation.
[[nodiscard]] const ChartColors& chart_colors_of_either();

}  // namespace sw
