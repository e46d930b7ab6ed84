// The same answers for machines.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "cli/mix_answers.hpp"
#include "spectral/bands.hpp"

namespace sw {
namespace {

using MixJson = nlohmann::ordered_json;

std::string mix_text(const MixJson& json) { return json.dump(2, ' ', false, MixJson::error_handler_t::replace) + "\n"; }

MixJson mix_figure(double value) {
    if (!std::isfinite(value)) return nullptr;
    return std::round(value * 1e4) / 1e4 + 0.0;
}
MixJson mix_figure(const std::optional<double>& value) { return value ? mix_figure(*value) : MixJson(nullptr); }
MixJson lab_json(const Lab& lab) { return {mix_figure(lab.L), mix_figure(lab.a), mix_figure(lab.b)}; }
MixJson covariance_json(const Eigen::Matrix3d& covariance) {
    MixJson rows = MixJson::array();
    for (int row = 0; row < 3; ++row) {
        MixJson cells = MixJson::array();
        for (int column = 0; column < 3; ++column) cells.push_back(std::round(covariance(row, column) * 1e6) / 1e6 + 0.0);
        rows.push_back(std::move(cells));
    }
    return rows;
}
MixJson text_or_null(const std::string& text) { return text.empty() ? MixJson(nullptr) : MixJson(text); }

MixJson laid_json(const CoatLaid& laid) {
    return {{"clear_coat", laid.coat ? MixJson(to_word(*laid.coat)) : MixJson(nullptr)},
            {"film_um", mix_figure(laid.film_um)},
            {"over", laid.under ? lab_json(*laid.under) : MixJson(nullptr)}};
}

MixJson sample_json(const KeptSample& sample, const MixBook& book) {
    const KeptPaint* white = sample.white ? book.paint(*sample.white) : nullptr;
    MixJson json{{"share", mix_figure(sample.share)},
                 {"white", white == nullptr ? MixJson(nullptr) : MixJson(white->name)},
                 {"lab", lab_json(sample.lab)},
                 {"lab_cov", covariance_json(sample.lab_covariance)},
                 {"light", sample.light},
                 {"measured", !sample.spectrum.empty()}};
    json.update(laid_json(sample.laid));
    json["set_aside"] = sample.set_aside;
    json["source"] = sample.source;
    json["created"] = sample.created;
    return json;
}

MixJson addition_json(const KeptAddition& one, const MixBook& book) {
    const KeptPaint* paint = one.paint ? book.paint(*one.paint) : nullptr;
    return {{"number", one.number},
            {"kind", to_word(one.kind)},
            {"paint", paint == nullptr ? MixJson(nullptr) : MixJson(paint->name)},
            {"amount", mix_figure(one.amount)},
            {"unit", text_or_null(one.unit)},
            {"ml", mix_figure(one.ml)},
            {"believed", one.explains.has_value()},
            {"note", one.note},
            {"created", one.created}};
}

MixJson pot_reading_json(const KeptPotReading& reading) {
    MixJson json{{"lab", lab_json(reading.lab)},
                 {"lab_cov", covariance_json(reading.lab_covariance)},
                 {"light", reading.light},
                 {"state", reading.wet ? "wet" : "dry"}};
    json.update(laid_json(reading.laid));
    json.update(
        MixJson{{"de00", mix_figure(reading.de00)},
                {"ci95", reading.ci_low && reading.ci_high ? MixJson{mix_figure(reading.ci_low), mix_figure(reading.ci_high)} : MixJson(nullptr)},
                {"tolerance", mix_figure(reading.tolerance)},
                {"verdict", text_or_null(reading.verdict)},
                {"set_aside", reading.set_aside},
                {"source", reading.source},
                {"created", reading.created}});
    return json;
}

MixJson pot_json(const PotTold& told) {
    MixJson in_it = MixJson::array();
    for (const auto& [paint, ml] : told.in_it) in_it.push_back({{"paint", paint}, {"ml", mix_figure(ml)}, {"share", mix_figure(ml / told.ml)}});
    MixJson json{{"name", told.pot.name},
                 {"target", text_or_null(told.target)},
                 {"batch_of", text_or_null(told.batch_of)},
                 {"tolerance", mix_figure(told.pot.tolerance)},
                 {"lights", told.pot.lights},
                 {"teaches", told.pot.teaches},
                 {"drops", mix_figure(told.drops)},
                 {"ml", mix_figure(told.ml)},
                 {"in_it", std::move(in_it)},
                 {"unknown", told.unknown},
                 {"lost", told.lost},
                 {"readings", told.readings.size()},
                 {"note", told.pot.note},
                 {"created", told.pot.created}};
    json["last"] = told.readings.empty() ? MixJson(nullptr) : pot_reading_json(told.readings.back());
    return json;
}

MixJson parts_of(const Recipe& recipe, const LearnedShelf& shelf) {
    MixJson parts = MixJson::array();
    for (const RecipePart& part : recipe)
        parts.push_back({{"paint", shelf.start.shelf.paints[static_cast<std::size_t>(part.paint)].name}, {"drops", part.drops}});
    return parts;
}

MixJson outlook_json(const Outlook& outlook) {
    return {{"lab", lab_json(outlook.expected)},
            {"lab_cov", covariance_json(outlook.covariance)},
            {"de00", mix_figure(outlook.de00)},
            {"ci95", {mix_figure(outlook.low), mix_figure(outlook.high)}},
            {"chance_within", mix_figure(outlook.chance_within)}};
}

}  // namespace

std::string paints_json(const std::vector<PaintTold>& paints, const MixBook& book) {
    MixJson list = MixJson::array();
    for (const PaintTold& told : paints) {
        const KeptPaint& paint = told.paint;
        MixJson samples = MixJson::array();
        for (const KeptSample& sample : told.samples) samples.push_back(sample_json(sample, book));
        list.push_back({{"name", paint.name},
                        {"maker", paint.maker},
                        {"code", paint.code},
                        {"binder", text_or_null(paint.binder)},
                        {"finish", paint.finish ? MixJson(to_word(*paint.finish)) : MixJson(nullptr)},
                        {"pigments", pigments_of(paint.pigments)},
                        {"is_white", paint.white},
                        {"on_shelf", paint.on_shelf},
                        {"drop_ml", mix_figure(paint.drop_ml.value_or(Drop{}.ml))},
                        {"drop_assumed", !paint.drop_ml.has_value()},
                        {"density", mix_figure(paint.density)},
                        {"bottle_ml", mix_figure(paint.bottle_ml)},
                        {"price", mix_figure(paint.price)},
                        {"stock_ml", mix_figure(told.stock)},
                        {"pots", told.pots},
                        {"samples", std::move(samples)},
                        {"note", paint.note},
                        {"source", paint.source},
                        {"created", paint.created}});
    }
    return mix_text({{"paints", std::move(list)}});
}

std::string learned_json(const LearnedShelf& shelf, const MixBook& book) {
    const Shelf& now = shelf.learned.shelf;
    const Eigen::MatrixXd spread = spread_of(now);
    MixJson paints = MixJson::array();
    for (std::size_t p = 0; p < now.paints.size(); ++p) {
        const Paint& paint = now.paints[p];
        const StrengthLearned& strength = shelf.learned.strengths[p];
        const Eigen::MatrixXd moves = paint.doubt * spread.middleRows(first_doubt(now, static_cast<int>(p)), paint.doubt.cols());
        const Eigen::VectorXd sd = moves.rowwise().norm();
        MixJson k = MixJson::array(), s = MixJson::array(), k_sd = MixJson::array(), s_sd = MixJson::array();
        const auto digits = [](double value) { return std::stod(std::to_string(std::round(value * 1e6) / 1e6)); };
        for (int band = 0; band < kModelBands; ++band) {
            k.push_back(digits(paint.k[band]));
            s.push_back(digits(paint.s[band]));
            k_sd.push_back(mix_figure(sd[band]));
            s_sd.push_back(mix_figure(sd[kModelBands + band]));
        }
        paints.push_back({{"paint", paint.name},
                          {"strength", mix_figure(strength.factor)},
                          {"strength_sd_before", mix_figure(strength.sd_before)},
                          {"strength_sd", mix_figure(strength.sd)},
                          {"k", std::move(k)},
                          {"s", std::move(s)},
                          {"ln_k_sd", std::move(k_sd)},
                          {"ln_s_sd", std::move(s_sd)}});
    }
    MixJson readings = MixJson::array();
    for (const ReadingJudged& one : shelf.learned.readings)
        readings.push_back({{"pot", shelf.learned.pots[static_cast<std::size_t>(one.pot)].name},
                            {"reading", one.reading + 1},
                            {"de00", mix_figure(one.de00)},
                            {"questioned", one.questioned}});
    MixJson forgotten = MixJson::array();
    for (const KeptPot& pot : book.pots) {
        if (!pot.teaches) forgotten.push_back(pot.name);
    }
    return mix_text({{"first_nm", model_nm(0)},
                     {"step_nm", model_nm(1) - model_nm(0)},
                     {"k1", mix_figure(now.surface.k1)},
                     {"k2", mix_figure(now.surface.k2)},
                     {"model_sd", mix_figure(now.model_sd)},
                     {"paints", std::move(paints)},
                     {"readings", std::move(readings)},
                     {"forgotten", std::move(forgotten)},
                     {"messages", shelf.start.messages}});
}

std::string suggest_json(const Suggestion& suggestion, const MatchGoal& goal, double tolerance) {
    MixJson recipes = MixJson::array();
    for (const SuggestedRecipe& recipe : suggestion.recipes) {
        MixJson parts = MixJson::array(), lights = MixJson::array();
        for (const auto& part : recipe.parts) parts.push_back({{"paint", part.paint}, {"drops", part.drops}, {"ml", mix_figure(part.ml)}});
        for (std::size_t i = 0; i < recipe.under.size(); ++i) {
            const ExpectedDifference& one = recipe.under[i];
            lights.push_back({{"light", goal.lights[i].light.name},
                              {"kind", goal.lights[i].inferred ? "inferred" : "computed"},
                              {"de00", mix_figure(one.de00)},
                              {"ci95", {mix_figure(one.low), mix_figure(one.high)}},
                              {"chance_within", mix_figure(one.chance_within)}});
        }
        const ExpectedDifference& first = recipe.under.front();
        recipes.push_back({{"parts", std::move(parts)},
                           {"lab", lab_json(recipe.color.lab)},
                           {"lab_cov", covariance_json(recipe.color.covariance)},
                           {"de00", mix_figure(first.de00)},
                           {"ci95", {mix_figure(first.low), mix_figure(first.high)}},
                           {"chance_within", mix_figure(first.chance_within)},
                           {"proven_best", recipe.proven_best},
                           {"words", recipe.words},
                           {"ml", mix_figure(recipe.ml)},
                           {"drop_cost", mix_figure(recipe.drop_cost)},
                           {"price", mix_figure(recipe.price)},
                           {"lights", std::move(lights)}});
    }
    const MissingPaint& missing = suggestion.missing;
    return mix_text({{"target", goal.name},
                     {"tolerance", mix_figure(tolerance)},
                     {"recipes", std::move(recipes)},
                     {"missing", missing.direction.empty()
                                     ? MixJson(nullptr)
                                     : MixJson{{"de00", mix_figure(missing.de00)}, {"direction", missing.direction}, {"kind", missing.kind}}},
                     {"finer_de00", mix_figure(suggestion.finer_de00)},
                     {"messages", suggestion.messages}});
}

std::string pots_json(const std::vector<PotTold>& pots) {
    MixJson list = MixJson::array();
    for (const PotTold& told : pots) list.push_back(pot_json(told));
    return mix_text({{"pots", std::move(list)}});
}

std::string log_json(const PotTold& told, const MixBook& book, const std::vector<KeptReading>& readings) {
    MixJson events = MixJson::array();
    for (const KeptAddition& one : told.additions) {
        events.push_back({{"addition", addition_json(one, book)}});
        for (const KeptPotReading& reading : told.readings) {
            if (reading.addition != one.id) continue;
            MixJson json = pot_reading_json(reading);
            const auto photo = std::find_if(readings.begin(), readings.end(), [&](const KeptReading& r) { return reading.reading == r.id; });
            json["photo"] = photo == readings.end() ? MixJson(nullptr) : MixJson(photo->photo_file);
            json["photo_hash"] = photo == readings.end() ? MixJson(nullptr) : MixJson(photo->photo_hash);
            json["region"] = photo == readings.end() ? MixJson(nullptr) : MixJson(photo->region);
            events.push_back({{"reading", std::move(json)}});
        }
    }
    return mix_text({{"pot", pot_json(told)}, {"log", std::move(events)}});
}

std::string added_json(const KeptAddition& one, const PotTold& told, const MixBook& book) {
    return mix_text({{"added", addition_json(one, book)}, {"pot", pot_json(told)}});
}

std::string read_json(const KeptPotReading& reading, const PotTold& told) {
    return mix_text({{"reading", pot_reading_json(reading)}, {"pot", pot_json(told)}});
}

std::string next_json(const NextAdvice& advice, const LearnedShelf& shelf) {
    const bool adds = advice.step == NextStep::add;
    const Outlook& shown = adds ? advice.additions.front() : advice.as_it_is;
    MixJson others = MixJson::array();
    for (std::size_t i = adds ? 1 : 0; i < advice.additions.size(); ++i)
        others.push_back({{"additions", parts_of(advice.additions[i].add, shelf)},
                          {"expect", outlook_json(advice.additions[i])},
                          {"drops_after", mix_figure(advice.additions[i].drops_after)}});
    return mix_text({{"additions", parts_of(shown.add, shelf)},
                     {"expect", outlook_json(shown)},
                     {"drops_before", mix_figure(shown.drops_before)},
                     {"drops_after", mix_figure(shown.drops_after)},
                     {"growth", mix_figure(shown.growth)},
                     {"step", adds                             ? "add"
                              : advice.step == NextStep::leave ? "leave"
                                                               : "start anew"},
                     {"advice", advice.words},
                     {"as_it_is", outlook_json(advice.as_it_is)},
                     {"others", std::move(others)},
                     {"messages", shelf.start.messages}});
}

std::string scale_json(const Batch& batch, const PaintShelf& shelf) {
    MixJson parts = MixJson::array();
    for (const BatchPart& part : batch.parts)
        parts.push_back({{"paint", shelf.shelf.paints[static_cast<std::size_t>(part.paint)].name},
                         {"drops", part.whole_drops},
                         {"drops_asked", mix_figure(part.drops)},
                         {"ml", mix_figure(part.ml)},
                         {"g", mix_figure(part.grams)}});
    return mix_text(
        {{"parts", std::move(parts)}, {"ml", mix_figure(batch.ml)}, {"rounding_de00", mix_figure(batch.rounding_de00)}, {"note", batch.note}});
}

std::string explain_json(const Explanation& explanation, const LearnedShelf& shelf, const std::vector<KeptAddition>& taken, const MixBook& book) {
    MixJson sets = MixJson::array(), kept = MixJson::array();
    for (const GuessedAddition& set : explanation.guess.sets) {
        MixJson parts = MixJson::array();
        for (std::size_t i = 0; i < set.paints.size(); ++i)
            parts.push_back({{"paint", shelf.start.shelf.paints[static_cast<std::size_t>(set.paints[i])].name},
                             {"drops", mix_figure(set.drops[i])},
                             {"drops_sd", mix_figure(set.drops_sd[i])}});
        sets.push_back({{"parts", std::move(parts)}, {"chance", mix_figure(set.chance)}});
    }
    for (const KeptAddition& one : taken) kept.push_back(addition_json(one, book));
    return mix_text({{"sets", std::move(sets)},
                     {"ambiguous", explanation.guess.ambiguous},
                     {"lab", lab_json(explanation.guess.lab)},
                     {"lab_cov", covariance_json(explanation.guess.covariance)},
                     {"kept", std::move(kept)}});
}

}  // namespace sw
