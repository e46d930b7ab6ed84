// The 24-patch chart in a photo: where its patches are.
#pragma once

#include <Eigen/Core>
#include <array>
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

/// Finds one chart with OpenCV's mcc, then tries the eight ways to lay it (turned, mirrored) and takes the one whose colors fit.
/// Error: chart_not_found. Some 0.3 s; first call in a process longer.
[[nodiscard]] Result<ChartCorners> find_chart(const Photo&);

/// How badly 24 linear RGB readings fit the chart's published colors after the best 3x3: relative rms, 0 = perfect. Below 0.25 it is the chart.
[[nodiscard]] double chart_misfit(const Eigen::Matrix<double, 3, 24>& rgb);

/// Corners given by hand: checks that they are finite, inside the picture, convex and large enough, and that the colors fit; a mirrored or turned
/// order is an error that says so. Error: chart_not_found.
[[nodiscard]] Result<ChartCorners> check_corners(const Photo&, const ChartCorners&);

}  // namespace sw
