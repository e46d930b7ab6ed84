// Chromatic adaptation, linear von Kries in the space of a named matrix.
#pragma once

#include "color/color.hpp"

namespace sw {

enum class Adaptation { bradford, cat02, cat16 };

/// Corresponding color of `color` (seen under white `from`) under white `to`; whites Y = 100, positive. degree 0..1.
/// Sources: Bradford: ICC.1:2022 annex E; CAT02: CIE 159:2004; CAT16: Li et al. 2017, Color Res. Appl. 42(6).
/// Tests: oracle_adaptation.csv (Bradford, CAT16), Little CMS (Bradford). CAT02: the standard's matrix; outside rows, none found.
[[nodiscard]] Xyz adapt(const Xyz& color, const Xyz& from, const Xyz& to, Adaptation = Adaptation::bradford, double degree = 1);

}  // namespace sw
