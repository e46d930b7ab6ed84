// How a camera bends linear light into the picture, undone. Cameras render: they add contrast in the middle and roll off the lights.
#pragma once

#include <array>

namespace sw {

/// From the picture's linear value v (0..1, the encoding undone) to scene light, 0 -> 0 and 1 -> 1, monotone where least_slope() > 0, which holds for
/// |contrast| + |lift| + |roll| + |bend|... < 1. Works on u = sRGB-encoded v: u + contrast sin(2 pi u) / (2 pi) + lift u (1 - u) + roll u^2 (1 - u)
/// + bend[0] sin(3 pi u) / (3 pi) + bend[1] sin(4 pi u) / (4 pi) ... : the bends are for pictures that show four neutrals or more, else 0.
/// contrast > 0 takes contrast out of the middle. Negative v is mirrored, above 1 goes on straight. The family is our own: the smoothest one with a
/// middle, a foot and a shoulder; common practice has it that cameras use S-shaped curves, no source for the spread of its figures.
struct ToneCurve {
    static constexpr int kBends = 4;
    double contrast = 0, lift = 0, roll = 0;
    std::array<double, kBends> bend{};
    [[nodiscard]] double scene(double v) const;
    /// Least steepness against u over 0..1, looked for at 65 places.
    [[nodiscard]] double least_slope() const;
};

}  // namespace sw
