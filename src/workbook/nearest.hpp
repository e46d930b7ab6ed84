// Colors near a color, and targets that are near each other.
#pragma once

#include <span>

#include "workbook/workbook.hpp"

namespace sw {

/// The color relative to D50, 2 degrees, so that colors stated for several lights can be held against each other: adapted by Bradford.
[[nodiscard]] Lab under_d50(const Lab&);

struct Near {
    std::size_t index = 0;
    double de00 = 0;
};
/// Those of `colors` within a CIEDE2000 of `wanted`, nearest first. All of one white. Test: tests/workbook/find_test.cpp, against doing without its
/// bound.
[[nodiscard]] std::vector<Near> nearest(std::span<const Lab> colors, const Lab& wanted, double within);

/// Standard deviation of the CIEDE2000 between two colors whose difference has this covariance: over points one standard deviation off in each
/// principal direction; exact where the difference goes straight with the color, and no less than the spread where it is near 0.
[[nodiscard]] double difference_sd(const Lab& reference, const Lab& sample, const Eigen::Matrix3d& covariance);

/// Two targets that may be one: their difference is below what half of all observers see (0.8), or not clear of its own doubt (two standard
/// deviations) and below 3.
struct Twins {
    std::size_t one = 0, two = 0;  // places in the list, one < two
    double de00 = 0, sd = 0;
};
[[nodiscard]] std::vector<Twins> twins(const std::vector<Target>& targets);
/// Those of one target, which need not be in the list; a target of the same id is left out. `one` is then the place in the list, `two` 0.
[[nodiscard]] std::vector<Twins> twins_of(const Target& target, const std::vector<Target>& targets);

}  // namespace sw
