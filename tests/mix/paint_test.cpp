// Paints from samples, and what is said of their mixes.
#include "mix/paint.hpp"

#include <gtest/gtest.h>

#include <Eigen/Cholesky>

#include <cmath>
#include <cstdlib>
#include <iostream>

#include "color/difference.hpp"
#include "mix/made_up_shelf.hpp"

namespace sw {
namespace {

/// The shelf as it would be known from masstones and tints of 50 and 10 % with white, read with this error.
Shelf read_shelf(const Shelf& truth, double sd, bool correlated, Random& r) {
    const auto reading = [&](int paint, double share) {
        Shelf two{{truth.paints[0], truth.paints[static_cast<std::size_t>(paint)]}, truth.surface};
        two.paints[0].drop.ml = 1 - share;
        two.paints[1].drop.ml = share;
        ModelSpectrum x = share < 1 ? mix_reflectance(two, {{0, 1}, {1, 1}}) : mix_reflectance(two, {{1, 1}});
        const double common = r.normal();
        for (double& v : x) v = std::min(v + sd * (correlated ? common : r.normal()), 0.999);
        return x.cwiseMax(truth.surface.k1 + 1e-4).eval();
    };
    Shelf shelf{{}, truth.surface};
    const double said = std::max(sd, 1e-4);
    shelf.paints.push_back(*white_paint(reading(0, 1), said, truth.surface));
    for (int p = 1; p < static_cast<int>(truth.paints.size()); ++p)
        shelf.paints.push_back(*paint_from_samples({{1, reading(p, 1), said}, {0.5, reading(p, 0.5), said}, {0.1, reading(p, 0.1), said}},
                                                   shelf.paints[0], truth.surface));
    return shelf;
}

Recipe some_mix(int paints, Random& r) {
    Recipe mix{{0, r.below(40)}};
    for (int i = 0; i < 3; ++i) mix.push_back({r.below(paints), 1 + r.below(20)});
    return mix;
}

// Property: readings without error give the paints back; the bar of the goals is 0.15 mean.
TEST(Paint, ExactReadingsPredictMixes) {
    Random r(2);
    double sum = 0;
    int mixes = 0;
    for (std::uint64_t seed = 1; seed <= 4; ++seed) {
        const Shelf truth = made_up_shelf(8, seed), known = read_shelf(truth, 0, false, r);
        for (int i = 0; i < 20; ++i, ++mixes) {
            const Recipe mix = some_mix(8, r);
            sum += difference_2000(mix_color(truth, mix, *light("D65"), Observer::degree2).lab,
                                   mix_color(known, mix, *light("D65"), Observer::degree2).lab);
        }
    }
    RecordProperty("mean", std::to_string(sum / mixes));
    EXPECT_LE(sum / mixes, 0.15);
}

// The covariance must hold the truth: 95 % of the squared lengths below the chi-squared quantile 7.815, and drops that err are in it.
TEST(Paint, CovarianceHoldsTheTruth) {
    const bool full = std::getenv("SW_FULL_BARS") != nullptr;
#ifdef SW_SLOW_BUILD
    const int shelves = 3;
#else
    const int shelves = full ? 200 : 25;
#endif
    Random r(3);
    const Light d65 = *light("D65");
    int held = 0, all = 0;
    for (int n = 0; n < shelves; ++n) {
        const Shelf truth = made_up_shelf(5, 50 + static_cast<std::uint64_t>(n)), known = read_shelf(truth, 0.002, false, r);
        for (int i = 0; i < 4; ++i, ++all) {
            const Recipe mix = some_mix(5, r);
            Shelf dosed = truth;
            for (Paint& paint : dosed.paints) paint.drop.ml *= std::exp(paint.drop.cv * r.normal());
            const Lab was = mix_color(dosed, mix, d65, Observer::degree2).lab;
            const MixColor said = mix_color(known, mix, d65, Observer::degree2);
            const Eigen::Vector3d d(was.L - said.lab.L, was.a - said.lab.a, was.b - said.lab.b);
            const Eigen::Matrix3d c = said.covariance + 1e-6 * Eigen::Matrix3d::Identity();
            held += d.dot(c.ldlt().solve(d)) < 7.815 ? 1 : 0;
        }
    }
    RecordProperty("held", std::to_string(100.0 * held / all));
    EXPECT_GE(held, (full ? 0.93 : 0.88) * all);
    EXPECT_LE(held, (full ? 0.97 : 1.0) * all);
    std::cout << "covariance held " << 100.0 * held / all << " %\n";
}

TEST(Paint, MasstoneAloneIsWide) {
    const Shelf truth = made_up_shelf(4, 9);
    const ModelSpectrum masstone = mix_reflectance(truth, {{2, 1}}), white_masstone = mix_reflectance(truth, {{0, 1}});
    const Result<Paint> white = white_paint(white_masstone, 0.002, truth.surface);
    ASSERT_TRUE(white);
    const Result<Paint> paint = paint_from_samples({{1, masstone, 0.002}}, *white, truth.surface);
    ASSERT_TRUE(paint);
    const Shelf shelf{{*white, *paint}, truth.surface};
    EXPECT_LT((mix_reflectance(shelf, {{1, 1}}) - masstone).cwiseAbs().maxCoeff(), 1e-9);
    const auto spread = [&](const Recipe& mix) { return std::sqrt(mix_color(shelf, mix, *light("D65"), Observer::degree2).covariance.trace()); };
    EXPECT_LT(spread({{1, 1}}), 2);
    EXPECT_GT(spread({{0, 1}, {1, 1}}), 5);
}

// Common practice, no source: a paint reads above its own surface's light.
TEST(Paint, SurfaceIsFittedToTheDarkestMasstone) {
    const ModelSpectrum dark = ModelSpectrum::Constant(0.02), light_one = ModelSpectrum::Constant(0.6);
    EXPECT_NEAR(fitted_surface({light_one, dark}).k1, 0.0196, 1e-12);
    EXPECT_EQ(fitted_surface({light_one}).k1, 0.03);
}

TEST(Paint, FilmBecomesTheOpaqueCoat) {
    const Shelf shelf = made_up_shelf(5, 4);
    const Recipe mix{{0, 5}, {2, 1}};
    const ModelSpectrum opaque = mix_reflectance(shelf, mix), under = ModelSpectrum::Constant(0.5);
    EXPECT_LT((mix_film(shelf, mix, 1e6, under) - opaque).cwiseAbs().maxCoeff(), 1e-9);
    EXPECT_LT((mix_film(shelf, mix, 0, under) - under).cwiseAbs().maxCoeff(), 1e-12);
}

TEST(Paint, RefusesWhatIsNoReading) {
    const Paint white = made_up_shelf(1, 1).paints[0];
    const ModelSpectrum fine = ModelSpectrum::Constant(0.4);
    ModelSpectrum holes = fine;
    holes[5] = NAN;
    for (const std::vector<PaintSample>& bad : std::vector<std::vector<PaintSample>>{
             {}, {{0, fine, 0.01}}, {{1.2, fine, 0.01}}, {{1, holes, 0.01}}, {{1, fine, 0}}, {{1, 3 * fine, 0.01}}, {{1, 0.01 * fine, 0.01}}}) {
        const Result<Paint> paint = paint_from_samples(bad, white, {});
        ASSERT_FALSE(paint);
        EXPECT_EQ(paint.error().fault, Fault::table_malformed);
    }
    EXPECT_FALSE(white_paint(holes, 0.01, {}));
}

}  // namespace
}  // namespace sw
