// swatchwright mix: recipes, pots and what happens to them.
#include <algorithm>
#include <cmath>
#include <map>

#include "cli/book_job.hpp"
#include "cli/commands.hpp"
#include "cli/exit_code.hpp"
#include "cli/light_job.hpp"
#include "cli/mix_answers.hpp"
#include "cli/photo_job.hpp"
#include "cli/text.hpp"

namespace sw {
namespace {

Result<Target> target_named(const MixBook& book, const std::string& name) {
    const auto found = std::find_if(book.targets.begin(), book.targets.end(), [&](const Target& one) { return one.name == name; });
    if (found != book.targets.end()) return *found;
    return Error{Fault::name_unknown, "", "target \"" + name + "\"", "there is no target of that name",
                 "swatchwright target list names them, target add keeps one"};
}

Result<KeptPot> pot_named(const MixBook& book, const std::string& name) {
    const auto found = std::find_if(book.pots.begin(), book.pots.end(), [&](const KeptPot& one) { return one.name == name; });
    if (found != book.pots.end()) return *found;
    std::vector<std::string> names;
    for (const KeptPot& pot : book.pots) names.push_back("\"" + pot.name + "\"");
    return Error{Fault::name_unknown, "", "pot \"" + name + "\"", "there is no pot of that name",
                 names.empty() ? "start one: swatchwright mix start POT --target TARGET" : "there are " + listed(names)};
}

Result<PotTold> told_of(const MixBook& book, const KeptPot& pot) {
    PotTold told;
    told.pot = pot;
    if (const Target* target = pot.target ? book.target(*pot.target) : nullptr) told.target = target->name;
    if (const KeptPot* like = pot.batch_of ? book.pot(*pot.batch_of) : nullptr) told.batch_of = like->name;
    told.additions = additions_of(book.additions, pot.id);
    for (const KeptPotReading& reading : book.readings) {
        if (reading.pot == pot.id) told.readings.push_back(reading);
    }
    const PotContent content = content_of(book, pot.id);
    told.ml = content.ml;
    told.drops = content.drops;
    told.unknown = content.unknown != 0;
    told.lost = content.lost;
    for (const auto& [id, ml] : content.paints) {
        const KeptPaint* paint = book.paint(id);
        told.in_it.emplace_back(paint == nullptr ? "?" : paint->name, ml);
    }
    std::stable_sort(told.in_it.begin(), told.in_it.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
    return told;
}

/// The lights of the command, else those of the pot.
Result<std::vector<Light>> lights_for(const MixBook& book, const KeptPot& pot, const MixRequest& request) {
    if (!request.under.empty()) return request.under;
    return lights_of(book, pot);
}

double tolerance_of(const MixRequest& request, const KeptPot& pot) { return request.tolerance.value_or(sw::tolerance_of(pot)); }

Result<Answer> suggest_answer(const MixRequest& request, const MixBook& book) {
    if (const auto target = target_named(book, request.name); request.batch_of.empty() && !target) return target.error();
    const auto learned = learned_shelf(book);
    if (!learned) return learned.error();
    Result<MatchGoal> goal = Error{};
    double tolerance = request.tolerance.value_or(kPotTolerance);
    if (request.batch_of.empty()) {
        const auto target = target_named(book, request.name);
        if (!target) return target.error();
        goal = goal_of(book, *target, request.under);
    } else {
        const auto pot = pot_named(book, request.batch_of);
        if (!pot) return pot.error();
        tolerance = tolerance_of(request, *pot);
        const auto with = learned_shelf(book, pot->id);
        if (!with) return with.error();
        const auto lights = lights_for(book, *pot, request);
        if (!lights) return lights.error();
        goal = goal_of(*with, with->place_of_pot(pot->id), *lights);
    }
    if (!goal) return goal.error();
    SuggestOptions options = request.options;
    options.tolerance = tolerance;
    const auto suggestion = suggest(book, *learned, *goal, options);
    if (!suggestion) return suggestion.error();
    return Answer{request.json ? suggest_json(*suggestion, *goal, tolerance) : suggest_report(*suggestion, *goal, request, tolerance), {}, kDone};
}

Result<Answer> start_answer(const MixRequest& request, Workbook& workbook, const MixBook& book) {
    KeptPot pot;
    pot.name = request.name;
    pot.tolerance = request.tolerance;
    pot.lights = request.lights;
    pot.note = request.note;
    for (const std::string& text : pot.lights) {
        if (!light(text, {}, book.lamps))
            return Error{Fault::bad_usage, "", "--under \"" + text + "\"", "is a file, and a pot keeps lights by their names",
                         "keep it as a lamp (swatchwright lamp add NAME FILE), then write --under NAME"};
    }
    if (!request.target.empty()) {
        const auto target = target_named(book, request.target);
        if (!target) return target.error();
        pot.target = target->id;
    } else {
        const auto like = pot_named(book, request.batch_of);
        if (!like) return like.error();
        pot.batch_of = like->id;
    }
    const auto added = workbook.add(pot);
    if (!added) return added.error();
    const auto now = mix_book(workbook);
    if (!now) return now.error();
    const auto told = told_of(*now, *added);
    if (!told) return told.error();
    return Answer{request.json ? pots_json({*told}) : pots_report({*told}, "Started", request.workbook.string()), {}, kDone};
}

Result<Answer> told_after(const MixRequest& request, const Workbook& workbook, const KeptPot& pot, const KeptAddition& added,
                          const std::vector<std::string>& notes) {
    const auto now = mix_book(workbook);
    if (!now) return now.error();
    const auto told = told_of(*now, pot);
    if (!told) return told.error();
    Answer answer{request.json ? added_json(added, *told, *now) : added_report(added, *told, *now, notes), {}, kDone};
    if (request.json) answer.messages = notes;
    return answer;
}

/// What unlike binders in a pot are worth saying; empty: nothing.
std::vector<std::string> binder_notes(const MixBook& book, const std::vector<std::int64_t>& paints) {
    const std::string unlike = unlike_words(book, paints);
    if (unlike.empty()) return {};
    return {"Caution: " + unlike + ". Such mixes may curdle, craze or never harden: test a little of it first."};
}

Result<Answer> add_let_down(const MixRequest& request, Workbook& workbook, const MixBook& book, const KeptPot& pot, const LetDown& let_down) {
    if (request.unit == "g")
        return Error{Fault::bad_usage, "", "\"" + request.paint + "\"", "the density of what was let down is not known", "give drops or ml"};
    const std::string note = brief(request.amount) + (request.unit == "drops" ? " drops of " : " ml of ") + request.paint +
                             (request.note.empty() ? "" : "; " + request.note);
    KeptAddition last;
    const auto done = workbook.together("Added " + note + " to pot \"" + pot.name + "\"", [&]() -> Result<Done> {
        for (const KeptAddition& one : additions_of_let_down(let_down, pot.id, request.amount, request.unit, note)) {
            const auto added = workbook.add(one);
            if (!added) return added.error();
            last = *added;
        }
        return Done{};
    });
    if (!done) return done.error();
    std::vector<std::int64_t> paints{let_down.paint.id, let_down.white.id};
    for (const auto& [id, ml] : content_of(book, pot.id).paints) paints.push_back(id);
    return told_after(request, workbook, pot, last, binder_notes(book, paints));
}

Result<Answer> add_answer(const MixRequest& request, Workbook& workbook, const MixBook& book) {
    const auto pot = pot_named(book, request.name);
    if (!pot) return pot.error();
    if (const auto let_down = request.paint.empty() ? std::nullopt : let_down_named(book, request.paint); let_down && !request.unknown)
        return add_let_down(request, workbook, book, *pot, *let_down);
    const PotContent before = content_of(book, pot->id);
    KeptAddition one;
    one.pot = pot->id;
    one.note = request.note;
    std::vector<std::int64_t> together;
    for (const auto& [id, ml] : before.paints) together.push_back(id);
    if (request.action == MixAction::take) {
        one.kind = AdditionKind::taken;
        const double ml = request.unit == "drops" ? request.amount * before.ml / std::max(before.drops, 1e-9) : request.amount;
        if (request.unit == "g") return Error{Fault::bad_usage, "", "mix take", "the density of a mix is not known", "say how much in drops or ml"};
        if (before.unknown != 0 && request.unit == "drops")
            return Error{Fault::bad_usage, "", "mix take", "how much is in the pot is not known, so drops are no volume",
                         "say how much was taken out in ml"};
        if (before.unknown == 0 && (!(before.ml > 0) || ml >= before.ml))
            return Error{Fault::bad_usage, "", "pot \"" + pot->name + "\"", "there is not that much in it: " + fixed(before.ml, 2) + " ml as counted",
                         "take less, or start a new pot"};
        one.amount = request.amount;
        one.unit = request.unit;
        one.ml = ml;
    } else {
        std::optional<KeptPaint> paint;
        if (!request.paint.empty()) {
            const auto named = paint_named(book, request.paint);
            if (!named) return named.error();
            paint = *named;
            one.paint = paint->id;
            together.push_back(paint->id);
        }
        if (request.unknown) {
            one.kind = AdditionKind::unknown;
        } else {
            const auto counted = counted_addition(*paint, pot->id, request.amount, request.unit);
            if (!counted) return counted.error();
            one = *counted;
            one.note = request.note;
        }
    }
    const auto added = workbook.add(one);  // on the disk when it returns
    if (!added) return added.error();
    return told_after(request, workbook, *pot, *added, binder_notes(book, together));
}

/// A reading of a pot, with what is kept of its photo.
struct PotFromPhoto {
    KeptPhoto photo;
    KeptReading reading;
};

std::int64_t number_of(const std::vector<KeptAddition>& additions, std::int64_t id) {
    const auto found = std::find_if(additions.begin(), additions.end(), [&](const KeptAddition& one) { return one.id == id; });
    return found == additions.end() ? 0 : found->number;
}

Result<Answer> read_answer(const MixRequest& request, Workbook& workbook, const MixBook& book) {
    const auto pot = pot_named(book, request.name);
    if (!pot) return pot.error();
    const auto additions = additions_of(book.additions, pot->id);
    const auto last = last_put_in(additions);
    if (!last)
        return Error{Fault::bad_usage, "", "pot \"" + pot->name + "\"", "nothing is in it yet, so it has no color",
                     "say what went in first: swatchwright mix add POT PAINT DROPS"};
    const Target* target = pot->target ? book.target(*pot->target) : nullptr;
    KeptPotReading read;
    read.pot = pot->id;
    read.addition = *last;
    read.wet = request.wet;
    read.laid = request.laid;
    std::optional<PotFromPhoto> fresh;
    if (request.typed) {
        read.lab = *request.typed;
        read.lab_covariance = Eigen::Matrix3d::Identity() * request.sd * request.sd;
        read.source = request.sd_assumed ? "typed; ± " + brief(request.sd) + " assumed" : "typed";
    } else {
        // Under the target's own light where it has a name, so that the two can be held against each other.
        auto under = light(target == nullptr ? "D50" : target->light, {}, book.lamps);
        const bool own = under && target != nullptr;
        if (!under) under = light("D50");
        if (!under) return under.error();
        read.light = own ? target->light : "D50";
        read.observer = own ? target->observer : Observer::degree2;
        const PlaceInPhoto& place = *request.photo;
        const auto photo = open_photo(place.photo, read.observer);
        if (!photo) return photo.error();
        const std::string name = "pot " + pot->name + ", after addition " + std::to_string(number_of(additions, *last));
        const auto reading = read_region(*photo->photo, photo->calibration, name, place.region, *under, read.observer);
        if (!reading) return in_file(reading.error(), place.photo.file);
        if (!reading->absolute_ok) return color_unknown(place.photo.file, name + " " + to_text(place.region));
        read.lab = reading->lab;
        read.lab_covariance = reading->lab_covariance;
        read.source = place.photo.file + " " + to_text(place.region);
        fresh = PotFromPhoto{kept_photo(*photo->photo), kept_reading(*photo, *reading, *under)};
        fresh->reading.target = pot->target;
    }
    const double tolerance = tolerance_of(request, *pot);
    if (const auto held = judge(book, *pot, tolerance, read); !held) return held.error();
    const auto done = workbook.together("Read pot \"" + pot->name + "\"", [&]() -> Result<Done> {
        if (fresh) {
            if (const auto photo = workbook.keep(fresh->photo); !photo) return photo.error();
            const auto reading = workbook.add(fresh->reading);
            if (!reading) return reading.error();
            read.reading = reading->id;
        }
        const auto added = workbook.add(read);
        if (!added) return added.error();
        read = *added;
        return Done{};
    });
    if (!done) return done.error();
    const auto now = mix_book(workbook);
    if (!now) return now.error();
    const auto told = told_of(*now, *pot);
    if (!told) return told.error();
    Answer answer{request.json ? read_json(read, *told) : read_report(read, *told), {}, kDone};
    if (request.typed && request.sd_assumed)
        answer.messages.push_back("no --sd is given: a standard deviation of " + brief(request.sd) + " is assumed in each of L*, a*, b*");
    return answer;
}

Result<Answer> next_answer(const MixRequest& request, const MixBook& book) {
    const auto pot = pot_named(book, request.name);
    if (!pot) return pot.error();
    const auto learned = learned_shelf(book, pot->id);
    if (!learned) return learned.error();
    const auto lights = lights_for(book, *pot, request);
    if (!lights) return lights.error();
    const auto goal = goal_of(book, *pot, *lights, &*learned);
    if (!goal) return goal.error();
    const double tolerance = tolerance_of(request, *pot);
    const auto advice = next_for(book, *learned, pot->id, *goal, {request.options.paints, tolerance, request.options.most_paints});
    if (!advice) return advice.error();
    const auto told = told_of(book, *pot);
    if (!told) return told.error();
    Answer answer{request.json ? next_json(*advice, *learned) : next_report(*advice, *learned, *told, *goal, tolerance), {}, kDone};
    if (const std::string doubted = doubted_words(*learned, pot->id); request.json && !doubted.empty()) answer.messages.push_back(doubted);
    return answer;
}

Result<Answer> scale_answer(const MixRequest& request, const MixBook& book) {
    const auto learned = learned_shelf(book);
    if (!learned) return learned.error();
    std::vector<Share> shares;
    std::string what = "Of the shares given";
    std::vector<std::int64_t> paints;
    if (request.name.empty()) {
        for (const auto& [name, amount] : request.shares) {
            const auto paint = paint_named(book, name);
            if (!paint) return paint.error();
            const int place = learned->start.place_of(paint->id);
            if (place < 0)
                return Error{Fault::bad_usage, "", "paint \"" + name + "\"", "it is no longer on the shelf",
                             "put it back: swatchwright paint set NAME --on-shelf yes"};
            shares.push_back({place, amount});
            if (amount > 0) paints.push_back(paint->id);
        }
        if (const std::string unlike = unlike_words(book, paints); !unlike.empty())
            return Error{Fault::bad_usage, "", "--share", unlike,
                         "never mix unlike binders on the tool's word: test it first, then take paints of one binder"};
    } else {
        const auto pot = pot_named(book, request.name);
        if (!pot) return pot.error();
        const PotContent content = content_of(book, pot->id);
        if (content.unknown != 0 || content.lost || content.paints.empty())
            return Error{Fault::bad_usage, "", "pot \"" + pot->name + "\"",
                         content.paints.empty() ? "nothing that is known is in it" : "not all that is in it is known",
                         content.unknown != 0 ? "say what it was: swatchwright mix explain" : "name a pot whose record is whole"};
        for (const auto& [id, ml] : content.paints) shares.push_back({learned->start.place_of(id), 100 * ml / content.ml});
        what = "Pot \"" + pot->name + "\" again";
    }
    double ml = request.ml.value_or(0);
    if (request.drops) {  // of the mean drop of this mix
        double sum = 0, drops = 0;
        for (const Share& share : shares) {
            sum += share.amount;
            drops += share.amount / learned->start.shelf.paints[static_cast<std::size_t>(share.paint)].drop.ml;
        }
        ml = *request.drops * sum / std::max(drops, 1e-12);
    }
    if (request.cm2) {
        const auto enough = batch_ml(*request.cm2, request.coats, request.coverage, request.loss);
        if (!enough) return enough.error();
        ml = *enough;
    }
    const auto d50 = light("D50");
    if (!d50) return d50.error();
    const auto batch = batch_of(learned->learned.shelf, shares, ml, sight(*d50, Observer::degree2), learned->start.density);
    if (!batch) return batch.error();
    return Answer{request.json ? scale_json(*batch, learned->start) : scale_report(*batch, learned->start, what), {}, kDone};
}

Result<Answer> explain_answer(const MixRequest& request, Workbook& workbook, const MixBook& book) {
    const auto pot = pot_named(book, request.name);
    if (!pot) return pot.error();
    const auto learned = learned_shelf(book, pot->id);
    if (!learned) return learned.error();
    const auto explanation = explain(book, *learned, pot->id, request.how_many, request.most_drops);
    if (!explanation) return explanation.error();
    std::vector<KeptAddition> taken;
    if (request.take > 0) {
        if (request.take > static_cast<int>(explanation->guess.sets.size()))
            return Error{Fault::bad_usage, "", "--take " + std::to_string(request.take),
                         "there are " + std::to_string(explanation->guess.sets.size()) + " of them", "give the number that mix explain tells"};
        const auto additions = additions_for(*learned, explanation->unknown, explanation->guess.sets[static_cast<std::size_t>(request.take - 1)]);
        const auto done = workbook.together("Explained what went into pot \"" + pot->name + "\"", [&]() -> Result<Done> {
            for (const KeptAddition& one : additions) {
                const auto added = workbook.add(one);
                if (!added) return added.error();
                taken.push_back(*added);
            }
            return Done{};
        });
        if (!done) return done.error();
    }
    const auto told = told_of(book, *pot);
    if (!told) return told.error();
    return Answer{
        request.json ? explain_json(*explanation, *learned, taken, book) : explain_report(*explanation, *learned, *told, taken, book), {}, kDone};
}

Result<Answer> mix_answer(const MixRequest& request, Workbook& workbook) {
    const auto book = mix_book(workbook);
    if (!book) return book.error();
    switch (request.action) {
        case MixAction::suggest:
            return suggest_answer(request, *book);
        case MixAction::start:
            return start_answer(request, workbook, *book);
        case MixAction::add:
        case MixAction::take:
            return add_answer(request, workbook, *book);
        case MixAction::read:
            return read_answer(request, workbook, *book);
        case MixAction::next:
            return next_answer(request, *book);
        case MixAction::scale:
            return scale_answer(request, *book);
        case MixAction::explain:
            return explain_answer(request, workbook, *book);
        case MixAction::log:
        case MixAction::list:
        case MixAction::remove:
            break;
    }
    std::vector<PotTold> pots;
    if (request.action == MixAction::list) {
        for (const KeptPot& pot : book->pots) {
            auto told = told_of(*book, pot);
            if (!told) return told.error();
            pots.push_back(*std::move(told));
        }
        return Answer{request.json ? pots_json(pots) : pots_report(pots, "", request.workbook.string()), {}, kDone};
    }
    const auto pot = pot_named(*book, request.name);
    if (!pot) return pot.error();
    const auto told = told_of(*book, *pot);
    if (!told) return told.error();
    if (request.action == MixAction::remove) {
        if (const auto removed = workbook.remove_pot(pot->id); !removed) return removed.error();
        return Answer{request.json ? pots_json({*told}) : pots_report({*told}, "Removed", request.workbook.string()), {}, kDone};
    }
    const auto readings = workbook.readings();
    if (!readings) return readings.error();
    return Answer{request.json ? log_json(*told, *book, *readings) : log_report(*told, *book, *readings), {}, kDone};
}

}  // namespace

Result<Answer> run(const MixRequest& request) {
    const std::string shown = request.workbook.string();
    BookRequest opening;
    opening.name = request.name;
    opening.workbook = request.workbook;
    opening.workbook_given = request.workbook_given;
    auto opened = book_of(opening);
    if (!opened) return opened.error();
    if (!*opened) {
        if (request.action == MixAction::list) return Answer{request.json ? pots_json({}) : pots_report({}, "", shown), {}, kDone};
        return Error{Fault::name_unknown, shown, request.name, "there is no workbook yet, so neither paints nor pots",
                     "keep a target first (swatchwright target add), then paints (swatchwright paint add)"};
    }
    auto answer = mix_answer(request, **opened);
    if (!answer) return in_file(answer.error(), shown);
    return answer;
}

}  // namespace sw
