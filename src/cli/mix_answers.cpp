#include "cli/mix_answers.hpp"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <set>

#include "calibrate/calibration.hpp"
#include "cli/text.hpp"
#include "sheet/mix_words.hpp"

namespace sw {
namespace {

constexpr const char* kPlusMinus = "± is one standard deviation; a range in brackets holds the truth in 95 of 100 cases.";

std::string mix_lab_words(const Lab& color, const Eigen::Matrix3d& covariance) {
    const auto sd = lab_sd(covariance);
    return measured(color.L, sd[0]) + ",  " + measured(color.a, sd[1]) + ",  " + measured(color.b, sd[2]);
}

std::string expected_words(double de00, double low, double high) { return fixed(de00, 1) + " (" + range(low, high) + ")"; }

std::string ml_words(double ml) { return fixed(ml, ml < 10 ? 2 : 1) + " ml"; }

std::string known_by(const PaintTold& told) {
    std::size_t masstones = 0, tints = 0, films = 0, spectra = 0, aside = 0;
    for (const KeptSample& sample : told.samples) {
        if (sample.set_aside) {
            ++aside;
            continue;
        }
        spectra += sample.spectrum.empty() ? 0 : 1;
        ++(sample.laid.under ? films : sample.share < 1 ? tints : masstones);
    }
    std::vector<std::string> words;
    if (masstones > 0) words.push_back(masstones == 1 ? "masstone" : counted(masstones, "masstone"));
    if (tints > 0) words.push_back(counted(tints, "tint"));
    if (films > 0) words.push_back(counted(films, "drawdown"));
    if (words.empty()) words.emplace_back(told.paint.pigments.empty() ? "nothing" : "its pigment only");
    return listed(words) + (spectra > 0 ? ", measured" : "") + (aside > 0 ? ", " + std::to_string(aside) + " set aside" : "");
}

const KeptSample* masstone_of(const PaintTold& told) {
    const auto found =
        std::find_if(told.samples.begin(), told.samples.end(), [](const KeptSample& s) { return s.share == 1 && !s.laid.under && !s.set_aside; });
    return found == told.samples.end() ? nullptr : &*found;
}

std::string pot_goal(const PotTold& told) {
    if (!told.batch_of.empty()) return "like pot \"" + told.batch_of + "\"";
    return told.target.empty() ? "no target" : "\"" + told.target + "\"";
}

std::string content_words(const PotTold& told) {
    if (told.additions.empty()) return "empty";
    std::string words = drops_words(told.drops) + ", " + ml_words(told.ml);
    if (told.unknown) words += ", and something that nobody counted";
    if (told.lost) words += ", and something of which the record is lost";
    return words;
}

std::string recipe_words(const std::vector<SuggestedRecipe::Part>& parts) {
    std::vector<std::string> words;
    for (const auto& part : parts) words.push_back(std::to_string(part.drops) + " " + part.paint);
    return listed(words);
}

}  // namespace

PaintTold told_of(const MixBook& book, const KeptPaint& paint) {
    PaintTold told{paint, {}, stock_now(book, paint), 0};
    for (const KeptSample& sample : book.samples) {
        if (sample.paint == paint.id) told.samples.push_back(sample);
    }
    std::set<std::int64_t> pots;
    for (const KeptAddition& one : book.additions) {
        if (one.paint == paint.id) pots.insert(one.pot);
    }
    told.pots = pots.size();
    return told;
}

std::string paints_report(const std::vector<PaintTold>& paints, const std::string& verb, const std::string& workbook) {
    if (paints.empty()) return wrapped("No paints in " + workbook + ". Add those you have: swatchwright paint add NAME --masstone L,a,b");
    std::string text = verb.empty()
                           ? wrapped(counted(paints.size(), "paint") + " in " + workbook + ":")
                           : wrapped(verb + " paint \"" + paints.front().paint.name + (verb == "Removed" ? "\" from " : "\" in ") + workbook + ":");
    Table table({"", "masstone L*, a*, b*", "known by", "binder", "a drop", "left", "in pots"}, {1, 2, 3});
    for (const PaintTold& told : paints) {
        const KeptSample* masstone = masstone_of(told);
        const KeptPaint& paint = told.paint;
        table.row({printable(paint.name) + (paint.white ? " (the white)" : "") + (paint.on_shelf ? "" : " (no longer there)"),
                   masstone == nullptr ? "unknown" : mix_lab_words(masstone->lab, masstone->lab_covariance), known_by(told),
                   paint.binder.empty() ? "not said" : printable(paint.binder),
                   fixed(paint.drop_ml.value_or(0.05), 3) + " ml ± " + percent(paint.drop_cv.value_or(0.05)) + (paint.drop_ml ? "" : ", assumed"),
                   told.stock ? ml_words(*told.stock) : "not said", std::to_string(told.pots)});
    }
    return text + "\n" + table.text() + "\n± is one standard deviation. What is left is reckoned from what went into pots.\n";
}

std::string paint_report(const PaintTold& told, const MixBook& book) {
    const KeptPaint& paint = told.paint;
    std::string text = wrapped("Paint \"" + paint.name + "\", known by " + known_by(told) + ".") + "\n";
    const auto fact = [&](const std::string& name, const std::string& value) {
        constexpr std::size_t kWide = 12;
        std::string left = "  " + name;
        left.resize(kWide, ' ');
        if (!value.empty()) text += wrapped(value, left);
    };
    fact("maker", paint.maker);
    fact("code", paint.code);
    fact("pigment", paint.pigments);
    fact("binder", paint.binder.empty() ? "not said" : paint.binder);
    fact("finish", paint.finish ? to_word(*paint.finish) : "not said");
    fact("a drop", fixed(paint.drop_ml.value_or(0.05), 3) + " ml ± " + percent(paint.drop_cv.value_or(0.05)) + (paint.drop_ml ? "" : ", assumed"));
    if (paint.density) fact("density", fixed(*paint.density, 2) + " g/ml, as said");
    if (paint.bottle_ml) fact("bottle", ml_words(*paint.bottle_ml));
    if (paint.price) fact("price", brief(*paint.price));
    fact("left", told.stock ? ml_words(*told.stock) + ", reckoned from what went into pots" : "not said");
    fact("in pots", std::to_string(told.pots));
    fact("note", paint.note);
    if (told.samples.empty()) return text;
    Table table({"share", "L*, a*, b*", "in", "under it", "clear coat", "from"}, {0, 1, 2, 3, 4, 5});
    for (const KeptSample& sample : told.samples) {
        const KeptPaint* white = sample.white ? book.paint(*sample.white) : nullptr;
        table.row({sample.share == 1 ? "masstone" : percent(sample.share), mix_lab_words(sample.lab, sample.lab_covariance),
                   sample.share == 1  ? ""
                   : white == nullptr ? "the shelf's white"
                                      : printable(white->name),
                   sample.laid.under ? "L* " + brief(sample.laid.under->L) : "hidden", sample.laid.coat ? to_word(*sample.laid.coat) : "none",
                   printable(sample.source) + (sample.set_aside ? "; set aside" : "")});
    }
    return text + "\n" + table.text() + "\n± is one standard deviation; under " +
           (told.samples.front().light.empty() ? "D50" : told.samples.front().light) + ".\n";
}

std::string learned_report(const LearnedShelf& shelf, const MixBook& book) {
    std::size_t readings = 0;
    for (const PotOnShelf& pot : shelf.pots) readings += pot.pot.readings.size();
    std::string text = wrapped(readings == 0 ? std::string("No pot has taught anything yet: read a dry test piece of one (mix read).")
                                             : "Learned from " + counted(readings, "reading") + " of " + counted(shelf.pots.size(), "pot") + ":");
    Table table({"", "stronger than first thought", "known to, before", "now"});
    for (std::size_t i = 0; i < shelf.learned.strengths.size(); ++i) {
        const StrengthLearned& one = shelf.learned.strengths[i];
        table.row({printable(shelf.start.shelf.paints[i].name), "× " + fixed(one.factor, 2) + " ± " + fixed(one.factor * one.sd, 2),
                   "± " + percent(one.sd_before), "± " + percent(one.sd)});
    }
    text += "\n" + table.text() + "\n";
    text +=
        wrapped("What the model itself gets wrong is taken as " + fixed(shelf.learned.shelf.model_sd, 1) + " (CIEDE2000, one standard deviation).");
    for (const ReadingJudged& one : shelf.learned.readings) {
        if (!one.questioned) continue;
        text += wrapped("Questioned: reading " + std::to_string(one.reading + 1) + " of pot \"" +
                        shelf.learned.pots[static_cast<std::size_t>(one.pot)].name + "\" is " + fixed(one.de00, 1) +
                        " off what all others lead to expect, and counts for next to nothing. Read it again.");
    }
    std::vector<std::string> silent;
    for (const KeptPot& pot : book.pots) {
        if (!pot.teaches) silent.push_back("\"" + pot.name + "\"");
    }
    if (!silent.empty()) text += wrapped("Forgotten, by your word: " + listed(silent) + " (paint learn --recall POT brings it back).");
    for (const std::string& message : shelf.start.messages) text += wrapped(message + ".");
    return text + "± is one standard deviation.\n";
}

std::string suggest_report(const Suggestion& suggestion, const MatchGoal& goal, const MixRequest& request, double tolerance) {
    const SuggestedRecipe& best = suggestion.recipes.front();
    const ExpectedDifference& expect = best.under.front();
    std::string text = wrapped("For \"" + goal.name + "\" begin with " + recipe_words(best.parts) + ": expect " +
                               expected_words(expect.de00, expect.low, expect.high) + " under " + goal.lights.front().light.name +
                               ", chance within " + brief(tolerance) + " " + percent(expect.chance_within) + ".");
    std::vector<std::string> heads{"", "drops", "L*, a*, b*"};
    for (const MatchLight& one : goal.lights) heads.push_back("ΔE00 under " + printable(one.light.name) + (one.inferred ? "*" : ""));
    heads.insert(heads.end(), {"within " + brief(tolerance), "a drop off", "recipe"});
    Table table(heads, {2, heads.size() - 1});
    for (const SuggestedRecipe& recipe : suggestion.recipes) {
        int drops = 0;
        for (const auto& part : recipe.parts) drops += part.drops;
        std::vector<std::string> row{capitalized(listed(recipe.words)), std::to_string(drops),
                                     mix_lab_words(recipe.color.lab, recipe.color.covariance)};
        for (const ExpectedDifference& one : recipe.under) row.push_back(expected_words(one.de00, one.low, one.high));
        row.insert(row.end(), {percent(recipe.under.front().chance_within), "+" + fixed(std::max(recipe.drop_cost, 0.0), 1),
                               printable(recipe_words(recipe.parts))});
        table.row(std::move(row));
    }
    text += "\n" + table.text() + "\n";
    const bool proven = std::any_of(suggestion.recipes.begin(), suggestion.recipes.end(), [](const SuggestedRecipe& one) { return one.proven_best; });
    text += wrapped("Nearest: by what is most likely of the paints" + std::string(proven ? ", and no other recipe of so few drops is nearer: proven."
                                                                                         : "; the search did not end, there may be a nearer one."));
    text += wrapped("Surest: of which the least difference is to be expected, all doubts counted in.");
    if (suggestion.finer_de00)
        text += wrapped("Drops are coarse: with up to " + std::to_string(kMostDrops) + " of them these paints come to " +
                        fixed(*suggestion.finer_de00, 1) + " (--drops " + std::to_string(kMostDrops) +
                        "), or let strong paints down first (--let-downs).");
    if (suggestion.missing.de00 >= 1 && !suggestion.missing.direction.empty())
        text += wrapped("Out of reach of any " + std::to_string(request.options.most_paints) + " of these paints by " +
                        fixed(suggestion.missing.de00, 1) + ": the target is " + suggestion.missing.direction + " than they can make it. " +
                        capitalized(suggestion.missing.kind) + " would reach it.");
    if (best.price) text += wrapped("The first costs " + fixed(*best.price, 2) + " of your money.");
    for (const std::string& message : suggestion.messages) text += wrapped(message + ".");
    if (std::any_of(goal.lights.begin(), goal.lights.end(), [](const MatchLight& one) { return one.inferred; }))
        text += wrapped("* The target's color is known under another light only; here it is inferred.");
    if (request.options.let_downs)
        text += wrapped("Let down 1:10: mix one part by volume with ten of the white first, and count drops of that; mix add knows it by this name.");
    text += wrapped("A drop off: how much worse it becomes on the mean by one drop more or less.");
    return text + kPlusMinus + "\n";
}

std::string pots_report(const std::vector<PotTold>& pots, const std::string& verb, const std::string& workbook) {
    if (pots.empty()) return wrapped("No pots in " + workbook + ". Start one: swatchwright mix start POT --target TARGET");
    std::string text = verb.empty()
                           ? wrapped(counted(pots.size(), "pot") + " in " + workbook + ":")
                           : wrapped(verb + " pot \"" + pots.front().pot.name + (verb == "Removed" ? "\" from " : "\" in ") + workbook + ":");
    Table table({"", "to become", "in it", "readings", "last judged", "begun"}, {1, 2, 4, 5});
    for (const PotTold& told : pots)
        table.row({printable(told.pot.name), printable(pot_goal(told)), content_words(told), std::to_string(told.readings.size()),
                   told.readings.empty() ? "" : verdict_words(told.readings.back()), minute_words(told.pot.created)});
    return text + "\n" + table.text() + "\nWhat is in it is as counted. A range in brackets holds the truth in 95 of 100 cases.\n";
}

std::string log_report(const PotTold& told, const MixBook& book, const std::vector<KeptReading>& readings) {
    std::string text = wrapped("Pot \"" + told.pot.name + "\", to become " + pot_goal(told) + ": " + content_words(told) + ".");
    if (!told.pot.note.empty()) text += wrapped(told.pot.note);
    Table table({"", "when", "what", "L*, a*, b*", "off the target"}, {1, 2, 3, 4});
    for (const KeptAddition& one : told.additions) {
        table.row({std::to_string(one.number), minute_words(one.created),
                   printable(addition_words(one, book) + (one.note.empty() ? "" : " (" + one.note + ")")), "", ""});
        for (const KeptPotReading& reading : told.readings) {
            if (reading.addition != one.id) continue;
            const auto photo = std::find_if(readings.begin(), readings.end(), [&](const KeptReading& r) { return reading.reading == r.id; });
            const std::string laid = laid_words(reading);
            table.row({"", minute_words(reading.created),
                       "read" + (laid.empty() ? "" : ", " + laid) +
                           (photo == readings.end() ? "" : ", from " + printable(std::filesystem::path(photo->photo_file).filename().string())),
                       mix_lab_words(reading.lab, reading.lab_covariance), verdict_words(reading)});
        }
    }
    if (!told.additions.empty()) text += "\n" + table.text() + "\n";
    if (!told.in_it.empty()) {
        Table recipe({"", "drops", "ml", "parts of 100"});
        for (const auto& entry : told.in_it) {
            const std::string& name = entry.first;
            const double ml = entry.second;
            const auto paint = std::find_if(book.paints.begin(), book.paints.end(), [&](const KeptPaint& p) { return p.name == name; });
            const double drop = paint == book.paints.end() ? 0.05 : paint->drop_ml.value_or(0.05);
            recipe.row({printable(name), fixed(ml / drop, 1), fixed(ml, 2), fixed(100 * ml / told.ml, 1)});
        }
        text += "What is in it now, as counted:\n\n" + recipe.text() + "\n";
    }
    if (told.unknown) text += wrapped("Something was added and nobody counted. Read the dry test piece, then ask swatchwright mix explain.");
    if (told.lost) text += wrapped("An addition is missing from the record: the file was damaged. What is told is what went in before.");
    return text + kPlusMinus + "\n";
}

std::string added_report(const KeptAddition& one, const PotTold& told, const MixBook& book, const std::vector<std::string>& notes) {
    std::string text = wrapped((one.kind == AdditionKind::taken ? "Kept, pot \"" : "Added to pot \"") + told.pot.name +
                               "\": " + addition_words(one, book) + ". In it now: " + content_words(told) + ", as counted.");
    for (const std::string& note : notes) text += wrapped(note);
    return text;
}

std::string read_report(const KeptPotReading& reading, const PotTold& told) {
    std::string text =
        wrapped("Pot \"" + told.pot.name + "\" reads " + mix_lab_words(reading.lab, reading.lab_covariance) + " under " + reading.light + ".");
    if (reading.wet)
        text += wrapped("Wet paint is not the dry color: it is kept, and neither judged nor learned from.");
    else if (reading.de00)
        text += wrapped("Off " + pot_goal(told) + " by " + verdict_words(reading) + ".");
    else
        text += wrapped("Not judged: the pot's target is stated for another light.");
    return text + kPlusMinus + "\n";
}

std::string next_report(const NextAdvice& advice, const LearnedShelf& shelf, const PotTold& told, const MatchGoal& goal, double tolerance) {
    const auto name = [&](const RecipePart& part) {
        return std::to_string(part.drops) + (part.drops == 1 ? " drop " : " drops ") +
               shelf.start.shelf.paints[static_cast<std::size_t>(part.paint)].name;
    };
    const auto words = [&](const Recipe& add) {
        std::vector<std::string> parts;
        for (const RecipePart& part : add) parts.push_back(name(part));
        return listed(parts);
    };
    const auto expect = [&](const Outlook& o) { return expected_words(o.de00, o.low, o.high); };
    const std::string light = goal.lights.front().light.name;
    std::string text;
    if (const std::string doubted = doubted_words(shelf, told.pot.id); !doubted.empty()) text = wrapped("Careful: " + doubted + ".") + "\n";
    if (advice.step == NextStep::add) {
        const Outlook& best = advice.additions.front();
        text += wrapped("Add " + words(best.add) + ": expect " + expect(best) + " under " + light + ", chance within " + brief(tolerance) + " " +
                        percent(best.chance_within) + "; the batch grows from " + drops_words(best.drops_before) + " to " +
                        drops_words(best.drops_after) + ".");
    } else if (advice.step == NextStep::leave) {
        text += wrapped("Leave it: " + advice.words + ". Now " + expect(advice.as_it_is) + " under " + light + ".");
    } else {
        text += wrapped(capitalized(advice.words) + ". Now " + expect(advice.as_it_is) + " under " + light + ".");
    }
    Table table({"", "ΔE00", "within " + brief(tolerance), "drops after", "grows by"});
    table.row({"as it is", expect(advice.as_it_is), percent(advice.as_it_is.chance_within), drops_words(advice.as_it_is.drops_after), ""});
    for (const Outlook& one : advice.additions)
        table.row({printable(words(one.add)), expect(one), percent(one.chance_within), drops_words(one.drops_after),
                   fixed(100 * (one.growth - 1), 0) + " %"});
    text += "\n" + table.text() + "\n";
    if (told.readings.empty())
        text += wrapped("This pot was not read yet: what is said of it rests on the paints alone. Paint a test piece, let it dry, and read it.");
    for (const std::string& message : shelf.start.messages) text += wrapped(message + ".");
    return text + kPlusMinus + "\n";
}

std::string scale_report(const Batch& batch, const PaintShelf& shelf, const std::string& what) {
    std::string text = wrapped(what + ": " + ml_words(batch.ml) + " in whole drops. Rounding changes the color by " + fixed(batch.rounding_de00, 2) +
                               " (CIEDE2000, D50), by what is believed of the paints.");
    Table table({"", "drops", "as asked for", "ml", "g"});
    for (const BatchPart& part : batch.parts)
        table.row({printable(shelf.shelf.paints[static_cast<std::size_t>(part.paint)].name), std::to_string(part.whole_drops), fixed(part.drops, 1),
                   fixed(part.ml, 2), part.grams ? fixed(*part.grams, 2) : "unknown"});
    text += "\n" + table.text() + "\n";
    if (!batch.note.empty()) text += wrapped(capitalized(batch.note) + ".");
    std::vector<std::string> doubts;
    for (const BatchPart& part : batch.parts) {
        const Paint& paint = shelf.shelf.paints[static_cast<std::size_t>(part.paint)];
        doubts.push_back(paint.name + " " + fixed(paint.drop.ml, 3) + " ml ± " + percent(paint.drop.cv));
    }
    return text + wrapped("A drop: " + listed(doubts) + " (one standard deviation, of what one addition brings). Weigh or measure large amounts.");
}

std::string explain_report(const Explanation& explanation, const LearnedShelf& shelf, const PotTold& told, const std::vector<KeptAddition>& taken,
                           const MixBook& book) {
    const AdditionGuess& guess = explanation.guess;
    std::string text;
    if (guess.sets.empty()) {
        text = wrapped("Nothing on the shelf explains what pot \"" + told.pot.name + "\" looks like: read it again, or allow more drops (--most).");
    } else {
        const auto words = [&](const GuessedAddition& set) {
            std::vector<std::string> parts;
            for (std::size_t i = 0; i < set.paints.size(); ++i)
                parts.push_back(measured(set.drops[i], set.drops_sd[i]) + " drops of " +
                                shelf.start.shelf.paints[static_cast<std::size_t>(set.paints[i])].name);
            return listed(parts);
        };
        text = wrapped("Into pot \"" + told.pot.name + "\" went most likely " + words(guess.sets.front()) + ": chance " +
                       percent(guess.sets.front().chance) + ".");
        if (guess.ambiguous)
            text += wrapped("This is ambiguous: one color is three numbers, and several mixes give it. The pot's color is known all the same.");
        Table table({"", "chance", "what it was"}, {2});
        for (std::size_t i = 0; i < guess.sets.size(); ++i)
            table.row({std::to_string(i + 1), percent(guess.sets[i].chance), printable(words(guess.sets[i]))});
        text += "\n" + table.text() + "\n";
    }
    text += wrapped("The pot's color now: " + mix_lab_words(guess.lab, guess.covariance) + ".");
    if (!taken.empty()) {
        std::vector<std::string> parts;
        for (const KeptAddition& one : taken) parts.push_back(addition_words(one, book));
        text += wrapped("Kept: " + listed(parts) + ".");
    } else if (!guess.sets.empty()) {
        text += wrapped("Do you remember the paint? Take one of these with --take N; the pot goes on with it.");
    }
    return text + "± is one standard deviation.\n";
}

}  // namespace sw
