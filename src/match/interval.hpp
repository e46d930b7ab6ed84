// The color difference between two colors that are not known exactly.
#pragma once

#include <Eigen/Core>
#include <utility>
#include <vector>

#include "color/color.hpp"

namespace sw {

struct Interval {
    double low = 0, high = 0;
};

/// CIEDE2000 when the difference vector (sample less reference, Lab) is d with covariance S, about the fixed mid-point of the two.
///   median     of the posterior: the figure to show
///   ci95       contains the true difference in 95 % of cases; begins at 0 when the two cannot be told apart
///   distinct   false when d' S^-1 d < 7.815 (chi square, 3 degrees of freedom, 95 %): no difference may be claimed
///   exceeds(t) posterior chance that the difference is larger than t
/// A length is never negative, so a plain Monte Carlo never covers 0: the prior is flat in the length instead of flat in space, and the zero rule
/// above is applied. Quasi-Monte-Carlo with a fixed additive recurrence: same input, same answer. Test: tests/match/interval_test.cpp (coverage
/// table).
class DifferenceDistribution {
public:
    DifferenceDistribution(const Lab& middle, const Eigen::Vector3d& d, const Eigen::Matrix3d& s);
    [[nodiscard]] double median() const { return quantile(0.5); }
    [[nodiscard]] Interval ci95() const;
    [[nodiscard]] bool distinct() const { return distinct_; }
    [[nodiscard]] double exceeds(double threshold) const;
    [[nodiscard]] double quantile(double q) const;

private:
    std::vector<std::pair<double, double>> sorted_;  // difference, weight; weights sum to 1
    bool distinct_ = true;
};

/// CIEDE2000 of a difference vector placed half each way about the middle.
[[nodiscard]] double difference_about(const Lab& middle, const Eigen::Vector3d& d);

/// Root mean square of CIEDE2000 that a covariance S of the difference vector alone would give, to first order.
[[nodiscard]] double size_in_de00(const Lab& middle, const Eigen::Matrix3d& s);

}  // namespace sw
