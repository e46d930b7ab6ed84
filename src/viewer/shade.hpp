// What one pixel of the picture shows: the definition that shaders/picture.frag is held against.
#pragma once

#include <array>

namespace sw::window {

inline constexpr float kClippedFrom = 254.5F / 255.0F;  // encoded: only the top code of 8 bits

struct ShadeParameters {
    int mode = 0;          // 0 original, 1 corrected, 2 split at the divider
    float divider = 0;     // window x in pixels: corrected from here on
    bool stripes = false;  // over what is clipped in the original
    float stripe_px = 16;  // a light and a dark one together
};

/// original, corrected: encoded 0..1 at this pixel; x, y: the pixel's center in the window, from the top left.
/// Test: tests/viewer/shade_test.cpp, on software GL.
[[nodiscard]] std::array<float, 3> shade(const std::array<float, 3>& original, const std::array<float, 3>& corrected, float x, float y,
                                         const ShadeParameters&);

}  // namespace sw::window
