#include "workbook/mix_desk.hpp"

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <condition_variable>
#include <cstdio>
#include <functional>
#include <limits>
#include <mutex>
#include <set>
#include <thread>

#include "color/difference.hpp"
#include "match/compare.hpp"
#include "match/interval.hpp"
#include "mix/gauss_newton.hpp"
#include "spectral/random.hpp"
#include "spectral/surface_posterior.hpp"

namespace sw {
namespace {

/// Asks to stop when the caller does, or after so long.
class Limited {
public:
    Limited(const std::stop_token& caller, std::chrono::seconds most)
        : on_caller_(caller, [this] { source_.request_stop(); }), timer_([this, most](const std::stop_token& ended) {
              std::mutex mutex;
              std::unique_lock lock(mutex);
              std::condition_variable_any never;
              never.wait_for(lock, ended, most, [] { return false; });
              if (!ended.stop_requested()) source_.request_stop();
          }) {}
    Limited(const Limited&) = delete;
    Limited& operator=(const Limited&) = delete;
    [[nodiscard]] std::stop_token token() const { return source_.get_token(); }

private:
    std::stop_source source_;
    std::stop_callback<std::function<void()>> on_caller_;
    std::jthread timer_;
};

constexpr const char* kBenchLamp = "LED-B3";
constexpr double kLetDownParts = 10;
constexpr int kPotDraws = 256;

Error cannot(const std::string& place, const std::string& cause, const std::string& remedy) { return {Fault::bad_usage, "", place, cause, remedy}; }

Result<std::vector<Light>> with_bench_lamp(const Light& own, const std::vector<Light>& under) {
    if (!under.empty()) return under;
    const Result<Light> lamp = light(kBenchLamp);
    if (!lamp) return lamp.error();
    return std::vector<Light>{own, *lamp};
}

constexpr const char* kUnlikeRemedy = "never mix unlike binders on the tool's word: test it first, then take paints of one binder";

/// Places of the paints that may be used. Error: as suggest().
Result<std::vector<int>> allowed_paints(const MixBook& book, const PaintShelf& shelf, const std::vector<std::string>& names) {
    std::vector<int> allowed;
    if (names.empty()) {
        for (std::size_t i = 0; i < shelf.ids.size(); ++i) {
            if (shelf.there[i]) allowed.push_back(static_cast<int>(i));
        }
        if (allowed.empty()) return cannot("", "no paint is on the shelf", "add one: swatchwright paint add NAME --masstone L,a,b");
        return allowed;
    }
    std::vector<std::int64_t> ids;
    for (const std::string& name : names) {
        const Result<KeptPaint> paint = paint_named(book, name);
        if (!paint) return paint.error();
        const int place = shelf.place_of(paint->id);
        if (place < 0)
            return cannot("paint \"" + name + "\"", "it is no longer on the shelf", "put it back: swatchwright paint set NAME --on-shelf yes");
        if (std::find(allowed.begin(), allowed.end(), place) == allowed.end()) allowed.push_back(place);
        ids.push_back(paint->id);
    }
    if (const std::string unlike = unlike_words(book, ids); !unlike.empty()) return cannot("--paints", unlike, kUnlikeRemedy);
    return allowed;
}

/// A pot's color and its doubt, of draws.
MixColor pot_color(const std::vector<PotDraw>& draws, const Shelf& shelf, const Sight& looks, const Coat& coat) {
    std::vector<Eigen::Vector3d> all;
    Eigen::Vector3d mean = Eigen::Vector3d::Zero();
    for (std::size_t d = 1; d < draws.size(); ++d) {
        const Lab lab = draw_color(draws[d], shelf, {}, {}, looks, coat);
        all.emplace_back(lab.L, lab.a, lab.b);
        mean += all.back() / static_cast<double>(draws.size() - 1);
    }
    MixColor color{{mean[0], mean[1], mean[2], looks.white}, Eigen::Matrix3d::Zero()};
    for (const Eigen::Vector3d& v : all) color.covariance += (v - mean) * (v - mean).transpose() / static_cast<double>(all.size() - 1);
    return color;
}

/// Of all that were met, the one of which the least difference is to be expected, doubts of the paints and drops counted in.
FoundRecipe surest(const Shelf& shelf, const MatchGoal& goal, const RecipeAnswer& answer, double tolerance) {
    std::vector<FoundRecipe> all = answer.best;
    all.insert(all.end(), answer.near.begin(), answer.near.end());
    std::vector<Sight> sights;
    for (const MatchLight& one : goal.lights) sights.push_back(sight(one.light, goal.observer));
    FoundRecipe best;
    double least = std::numeric_limits<double>::infinity();
    for (const FoundRecipe& found : all) {
        if (found.cost >= least) continue;  // doubt only adds, but for a little
        double expected = 0;
        for (std::size_t i = 0; i < goal.lights.size(); ++i) {
            const MatchLight& one = goal.lights[i];
            expected += one.weight * expected_difference(mix_color(shelf, found.parts, sights[i]), one.target, one.covariance, tolerance).de00;
        }
        if (expected >= least) continue;
        least = expected;
        best = found;
    }
    return best;
}

}  // namespace

std::string unlike_words(const MixBook& book, const std::vector<std::int64_t>& paints) {
    const auto low = [](std::string text) {
        for (char& c : text) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + ('a' - 'A')) : c;
        return text;
    };
    const KeptPaint* first = nullptr;
    for (const std::int64_t id : paints) {
        const KeptPaint* paint = book.paint(id);
        if (paint == nullptr || paint->binder.empty()) continue;
        if (first == nullptr) first = paint;
        if (low(first->binder) != low(paint->binder))
            return "\"" + first->name + "\" is " + first->binder + " and \"" + paint->name + "\" is " + paint->binder + ": unlike binders";
    }
    return {};
}

