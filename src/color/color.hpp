// The colors as values. Conventions, in force everywhere:
//   XYZ   relative to the light's white, Y = 100 for the perfect diffuser
//   Lab   CIE 1976 L*a*b*, L* 0..100; carries the white it is relative to
//   RGB   linear and encoded are different types; primaries and white of IEC 61966-2-1 (sRGB); 0..1, may exceed both ends
#pragma once

#include <string>

namespace sw {

/// CIE standard observers (ISO/CIE 11664-1).
enum class Observer { degree2, degree10 };

/// CIE tristimulus values of a surface. As Y = 100 for the perfect diffuser, Y is the luminance factor in percent, and so also the light reflectance
/// value (LRV of BS 8493 and ASTM E1477, which name D65 and 10 degrees for printed figures).
struct Xyz {
    double X = 0, Y = 0, Z = 0;
};

struct Xy {
    double x = 0, y = 0;
};

/// CIE 1976 u', v'.
struct UvPrime {
    double u = 0, v = 0;
};

/// D50, 2 degrees, by summation at 1 nm (tests/reference/oracle_white_points.csv).
inline constexpr Xyz kWhiteD50{96.42406, 100.0, 82.51278};
/// D65, 2 degrees, likewise.
inline constexpr Xyz kWhiteD65{95.04707, 100.0, 108.88285};

struct Lab {
    double L = 0, a = 0, b = 0;
    Xyz white = kWhiteD50;
};

/// Lightness, chroma, hue angle in degrees 0..360.
struct Lch {
    double L = 0, C = 0, h = 0;
};

/// CIE 1976 L*u*v*, relative to its white.
struct Luv {
    double L = 0, u = 0, v = 0;
    Xyz white = kWhiteD50;
};

struct LinearRgb {
    double r = 0, g = 0, b = 0;
};

struct EncodedRgb {
    double r = 0, g = 0, b = 0;
};

/// Display P3: primaries of SMPTE RP 431-2, white D65, transfer of IEC 61966-2-1. Its own types: the numbers look like sRGB and mean another color.
struct LinearP3 {
    double r = 0, g = 0, b = 0;
};

struct EncodedP3 {
    double r = 0, g = 0, b = 0;
};

/// CIE 1976 L*a*b* of XYZ relative to a white. Finite for every finite input (linear part near and below 0).
/// Source: ISO/CIE 11664-4:2019. Test: tests/color/color_test.cpp
[[nodiscard]] Lab lab(const Xyz& color, const Xyz& white);
/// The inverse, exact to rounding.
[[nodiscard]] Xyz xyz(const Lab& color);
[[nodiscard]] Lch lch(const Lab& color);
/// The inverse of lch(); h in degrees, any.
[[nodiscard]] Lab lab(const Lch& color, const Xyz& white = kWhiteD50);
/// CIE 1976 L*u*v* and back, exact to rounding for real colors; black, and what has a sum of X + 15Y + 3Z of 0 or less, has u = v = 0, and L* = 0
/// goes back to black. Source: ISO/CIE 11664-5:2016. Tests: tests/color/color_test.cpp, tests/reference/outside_python.csv
[[nodiscard]] Luv luv(const Xyz& color, const Xyz& white);
[[nodiscard]] Xyz xyz(const Luv& color);
[[nodiscard]] Xy xy(const Xyz& color);             // {0, 0} for black
[[nodiscard]] UvPrime uv_prime(const Xyz& color);  // {0, 0} for black

/// IEC 61966-2-1 transfer. Negatives are mirrored, above 1 extended.
[[nodiscard]] double srgb_to_linear(double encoded);
[[nodiscard]] double linear_to_srgb(double linear);
[[nodiscard]] LinearRgb decode(const EncodedRgb& color);
[[nodiscard]] EncodedRgb encode(const LinearRgb& color);

/// XYZ (Y = 100, white D65 of IEC 61966-2-1) of linear sRGB and back. Primaries of ITU-R BT.709.
[[nodiscard]] Xyz xyz(const LinearRgb& color);
[[nodiscard]] LinearRgb linear_rgb(const Xyz& color_d65);
/// The same of Display P3. Test: tests/color/color_test.cpp (matrix of primaries and white, worked by hand; no table of an outside program found)
[[nodiscard]] LinearP3 decode(const EncodedP3& color);
[[nodiscard]] EncodedP3 encode(const LinearP3& color);
[[nodiscard]] Xyz xyz(const LinearP3& color);
[[nodiscard]] LinearP3 linear_p3(const Xyz& color_d65);

/// A color for the screen: adapted to D65 by Bradford, encoded, clipped to 0..1; in_gamut tells whether clipping was needed.
struct ScreenColor {
    EncodedRgb rgb;
    bool in_gamut = true;
};
[[nodiscard]] ScreenColor screen_color(const Lab& color);
/// "#rrggbb"
[[nodiscard]] std::string hex(const EncodedRgb& color);

}  // namespace sw
