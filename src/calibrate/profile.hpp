// The calibration as an ICC profile, for other programs.
#pragma once

#include <cstdint>
#include <vector>

#include "calibrate/calibration.hpp"

namespace sw {

/// An ICC input profile (ICC.1:2010, version 4.3): from the picture file's own encoded RGB, read without the
/// profile that may be embedded in it, to the color of the surfaces under D50 (XYZ, relative to the perfect diffuser), by the plain map's own steps.
/// A file that is plain RGB or holds a matrix-and-curves profile gives curves and a 3x4 matrix; one whose profile is a table, or a calibration where
/// a root-polynomial won, gives a table of 65 x 65 x 65 before them. The course of the light over the picture is left as it is. Other programs come
/// within 0.1 of plain_map in L*, a* and b*, with a table within 0.15 ΔE00 (near black), with that of a root-polynomial within 0.6 in dark strong
/// colors (test: tests/calibrate/profile_test.cpp). Error: picture_unsupported, for pictures that are not stored as RGB.
[[nodiscard]] Result<std::vector<std::uint8_t>> input_profile(const Photo&, const Calibration&);

}  // namespace sw
