// Colors as vectors (L*, a*, b*), and standard deviations along lightness, chroma and hue.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cmath>

#include "color/color.hpp"

namespace sw {

[[nodiscard]] inline Eigen::Vector3d vector_of(const Lab& color) { return {color.L, color.a, color.b}; }
[[nodiscard]] inline Lab lab_of(const Eigen::Vector3d& v, const Xyz& white) { return {v[0], v[1], v[2], white}; }

/// Of dL*, dC*, dH* (in this order), to first order: a difference's covariance (L*, a*, b*) along the chroma of the middle of both and across it.
/// A neutral middle: along a*.
[[nodiscard]] inline std::array<double, 3> component_sd(const Lab& middle, const Eigen::Matrix3d& covariance) {
    const double chroma = std::hypot(middle.a, middle.b);
    const Eigen::Vector3d along = chroma > 1e-6 ? Eigen::Vector3d(0, middle.a / chroma, middle.b / chroma) : Eigen::Vector3d(0, 1, 0);
    const Eigen::Vector3d across(0, -along[2], along[1]);
    return {std::sqrt(covariance(0, 0)), std::sqrt(along.dot(covariance * along)), std::sqrt(across.dot(covariance * across))};
}

}  // namespace sw
