// From rows to a shelf, pots and answers. Expected values: worked out by hand, or a property named beside the check.
#include "workbook/mix_desk.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "color/difference.hpp"
#include "mix/gauss_newton.hpp"
#include "spectral/surface_posterior.hpp"
#include "workbook/samples.hpp"

namespace sw {
namespace {

using testing::HasSubstr;

constexpr const char* kThen = "2031-05-06T07:08:09.123Z";

Lab d50(double L, double a, double b) { return {L, a, b, xyz(*light("D50"), Observer::degree2)}; }

/// Three paints: a white, a red with a tint, a blue with a tint.
MixBook three_paints() {
    MixBook book;
    const auto add = [&](const std::string& name, const Lab& masstone, const std::optional<Lab>& tint) {
        KeptPaint paint;
        paint.id = static_cast<std::int64_t>(book.paints.size()) + 1;
        paint.name = name;
        paint.created = kThen;
        book.paints.push_back(paint);
        KeptSample sample;
        sample.id = static_cast<std::int64_t>(book.samples.size()) + 1;
        sample.paint = paint.id;
        sample.lab = masstone;
        sample.lab_covariance = 0.09 * Eigen::Matrix3d::Identity();
        book.samples.push_back(sample);
        if (!tint) return;
        ++sample.id;
        sample.share = 0.1;
        sample.lab = *tint;
        book.samples.push_back(sample);
    };
    add("White", d50(96, -0.5, 2), {});
    add("Red", d50(42, 45, 25), d50(72, 25, 8));
    add("Blue", d50(28, 10, -40), d50(60, 0, -30));
    return book;
}

KeptPot& pot_in(MixBook& book, const std::string& name) {
    KeptPot pot;
    pot.id = static_cast<std::int64_t>(book.pots.size()) + 1;
    pot.name = name;
    book.pots.push_back(pot);
    return book.pots.back();
}

KeptAddition& put_in(MixBook& book, std::int64_t pot, std::int64_t paint, double drops) {
    KeptAddition one;
    one.id = static_cast<std::int64_t>(book.additions.size()) + 1;
    one.pot = pot;
    one.number = 1;
    for (const KeptAddition& other : book.additions) one.number += other.pot == pot ? 1 : 0;
    one.paint = paint;
    one.amount = drops;
    one.unit = "drops";
    one.ml = drops * 0.05;
    one.created = kThen;
    book.additions.push_back(one);
    return book.additions.back();
}

TEST(PaintShelf, TheWhiteIsTheOneThatWasSaidElseTheUsualElseTheLightest) {
    MixBook book = three_paints();
    EXPECT_EQ(shelf_white(book)->name, "White");
    book.samples[2].white = 3;  // the red's tint was let down with the blue, oddly enough
    EXPECT_EQ(shelf_white(book)->name, "Blue");
    book.paints[1].white = true;
    EXPECT_EQ(shelf_white(book)->name, "Red");
    const auto shelf = paint_shelf(book);
    ASSERT_TRUE(shelf) << describe(shelf.error());
    EXPECT_EQ(shelf->shelf.paints[0].name, "Red");
    EXPECT_EQ(shelf->ids, (std::vector<std::int64_t>{2, 1, 3}));
    EXPECT_THAT(shelf->messages, testing::Contains(HasSubstr("\"Red\": its tints are left out")));
    EXPECT_FAULT(paint_shelf(MixBook{}), Fault::bad_usage);
    MixBook dark = three_paints();
    dark.paints.erase(dark.paints.begin());
    EXPECT_FAULT(paint_shelf(dark), Fault::bad_usage);  // none of them can be the white
}

// A masstone and a tint come out as they were read, within what they are known to.
TEST(PaintShelf, PaintsLookAsTheyWereRead) {
    const MixBook book = three_paints();
    const auto shelf = paint_shelf(book);
    ASSERT_TRUE(shelf);
    const Sight looks = sight(*light("D50"), Observer::degree2);
    EXPECT_LT(difference_2000(seen(mix_reflectance(shelf->shelf, {{1, 1}}), looks), book.samples[1].lab), 0.5);
    EXPECT_LT(difference_2000(seen(mix_reflectance(shelf->shelf, {{0, 9}, {1, 1}}), looks), book.samples[2].lab), 0.5);
    MixBook aside = book;
    aside.samples[1].set_aside = aside.samples[2].set_aside = true;
    EXPECT_THAT(paint_shelf(aside)->messages, testing::Contains(HasSubstr("nothing of it was seen")));
    MixBook gone = book;
    gone.paints[2].on_shelf = false;
    EXPECT_EQ(paint_shelf(gone)->ids.size(), 2U);
    put_in(gone, pot_in(gone, "A").id, 3, 1);
    const auto with = paint_shelf(gone);  // a pot names it
    ASSERT_EQ(with->ids.size(), 3U);
    EXPECT_FALSE(with->there[static_cast<std::size_t>(with->place_of(3))]);
}

TEST(PaintShelf, WhatIsInAPot) {
    MixBook book = three_paints();
    const std::int64_t pot = pot_in(book, "A").id;
    put_in(book, pot, 1, 10);
    put_in(book, pot, 2, 10);
    KeptAddition& taken = put_in(book, pot, 1, 12);  // 12 of 20 drops are sprayed: 8 are left, 4 of each
    taken.kind = AdditionKind::taken;
    taken.paint.reset();
    put_in(book, pot, 1, 4);
    PotContent content = content_of(book, pot);
    EXPECT_NEAR(content.ml, 0.6, 1e-12);
    EXPECT_NEAR(content.drops, 12, 1e-12);
    ASSERT_EQ(content.paints.size(), 2U);
    EXPECT_NEAR(content.paints[0].second, 0.4, 1e-12);
    EXPECT_NEAR(content.paints[1].second, 0.2, 1e-12);
    const auto shelf = paint_shelf(book);
    const auto on_shelf = pot_on_shelf(book, *shelf, book.pots[0]);
    ASSERT_TRUE(on_shelf);
    ASSERT_EQ(on_shelf->pot.additions.size(), 3U);
    EXPECT_NEAR(on_shelf->pot.additions[0].drops, 4, 1e-9);
    EXPECT_NEAR(on_shelf->pot.additions[2].drops, 4, 1e-9);
    // Nobody counted: what came after is not told, until it is explained.
    KeptAddition& unknown = put_in(book, pot, 2, 1);
    unknown.kind = AdditionKind::unknown;
    unknown.paint.reset();
    unknown.amount.reset();
    unknown.ml.reset();
    unknown.unit.clear();
    const std::int64_t id = unknown.id;
    put_in(book, pot, 1, 100);
    content = content_of(book, pot);
    EXPECT_EQ(content.unknown, id);
    EXPECT_NEAR(content.ml, 0.6, 1e-12);
    KeptAddition& guess = put_in(book, pot, 3, 2);
    guess.explains = id;
    guess.spread = 0.3;
    content = content_of(book, pot);
    EXPECT_EQ(content.unknown, 0);
    EXPECT_NEAR(content.ml, 0.6 + 5 + 0.1, 1e-12);
    EXPECT_EQ(pot_on_shelf(book, *shelf, book.pots[0])->pot.additions[3].cv, 0.3) << "it stands where the unknown one stood";
    // A row was lost.
    book.additions.erase(book.additions.begin() + 1);
    EXPECT_TRUE(content_of(book, pot).lost);
}

TEST(PaintShelf, OnlyDryReadingsTeach) {
    MixBook book = three_paints();
    const std::int64_t pot = pot_in(book, "A").id;
    put_in(book, pot, 1, 10);
    const std::int64_t last = put_in(book, pot, 2, 3).id;
    KeptPotReading reading;
    reading.pot = pot;
    reading.addition = last;
    reading.lab = d50(70, 30, 12);
    reading.lab_covariance = 0.1 * Eigen::Matrix3d::Identity();
    for (const int kind : {0, 1, 2, 3}) {
        reading.id = kind + 1;
        reading.wet = kind == 1;
        reading.set_aside = kind == 2;
        reading.laid = {};
        if (kind == 3) reading.laid.under = Lab{25, 0, 0};
        book.readings.push_back(reading);
    }
    const auto shelf = paint_shelf(book);
    const auto on_shelf = pot_on_shelf(book, *shelf, book.pots[0]);
    ASSERT_TRUE(on_shelf) << describe(on_shelf.error());
    EXPECT_EQ(on_shelf->readings, (std::vector<std::int64_t>{1, 4}));
    // A film of unknown thickness over black tells less of the paint.
    EXPECT_GT(on_shelf->pot.readings[1].coat.thickness, 0);
    EXPECT_GT(on_shelf->pot.readings[1].color.covariance.trace(), 2 * on_shelf->pot.readings[0].color.covariance.trace());
    book.pots[0].teaches = false;
    EXPECT_TRUE(learned_shelf(book)->pots.empty());
    EXPECT_EQ(learned_shelf(book, pot)->pots.size(), 1U);
    EXPECT_TRUE(learned_shelf(book, pot)->learned.readings.empty());
}

// What was read under a gloss coat is reckoned under one from then on: the pot looks as it was read, within what the reading is known to.
// A test piece read after something that nobody counted is of the mix with it, once it is known what that was; and explanations, written later, are
// not what was put in last. By hand: two counted additions, one unknown, read, then what it was believed to be, then one more.
TEST(PaintShelf, AReadingAfterAnUnknownAdditionIsOfTheMixWithIt) {
    MixBook book = three_paints();
    const std::int64_t pot = pot_in(book, "stirred").id;
    put_in(book, pot, 1, 10);
    put_in(book, pot, 2, 2);
    KeptAddition& unknown = put_in(book, pot, 3, 1);
    unknown.kind = AdditionKind::unknown;
    unknown.paint.reset();
    unknown.amount.reset();
    unknown.ml.reset();
    unknown.unit.clear();
    const std::int64_t unknown_id = unknown.id;
    KeptPotReading read;
    read.id = 1;
    read.pot = pot;
    read.addition = unknown_id;
    read.lab = d50(60, 10, -10);
    read.lab_covariance = 0.09 * Eigen::Matrix3d::Identity();
    book.readings.push_back(read);
    EXPECT_EQ(last_put_in(additions_of(book.additions, pot)), unknown_id);
    const std::int64_t more = put_in(book, pot, 1, 1).id;
    put_in(book, pot, 3, 3).explains = unknown_id;
    EXPECT_EQ(last_put_in(additions_of(book.additions, pot)), more) << "not the explanation, though it bears the largest number";
    EXPECT_FALSE(last_put_in({}));
    const auto shelf = paint_shelf(book);
    ASSERT_TRUE(shelf) << describe(shelf.error());
    const auto on_shelf = pot_on_shelf(book, *shelf, book.pots.front());
    ASSERT_TRUE(on_shelf) << describe(on_shelf.error());
    ASSERT_EQ(on_shelf->pot.additions.size(), 4U);  // white, red, what is believed, white
    ASSERT_EQ(on_shelf->pot.readings.size(), 1U);
    EXPECT_EQ(on_shelf->pot.readings[0].after, 3) << "with what it was believed to be, without what came later";
}

// An instrument that reads 0 or a little over 1 somewhere must not stop the other paints.
TEST(PaintShelf, OddSpectraStopNobody) {
    MixBook book = three_paints();
    for (const char* value : {"0", "1.04"}) {
        std::string spectrum;
        for (int nm = 400; nm <= 700; nm += 10) spectrum += std::to_string(nm) + "," + (nm < 430 ? value : "0.3") + "\n";
        book.samples[1].spectrum = spectrum;
        book.samples[1].spectrum_sd = 0.003;
        const auto shelf = learned_shelf(book);
        EXPECT_TRUE(shelf) << value << ": " << describe(shelf.error());
    }
}

// What the pot of an earlier batch looks like is not known where its record is not whole.
TEST(MixDesk, ABatchOfAPotThatIsNotKnownWholeIsRefused) {
    MixBook book = three_paints();
    const std::int64_t first = pot_in(book, "first").id;
    put_in(book, first, 1, 10);
    put_in(book, first, 2, 2);
    const std::int64_t second = pot_in(book, "second").id;
    book.pots.back().batch_of = first;
    put_in(book, second, 1, 20);
    auto learned = learned_shelf(book, second);
    ASSERT_TRUE(learned) << describe(learned.error());
    EXPECT_TRUE(goal_of(book, book.pots.back(), {}, &*learned)) << "also where the first one was never read";
    KeptAddition& unknown = put_in(book, first, 3, 1);
    unknown.kind = AdditionKind::unknown;
    unknown.paint.reset();
    unknown.amount.reset();
    unknown.ml.reset();
    unknown.unit.clear();
    learned = learned_shelf(book, second);
    ASSERT_TRUE(learned) << describe(learned.error());
    const auto goal = goal_of(book, book.pots.back(), {}, &*learned);
    ASSERT_FALSE(goal);
    EXPECT_THAT(describe(goal.error()), HasSubstr("nobody counted"));
}

TEST(MixDesk, ACoatedTestPieceIsReckonedCoated) {
    MixBook book = three_paints();
    const std::int64_t pot = pot_in(book, "A").id;
    put_in(book, pot, 1, 10);
    const std::int64_t last = put_in(book, pot, 2, 10).id;
    const auto bare = paint_shelf(book);
    Coat gloss;
    gloss.surface_seen = 0;
    const Sight looks = sight(*light("D50"), Observer::degree2);
    const Medium mix = medium(bare->shelf, {{bare->place_of(1), 1}, {bare->place_of(2), 1}});
    const Lab matte = seen(appearance(mix, bare->shelf.surface).reflectance, looks),
              coated = seen(appearance(mix, bare->shelf.surface, gloss).reflectance, looks);
    ASSERT_GT(difference_2000(matte, coated), 2) << "else nothing is shown";
    KeptPotReading reading;
    reading.id = 1;
    reading.pot = pot;
    reading.addition = last;
    reading.lab = coated;
    reading.lab_covariance = 0.04 * Eigen::Matrix3d::Identity();
    reading.laid.coat = Finish::gloss;
    book.readings.push_back(reading);
    Target target = sample_target(0);
    target.light = "D50";
    target.observer = Observer::degree2;
    target.lab = coated;
    target.lab_covariance = 0.01 * Eigen::Matrix3d::Identity();
    const auto learned = learned_shelf(book, pot);
    ASSERT_TRUE(learned);
    const auto goal = goal_of(book, target, {*light("D50")});
    EXPECT_LT(pot_under(*learned, learned->place_of_pot(pot), *goal, 2)[0].de00, 0.6);
    const auto advice = next_for(book, *learned, pot, *goal, {{}, 2, 3});
    ASSERT_TRUE(advice) << describe(advice.error());
    EXPECT_EQ(advice->step, NextStep::leave);
    EXPECT_LT(advice->as_it_is.de00, 0.6);
    EXPECT_LT(difference_2000(goal_of(*learned, learned->place_of_pot(pot), {*light("D50")})->lights[0].target, coated), 0.6)
        << "and a batch of it too";
}

TEST(MixDesk, NamesNearlyRightAreOffered) {
    const MixBook book = three_paints();
    EXPECT_EQ(paint_named(book, "Red")->id, 2);
    EXPECT_EQ(paint_named(book, "red")->id, 2);
    const auto wrong = paint_named(book, "Rod");
    EXPECT_FAULT(wrong, Fault::name_unknown);
    EXPECT_THAT(wrong.error().remedy, HasSubstr("nearest are \"Red\""));
    EXPECT_FAULT(paint_named(MixBook{}, "Red"), Fault::name_unknown);
    const auto let_down = let_down_named(book, "red let down 1:10");
    ASSERT_TRUE(let_down);
    EXPECT_EQ(let_down->white.name, "White");
    const auto parts = additions_of_let_down(*let_down, 1, 11, "drops", "");
    EXPECT_NEAR(*parts[0].amount, 1, 1e-12);
    EXPECT_NEAR(*parts[1].ml, 0.5, 1e-12);
    for (const char* name : {"White let down 1:10", "Red let down 1:0", "Red let down 1:x", "Red let down 1:99999", "Red", ""})
        EXPECT_FALSE(let_down_named(book, name)) << name;
}

TEST(MixDesk, StockIsWhatWasLeftLessWhatWentIntoPots) {
    MixBook book = three_paints();
    EXPECT_FALSE(stock_now(book, book.paints[0]));
    book.paints[0].stock_ml = 2;
    book.paints[0].stock_said = "2031-05-06T07:00:00.000Z";
    const std::int64_t pot = pot_in(book, "A").id;
    put_in(book, pot, 1, 10);
    put_in(book, pot, 2, 10);
    put_in(book, pot, 1, 10).created = "2031-05-06T06:59:59.999Z";  // before it was said
    EXPECT_NEAR(*stock_now(book, book.paints[0]), 1.5, 1e-12);
    put_in(book, pot, 1, 100);
    EXPECT_EQ(*stock_now(book, book.paints[0]), 0);
}

TEST(MixDesk, UnlikeBinders) {
    MixBook book = three_paints();
    book.paints[0].binder = "acrylic";
    EXPECT_EQ(unlike_words(book, {1, 2, 3}), "") << "of the others it is not said";
    book.paints[1].binder = "Acrylic";
    EXPECT_EQ(unlike_words(book, {1, 2, 3}), "");
    book.paints[2].binder = "enamel";
    EXPECT_THAT(unlike_words(book, {1, 2, 3}), HasSubstr("unlike binders"));
}

// Without doubt it is the difference itself; with doubt, draws of another generator say the same (the mean within its own scatter).
TEST(MixDesk, ExpectedDifferenceIsTheMeanOverTheDoubt) {
    const Lab target = d50(50, 20, -10);
    const MixColor exact{d50(51, 22, -9), Eigen::Matrix3d::Zero()};
    const double off = difference_2000(target, exact.lab);
    const ExpectedDifference sure = expected_difference(exact, target, Eigen::Matrix3d::Zero(), 2);
    EXPECT_NEAR(sure.de00, off, 1e-3);
    EXPECT_NEAR(sure.high - sure.low, 0, 1e-2);
    EXPECT_NEAR(sure.chance_within, off <= 2 ? 1 : 0, 1e-9);
    Eigen::Matrix3d doubt;
    doubt << 0.5, 0.1, 0, 0.1, 2, -0.3, 0, -0.3, 1;
    const ExpectedDifference open = expected_difference({exact.lab, doubt}, target, 0.25 * Eigen::Matrix3d::Identity(), 2);
    const Eigen::MatrixXd root = root_of(doubt + 0.25 * Eigen::Matrix3d::Identity());
    std::uint64_t state = 99;  // a plain linear congruential generator (Knuth, MMIX), sums of twelve for a normal number
    const auto uniform = [&] {
        state = state * 6364136223846793005ULL + 1442695040888963407ULL;
        return static_cast<double>(state >> 11U) * 0x1p-53;
    };
    double sum = 0, within = 0;
    constexpr int kDraws = 20000;
    for (int i = 0; i < kDraws; ++i) {
        Eigen::Vector3d normal = Eigen::Vector3d::Constant(-6);
        for (int k = 0; k < 12; ++k) {
            for (double& v : normal) v += uniform();
        }
        const Eigen::Vector3d moved = root * normal;
        const double de = difference_2000(target, d50(51 + moved[0], 22 + moved[1], -9 + moved[2]));
        sum += de;
        within += de <= 2 ? 1 : 0;
    }
    EXPECT_NEAR(open.de00, sum / kDraws, 0.08);
    EXPECT_NEAR(open.chance_within, within / kDraws, 0.05);
    EXPECT_LT(open.low, open.de00);
    EXPECT_GT(open.high, open.de00);
}

TEST(MixDesk, AGoalUnderAnotherLightIsComputedOrInferred) {
    MixBook book = three_paints();
    Target target = sample_target(0);
    target.light = "D50";
    target.observer = Observer::degree2;
    target.lab = d50(50, 20, -10);
    const auto own = goal_of(book, target, {});
    ASSERT_TRUE(own);
    ASSERT_EQ(own->lights.size(), 2U);
    EXPECT_EQ(own->lights[0].light.name, "D50");
    EXPECT_FALSE(own->lights[0].inferred);
    EXPECT_EQ(own->lights[0].target.a, 20);
    EXPECT_TRUE(own->lights[1].inferred);
    EXPECT_GT(own->lights[1].covariance.trace(), own->lights[0].covariance.trace());
    // With a spectrum it is computed: the same as the color of that surface, at 1 nm, under that light (CIE 15).
    target.spectrum = std::get<SpectrumText>(sample_card(2).value).csv;
    const auto surface = surface_of(target.spectrum, "");
    const Light lamp = *light("LED-B3");
    const Lab expected = lab(xyz(*surface, lamp, Observer::degree2), xyz(lamp, Observer::degree2));
    const auto measured = goal_of(book, target, {});
    EXPECT_FALSE(measured->lights[1].inferred);
    EXPECT_LT(difference_2000(measured->lights[1].target, expected), 0.1);  // 5 nm against 1 nm
    target.light = "no such light";
    EXPECT_FAULT(goal_of(book, target, {}), Fault::light_unknown);
}

TEST(MixDesk, ReadingsAreJudgedUnderTheGoalsLightOnly) {
    const MixBook book = three_paints();
    Target target = sample_target(0);
    target.light = "D50";
    target.observer = Observer::degree2;
    target.lab = d50(50, 20, -10);
    target.lab_covariance = 0.01 * Eigen::Matrix3d::Identity();
    const auto goal = goal_of(book, target, {});
    const Eigen::Matrix3d doubt = 0.04 * Eigen::Matrix3d::Identity();
    EXPECT_EQ(judged(*goal, d50(50.1, 20, -10), doubt, 2)->verdict, "within");
    EXPECT_EQ(judged(*goal, d50(60, 20, -10), doubt, 2)->verdict, "outside");
    EXPECT_EQ(judged(*goal, d50(52, 20, -10), doubt, 2)->verdict, "not resolved");
    Lab elsewhere = d50(50, 20, -10);
    elsewhere.white = xyz(*light("A"), Observer::degree2);
    EXPECT_FALSE(judged(*goal, elsewhere, doubt, 2));
}

}  // namespace
}  // namespace sw
