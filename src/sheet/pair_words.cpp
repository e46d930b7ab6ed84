#include "sheet/pair_words.hpp"

#include <algorithm>
#include <tuple>
#include <utility>

#include "color/difference.hpp"
#include "sheet/figures.hpp"

namespace sw {

std::string difference_figure(double de00, const Interval& ci95) { return fixed(de00, decimals_beside((ci95.high - ci95.low) / 4)); }

std::string figure_with_range(double de00, const Interval& ci95) { return difference_figure(de00, ci95) + " (" + range(ci95.low, ci95.high) + ")"; }

namespace {

const Ranked& likeliest(const std::vector<Ranked>& ranked) {
    return *std::max_element(ranked.begin(), ranked.end(), [](const Ranked& a, const Ranked& b) { return a.nearest < b.nearest; });
}

}  // namespace

std::string answer_sentence(const Difference& d, bool tolerance_given) {
    const std::string tolerance = std::string(tolerance_given ? "your" : "the usual") + " tolerance of " + brief(d.tolerance);
    std::string text = "The swatch is " + figure_with_range(d.de00, d.ci95) + " from the chip: " + d.words + ". ";
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
    std::string text =
        under.light + ": the pair " + to_word(under.flag) + ", " + figure_with_range(under.de00, under.ci95) + ", " + to_word(under.kind);
    return text;
}

std::string rank_text(const Ranked& ranked) { return std::to_string(ranked.rank) + (ranked.tied ? "=" : ""); }

std::string thresholds_sentence(const Difference& d) {
    std::string text = "Beside that: ";
    for (const Threshold& t : d.thresholds)
        text += t.name + " (" + brief(t.de00) + ") " + (t.verdict == Verdict::not_resolved ? "" : "is ") + to_word(t.verdict) + ", chance of more " +
                percent(t.chance_beyond) + "; ";
    text.replace(text.size() - 2, 2, ".");
    return text + " Half of all observers see, or accept, that much (Paravina et al. 2015)." +
           (d.textured ? " Textured: lightness counts half." : "");
}

std::vector<std::string> ranking_words(const std::vector<Ranked>& ranked, const std::string& to, double tolerance) {
    const auto named = [](const Ranked& r) { return r.name + ", " + figure_with_range(r.de00, r.ci95); };
    std::vector<std::string> words;
    const Ranked& first = ranked.front();
    std::vector<std::string> rivals;
    for (const Ranked& r : ranked) {
        if (r.rank == 1) rivals.push_back(named(r));
    }
    if (rivals.size() == 1) {
        words.push_back((ranked.size() == 1 ? "" : "Nearest to " + to + " is ") + named(first) +
                        (ranked.size() == 1 ? " from " + to + "." : ": chance " + percent(first.nearest) + "."));
    } else {
        std::string list;
        for (std::size_t i = 0; i < rivals.size() && i < 5; ++i) list += (i == 0 ? "" : i + 1 == rivals.size() ? "; or " : "; ") + rivals[i];
        if (rivals.size() > 5) list += "; or one of " + std::to_string(rivals.size() - 5) + " more";
        words.push_back("Cannot tell which is nearest to " + to + ": " + list + ". Likeliest is " + likeliest(ranked).name + ", chance " +
                        percent(likeliest(ranked).nearest) + ".");
    }
    std::vector<std::string> within;
    bool open = false;
    for (const Ranked& r : ranked) {
        if (r.verdict == Verdict::within) within.push_back(r.name);
        open = open || r.verdict == Verdict::not_resolved;
    }
    if (!within.empty())
        words.push_back(listed(within) + (within.size() == 1 ? " is" : " are") + " within the tolerance of " + brief(tolerance) + ".");
    else
        words.push_back((open ? "Whether any is within the tolerance of " : "None is within the tolerance of ") + brief(tolerance) +
                        (open ? " is not resolved." : "."));
    return words;
}

const char* flag_mark(Flag flag) {
    switch (flag) {
        case Flag::holds:
            return "\u2713";
        case Flag::shifts:
            return "~";
        case Flag::breaks:
            return "\u2717";
    }
    return "";
}

namespace {

/// Moves both toward their middle until they are as far apart as the figure says. What was read may lie farther apart: where little is known, a small
/// difference is likelier than the one read.
void draw_together(LightRung& rung) {
    const Lab chip = rung.chip, swatch = rung.swatch;
    const auto at = [&](double share) {
        const double k = (1 - share) / 2;
        const auto toward = [&](const Lab& from, const Lab& to) {
            return Lab{from.L + k * (to.L - from.L), from.a + k * (to.a - from.a), from.b + k * (to.b - from.b), from.white};
        };
        return std::pair{toward(chip, swatch), toward(swatch, chip)};
    };
    double low = 0, high = 1;
    if (difference_2000(chip, swatch) <= rung.de00) return;
    for (int step = 0; step < 20; ++step) {
        const double share = (low + high) / 2;
        const auto [a, b] = at(share);
        (difference_2000(a, b) > rung.de00 ? high : low) = share;
    }
    std::tie(rung.chip, rung.swatch) = at(low);
}

}  // namespace

std::vector<LightRung> light_ladder(const Comparison& c) {
    std::vector<LightRung> rungs;
    for (const PairUnder& under : c.lights)
        rungs.push_back({under.light, to_word(under.kind), figure_with_range(under.de00, under.ci95), under.flag,
                         to_word(under.flag) + (under.flag_sure ? "" : " ?"), under.de00, under.ci95, under.chip, under.swatch});
    const auto order = [](const LightRung& rung) { return rung.known == "seen" ? 0 : rung.known == "computed" ? 1 : 2; };
    std::stable_sort(rungs.begin(), rungs.end(), [&](const LightRung& a, const LightRung& b) { return order(a) < order(b); });
    const Difference& d = c.difference;
    const bool named = std::any_of(rungs.begin(), rungs.end(), [&](const LightRung& rung) { return rung.known == "seen" && rung.light == c.lit_by; });
    if (!named)
        rungs.insert(rungs.begin(), {c.lit_by, "as lit in the photo", figure_with_range(d.de00, d.ci95), std::nullopt, "", d.de00, d.ci95, c.chip.lab,
                                     c.swatch.lab});
    for (LightRung& rung : rungs) draw_together(rung);
    return rungs;
}

}  // namespace sw
