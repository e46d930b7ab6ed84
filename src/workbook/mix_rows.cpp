// Paints, pots, additions and pots' colors as rows.
#include <cmath>

#include "mix/pigment.hpp"
#include "workbook/mix_records.hpp"
#include "workbook/row_values.hpp"
#include "workbook/rows.hpp"

namespace sw::store {

const Table& paint_table() {
    static const Table table{
        "paint",
        {"name", "maker", "code", "binder", "finish", "pigment", "white", "drop_ml", "drop_cv", "density", "samples", "source", "created"},
        4,
        0,
        0};
    return table;
}

const Table& pot_table() {
    static const Table table{"pot", {"name", "target", "teaches", "note", "created"}, 4, 0, 0};
    return table;
}

const Table& addition_table() {
    static const Table table{"addition", {"pot", "paint", "drops", "created"}, 4, 0, 3};
    return table;
}

const Table& pot_color_table() {
    static const Table table{"pot_color", joined({"pot", "after"}, {"light", "observer", "source", "created"}), 4, 0, 17};
    return table;
}

Values values(const KeptPaint& paint) {
    Values row{paint.name, paint.maker, paint.code, paint.binder, to_word(paint.finish), paint.pigment};
    append(row, paint.white);
    row.insert(row.end(), {paint.drop.ml, paint.drop.cv});
    append(row, paint.density);
    row.insert(row.end(), {samples_text(paint.samples), paint.source, paint.created});
    return row;
}

Values values(const KeptPot& pot) {
    Values row{pot.name};
    append(row, pot.target);
    row.insert(row.end(), {std::int64_t{pot.teaches}, pot.note, pot.created});
    return row;
}

Values values(const KeptAddition& addition) { return {addition.pot, addition.paint, addition.drops, addition.created}; }

Values values(const PotColor& color) {
    Values row{color.pot, std::int64_t{color.after}};
    append(row, color.lab, color.lab_covariance);
    row.insert(row.end(), {color.light, std::int64_t{color.observer == Observer::degree10 ? 10 : 2}, color.source, color.created});
    return row;
}

std::optional<KeptPaint> paint_of(std::int64_t id, Values row) {
    KeptPaint paint;
    paint.id = id;
    std::string finish_word, samples;
    Taker taker(row, paint_table().columns.size());
    for (std::string* text : {&paint.name, &paint.maker, &paint.code, &paint.binder, &finish_word, &paint.pigment}) taker.take(*text);
    taker.take(paint.white);
    taker.take(paint.drop.ml);
    taker.take(paint.drop.cv);
    taker.take(paint.density);
    taker.take(samples);
    taker.take(paint.source);
    taker.take(paint.created);
    const std::optional<Finish> known = finish(finish_word);
    if (!taker.good() || !known) return std::nullopt;
    paint.finish = *known;
    Result<std::vector<KeptSample>> read = samples_of(samples);
    if (!read) return std::nullopt;
    paint.samples = *std::move(read);
    return paint;
}

std::optional<KeptPot> pot_of(std::int64_t id, Values row) {
    KeptPot pot;
    pot.id = id;
    std::int64_t teaches = 0;
    Taker taker(row, pot_table().columns.size());
    taker.take(pot.name);
    taker.take(pot.target);
    taker.take(teaches);
    taker.take(pot.note);
    taker.take(pot.created);
    if (!taker.good() || (teaches != 0 && teaches != 1)) return std::nullopt;
    pot.teaches = teaches == 1;
    return pot;
}

std::optional<KeptAddition> addition_of(std::int64_t id, Values row) {
    KeptAddition addition;
    addition.id = id;
    Taker taker(row, addition_table().columns.size());
    taker.take(addition.pot);
    taker.take(addition.paint);
    taker.take(addition.drops);
    taker.take(addition.created);
    return taker.good() ? std::optional(addition) : std::nullopt;
}

std::optional<PotColor> pot_color_of(std::int64_t id, Values row) {
    PotColor color;
    color.id = id;
    std::int64_t after = 0, degrees = 0;
    Taker taker(row, pot_color_table().columns.size());
    taker.take(color.pot);
    taker.take(after);
    take(taker, color.lab, color.lab_covariance);
    taker.take(color.light);
    taker.take(degrees);
    taker.take(color.source);
    taker.take(color.created);
    if (!taker.good() || after < 1 || after > 1'000'000 || (degrees != 2 && degrees != 10)) return std::nullopt;
    color.after = static_cast<int>(after);
    color.observer = degrees == 10 ? Observer::degree10 : Observer::degree2;
    return color;
}

void tidy(KeptPaint& paint) {
    for (std::string* text : {&paint.name, &paint.maker, &paint.code, &paint.binder, &paint.pigment}) *text = trimmed(*text);
    for (KeptSample& sample : paint.samples) tidy_color(sample.lab, sample.lab_covariance);
}
void tidy(KeptPot& pot) { pot.name = trimmed(pot.name); }
void tidy(KeptAddition&) {}
void tidy(PotColor& color) { tidy_color(color.lab, color.lab_covariance); }

std::optional<std::string> flaw(const KeptPaint& paint) {
    if (auto found = name_flaw(paint.name)) return found;
    for (const auto& [text, what] : {std::pair{&paint.maker, "the maker"}, {&paint.code, "the code"}, {&paint.binder, "the binder"}}) {
        if (auto found = text_flaw(*text, what)) return found;
    }
    if (!paint.pigment.empty() && !pigment_class(paint.pigment)) return "\"" + paint.pigment + "\" is no generic name of the Colour Index, like PB15:3";
    if (!(paint.drop.ml > 0 && paint.drop.ml <= 5)) return "a drop is not above 0 and at most 5 ml";
    if (!(paint.drop.cv >= 0 && paint.drop.cv <= 1)) return "the spread of a drop is not 0 to 1 of its size";
    if (paint.density && !(*paint.density >= 0.3 && *paint.density <= 5)) return "the density is not 0.3 to 5 g/ml";
    bool tint = false;
    for (const KeptSample& sample : paint.samples) {
        if (!(sample.share > 0 && sample.share <= 1)) return "a share is not above 0 and at most 1";
        tint = tint || sample.share < 1;
        if (!sample.spectrum.empty()) {
            if (auto found = text_flaw(sample.spectrum, "a spectrum")) return found;
            if (!(sample.spectrum_sd > 0 && sample.spectrum_sd <= 1)) return "the spread of a spectrum is not above 0 and at most 1";
            if (const Result<Reflectance> surface = surface_of(sample.spectrum, "a spectrum"); !surface) return describe(surface.error());
        } else {
            if (auto found = color_flaw(sample.lab, sample.lab_covariance)) return found;
            if (auto found = text_flaw(sample.light, "a sample's light")) return found;
        }
    }
    if (tint && !paint.white) return "a tint needs the white that it is let down with";
    if (auto found = bytes_flaw(paint.source, "the source")) return found;
    return time_flaw(paint.created);
}

std::optional<std::string> flaw(const KeptPot& pot) {
    if (auto found = name_flaw(pot.name)) return found;
    if (auto found = text_flaw(pot.note, "the note")) return found;
    return time_flaw(pot.created);
}

std::optional<std::string> flaw(const KeptAddition& addition) {
    if (!(std::isfinite(addition.drops) && addition.drops > 0 && addition.drops <= 1e6)) return "drops are above 0";
    return time_flaw(addition.created);
}

std::optional<std::string> flaw(const PotColor& color) {
    if (auto found = color_flaw(color.lab, color.lab_covariance)) return found;
    if (color.after < 1) return "a pot with nothing in it has no color";
    if (auto found = text_flaw(color.light, "the light")) return found;
    if (auto found = bytes_flaw(color.source, "the source")) return found;
    return time_flaw(color.created);
}

}  // namespace sw::store
