// Standard deviations of what is printed, carried over from the covariance of Lab to first order.
#pragma once

#include <Eigen/Core>
#include <array>

#include "color/color.hpp"

namespace sw {

/// Standard deviations of L*, a*, b*.
[[nodiscard]] std::array<double, 3> lab_spread(const Eigen::Matrix3d& covariance);

/// Standard deviations of L*, C* and hue (degrees). Hue is unknown (NaN) where the chroma is not clear of its own spread
/// (below two standard deviations): there first order says nothing.
[[nodiscard]] std::array<double, 3> lch_sd(const Lab& color, const Eigen::Matrix3d& covariance);

}  // namespace sw
