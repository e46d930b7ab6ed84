// Stored pictures are not always upright.
#pragma once

#include <cstddef>

namespace sw {

/// Where stored pixel (x, y) goes in the upright picture: index start + x * step_x + y * step_y.
struct Placement {
    std::ptrdiff_t start, step_x, step_y;
    int width, height;
};

/// Source: EXIF 2.32 / TIFF 6.0, tag 274 Orientation (which side of the scene row 0 and column 0 show). Test: all eight, tests/photo/decode_test.cpp.
[[nodiscard]] Placement placement(int orientation, int stored_width, int stored_height);

}  // namespace sw
