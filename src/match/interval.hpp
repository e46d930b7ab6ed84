// The color difference between two colors that are not known exactly.
#pragma once

#include <Eigen/Core>
#include <limits>
#include <utility>
#include <vector>

#include "color/color.hpp"
#include "color/difference.hpp"

namespace sw {

struct Interval {
    double low = 0, high = 0;
};

/// One way the difference vector may err, and what speaks for it before anything is read: its share among pairs that do not differ (shares add up to
/// 1), and how fast that share falls with the true difference (Gaussian; `reach` in CIEDE2000, infinite: not at all).
struct Scatter {
    double share = 1;
    Eigen::Matrix3d covariance;
    double reach = std::numeric_limits<double>::infinity();
    Eigen::Matrix3d beyond = Eigen::Matrix3d::Zero();  // what comes on top of what was read: the prior of a length is laid on the reading alone
};

/// CIEDE2000 when the difference vector (sample less reference, Lab) is d with covariance S, about the fixed mid-point of the two. S may be one of
/// several, each with its share.
///   median     of the posterior: the figure to show
///   ci95       contains the true difference in 95 % of cases; begins at 0 when the two cannot be told apart
///   same       chance that two equal colors would read as far apart as this or farther (chi square of d' S^-1 d, 3 degrees of freedom); of several
///              scatters the largest, of those that what was read leaves a share of 5 %
///   distinct   false when that is 5 % or more: no difference may be claimed
///   exceeds(t) posterior chance that the difference is larger than t
/// A length is never negative, so a plain Monte Carlo never covers 0: the prior is flat in the length instead of flat in space, and the zero rule
/// above is applied. Quasi-Monte-Carlo with a fixed additive recurrence: same input, same answer. Test: tests/match/interval_test.cpp (coverage
/// table).
class DifferenceDistribution {
public:
    DifferenceDistribution(const Lab& middle, const Eigen::Vector3d& d, const std::vector<Scatter>& scatter, const Weights& weights = {});
    DifferenceDistribution(const Lab& middle, const Eigen::Vector3d& d, const Eigen::Matrix3d& s)
        : DifferenceDistribution(middle, d, std::vector<Scatter>{{1, s}}) {}
    [[nodiscard]] double median() const { return quantile(0.5); }
    [[nodiscard]] Interval ci95() const;
    [[nodiscard]] double same() const { return same_; }
    [[nodiscard]] bool distinct() const { return same_ < 0.05; }
    [[nodiscard]] double exceeds(double threshold) const;
    [[nodiscard]] double quantile(double q) const;
    [[nodiscard]] const std::vector<double>& shares() const { return shares_; }  // of each scatter, after what was read

private:
    std::vector<double> shares_;
    std::vector<std::pair<double, double>> sorted_;  // difference, weight; weights sum to 1
    double same_ = 0;
};

/// CIEDE2000 of a difference vector placed half each way about the middle.
[[nodiscard]] double difference_about(const Lab& middle, const Eigen::Vector3d& d, const Weights& weights = {});

/// Root mean square of CIEDE2000 that a covariance S of the difference vector alone would give, to first order.
[[nodiscard]] double size_in_de00(const Lab& middle, const Eigen::Matrix3d& s, const Weights& weights = {});

}  // namespace sw
