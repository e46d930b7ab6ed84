// A part of a photo, small enough for a page.
#pragma once

#include <cstdint>
#include <vector>

#include "calibrate/picture_map.hpp"
#include "photo/photo.hpp"
#include "photo/region.hpp"

namespace sw {

/// 8 bits, interleaved RGB.
struct Thumbnail {
    int width = 0, height = 0;
    std::vector<std::uint8_t> rgb;
};
/// A part of the corrected photo (within it, pixels) at most `widest` pixels wide: means of linear light over blocks.
[[nodiscard]] Thumbnail small_picture(const Photo& photo, const PictureMap& map, const Box& part, int widest);

}  // namespace sw
