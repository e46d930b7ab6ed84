// How the light changes across a plain thing in the photo: every card, patch and chip shows the slope of the light on it.
#pragma once

#include <Eigen/Core>
#include <optional>

#include "photo/photo.hpp"
#include "photo/region.hpp"

namespace sw {

/// Slope of the logarithm of luminance (linear picture values), per pixel along x and y, at the region's center.
struct LightSlope {
    Point at;
    Eigen::Vector2d slope;
    Eigen::Matrix2d covariance;
    double level = 0;  // linear luminance there, picture's scale
};
/// Least squares over means of at most 8 x 8 blocks, each a median-of-rows mean, blocks outside the region left out. Nothing where fewer than 9
/// blocks of 4 x 4 pixels fit, or where the region is too dark to tell.
[[nodiscard]] std::optional<LightSlope> light_slope(const Photo&, const Region&);

}  // namespace sw
