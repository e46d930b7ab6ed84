#include "cli/spread.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace sw {

std::array<double, 3> lab_spread(const Eigen::Matrix3d& covariance) {
    std::array<double, 3> sd{};
    for (int i = 0; i < 3; ++i) sd[static_cast<std::size_t>(i)] = std::sqrt(std::max(0.0, covariance(i, i)));
    return sd;
}

std::array<double, 3> lch_sd(const Lab& color, const Eigen::Matrix3d& covariance) {
    const double chroma = std::hypot(color.a, color.b);
    const double unknown = std::numeric_limits<double>::quiet_NaN();
    if (chroma < 1e-6) {
        const double sd = std::sqrt(std::max({0.0, covariance(1, 1), covariance(2, 2)}));
        return {lab_spread(covariance)[0], sd, unknown};
    }
    const Eigen::Vector2d along(color.a / chroma, color.b / chroma), across(-color.b / chroma, color.a / chroma);
    const Eigen::Matrix2d ab = covariance.block<2, 2>(1, 1);
    const double chroma_sd = std::sqrt(std::max(0.0, along.dot(ab * along)));
    const double across_sd = std::sqrt(std::max(0.0, across.dot(ab * across)));
    const bool clear = chroma > 2 * std::max(chroma_sd, across_sd);
    return {lab_spread(covariance)[0], chroma_sd, clear ? across_sd / chroma * 180 / std::numbers::pi : unknown};
}

}  // namespace sw
