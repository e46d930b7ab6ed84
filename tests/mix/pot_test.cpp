// Pots: learning, outliers, next additions, other sizes.
#include "mix/pot.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "color/difference.hpp"
#include "mix/batch.hpp"
#include "mix/made_up_shelf.hpp"
#include "mix/next.hpp"

namespace sw {
namespace {

Sight noon() { return sight(*light("D65"), Observer::degree2); }
PotReading reading(int after, const Lab& lab, double sd = 0.2) { return {after, {noon(), lab, sd * sd * Eigen::Matrix3d::Identity()}, {}}; }
Shelf doubted(int paints, double sd) {
    Shelf shelf = made_up_shelf(paints, 12);
    shelf.model_sd = 0.1;
    for (Paint& p : shelf.paints) doubt_strength(p, sd);
    return shelf;
}
/// Pots of a shelf whose paint 2 is 1.3 times as strong as thought.
std::vector<Pot> pots_of_a_stronger_paint(const Shelf& shelf, int count) {
    Shelf truth = shelf;
    truth.paints[2].k *= 1.3;
    truth.paints[2].s *= 1.3;
    std::vector<Pot> pots;
    for (int n = 0; n < count; ++n) {
        const Recipe mix{{0, 10 + n}, {2, 2 + n}};
        Pot pot;
        for (const RecipePart& p : mix) pot.additions.push_back({p.paint, static_cast<double>(p.drops)});
        pot.readings.push_back(reading(2, seen(mix_reflectance(truth, mix), noon())));
        pots.push_back(pot);
    }
    return pots;
}

TEST(Pot, StrengthIsLearned) {
    const Shelf shelf = doubted(4, 0.2);
    const Result<Learned> learned = learn(shelf, pots_of_a_stronger_paint(shelf, 6), false);
    ASSERT_TRUE(learned);
    // Seen is only how strong it is beside the white.
    EXPECT_NEAR(learned->strengths[2].factor / learned->strengths[0].factor, 1.3, 0.06);
    EXPECT_LT(learned->strengths[2].sd, learned->strengths[2].sd_before);
    EXPECT_NEAR(learned->strengths[3].factor, 1, 1e-6);
    EXPECT_NEAR(learned->strengths[3].sd, 0.2, 1e-3);
    const Result<Learned> nothing = learn(shelf, {}, false);  // forgotten
    ASSERT_TRUE(nothing);
    EXPECT_EQ(nothing->strengths[2].factor, 1);
}

// Property: all pots are learned together, so their order does not matter.
TEST(Pot, OrderDoesNotMatter) {
    const Shelf shelf = doubted(4, 0.2);
    std::vector<Pot> pots = pots_of_a_stronger_paint(shelf, 3);
    const Result<Learned> one = learn(shelf, pots, false);
    std::swap(pots[0], pots[2]);
    const Result<Learned> other = learn(shelf, pots, false);
    ASSERT_TRUE(one);
    ASSERT_TRUE(other);
    EXPECT_NEAR(one->strengths[2].factor, other->strengths[2].factor, 1e-4);
}

TEST(Pot, AnOutlierIsQuestioned) {
    const Shelf shelf = doubted(4, 0.1);
    std::vector<Pot> pots = pots_of_a_stronger_paint(shelf, 6);
    pots[3].readings[0].color.lab.b += 15;
    const Result<Learned> learned = learn(shelf, pots, false);
    ASSERT_TRUE(learned);
    for (const ReadingJudged& j : learned->readings) EXPECT_EQ(j.questioned, j.pot == 3) << j.pot << " " << j.chi_square;
}

// What is not known how much it was teaches little of its paint's strength: the dose takes the blame. Property of the update.
TEST(Pot, ADoubtfulDoseTeachesLess) {
    const Shelf shelf = doubted(4, 0.2);
    std::vector<Pot> sure = pots_of_a_stronger_paint(shelf, 3), doubtful = sure;
    for (Pot& pot : doubtful) {
        for (Addition& one : pot.additions) {
            if (one.paint == 2) one.cv = 1;
        }
    }
    const auto with = learn(shelf, sure, false), without = learn(shelf, doubtful, false);
    ASSERT_TRUE(with && without);
    EXPECT_LT(std::abs(std::log(without->strengths[2].factor)), 0.5 * std::abs(std::log(with->strengths[2].factor)));
    EXPECT_GT(without->strengths[2].sd, with->strengths[2].sd);
}

TEST(Pot, RefusesWhatIsNoPot) {
    const Shelf shelf = doubted(3, 0.1);
    const Pot good = pots_of_a_stronger_paint(shelf, 1)[0];
    EXPECT_TRUE(learn(shelf, {good}));
    for (const auto spoil :
         {+[](Pot& p) { p.additions[0].drops = 0; }, +[](Pot& p) { p.additions[0].paint = 9; }, +[](Pot& p) { p.readings[0].after = 3; },
          +[](Pot& p) { p.readings[0].after = 0; }, +[](Pot& p) { p.readings[0].color.lab.a = NAN; }}) {
        Pot bad = good;
        spoil(bad);
        const Result<Learned> learned = learn(shelf, {bad});
        ASSERT_FALSE(learned);
        EXPECT_EQ(learned.error().fault, Fault::table_malformed);
    }
}

// Common practice, no source: a pot that lacks white is given white.
TEST(Pot, WhatLacksIsAdded) {
    const Shelf shelf = doubted(4, 0.02);
    Pot pot;
    pot.additions = {{0, 10}, {2, 2}};
    const Recipe wanted{{0, 20}, {2, 2}};
    NextGoal goal;
    goal.lights = {{noon(), seen(mix_reflectance(shelf, wanted), noon()), 1}};
    pot.readings.push_back(reading(2, seen(mix_reflectance(shelf, {{0, 10}, {2, 2}}), noon())));
    const Result<Learned> learned = learn(shelf, {pot}, false);
    ASSERT_TRUE(learned);
    const Result<NextAdvice> advice = next_addition(*learned, 0, goal);
    ASSERT_TRUE(advice);
    EXPECT_EQ(advice->step, NextStep::add);
    ASSERT_FALSE(advice->additions.empty());
    const Outlook& first = advice->additions[0];
    EXPECT_EQ(first.add.size(), 1U);
    EXPECT_EQ(first.add[0].paint, 0);
    EXPECT_NEAR(first.add[0].drops, 10, 3);
    EXPECT_EQ(first.drops_after - first.drops_before, first.add[0].drops);
    EXPECT_LT(first.de00, advice->as_it_is.de00);
    EXPECT_LE(first.low, first.de00);
    EXPECT_GE(first.high, first.de00);
    // There already: leave it. Far too dark: no addition up to twice the size reaches white.
    goal.lights[0].target = pot.readings[0].color.lab;
    EXPECT_EQ(next_addition(*learned, 0, goal)->step, NextStep::leave);
    pot.additions = {{0, 2}, {1, 20}};
    pot.readings.clear();
    const Result<Learned> dark = learn(shelf, {pot}, false);
    ASSERT_TRUE(dark);
    goal.lights[0].target = seen(mix_reflectance(shelf, {{0, 1}}), noon());
    EXPECT_EQ(next_addition(*dark, 0, goal)->step, NextStep::start_anew);
    EXPECT_FALSE(next_addition(*dark, 1, goal));
    goal.lights.clear();
    EXPECT_FALSE(next_addition(*dark, 0, goal));
}

TEST(Pot, UnseenAdditionIsNamed) {
    const Shelf shelf = doubted(5, 0.02);
    Pot pot;
    pot.additions = {{0, 20}, {2, 5}};
    const Result<Learned> learned = learn(shelf, {pot}, false);
    ASSERT_TRUE(learned);
    const Lab after = seen(mix_reflectance(shelf, {{0, 20}, {2, 5}, {1, 3}}), noon());
    const Result<AdditionGuess> guess = guess_addition(*learned, 0, {noon(), after, 0.01 * Eigen::Matrix3d::Identity()}, 1);
    ASSERT_TRUE(guess);
    ASSERT_FALSE(guess->sets.empty());
    EXPECT_EQ(guess->sets[0].paints, std::vector<int>{1});
    EXPECT_NEAR(guess->sets[0].drops[0], 3, 0.5);
    EXPECT_LT(difference_2000(guess->lab, after), 0.2);
    EXPECT_FALSE(guess_addition(*learned, 3, {noon(), after, Eigen::Matrix3d::Identity()}));
    EXPECT_FALSE(guess_addition(*learned, 0, {noon(), after, Eigen::Matrix3d::Identity()}, 3));
}

TEST(Batch, IsScaledWithItsRoundingShown) {
    Shelf shelf = made_up_shelf(3, 5);
    shelf.paints[2].drop.ml = 0.04;
    const Result<Batch> batch = batch_of(shelf, {{0, 80}, {2, 17}}, 15, noon(), {1.4, 0, 1.1});
    ASSERT_TRUE(batch);
    EXPECT_FALSE(batch->note.empty());  // 97
    EXPECT_NEAR(batch->parts[0].ml + batch->parts[1].ml, 15, 1e-12);
    EXPECT_NEAR(batch->parts[0].ml, 15 * 80 / 97.0, 1e-12);
    EXPECT_NEAR(batch->parts[1].drops, batch->parts[1].ml / 0.04, 1e-9);
    EXPECT_NEAR(*batch->parts[0].grams, 1.4 * batch->parts[0].ml, 1e-12);
    for (const BatchPart& p : batch->parts) EXPECT_LE(std::abs(p.whole_drops - p.drops), 1);
    EXPECT_NEAR(batch->ml, batch->parts[0].whole_drops * 0.05 + batch->parts[1].whole_drops * 0.04, 1e-12);
    const double small = batch_of(shelf, {{0, 80}, {2, 17}}, 0.3, noon())->rounding_de00;
    EXPECT_GT(small, batch->rounding_de00);
    EXPECT_TRUE(batch_of(shelf, {{0, 83}, {2, 17}}, 15, noon())->note.empty());
    EXPECT_NEAR(*batch_ml(200, 3, 40, 0.25), 20, 1e-12);
    for (const std::vector<Share>& bad : std::vector<std::vector<Share>>{{}, {{0, 0}}, {{0, -1}}, {{7, 1}}})
        EXPECT_FALSE(batch_of(shelf, bad, 15, noon()));
    EXPECT_FALSE(batch_of(shelf, {{0, 1}}, 0, noon()));
    EXPECT_FALSE(batch_ml(0, 1, 1));
}

}  // namespace
}  // namespace sw
