// How a camera bends linear light into the picture, undone. Cameras render: they add contrast in the middle and roll off the lights.
#pragma once

namespace sw {

/// From the picture's linear value v (0..1, the encoding undone) to scene light, 0 -> 0 and 1 -> 1, monotone for
/// |contrast| + |lift| + |roll| < 1. Works on u = sRGB-encoded v: u + contrast sin(2 pi u) / (2 pi) + lift u (1 - u) + roll u^2 (1 - u).
/// contrast > 0 takes contrast out of the middle. Negative v is mirrored, above 1 goes on straight. The family is our own: the smoothest one with a
/// middle, a foot and a shoulder; common practice has it that cameras use S-shaped curves, no source for the spread of its figures.
struct ToneCurve {
    double contrast = 0, lift = 0, roll = 0;
    [[nodiscard]] double scene(double v) const;
};

}  // namespace sw
