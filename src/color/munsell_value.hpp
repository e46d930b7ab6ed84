// Munsell value, the lightness scale of the Munsell system, from luminance and back.
#pragma once

namespace sw {

/// Luminance factor Y, 0..100 of the perfect diffuser (which is also the LRV), of a Munsell value 0..10.
/// Source: ASTM D1535, quintic relative to the perfect diffuser. Test: tests/reference/oracle_munsell.csv
[[nodiscard]] double luminance_of_munsell_value(double value);
/// The inverse, to 1e-9; below 0 and above 100 held at 0 and 10.
[[nodiscard]] double munsell_value(double luminance);

}  // namespace sw