Result<MatchGoal> goal_of(const MixBook& book, const Target& target, const std::vector<Light>& under) {
    const Result<Light> own = light(target.light, {}, book.lamps);
    if (!own) {
        Error error = own.error();
        error.place = "target \"" + target.name + "\": light \"" + target.light + "\"";
        error.remedy = "keep that light as a lamp of this name (swatchwright lamp add), or the target under a light that has a name";
        return error;
    }
    const auto lights = with_bench_lamp(*own, under);
    if (!lights) return lights.error();
    MatchGoal goal{target.name, target.observer, {}};
    const Result<Reflectance> measured = target.spectrum.empty() ? Result<Reflectance>(Error{}) : surface_of(target.spectrum, target.name);
    std::optional<SurfacePosterior> believed;
    for (const Light& one : *lights) {
        MatchLight match{one, target.lab, target.lab_covariance, goal.lights.empty() ? 1 : kBesideWeight, false};
        if (one.power != own->power) {
            if (measured) {
                match.target = seen(on_model_grid(measured->value), sight(one, target.observer));
            } else {
                if (!believed) {
                    Result<SurfacePosterior> surface = surface_posterior(target.lab, target.lab_covariance, *own, target.observer);
                    if (!surface) {
                        Error error = surface.error();
                        error.place = "target \"" + target.name + "\"";
                        error.remedy = "match it under the light it is stated for: --under " + target.light;
                        return error;
                    }
                    believed = *std::move(surface);
                }
                const SurfaceColorRange color = believed->color(one, target.observer);
                match.target = color.lab;
                match.covariance = color.covariance;
                match.inferred = true;
            }
        }
        match.target.white = xyz(one, target.observer);
        goal.lights.push_back(std::move(match));
    }
    return goal;
}

