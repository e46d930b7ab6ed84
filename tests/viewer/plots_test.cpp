// Geometry of the judging plots, against the difference formula itself (which is checked against published pairs in tests/color).
#include "viewer/plots.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "color/difference.hpp"

namespace sw::window {
namespace {

TEST(ToleranceRing, LiesWhereTheDifferenceIsTheTolerance) {
    for (const Lab& chip : {Lab{.L = 32, .a = 20, .b = -13}, Lab{.L = 80, .a = 0, .b = 0}, Lab{.L = 60, .a = -70, .b = 60}}) {
        for (const double tolerance : {0.8, 1.8, 5.0}) {
            const auto ring = tolerance_ring(chip, tolerance, 48);
            ASSERT_EQ(ring.size(), 48U);
            for (const Point& p : ring) {
                Lab moved = chip;
                moved.a += p.x;
                moved.b += p.y;
                EXPECT_NEAR(difference_2000(chip, moved), tolerance, 1e-6);
            }
            EXPECT_GT(ring[0].x, 0);
            EXPECT_NEAR(ring[0].y, 0, 1e-12);
            EXPECT_GT(ring[12].y, 0);
            for (const double kL : {1.0, 2.0}) {
                const Interval lightness = tolerance_lightness(chip, tolerance, kL);
                for (const double step : {lightness.low, lightness.high}) {
                    Lab moved = chip;
                    moved.L += step;
                    EXPECT_NEAR(difference_2000(chip, moved, {.kL = kL}), tolerance, 1e-6);
                }
                EXPECT_LT(lightness.low, 0);
                EXPECT_GT(lightness.high, 0);
            }
        }
    }
}

// Along the hue the ellipse is as long as the doubt of the chroma, across it as that of the hue; 2.448 is the root of 5.991 (chi-square, 2 degrees of
// freedom, 95 %, from any table).
TEST(SwatchRegion, IsTurnedAsTheHueAndAsLargeAsTheDoubt) {
    Comparison c;
    c.chip.lab = Lab{.L = 50, .a = 0, .b = 40};
    c.swatch.lab = Lab{.L = 50, .a = 0, .b = 42};
    c.difference.dC_sd = 1;
    c.difference.dH_sd = 0.25;
    const SwatchRegion region = swatch_region(c, 4);
    EXPECT_NEAR(region.middle.x, 0, 1e-12);
    EXPECT_NEAR(region.middle.y, 2, 1e-12);
    ASSERT_EQ(region.rim.size(), 4U);
    EXPECT_NEAR(region.rim[0].y, 2 + 2.4477, 1e-3);  // a yellow: the chroma's doubt goes along b*
    EXPECT_NEAR(region.rim[0].x, 0, 1e-9);
    EXPECT_NEAR(region.rim[1].x, -2.4477 * 0.25, 1e-3);
    EXPECT_NEAR(region.rim[1].y, 2, 1e-9);
}

}  // namespace
}  // namespace sw::window
