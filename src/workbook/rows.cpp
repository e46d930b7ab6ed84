#include "workbook/rows.hpp"

#include <cmath>

#include "workbook/row_values.hpp"

namespace sw::store {
namespace {

constexpr std::size_t kLongestSpectrum = 1 << 20;

}  // namespace

const Table& target_table() {
    static const Table table{"target", joined({"name"}, {"kind", "light", "observer", "source", "created", "spectrum", "caution"}), 1, 2, 0};
    return table;
}

const Table& reading_table() {
    static const Table table{"reading",
                             joined({"target", "name", "photo_file", "photo_hash", "region", "calibration_json"},
                                    {"light", "de00", "ci_low", "ci_high", "verdict", "created"}),
                             1, 0, 1};
    return table;
}

const Table& card_table() {
    static const Table table{
        "card", {"name", "kind", "lrv", "lab_l", "lab_a", "lab_b", "spectrum", "sd", "sd_assumed", "source", "created"}, 2, 0, 0};
    return table;
}

const Table& setup_table() {
    static const Table table{"setup", {"name", "photo_file", "photo_hash", "light", "method", "grade", "setup_json", "created"}, 2, 0, 0};
    return table;
}

Values values(const Target& target) {
    Values row{target.name};
    append(row, target.lab, target.lab_covariance);
    row.insert(row.end(), {to_word(target.kind), target.light, std::int64_t{target.observer == Observer::degree10 ? 10 : 2}, target.source,
                           target.created, target.spectrum, target.caution});
    return row;
}

Values values(const KeptReading& reading) {
    Values row{reading.target ? Value(*reading.target) : Value(),
               reading.name,
               reading.photo_file,
               reading.photo_hash,
               reading.region,
               reading.calibration_json};
    append(row, reading.lab, reading.lab_covariance);
    row.emplace_back(reading.light);
    append(row, reading.de00);
    append(row, reading.ci_low);
    append(row, reading.ci_high);
    row.insert(row.end(), {reading.verdict, reading.created});
    return row;
}

Values values(const Card& card) {
    const auto* lrv = std::get_if<Lrv>(&card.value);
    const auto* color = std::get_if<Lab>(&card.value);
    const auto* spectrum = std::get_if<SpectrumText>(&card.value);
    const auto figure = [](bool there, double value) { return there ? Value(value) : Value(); };
    return {card.name,
            std::string(lrv != nullptr     ? "lrv"
                        : color != nullptr ? "lab"
                                           : "spectrum"),
            figure(lrv != nullptr, lrv != nullptr ? lrv->value : 0),
            figure(color != nullptr, color != nullptr ? color->L : 0),
            figure(color != nullptr, color != nullptr ? color->a : 0),
            figure(color != nullptr, color != nullptr ? color->b : 0),
            spectrum != nullptr ? spectrum->csv : std::string(),
            card.sd,
            std::int64_t{card.sd_assumed ? 1 : 0},
            card.source,
            card.created};
}

Values values(const KeptSetup& setup) {
    return {setup.name, setup.photo_file, setup.photo_hash, setup.light, setup.method, setup.grade, setup.json, setup.created};
}

std::optional<Target> target_of(std::int64_t id, Values row) {
    Target target;
    target.id = id;
    std::string kind;
    std::int64_t degrees = 0;
    Taker taker(row, target_table().columns.size());
    taker.take(target.name);
    take(taker, target.lab, target.lab_covariance);
    taker.take(kind);
    taker.take(target.light);
    taker.take(degrees);
    taker.take(target.source);
    taker.take(target.created);
    taker.take(target.spectrum);
    taker.take(target.caution);
    const std::optional<TargetKind> known = target_kind(kind);
    if (!taker.good() || !known || (degrees != 2 && degrees != 10)) return std::nullopt;
    target.kind = *known;
    target.observer = degrees == 10 ? Observer::degree10 : Observer::degree2;
    return target;
}

std::optional<KeptReading> reading_of(std::int64_t id, Values row) {
    KeptReading reading;
    reading.id = id;
    Taker taker(row, reading_table().columns.size());
    taker.take(reading.target);
    for (std::string* text : {&reading.name, &reading.photo_file, &reading.photo_hash, &reading.region, &reading.calibration_json}) taker.take(*text);
    take(taker, reading.lab, reading.lab_covariance);
    taker.take(reading.light);
    for (std::optional<double>* figure : {&reading.de00, &reading.ci_low, &reading.ci_high}) taker.take(*figure);
    taker.take(reading.verdict);
    taker.take(reading.created);
    if (!taker.good()) return std::nullopt;
    return reading;
}

std::optional<Card> card_of(std::int64_t id, Values row) {
    Card card;
    card.id = id;
    std::string kind, spectrum;
    std::optional<double> lrv, L, a, b;
    std::int64_t assumed = 0;
    Taker taker(row, card_table().columns.size());
    taker.take(card.name);
    taker.take(kind);
    for (std::optional<double>* figure : {&lrv, &L, &a, &b}) taker.take(*figure);
    taker.take(spectrum);
    taker.take(card.sd);
    taker.take(assumed);
    taker.take(card.source);
    taker.take(card.created);
    const bool no_lab = !L && !a && !b;
    if (!taker.good() || (assumed != 0 && assumed != 1)) return std::nullopt;
    card.sd_assumed = assumed == 1;
    if (kind == "lrv" && lrv && no_lab && spectrum.empty()) {
        card.value = Lrv{*lrv};
    } else if (kind == "lab" && !lrv && L && a && b && spectrum.empty()) {
        card.value = Lab{*L, *a, *b};
    } else if (kind == "spectrum" && !lrv && no_lab) {
        card.value = SpectrumText{std::move(spectrum)};
    } else {
        return std::nullopt;
    }
    return card;
}

std::optional<KeptSetup> setup_of(std::int64_t id, Values row) {
    KeptSetup setup;
    setup.id = id;
    Taker taker(row, setup_table().columns.size());
    for (std::string* text :
         {&setup.name, &setup.photo_file, &setup.photo_hash, &setup.light, &setup.method, &setup.grade, &setup.json, &setup.created}) {
        taker.take(*text);
    }
    if (!taker.good()) return std::nullopt;
    return setup;
}

void tidy(Target& target) {
    target.name = trimmed(target.name);
    tidy_color(target.lab, target.lab_covariance);
}

void tidy(KeptReading& reading) {
    reading.name = trimmed(reading.name);
    tidy_color(reading.lab, reading.lab_covariance);
    for (std::optional<double>* figure : {&reading.de00, &reading.ci_low, &reading.ci_high}) {
        if (*figure) **figure += 0.0;
    }
}

void tidy(Card& card) {
    card.name = trimmed(card.name);
    if (auto* color = std::get_if<Lab>(&card.value)) {
        for (double* figure : {&color->L, &color->a, &color->b}) *figure += 0.0;
    }
}

void tidy(KeptSetup& setup) { setup.name = trimmed(setup.name); }

std::optional<std::string> flaw(const Target& target) {
    if (auto found = name_flaw(target.name)) return found;
    if (auto found = color_flaw(target.lab, target.lab_covariance)) return found;
    if (auto found = text_flaw(target.light, "the light")) return found;
    if (auto found = bytes_flaw(target.source, "the source")) return found;
    if (auto found = text_flaw(target.caution, "the caution")) return found;
    if (!target.spectrum.empty()) {
        if (target.spectrum.size() > kLongestSpectrum) return "the spectrum is longer than 1 MB";
        if (auto found = text_flaw(target.spectrum, "the spectrum")) return found;
        if (const Result<Reflectance> surface = surface_of(target.spectrum, "the spectrum"); !surface) return describe(surface.error());
    }
    return time_flaw(target.created);
}

std::optional<std::string> flaw(const KeptReading& reading) {
    if (auto found = name_flaw(reading.name)) return found;
    if (auto found = color_flaw(reading.lab, reading.lab_covariance)) return found;
    if (auto found = bytes_flaw(reading.photo_file, "the photo's file name")) return found;
    if (auto found = text_flaw(reading.photo_hash, "the photo's hash")) return found;
    if (auto found = text_flaw(reading.region, "the region")) return found;
    if (auto found = text_flaw(reading.calibration_json, "the calibration")) return found;
    if (auto found = text_flaw(reading.light, "the light")) return found;
    if (auto found = text_flaw(reading.verdict, "the verdict")) return found;
    for (const std::optional<double>& figure : {reading.de00, reading.ci_low, reading.ci_high}) {
        if (figure && !(std::isfinite(*figure) && *figure >= 0)) return "the difference or its interval is not a finite number of 0 or more";
    }
    if (reading.ci_low && reading.ci_high && *reading.ci_low > *reading.ci_high) return "the interval of the difference is upside down";
    return time_flaw(reading.created);
}

std::optional<std::string> flaw(const Card& card) {
    if (auto found = name_flaw(card.name)) return found;
    if (!(card.sd > 0 && card.sd <= 50)) return "the spread is not a figure above 0, up to 50";
    if (const auto* lrv = std::get_if<Lrv>(&card.value)) {
        if (!(lrv->value > 0 && lrv->value <= 100)) return "the LRV is not a figure above 0, up to 100";
    } else if (const auto* color = std::get_if<Lab>(&card.value)) {
        if (!(color->L > 0 && color->L <= 100 && std::hypot(color->a, color->b) < 140)) return "no surface has that Lab";
    } else {
        const std::string& csv = std::get<SpectrumText>(card.value).csv;
        if (csv.size() > kLongestSpectrum) return "the spectrum is longer than 1 MB";
        if (auto found = text_flaw(csv, "the spectrum")) return found;
        if (const Result<CardReference> seen = card_reference(card, Box{}); !seen) return "the spectrum: " + describe(seen.error());
    }
    if (auto found = bytes_flaw(card.source, "the source")) return found;
    return time_flaw(card.created);
}

std::optional<std::string> flaw(const KeptSetup& setup) {
    if (auto found = name_flaw(setup.name)) return found;
    if (auto found = bytes_flaw(setup.photo_file, "the photo's file name")) return found;
    for (const auto& [text, what] : {std::pair{&setup.photo_hash, "the photo's hash"},
                                     {&setup.light, "the light"},
                                     {&setup.method, "the method"},
                                     {&setup.grade, "the grade"},
                                     {&setup.json, "the set-up"}}) {
        if (auto found = text_flaw(*text, what)) return found;
    }
    if (setup.json.empty()) return "the set-up is empty";
    return time_flaw(setup.created);
}

}  // namespace sw::store