Result<MatchGoal> goal_of(const LearnedShelf& shelf, int pot, const std::vector<Light>& under) {
    if (pot < 0 || pot >= static_cast<int>(shelf.pots.size()) || shelf.pots[static_cast<std::size_t>(pot)].pot.additions.empty())
        return cannot("", "nothing is in the pot that this is to be a batch of", "name a pot with something in it");
    const PotContent& content = shelf.pots[static_cast<std::size_t>(pot)].content;
    if (content.unknown != 0 || content.lost)
        return cannot("pot \"" + shelf.pots[static_cast<std::size_t>(pot)].pot.name + "\"",
                      content.lost ? "the record of what went in has a gap, so its color cannot be reckoned"
                                   : "something went in that nobody counted, so its color cannot be reckoned",
                      content.lost ? "read it once more, keep the reading as a target, and match that"
                                   : "say what it was: swatchwright mix explain POT --take");
    const Result<Light> own = light("D50");
    const auto lights = with_bench_lamp(*own, under);
    if (!lights) return lights.error();
    MatchGoal goal{shelf.pots[static_cast<std::size_t>(pot)].pot.name, Observer::degree2, {}};
    const std::vector<PotDraw> draws = pot_draws(shelf.learned, pot, kPotDraws, 3);
    for (const Light& one : *lights) {
        const Sight looks = sight(one, goal.observer);
        const MixColor color = pot_color(draws, shelf.learned.start, looks, shelf.pots[static_cast<std::size_t>(pot)].coat);
        goal.lights.push_back({one, color.lab, color.covariance, goal.lights.empty() ? 1 : kBesideWeight, false});
    }
    return goal;
}

ExpectedDifference expected_difference(const MixColor& color, const Lab& target, const Eigen::Matrix3d& target_covariance, double tolerance) {
    constexpr int kDraws = 1000;
    const Eigen::MatrixXd root = root_of(color.covariance + target_covariance);
    Random random(11);
    std::vector<double> off;
    ExpectedDifference expected;
    for (int d = 0; d < kDraws; ++d) {
        const Eigen::Vector3d normal(random.normal(), random.normal(), random.normal()), moved = root * normal;
        const Lab lab{color.lab.L + moved[0], color.lab.a + moved[1], color.lab.b + moved[2], target.white};
        off.push_back(difference_2000(target, lab));
        expected.de00 += off.back() / kDraws;
        expected.chance_within += (off.back() <= tolerance ? 1.0 : 0.0) / kDraws;
    }
    std::sort(off.begin(), off.end());
    expected.low = off[kDraws / 40];
    expected.high = off[kDraws - 1 - kDraws / 40];
    return expected;
}

