// More than a pair: chances against the normal distribution and against counted trials; swatches and coats laid on a made-up bench.
#include "match/rank.hpp"

#include <cmath>

#include "calibrate/scene.hpp"
#include "color/difference.hpp"
#include "match/coat.hpp"

namespace sw {
namespace {

using test::Bench;

HeldAgainst held(const std::string& name, const Lab& target, const Lab& swatch, double target_sd, double swatch_sd) {
    const Eigen::Matrix3d lightness = Eigen::Vector3d(1, 0, 0).asDiagonal();
    return {name, target, swatch, lightness * target_sd * target_sd, lightness * swatch_sd * swatch_sd};
}
double normal_cdf(double x) { return 0.5 * std::erfc(-x / std::sqrt(2.0)); }

// Grays in a row: the swatch is nearer to 50 than to 52 where L* < 51, so the chance is that of a normal variable; each target's own doubt moves the
// border by half. Exact for CIE 1976; S_L differs by under a part in a thousand here.
TEST(Rank, ChancesAreThoseOfTheNormalDistribution) {
    for (const double at : {50.2, 50.6, 51.0, 51.7}) {
        for (const auto& [target_sd, swatch_sd] : {std::pair{0.0, 0.4}, {0.4, 0.3}, {0.3, 0.0}}) {
            const Lab swatch{at, 0, 0};
            const std::vector<Ranked> ranked =
                rank_targets({held("fifty", {50, 0, 0}, swatch, target_sd, swatch_sd), held("more", {52, 0, 0}, swatch, target_sd, swatch_sd)}, 2);
            const double expected = normal_cdf((51 - at) / std::sqrt(swatch_sd * swatch_sd + target_sd * target_sd / 2));
            for (const Ranked& r : ranked) EXPECT_NEAR(r.nearest, r.name == "fifty" ? expected : 1 - expected, 0.03) << at << " " << target_sd;
            const bool sure = std::abs(expected - 0.5) > 0.48;
            if (sure || std::abs(expected - 0.5) < 0.42) {
                EXPECT_EQ(ranked[1].rank, sure ? 2 : 1);
                EXPECT_EQ(ranked[0].tied, !sure);
                EXPECT_EQ(ranked[0].not_told_from.empty(), sure);
            }
        }
    }
}

// What is said to be 80 % sure is right in 80 of 100: truths drawn about five targets, read with noise.
TEST(Rank, ChancesComeTrue) {
#ifdef SW_SLOW_BUILD
    constexpr int kTrials = 30;
#else
    constexpr int kTrials = 200;
#endif
    Random random(3);
    struct Bin {
        double said = 0;
        int right = 0, n = 0;
    };
    std::array<Bin, 3> bins;
    int sure = 0, wrong = 0;
    for (int k = 0; k < kTrials; ++k) {
        const auto spread = [&](double size) { return size * random.normal(); };
        std::vector<Lab> targets;
        for (int i = 0; i < 5; ++i) targets.push_back({45 + spread(3), 20 + spread(3), -10 + spread(3)});
        const Lab truth{45 + spread(3), 20 + spread(3), -10 + spread(3)}, read{truth.L + spread(0.6), truth.a + spread(1.2), truth.b + spread(1.2)};
        std::vector<HeldAgainst> against;
        std::size_t nearest = 0;
        for (std::size_t i = 0; i < targets.size(); ++i) {
            against.push_back({std::to_string(i), targets[i], read, Eigen::Matrix3d::Zero(), Eigen::Vector3d(0.36, 1.44, 1.44).asDiagonal()});
            if (difference_2000(truth, targets[i]) < difference_2000(truth, targets[nearest])) nearest = i;
        }
        const std::vector<Ranked> ranked = rank_targets(against, 2);
        double total = 0;
        for (const Ranked& r : ranked) {
            total += r.nearest;
            Bin& bin = bins[r.nearest < 0.2 ? 0 : r.nearest < 0.7 ? 1 : 2];
            bin.said += r.nearest;
            bin.right += r.index == nearest;
            ++bin.n;
        }
        EXPECT_NEAR(total, 1, 1e-9);
        if (ranked[1].rank > 1) {
            ++sure;
            wrong += ranked[0].index != nearest;
        }
    }
    for (const Bin& bin : bins) {
        if (bin.n == 0) continue;
        const double said = bin.said / bin.n, was = static_cast<double>(bin.right) / bin.n;
        std::printf("said %.3f, was %.3f (%d)\n", said, was, bin.n);
        EXPECT_NEAR(said, was, 0.02 + 3 * std::sqrt(said * (1 - said) / bin.n));
    }
    std::printf("a sole first in %d of %d, wrong in %d\n", sure, kTrials, wrong);
    EXPECT_LE(wrong, 0.05 * sure + 3);
}

/// A bench with its gray card, chip of surface 120 and whatever is laid on it.
struct Swatches {
    Bench bench;
    Calibration calibration;
    explicit Swatches(const std::function<void(Bench&)>& more, double exposure = 0.5) {
        bench.exposure = exposure;
        References r;
        r.grays.push_back({bench.lay_card(), 18});
        bench.lay(chip, test::surface(120));
        more(bench);
        calibration = *calibrate(bench.photo, r, {.lit_by = lit});
    }
    [[nodiscard]] Result<std::vector<Ranked>> rank(const std::vector<NamedSwatch>& swatches) const {
        return rank_swatches(bench.photo, calibration, lit, chip, swatches);
    }
    [[nodiscard]] Comparison pair(const Region& a, const Region& b) const { return *compare({{&bench.photo, &calibration, a, b, lit}}); }
    Box chip{240, 150, 60, 60};
    Light lit = *light("LED-B3");
};
const Box kA{310, 150, 60, 60}, kB{380, 150, 60, 60}, kC{450, 150, 60, 60}, kD{240, 220, 60, 60};

TEST(Rank, LikeSwatchesTieAndOthersFollow) {
    const Swatches laid([](Bench& b) {
        b.lay(kA, test::surface(120));
        b.lay(kB, test::surface(120), 0.65);
        b.lay(kC, test::surface(200));
        b.lay(kD, test::surface(120));
    });
    const std::vector<Ranked> ranked = *laid.rank({{"other", kC}, {"a", kA}, {"dark", kB}, {"d", kD}});
    ASSERT_EQ(ranked.size(), 4U);
    EXPECT_EQ(ranked[0].rank, 1);
    EXPECT_EQ(ranked[1].rank, 1);
    EXPECT_TRUE(ranked[0].tied && ranked[1].tied);
    EXPECT_EQ(ranked[2].name, "dark");
    EXPECT_EQ(ranked[2].rank, 3);
    EXPECT_EQ(ranked[3].name, "other");
    EXPECT_EQ(ranked[3].rank, 4);
    EXPECT_NEAR(ranked[0].nearest + ranked[1].nearest, 1, 0.02);
    EXPECT_EQ(laid.rank({{"a", kA}, {"d", kD}})->front().nearest, laid.rank({{"a", kA}, {"d", kD}})->front().nearest);  // same input, same answer
    const Comparison alone = laid.pair(laid.chip, kB);
    EXPECT_EQ(ranked[2].de00, alone.difference.de00);
    EXPECT_EQ(ranked[2].ci95.high, alone.difference.ci95.high);
}

TEST(Rank, WhatCannotBeRankedSaysWhy) {
    const Swatches laid([](Bench&) {});
    EXPECT_EQ(laid.rank({}).error().fault, Fault::bad_usage);
    EXPECT_EQ(laid.rank(std::vector<NamedSwatch>(kMostSwatches + 1, {"a", kA})).error().fault, Fault::bad_usage);
    const auto outside = laid.rank({{"a", kA}, {"far", Box{590, 390, 60, 60}}});
    ASSERT_FALSE(outside);
    EXPECT_EQ(outside.error().fault, Fault::region_outside);
    EXPECT_EQ(outside.error().place.substr(0, 5), "far: ");
}

// A gloss coat takes haze off, a matt one puts it on: 1.5 % of white light more or less, over surfaces whose truth is known.
TEST(Coat, GlossIsDarkerAndCleanerMattTheOtherWay) {
    const ModelSpectrum bare = test::surface(120);
    for (const double haze : {-0.015, 0.0, 0.02}) {
        const ModelSpectrum coated = (bare.array() + haze).max(0.001).matrix();
        const Swatches laid([&](Bench& b) {
            b.lay(kA, bare);
            b.lay(kB, coated);
        });
        const ObserverMatrix seen = observer_matrix(laid.lit, Observer::degree2);
        const auto color = [&](const ModelSpectrum& r) {
            const Eigen::Vector3d v = 100 * (seen * r);
            return lab(Xyz{v[0], v[1], v[2]}, xyz(laid.lit, Observer::degree2));
        };
        const Components truth = components(color(bare), color(coated));
        // another photo with the same uncoated chip, exposed otherwise: before is here, after there
        const Swatches later([&](Bench& b) { b.lay(kA, coated); }, 0.42);
        const std::array<CoatChange, 2> changes{coat_change(laid.pair(kA, kB)), coat_change(laid.pair(laid.chip, kA), later.pair(later.chip, kA))};
        for (const CoatChange& c : changes) {
            std::printf("haze %+.3f: dL %.2f ± %.2f (true %.2f), dC %.2f ± %.2f (true %.2f): %s\n", haze, c.dL, c.dL_sd, truth.dL, c.dC, c.dC_sd,
                        truth.dC, c.means[0].c_str());
            EXPECT_NEAR(c.dL, truth.dL, 2.5 * c.dL_sd);
            EXPECT_NEAR(c.dC, truth.dC, 2.5 * c.dC_sd + 0.2);
            if (haze == 0 || &c == &changes[0]) {
                EXPECT_EQ(c.distinct, haze != 0);  // side by side such a step is clear
            }
            const std::string& means = c.means.front();
            EXPECT_NE(means.find(!c.distinct ? "Nothing that these photos could show"
                                 : haze < 0  ? "gloss coat"
                                             : "matt coat"),
                      std::string::npos)
                << means;
        }
    }
}

// Without anything in common the range is that of two colors by themselves.
TEST(Coat, TwoReadingsAloneAreJudgedByTheirWholeDoubt) {
    Reading before, after;
    before.lab = {50, 10, 10};
    after.lab = {45, 12, 12};
    before.lab_covariance = after.lab_covariance = Eigen::Matrix3d::Identity() * 4;
    const CoatChange open = coat_change(before, after);
    EXPECT_FALSE(open.distinct);
    EXPECT_EQ(open.ci95.low, 0);
    EXPECT_NEAR(open.dL_sd, std::sqrt(8.0), 1e-9);
    before.lab_covariance = after.lab_covariance = Eigen::Matrix3d::Identity() * 0.04;
    const CoatChange clear = coat_change(before, after);
    EXPECT_TRUE(clear.distinct);
    EXPECT_NEAR(clear.de00, difference_2000(before.lab, after.lab), 0.1);
}

}  // namespace
}  // namespace sw
