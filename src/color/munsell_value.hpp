// Munsell value, the lightness scale of the Munsell system, from luminance and back.
#pragma once

namespace sw {

/// Luminance factor Y, 0..100 of the perfect diffuser (which is also the LRV), of a Munsell value 0..10.
/// Source: ASTM D1535-08 on, quintic relative to the perfect diffuser (its 1943 form was relative to magnesium oxide, 0.975 of it).
/// Tests: oracle_munsell.csv, the table of Newhall, Nickerson & Judd 1943 (tests/color/color_test.cpp).
[[nodiscard]] double luminance_of_munsell_value(double value);
/// The inverse, to 1e-9; luminance below 0 and above 100 gives 0 and 10, NaN gives NaN.
[[nodiscard]] double munsell_value(double luminance);

}  // namespace sw
