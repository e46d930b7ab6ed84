// Recipes against all recipes in turn.
#include "mix/recipe.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <limits>

#include "color/difference.hpp"
#include "mix/made_up_shelf.hpp"

namespace sw {
namespace {

Lab seen_by(const ModelSpectrum& r, const ObserverMatrix& m, const Xyz& white) {
    const Eigen::Vector3d v = 100 * (m * r);
    return lab(Xyz{v[0], v[1], v[2]}, white);
}

/// A target that is a mix of paints in shares, moved by up to `off` in each of L*, a*, b*.
RecipeGoal goal_of(const Shelf& shelf, const std::vector<std::string>& lights, Random& r, double off) {
    Recipe mix;
    for (int i = 0; i < 4; ++i) mix.push_back({r.below(static_cast<int>(shelf.paints.size())), 1 + r.below(1000)});
    const ModelSpectrum target = mix_reflectance(shelf, mix);
    RecipeGoal goal;
    const double dl = r.uniform(-off, off), da = r.uniform(-off, off), db = r.uniform(-off, off);
    for (const std::string& name : lights) {
        const Light l = *light(name);
        Lab color = seen_by(target, observer_matrix(l, goal.observer), xyz(l, goal.observer));
        color.L += dl;
        color.a += da;
        color.b += db;
        goal.lights.push_back({l, color, goal.lights.empty() ? 1.0 : 0.5});
    }
    return goal;
}

/// The least cost, every recipe of 1..3 paints worked out.
double least_of_all(const Shelf& shelf, const RecipeGoal& goal) {
    struct Seen {
        ObserverMatrix m;
        Xyz white;
    };
    std::vector<Seen> sights;
    for (const RecipeLight& l : goal.lights) sights.push_back({observer_matrix(l.light, goal.observer), xyz(l.light, goal.observer)});
    double least = std::numeric_limits<double>::infinity();
    const auto look = [&](const Recipe& recipe) {
        const ModelSpectrum r = mix_reflectance(shelf, recipe);
        double cost = 0;
        for (std::size_t l = 0; l < sights.size(); ++l)
            cost += goal.lights[l].weight * difference_2000(goal.lights[l].target, seen_by(r, sights[l].m, sights[l].white));
        least = std::min(least, cost);
    };
    const auto apart = [&](int a, int b) {
        return std::any_of(goal.apart.begin(), goal.apart.end(), [&](const auto& p) { return p == std::pair(a, b) || p == std::pair(b, a); });
    };
    const int n = static_cast<int>(shelf.paints.size());
    for (int a = 0; a < n; ++a) {
        look({{a, 1}});
        for (int b = a + 1; b < n; ++b) {
            if (apart(a, b)) continue;
            for (int i = goal.least_drops; i < goal.drops; ++i)
                for (int j = goal.least_drops; i + j <= goal.drops; ++j) look({{a, i}, {b, j}});
            for (int c = b + 1; c < n; ++c) {
                if (apart(a, c) || apart(b, c)) continue;
                for (int i = goal.least_drops; i < goal.drops; ++i)
                    for (int j = goal.least_drops; i + j < goal.drops; ++j)
                        for (int k = goal.least_drops; i + j + k <= goal.drops; ++k) look({{a, i}, {b, j}, {c, k}});
            }
        }
    }
    return least;
}

#ifdef SW_SLOW_BUILD
constexpr int kTargets = 3;
#else
constexpr int kTargets = 24;
#endif

TEST(Recipe, IsTheBestOfAll) {
    const int targets = std::getenv("SW_FULL_BARS") != nullptr ? 300 : kTargets;
    Random r(5);
    int near = 0;
    for (int t = 0; t < targets; ++t) {
        Shelf shelf = made_up_shelf(7, 100 + static_cast<std::uint64_t>(t));
        if (t % 3 == 1) shelf.paints[2].drop.ml = 0.03;
        if (t % 4 == 2) shelf.surface = {0, 0};
        const std::vector<std::string> lights = t % 3 == 0 ? std::vector<std::string>{"D65", "A", "LED-B3"} : std::vector<std::string>{"D65"};
        RecipeGoal goal = goal_of(shelf, lights, r, t % 5 == 0 ? 20.0 : t % 2 == 0 ? 2.0 : 0.0);
        goal.drops = 10;
        if (t % 4 == 1) goal.apart = {{0, 1}, {3, 2}};
        if (t % 6 == 5) goal.least_drops = 2;
        const Result<RecipeAnswer> answer = best_recipes(shelf, goal);
        ASSERT_TRUE(answer);
        EXPECT_TRUE(answer->proven);
        const double least = least_of_all(shelf, goal);
        EXPECT_NEAR(answer->best.at(0).cost, least, 1e-9) << "target " << t;
        near += least < 1 ? 1 : 0;
        for (std::size_t i = 1; i < answer->best.size(); ++i) EXPECT_LT(answer->best[i].parts.size(), answer->best[i - 1].parts.size());
    }
    EXPECT_GT(near, targets / 5);  // not only what is far off
}

TEST(Recipe, AnExactRecipeIsFound) {
    const Shelf shelf = made_up_shelf(12, 3);
    const Recipe truth{{0, 11}, {4, 2}, {7, 1}};
    RecipeGoal goal;
    for (const char* name : {"D65", "A"}) goal.lights.push_back({*light(name), mix_color(shelf, truth, sight(*light(name), goal.observer)).lab});
    const Result<RecipeAnswer> answer = best_recipes(shelf, goal);
    ASSERT_TRUE(answer);
    EXPECT_NEAR(answer->best.at(0).cost, 0, 1e-6);
    EXPECT_EQ(answer->best[0].parts, truth);
}

TEST(Recipe, StoppedIsNotProven) {
    const Shelf shelf = made_up_shelf(12, 3);
    Random r(1);
    const RecipeGoal goal = goal_of(shelf, {"D65"}, r, 0);
    std::stop_source stop;
    stop.request_stop();
    const Result<RecipeAnswer> answer = best_recipes(shelf, goal, stop.get_token());
    ASSERT_TRUE(answer);
    EXPECT_FALSE(answer->proven);
}

TEST(Recipe, ChoicesAreWhatTheyAreCalled) {
    const Shelf shelf = made_up_shelf(10, 31);
    Random r(2);
    RecipeGoal goal = goal_of(shelf, {"D65", "A"}, r, 0.5);
    const Result<RecipeAnswer> answer = best_recipes(shelf, goal);
    ASSERT_TRUE(answer);
    for (const FoundRecipe& near : answer->near) EXPECT_GE(near.cost, answer->best[0].cost - 1e-12);
    const RecipeChoice c = choices(shelf, goal, *answer, 1.0);
    EXPECT_EQ(c.best.parts, answer->best[0].parts);
    EXPECT_LE(c.fewest_paints.parts.size(), c.best.parts.size());
    EXPECT_LE(traits(shelf, goal, c.least_metameric).light_spread, traits(shelf, goal, c.best).light_spread);
    EXPECT_LE(c.most_robust.cost + traits(shelf, goal, c.most_robust).drop_cost, c.best.cost + traits(shelf, goal, c.best).drop_cost + 1e-12);
    for (const FoundRecipe* one : {&c.fewest_paints, &c.least_metameric, &c.most_robust}) EXPECT_LE(one->cost, c.best.cost + 1.0);
}

TEST(Recipe, UnlikeBindersAreKeptApart) {
    Shelf shelf = made_up_shelf(4, 3);
    shelf.paints[0].binder = "acrylic";
    shelf.paints[1].binder = "Lacquer";
    shelf.paints[2].binder = "Acrylic";
    EXPECT_EQ(unlike_binders(shelf), (std::vector<std::pair<int, int>>{{0, 1}, {1, 2}}));
}

// Common practice, no source: what is missing for a clean blue on a shelf of white, black and a yellow is a blue.
TEST(Recipe, TellsWhatPaintIsMissing) {
    Shelf shelf = made_up_shelf(3, 3);
    for (int i = 0; i < kModelBands; ++i) shelf.paints[2].k[i] = 0.01 + 3 / (1 + std::exp((model_nm(i) - 500) / 8.0));
    RecipeGoal goal;
    goal.lights.push_back({*light("D65"), Lab{45, -5, -45, xyz(*light("D65"), goal.observer)}});
    const Result<RecipeAnswer> answer = best_recipes(shelf, goal);
    ASSERT_TRUE(answer);
    const MissingPaint blue = missing_paint(goal, shelf, answer->best[0]);
    EXPECT_GT(blue.de00, 5);
    EXPECT_NE(blue.kind.find("blue"), std::string::npos) << blue.kind;
    EXPECT_NE(blue.direction.find("bluer"), std::string::npos) << blue.direction;
    goal.lights[0].target = mix_color(shelf, {{0, 5}, {2, 1}}, sight(*light("D65"), goal.observer)).lab;
    const Result<RecipeAnswer> there = best_recipes(shelf, goal);
    ASSERT_TRUE(there);
    EXPECT_TRUE(missing_paint(goal, shelf, there->best[0]).kind.empty());
}

TEST(Recipe, RefusesWhatCannotBe) {
    const Shelf shelf = made_up_shelf(3, 3);
    Random r(1);
    const RecipeGoal good = goal_of(shelf, {"D65"}, r, 0);
    EXPECT_TRUE(best_recipes(shelf, good));
    EXPECT_FALSE(best_recipes(Shelf{}, good));
    for (const auto spoil : {+[](RecipeGoal& g) { g.lights.clear(); }, +[](RecipeGoal& g) { g.drops = 0; }, +[](RecipeGoal& g) { g.drops = 1000000; },
                             +[](RecipeGoal& g) { g.max_paints = 5; }, +[](RecipeGoal& g) { g.least_drops = 21; },
                             +[](RecipeGoal& g) { g.lights[0].target.a = NAN; }, +[](RecipeGoal& g) { g.lights[0].weight = 0; }}) {
        RecipeGoal bad = good;
        spoil(bad);
        const Result<RecipeAnswer> answer = best_recipes(shelf, bad);
        ASSERT_FALSE(answer);
        EXPECT_EQ(answer.error().fault, Fault::bad_usage);
        EXPECT_FALSE(answer.error().remedy.empty());
    }
}

}  // namespace
}  // namespace sw
