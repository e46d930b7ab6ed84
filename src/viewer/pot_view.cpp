#include "viewer/pot_view.hpp"

#include <algorithm>

#include "sheet/figures.hpp"
#include "sheet/mix_words.hpp"
#include "viewer/words.hpp"

namespace sw::window {
namespace {

std::string expected(double de00, double low, double high) { return one_decimal(de00) + " (" + range({low, high}) + ")"; }

std::string drops_of_paints(const std::vector<std::pair<std::string, int>>& drops) {
    std::vector<std::string> words;
    for (const auto& [paint, count] : drops) words.push_back(drops_words(count) + " " + paint);
    return listed(words);
}

void begin_with(const MixBook& book, const LearnedShelf& learned, const MatchGoal& goal, double tolerance, const std::stop_token& stop,
                PotAdvice& made) {
    SuggestOptions options;
    options.tolerance = tolerance;
    options.drops = 40;
    const auto suggestion = suggest(book, learned, goal, options, stop);
    if (!suggestion) {
        made.error = suggestion.error();
        return;
    }
    for (const SuggestedRecipe& recipe : suggestion->recipes) {
        PotOffer offer;
        for (const auto& part : recipe.parts) offer.drops.emplace_back(part.paint, part.drops);
        offer.words = drops_of_paints(offer.drops);
        const ExpectedDifference& first = recipe.under.front();
        offer.expect = expected(first.de00, first.low, first.high);
        offer.chance = percent(first.chance_within);
        made.offers.push_back(std::move(offer));
    }
    made.headline = made.offers.empty() ? "No recipe was found" : "Begin with " + made.offers.front().words;
    if (suggestion->missing.de00 >= 1 && !suggestion->missing.direction.empty())
        made.notes.push_back("Out of reach of these paints by " + one_decimal(suggestion->missing.de00) + ": the target is " +
                             suggestion->missing.direction + " than they can make it. " + first_capital(suggestion->missing.kind) +
                             " would reach it.");
    for (const std::string& message : suggestion->messages) made.notes.push_back(first_capital(message) + ".");
}

void add_next(const MixBook& book, const LearnedShelf& learned, std::int64_t pot, const MatchGoal& goal, double tolerance, PotAdvice& made) {
    const auto advice = next_for(book, learned, pot, goal, {{}, tolerance, 3});
    if (!advice) {
        made.error = advice.error();
        return;
    }
    for (const Outlook& outlook : advice->additions) {
        PotOffer offer;
        for (const RecipePart& part : outlook.add)
            offer.drops.emplace_back(learned.start.shelf.paints[static_cast<std::size_t>(part.paint)].name, part.drops);
        offer.words = drops_of_paints(offer.drops);
        offer.expect = expected(outlook.de00, outlook.low, outlook.high);
        offer.chance = percent(outlook.chance_within);
        offer.after = drops_words(outlook.drops_after);
        made.offers.push_back(std::move(offer));
    }
    const Outlook& now = advice->as_it_is;
    made.now = expected(now.de00, now.low, now.high) + ", within " + brief(tolerance) + ": " + percent(now.chance_within);
    made.headline = advice->step == NextStep::add     ? "Add " + made.offers.front().words
                    : advice->step == NextStep::leave ? "Leave it: " + advice->words
                                                      : first_capital(advice->words);
}

}  // namespace

std::string pot_key(const std::shared_ptr<const MixBook>& book, const std::optional<std::int64_t>& pot, std::uint64_t revision) {
    return book && pot && book->pot(*pot) != nullptr ? std::to_string(*pot) + "/" + std::to_string(revision) : std::string();
}

PotAdvice pot_advice(const MixBook& book, std::int64_t id, const std::stop_token& stop) {
    PotAdvice made;
    const KeptPot& pot = *book.pot(id);
    const auto learned = learned_shelf(book, id);
    const auto lights = lights_of(book, pot);
    if (!learned || !lights) {
        made.error = learned ? lights.error() : learned.error();
        return made;
    }
    for (const std::string& message : learned->start.messages) made.notes.push_back(first_capital(message) + ".");
    const auto goal = goal_of(book, pot, *lights, &*learned);
    if (!goal) {
        made.error = goal.error();
        return made;
    }
    const PotContent content = content_of(book, id);
    content.ml > 0 ? add_next(book, *learned, id, *goal, tolerance_of(pot), made) : begin_with(book, *learned, *goal, tolerance_of(pot), stop, made);
    if (const std::string doubted = doubted_words(*learned, id); !doubted.empty())
        made.notes.insert(made.notes.begin(), "! " + first_capital(doubted) + ".");
    std::vector<std::int64_t> together;
    for (const auto& [paint, ml] : content.paints) together.push_back(paint);
    if (const std::string unlike = unlike_words(book, together); !unlike.empty())
        made.notes.push_back("Caution: " + unlike + ". Such mixes may curdle, craze or never harden: test a little of it first.");
    const bool read = std::any_of(book.readings.begin(), book.readings.end(), [&](const KeptPotReading& one) { return one.pot == id && !one.wet; });
    if (content.ml > 0 && !read)
        made.notes.emplace_back("Not read yet: what is said rests on the paints alone. Paint a test piece, let it dry, photograph it, read it.");
    return made;
}

std::string content_words(const MixBook& book, std::int64_t pot) {
    const PotContent content = content_of(book, pot);
    std::vector<std::string> words;
    for (const auto& [id, ml] : content.paints) {
        const KeptPaint* paint = book.paint(id);
        const double drop = paint != nullptr ? paint->drop_ml.value_or(Drop{}.ml) : Drop{}.ml;
        words.push_back(drops_words(ml / drop) + " " + (paint != nullptr ? paint->name : "of a paint that is gone"));
    }
    if (content.unknown != 0) words.emplace_back("something that nobody counted");
    if (content.lost) words.emplace_back("something of which the record is lost");
    return listed(words);
}

std::vector<const KeptPotReading*> judged_readings(const MixBook& book, std::int64_t pot) {
    std::vector<const KeptPotReading*> judged;
    for (const KeptPotReading& one : book.readings) {
        if (one.pot == pot && one.de00 && one.ci_low && one.ci_high) judged.push_back(&one);
    }
    return judged;
}

}  // namespace sw::window
