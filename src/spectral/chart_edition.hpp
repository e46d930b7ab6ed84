// The 24-patch chart in its two editions: the maker changed the formulations in November 2014.
#pragma once

#include <Eigen/Core>
#include <array>
#include <optional>
#include <string>

#include "spectral/surfaces.hpp"

namespace sw {

enum class ChartEdition { before_2014, from_2014 };
/// "before 2014", "of 2014".
[[nodiscard]] std::string to_word(ChartEdition);

/// What is published of it: one chart measured in 1997 (ISO 17321-1, chart_reflectances()), the mean of 30 charts made before November 2014, and the
/// colors of the later edition. Charts of one edition differ by as much as the first two do (1 to 3 CIEDE2000).
enum class ChartTable { one_before, mean_before, from_2014 };
inline constexpr std::size_t kChartTables = 3;
[[nodiscard]] constexpr ChartEdition edition_of(ChartTable t) {
    return t == ChartTable::from_2014 ? ChartEdition::from_2014 : ChartEdition::before_2014;
}

/// What the patches reflect, patch 1 first.
struct ChartColors {
    Eigen::Matrix<double, kModelBands, 24> reflectance;
    std::array<Eigen::MatrixXd, 24> covariance;  // 71 x 71; empty where the reflectance was measured
};
/// one_before is measured. The other two are known by their Lab alone (assets/cie/chart24_lab_mean.csv, chart24_lab_2014.csv), so each measured
/// reflectance is moved to that Lab by the smallest smooth change of its log odds, log(R / (1 - R)): a Gaussian process over wavelength (50 nm wide),
/// whose size is that of the changes found; what Lab leaves open of it is the covariance.
[[nodiscard]] const ChartColors& chart_colors(ChartTable);
/// Mean and covariance where each table has so much of the belief; shares are 0 or more and sum to 1.
[[nodiscard]] ChartColors chart_colors(const std::array<double, kChartTables>& shares);

}  // namespace sw