Result<Suggestion> suggest(const MixBook& book, const LearnedShelf& learned, const MatchGoal& goal, const SuggestOptions& options,
                           const std::stop_token& stop) {
    const auto allowed = allowed_paints(book, learned.start, options.paints);
    if (!allowed) return allowed.error();
    Suggestion suggestion;
    suggestion.messages = learned.start.messages;
    // The shelf's white stands first where it is among them, as let-downs need it.
    Shelf shelf = some_of(learned.learned.shelf, *allowed);
    std::vector<std::int64_t> ids;
    for (const int place : *allowed) ids.push_back(learned.start.ids[static_cast<std::size_t>(place)]);
    if (options.let_downs) {
        const auto white = std::find(allowed->begin(), allowed->end(), 0);
        if (white != allowed->begin())
            return cannot("--let-downs", "the shelf's white is not among the paints", "name it first in --paints, or name none");
        const int own = static_cast<int>(shelf.paints.size());
        for (int place = 1; place < own; ++place) {
            auto more = with_let_down(shelf, place, kLetDownParts);
            if (!more) return more.error();
            shelf = *std::move(more);
            ids.push_back(0);
        }
    }
    RecipeGoal search;
    for (const MatchLight& one : goal.lights) search.lights.push_back({one.light, one.target, one.weight});
    search.observer = goal.observer;
    search.drops = options.drops;
    search.max_paints = options.most_paints;
    search.least_drops = options.least_drops;
    constexpr double kFourPaints = 0.05;  // saves time, and nobody can see it
    search.within = options.most_paints > 3 ? kFourPaints : 0;
    search.apart = unlike_binders(shelf);
    const Limited limited(stop, std::chrono::seconds(10));  // far out of reach the proof takes minutes, and the best is met at once
    const auto answer = best_recipes(shelf, search, limited.token());
    if (!answer) return answer.error();
    if (stop.stop_requested()) return Error{Fault::cancelled, "", "", "the search was stopped", "ask again"};
    if (answer->best.empty()) return cannot("", "no recipe can be made of these paints", "allow more paints or more drops");
    suggestion.missing = missing_paint(search, shelf, answer->best[0]);
    if (!suggestion.missing.direction.empty() && search.drops < kMostDrops) {  // is a paint missing, or are the drops too coarse?
        RecipeGoal fine = search;
        fine.drops = kMostDrops;
        constexpr double kClose = 0.1, kNearer = 0.5;
        fine.within = kClose;
        const Limited also(stop, std::chrono::seconds(3));
        const auto finer = best_recipes(shelf, fine, also.token());
        if (!finer) return finer.error();
        if (!finer->best.empty() && finer->best[0].de00[0] < answer->best[0].de00[0] - kNearer) {
            suggestion.finer_de00 = finer->best[0].de00[0];
            suggestion.missing = missing_paint(fine, shelf, finer->best[0]);
        }
    }
    const RecipeChoice chosen = choices(shelf, search, *answer);
    const auto tell = [&](const FoundRecipe& found, const std::string& word) {
        std::vector<SuggestedRecipe::Part> parts;
        for (const RecipePart& part : found.parts) {
            const Paint& paint = shelf.paints[static_cast<std::size_t>(part.paint)];
            parts.push_back({paint.name, part.drops, part.drops * paint.drop.ml});
        }
        for (SuggestedRecipe& known : suggestion.recipes) {
            const bool same = std::equal(known.parts.begin(), known.parts.end(), parts.begin(), parts.end(),
                                         [](const auto& a, const auto& b) { return a.paint == b.paint && a.drops == b.drops; });
            if (!same) continue;
            if (std::find(known.words.begin(), known.words.end(), word) == known.words.end()) known.words.push_back(word);
            return;
        }
        SuggestedRecipe recipe;
        for (const MatchLight& one : goal.lights) {
            const MixColor color = mix_color(shelf, found.parts, sight(one.light, goal.observer));
            if (recipe.under.empty()) recipe.color = color;
            recipe.under.push_back(expected_difference(color, one.target, one.covariance, options.tolerance));
        }
        recipe.words = {word};
        recipe.proven_best = word == "nearest" && answer->proven;
        recipe.drop_cost = traits(shelf, search, found).drop_cost;
        recipe.price = 0;
        for (const RecipePart& part : found.parts) {
            const double ml = part.drops * shelf.paints[static_cast<std::size_t>(part.paint)].drop.ml;
            recipe.ml += ml;
            const KeptPaint* paint = book.paint(ids[static_cast<std::size_t>(part.paint)]);
            const std::optional<double> left = paint == nullptr ? std::nullopt : stock_now(book, *paint);
            if (left && *left < ml) suggestion.messages.push_back("\"" + paint->name + "\": more is needed than is left of it");
            if (paint == nullptr || !paint->price || !paint->bottle_ml)
                recipe.price.reset();
            else if (recipe.price)
                *recipe.price += ml * *paint->price / *paint->bottle_ml;
        }
        recipe.parts = std::move(parts);
        suggestion.recipes.push_back(std::move(recipe));
    };
    tell(chosen.best, "nearest");
    tell(chosen.fewest_paints, "fewest paints");
    if (goal.lights.size() > 1) tell(chosen.least_metameric, "least metameric");
    tell(chosen.most_robust, "most robust to a drop more or less");
    tell(surest(shelf, goal, *answer, options.tolerance), "surest");
    const auto expected = [&](const SuggestedRecipe& recipe) {
        double sum = 0;
        for (std::size_t i = 0; i < goal.lights.size(); ++i) sum += goal.lights[i].weight * recipe.under[i].de00;
        return sum;
    };
    std::stable_sort(suggestion.recipes.begin(), suggestion.recipes.end(),
                     [&](const SuggestedRecipe& a, const SuggestedRecipe& b) { return expected(a) < expected(b); });
    std::sort(suggestion.messages.begin(), suggestion.messages.end());
    suggestion.messages.erase(std::unique(suggestion.messages.begin(), suggestion.messages.end()), suggestion.messages.end());
    return suggestion;
}

