#include "color/color.hpp"

#include <lcms2.h>

#include <random>

#include "color/reference.hpp"

namespace sw {
namespace {

using test::Worst;

std::mt19937_64 seeded() { return std::mt19937_64(20240601); }

double uniform(std::mt19937_64& random, double low, double high) { return low + (high - low) * (static_cast<double>(random() >> 11) * 0x1.0p-53); }

// Source: Little CMS (Debian 12), cmsXYZ2Lab and cmsLab2LCh: independent code. It keeps doubles, so 1e-4 is generous; the issue asks for 1e-4.
TEST(Lab, AgreesWithLittleCms) {
    auto random = seeded();
    Worst worst, worst_lch;
    for (int i = 0; i < 2000; ++i) {
        const Xyz color{uniform(random, 0, 120), uniform(random, 0, 120), uniform(random, 0, 120)};
        const cmsCIEXYZ white{kWhiteD50.X / 100, 1, kWhiteD50.Z / 100}, c{color.X / 100, color.Y / 100, color.Z / 100};
        cmsCIELab theirs;
        cmsXYZ2Lab(&white, &theirs, &c);
        const Lab ours = lab(color, kWhiteD50);
        worst.see(std::max({std::abs(ours.L - theirs.L), std::abs(ours.a - theirs.a), std::abs(ours.b - theirs.b)}), "color " + std::to_string(i));
        cmsCIELCh polar;
        cmsLab2LCh(&polar, &theirs);
        const Lch l = lch(ours);
        worst_lch.see(std::max({std::abs(l.L - polar.L), std::abs(l.C - polar.C), std::abs(l.h - polar.h)}), "color " + std::to_string(i));
    }
    worst.report("lcms2 cmsXYZ2Lab", 1e-4);
    worst_lch.report("lcms2 cmsLab2LCh", 1e-4);
}

// Property: there and back. 1e-9 leaves rounding of some ten operations room on values up to 200.
TEST(Lab, RoundTrips) {
    auto random = seeded();
    for (int i = 0; i < 5000; ++i) {
        const Xyz color{uniform(random, -5, 200), uniform(random, -5, 200), uniform(random, -5, 200)};
        const Xyz back = xyz(lab(color, kWhiteD65));
        EXPECT_NEAR(back.X, color.X, 1e-9);
        EXPECT_NEAR(back.Y, color.Y, 1e-9);
        EXPECT_NEAR(back.Z, color.Z, 1e-9);
    }
}

// Source: ISO/CIE 11664-4: white is 100, 0, 0; black 0, 0, 0; Y = 18.4187 of 100 is L* 50 (((50 + 16) / 116)^3).
TEST(Lab, KnownPoints) {
    const Lab white = lab(kWhiteD50, kWhiteD50);
    EXPECT_DOUBLE_EQ(white.L, 100);
    EXPECT_DOUBLE_EQ(white.a, 0);
    EXPECT_DOUBLE_EQ(white.b, 0);
    EXPECT_NEAR(lab(Xyz{0, 0, 0}, kWhiteD50).L, 0, 1e-12);
    EXPECT_NEAR(lab(Xyz{0, 18.418651851244416, 0}, kWhiteD50).L, 50, 1e-12);
    // Continuous at the joint, (6/29)^3 of the white: value 8 (ISO/CIE 11664-4).
    const double joint = 100 * 216.0 / 24389;
    EXPECT_NEAR(lab(Xyz{0, joint * (1 - 1e-9), 0}, kWhiteD50).L, 8, 1e-7);
    EXPECT_NEAR(lab(Xyz{0, joint * (1 + 1e-9), 0}, kWhiteD50).L, 8, 1e-7);
}

TEST(Lab, FiniteForEveryFiniteInput) {
    for (const double v : {-1e6, -1.0, -0.0, 0.0, 1e-300, 1.0, 1e6}) {
        const Lab l = lab(Xyz{v, -v, v}, kWhiteD50);
        EXPECT_TRUE(std::isfinite(l.L) && std::isfinite(l.a) && std::isfinite(l.b)) << v;
        EXPECT_TRUE(std::isfinite(lab(Xyz{v, v, v}, {0, 100, 0}).b)) << "a white without a channel, " << v;
    }
}

TEST(Chromaticity, OfBlackIsZeroAndOfD65IsThePublished) {
    EXPECT_EQ(xy({0, 0, 0}).x, 0);
    EXPECT_EQ(uv_prime({0, 0, 0}).v, 0);
    // Source: CIE 015:2018, table of D65: x 0.31272, y 0.32903, u' 0.1978, v' 0.4683 (printed digits).
    EXPECT_NEAR(xy(kWhiteD65).x, 0.31272, 1e-5);
    EXPECT_NEAR(xy(kWhiteD65).y, 0.32903, 1e-5);
    EXPECT_NEAR(uv_prime(kWhiteD65).u, 0.1978, 5e-5);
    EXPECT_NEAR(uv_prime(kWhiteD65).v, 0.4683, 5e-5);
}

TEST(Lch, HueIsBelow360) {
    EXPECT_EQ(lch({50, 1, -1e-300}).h, 0);
    EXPECT_DOUBLE_EQ(lch({50, 0, -1}).h, 270);
    EXPECT_EQ(lch({50, 0, 0}).h, 0);
}

// Source: IEC 61966-2-1: threshold 0.04045 / 12.92, and the matrix it prints with four decimals (times 100).
TEST(Srgb, IsTheStandards) {
    EXPECT_DOUBLE_EQ(srgb_to_linear(0.04), 0.04 / 12.92);
    EXPECT_DOUBLE_EQ(srgb_to_linear(0.5), std::pow(0.555 / 1.055, 2.4));
    const Xyz r = xyz(LinearRgb{1, 0, 0}), g = xyz(LinearRgb{0, 1, 0}), b = xyz(LinearRgb{0, 0, 1});
    const double printed[3][3] = {{41.24, 35.76, 18.05}, {21.26, 71.52, 7.22}, {1.93, 11.92, 95.05}};
    const double ours[3][3] = {{r.X, g.X, b.X}, {r.Y, g.Y, b.Y}, {r.Z, g.Z, b.Z}};
    for (int i = 0; i < 3; ++i) {
        for (int k = 0; k < 3; ++k) EXPECT_NEAR(ours[i][k], printed[i][k], 0.005 + 1e-9) << i << k;
    }
}

// The two branches are printed with rounded constants: they miss each other by 1e-8 at the joint, and slopes there are up to 12.92.
TEST(Srgb, RoundTripsMirroredAndExtended) {
    for (int i = -20000; i <= 20000; ++i) {
        const double v = i / 10000.0;
        EXPECT_NEAR(linear_to_srgb(srgb_to_linear(v)), v, 1e-7) << v;
        EXPECT_EQ(srgb_to_linear(-v), -srgb_to_linear(v));
    }
    auto random = seeded();
    for (int i = 0; i < 1000; ++i) {
        const LinearRgb c{uniform(random, -0.5, 2), uniform(random, -0.5, 2), uniform(random, -0.5, 2)};
        const LinearRgb back = linear_rgb(xyz(c));
        EXPECT_NEAR(back.r, c.r, 1e-12);
        EXPECT_NEAR(back.g, c.g, 1e-12);
        EXPECT_NEAR(back.b, c.b, 1e-12);
    }
}

TEST(ScreenColor, NeutralsAreNeutralWhateverTheWhite) {
    for (const Xyz white : {kWhiteD50, kWhiteD65, Xyz{109.85, 100, 35.585}}) {
        for (const double L : {0.0, 20.0, 50.0, 100.0}) {
            const ScreenColor c = screen_color({L, 0, 0, white});
            EXPECT_NEAR(c.rgb.r, c.rgb.g, 1e-6) << L;
            EXPECT_NEAR(c.rgb.g, c.rgb.b, 1e-6) << L;
            EXPECT_TRUE(c.in_gamut);
        }
    }
    EXPECT_EQ(hex(screen_color({100, 0, 0}).rgb), "#ffffff");
    EXPECT_EQ(hex(screen_color({0, 0, 0}).rgb), "#000000");
}

TEST(ScreenColor, SaysWhatNoScreenShows) {
    const ScreenColor c = screen_color({60, -90, 60});
    EXPECT_FALSE(c.in_gamut);
    for (const double v : {c.rgb.r, c.rgb.g, c.rgb.b}) EXPECT_TRUE(v >= 0 && v <= 1);
}

TEST(Hex, RoundsAndClips) {
    EXPECT_EQ(hex({0, 0.5, 1}), "#0080ff");
    EXPECT_EQ(hex({-3, 7, std::nan("")}), "#00ff00");
}

}  // namespace
}  // namespace sw
