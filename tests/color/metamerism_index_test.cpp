#include "color/metamerism_index.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "color/light.hpp"
#include "color/lights.hpp"

namespace sw {
namespace {

using test::named;

Reflectance flat(double value) {
    Reflectance r;
    r.value.fill(value);
    return r;
}

/// 0.1 up to 580 nm, then rising to 0.7 at 620: a red.
Reflectance red() {
    Reflectance r;
    for (std::size_t i = 0; i < kBands; ++i) r.value[i] = 0.1 + 0.6 * std::clamp((kFirstNm + static_cast<double>(i) - 580) / 40, 0.0, 1.0);
    return r;
}

// Under the reference light itself nothing is left, whatever the correction: both make the two colors equal there.
TEST(MetamerismIndex, NothingIsLeftUnderTheReferenceLight) {
    for (const Correction correction : {Correction::multiplicative, Correction::additive}) {
        const PairUnderLight p = pair_under_light(red(), flat(0.3), named("D65"), named("D65"), Observer::degree10, correction);
        EXPECT_GT(p.de00, 10);
        EXPECT_NEAR(p.index_1976, 0, 1e-9);
        EXPECT_NEAR(p.index_2000, 0, 1e-9);
    }
}

// Two surfaces of one shape are no metamers: multiplicative correction takes all of it away under every light. Additive does not.
TEST(MetamerismIndex, MultiplicativeTakesOutWhatIsProportional) {
    Reflectance half = red();
    for (double& value : half.value) value /= 2;
    for (const char* name : {"A", "F11", "LED-B1"}) {
        const PairUnderLight p = pair_under_light(red(), half, named("D65"), named(name), Observer::degree2);
        EXPECT_NEAR(p.index_1976, 0, 1e-9) << name;
        EXPECT_NEAR(p.index_2000, 0, 1e-9) << name;
    }
}

// Worked by hand: grays of 0.2 (a) and 0.1 (b), reference D65, test A, 2 degrees. White points: D65 95.04707, 100, 108.88285; A 109.85030,
// 100, 35.58495 (oracle_white_points.csv, 5 decimals).
//   a under A         0.2 (109.85030, 100, 35.58495)
//   b corrected       0.1 (109.85030, 100, 35.58495) + (0.2 - 0.1) (95.04707, 100, 108.88285) = (20.489737, 20, 14.446780)
//   relative to A     b: 0.1865242, 0.2, 0.4059801; cube roots 0.5713625, 0.5848035, 0.7404599
//   Lab               a: 51.8372, 0, 0     b: 51.8372, 500 (0.5713625 - 0.5848035) = -6.7205, 200 (0.5848035 - 0.7404599) = -31.1313
//   index             sqrt(6.7205^2 + 31.1313^2) = 31.8484
// Seven digits carried: 500 * 1e-7 and 200 * 1e-7 add up to less than 1e-3.
TEST(MetamerismIndex, AdditiveAsWorkedByHand) {
    const Light d65 = named("D65"), a = named("A");
    const PairUnderLight p = pair_under_light(flat(0.2), flat(0.1), d65, a, Observer::degree2, Correction::additive);
    EXPECT_NEAR(p.index_1976, 31.8484, 1e-3);
    EXPECT_NEAR(p.a.L, 51.8372, 1e-4);
    // The plain figures know nothing of a correction.
    const PairUnderLight plain = pair_under_light(flat(0.2), flat(0.1), d65, a, Observer::degree2);
    EXPECT_EQ(p.de00, plain.de00);
    EXPECT_NEAR(plain.index_1976, 0, 1e-9);
}

// Property: where a pair matches under the reference light, there is nothing to correct, and the two rules agree. The pair: a gray, and the same plus
// a metameric black made of three bumps (solved below so that X, Y, Z under D65 stay as they are).
TEST(MetamerismIndex, TheRulesAgreeWhereThePairMatches) {
    const Light d65 = named("D65"), a = named("A");
    const auto bump = [](double middle) {
        Reflectance r;
        for (std::size_t i = 0; i < kBands; ++i) r.value[i] = std::exp(-std::pow((kFirstNm + static_cast<double>(i) - middle) / 25, 2));
        return r;
    };
    const std::array<Reflectance, 4> bumps{bump(450), bump(520), bump(580), bump(630)};
    std::array<Xyz, 4> c{};
    for (std::size_t k = 0; k < 4; ++k) c[k] = xyz(bumps[k], d65, Observer::degree2);
    const auto determinant = [](const Xyz& p, const Xyz& q, const Xyz& r) {
        return p.X * (q.Y * r.Z - q.Z * r.Y) - q.X * (p.Y * r.Z - p.Z * r.Y) + r.X * (p.Y * q.Z - p.Z * q.Y);
    };
    // Cramer's rule: w0 c0 + w1 c1 + w2 c2 = -c3.
    const double d = determinant(c[0], c[1], c[2]);
    const std::array<double, 4> weight{-determinant(c[3], c[1], c[2]) / d, -determinant(c[0], c[3], c[2]) / d, -determinant(c[0], c[1], c[3]) / d, 1};
    Reflectance other = flat(0.4);
    for (std::size_t k = 0; k < 4; ++k) {
        for (std::size_t i = 0; i < kBands; ++i) other.value[i] += 0.05 * weight[k] * bumps[k].value[i];
    }
    EXPECT_LT(pair_under_light(flat(0.4), other, d65, d65, Observer::degree2).de00, 1e-9);
    const PairUnderLight multiplicative = pair_under_light(flat(0.4), other, d65, a, Observer::degree2);
    const PairUnderLight additive = pair_under_light(flat(0.4), other, d65, a, Observer::degree2, Correction::additive);
    EXPECT_GT(multiplicative.index_1976, 0.5);
    EXPECT_NEAR(multiplicative.index_1976, additive.index_1976, 1e-9);
    EXPECT_NEAR(multiplicative.index_2000, additive.index_2000, 1e-9);
    EXPECT_NEAR(multiplicative.index_2000, multiplicative.de00, 1e-9);
}

TEST(MetamerismIndex, OfBlackIsFinite) {
    for (const Correction correction : {Correction::multiplicative, Correction::additive}) {
        for (const auto& [a, b] : {std::pair{flat(0.2), flat(0)}, {flat(0), flat(0.9)}, {flat(0), flat(0)}}) {
            const PairUnderLight p = pair_under_light(a, b, named("D65"), named("A"), Observer::degree2, correction);
            EXPECT_TRUE(std::isfinite(p.de00) && std::isfinite(p.index_1976) && std::isfinite(p.index_2000));
        }
    }
}

// The words that go with additive figures say what is wrong with them; the standard's rule needs none.
TEST(MetamerismIndex, AdditiveComesWithAWarning) {
    EXPECT_TRUE(correction_warning(Correction::multiplicative).empty());
    EXPECT_NE(correction_warning(Correction::additive).find("below black"), std::string_view::npos);
}

}  // namespace
}  // namespace sw
