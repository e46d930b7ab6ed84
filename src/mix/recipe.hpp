// Recipes in whole drops, proven best.
#pragma once

#include <cstdint>
#include <stop_token>
#include <utility>
#include <vector>

#include "mix/paint.hpp"

namespace sw {

/// What the mix should look like under one light, and how much a difference there counts (> 0; daylight 1).
struct RecipeLight {
    Light light;
    Lab target;  // relative to that light's white
    double weight = 1;
};

struct RecipeGoal {
    std::vector<RecipeLight> lights;
    Observer observer = Observer::degree2;
    int drops = 20;      // at most; 1..60. Totals below half of it are multiples of others and not looked at by themselves
    int max_paints = 3;  // 1..4
    int least_drops = 1;
    std::vector<std::pair<int, int>> apart;  // paints that may not be in one pot
    double within = 0;                       // CIEDE2000 that the best may be missed by; saves time with four paints
};

struct FoundRecipe {
    Recipe parts;
    std::vector<double> de00;  // for each light
    double cost = 0;           // sum of weight * de00
};

struct RecipeAnswer {
    std::vector<FoundRecipe> best;  // the best of all first, then the best with fewer paints, each number of paints once
    bool proven = false;            // nothing on the shelf is better than best[0] by more than `within`; false when stopped
    std::int64_t looked_at = 0;     // recipes worked out to the end
};

/// Branch and bound over the simplex of shares for every set of paints. The bound is proved, nothing in it is sampled:
///   - each band of a cell lies between its corners' weighted mean less a chord's gap (R is convex in K/S) and that mean (Jensen), but for a
///     covariance of S and R; and between its least and greatest corner
///   - CIEDE2000 <= t keeps L*, and a*, b* by chroma and hue, in ranges (S_L, S_C, S_H, R_T at their worst there); these make six planes in XYZ
/// Recipes are told apart by CIEDE2000 in double, so an answer is as exact as that.
/// Faults: bad_usage (no lights, no paints, numbers out of range). Test: tests/mix/recipe_test.cpp, against all recipes in turn
[[nodiscard]] Result<RecipeAnswer> best_recipes(const Shelf&, const RecipeGoal&, const std::stop_token& = {});

}  // namespace sw