std::optional<LetDown> let_down_named(const MixBook& book, const std::string& name) {
    const std::string between = " let down 1:";
    const std::size_t at = name.rfind(between);
    if (at == std::string::npos) return std::nullopt;
    if (std::any_of(book.paints.begin(), book.paints.end(), [&](const KeptPaint& paint) { return paint.name == name; }))
        return std::nullopt;  // a bottle of it
    const std::string digits = name.substr(at + between.size());
    constexpr std::size_t kLongest = 4;
    if (digits.empty() || digits.size() > kLongest || digits.find_first_not_of("0123456789") != std::string::npos) return std::nullopt;
    const int parts = std::stoi(digits);
    const auto paint = paint_named(book, name.substr(0, at));
    const KeptPaint* white = shelf_white(book);
    if (!paint || white == nullptr || parts < 1 || white->id == paint->id) return std::nullopt;
    return LetDown{*paint, *white, static_cast<double>(parts)};
}

std::vector<KeptAddition> additions_of_let_down(const LetDown& let_down, std::int64_t pot, double amount, const std::string& unit,
                                                const std::string& note) {
    const double drop = let_down.paint.drop_ml.value_or(Drop{}.ml);
    std::vector<KeptAddition> additions;
    for (const bool white : {false, true}) {
        const double share = (white ? let_down.white_parts : 1) / (1 + let_down.white_parts);
        KeptAddition one;
        one.pot = pot;
        one.paint = white ? let_down.white.id : let_down.paint.id;
        one.amount = amount * share;
        one.unit = unit;
        one.ml = *one.amount * (unit == "drops" ? drop : 1);
        one.note = note;
        additions.push_back(std::move(one));
    }
    return additions;
}

std::vector<ExpectedDifference> pot_under(const LearnedShelf& shelf, int pot, const MatchGoal& goal, double tolerance) {
    const std::vector<PotDraw> draws = pot_draws(shelf.learned, pot, kPotDraws, 3);
    const Coat& coat = shelf.pots[static_cast<std::size_t>(pot)].coat;
    std::vector<ExpectedDifference> expected;
    for (const MatchLight& one : goal.lights)
        expected.push_back(
            expected_difference(pot_color(draws, shelf.learned.start, sight(one.light, goal.observer), coat), one.target, one.covariance, tolerance));
    return expected;
}

std::string doubted_words(const LearnedShelf& learned, std::int64_t pot) {
    const int place = learned.place_of_pot(pot);
    if (place < 0) return {};
    const int last = static_cast<int>(learned.learned.pots[static_cast<std::size_t>(place)].readings.size()) - 1;
    for (const ReadingJudged& one : learned.learned.readings) {
        if (one.pot != place || one.reading != last || !one.questioned) continue;
        std::array<char, 32> off{};
        std::snprintf(off.data(), off.size(), "%.1f", one.de00);
        return std::string("the last reading is ") + off.data() +
               " off what all else leads to expect, so it counts for next to nothing here: read the pot again before you trust what is said of it";
    }
    return {};
}

Result<NextAdvice> next_for(const MixBook& book, const LearnedShelf& learned, std::int64_t pot, const MatchGoal& goal, const NextQuestion& question) {
    const KeptPot* kept = book.pot(pot);
    const std::string place = "pot \"" + (kept == nullptr ? std::string() : kept->name) + "\"";
    const int number = learned.place_of_pot(pot);
    if (number < 0) return cannot(place, "nothing that is known is in it", "begin with a recipe: swatchwright mix suggest, then mix add");
    const PotOnShelf& on_shelf = learned.pots[static_cast<std::size_t>(number)];
    if (on_shelf.content.lost) return cannot(place, "an addition is missing from its record: the file was damaged", "start a new pot");
    if (on_shelf.content.unknown != 0)
        return cannot(place, "something was put in and nobody counted", "say what it was, by a reading made since: swatchwright mix explain");
    const auto allowed = allowed_paints(book, learned.start, question.paints);
    if (!allowed) return allowed.error();
    std::vector<std::int64_t> inside;
    for (const Addition& one : on_shelf.pot.additions) inside.push_back(learned.start.ids[static_cast<std::size_t>(one.paint)]);
    NextGoal next;
    for (const int paint : *allowed) {
        std::vector<std::int64_t> with = inside;
        with.push_back(learned.start.ids[static_cast<std::size_t>(paint)]);
        const std::string unlike = unlike_words(book, with);
        if (unlike.empty())
            next.allowed.push_back(paint);
        else if (!question.paints.empty())
            return cannot(place, unlike, kUnlikeRemedy);
    }
    if (next.allowed.empty()) return cannot(place, "no paint on the shelf goes with the binder of what is in it", kUnlikeRemedy);
    for (const MatchLight& one : goal.lights) next.lights.push_back({sight(one.light, goal.observer), one.target, one.weight});
    next.target_covariance = goal.lights[0].covariance;
    next.tolerance = question.tolerance;
    next.most_paints = question.most_paints;
    next.coat = on_shelf.coat;
    return next_addition(learned.learned, number, next);
}

