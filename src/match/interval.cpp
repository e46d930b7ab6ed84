#include "match/interval.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace sw {
namespace {

constexpr int kDraws = 2048;
constexpr double kNotToBeRuledOut = 0.05;  // share of a scatter, after what was read, that keeps a claim from being made against it

/// Inverse of the standard normal distribution by Newton on erfc; 0 < p < 1.
double normal_quantile(double p) {
    double x = 0;
    for (int i = 0; i < 60; ++i) {
        const double f = 0.5 * std::erfc(-x / std::sqrt(2.0)) - p, slope = std::exp(-0.5 * x * x) / std::sqrt(2 * 3.141592653589793);
        const double move = std::clamp(f / std::max(slope, 1e-12), -0.5, 0.5);
        x -= move;
        if (std::abs(move) < 1e-12) break;
    }
    return x;
}

/// Six normal figures a draw, evenly spread: additive recurrence with the powers of 1/g, of generalized golden ratios: g^4 = g + 1 for the first
/// three, g^7 = g + 1 for all six. Every second one is the one before mirrored: chip and swatch exchanged give the same interval.
using Draw = Eigen::Matrix<double, 6, 1>;
std::vector<Draw> evenly_spread(int dimensions, double g) {
    std::vector<Draw> all(kDraws, Draw::Zero());
    for (int i = 0; i < kDraws / 2; ++i) {
        double power = 1;
        Draw& draw = all[static_cast<std::size_t>(2 * i)];
        for (int k = 0; k < dimensions; ++k) {
            power /= g;
            const double u = 0.5 + (i + 1) * power;
            draw[k] = normal_quantile(std::clamp(u - std::floor(u), 1e-6, 1 - 1e-6));
        }
        all[static_cast<std::size_t>(2 * i + 1)] = -draw;
    }
    return all;
}
const std::vector<Draw>& normal_draws(bool six) {
    static const std::vector<Draw> three = evenly_spread(3, 1.2207440846057596), all = evenly_spread(6, 1.1127756842787055);
    return six ? all : three;
}

/// A square root of a covariance; never quite singular.
Eigen::Matrix3d root_of(const Eigen::Matrix3d& s) {
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> eigen(s);
    return eigen.eigenvectors() * eigen.eigenvalues().cwiseMax(1e-8).cwiseSqrt().asDiagonal();
}

/// Chance that chi square with 3 degrees of freedom is above x.
double above_chi_square(double x) {
    x = std::max(x, 0.0);
    return std::erfc(std::sqrt(x / 2)) + std::sqrt(2 * x / 3.141592653589793) * std::exp(-x / 2);
}

}  // namespace

double difference_about(const Lab& middle, const Eigen::Vector3d& d, const Weights& weights) {
    Lab low = middle, high = middle;
    low.L -= d[0] / 2;
    low.a -= d[1] / 2;
    low.b -= d[2] / 2;
    high.L += d[0] / 2;
    high.a += d[1] / 2;
    high.b += d[2] / 2;
    return difference_2000(low, high, weights);
}

double size_in_de00(const Lab& middle, const Eigen::Matrix3d& s, const Weights& weights) {
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> eigen(s);
    double sum = 0;
    for (int i = 0; i < 3; ++i) {
        const double length = std::sqrt(std::max(eigen.eigenvalues()[i], 0.0));
        const double de = difference_about(middle, 0.1 * eigen.eigenvectors().col(i), weights) / 0.1;  // per unit of length near zero
        sum += de * de * length * length;
    }
    return std::sqrt(sum);
}

DifferenceDistribution::DifferenceDistribution(const Lab& middle, const Eigen::Vector3d& d, const std::vector<Scatter>& scatter,
                                               const Weights& weights) {
    double soft = std::numeric_limits<double>::infinity();
    for (const Scatter& one : scatter) {
        const double size = size_in_de00(middle, one.covariance, weights);
        soft = std::min(soft, 0.01 * size * size + 1e-9);
    }
    sorted_.reserve(kDraws * scatter.size());
    double total = 0;
    std::vector<double> same;
    for (const Scatter& one : scatter) {
        const bool more = !one.beyond.isZero();
        double sum = 0;
        const Eigen::Matrix3d root = root_of(one.covariance), root_beyond = root_of(one.beyond), whole = root_of(one.covariance + one.beyond);
        same.push_back(above_chi_square((whole.inverse() * d).squaredNorm()));
        const std::vector<Draw>& draws = normal_draws(more);
        const std::size_t enough = scatter.size() > 1 ? draws.size() / 2 : draws.size();
        for (std::size_t i = 0; i < enough; ++i) {
            const Draw& u = draws[i];
            const Eigen::Vector3d read = d + root * u.head<3>();
            const double length = difference_about(middle, read, weights), far = length / one.reach;
            const double weight = one.share * std::exp(-0.5 * far * far) / (length * length + soft);
            sorted_.emplace_back(more ? difference_about(middle, read + root_beyond * u.tail<3>(), weights) : length, weight);
            sum += weight;
        }
        shares_.push_back(sum);
        total += sum;
    }
    for (double& share : shares_) share /= total;
    for (std::size_t k = 0; k < same.size(); ++k) {
        if (shares_[k] >= kNotToBeRuledOut) same_ = std::max(same_, same[k]);
    }
    std::sort(sorted_.begin(), sorted_.end());
    for (auto& entry : sorted_) entry.second /= total;
}

double DifferenceDistribution::quantile(double q) const {
    double sum = 0;
    for (const auto& [de, weight] : sorted_) {
        sum += weight;
        if (sum >= q) return de;
    }
    return sorted_.back().first;
}

Interval DifferenceDistribution::ci95() const {
    // 96 % between the quantiles, or up to the 96 % quantile from 0: the level that covers 95 % in tests/match/interval_test.cpp
    return distinct() ? Interval{quantile(0.02), quantile(0.98)} : Interval{0, quantile(0.96)};
}

double DifferenceDistribution::exceeds(double threshold) const {
    double sum = 0;
    for (const auto& [de, weight] : sorted_) {
        if (de > threshold) sum += weight;
    }
    return sum;
}

}  // namespace sw
