// Kubelka-Munk against worked figures, closed forms and limits.
#include "spectral/kubelka_munk.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

namespace sw {
namespace {

// Source: Kubelka & Munk 1931, worked by hand: (1 - R)^2 / 2R.
TEST(KubelkaMunk, RatioOfAnOpaqueLayer) {
    EXPECT_NEAR(absorption_ratio(0.90), 0.0055556, 5e-8);
    EXPECT_NEAR(absorption_ratio(0.20), 1.6, 1e-12);
    EXPECT_NEAR(absorption_ratio(0.05), 9.025, 1e-12);
    for (double r = 1e-6; r < 1; r *= 1.3) EXPECT_NEAR(opaque_reflectance(absorption_ratio(r)) / r, 1, 1e-12) << r;
    EXPECT_EQ(opaque_reflectance(0), 1);
    EXPECT_NEAR(opaque_reflectance(1e12) * 2e12, 1, 1e-9);  // 1 / 2q
}

// Source: Kubelka 1948, R = (1 - Rg (a - b coth bSX)) / (a - Rg + b coth bSX), worked with 20 digits.
TEST(KubelkaMunk, FilmOverAnUndercoat) {
    EXPECT_NEAR(film_reflectance(0.2, 2, 0), 0.577121, 1e-6);
    EXPECT_NEAR(film_reflectance(0.2, 2, 0.8), 0.671347, 1e-6);
    for (const double q : {0.01, 0.3, 5.0}) {
        for (const double sx : {0.05, 0.7, 4.0}) {
            const double a = 1 + q, b = std::sqrt(a * a - 1), c = b / std::tanh(b * sx);
            for (const double g : {0.0, 0.3, 1.0}) EXPECT_NEAR(film_reflectance(q * sx, sx, g), (1 - g * (a - c)) / (a - g + c), 1e-12);
        }
    }
}

// ISO 6504: a film hides where it reads 98 % over black (0) of what it reads over white (0.80). SX there, from the closed form for R over black and
// white solved for X. Source of the figures: science notes beside the project, computed from the same formulas.
TEST(KubelkaMunk, HidingThickness) {
    for (const auto& [r, sx] : {std::array{0.95, 10.8089},
                                {0.90, 9.1427},
                                {0.80, 6.5007},
                                {0.60, 3.7085},
                                {0.40, 2.2045},
                                {0.20, 1.1198},
                                {0.10, 0.6098},
                                {0.05, 0.3359}}) {
        const auto contrast = [q = absorption_ratio(r)](double x) { return film_reflectance(q * x, x, 0) / film_reflectance(q * x, x, 0.8); };
        double low = 0, high = 100;
        for (int i = 0; i < 80; ++i) (contrast((low + high) / 2) < 0.98 ? low : high) = (low + high) / 2;
        EXPECT_NEAR(low, sx, 1e-4) << r;
    }
}

// Limits: no absorption SX / (1 + SX) over black (Kubelka 1948, b -> 0), with its first term in K by a difference quotient; no scattering; no film;
// a film too thick to see through.
TEST(KubelkaMunk, Limits) {
    for (const double sx : {1e-8, 0.1, 3.0, 1e6}) {
        EXPECT_NEAR(film_reflectance(0, sx, 0), sx / (1 + sx), 1e-14);
        EXPECT_NEAR(film_reflectance(1e-18, sx, 0), sx / (1 + sx), 1e-12);
        EXPECT_NEAR(film_reflectance(0, sx, 1), 1, 1e-15);
    }
    const double slope = (film_reflectance(2e-8, 1, 0) - film_reflectance(1e-8, 1, 0)) / 1e-8;
    const double wide = (film_reflectance(2e-5, 1, 0) - film_reflectance(1e-5, 1, 0)) / 1e-5;
    EXPECT_NEAR(slope, wide, 1e-4);
    for (const double kx : {0.0, 1e-9, 0.5, 3.0, 400.0}) EXPECT_NEAR(film_reflectance(kx, 0, 0.7), 0.7 * std::exp(-2 * kx), 1e-15);
    EXPECT_EQ(film_reflectance(0, 0, 0.42), 0.42);
    for (const double q : {1e-6, 1e-3, 1.0, 50.0}) {
        for (const double g : {0.0, 1.0}) EXPECT_NEAR(film_reflectance(q * 1e7, 1e7, g) / opaque_reflectance(q), 1, 1e-12) << q;
    }
}

TEST(KubelkaMunk, SurfaceThereAndBack) {
    for (const double r : {0.0, 0.1, 0.623498, 1.0}) {
        for (const double seen : {0.0, 1.0}) EXPECT_NEAR(below_surface(through_surface(r, {0.035, 0.6}, seen), {0.035, 0.6}, seen), r, 1e-14);
    }
    // Phthalo blue 10 % in white of an open table, k1 0.03, k2 0.65 (science notes): K/S, below the surface, as measured.
    for (const auto& [q, inside, measured] :
         {std::array{0.003166, 0.923534, 0.814432}, {0.111259, 0.626598, 0.388910}, {0.560637, 0.362477, 0.190992}}) {
        EXPECT_NEAR(opaque_reflectance(q), inside, 1e-4);
        EXPECT_NEAR(through_surface(inside, {0.03, 0.65}), measured, 1e-4);
    }
}

}  // namespace
}  // namespace sw
