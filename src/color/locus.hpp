// The Planckian locus in CIE 1960 (u, v), for correlated color temperatures.
#pragma once

#include "color/spectrum.hpp"

namespace sw {

/// CIE 1960 (u, v).
struct Uv {
    double u = 0, v = 0;
};
[[nodiscard]] Uv uv_1960(const Xyz& color);

/// Nearest temperature (K) and signed distance (above the locus +). `found` is false at the ends of 500..100000 K.
struct OnLocus {
    double cct = 0, duv = 0;
    bool found = false;
};
/// By least distance (CIE 015:2018, 9.5), to 0.01 K in 1000..20000 K.
[[nodiscard]] OnLocus nearest_on_locus(const Uv& color);
/// The same between points of a table: to 1 K, but a thousand times faster.
[[nodiscard]] OnLocus nearest_on_locus_fast(const Uv& color);

}  // namespace sw
