// Recipes in whole drops, proven best.
#pragma once

#include <cstdint>
#include <stop_token>
#include <string>
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
    std::vector<FoundRecipe> near;  // up to 200 more that were met, cheapest first: what may be as good in other ways. Not all that there are
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

/// Pairs of paints whose binders are known and unlike (case does not matter): not to be mixed on the tool's word.
[[nodiscard]] std::vector<std::pair<int, int>> unlike_binders(const Shelf&);

/// What else may be said of a recipe: how much its cost grows on the mean when one drop more or less of one of its paints gets in; how far its
/// differences under the lights lie apart.
struct RecipeTraits {
    double drop_cost = 0;
    double light_spread = 0;
};
[[nodiscard]] RecipeTraits traits(const Shelf&, const RecipeGoal&, const FoundRecipe&);

/// Distinct recipes to choose from, of those in the answer that cost at most `more` above the best. A recipe may be several of these.
struct RecipeChoice {
    FoundRecipe best, fewest_paints, least_metameric, most_robust;
};
[[nodiscard]] RecipeChoice choices(const Shelf&, const RecipeGoal&, const RecipeAnswer&, double more = 0.5);

/// Why the best recipe stays off: the target less the recipe, in words, and what kind of paint would reach it.
struct MissingPaint {
    double de00 = 0;        // under the first light
    std::string direction;  // "slightly darker, much cleaner": where the shelf cannot go; empty when nothing is missing (below 1)
    std::string kind;       // "a stronger, cleaner blue (such as PB)"; empty likewise
};
/// What kind, by hue and lightness of the target: common practice, no source.
[[nodiscard]] MissingPaint missing_paint(const RecipeGoal&, const Shelf&, const FoundRecipe&);

}  // namespace sw
