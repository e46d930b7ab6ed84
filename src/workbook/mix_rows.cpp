// Paints, samples, pots, additions and pots' readings as rows.
#include <cmath>

#include "mix/pigment.hpp"
#include "workbook/mix_records.hpp"
#include "workbook/row_values.hpp"
#include "workbook/rows.hpp"

namespace sw::store {
namespace {

constexpr std::size_t kLongestSampleSpectrum = 1 << 20;
constexpr std::size_t kLongestMixText = 1 << 20;

std::int64_t degrees(Observer observer) { return observer == Observer::degree10 ? 10 : 2; }

std::string word_or_empty(const std::optional<Finish>& finish) { return finish ? to_word(*finish) : std::string(); }

/// False where the word is none of them.
bool take_finish(Taker& taker, std::optional<Finish>& into) {
    std::string word;
    taker.take(word);
    into = finish(word);
    return into.has_value() || word.empty();
}

bool take_yes(Taker& taker, bool& into) {
    std::int64_t number = 0;
    taker.take(number);
    into = number == 1;
    return number == 0 || number == 1;
}

bool take_observer(Taker& taker, Observer& into) {
    std::int64_t number = 0;
    taker.take(number);
    into = number == 10 ? Observer::degree10 : Observer::degree2;
    return number == 2 || number == 10;
}

void append_laid(Values& row, const CoatLaid& laid) {
    append(row, laid.film_um);
    append(row, laid.film_cv);
    const auto figure = [&](double Lab::*of) { return laid.under ? std::optional((*laid.under).*of) : std::nullopt; };
    for (double Lab::*of : {&Lab::L, &Lab::a, &Lab::b}) append(row, figure(of));
    row.emplace_back(word_or_empty(laid.coat));
}

bool take_laid(Taker& taker, CoatLaid& laid) {
    std::optional<double> L, a, b;
    taker.take(laid.film_um);
    taker.take(laid.film_cv);
    for (std::optional<double>* figure : {&L, &a, &b}) taker.take(*figure);
    if (L && a && b) laid.under = Lab{*L, *a, *b};
    return take_finish(taker, laid.coat) && L.has_value() == a.has_value() && a.has_value() == b.has_value();
}

void tidy_laid(CoatLaid& laid) {
    if (!laid.under) return;
    for (double* figure : {&laid.under->L, &laid.under->a, &laid.under->b}) *figure += 0.0;
}

std::optional<std::string> laid_flaw(const CoatLaid& laid) {
    if (laid.film_um && !(*laid.film_um > 0 && *laid.film_um <= 10'000)) return "the film is not above 0 and at most 10 000 µm thick";
    if (laid.film_cv && !(*laid.film_cv > 0 && *laid.film_cv <= 3)) return "the spread of the film's thickness is not above 0 and at most 3 of it";
    if (laid.under && !(laid.under->L >= 0 && laid.under->L <= 110 && std::hypot(laid.under->a, laid.under->b) < 150))
        return "no surface under the coat has that Lab";
    return std::nullopt;
}

std::optional<std::string> range_flaw(const std::optional<double>& figure, double least, double most, const char* words) {
    if (figure && !(*figure > least && *figure <= most)) return words;
    return std::nullopt;
}

}  // namespace

const Table& paint_table() {
    static const Table table{"paint",
                             {"name", "maker", "code", "binder", "finish", "pigments", "white", "on_shelf", "drop_ml", "drop_cv", "density",
                              "bottle_ml", "price", "stock_ml", "stock_said", "note", "source", "created"},
                             4,
                             0,
                             0};
    return table;
}

const Table& sample_table() {
    static const Table table{
        "sample",
        joined({"paint", "share", "white"}, {"light", "observer", "spectrum", "spectrum_sd", "film", "film_um", "film_cv", "under_l", "under_a",
                                             "under_b", "coat", "set_aside", "reading", "source", "created"}),
        4, 0, 28};
    return table;
}

const Table& pot_table() {
    static const Table table{"pot", {"name", "target", "batch_of", "tolerance", "lights", "teaches", "note", "created"}, 4, 0, 0};
    return table;
}

const Table& addition_table() {
    static const Table table{
        "addition", {"pot", "number", "kind", "paint", "amount", "unit", "ml", "spread", "explains", "note", "created"}, 4, 0, 2};
    return table;
}

const Table& pot_reading_table() {
    static const Table table{
        "pot_reading",
        joined({"pot", "addition"}, {"light", "observer", "state", "film_um", "film_cv", "under_l", "under_a", "under_b", "coat", "de00", "ci_low",
                                     "ci_high", "tolerance", "verdict", "set_aside", "reading", "source", "created"}),
        4, 0, 30};
    return table;
}

Values values(const KeptPaint& paint) {
    Values row{paint.name,
               paint.maker,
               paint.code,
               paint.binder,
               word_or_empty(paint.finish),
               paint.pigments,
               std::int64_t{paint.white},
               std::int64_t{paint.on_shelf}};
    for (const std::optional<double>& figure : {paint.drop_ml, paint.drop_cv, paint.density, paint.bottle_ml, paint.price, paint.stock_ml})
        append(row, figure);
    row.insert(row.end(), {paint.stock_said, paint.note, paint.source, paint.created});
    return row;
}

Values values(const KeptSample& sample) {
    Values row{sample.paint, sample.share};
    append(row, sample.white);
    append(row, sample.lab, sample.lab_covariance);
    row.insert(row.end(), {sample.light, degrees(sample.observer), sample.spectrum});
    append(row, sample.spectrum_sd);
    append(row, sample.film);
    append_laid(row, sample.laid);
    row.emplace_back(std::int64_t{sample.set_aside});
    append(row, sample.reading);
    row.insert(row.end(), {sample.source, sample.created});
    return row;
}

Values values(const KeptPot& pot) {
    Values row{pot.name};
    append(row, pot.target);
    append(row, pot.batch_of);
    append(row, pot.tolerance);
    std::string lights;
    for (const std::string& light : pot.lights) lights += light + "\n";
    row.insert(row.end(), {lights, std::int64_t{pot.teaches}, pot.note, pot.created});
    return row;
}

Values values(const KeptAddition& addition) {
    Values row{addition.pot, addition.number, to_word(addition.kind)};
    append(row, addition.paint);
    append(row, addition.amount);
    row.emplace_back(addition.unit);
    append(row, addition.ml);
    append(row, addition.spread);
    append(row, addition.explains);
    row.insert(row.end(), {addition.note, addition.created});
    return row;
}

Values values(const KeptPotReading& reading) {
    Values row{reading.pot, reading.addition};
    append(row, reading.lab, reading.lab_covariance);
    row.insert(row.end(), {reading.light, degrees(reading.observer), std::string(reading.wet ? "wet" : "dry")});
    append_laid(row, reading.laid);
    for (const std::optional<double>& figure : {reading.de00, reading.ci_low, reading.ci_high, reading.tolerance}) append(row, figure);
    row.insert(row.end(), {reading.verdict, std::int64_t{reading.set_aside}});
    append(row, reading.reading);
    row.insert(row.end(), {reading.source, reading.created});
    return row;
}

std::optional<KeptPaint> paint_of(std::int64_t id, Values row) {
    KeptPaint paint;
    paint.id = id;
    Taker taker(row, paint_table().columns.size());
    for (std::string* text : {&paint.name, &paint.maker, &paint.code, &paint.binder}) taker.take(*text);
    const bool finish_known = take_finish(taker, paint.finish);
    taker.take(paint.pigments);
    const bool marks = take_yes(taker, paint.white) && take_yes(taker, paint.on_shelf);
    for (std::optional<double>* figure : {&paint.drop_ml, &paint.drop_cv, &paint.density, &paint.bottle_ml, &paint.price, &paint.stock_ml})
        taker.take(*figure);
    for (std::string* text : {&paint.stock_said, &paint.note, &paint.source, &paint.created}) taker.take(*text);
    return taker.good() && finish_known && marks ? std::optional(paint) : std::nullopt;
}

std::optional<KeptSample> sample_of(std::int64_t id, Values row) {
    KeptSample sample;
    sample.id = id;
    Taker taker(row, sample_table().columns.size());
    taker.take(sample.paint);
    taker.take(sample.share);
    taker.take(sample.white);
    take(taker, sample.lab, sample.lab_covariance);
    taker.take(sample.light);
    const bool seen = take_observer(taker, sample.observer);
    taker.take(sample.spectrum);
    taker.take(sample.spectrum_sd);
    taker.take(sample.film);
    const bool laid = take_laid(taker, sample.laid), mark = take_yes(taker, sample.set_aside);
    taker.take(sample.reading);
    taker.take(sample.source);
    taker.take(sample.created);
    return taker.good() && seen && laid && mark ? std::optional(sample) : std::nullopt;
}

std::optional<KeptPot> pot_of(std::int64_t id, Values row) {
    KeptPot pot;
    pot.id = id;
    std::string lights;
    Taker taker(row, pot_table().columns.size());
    taker.take(pot.name);
    taker.take(pot.target);
    taker.take(pot.batch_of);
    taker.take(pot.tolerance);
    taker.take(lights);
    const bool mark = take_yes(taker, pot.teaches);
    taker.take(pot.note);
    taker.take(pot.created);
    if (!taker.good() || !mark) return std::nullopt;
    for (std::size_t at = 0; at < lights.size();) {
        const std::size_t end = lights.find('\n', at);
        if (end == std::string::npos) return std::nullopt;
        pot.lights.push_back(lights.substr(at, end - at));
        at = end + 1;
    }
    return pot;
}

std::optional<KeptAddition> addition_of(std::int64_t id, Values row) {
    KeptAddition addition;
    addition.id = id;
    std::string kind;
    Taker taker(row, addition_table().columns.size());
    taker.take(addition.pot);
    taker.take(addition.number);
    taker.take(kind);
    taker.take(addition.paint);
    taker.take(addition.amount);
    taker.take(addition.unit);
    taker.take(addition.ml);
    taker.take(addition.spread);
    taker.take(addition.explains);
    taker.take(addition.note);
    taker.take(addition.created);
    const std::optional<AdditionKind> known = addition_kind(kind);
    if (!taker.good() || !known) return std::nullopt;
    addition.kind = *known;
    return addition;
}

std::optional<KeptPotReading> pot_reading_of(std::int64_t id, Values row) {
    KeptPotReading reading;
    reading.id = id;
    std::string state;
    Taker taker(row, pot_reading_table().columns.size());
    taker.take(reading.pot);
    taker.take(reading.addition);
    take(taker, reading.lab, reading.lab_covariance);
    taker.take(reading.light);
    const bool seen = take_observer(taker, reading.observer);
    taker.take(state);
    reading.wet = state == "wet";
    const bool laid = take_laid(taker, reading.laid);
    for (std::optional<double>* figure : {&reading.de00, &reading.ci_low, &reading.ci_high, &reading.tolerance}) taker.take(*figure);
    taker.take(reading.verdict);
    const bool mark = take_yes(taker, reading.set_aside);
    taker.take(reading.reading);
    taker.take(reading.source);
    taker.take(reading.created);
    return taker.good() && seen && laid && mark && (state == "wet" || state == "dry") ? std::optional(reading) : std::nullopt;
}

void tidy(KeptPaint& paint) {
    for (std::string* text : {&paint.name, &paint.maker, &paint.code, &paint.binder}) *text = trimmed(*text);
    std::string names;
    for (const std::string& name : pigments_of(paint.pigments)) names += (names.empty() ? "" : " ") + name;
    paint.pigments = names;
}
void tidy(KeptSample& sample) {
    tidy_color(sample.lab, sample.lab_covariance);
    tidy_laid(sample.laid);
}
void tidy(KeptPot& pot) { pot.name = trimmed(pot.name); }
void tidy(KeptAddition&) {}
void tidy(KeptPotReading& reading) {
    tidy_color(reading.lab, reading.lab_covariance);
    tidy_laid(reading.laid);
    for (std::optional<double>* figure : {&reading.de00, &reading.ci_low, &reading.ci_high}) {
        if (*figure) **figure += 0.0;
    }
}

std::optional<std::string> flaw(const KeptPaint& paint) {
    if (auto found = name_flaw(paint.name)) return found;
    for (const auto& [text, what] :
         {std::pair{&paint.maker, "the maker"}, {&paint.code, "the code"}, {&paint.binder, "the binder"}, {&paint.note, "the note"}}) {
        if (text->size() > kLongestMixText) return std::string(what) + " is longer than 1 MB";
        if (auto found = text_flaw(*text, what)) return found;
    }
    for (const std::string& name : pigments_of(paint.pigments)) {
        if (!pigment_class(name)) return "\"" + name + "\" is no generic name of the Colour Index, like PB15:3";
    }
    if (auto found = range_flaw(paint.drop_ml, 0, 5, "a drop is not above 0 and at most 5 ml")) return found;
    if (auto found = range_flaw(paint.drop_cv, 0, 1, "the spread of a drop is not above 0 and at most 1 of its size")) return found;
    if (auto found = range_flaw(paint.density, 0.3, 5, "the density is not above 0.3 and at most 5 g/ml")) return found;
    if (auto found = range_flaw(paint.bottle_ml, 0, 1e5, "the bottle is not above 0 and at most 100 000 ml")) return found;
    if (auto found = range_flaw(paint.price, 0, 1e9, "the price is not above 0")) return found;
    if (paint.stock_ml && !(*paint.stock_ml >= 0 && *paint.stock_ml <= 1e6)) return "what is left is not 0 to 1 000 000 ml";
    if (paint.stock_ml.has_value() == paint.stock_said.empty()) return "what is left goes with the time when that was said";
    if (!paint.stock_said.empty()) {
        if (auto found = time_flaw(paint.stock_said)) return found;
    }
    if (auto found = bytes_flaw(paint.source, "the source")) return found;
    return time_flaw(paint.created);
}

std::optional<std::string> flaw(const KeptSample& sample) {
    if (!(sample.share > 0 && sample.share <= 1)) return "a share is not above 0 and at most 1";
    if (sample.white == sample.paint) return "a paint cannot be let down with itself";
    if (sample.share == 1 && sample.white) return "a masstone holds no white";
    if (auto found = color_flaw(sample.lab, sample.lab_covariance)) return found;
    if (auto found = text_flaw(sample.light, "the light")) return found;
    if (sample.spectrum.empty() == sample.spectrum_sd.has_value()) return "a spectrum and its spread go together";
    if (!sample.spectrum.empty()) {
        if (sample.spectrum.size() > kLongestSampleSpectrum) return "the spectrum is longer than 1 MB";
        if (auto found = text_flaw(sample.spectrum, "the spectrum")) return found;
        if (!(*sample.spectrum_sd > 0 && *sample.spectrum_sd <= 1)) return "the spread of a spectrum is not above 0 and at most 1";
        if (const Result<Reflectance> surface = surface_of(sample.spectrum, "the spectrum"); !surface) return describe(surface.error());
    }
    if (sample.film && !(*sample.film > 0 && *sample.film <= 1'000'000)) return "the film's number is not 1 to 1 000 000";
    if (auto found = laid_flaw(sample.laid)) return found;
    if (auto found = bytes_flaw(sample.source, "the source")) return found;
    return time_flaw(sample.created);
}

std::optional<std::string> flaw(const KeptPot& pot) {
    if (auto found = name_flaw(pot.name)) return found;
    if (pot.batch_of && *pot.batch_of == pot.id) return "it cannot be a batch of itself";
    if (auto found = range_flaw(pot.tolerance, 0, 100, "the tolerance is not above 0 and at most 100")) return found;
    constexpr std::size_t kMostLights = 20;
    if (pot.lights.size() > kMostLights) return "it has more than 20 lights";
    for (const std::string& light : pot.lights) {
        if (light.empty() || light.find('\n') != std::string::npos) return "a light is empty or has a line end";
        if (auto found = text_flaw(light, "a light")) return found;
    }
    if (pot.note.size() > kLongestMixText) return "the note is longer than 1 MB";
    if (auto found = text_flaw(pot.note, "the note")) return found;
    return time_flaw(pot.created);
}

std::optional<std::string> flaw(const KeptAddition& addition) {
    const bool unknown = addition.kind == AdditionKind::unknown;
    if (unknown == addition.amount.has_value() || unknown == addition.ml.has_value() || unknown != addition.unit.empty())
        return unknown ? "what nobody counted has no amount" : "an amount, its unit and its volume are said together";
    if (addition.kind == AdditionKind::paint && !addition.paint) return "it does not say which paint";
    if (addition.kind == AdditionKind::taken && addition.paint) return "what is taken out is the mix, not a paint";
    if (!unknown && addition.unit != "drops" && addition.unit != "ml" && addition.unit != "g") return "its unit is not drops, ml or g";
    if (auto found = range_flaw(addition.amount, 0, 1e6, "an amount is not above 0 and at most 1 000 000")) return found;
    if (auto found = range_flaw(addition.ml, 0, 1e6, "a volume is not above 0 and at most 1 000 000 ml")) return found;
    if (auto found = range_flaw(addition.spread, 0, 10, "the spread of an amount is not above 0 and at most 10 of it")) return found;
    if (addition.explains && addition.kind != AdditionKind::paint) return "only a paint can explain an unknown addition";
    if (addition.note.size() > kLongestMixText) return "the note is longer than 1 MB";
    if (auto found = text_flaw(addition.note, "the note")) return found;
    return time_flaw(addition.created);
}

std::optional<std::string> flaw(const KeptPotReading& reading) {
    if (auto found = color_flaw(reading.lab, reading.lab_covariance)) return found;
    if (auto found = text_flaw(reading.light, "the light")) return found;
    if (auto found = laid_flaw(reading.laid)) return found;
    for (const std::optional<double>& figure : {reading.de00, reading.ci_low, reading.ci_high}) {
        if (figure && !(std::isfinite(*figure) && *figure >= 0)) return "the difference or its interval is not a finite number of 0 or more";
    }
    if (reading.ci_low && reading.ci_high && *reading.ci_low > *reading.ci_high) return "the interval of the difference is upside down";
    if (auto found = range_flaw(reading.tolerance, 0, 100, "the tolerance is not above 0 and at most 100")) return found;
    if (auto found = text_flaw(reading.verdict, "the verdict")) return found;
    if (auto found = bytes_flaw(reading.source, "the source")) return found;
    return time_flaw(reading.created);
}

}  // namespace sw::store
