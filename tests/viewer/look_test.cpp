// Contrast of the theme and figures as people read them.
#include "viewer/look.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "color/color.hpp"
#include "viewer/words.hpp"

namespace sw::window {
namespace {

/// Relative luminances and their contrast ratio. Source: WCAG 2.1, "contrast ratio" and "relative luminance" (there sRGB's threshold is
/// 0.03928 instead of 0.04045, which is the same for 8-bit values).
double contrast(int a, int b) {
    const double x = srgb_to_linear(a / 255.0), y = srgb_to_linear(b / 255.0);
    return (std::max(x, y) + 0.05) / (std::min(x, y) + 0.05);
}

TEST(Theme, TextStandsOut7To1) {
    for (const Theme theme : {Theme::dark, Theme::light}) {
        const auto of = [&](Gray ink, Gray ground) { return contrast(code(theme, ink), code(theme, ground)); };
        for (const Gray ground : {Gray::ground, Gray::raised, Gray::field, Gray::button, Gray::hovered, Gray::active})
            EXPECT_GE(of(Gray::text, ground), 7) << code(theme, ground);
        for (const Gray ground : {Gray::ground, Gray::raised, Gray::field}) EXPECT_GE(of(Gray::quiet, ground), 7) << code(theme, ground);
        EXPECT_GE(of(Gray::chosen_text, Gray::chosen), 7);
        EXPECT_GE(of(Gray::chosen, Gray::ground), 3) << "what is chosen is seen to be";  // WCAG 2.1, 1.4.11
        EXPECT_GE(of(Gray::line, Gray::ground), 1.5);
    }
    EXPECT_GE(contrast(gray::surround_text, gray::surround), 7);
}

// Munsell N5 and N7: Y = 19.27 and 41.99 of a perfect diffuser (renotation values relative to it, ASTM D1535; from memory, to a tenth).
TEST(Theme, SurroundOfColorsIsBetweenN5AndN7) {
    for (const int ground : {gray::surround, gray::picture_ground}) {
        EXPECT_GE(srgb_to_linear(ground / 255.0) * 100, 19.2) << ground;
        EXPECT_LE(srgb_to_linear(ground / 255.0) * 100, 42.0) << ground;
    }
}

TEST(Words, FiguresHaveOneDecimalAndASign) {
    EXPECT_EQ(one_decimal(1.94), "1.9");
    EXPECT_EQ(one_decimal(-0.04), "0.0");
    EXPECT_EQ(one_decimal(-13.22), "−13.2");
    EXPECT_EQ(one_decimal(std::numeric_limits<double>::quiet_NaN()), "unknown");
    EXPECT_EQ(signed_decimal(0.51), "+0.5");
    EXPECT_EQ(signed_decimal(-0.51), "−0.5");
    EXPECT_EQ(plus_minus(0.38), "± 0.4");
    EXPECT_EQ(plus_minus(std::numeric_limits<double>::infinity()), "± unknown");
    EXPECT_EQ(range({0.91, 2.94}), "0.9 to 2.9");
    EXPECT_EQ(shortest(0.1), "0.1");
}

}  // namespace
}  // namespace sw::window