Result<Explanation> explain(const MixBook& book, const LearnedShelf& learned, std::int64_t pot, int how_many, int most_drops) {
    const KeptPot* kept = book.pot(pot);
    const std::string place = "pot \"" + (kept == nullptr ? std::string() : kept->name) + "\"";
    const int number = learned.place_of_pot(pot);
    if (number < 0) return cannot(place, "nothing that is known was in it before", "begin a new pot");
    const PotOnShelf& on_shelf = learned.pots[static_cast<std::size_t>(number)];
    if (on_shelf.content.unknown == 0)
        return cannot(place, "everything in it was counted", "say that something was added: swatchwright mix add POT unknown");
    const std::vector<KeptAddition> all = additions_of(book.additions, pot);
    const auto unknown = std::find_if(all.begin(), all.end(), [&](const KeptAddition& one) { return one.id == on_shelf.content.unknown; });
    // The first dry reading of just this: what went in later is not in it.
    const auto since = std::find_if(book.readings.begin(), book.readings.end(), [&](const KeptPotReading& reading) {
        return reading.pot == pot && reading.addition == on_shelf.content.unknown && !reading.wet && !reading.set_aside && !reading.laid.under;
    });
    if (since == book.readings.end())
        return cannot(place, "it was not read since, before anything else went in", "paint it out, let it dry, and read it: swatchwright mix read");
    const Result<Light> under = light(since->light, {}, book.lamps);
    if (!under) return under.error();
    const ColorRead read{sight(*under, since->observer), since->lab, since->lab_covariance};
    Coat coat;
    if (since->laid.coat) coat.surface_seen = *since->laid.coat == Finish::gloss ? 0 : *since->laid.coat == Finish::satin ? 0.5 : 1;
    Result<AdditionGuess> guess = guess_addition(learned.learned, number, read, how_many, most_drops, coat);
    if (!guess) return guess.error();
    if (unknown->paint) {  // which paint is known: only how much is open
        const int which = learned.start.place_of(*unknown->paint);
        std::erase_if(guess->sets, [&](const GuessedAddition& set) { return set.paints != std::vector<int>{which}; });
        for (GuessedAddition& set : guess->sets) set.chance = 1;
        guess->ambiguous = guess->sets.empty();
    } else {  // what is no longer there cannot have been it
        double sum = 0;
        std::erase_if(guess->sets, [&](const GuessedAddition& set) {
            return std::any_of(set.paints.begin(), set.paints.end(), [&](int p) { return !learned.start.there[static_cast<std::size_t>(p)]; });
        });
        for (const GuessedAddition& set : guess->sets) sum += set.chance;
        for (GuessedAddition& set : guess->sets) set.chance /= std::max(sum, 1e-9);
    }
    return Explanation{*unknown, *std::move(guess)};
}

std::vector<KeptAddition> additions_for(const LearnedShelf& learned, const KeptAddition& unknown, const GuessedAddition& guess) {
    std::vector<KeptAddition> additions;
    for (std::size_t i = 0; i < guess.paints.size(); ++i) {
        const auto place = static_cast<std::size_t>(guess.paints[i]);
        KeptAddition one;
        one.pot = unknown.pot;
        one.paint = learned.start.ids[place];
        one.amount = std::max(guess.drops[i], 0.1);
        one.unit = "drops";
        one.ml = *one.amount * learned.start.shelf.paints[place].drop.ml;
        constexpr double kLeastSpread = 0.05;
        one.spread = std::clamp(guess.drops_sd[i] / *one.amount, kLeastSpread, 3.0);
        one.explains = unknown.id;
        one.note = "believed, by what the pot looked like";
        additions.push_back(std::move(one));
    }
    return additions;
}

