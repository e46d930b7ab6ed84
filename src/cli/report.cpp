#include "cli/report.hpp"

#include <algorithm>
#include <cmath>

#include "calibrate/calibration.hpp"
#include "cli/text.hpp"

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
    for (const std::string& reference : calibration.references) text += wrapped(reference, "             ");
    text += wrapped("decoded as " + photo.photo->encoding + (photo.lit_by ? "; lit by " + photo.lit_by->name : "; light not named"), "             ");
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

// ΔE00 with the digits its range allows.
std::string difference_figure(double de00, const Interval& ci95) { return fixed(de00, decimals_beside((ci95.high - ci95.low) / 4)); }

std::string step_word(double step, double sd, const char* up, const char* down) {
    if (std::abs(step) <= 2 * sd) return "not sure which way";
    return step > 0 ? up : down;
}

}  // namespace

std::string answer_sentence(const Difference& d, bool tolerance_given) {
    const std::string tolerance = std::string(tolerance_given ? "your" : "the usual") + " tolerance of " + brief(d.tolerance);
    std::string text =
        "The swatch is " + difference_figure(d.de00, d.ci95) + " (" + range(d.ci95.low, d.ci95.high) + ") from the chip: " + d.words + ". ";
    switch (d.verdict) {
        case Verdict::within:
            return text + "Within " + tolerance + ".";
        case Verdict::outside:
            return text + "Outside " + tolerance + ".";
        case Verdict::not_resolved:
            return text + "Not resolved: the photo cannot tell whether that is within " + tolerance + ".";
    }
    return text;
}

std::string light_sentence(const PairUnder& under) {
    std::string text = under.light + ": the pair " + to_word(under.flag) + ", " + difference_figure(under.de00, under.ci95) + " (" +
                       range(under.ci95.low, under.ci95.high) + "), " + to_word(under.kind);
    return text;
}

