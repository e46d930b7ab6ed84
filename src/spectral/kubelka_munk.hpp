// Light in paint: Kubelka-Munk with Saunderson's surface correction. One number a band; K, S >= 0 in any common unit, reflectances 0..1.
#pragma once

#include <cmath>

namespace sw {

/// Reflectance of an opaque layer from q = K/S >= 0, without its surface. Exact to rounding for small and large q.
/// Source: Kubelka & Munk 1931. Tests of all of these: tests/mix/kubelka_munk_test.cpp
[[nodiscard]] inline double opaque_reflectance(double q) { return 1 / (1 + q + std::sqrt(q * (q + 2))); }
/// The inverse; r above 0, up to 1.
[[nodiscard]] inline double absorption_ratio(double r) { return (1 - r) * (1 - r) / (2 * r); }

/// Reflectance of a film over an undercoat, both without surface. kx = K times thickness, sx = S times thickness, both >= 0; no thickness gives the
/// undercoat, no scattering gives undercoat * exp(-2 kx). Written with B = b S X and differences of near numbers worked out beforehand, so that
/// b -> 0, S -> 0 and thick films lose no digits. Source: Kubelka 1948, J. Opt. Soc. Am. 38, 448.
[[nodiscard]] inline double film_reflectance(double kx, double sx, double undercoat) {
    const double a = sx + kx, b = std::sqrt(kx * (kx + 2 * sx));
    const double beyond = b < 1e-9 ? 1 - b : b > 300 ? 0 : 2 * b / std::expm1(2 * b);  // b coth b - b
    const double short_of = a + b > 0 ? sx * sx / (a + b) : 0;                         // a - b
    return (sx + undercoat * (beyond - short_of)) / (a + b + beyond - undercoat * sx);
}

/// Surface of a paint. k1: share of the light from outside that the surface sends back (seen: counted in the reading); k2: share of the light
/// from inside that it sends back. 0 <= k1, k2 < 1.
struct PaintSurface {
    double k1 = 0.03, k2 = 0.60;
};
/// Reflectance as measured, from that below the surface; `seen` 1: surface light counted (matte, or specular included), 0: not (gloss).
/// Source: Saunderson 1942, J. Opt. Soc. Am. 32, 727.
[[nodiscard]] inline double through_surface(double inside, const PaintSurface& s, double seen = 1) {
    return (1 - s.k1) * (1 - s.k2) * inside / (1 - s.k2 * inside) + s.k1 * seen;
}
/// The inverse; what reads below the surface's own light comes out negative.
[[nodiscard]] inline double below_surface(double measured, const PaintSurface& s, double seen = 1) {
    const double t = measured - s.k1 * seen;
    return t / ((1 - s.k1) * (1 - s.k2) + s.k2 * t);
}

}  // namespace sw
