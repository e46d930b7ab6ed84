// Paints from what was read of them.
#include "mix/belief.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "color/difference.hpp"
#include "mix/made_up_shelf.hpp"

namespace sw {
namespace {

PaintSample spectrum_of(const Shelf& truth, int paint, double share) {
    std::vector<Volume> parts{{paint, share}};
    if (share < 1) parts.push_back({0, 1 - share});
    PaintSample s;
    s.share = share;
    s.spectrum = SpectrumRead{appearance(medium(truth, parts), truth.surface).reflectance, 0.001};
    return s;
}
double size(const MixColor& c) { return std::sqrt(c.covariance.trace()); }

// Property: exact spectra of masstone and tints give the mixes back; bar of the goals 0.15 on the mean.
TEST(Belief, MasstoneAndTintsTellTheMixes) {
    const Shelf truth = made_up_shelf(3, 9);
    Shelf shelf;
    shelf.surface = truth.surface;
    for (int p = 0; p < 3; ++p) {
        std::vector<PaintSample> samples{spectrum_of(truth, p, 1)};
        if (p > 0) samples.push_back(spectrum_of(truth, p, 0.5));
        if (p > 0) samples.push_back(spectrum_of(truth, p, 0.1));
        const Result<Shelf> next = with_paint(shelf, {truth.paints[static_cast<std::size_t>(p)], PigmentClass::any}, samples);
        ASSERT_TRUE(next);
        shelf = *next;
    }
    const Sight d65 = sight(*light("D65"), Observer::degree2);
    for (const Recipe& mix : {Recipe{{0, 9}, {2, 1}}, Recipe{{0, 2}, {1, 1}, {2, 4}}, Recipe{{1, 1}, {2, 6}}})
        EXPECT_LT(difference_2000(mix_color(truth, mix, d65).lab, mix_color(shelf, mix, d65).lab), 0.15);
}

// What is known of a masstone alone is the masstone; a mix with white is wide open, and a tint closes it.
TEST(Belief, MasstoneAloneIsWide) {
    const Shelf truth = made_up_shelf(3, 9);
    const Sight d65 = sight(*light("D65"), Observer::degree2);
    Shelf shelf;
    shelf = *with_paint(shelf, {truth.paints[0], PigmentClass::white}, {spectrum_of(truth, 0, 1)});
    PaintSample photo;
    photo.color = ColorRead{d65, mix_color(truth, {{2, 1}}, d65).lab, 0.25 * Eigen::Matrix3d::Identity()};
    const Shelf alone = *with_paint(shelf, {truth.paints[2], PigmentClass::any}, {photo});
    const Shelf tinted = *with_paint(shelf, {truth.paints[2], PigmentClass::any}, {photo, spectrum_of(truth, 2, 0.1)});
    EXPECT_LT(difference_2000(mix_color(alone, {{1, 1}}, d65).lab, photo.color->lab), 0.5);
    EXPECT_LT(size(mix_color(alone, {{1, 1}}, d65)), 2);
    EXPECT_GT(size(mix_color(alone, {{0, 9}, {1, 1}}, d65)), 4);
    EXPECT_LT(size(mix_color(tinted, {{0, 9}, {1, 1}}, d65)), 2);
}

// The covariance is the derivative's: a shelf moved by one of its doubts changes the color as the covariance says.
TEST(Belief, CovarianceIsTheSlopeSquared) {
    Shelf shelf = made_up_shelf(3, 4);
    shelf.model_sd = 0;
    for (Paint& p : shelf.paints) p.drop.cv = 0;
    const Sight d65 = sight(*light("D65"), Observer::degree2);
    const Recipe mix{{0, 5}, {2, 2}};
    doubt_strength(shelf.paints[2], 1e-3);
    Shelf moved = shelf;
    moved.paints[2].k *= std::exp(1e-3);
    moved.paints[2].s *= std::exp(1e-3);
    const MixColor is = mix_color(shelf, mix, d65);
    const Lab then = mix_color(moved, mix, d65).lab;
    EXPECT_NEAR((then.L - is.lab.L) * (then.a - is.lab.a), is.covariance(0, 1), 2e-2 * std::abs(is.covariance(0, 1)));
    EXPECT_NEAR(std::abs(then.b - is.lab.b), std::sqrt(is.covariance(2, 2)), 1e-2 * std::sqrt(is.covariance(2, 2)));
}

TEST(Belief, FilmBecomesTheOpaqueCoat) {
    const Shelf shelf = made_up_shelf(5, 4);
    const Recipe mix{{0, 5}, {2, 1}};
    const ModelSpectrum opaque = mix_reflectance(shelf, mix), under = ModelSpectrum::Constant(0.5);
    EXPECT_LT((mix_film(shelf, mix, 1e6, under) - opaque).cwiseAbs().maxCoeff(), 1e-9);
    EXPECT_LT((mix_film(shelf, mix, 1e-9, under) - under).cwiseAbs().maxCoeff(), 1e-6);
}

// Gloss darkens and cleans a dark matte paint: surface light of 4 % seen before and not after. Source of the size: science notes, L* < 30: dL -15.
TEST(Belief, GlossCoatDarkens) {
    const ModelSpectrum dark = ModelSpectrum::Constant(0.06);
    const PaintSurface s{0.04, 0.6};
    const ModelSpectrum gloss = under_clear_coat(dark, s, s, Finish::gloss), satin = under_clear_coat(dark, s, s, Finish::satin);
    EXPECT_NEAR(gloss[0], 0.02, 1e-12);
    EXPECT_NEAR(satin[0], 0.04, 1e-12);
    EXPECT_NEAR(under_clear_coat(dark, s, s, Finish::matte)[0], 0.06, 1e-12);
}

// Common practice, no source: a paint reads above its own surface's light.
TEST(Belief, SurfaceIsFittedToTheDarkestMasstone) {
    const ModelSpectrum dark = ModelSpectrum::Constant(0.02), light_one = ModelSpectrum::Constant(0.6);
    EXPECT_NEAR(fitted_surface({light_one, dark}).k1, 0.0196, 1e-12);
    EXPECT_EQ(fitted_surface({light_one}).k1, 0.03);
}

// A let-down is the mix it is made of, in color and in doubt.
TEST(Belief, LetDownIsItsMix) {
    Shelf shelf = made_up_shelf(3, 4);
    for (Paint& p : shelf.paints) {
        p.drop.cv = 0;
        doubt_strength(p, 0.1);
    }
    const Sight d65 = sight(*light("D65"), Observer::degree2);
    const Result<Shelf> more = with_let_down(shelf, 2, 10);
    ASSERT_TRUE(more);
    const MixColor mixed = mix_color(*more, {{0, 10}, {2, 1}}, d65), let_down = mix_color(*more, {{3, 5}}, d65);
    EXPECT_LT(difference_2000(mixed.lab, let_down.lab), 1e-9);
    EXPECT_LT((mixed.covariance - let_down.covariance).cwiseAbs().maxCoeff(), 1e-9 * mixed.covariance.trace());
    EXPECT_FALSE(with_let_down(shelf, 0));
    EXPECT_FALSE(with_let_down(shelf, 3));
    EXPECT_FALSE(with_let_down(shelf, 1, 0));
}

// Some of the paints mix as all of them do, in color and in doubt, whatever their order.
TEST(Belief, SomeOfAShelfMixAsAllOfIt) {
    Shelf shelf = made_up_shelf(4, 5);
    for (Paint& p : shelf.paints) doubt_strength(p, 0.1);
    shelf = *with_let_down(shelf, 2, 10);  // whose doubts hang together with those of others
    const Shelf some = some_of(shelf, {4, 0, 2});
    ASSERT_EQ(some.paints.size(), 3U);
    EXPECT_EQ(some.paints[1].name, shelf.paints[0].name);
    const Sight d65 = sight(*light("D65"), Observer::degree2);
    const MixColor all = mix_color(shelf, {{4, 3}, {0, 10}, {2, 1}}, d65), few = mix_color(some, {{0, 3}, {1, 10}, {2, 1}}, d65);
    EXPECT_LT(difference_2000(all.lab, few.lab), 1e-9);
    EXPECT_LT((all.covariance - few.covariance).cwiseAbs().maxCoeff(), 1e-9 * all.covariance.trace());
}

TEST(Belief, PigmentNames) {
    EXPECT_EQ(*pigment_class("PW6"), PigmentClass::white);
    EXPECT_EQ(*pigment_class("pbk 7"), PigmentClass::black);
    EXPECT_EQ(*pigment_class("PB15:3"), PigmentClass::blue);
    EXPECT_EQ(*pigment_class("PR101"), PigmentClass::earth);
    EXPECT_EQ(*pigment_class("PBr7"), PigmentClass::earth);
    EXPECT_EQ(*pigment_class("PV19"), PigmentClass::violet);
    for (const char* none : {"", "P", "PX3", "blue", "PB"}) EXPECT_FALSE(pigment_class(none)) << none;
}

TEST(Belief, RefusesWhatIsNoReading) {
    const Shelf truth = made_up_shelf(2, 1);
    const Shelf white = *with_paint({}, {truth.paints[0], PigmentClass::white}, {spectrum_of(truth, 0, 1)});
    const PaintSample good = spectrum_of(truth, 1, 0.5);
    EXPECT_TRUE(with_paint(white, {truth.paints[1], PigmentClass::any}, {good}));
    for (const auto spoil : {+[](PaintSample& s) { s.share = 0; }, +[](PaintSample& s) { s.share = 1.2; },
                             +[](PaintSample& s) { s.spectrum->sd = 0; }, +[](PaintSample& s) { s.spectrum->reflectance[5] = NAN; },
                             +[](PaintSample& s) { s.spectrum->reflectance *= 900; }, +[](PaintSample& s) { s.spectrum.reset(); }}) {
        PaintSample bad = good;
        spoil(bad);
        const Result<Shelf> shelf = with_paint(white, {truth.paints[1], PigmentClass::any}, {bad});
        ASSERT_FALSE(shelf);
        EXPECT_EQ(shelf.error().fault, Fault::table_malformed);
    }
    EXPECT_FALSE(with_paint({}, {truth.paints[0], PigmentClass::white}, {good}));  // a tint of the white with itself
}

}  // namespace
}  // namespace sw
