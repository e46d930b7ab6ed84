// The questions about paints and pots, on what a workbook holds: what to begin with, what to add next, what it was that nobody counted.
#pragma once

#include <optional>
#include <stop_token>
#include <string>
#include <vector>

#include "mix/batch.hpp"
#include "mix/next.hpp"
#include "mix/recipe.hpp"
#include "workbook/paint_shelf.hpp"

namespace sw {

/// A color to be matched under one light.
struct MatchLight {
    Light light;
    Lab target;
    Eigen::Matrix3d covariance;
    double weight = 1;
    bool inferred = false;  // the color is known under another light only
};
/// What a mix is to look like, the light to match under first.
struct MatchGoal {
    std::string name;  // of the target or the pot
    Observer observer = Observer::degree2;
    std::vector<MatchLight> lights;
};
/// under: none for the light the target is stated for and a bench lamp (LED-B3). The first counts 1, the others kBesideWeight each.
inline constexpr double kBesideWeight = 0.3;
[[nodiscard]] Result<MatchGoal> goal_of(const MixBook&, const Target&, const std::vector<Light>& under);
/// As an earlier pot is believed to look now.
[[nodiscard]] Result<MatchGoal> goal_of(const LearnedShelf&, int pot, const std::vector<Light>& under);

/// What a pot is to become, its target or the pot it is a batch of. learned: for the latter. Error: bad_usage where neither was said.
[[nodiscard]] Result<MatchGoal> goal_of(const MixBook&, const KeptPot&, const std::vector<Light>& under, const LearnedShelf* learned);
/// The lights that were said for it. Errors: of light().
[[nodiscard]] Result<std::vector<Light>> lights_of(const MixBook&, const KeptPot&);
inline constexpr double kPotTolerance = 2;  // CIEDE2000, where none was said
[[nodiscard]] inline double tolerance_of(const KeptPot& pot) { return pot.tolerance.value_or(kPotTolerance); }

/// So much of a paint for a pot, still to be kept. unit: "drops", "ml", "g". Error: bad_usage: grams of a paint whose density is not known.
[[nodiscard]] Result<KeptAddition> counted_addition(const KeptPaint&, std::int64_t pot, double amount, const std::string& unit);

/// A color difference that is to be expected, of draws of all that is open.
struct ExpectedDifference {
    double de00 = 0, low = 0, high = 0;  // mean; 95 %
    double chance_within = 0;
};
[[nodiscard]] ExpectedDifference expected_difference(const MixColor&, const Lab& target, const Eigen::Matrix3d& target_covariance, double tolerance);

/// What is to be expected of a pot under each light of a goal, by all that is known of it.
[[nodiscard]] std::vector<ExpectedDifference> pot_under(const LearnedShelf&, int pot, const MatchGoal&, double tolerance);

struct SuggestOptions {
    std::vector<std::string> paints;  // only these; none: all that are there
    int most_paints = 3, drops = 20, least_drops = 1;
    double tolerance = 2;
    bool let_downs = false;  // strong tinters let down 1:10 with the shelf's white are offered too
};
struct SuggestedRecipe {
    struct Part {
        std::string paint;
        int drops = 0;
        double ml = 0;
    };
    std::vector<Part> parts;
    MixColor color;                         // under the first light
    std::vector<ExpectedDifference> under;  // of each light of the goal
    std::vector<std::string> words;         // "nearest", "fewest paints", "least metameric", "most robust to a drop more or less", "surest"
    bool proven_best = false;               // none is nearer, by what is most likely of the paints
    double drop_cost = 0;                   // how much worse it becomes on the mean by one drop more or less, CIEDE2000
    double ml = 0;
    std::optional<double> price;  // where that of each paint is known
};
inline constexpr int kMostDrops = 60;
struct Suggestion {
    std::vector<SuggestedRecipe> recipes;  // that of the least difference to be expected first; distinct
    MissingPaint missing;                  // of the best, with drops as fine as there can be
    std::optional<double> finer_de00;      // what the most drops (kMostDrops) come to under the first light, where that is clearly nearer
    std::vector<std::string> messages;
};
/// Errors: name_unknown (of paints); bad_usage (unlike binders among the paints named, numbers out of range); cancelled. Whoever names no paints gets
/// no recipe of unlike binders.
[[nodiscard]] Result<Suggestion> suggest(const MixBook&, const LearnedShelf&, const MatchGoal&, const SuggestOptions&, const std::stop_token& = {});

/// "Phthalo Green let down 1:10", as suggest() names it: a paint let down with the shelf's white. Nothing: no such name.
struct LetDown {
    KeptPaint paint, white;
    double white_parts = 0;
};
[[nodiscard]] std::optional<LetDown> let_down_named(const MixBook&, const std::string& name);
/// What is in so much of it: two additions of the pot, in drops or ml.
[[nodiscard]] std::vector<KeptAddition> additions_of_let_down(const LetDown&, std::int64_t pot, double amount, const std::string& unit,
                                                              const std::string& note);

struct NextQuestion {
    std::vector<std::string> paints;  // only these; none: all that are there and go with what is in the pot
    double tolerance = 2;
    int most_paints = 3;
};
/// Errors: bad_usage: nothing is in the pot; something in it is not known (explain it first); paints of unlike binders.
[[nodiscard]] Result<NextAdvice> next_for(const MixBook&, const LearnedShelf&, std::int64_t pot, const MatchGoal&, const NextQuestion&);

/// In words, where the last reading of the pot is so far off what all else leads to expect that it counts for next to nothing; empty: it is not.
[[nodiscard]] std::string doubted_words(const LearnedShelf&, std::int64_t pot);

/// What it was that nobody counted, from the first reading since. pot: with an unknown addition. Errors: bad_usage (no unknown addition; nothing was
/// in the pot before; no reading since).
struct Explanation {
    KeptAddition unknown;
    AdditionGuess guess;
};
[[nodiscard]] Result<Explanation> explain(const MixBook&, const LearnedShelf&, std::int64_t pot, int how_many, int most_drops);
/// The additions that this guess means, to be kept.
[[nodiscard]] std::vector<KeptAddition> additions_for(const LearnedShelf&, const KeptAddition& unknown, const GuessedAddition&);

/// A pot's reading held against what it is to become. Nothing: under no light that the goal has.
struct JudgedReading {
    double de00 = 0, low = 0, high = 0;
    std::string verdict;  // "within", "outside", "not resolved"
};
[[nodiscard]] std::optional<JudgedReading> judged(const MatchGoal&, const Lab&, const Eigen::Matrix3d& covariance, double tolerance);

/// Puts the verdict into a reading of the pot; a wet one, and one of a pot that is to become nothing, is not judged.
[[nodiscard]] Result<Done> judge(const MixBook&, const KeptPot&, double tolerance, KeptPotReading&);

/// Binders in words where the paints' are known and unlike; empty: they go together.
[[nodiscard]] std::string unlike_words(const MixBook&, const std::vector<std::int64_t>& paints);

}  // namespace sw
