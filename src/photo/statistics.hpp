// What a region of a photo reads.
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "photo/photo.hpp"
#include "photo/region.hpp"

namespace sw {

/// Linear RGB of a region.
///   mean            robust location of the linear values (trimmed: dust and glare rejected), photo's scale
///   covariance      of that mean, from the variance between blocks of pixels (pixels of a photo are correlated), never below quantization
///   pixel_covariance  between pixels, robust: grain and texture
///   gradient        relative change of luminance across the region, corner to corner, from a fitted plane (0.1 = 10 %)
///   clipped, dark   share 0..1 of pixels at the top of the encoding, or below 0.002 in all channels
///   rejected        share 0..1 of pixels left out as dust or glare
struct RegionStatistics {
    Eigen::Vector3d mean = Eigen::Vector3d::Zero();
    Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();
    Eigen::Matrix3d pixel_covariance = Eigen::Matrix3d::Zero();
    double gradient = 0, clipped = 0, dark = 0, rejected = 0;
    std::size_t pixels = 0;
    bool two_colors = false;            // two well separated groups of pixels, each > 15 %
    std::vector<std::string> warnings;  // in plain words, with what to do
};

/// Above a quarter of a million pixels, every second (third ...) pixel of every second (third ...) row is read; `pixels` still counts all. Up to half
/// a pixel past an edge is no fault: no pixel's center is missed. Errors: region_outside (says how far past which edge), region_too_small (< 16
/// pixels). role is "swatch", "gray card" ... for the messages. Test: tests/photo/statistics_test.cpp
[[nodiscard]] Result<RegionStatistics> region_statistics(const Photo&, const Region&, const std::string& role);

/// The pixels of a region that region_statistics leaves out as dust or glare, or that are clipped; of large regions every second (third ...) one.
/// Empty where it refuses the region.
struct SpoiledPixel {
    int x = 0, y = 0;
    bool clipped = false;
};
[[nodiscard]] std::vector<SpoiledPixel> spoiled_pixels(const Photo&, const Region&);

}  // namespace sw
