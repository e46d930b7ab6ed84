// Reference cards of one's own: as good as their spread says. A made-up bench (scene.hpp), whose truth is known.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "calibrate/evidence.hpp"
#include "calibrate/scene.hpp"

namespace sw {
namespace {

using test::Bench;

constexpr Box kOwn{160, 20, 80, 80}, kPaint{20, 150, 60, 60};

struct CardScene {
    Bench bench;
    ModelSpectrum own = test::surface(911), paint = test::surface(4242);
    CardScene() {
        bench.lay({0, 0, Bench::kWidth, Bench::kHeight}, ModelSpectrum::Constant(0.4));
        bench.lay_card();
        bench.lay(kOwn, own);
        bench.lay(kPaint, paint);
    }
    [[nodiscard]] Calibration by(const std::vector<CardReference>& cards) const {
        References references;
        references.cards = cards;
        return calibrate(bench.photo, references, {light("D50").value()}).value();
    }
    [[nodiscard]] Reading read(const std::vector<CardReference>& cards) const {
        return read_region(bench.photo, by(cards), "paint", kPaint, *light("D50")).value();
    }
};

/// On the 1 nm grid, linear between the model's bands and held outside.
Reflectance widened(const ModelSpectrum& surface) {
    Reflectance result;
    for (int nm = kFirstNm; nm <= kLastNm; ++nm) {
        const double x = std::clamp((nm - 380) / 5.0, 0.0, kModelBands - 1.0);
        const int i = std::min(static_cast<int>(x), kModelBands - 2);
        result.value[static_cast<std::size_t>(nm - kFirstNm)] = surface[i] + (x - i) * (surface[i + 1] - surface[i]);
    }
    return result;
}

const Box kGray{20, 20, 100, 80};

TEST(Card, ANeutralIsAGrayCardWithItsOwnSpread) {
    const CardScene scene;
    References typed;
    typed.grays.push_back({kGray, 18});
    const Calibration gray = calibrate(scene.bench.photo, typed, {light("D50").value()}).value();
    const Reading as_gray = read_region(scene.bench.photo, gray, "paint", kPaint, *light("D50")).value();
    const Reading as_card = scene.read({{"own", kGray, Lrv{18}, 0.18}});  // 1 %, as a typed gray card has
    EXPECT_NEAR(as_gray.lab.L, as_card.lab.L, 1e-6);
    EXPECT_NEAR(as_gray.lab_covariance(0, 0), as_card.lab_covariance(0, 0), 1e-6);
    // 10 % of the level is 10 % of the gains, less the little that is known of them without a card (a third of a stop)
    const std::vector<CardReference> vague{{"own", kGray, Lrv{18}, 1.8}};
    const Calibration calibration = scene.by(vague);
    const Eigen::Index gain = kSensitivitySize + gain_g;
    EXPECT_NEAR(std::sqrt(calibration.sensor->covariance()(gain, gain)), 0.1, 0.01);
    EXPECT_GT(scene.read(vague).lab_covariance(0, 0), as_card.lab_covariance(0, 0) + 1);
}

// A card known better says more of the camera than the same known worse, a spectrum more than a Lab, and any of them more than none.
TEST(Card, ASmallerSpreadSaysMore) {
    const CardScene scene;
    const CardReference gray{"gray", kGray, Lrv{18}, 0.1};
    const Lab truth = test::lab_d50(scene.own);
    // variance that is left of what the camera is believed to be, over all bands
    const auto belief = [](const Calibration& made) {
        return made.sensor->covariance().topLeftCorner(kSensitivitySize, kSensitivitySize).trace() * 1e4;
    };
    const auto doubt = [&](const CardReference& card) {
        const Calibration calibration = scene.by({gray, card});
        EXPECT_LT(calibration.uses[1].value.L - truth.L, 0.05);
        EXPECT_EQ(calibration.method, "2 own cards");
        return belief(calibration);
    };
    const double Y = xyz(truth).Y;
    const double measured = doubt({"own", kOwn, widened(scene.own), 0.003 * Y}), vaguely = doubt({"own", kOwn, widened(scene.own), 0.3 * Y}),
                 near = doubt({"own", kOwn, truth, 0.3}), far = doubt({"own", kOwn, truth, 3}), none = belief(scene.by({gray}));
    std::printf("trace of the sensitivity's covariance, 1e-4: spectrum %.3f and %.3f, Lab %.3f and %.3f, gray alone %.3f\n", measured, vaguely, near,
                far, none);
    EXPECT_LT(measured, vaguely);
    EXPECT_LT(near, far);
    EXPECT_LT(measured, near);
    EXPECT_LT(vaguely, none);
    EXPECT_LT(far, none);
}

TEST(Card, WhatCannotBeIsRefused) {
    const CardScene scene;
    const auto fault = [&](const CardReference& card) {
        References references;
        references.cards.push_back(card);
        const Result<Calibration> made = calibrate(scene.bench.photo, references);
        EXPECT_FALSE(made);
        return made ? Fault::internal : made.error().fault;
    };
    EXPECT_EQ(fault({"own", kOwn, Lrv{0}, 1}), Fault::known_unusable);
    EXPECT_EQ(fault({"own", kOwn, Lrv{18}, 0}), Fault::known_unusable);
    EXPECT_EQ(fault({"own", kOwn, Lab{50, 150, 0}, 1}), Fault::known_unusable);
    EXPECT_EQ(fault({"own", Box{900, 0, 50, 50}, Lrv{18}, 1}), Fault::region_outside);
}

}  // namespace
}  // namespace sw
