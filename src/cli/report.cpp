#include "cli/report.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "calibrate/calibration.hpp"
#include "calibrate/coverage.hpp"
#include "cli/text.hpp"
#include "sheet/words.hpp"

namespace sw {
namespace {

constexpr const char* kSpreadNote = "± is one standard deviation, all known sources of error included; ranges hold the truth in 95 % of cases.\n";
constexpr const char* kPhotoCaution = "A photo's figures are no substitute for an instrument where a contract or a safety color depends on them.\n";
constexpr const char* kPaintCaution =
    "Wet paint and unglossed paint are not the dry, glossed color: judge a dry swatch with the finish that the model will have.\n";

std::string observer_words(Observer observer) { return observer == Observer::degree2 ? "2° observer" : "10° observer"; }

std::string bullets(const std::string& title, const std::vector<std::string>& items) {
    if (items.empty()) return "";
    std::string text = title + "\n";
    for (const std::string& item : items) text += wrapped(item, "  - ");
    return text;
}

// "left-out references come back 1.1 away on average, 95 % of them within 2.4"
std::string loo_words(const LeaveOneOut& loo) {
    if (!loo.mean) return "How near it comes is unknown: too few references to leave one out and see.";
    std::string text = "References left out in turn (" + std::to_string(loo.count) + ") come back " + fixed(*loo.mean, 1) + " away on average";
    text += loo.p95 ? ", 95 % of them within " + fixed(*loo.p95, 1) + "." : ".";
    return text;
}

std::string calibration_text(const CalibratedPhoto& photo) {
    const Calibration& calibration = photo.calibration;
    std::string text = wrapped(photo.photo->path + ": " + calibration.method, "Calibration  ");
    if (!calibration.grade.empty()) text += wrapped(capitalized(calibration.grade) + ".", "             ");
    text += wrapped(loo_words(calibration.loo), "             ");
    if (!calibration.ladder.empty()) {
        std::string maps = "Plain maps on the same references, for comparison:";
        for (const PlainMapScore& map : calibration.ladder)
            maps += (map.name == calibration.ladder.front().name ? " " : ", ") + map.name + (map.loo.mean ? " " + fixed(*map.loo.mean, 1) : "");
        text += wrapped(maps + "; the best of them and the model read colors " + fixed(calibration.maps_apart, 1) + " apart on average.",
                        "             ");
    }
    for (const std::string& reference : calibration.references) text += wrapped(reference, "             ");
    text += wrapped("decoded as " + photo.photo->encoding + (photo.lit_by ? "; lit by " + photo.lit_by->name : "; light not named"), "             ");
    for (const std::string& line : calibration.light.lines) text += wrapped(line, "             ");
    for (const ReferenceUse& use : calibration.uses) {
        if (!use.used || !use.remark.empty())
            text += wrapped(use.name + (use.used ? "" : " not used") + (use.remark.empty() ? "" : ": " + use.remark), "             ");
    }
    return text;
}

// What to heed, each once.
class Notes {
public:
    void add(const std::vector<std::string>& notes, const std::string& about = "") {
        for (const std::string& note : notes) {
            std::string line = about.empty() ? note : about + ": " + note;
            if (std::find(lines_.begin(), lines_.end(), line) == lines_.end()) lines_.push_back(std::move(line));
        }
    }
    [[nodiscard]] const std::vector<std::string>& lines() const { return lines_; }

private:
    std::vector<std::string> lines_;
};

std::string step_word(double step, double sd, const char* up, const char* down) {
    if (std::abs(step) <= 2 * sd) return "not sure which way";
    return step > 0 ? up : down;
}

// How sure the sign of a step is.
std::string certainty_word(double chance) { return chance >= kDirectionSure ? "sure" : chance >= kDirectionPerhaps ? "perhaps" : "cannot tell"; }

}  // namespace

std::string readings_table(const std::vector<Reading>& readings) {
    Table table({"", "L*", "a*", "b*", "C*", "h°", "LRV", "on screen", "pixels"});
    for (const Reading& reading : readings) {
        if (!reading.absolute_ok) {
            table.row({printable(reading.name), "unknown", "unknown", "unknown", "unknown", "unknown", "unknown", "unknown",
                       std::to_string(reading.statistics.pixels)});
            continue;
        }
        const auto sd = lab_sd(reading);
        const auto polar = lch_sd(reading.lab, reading.lab_covariance);
        table.row({printable(reading.name), measured(reading.lab.L, sd[0]), measured(reading.lab.a, sd[1]), measured(reading.lab.b, sd[2]),
                   measured(reading.lch.C, polar[1]), std::isfinite(polar[2]) ? measured(reading.lch.h, polar[2]) : "unknown",
                   measured(reading.lrv, reading.lrv_sd), hex(reading.screen.rgb) + (reading.screen.in_gamut ? "" : " (beyond)"),
                   std::to_string(reading.statistics.pixels)});
    }
    return table.text();
}

std::string lights_table(const std::vector<PairUnder>& lights) {
    Table table({"", "ΔE00", "95 % range", "", "how known", "chance it breaks"}, {3, 4});
    for (const PairUnder& under : lights) {
        table.row({printable(under.light), difference_figure(under.de00, under.ci95), range(under.ci95.low, under.ci95.high),
                   to_word(under.flag) + (under.flag_sure ? "" : " ?"), to_word(under.kind), percent(under.breaks_probability)});
    }
    return table.text();
}

std::string measure_report(const CalibratedPhoto& photo, const std::vector<Reading>& readings) {
    std::string text;
    if (readings.empty()) {
        text = "No --region is given, so only the calibration of " + printable(photo.photo->path) + " is told.\n\n";
    } else {
        std::vector<std::string> names;
        for (const Reading& reading : readings) names.push_back(reading.name);
        text = wrapped(capitalized(listed(names)) + " in " + photo.photo->path + ", as under " + readings.front().light + " (" +
                       observer_words(readings.front().observer) + "):") +
               "\n" + readings_table(readings) + "\n";
    }
    text += calibration_text(photo);
    Notes notes;
    notes.add(photo.calibration.warnings);
    for (const Reading& reading : readings) notes.add(reading.warnings, reading.name);
    notes.add(photo.photo->notes);
    if (!notes.lines().empty()) text += "\n" + bullets("Heed", notes.lines());
    return text + "\n" + kSpreadNote + kPhotoCaution;
}

std::string correct_report(const CorrectRequest& request, const CalibratedPhoto& photo, const std::optional<SavedPicture>& saved) {
    std::string text;
    if (saved) {
        text += wrapped("The corrected picture is in " + request.out + ": " + saved->format + ", " + std::to_string(saved->width) + " x " +
                        std::to_string(saved->height) + " pixels, " + std::to_string(saved->bits) + " bits, sRGB; things as under " +
                        (request.options.under ? request.options.under->name : "D50") + (request.options.strip ? ", the references below." : "."));
    }
    if (saved && photo.calibration.light.field_known)
        text += wrapped("The light's course over the picture was leveled to what it is at the references; the input profile cannot do that.");
    if (!request.profile.empty()) text += wrapped("The input profile is in " + request.profile + ": for " + photo.photo->path + " and nothing else.");
    if (!request.report.empty()) text += wrapped("The page about the calibration is in " + request.report + ".");
    text += "\n" + calibration_text(photo);
    std::vector<std::string> gaps = not_covered(photo.calibration.uses);
    text += "\n" + bullets("Not covered by the references", gaps);
    Notes notes;
    notes.add(photo.calibration.warnings);
    notes.add(photo.photo->notes);
    if (!notes.lines().empty()) text += "\n" + bullets("Heed", notes.lines());
    return text + "\n" + kPhotoCaution;
}

std::string calibrate_report(const CalibrateRequest& request, const CalibratedPhoto& photo) {
    const Calibration& calibration = photo.calibration;
    std::string text = calibration_text(photo);
    if (!request.save.empty())
        text = wrapped("Kept set-up \"" + request.save + "\" in " + request.photo.workbook.string() + ": give later photos --setup.") + "\n" + text;
    if (!calibration.uses.empty()) {
        const ReferenceUse* worst = nullptr;
        Table table({"", "L*", "a*", "b*", "read L*", "a*", "b*", "ΔE00", ""}, {8});
        for (const ReferenceUse& use : calibration.uses) {
            if (use.used && use.read && (worst == nullptr || use.de00 > worst->de00)) worst = &use;
            const auto read = [&](double Lab::*which) { return use.read ? fixed((*use.read).*which, 1) : std::string("unknown"); };
            table.row({printable(use.name), fixed(use.value.L, 1), fixed(use.value.a, 1), fixed(use.value.b, 1), read(&Lab::L), read(&Lab::a),
                       read(&Lab::b), use.read ? fixed(use.de00, 1) : "unknown", use.used ? (use.left_out ? "" : "not left out") : "not used"});
        }
        text += "\nReferences, what they are and as read" + std::string(calibration.uses.size() > 1 ? " by the others" : "") + " (D50, 2°)\n" +
                table.text();
        if (worst != nullptr && calibration.uses.size() > 1) text += wrapped("Farthest off: " + worst->name + ", by " + fixed(worst->de00, 1) + ".");
    }
    text += "\n" + bullets("Not covered by the references", not_covered(calibration.uses));
    Notes notes;
    notes.add(calibration.warnings);
    notes.add(photo.photo->notes);
    if (!notes.lines().empty()) text += "\n" + bullets("Heed", notes.lines());
    return text + "\n" + kPhotoCaution;
}

namespace {

// "3 cards in book.swb:", "Kept card "gray" in book.swb:"
std::string kept_head(std::size_t count, const std::string& what, const std::string& name, const std::string& verb, const std::string& workbook) {
    if (verb.empty()) return wrapped(std::to_string(count) + " " + what + (count == 1 ? " in " : "s in ") + workbook + ":");
    return wrapped(verb + " " + what + " \"" + name + (verb == "Removed" ? "\" from " : "\" in ") + workbook + ":");
}

}  // namespace

std::string cards_report(const std::vector<Card>& cards, const std::string& verb, const std::string& workbook) {
    if (cards.empty()) return wrapped("No cards in " + workbook + ".");
    Table table({"", "kind", "value", "source"}, {1, 2, 3});
    bool assumed = false;
    for (const Card& card : cards) {
        std::string kind = "spectrum", value = "measured, LRV ± " + brief(card.sd);
        if (const auto* lrv = std::get_if<Lrv>(&card.value)) {
            kind = "neutral";
            value = "LRV " + measured(lrv->value, card.sd);
        } else if (const auto* color = std::get_if<Lab>(&card.value)) {
            kind = "color";
            value = "Lab " + measured(color->L, card.sd) + ",  " + measured(color->a, card.sd) + ",  " + measured(color->b, card.sd);
        }
        assumed = assumed || card.sd_assumed;
        table.row({printable(card.name), kind, value + (card.sd_assumed ? " *" : ""), printable(card.source)});
    }
    return kept_head(cards.size(), "card", cards.front().name, verb, workbook) + "\n" + table.text() + "\n± is one standard deviation" +
           (assumed ? "; * it is assumed, none was given" : "") + ".\n";
}

std::string setups_report(const std::vector<KeptSetup>& setups, const std::string& verb, const std::string& workbook) {
    if (setups.empty()) return wrapped("No set-ups in " + workbook + ".");
    Table table({"", "made by", "light", "from", "created"}, {1, 2, 3, 4});
    for (const KeptSetup& setup : setups)
        table.row({printable(setup.name), printable(setup.method), setup.light.empty() ? "unknown" : printable(setup.light),
                   printable(setup.photo_file), setup.created.substr(0, 10)});
    std::string text = kept_head(setups.size(), "set-up", setups.front().name, verb, workbook) + "\n" + table.text();
    if (setups.size() == 1) text += "\n" + wrapped(capitalized(setups.front().grade) + ".");
    return text;
}

namespace {

// A bar for each part that matters, largest first: its share of the largest in up to 12 characters.
std::string budget_table(const Difference& d) {
    Table table({"", "", "±", "range without", ""}, {1, 4});
    for (const ErrorPart& part : d.budget) {
        const double share = part.size / std::max(d.budget.front().size, 1e-9);
        if (share < 0.05) continue;
        table.row({part.name, std::string(static_cast<std::size_t>(std::lround(12 * share)), '='), fixed(part.size, decimals_beside(part.size)),
                   range(part.ci95_without.low, part.ci95_without.high), part.advice});
    }
    return table.text();
}

}  // namespace

std::string compare_report(const std::vector<CalibratedPhoto>& photos, const Comparison& comparison, bool tolerance_given) {
    const Difference& d = comparison.difference;
    std::string text = wrapped(answer_sentence(d, tolerance_given)) + "\n";

    text += wrapped("CIEDE2000, swatch less chip, as lit in " + photos.front().photo->path + " (" + comparison.lit_by + "):");
    Table steps({"", "step"});
    steps.row({"lightness ΔL*", measured(d.dL, d.dL_sd)});
    steps.row({"chroma    ΔC*", measured(d.dC, d.dC_sd)});
    steps.row({"hue       ΔH*", measured(d.dH, d.dH_sd)});
    std::string ways;
    for (const Direction& way : d.directions) ways += (ways.empty() ? "" : ", ") + way.word + ": " + certainty_word(way.chance);
    if (!ways.empty()) text += wrapped(capitalized(ways) + ".");
    text += steps.text() + "\n" + readings_table({comparison.chip, comparison.swatch}) + "\n";

    if (!d.thresholds.empty()) text += wrapped(thresholds_sentence(d)) + "\n";
    if (!d.budget.empty()) text += "What limits it, and what shrinks it\n" + budget_table(d) + "\n";
    if (!d.advice.empty()) text += wrapped(d.advice, "What to do  ");
    if (!comparison.lights.empty()) text += "\nUnder each light\n" + lights_table(comparison.lights);
    text += "\n";
    for (const CalibratedPhoto& photo : photos) text += calibration_text(photo);

    Notes notes;
    notes.add(comparison.notes);
    for (const CalibratedPhoto& photo : photos) {
        const std::string about = photos.size() > 1 ? photo.photo->path : "";
        notes.add(photo.calibration.warnings, about);
        notes.add(photo.photo->notes, about);
    }
    notes.add(comparison.chip.warnings, "chip");
    notes.add(comparison.swatch.warnings, "swatch");
    if (!notes.lines().empty()) text += "\n" + bullets("Heed", notes.lines());
    return text + "\n" + kSpreadNote + kPaintCaution + kPhotoCaution;
}

std::string rank_report(const RankRequest& request, const CalibratedPhoto& photo, const std::vector<Ranked>& ranked, const std::string& to) {
    std::string text;
    for (const std::string& line : ranking_words(ranked, to, request.options.tolerance)) text += wrapped(line);
    Table table({"", "", "ΔE00", "95 % range", "", "chance nearest", request.chip ? "swatch less chip" : "swatch less target"}, {1, 4, 6});
    constexpr std::size_t kShown = 24;
    for (std::size_t i = 0; i < ranked.size() && i < kShown; ++i) {
        const Ranked& r = ranked[i];
        table.row({rank_text(r), printable(r.name), difference_figure(r.de00, r.ci95), range(r.ci95.low, r.ci95.high), to_word(r.verdict),
                   ranked.size() > 1 ? percent(r.nearest) : "-", r.words});
    }
    text += "\n" + table.text();
    if (ranked.size() > kShown) text += wrapped(std::to_string(ranked.size() - kShown) + " farther ones are left out here; --json has all.", "  ");
    text += "\n" + calibration_text(photo);
    Notes notes;
    if (std::any_of(ranked.begin(), ranked.end(), [](const Ranked& r) { return r.tied; }))
        notes.add({"= after a rank: of at least one other this photo cannot say, with 95 % of certainty, which of the two is nearer."});
    if (!request.chip)
        notes.add({"Against targets the photo must tell the color by itself; a chip beside the swatch tells a difference several times better."});
    notes.add(photo.calibration.warnings);
    notes.add(photo.photo->notes);
    text += notes.lines().empty() ? "" : "\n" + bullets("Heed", notes.lines());
    return text + "\n" + kSpreadNote + kPaintCaution + kPhotoCaution;
}

std::string coat_report(const std::vector<CalibratedPhoto>& photos, const CoatChange& c, const std::vector<std::string>& about) {
    std::string text = wrapped("The coat changed the color by " + figure_with_range(c.de00, c.ci95) + ": " + c.words + ".");
    for (const std::string& line : c.means) text += wrapped(line);
    if (c.distinct)
        text += wrapped("For a match under this coat aim the bare paint at the target less the steps below: ΔL* " + measured(-c.dL, c.dL_sd) +
                        ", ΔC* " + measured(-c.dC, c.dC_sd) + ".");
    Table steps({"after less before", "step", ""}, {2});
    steps.row({"lightness ΔL*", measured(c.dL, c.dL_sd), step_word(c.dL, c.dL_sd, "lighter", "darker")});
    steps.row({"chroma    ΔC*", measured(c.dC, c.dC_sd), step_word(c.dC, c.dC_sd, "cleaner", "duller")});
    steps.row({"hue       ΔH*", measured(c.dH, c.dH_sd), std::abs(c.dH) <= 2 * c.dH_sd ? "not sure which way" : ""});
    text += "\n" + steps.text() + "\n";
    for (const CalibratedPhoto& photo : photos) text += calibration_text(photo);
    Notes notes;
    notes.add(about);
    for (const CalibratedPhoto& photo : photos) {
        const std::string file = photos.size() > 1 ? photo.photo->path : "";
        notes.add(photo.calibration.warnings, file);
        notes.add(photo.photo->notes, file);
    }
    if (!notes.lines().empty()) text += "\n" + bullets("Heed", notes.lines());
    return text + "\n" + kSpreadNote + kPaintCaution + kPhotoCaution;
}

std::string map_report(const MapRequest& request, const CalibratedPhoto& photo, const std::vector<std::string>& words) {
    std::string text;
    for (const std::string& line : words) text += wrapped(line);
    if (!request.out.empty()) text += wrapped("Drawn into " + request.out + ".");
    text += "\n" + calibration_text(photo);
    Notes notes;
    notes.add(photo.calibration.warnings);
    notes.add(photo.photo->notes);
    if (!notes.lines().empty()) text += "\n" + bullets("Heed", notes.lines());
    return text + "\n" + kSpreadNote + kPaintCaution + kPhotoCaution;
}

std::string spectra_report(const SpectraRequest& request, const std::vector<JudgedPair>& pairs) {
    const std::string& reference = request.under.front().name;
    // the light under which the pair changes most
    std::size_t worst = 0;
    bool doubtful = false;
    for (std::size_t i = 0; i < pairs.size(); ++i) {
        if (pairs[i].pair.index_1976 > pairs[worst].pair.index_1976) worst = i;
        doubtful = doubtful || pairs[i].range;
    }
    const auto ranged = [](double value, const std::optional<PairRange>& range, Interval PairRange::*which) {
        if (!range) return fixed(value, 2);
        const Interval& ci95 = (*range).*which;
        return difference_figure(value, ci95) + " (" + sw::range(ci95.low, ci95.high) + ")";
    };
    const auto de00 = [&](const JudgedPair& judged) { return ranged(judged.pair.de00, judged.range, &PairRange::de00); };
    const auto index = [&](const JudgedPair& judged) { return ranged(judged.pair.index_1976, judged.range, &PairRange::index_1976); };
    std::string first = "The two are " + de00(pairs.front()) + " apart under " + reference;
    if (pairs.size() > 1 && pairs[worst].pair.index_1976 < 0.1) {
        first += "; under the other lights that does not change";
    } else if (worst > 0) {
        first += "; the change is largest under " + request.under[worst].name + ", where they are " + de00(pairs[worst]) +
                 " apart (index of metamerism " + index(pairs[worst]) + ")";
    }
    std::string text = wrapped(first + ".") + "\n";
    Table table({"", "A: L*", "a*", "b*", "B: L*", "a*", "b*", "ΔE00", "index"});
    for (std::size_t i = 0; i < pairs.size(); ++i) {
        const auto& [pair, range] = pairs[i];
        const Lab sure;
        const Lab &a = range ? range->a_sd : sure, &b = range ? range->b_sd : sure;
        table.row({printable(request.under[i].name), spread(pair.a.L, a.L, 2), spread(pair.a.a, a.a, 2), spread(pair.a.b, a.b, 2),
                   spread(pair.b.L, b.L, 2), spread(pair.b.a, b.a, 2), spread(pair.b.b, b.b, 2), de00(pairs[i]), i == 0 ? "-" : index(pairs[i])});
    }
    text += table.text() + "\n";
    const bool additive = request.correction == Correction::additive;
    text += wrapped("A: " + request.file_a + "; B: " + request.file_b + "; " + observer_words(request.observer) +
                    ". Index: the CIE's special index of metamerism (ΔE*ab, " + (additive ? "additive" : "multiplicative") + " correction) against " +
                    reference + ".");
    if (additive) text += wrapped(correction_warning(request.correction), "Heed  ");
    if (doubtful) {
        text +=
            wrapped("Of a lamp known by its box only many spectra are possible: ± is one standard deviation over them, ranges hold 95 % of them.");
    }
    return text + wrapped("Computed from the spectra as given. The spread of the measured spectra themselves is unknown to the program: ± unknown.");
}

namespace {

// A table without its head.
std::string headless(const Table& table) {
    const std::string rows = table.text();
    return rows.substr(rows.find('\n') + 1);
}

// CIE 13.3-1995, table of the test color samples, shortened; from memory.
constexpr std::array<const char*, 14> kSampleNames{"light grayish red",    "dark grayish yellow", "strong yellow green", "yellowish green",
                                                   "light bluish green",   "light blue",          "light violet",        "light reddish purple",
                                                   "strong red",           "strong yellow",       "strong green",        "strong blue",
                                                   "light yellowish pink", "leaf green"};

std::string origin_words(const LightFigures& light) {
    switch (light.origin) {
        case LightOrigin::published:
            return "Exact: a published table or formula. How far your lamp differs from it: ± unknown.";
        case LightOrigin::believed:
            return "Of this lamp only its figures are known, so its spectrum is one of many: ± is one standard deviation over " +
                   std::to_string(light.light.may_be->size()) +
                   " that fit. They are of the usual make, a blue LED under phosphor; violet-pumped and three-color lamps are outside.";
        case LightOrigin::file:
            return "Computed from the spectrum in the file as it is. With what error it was measured: ± unknown.";
    }
    return "";
}

}  // namespace

std::string light_report(const LightFigures& light) {
    const LightQuality &q = light.quality, &sd = light.sd;
    const Xy chromaticity = xy(light.white);
    const UvPrime uniform = uv_prime(light.white);
    std::string text = wrapped(light.light.name + ": " + light_words(q, sd)) + "\n";
    Table table({"", "", ""}, {1, 2});
    const auto row = [&](const char* name, double value, double deviation, int decimals, const char* unit, const char* means) {
        table.row({name, q.cct_valid ? spread(value, deviation, decimals) + unit : "unknown", means});
    };
    row("CCT", q.cct, sd.cct, 0, " K", "correlated color temperature: low is warm, high is cool");
    row("Duv", q.duv, sd.duv, 4, "", "distance from the black body: + greener, - pinker");
    row("Ra", q.ra, sd.ra, 0, "", "color rendering index, CIE 13.3: 100 is best");
    row("R9", q.r9, sd.r9, 0, "", "the same for a strong red");
    row("Rf", q.rf, sd.rf, 0, "", "color fidelity index, CIE 224: 100 is best");
    row("Rg", q.rg, sd.rg, 0, "", "gamut index, TM-30: above 100 colors look cleaner, below duller");
    const WhiteSd& doubt = light.white_sd;
    table.row(
        {"white XYZ", spread(light.white.X, doubt.xyz.X, 2) + ",  100,  " + spread(light.white.Z, doubt.xyz.Z, 2), observer_words(light.observer)});
    table.row({"x, y", spread(chromaticity.x, doubt.xy.x, 4) + ",  " + spread(chromaticity.y, doubt.xy.y, 4), "chromaticity, CIE 1931"});
    table.row({"u', v'", spread(uniform.u, doubt.uv.u, 4) + ",  " + spread(uniform.v, doubt.uv.v, 4), "chromaticity, CIE 1976"});
    text += headless(table) + "\n";
    if (q.cct_valid) {
        text += "Rendering of the test colors (100: as under " + std::string(q.cct < 5000 ? "a black body" : "daylight") + " of this CCT)\n";
        Table samples({"", "", "", "", "", ""}, {2, 3, 5});
        for (std::size_t i = 0; i < 7; ++i) {
            const std::size_t k = i + 7;
            samples.row({"R" + std::to_string(i + 1), spread(q.ri[i], sd.ri[i], 0), kSampleNames[i], "R" + std::to_string(k + 1),
                         spread(q.ri[k], sd.ri[k], 0), kSampleNames[k]});
        }
        text += headless(samples) + "\n";
    }
    text += wrapped(origin_words(light));
    if (!q.cct_valid) return text + wrapped(capitalized(no_cct_reason(light)) + ".");
    return text + wrapped("Words: our own thresholds (Ra 90, 80, 60; R9 50; Duv 0.006; 3300 and 5300 K).");
}

std::string light_list_report(const std::vector<LightFigures>& lights, const std::vector<OwnFigures>& own) {
    std::string text = "Lights that have a name (CIE; " + observer_words(lights.front().observer) + "); any case of letters will do:\n\n";
    Table table({"", "CCT K", "Duv", "Ra", "R9", "Rf", "Rg", "x", "y"});
    for (const LightFigures& light : lights) {
        const LightQuality& q = light.quality;
        const auto known = [&](double value, int decimals) { return q.cct_valid ? fixed(value, decimals) : std::string("unknown"); };
        const Xy at = xy(light.white);
        table.row({light.light.name, known(q.cct, 0), known(q.duv, 4), known(q.ra, 0), known(q.r9, 0), known(q.rf, 0), known(q.rg, 0), fixed(at.x, 4),
                   fixed(at.y, 4)});
    }
    text += table.text() + "\n";
    if (!own.empty()) {
        text += "Lamps of your own (± over the lamps that have these figures on their box; of a measured spectrum it is unknown):\n\n";
        Table lamps({"", "light", "CCT K", "Duv", "Ra", "Rf"}, {1});
        for (const auto& [name, figures] : own) {
            const LightQuality &q = figures.quality, &sd = figures.sd;
            const auto known = [&](double value, double deviation, int decimals) {
                return q.cct_valid ? spread(value, deviation, decimals) : std::string("unknown");
            };
            lamps.row({printable(name), figures.origin == LightOrigin::file ? "a measured spectrum" : printable(figures.light.name),
                       known(q.cct, sd.cct, 0), known(q.duv, sd.duv, 4), known(q.ra, sd.ra, 0), known(q.rf, sd.rf, 0)});
        }
        text += lamps.text() + "\n";
    }
    text += "Besides these:\n";
    Table forms({"", ""}, {1});
    for (const LightForm& form : light_forms()) forms.row({form.form, form.means});
    return text + headless(forms) + "\n" +
           wrapped("Exact: published tables and formulas. swatchwright light NAME says more of one; --plot FILE.png draws it.");
}

std::vector<PlotFigure> light_plot_figures(const LightFigures& light) {
    const LightQuality &q = light.quality, &sd = light.sd;
    const WhiteSd& doubt = light.white_sd;
    const Xy at = xy(light.white);
    std::vector<PlotFigure> rows;
    const auto row = [&](const char* name, double value, double deviation, int decimals, const char* unit = "") {
        rows.push_back({name, q.cct_valid ? spread(value, deviation, decimals) + unit : "unknown"});
    };
    rows.push_back({"Color", ""});
    row("CCT", q.cct, sd.cct, 0, " K");
    row("Duv", q.duv, sd.duv, 4);
    rows.push_back({"x", spread(at.x, doubt.xy.x, 4)});
    rows.push_back({"y", spread(at.y, doubt.xy.y, 4)});
    rows.push_back({"Rendering (100 is best)", ""});
    row("Ra, CIE 13.3", q.ra, sd.ra, 0);
    row("R9, strong red", q.r9, sd.r9, 0);
    row("Rf, CIE 224", q.rf, sd.rf, 0);
    row("Rg, gamut", q.rg, sd.rg, 0);
    return rows;
}

std::vector<std::string> color_notes(const ColorRequest& request, const ColorFacts& facts) {
    std::vector<std::string> notes;
    const ColorForm form = request.color.form;
    if (form == ColorForm::lrv || form == ColorForm::munsell_value) {
        notes.emplace_back("An LRV or a Munsell value says how light a color is and nothing of its hue: a neutral gray is meant.");
    }
    if (form == ColorForm::srgb || form == ColorForm::p3) {
        notes.push_back("A screen color is stated for D65 and was adapted to " + request.under.name + " by Bradford" +
                        (request.observer == Observer::degree10 ? "; screens are defined for the 2° observer, taken here as if for 10°." : "."));
    } else {
        notes.emplace_back("The screen colors are adapted to D65 by Bradford.");
    }
    if (form == ColorForm::xyz && facts.xyz.Y <= 1 && std::max(facts.xyz.X, facts.xyz.Z) <= 1.2 && facts.xyz.Y > 0) {
        notes.emplace_back("That is almost black: if your XYZ count the perfect white as 1, multiply them by 100.");
    }
    if (request.under.may_be) {
        const WhiteSd doubt = white_sd(request.under, request.observer);
        const Xyz white = xyz(request.under, request.observer);
        notes.push_back("Of " + request.under.name + " only its figures are known. Its white is " + spread(white.X, doubt.xyz.X, 2) + ", 100, " +
                        spread(white.Z, doubt.xyz.Z, 2) + "; X, Z and what follows from them share that doubt.");
    }
    if (facts.surface && !facts.srgb.in_gamut) {
        notes.emplace_back(std::string("sRGB screens cannot show it: the figure is its nearest by clipping") +
                           (facts.in_p3 ? "; Display P3 screens can." : "."));
    }
    notes.emplace_back("Conversions are exact: they add no error of measurement. How well the color itself is known: ± unknown.");
    return notes;
}

namespace {
std::string three(double a, double b, double c, int decimals = 2) {
    return fixed(a, decimals) + ",  " + fixed(b, decimals) + ",  " + fixed(c, decimals);
}
std::string p3_hex(const ColorFacts& facts) { return hex(EncodedRgb{facts.p3.r, facts.p3.g, facts.p3.b}); }
}  // namespace

std::string color_report(const ColorRequest& request, const ColorFacts& facts) {
    const std::string under = request.under.name + ", " + observer_words(request.observer);
    std::string first = color_words(facts.lab) + ". ";
    first += facts.surface ? "A surface can have this color under " + request.under.name
                           : "No plain surface can have this color under " + request.under.name +
                                 " (it takes light itself or fluorescence, if anything has it)";
    first += facts.srgb.in_gamut ? ", and a screen can show it."
             : facts.in_p3       ? "; a Display P3 screen can show it, an sRGB screen cannot."
                                 : "; neither sRGB nor Display P3 screens can show it.";
    std::string text = wrapped(first) + "\n";
    Table table({"", "", ""}, {1, 2});
    table.row({"L*, a*, b*", three(facts.lab.L, facts.lab.a, facts.lab.b), "under " + printable(under)});
    table.row({"L*, C*, h°", fixed(facts.lch.L, 2) + ",  " + fixed(facts.lch.C, 2) + ",  " + fixed(facts.lch.h, 1), "lightness, chroma, hue angle"});
    table.row({"L*, u*, v*", three(facts.luv.L, facts.luv.u, facts.luv.v), "CIELUV"});
    table.row({"X, Y, Z", three(facts.xyz.X, facts.xyz.Y, facts.xyz.Z), "white has Y = 100"});
    const bool black = facts.xyz.X + facts.xyz.Y + facts.xyz.Z <= 0;
    table.row({"x, y", black ? "none" : fixed(facts.xy.x, 4) + ",  " + fixed(facts.xy.y, 4), "chromaticity"});
    table.row({"LRV", fixed(facts.lrv, 2), "of the light that falls on it so much comes back, of 100"});
    table.row({"Munsell value", fixed(facts.munsell_value, 2), "its lightness from 0 to 10"});
    table.row({"sRGB", hex(facts.srgb.rgb), facts.srgb.in_gamut ? "the screen can show it" : "clipped: beyond the screen"});
    table.row({"Display P3", p3_hex(facts), facts.in_p3 ? "the screen can show it" : "clipped: beyond the screen"});
    return text + headless(table) + "\n" + bullets("Heed", color_notes(request, facts));
}

std::vector<PlotFigure> color_plot_figures(const ColorRequest& request, const ColorFacts& facts) {
    return {{"L*, a*, b*", fixed(facts.lab.L, 1) + ", " + fixed(facts.lab.a, 1) + ", " + fixed(facts.lab.b, 1)},
            {"C*, h", fixed(facts.lch.C, 1) + ", " + fixed(facts.lch.h, 0) + "°"},
            {"LRV", fixed(facts.lrv, 1)},
            {"Munsell value", fixed(facts.munsell_value, 1)},
            {"Display P3", p3_hex(facts) + (facts.in_p3 ? "" : " (clipped)")},
            {"stated for", request.under.name + (request.observer == Observer::degree2 ? ", 2°" : ", 10°")}};
}

std::string screen_report(const ScreenRequest& request, const ScreenReading& reading, const std::optional<Target>& kept) {
    const auto sd = lab_sd(reading.covariance);
    std::string text = wrapped("It reads L* " + measured(reading.lab.L, sd[0]) + ", a* " + measured(reading.lab.a, sd[1]) + ", b* " +
                               measured(reading.lab.b, sd[2]) + " under D50 (2°), on an sRGB screen " + hex(screen_color(reading.lab).rgb) +
                               ". This is an " + kAppearance + " of the thing that was filmed.") +
                       "\n";
    Table table({"frame", "L*", "a*", "b*", "from the middle", ""}, {5});
    for (std::size_t i = 0; i < reading.frames.size(); ++i) {
        const FrameReading& frame = reading.frames[i];
        const auto own = lab_sd(frame.covariance);
        table.row({std::to_string(i + 1) + "  " + printable(std::filesystem::path(request.frames[i].file).filename().string()),
                   measured(frame.lab.L, own[0]), measured(frame.lab.a, own[1]), measured(frame.lab.b, own[2]), fixed(frame.from_middle, 1),
                   frame.left_out ? "left out" : ""});
    }
    text += table.text() + "\n";
    std::vector<std::string> wide;
    for (const ScreenPart& part : reading.parts) wide.push_back(part.name + " ± " + fixed(part.sd, part.sd < 1 ? 2 : 1));
    text += bullets("What the ± is made of (root mean square over L*, a*, b*)", wide) + "\n";
    Notes notes;
    notes.add(reading.notes);
    for (std::size_t i = 0; i < reading.frames.size(); ++i) notes.add(reading.frames[i].notes, "frame " + std::to_string(i + 1));
    if (!notes.lines().empty()) text += bullets("Heed", notes.lines());
    if (kept) text += "\n" + wrapped("Kept as target \"" + printable(kept->name) + "\" in " + request.workbook.string() + ".");
    return text + "\n" + kSpreadNote;
}

std::string targets_report(const std::vector<Target>& targets, const std::set<std::int64_t>& off_record, const std::string& verb,
                           const std::string& workbook, const std::vector<Distance>& distances) {
    if (targets.empty()) return wrapped("No targets in " + workbook + ".");
    std::string text;
    if (verb.empty()) {
        text = wrapped(std::to_string(targets.size()) + (targets.size() == 1 ? " target in " : " targets in ") + workbook + ":");
    } else {
        text = wrapped(verb + " target \"" + targets.front().name + (verb == "Removed" ? "\" from " : "\" in ") + workbook + ":");
    }
    std::vector<std::string> heads{"", "L*", "a*", "b*", "under", "kind", "on screen", "source"};
    if (!distances.empty()) heads.emplace_back("ΔE00");
    Table table(std::move(heads), {4, 5, 7});
    for (std::size_t i = 0; i < targets.size(); ++i) {
        const Target& target = targets[i];
        const auto sd = lab_sd(target.lab_covariance);
        std::vector<std::string> row{printable(target.name),
                                     measured(target.lab.L, sd[0]),
                                     measured(target.lab.a, sd[1]),
                                     measured(target.lab.b, sd[2]),
                                     printable(target.light) + (target.observer == Observer::degree10 ? ", 10°" : ""),
                                     to_word(target.kind),
                                     hex(screen_color(target.lab).rgb),
                                     printable(target.source) + (off_record.contains(target.id) ? "; photo not on record" : "")};
        if (!distances.empty()) row.push_back(measured(distances[i].de00, distances[i].sd));
        table.row(std::move(row));
    }
    text += "\n" + table.text() + "\n± is one standard deviation.\n";
    if (std::any_of(targets.begin(), targets.end(), [](const Target& t) { return t.kind == TargetKind::screen; }))
        text += wrapped("Of kind screen: an " + std::string(kAppearance) + " of the thing that was filmed.");
    return text;
}

}  // namespace sw