std::optional<JudgedReading> judged(const MatchGoal& goal, const Lab& lab, const Eigen::Matrix3d& covariance, double tolerance) {
    for (const MatchLight& one : goal.lights) {
        const Xyz &a = one.target.white, &b = lab.white;
        if (std::abs(a.X - b.X) + std::abs(a.Y - b.Y) + std::abs(a.Z - b.Z) > 0.01) continue;
        const Eigen::Vector3d off(lab.L - one.target.L, lab.a - one.target.a, lab.b - one.target.b);
        const Lab middle{(lab.L + one.target.L) / 2, (lab.a + one.target.a) / 2, (lab.b + one.target.b) / 2, lab.white};
        const DifferenceDistribution between(middle, off, covariance + one.covariance + 1e-6 * Eigen::Matrix3d::Identity());
        const Interval range = between.ci95();
        return JudgedReading{between.median(), range.low, range.high, to_word(verdict_of(range, tolerance))};
    }
    return std::nullopt;
}

Result<MatchGoal> goal_of(const MixBook& book, const KeptPot& pot, const std::vector<Light>& under, const LearnedShelf* learned) {
    if (const Target* target = pot.target ? book.target(*pot.target) : nullptr) return goal_of(book, *target, under);
    if (pot.batch_of && learned != nullptr) return goal_of(*learned, learned->place_of_pot(*pot.batch_of), under);
    return Error{Fault::bad_usage, "", "pot \"" + pot.name + "\"", "it is not said what it is to become", "start one with --target or --batch-of"};
}

Result<std::vector<Light>> lights_of(const MixBook& book, const KeptPot& pot) {
    std::vector<Light> lights;
    for (const std::string& text : pot.lights) {
        auto one = light(text, {}, book.lamps);
        if (!one) {
            Error error = one.error();
            error.place = "pot \"" + pot.name + "\": light \"" + text + "\"";
            error.remedy = "say it anew with --under, or keep it as a lamp (swatchwright lamp add)";
            return error;
        }
        lights.push_back(*std::move(one));
    }
    return lights;
}

Result<KeptAddition> counted_addition(const KeptPaint& paint, std::int64_t pot, double amount, const std::string& unit) {
    if (unit == "g" && !paint.density)
        return Error{Fault::bad_usage, "", "paint \"" + paint.name + "\"", "its density is not known, so grams are no volume",
                     "say it: swatchwright paint set NAME --density G/ML, or give drops or ml"};
    KeptAddition one;
    one.pot = pot;
    one.paint = paint.id;
    one.amount = amount;
    one.unit = unit;
    one.ml = unit == "drops" ? amount * paint.drop_ml.value_or(Drop{}.ml) : unit == "ml" ? amount : amount / *paint.density;
    return one;
}

Result<Done> judge(const MixBook& book, const KeptPot& pot, double tolerance, KeptPotReading& read) {
    const Target* target = pot.target ? book.target(*pot.target) : nullptr;
    if (read.wet || (target == nullptr && !pot.batch_of)) return Done{};
    std::optional<LearnedShelf> learned;
    if (target == nullptr) {
        auto shelf = learned_shelf(book, *pot.batch_of);
        if (!shelf) return shelf.error();
        learned = *std::move(shelf);
    }
    std::vector<Light> under;
    if (auto stated = light(target == nullptr ? "D50" : target->light, {}, book.lamps)) under.push_back(*std::move(stated));
    const auto goal = goal_of(book, pot, under, learned ? &*learned : nullptr);
    if (!goal) return goal.error();
    if (const auto verdict = judged(*goal, read.lab, read.lab_covariance, tolerance)) {
        read.de00 = verdict->de00;
        read.ci_low = verdict->low;
        read.ci_high = verdict->high;
        read.tolerance = tolerance;
        read.verdict = verdict->verdict;
    }
    return Done{};
}

}  // namespace sw