std::string readings_table(const std::vector<Reading>& readings) {
    Table table({"", "L*", "a*", "b*", "C*", "h°", "LRV", "on screen", "pixels"});
    for (const Reading& reading : readings) {
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

std::string compare_report(const std::vector<CalibratedPhoto>& photos, const Comparison& comparison, bool tolerance_given) {
    const Difference& d = comparison.difference;
    std::string text = wrapped(answer_sentence(d, tolerance_given)) + "\n";

    text += wrapped("CIEDE2000, swatch less chip, as lit in " + photos.front().photo->path + " (" + comparison.lit_by + "):");
    Table steps({"", "step", ""}, {2});
    steps.row({"lightness ΔL*", measured(d.dL, d.dL_sd), step_word(d.dL, d.dL_sd, "lighter", "darker")});
    steps.row({"chroma    ΔC*", measured(d.dC, d.dC_sd), step_word(d.dC, d.dC_sd, "cleaner", "duller")});
    steps.row({"hue       ΔH*", measured(d.dH, d.dH_sd), std::abs(d.dH) <= 2 * d.dH_sd ? "not sure which way" : ""});
    text += steps.text() + "\n" + readings_table({comparison.chip, comparison.swatch}) + "\n";

    if (!d.largest_error.empty()) {
        text += wrapped(
            d.largest_error + (d.budget.empty() ? "" : " (about ±" + fixed(d.budget.front().size, decimals_beside(d.budget.front().size)) + ")"),
            "What limits it  ");
    }
    if (!d.advice.empty()) text += wrapped(d.advice, "What to do      ");
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

std::string spectra_report(const SpectraRequest& request, const std::vector<PairUnderLight>& pairs) {
    const std::string& reference = request.under.front().name;
    // the light under which the pair changes most
    std::size_t worst = 0;
    for (std::size_t i = 1; i < pairs.size(); ++i) {
        if (pairs[i].index_1976 > pairs[worst].index_1976) worst = i;
    }
    std::string first = "The two are " + fixed(pairs.front().de00, 2) + " apart under " + reference;
    if (pairs.size() > 1 && pairs[worst].index_1976 < 0.1) {
        first += "; under the other lights that does not change";
    } else if (worst > 0) {
        first += "; the change is largest under " + request.under[worst].name + ", where they are " + fixed(pairs[worst].de00, 2) +
                 " apart (index of metamerism " + fixed(pairs[worst].index_1976, 2) + ")";
    }
    std::string text = wrapped(first + ".") + "\n";
    Table table({"", "A: L*", "a*", "b*", "B: L*", "a*", "b*", "ΔE00", "index"});
    for (std::size_t i = 0; i < pairs.size(); ++i) {
        const PairUnderLight& pair = pairs[i];
        table.row({printable(request.under[i].name), fixed(pair.a.L, 2), fixed(pair.a.a, 2), fixed(pair.a.b, 2), fixed(pair.b.L, 2),
                   fixed(pair.b.a, 2), fixed(pair.b.b, 2), fixed(pair.de00, 2), i == 0 ? "-" : fixed(pair.index_1976, 2)});
    }
    text += table.text() + "\n";
    text += wrapped("A: " + request.file_a + "; B: " + request.file_b + "; " + observer_words(request.observer) +
                    ". Index: the CIE's special index of metamerism (ΔE*ab) against " + reference + ".");
    return text + wrapped("Computed from the spectra as given. The spread of the measured spectra themselves is unknown to the program: ± unknown.");
}

std::string light_report(const Light& light, Observer observer, const LightQuality& quality) {
    const Xyz white = xyz(light, observer);
    const Xy chromaticity = xy(white);
    const auto known = [&](double value, int decimals) { return quality.cct_valid ? fixed(value, decimals) : std::string("unknown"); };
    std::string text = quality.cct_valid ? light.name + ": " + fixed(quality.cct, 0) + " K, Ra " + fixed(quality.ra, 0) + "."
                                         : light.name + ": not a white light; its CCT means nothing.";
    text = wrapped(text) + "\n";
    Table table({"", "", ""}, {1, 2});
    table.row({"white XYZ", fixed(white.X, 2) + "  " + fixed(white.Y, 2) + "  " + fixed(white.Z, 2), observer_words(observer)});
    table.row({"chromaticity x, y", fixed(chromaticity.x, 4) + "  " + fixed(chromaticity.y, 4)});
    table.row({"CCT", known(quality.cct, 0) + (quality.cct_valid ? " K" : ""), "correlated color temperature"});
    table.row({"Duv", known(quality.duv, 4), "distance from the black body: + greener, - pinker"});
    table.row({"Ra", known(quality.ra, 0), "color rendering index, CIE 13.3 (100 is best)"});
    table.row({"R9", known(quality.r9, 0), "the same for a strong red"});
    table.row({"Rf", known(quality.rf, 0), "color fidelity index, CIE 224 (100 is best)"});
    std::string rows = table.text();
    rows.erase(0, rows.find('\n') + 1);  // this table needs no head
    text += rows + "\n";
    if (light.name.find("led:") != std::string::npos) {
        text += wrapped("A model of an LED lamp with this CCT and Ra. A real lamp of the same figures differs: ± unknown.");
    } else {
        text += wrapped("Computed from the light's spectrum. How far your lamp differs from it: ± unknown.");
    }
    if (!quality.cct_valid) text += wrapped("CCT, Ra and Rf are defined for whitish lights only (within 0.05 of the black body's line).");
    return text;
}

std::string targets_report(const std::vector<Target>& targets, const std::string& verb, const std::string& workbook) {
    if (targets.empty()) return wrapped("No targets in " + workbook + ".");
    std::string text;
    if (verb.empty()) {
        text = wrapped(std::to_string(targets.size()) + (targets.size() == 1 ? " target in " : " targets in ") + workbook + ":");
    } else {
        text = wrapped(verb + " target \"" + targets.front().name + (verb == "Removed" ? "\" from " : "\" in ") + workbook + ":");
    }
    Table table({"", "L*", "a*", "b*", "under", "kind", "on screen", "source"}, {4, 5, 7});
    for (const Target& target : targets) {
        const auto sd = lab_sd(target.lab_covariance);
        table.row({printable(target.name), measured(target.lab.L, sd[0]), measured(target.lab.a, sd[1]), measured(target.lab.b, sd[2]),
                   printable(target.light) + (target.observer == Observer::degree10 ? ", 10°" : ""), to_word(target.kind),
                   hex(screen_color(target.lab).rgb), printable(target.source)});
    }
    return text + "\n" + table.text() + "\n± is one standard deviation.\n";
}

}  // namespace sw
