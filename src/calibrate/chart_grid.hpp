// Where grids of plain patches lie in a picture: the half of finding a chart that knows nothing of its colors.
#pragma once

#include <Eigen/Core>
#include <vector>

namespace sw {

/// A picture made small enough to look for things: three planes interleaved, linear light, any scale.
struct SmallPicture {
    int width = 0, height = 0;
    std::vector<float> rgb;
    [[nodiscard]] const float* pixel(int x, int y) const {
        return &rgb[3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x))];
    }
};

/// Plain four-sided patches that stand in rows and columns. `to_picture` takes (column, row, 1) to the middle of that patch in pixels of the picture.
struct PatchGrid {
    Eigen::Matrix3d to_picture;
    std::vector<Eigen::Vector2i> cells;    // columns and rows where a patch was seen; the origin is arbitrary
    std::vector<Eigen::Vector2d> centers;  // pixels, of the same
    double pitch = 0;                      // pixels, in the middle of it
};

/// All grids of six or more patches, most patches first: areas of little change are outlined at four steepnesses, those that are about four-sided are
/// linked to their neighbors, grown over the picture and held to one perspective. Patches may be missing (shadow edges, glare, things in front).
/// Patches from some 8 pixels of side to a quarter of the picture.
[[nodiscard]] std::vector<PatchGrid> patch_grids(const SmallPicture&);

/// Perspective through pairs of points, least squares with outliers weighted down: columns of `from` to columns of `to`; four or more, not in a row.
[[nodiscard]] Eigen::Matrix3d perspective(const Eigen::Matrix2Xd& from, const Eigen::Matrix2Xd& to);

}  // namespace sw
