#include "color/color.hpp"

#include <lcms2.h>

#include <memory>
#include <random>

#include "color/adaptation.hpp"
#include "color/lights.hpp"
#include "color/munsell_value.hpp"

#include "color/reference.hpp"

namespace sw {
namespace {

using test::uniform;
using test::Worst;

std::mt19937_64 seeded() { return std::mt19937_64(20240601); }

// Source: Little CMS (Debian 12), cmsXYZ2Lab and cmsLab2LCh: independent code. It keeps doubles: 1e-9 is rounding.
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
    worst.report("lcms2 cmsXYZ2Lab", 1e-9);
    worst_lch.report("lcms2 cmsLab2LCh", 1e-9);
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

/// Little CMS from encoded RGB of a profile to Lab D50, all in float.
Lab by_little_cms(cmsHPROFILE rgb, const EncodedRgb& color) {
    const cmsHPROFILE to = cmsCreateLab4Profile(nullptr);
    const cmsHTRANSFORM transform = cmsCreateTransform(rgb, TYPE_RGB_DBL, to, TYPE_Lab_DBL, INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOOPTIMIZE);
    const double in[3] = {color.r, color.g, color.b};
    cmsCIELab out{};
    cmsDoTransform(transform, in, &out, 1);
    cmsDeleteTransform(transform);
    cmsCloseProfile(to);
    return {out.L, out.a, out.b};
}

/// Ours by the same way: to D65, adapted to the D50 of ICC profiles (four decimals), Lab relative to that.
template <class Encoded>
Lab by_us(const Encoded& color) {
    const Xyz d50{96.42, 100, 82.49}, white = xyz(decode(Encoded{1, 1, 1}));
    return lab(adapt(xyz(decode(color)), white, d50), d50);
}

// Source: Little CMS's own sRGB profile, and Display P3 made by Little CMS from the primaries: its matrix is its own derivation. It works in 32-bit
// float (6e-8 relative): a few steps of that, times 500 * 7.8 where the slope of a* is steepest (near black): 5e-4.
TEST(Srgb, AgreesWithLittleCms) {
    const cmsHPROFILE profile = cmsCreate_sRGBProfile();
    auto random = seeded();
    Worst worst;
    for (int i = 0; i < 500; ++i) {
        const EncodedRgb c{uniform(random, 0, 1), uniform(random, 0, 1), uniform(random, 0, 1)};
        const Lab theirs = by_little_cms(profile, c), ours = by_us(c);
        worst.see(std::max({std::abs(ours.L - theirs.L), std::abs(ours.a - theirs.a), std::abs(ours.b - theirs.b)}), hex(c));
    }
    cmsCloseProfile(profile);
    worst.report("lcms2 sRGB profile, Lab", 5e-4);
}

TEST(DisplayP3, AgreesWithLittleCms) {
    // SMPTE RP 431-2 primaries, white D65, the curve of IEC 61966-2-1.
    const cmsCIExyY white{0.3127, 0.3290, 1};
    const cmsCIExyYTRIPLE primaries{{0.680, 0.320, 1}, {0.265, 0.690, 1}, {0.150, 0.060, 1}};
    const double curve[5] = {2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045};
    cmsToneCurve* tone = cmsBuildParametricToneCurve(nullptr, 4, curve);
    cmsToneCurve* tones[3] = {tone, tone, tone};
    const cmsHPROFILE profile = cmsCreateRGBProfile(&white, &primaries, tones);
    auto random = seeded();
    Worst worst;
    for (int i = 0; i < 500; ++i) {
        const EncodedP3 c{uniform(random, 0, 1), uniform(random, 0, 1), uniform(random, 0, 1)};
        const Lab theirs = by_little_cms(profile, {c.r, c.g, c.b}), ours = by_us(c);
        worst.see(std::max({std::abs(ours.L - theirs.L), std::abs(ours.a - theirs.a), std::abs(ours.b - theirs.b)}), "color " + std::to_string(i));
    }
    cmsCloseProfile(profile);
    cmsFreeToneCurve(tone);
    worst.report("lcms2 profile of Display P3, Lab", 5e-4);
}

// The matrix as it is printed in many places (from memory, 6 decimals): half of the last.
TEST(DisplayP3, HasTheKnownMatrix) {
    const Xyz r = xyz(LinearP3{1, 0, 0}), g = xyz(LinearP3{0, 1, 0}), b = xyz(LinearP3{0, 0, 1});
    const double printed[3][3] = {{0.486571, 0.265668, 0.198217}, {0.228975, 0.691739, 0.079287}, {0, 0.045113, 1.043944}};
    const double ours[3][3] = {{r.X, g.X, b.X}, {r.Y, g.Y, b.Y}, {r.Z, g.Z, b.Z}};
    for (int i = 0; i < 3; ++i) {
        for (int k = 0; k < 3; ++k) EXPECT_NEAR(ours[i][k] / 100, printed[i][k], 5.1e-7) << i << k;
    }
}

// Same white and grays as sRGB, more of red and green; there and back to the rounding of the curve's two constants (as for sRGB, 1e-7).
TEST(DisplayP3, HoldsSrgbAndRoundTrips) {
    auto random = seeded();
    for (int i = 0; i < 1000; ++i) {
        const double v = uniform(random, 0, 1);
        const Xyz gray = xyz(decode(EncodedP3{v, v, v})), same = xyz(decode(EncodedRgb{v, v, v}));
        EXPECT_NEAR(gray.X, same.X, 1e-10);
        EXPECT_NEAR(gray.Z, same.Z, 1e-10);
        const LinearP3 inside = linear_p3(xyz(LinearRgb{uniform(random, 0, 1), uniform(random, 0, 1), uniform(random, 0, 1)}));
        // The blue primary is nearly the same one: sRGB's blue stands 0.001 outside at most.
        for (const double channel : {inside.r, inside.g, inside.b}) EXPECT_TRUE(channel >= -1e-3 && channel <= 1 + 1e-3) << channel;
        const EncodedP3 c{uniform(random, -0.2, 1.5), uniform(random, -0.2, 1.5), uniform(random, -0.2, 1.5)};
        const EncodedP3 back = encode(linear_p3(xyz(decode(c))));
        EXPECT_NEAR(back.r, c.r, 1e-7);
        EXPECT_NEAR(back.g, c.g, 1e-7);
        EXPECT_NEAR(back.b, c.b, 1e-7);
    }
    const LinearRgb red = linear_rgb(xyz(LinearP3{1, 0, 0}));
    EXPECT_GT(red.r, 1.2);  // a red that sRGB has not
    EXPECT_LT(red.g, 0);
}

// Definition, ISO/CIE 11664-5: white is 100, 0, 0; a color of the white's chromaticity has u = v = 0; L* is that of Lab. Outside figures:
// outside_python.csv (oracles_test.cpp).
TEST(Luv, KnownPointsAndEdges) {
    const Luv white = luv(kWhiteD65, kWhiteD65);
    EXPECT_DOUBLE_EQ(white.L, 100);
    EXPECT_NEAR(white.u, 0, 1e-12);
    EXPECT_NEAR(white.v, 0, 1e-12);
    const Luv gray = luv({0.2 * kWhiteD65.X, 20, 0.2 * kWhiteD65.Z}, kWhiteD65);
    EXPECT_NEAR(gray.u, 0, 1e-12);
    EXPECT_EQ(gray.L, lab(Xyz{30, 20, 10}, kWhiteD65).L);
    const Luv black = luv({0, 0, 0}, kWhiteD50);
    EXPECT_NEAR(black.L, 0, 1e-12);
    EXPECT_EQ(black.u, 0);
    EXPECT_EQ(xyz(Luv{0, 5, 5}).X, 0);
    for (const double v : {-1e6, -1.0, 0.0, 1e-300, 1.0, 1e6}) {
        const Luv l = luv({v, -v, v}, kWhiteD50);
        EXPECT_TRUE(std::isfinite(l.L) && std::isfinite(l.u) && std::isfinite(l.v)) << v;
        const Xyz c = xyz(Luv{v, v, -v});
        EXPECT_TRUE(std::isfinite(c.X) && std::isfinite(c.Y) && std::isfinite(c.Z)) << v;
    }
}

// There and back. 1e-9 leaves rounding of some ten operations room; near black u and v are the quotient of small numbers, so colors from Y = 0.01 on.
TEST(Luv, RoundTrips) {
    auto random = seeded();
    for (int i = 0; i < 5000; ++i) {
        const Xyz color{uniform(random, 0, 200), uniform(random, 0.01, 200), uniform(random, 0, 200)};
        const Xyz back = xyz(luv(color, kWhiteD65));
        EXPECT_NEAR(back.X, color.X, 1e-9);
        EXPECT_NEAR(back.Y, color.Y, 1e-9);
        EXPECT_NEAR(back.Z, color.Z, 1e-9);
    }
}

TEST(Lch, GoesBackToLab) {
    auto random = seeded();
    for (int i = 0; i < 2000; ++i) {
        const Lab color{uniform(random, 0, 100), uniform(random, -100, 100), uniform(random, -100, 100), kWhiteD65};
        const Lab back = lab(lch(color), kWhiteD65);
        EXPECT_EQ(back.L, color.L);
        EXPECT_NEAR(back.a, color.a, 1e-12);
        EXPECT_NEAR(back.b, color.b, 1e-12);
        EXPECT_EQ(back.white.Z, kWhiteD65.Z);
    }
    EXPECT_NEAR(lab(Lch{50, 10, -90}).b, -10, 1e-12);
}

// Source: the table of Newhall, Nickerson & Judd 1943 relative to magnesium oxide (as in Wyszecki & Stiles; from memory), times 0.975, the oxide's
// reflectance, which turns it into the perfect diffuser's. 4 digits printed, and the quintic's factors are rounded to 5 digits after the 0.975: 2e-4
// of the value, 0.005 of half a digit beside it.
TEST(MunsellValue, IsThatOfTheRenotation) {
    const double printed[] = {0, 1.210, 3.126, 6.555, 12.00, 19.77, 30.05, 43.06, 59.10, 78.66, 102.57};
    for (int value = 0; value <= 10; ++value) {
        const double expected = 0.975 * printed[value];
        EXPECT_NEAR(luminance_of_munsell_value(value), expected, 0.005 + 2e-4 * expected) << value;
    }
    EXPECT_NEAR(luminance_of_munsell_value(10), 100, 0.001);
}

TEST(MunsellValue, RisesAndGoesBack) {
    double before = -1;
    for (int i = 0; i <= 10000; ++i) {
        const double value = i / 1000.0, luminance = luminance_of_munsell_value(value);
        EXPECT_GT(luminance, before) << value;
        before = luminance;
        EXPECT_NEAR(munsell_value(luminance), value, 1e-9) << value;
    }
    EXPECT_EQ(munsell_value(-3), 0);
    EXPECT_EQ(munsell_value(250), 10);
    EXPECT_TRUE(std::isnan(munsell_value(std::nan(""))));
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
