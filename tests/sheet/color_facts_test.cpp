// One color in every notation: against published figures, and the reflectance believed of it against the color itself.
#include "sheet/color_facts.hpp"

#include <gtest/gtest.h>

#include "color/adaptation.hpp"
#include "spectral/bands.hpp"

namespace sw {
namespace {

Light named(const char* name) { return *light(name); }

// Source: IEC 61966-2-1: sRGB white is D65, 100; its red has Y = 21.26. Lab D50 of #808080 under Bradford: L* 53.585 (from Y = 21.586 of the
// standard's formula, by hand), a* = b* = 0.
TEST(ColorFacts, AMidGrayOfTheScreen) {
    const ColorFacts facts = color_facts(Lab{53.585, 0, 0}, named("D50"), Observer::degree2);
    EXPECT_EQ(hex(facts.srgb.rgb), "#808080");
    EXPECT_TRUE(facts.srgb.in_gamut);
    EXPECT_TRUE(facts.in_p3);
    EXPECT_TRUE(facts.surface);
    EXPECT_NEAR(facts.lrv, 21.586, 0.002);
    EXPECT_NEAR(facts.lch.C, 0, 1e-9);
    EXPECT_NEAR(facts.luv.u, 0, 1e-9);
    EXPECT_NEAR(facts.xy.x, 0.34567, 2e-5);  // D50, CIE 015:2018
    EXPECT_NEAR(facts.munsell_value, 5.24,
                0.03);  // ASTM D1535: value 5 is Y 19.27, 6 is 29.3; a straight line between gives 5.23, the curve a bit more
}

// What each can show: the nesting sRGB < Display P3 < surfaces, by colors well inside and outside (CIE xy diagrams of the standards).
TEST(ColorFacts, WhatCanShowIt) {
    const Light d50 = named("D50");
    const auto facts = [&](double L, double a, double b) { return color_facts(Lab{L, a, b, xyz(d50, Observer::degree2)}, d50, Observer::degree2); };
    EXPECT_TRUE(facts(60, 20, 20).srgb.in_gamut);
    // nearly the red primary of Display P3 (x 0.680, y 0.320, SMPTE RP 431-2): outside sRGB's triangle, which ends at x 0.640; dark enough for a
    // paint
    const Xyz white = xyz(d50, Observer::degree2);
    const Lab red = lab(adapt(xyz(LinearP3{0.3, 0.003, 0.003}), kWhiteD65, white), white);
    const ColorFacts p3_red = color_facts(red, d50, Observer::degree2);
    EXPECT_FALSE(p3_red.srgb.in_gamut);
    EXPECT_TRUE(p3_red.in_p3);
    EXPECT_TRUE(p3_red.surface);
    const ColorFacts yellow = facts(85, 5, 115);
    EXPECT_FALSE(yellow.srgb.in_gamut);
    EXPECT_TRUE(yellow.surface);
    EXPECT_FALSE(facts(95, 60, 60).surface) << "as light as paper and as strong as a red";
    EXPECT_FALSE(facts(10, 0, 150).surface);
    for (const double value : {yellow.srgb.rgb.r, yellow.srgb.rgb.b, yellow.p3.r, yellow.p3.b}) {
        EXPECT_GE(value, 0);
        EXPECT_LE(value, 1);
    }
}

// The mean believed reflectance gives back the color it was asked for, nearly: a local linear map in Lab, so a few tenths; the smooth one exactly.
TEST(BelievedReflectance, HasTheColorItWasAskedFor) {
    for (const char* lamp : {"D50", "A", "LED-B3"}) {
        const Light light = named(lamp);
        const ObserverMatrix observer = observer_matrix(light, Observer::degree2);
        const Xyz white = xyz(light, Observer::degree2);
        for (const Lab& color : {Lab{52.1, -3.2, 14, white}, Lab{35, 25, -20, white}, Lab{75, 5, 45, white}, Lab{50, 0, 0, white}}) {
            const auto believed = believed_reflectance(color, light, Observer::degree2);
            ASSERT_TRUE(believed) << lamp << " " << color.L;
            ASSERT_EQ(believed->mean.size(), static_cast<std::size_t>(kModelBands));
            const auto seen = [&](const std::vector<double>& percent) {
                const Eigen::Vector3d at = observer * Eigen::Map<const ModelSpectrum>(percent.data());
                return lab(Xyz{at(0), at(1), at(2)}, white);
            };
            const Lab mean = seen(believed->mean);
            EXPECT_NEAR(mean.L, color.L, 1.5) << lamp;
            EXPECT_NEAR(mean.a, color.a, 1.5) << lamp;
            EXPECT_NEAR(mean.b, color.b, 1.5) << lamp;
            ASSERT_FALSE(believed->smooth.empty());
            EXPECT_NEAR(seen(believed->smooth).b, color.b, 0.01);
            for (int i = 0; i < kModelBands; ++i) {
                const auto k = static_cast<std::size_t>(i);
                EXPECT_LE(0, believed->low[k]);
                EXPECT_LE(believed->low[k], believed->mean[k]);
                EXPECT_LE(believed->mean[k], believed->high[k]);
                EXPECT_LE(believed->high[k], 100);
            }
        }
    }
    EXPECT_FALSE(believed_reflectance(Lab{95, 60, 60}, named("D50"), Observer::degree2)) << "no surface, no reflectance";
}

}  // namespace
}  // namespace sw
