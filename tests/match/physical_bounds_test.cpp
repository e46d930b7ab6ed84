// What physics allows a pair to do: no pair that reads alike may be nearer than `low`, and some pair must reach `high`.
#include "match/physical_bounds.hpp"

#include <cmath>
#include <ctime>
#include <limits>

#include "color/difference.hpp"
#include "color/light.hpp"
#include "color/reference.hpp"
#include "spectral/random.hpp"
#include "spectral/sensitivity.hpp"
#include "spectral/surfaces.hpp"

namespace sw {
namespace {

#ifdef SW_SLOW_BUILD
constexpr int kPairs = 10;
#else
constexpr int kPairs = 120;
#endif

const SensitivityRows& camera() {
    static const SensitivityRows rows = sensitivity_prior(*light("LED-B3")).mean;
    return rows;
}

Lab color_of(const Eigen::Vector3d& v, const Xyz& white) { return lab(Xyz{100 * v[0], 100 * v[1], 100 * v[2]}, white); }

/// Colors of surfaces that read alike: extremes in many directions, and mixtures of them (the body is convex).
std::vector<Lab> possible_colors(const Eigen::Vector3d& seen, const ObserverMatrix& target, const Xyz& white, Random& random) {
    const std::vector<Eigen::Vector3d> extremes = mismatch_extremes(camera(), seen, target, 60);
    std::vector<Lab> colors;
    for (const Eigen::Vector3d& v : extremes) colors.push_back(color_of(v, white));
    for (int k = 0; k < 40 && !extremes.empty(); ++k) {
        const auto any = [&] { return extremes[static_cast<std::size_t>(random.below(static_cast<int>(extremes.size())))]; };
        const double u = random.uniform(), v = random.uniform();
        colors.push_back(color_of(u * any() + (1 - u) * (v * any() + (1 - v) * any()), white));
    }
    return colors;
}

/// Two colors, nearly the nearest in XYZ, of surfaces that read so: step by step toward each other (Frank & Wolfe 1956).
double nearest_pair(const Eigen::Vector3d& chip, const Eigen::Vector3d& swatch, const ObserverMatrix& target, const Xyz& white) {
    AlikeSurfaces one(camera(), chip), other(camera(), swatch);
    Eigen::Vector3d a = target * *one.extreme(target.row(1)), b = target * *other.extreme(target.row(1));
    double least = INFINITY;
    for (int k = 0; k < 200; ++k) {
        const Eigen::Vector3d apart = b - a;
        const Eigen::Vector3d p = target * *one.extreme(target.transpose() * apart), q = target * *other.extreme(-target.transpose() * apart);
        const Eigen::Vector3d turn = (q - b) - (p - a);
        const double share = std::clamp(-apart.dot(turn) / std::max(1e-18, turn.squaredNorm()), 0.0, 1.0);
        a += share * (p - a);
        b += share * (q - b);
        least = std::min(least, difference_2000(color_of(a, white), color_of(b, white)));
    }
    return least;
}

// Grays of every level against slightly lighter ones and tints of them: wide bodies that just meet or just miss each other.
TEST(PhysicalBounds, AreZeroUntilTheBodiesPart) {
    const Light lit = *light("A");
    const Xyz white = xyz(lit, Observer::degree2);
    const ObserverMatrix target = observer_matrix(lit, Observer::degree2);
    const Eigen::Vector3d gray = camera() * ModelSpectrum::Ones();
    test::Worst low;
    int apart = 0;
    for (double level : {0.03, 0.1, 0.2, 0.4}) {
        for (const Eigen::Vector3d& step :
             {Eigen::Vector3d(1, 1, 1), Eigen::Vector3d(1, 0.3, 0), Eigen::Vector3d(0, 1, 0.2), Eigen::Vector3d(0, 0.1, 1)}) {
            for (double size = 0.1; size<1.3; size += kPairs> 50 ? 0.1 : 0.5) {
                const Eigen::Vector3d chip = level * gray, swatch = chip + size * level * step.cwiseProduct(gray);
                const Interval bounds = physical_bounds(camera(), chip, swatch, lit, Observer::degree2);
                low.see(bounds.low - nearest_pair(chip, swatch, target, white), "gray " + std::to_string(level) + " step " + std::to_string(size));
                apart += bounds.low > 0;
            }
        }
    }
    std::printf("%d apart\n", apart);
    EXPECT_GT(apart, 0);
    low.report("low beyond the nearest pair", 0);
}

// Pairs of the library, like and unlike; 60 extremes and 40 mixtures a side. `low` must hold for all of them; that `high` may be passed is said in
// its header, by how much is held to here.
TEST(PhysicalBounds, HoldEveryPairThatReadsAlike) {
    Random random(11);
    test::Worst low, high;
    int apart = 0;
    double tight = 0, shortfall = 0, seconds = 0, mean_high = 0;
    for (int i = 0; i < kPairs; ++i) {
        const std::string name = std::array{"D65", "A", "LED-B1"}[static_cast<std::size_t>(i % 3)];
        const Light lit = *light(name);
        const Xyz white = xyz(lit, Observer::degree2);
        const ObserverMatrix target = observer_matrix(lit, Observer::degree2);
        const int first = random.below(24000);
        Eigen::Vector3d chip = camera() * surface_library().col(first).cast<double>(), swatch;
        swatch = camera() * surface_library().col(random.below(24000)).cast<double>();
        if (i % 4 == 0) swatch = 0.95 * chip;                              // a match, nearly
        if (i % 4 == 1) chip *= 0.04 / std::max(0.04, chip.maxCoeff());    // a dark one: narrow bodies
        if (i % 4 == 2) swatch = Eigen::Vector3d::Ones() - 0.05 * swatch;  // a light one
        const auto begin = std::clock();
        const Interval bounds = physical_bounds(camera(), chip, swatch, lit, Observer::degree2);
        seconds += static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC;
        double least = INFINITY, most = 0;
        const std::vector<Lab> ones = possible_colors(chip, target, white, random), others = possible_colors(swatch, target, white, random);
        for (const Lab& a : ones) {
            for (const Lab& b : others) {
                const double d = difference_2000(a, b);
                least = std::min(least, d);
                most = std::max(most, d);
            }
        }
        ASSERT_TRUE(std::isfinite(least)) << i;
        EXPECT_LE(bounds.low, bounds.high);
        low.see(bounds.low - least, "pair " + std::to_string(i));
        high.see((most - bounds.high) / most, "pair " + std::to_string(i));
        mean_high += bounds.high / kPairs;
        shortfall += std::max(0.0, (most - bounds.high) / most);
        if (bounds.low > 0) {
            ++apart;
            tight += bounds.low / least;
        }
    }
    std::printf("%d of %d pairs apart under any surfaces; `low` is then %.2f of the nearest pair found; `high` %.1f on average; %.2f ms a pair\n",
                apart, kPairs, tight / std::max(1, apart), mean_high, 1000 * seconds / kPairs);
    EXPECT_GT(apart, kPairs / 10);
    low.report("low beyond a pair that exists", 0);
    std::printf("`high` is short of the farthest pair found by %.3f of it on average\n", shortfall / kPairs);
    high.report("high short of a pair that exists, share", 0.1);  // as the header says; where hues are opposite the difference jumps
}

// The same reading twice may be the same surface; black and white are surfaces of their own, known to be some 100 apart.
TEST(PhysicalBounds, AreZeroForTheSameReadingAndClearForBlackAndWhite) {
    const ObserverMatrix eye = observer_matrix(*light("D65"), Observer::degree2);
    const Eigen::Vector3d white = eye * ModelSpectrum::Ones();
    for (double level : {0.0, 0.05, 0.5, 1.0}) {
        const Interval same = physical_bounds(eye, level * white, level * white, *light("A"), Observer::degree2);
        EXPECT_EQ(same.low, 0) << level;
        if (level == 0.0 || level == 1.0) {
            EXPECT_NEAR(same.high, 0, 1e-3) << level;
        } else {
            EXPECT_GT(same.high, 5) << level;
        }
    }
    const Interval far = physical_bounds(eye, Eigen::Vector3d::Zero(), white, *light("A"), Observer::degree2);
    EXPECT_NEAR(far.high, 100, 1e-3);
    EXPECT_NEAR(far.low, 100, 1e-2);
}

// Looked at by the sensors that read it, a pair can only be what it is: low and high close in on the difference that was read.
TEST(PhysicalBounds, LeaveNothingOpenUnderTheSameSensors) {
    Random random(12);
    const Light lit = *light("D65");
    const ObserverMatrix eye = observer_matrix(lit, Observer::degree2);
    const Xyz white = xyz(lit, Observer::degree2);
    test::Worst worst;
    for (int i = 0; i < kPairs; ++i) {
        const Eigen::Vector3d chip = eye * surface_library().col(random.below(24000)).cast<double>();
        const Eigen::Vector3d swatch = eye * surface_library().col(random.below(24000)).cast<double>();
        const Interval bounds = physical_bounds(eye, chip, swatch, lit, Observer::degree2);
        const double truth = difference_2000(color_of(chip, white), color_of(swatch, white));
        worst.see(std::abs(bounds.high - truth), "pair " + std::to_string(i));
        EXPECT_LE(bounds.low, truth);
        EXPECT_GE(bounds.low, 0.1 * truth);  // the price of a plain proof: S_C of the larger chroma, R_T at its worst, 49 directions
    }
    worst.report("high against the difference that was read", 1e-4);  // 1e-9 in XYZ, at the slope of the darkest surfaces
}

TEST(PhysicalBounds, TakeTheNearestReadingAndNoNonsense) {
    const Interval beyond = physical_bounds(camera(), {1.3, 1.3, 1.3}, {-0.1, -0.1, -0.1}, *light("D65"), Observer::degree2);
    EXPECT_GT(beyond.low, 50);
    EXPECT_GT(beyond.high, 95);
    constexpr double nan = std::numeric_limits<double>::quiet_NaN();
    const Interval none = physical_bounds(camera(), {nan, 0.5, 0.5}, {0.5, 0.5, 0.5}, *light("D65"), Observer::degree2);
    EXPECT_EQ(none.low, 0);
    EXPECT_EQ(none.high, 0);
}

}  // namespace
}  // namespace sw
