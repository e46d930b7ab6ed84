// Geometry of the judging plots: chip, swatch and tolerance in a*b* and along L*. No drawing.
#pragma once

#include <vector>

#include "match/compare.hpp"
#include "photo/region.hpp"

namespace sw::window {

/// (Δa*, Δb*) from the chip, at its lightness, where the CIEDE2000 is de00: in n directions, evenly from +a* on over +b*. Test:
/// tests/viewer/plots_test.cpp
[[nodiscard]] std::vector<Point> tolerance_ring(const Lab& chip, double de00, int n);
/// ΔL* below and above the chip where it is. kL: 1, for textured surfaces 2.
[[nodiscard]] Interval tolerance_lightness(const Lab& chip, double de00, double kL);

/// Where in a*b*, as seen from the chip, the swatch lies: the middle, and n points of the ellipse that holds it in 95 of 100 cases (chi-square of two
/// degrees of freedom, 5.99). The doubts of ΔC* and ΔH* are taken as independent, along and across the hue half way between the two.
struct SwatchRegion {
    Point middle;
    std::vector<Point> rim;
};
[[nodiscard]] SwatchRegion swatch_region(const Comparison&, int n);

}  // namespace sw::window
