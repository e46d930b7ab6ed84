// Recipes against all recipes in turn.
#include "mix/recipe.hpp"

#include <gtest/gtest.h>

#include <chrono>
#include <cmath>
#include <cstdlib>
#include <iostream>
#include <limits>

#include "color/difference.hpp"
#include "mix/made_up_shelf.hpp"

namespace sw {
namespace {

Lab seen(const ModelSpectrum& r, const ObserverMatrix& m, const Xyz& white) {
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
        Lab color = seen(target, observer_matrix(l, goal.observer), xyz(l, goal.observer));
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
            cost += goal.lights[l].weight * difference_2000(goal.lights[l].target, seen(r, sights[l].m, sights[l].white));
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
    for (const char* name : {"D65", "A"}) goal.lights.push_back({*light(name), mix_color(shelf, truth, *light(name), goal.observer).lab});
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

// Times are printed, not judged. SW_FULL_BARS=1 test_mix --gtest_filter='*Times'
TEST(Recipe, Times) {
    if (std::getenv("SW_FULL_BARS") == nullptr) GTEST_SKIP() << "set SW_FULL_BARS";
    const Shelf shelf = made_up_shelf(40, 9);
    for (const auto& [paints, drops, lights, within] : {std::tuple{3, 20, 1, 0.0}, {3, 40, 1, 0.0}, {3, 20, 3, 0.0}, {4, 20, 1, 0.05}}) {
        Random r(7);
        std::vector<double> ms, cost;
        for (int t = 0; t < (paints == 4 ? 4 : 12); ++t) {
            std::vector<std::string> names{"D65", "A", "LED-B3"};
            names.resize(static_cast<std::size_t>(lights));
            RecipeGoal goal = goal_of(shelf, names, r, t % 2 == 0 ? 0 : 1.2);
            goal.max_paints = paints;
            goal.drops = drops;
            goal.within = within;
            const auto start = std::chrono::steady_clock::now();
            const Result<RecipeAnswer> answer = best_recipes(shelf, goal);
            ms.push_back(std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count());
            ASSERT_TRUE(answer);
            cost.push_back(answer->best[0].cost);
        }
        std::sort(ms.begin(), ms.end());
        std::sort(cost.begin(), cost.end());
        std::cout << paints << " of 40, " << drops << " drops, " << lights << " lights: median " << ms[ms.size() / 2] << " ms, most " << ms.back()
                  << " ms; cost median " << cost[cost.size() / 2] << ", most " << cost.back() << std::endl;
    }
}

}  // namespace
}  // namespace sw
