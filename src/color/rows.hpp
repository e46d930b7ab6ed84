// Whole rows of a picture in float, with the widest vector instructions of the machine (chosen when the program runs). The definitions are the
// functions on one color in double (color.hpp, difference.hpp); a test holds these to them within the bounds named here, on every instruction set.
// For maps and pictures: a figure that is reported comes from the definition.
//   RGB and Lab are interleaved as in a picture: r g b r g b ..., L a b L a b ...
//   Any length, any alignment. Spans fit each other (assert). `out` may be `in` where both are float and as long; else they do not overlap.
//   What is not finite, or leaves the range of float, gives what is not finite.
// Test: tests/color/rows_test.cpp; speed: tests/bench/bench_rows.cpp
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>

#include "color/color.hpp"

namespace sw {

/// Bounds on what the rows are off from the definitions: the worst that was measured on any instruction set, rounded up.
/// Absolute for encoded -1..1, relative beyond; measured 5.1e-7.
inline constexpr double kSrgbRowsMaxError = 6e-7;
/// Absolute in each of L*, a*, b*, for linear RGB whose products with the map are none of them negative and add up to at most 1 in each row
/// (everything sRGB can show); measured 6.2e-5. Brighter: times the cube root of the largest sum, up to 65504.
inline constexpr double kLabRowsMaxError = 1e-4;
/// The same where products of both signs meet (out of gamut, or a map with negative entries): what cancels leaves its rounding behind, which the
/// straight part near black makes 7.8 times larger; measured 8.5e-4. Times the largest sum of the products' sizes, if that is above 1.
inline constexpr double kLabRowsSignedMaxError = 1.5e-3;
/// Absolute in CIEDE2000, for L* -20..120 and a*, b* -150..150; measured 6.6e-5. Hues within 1e-3 degrees of opposite may take the other branch (see
/// difference.hpp), unless one color's a*, b* are exactly the negatives of the other's. From bytes: twice kLabRowsMaxError in addition.
inline constexpr double kDifferenceRowsMaxError = 1e-4;

/// From linear RGB to Lab: a 3 x 3 and the white.
class RgbToLab {
public:
    /// xyz_from_rgb: row by row, to XYZ with Y = 100 for the perfect diffuser; white: that Lab is relative to.
    RgbToLab(const std::array<double, 9>& xyz_from_rgb, const Xyz& white);
    /// Linear sRGB adapted to D50 by Bradford: its white is L* = 100, a* = b* = 0.
    [[nodiscard]] static RgbToLab srgb();

    [[nodiscard]] const std::array<float, 9>& over_white() const { return over_white_; }  // row by row, each divided by the white's

private:
    std::array<float, 9> over_white_;
};

/// IEC 61966-2-1. 8 bits: a table, whose values are the definition rounded to float (vectors gain nothing here).
void srgb_to_linear_rows(std::span<const std::uint8_t> encoded, std::span<float> linear);
void srgb_to_linear_rows(std::span<const float> encoded, std::span<float> linear);

/// ISO/CIE 11664-4.
void lab_rows(std::span<const float> linear_rgb, const RgbToLab& map, std::span<float> lab);
void lab_rows(std::span<const std::uint8_t> srgb, const RgbToLab& map, std::span<float> lab);

/// CIEDE2000 of every color against one; out: a third as long. The target's white is not looked at.
void difference_2000_rows(std::span<const float> lab, const Lab& target, std::span<float> out);
void difference_2000_rows(std::span<const std::uint8_t> srgb, const RgbToLab& map, const Lab& target, std::span<float> out);

/// Name of the instruction set in use here, as Highway calls it: "AVX3" (AVX-512), "AVX2", "SSE4", ..., "SCALAR".
[[nodiscard]] std::string_view rows_instruction_set();

}  // namespace sw
