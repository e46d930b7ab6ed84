// The 24-patch chart in a photo: where its patches are.
#pragma once

#include <Eigen/Core>
#include <array>
#include <string>
#include <vector>

#include "color/result.hpp"
#include "photo/photo.hpp"
#include "photo/region.hpp"

namespace sw {

/// Outer corners of patches 1, 6, 24, 19 in this order, upright pixels.
using ChartCorners = std::array<Point, 4>;

/// Inner part (middle half of width and height) of the 24 patches as polygons, patch 1 first. Perspective through the four corners; gaps between the
/// patches are taken as 15 % of their pitch (common practice, no source; the middle half forgives 10..25 %).
[[nodiscard]] std::array<Region, 24> patch_regions(const ChartCorners&);

/// A chart in a photo, laid so that patch 1 comes first.
struct ChartSight {
    ChartCorners corners{};              // may lie outside the picture where the chart is cut off
    std::array<std::string, 24> lost{};  // why a patch must not be read ("in shadow"); empty: it can be
    bool mirrored = false;
    std::vector<std::string> notes;  // in plain words, for the user
};

/// Finds the chart by itself: grids of plain patches (chart_grid.hpp), laid in every way, until the colors fit; then the corners are moved to where
/// the patches are most even. Turned by any angle, mirrored (with a note), tilted to some 45 degrees, crossed by the edge of a shadow, partly covered
/// or cut off as long as 12 patches remain; of two charts the larger, with a note. Pictures larger than 1600 pixels are looked at on a reduced copy.
/// Error: chart_not_found, with the reason. Some 0.3 s at 24 megapixels. Test: tests/calibrate/chart_finder_study.cpp
[[nodiscard]] Result<ChartSight> find_chart(const Photo&);

/// How badly 24 linear RGB readings fit the chart's published colors after the best 3x3: relative rms, 0 = perfect. Below 0.25 it is the chart.
[[nodiscard]] double chart_misfit(const Eigen::Matrix<double, 3, 24>& rgb);

/// Corners given by hand: checks that they are finite, inside the picture, convex and large enough, and that the colors fit; a mirrored or turned
/// order is an error that says so. Error: chart_not_found.
[[nodiscard]] Result<ChartSight> check_corners(const Photo&, const ChartCorners&);

}  // namespace sw
