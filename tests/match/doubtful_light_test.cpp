// Ranges over the spectra a light may have, on ensembles whose answer is known.
#include "match/doubtful_light.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace sw {
namespace {

Light named(const char* name) { return *light(name); }

Reflectance slope(double from, double to) {
    Reflectance surface;
    for (std::size_t i = 0; i < kBands; ++i) surface.value[i] = from + (to - from) * static_cast<double>(i) / (kBands - 1);
    return surface;
}

TEST(DoubtfulLight, AKnownLightHasNone) {
    const Light d65 = named("D65");
    const WhiteSd sd = white_sd(d65, Observer::degree2);
    EXPECT_EQ(sd.xyz.X, 0);
    EXPECT_EQ(sd.xy.y, 0);
    EXPECT_FALSE(pair_range(slope(0.2, 0.5), slope(0.3, 0.4), d65, named("A"), Observer::degree2));
}

// Two spectra, A and D65, half each: the standard deviation of two values is their distance over the square root of 2 (n - 1 = 1), and the range
// goes from 0.025 to 0.975 of the way from one to the other.
TEST(DoubtfulLight, OfTwoSpectraByHand) {
    const Light a = named("A"), d65 = named("D65");
    Light either{"either", d65.power, std::make_shared<const std::vector<Bands>>(std::vector<Bands>{a.power, d65.power})};
    const WhiteSd sd = white_sd(either, Observer::degree2);
    const double x_a = xyz(a, Observer::degree2).X, x_d65 = xyz(d65, Observer::degree2).X;
    EXPECT_NEAR(sd.xyz.X, std::abs(x_a - x_d65) / std::sqrt(2.0), 1e-9);
    EXPECT_NEAR(sd.xyz.Y, 0, 1e-9);
    EXPECT_NEAR(sd.uv.v, std::abs(uv_prime(xyz(a, Observer::degree2)).v - uv_prime(xyz(d65, Observer::degree2)).v) / std::sqrt(2.0), 1e-9);
    const Reflectance one = slope(0.2, 0.5), two = slope(0.3, 0.4);
    const auto range = pair_range(one, two, d65, either, Observer::degree2);
    ASSERT_TRUE(range);
    const double under_a = pair_under_light(one, two, d65, a, Observer::degree2).de00;
    const double under_d65 = pair_under_light(one, two, d65, d65, Observer::degree2).de00;
    const double low = std::min(under_a, under_d65), high = std::max(under_a, under_d65);
    EXPECT_NEAR(range->de00.low, low + 0.025 * (high - low), 1e-9);
    EXPECT_NEAR(range->de00.high, low + 0.975 * (high - low), 1e-9);
    EXPECT_NEAR(range->a_sd.L,
                std::abs(pair_under_light(one, two, d65, a, Observer::degree2).a.L - pair_under_light(one, two, d65, d65, Observer::degree2).a.L) /
                    std::sqrt(2.0),
                1e-9);
}

// Black bodies about a CCT, with their mean.
Light some_lamp(const std::string& name, double from, double to) {
    std::vector<Bands> spectra;
    Light lamp{name, {}, {}};
    for (int i = 0; i <= 40; ++i) spectra.push_back(planck(from + (to - from) * i / 40).power);
    for (const Bands& one : spectra) {
        for (std::size_t k = 0; k < kBands; ++k) lamp.power[k] += one[k] / static_cast<double>(spectra.size());
    }
    lamp.may_be = std::make_shared<const std::vector<Bands>>(std::move(spectra));
    return lamp;
}

// Whatever spectrum the lamp has: against itself nothing changes, so the index stays 0. Two lamps of one kind are two lamps.
TEST(DoubtfulLight, AgainstItselfTheIndexIsZero) {
    const Light lamp = some_lamp("bench", 3500, 4500), other = some_lamp("window", 3500, 4500);
    const auto same = pair_range(slope(0.2, 0.5), slope(0.3, 0.4), lamp, lamp, Observer::degree2);
    ASSERT_TRUE(same);
    EXPECT_NEAR(same->index_1976.high, 0, 1e-9);
    EXPECT_LT(same->de00.low, same->de00.high);
    const auto apart = pair_range(slope(0.2, 0.5), slope(0.3, 0.4), lamp, other, Observer::degree2);
    ASSERT_TRUE(apart);
    EXPECT_GT(apart->index_1976.high, 0.01);
}

// The mean lamp lies among those it may be; the additive correction reaches the ranges too.
TEST(DoubtfulLight, TheMeanLampIsWithinTheRange) {
    const Light lamp = some_lamp("bench", 3500, 4500);
    const Reflectance one = slope(0.1, 0.6), two = slope(0.35, 0.3);
    for (const Correction correction : {Correction::multiplicative, Correction::additive}) {
        const auto range = pair_range(one, two, named("D65"), lamp, Observer::degree2, correction);
        ASSERT_TRUE(range);
        const PairUnderLight mean = pair_under_light(one, two, named("D65"), lamp, Observer::degree2, correction);
        EXPECT_LT(range->de00.low, mean.de00);
        EXPECT_GT(range->de00.high, mean.de00);
        EXPECT_LT(range->index_1976.low, mean.index_1976);
        EXPECT_GT(range->index_1976.high, mean.index_1976);
    }
}

}  // namespace
}  // namespace sw
