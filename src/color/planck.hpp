// Formulas of light at one wavelength.
#pragma once

namespace sw {

/// Planck's law relative to 560 nm, times 100; c2 = 1.4388e-2 m K (as standard illuminant A is defined today, ISO/CIE 11664-2).
[[nodiscard]] double planck_power(double wavelength_nm, double kelvin);

}  // namespace sw
