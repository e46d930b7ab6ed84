// The calibration as an lcms2 pipeline: for whole pictures, and later for profiles.
#pragma once

#include <cstdint>
#include <functional>
#include <stop_token>
#include <vector>

#include "calibrate/calibration.hpp"

namespace sw {

/// The picture as it should look: encoded sRGB, 8 bits, interleaved RGB, white adapted from D50 to D65 (Bradford), clipped.
struct CorrectedPicture {
    int width = 0, height = 0;
    std::vector<std::uint8_t> rgb;
    bool cancelled = false;
};
[[nodiscard]] CorrectedPicture correct_picture(const Photo&, const Calibration&, std::stop_token stop = {},
                                               const std::function<void(float)>& progress = {});
/// The picture as it came, encoded sRGB, 8 bits.
[[nodiscard]] CorrectedPicture original_picture(const Photo&);

/// Lab (D50) of one color through the lcms2 pipeline, to be held against plain_map.
[[nodiscard]] Lab pipeline_lab(const Calibration&, const Eigen::Vector3d& rgb);

}  // namespace sw
