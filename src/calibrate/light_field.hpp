// How the light changes across a plain thing in the photo: every card, patch and chip shows the slope of the light on it.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <vector>

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

/// Something of one color that the user marked as plain: the bench, a board, a wall. What it reads from place to place is the light's doing.
struct PlainArea {
    struct Block {
        Point at;
        Eigen::Vector3d rgb;  // picture's linear RGB, all channels above 0.002
        double weight = 1;    // 0..1: things that lie on it and specks count little
    };
    Region region;
    std::vector<Block> blocks;
    double grain = 0;  // relative rms of the blocks about a smooth surface, weighted
    double kept = 0;   // share of the region's blocks that count
};
/// Means of at most 24 x 16 blocks that lie inside the region and touch none of `others`, weighed by how they lie about a surface of degree 2 in
/// logarithms. Nothing where fewer than 12 blocks of 4 x 4 pixels can be used.
[[nodiscard]] std::optional<PlainArea> plain_area(const Photo&, const Region&, const std::vector<Region>& others);

}  // namespace sw
