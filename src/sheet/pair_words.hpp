// A judged pair in words and figures. One place for all doors: what the command prints, the window shows and the page says are the same strings.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "match/compare.hpp"
#include "match/rank.hpp"

namespace sw {

/// "1.9": ΔE00 with the digits that its 95 % range allows.
[[nodiscard]] std::string difference_figure(double de00, const Interval& ci95);
/// "1.9 (1.4 to 2.5)"
[[nodiscard]] std::string figure_with_range(double de00, const Interval& ci95);
/// "The swatch is 1.9 (1.4 to 2.5) from the chip: slightly darker, greener. Outside your tolerance of 1.5."
[[nodiscard]] std::string answer_sentence(const Difference& difference, bool tolerance_given);
/// "Beside that: perceptible (0.8) is outside, chance of more 97 %; acceptable (1.8) not resolved, chance of more 61 %. Half of all observers see, or
/// accept, that much (Paravina et al. 2015)."
[[nodiscard]] std::string thresholds_sentence(const Difference& difference);
/// "D65: the pair breaks, 3.1 (0.8 to 6.2), inferred"
[[nodiscard]] std::string light_sentence(const PairUnder& under);

/// The pair under one light, in words: a rung of the light ladder.
struct LightRung {
    std::string light;         // "LED-B3", or "unknown light"
    std::string known;         // "seen", "computed", "inferred"; where the light has no name "as lit in the photo"
    std::string figure;        // "1.9 (1.4 to 2.5)"
    std::optional<Flag> flag;  // none where the light has no name: it cannot be looked up again
    std::string flag_words;    // "holds", "shifts ?"; with the mark that stands for it before it: see flag_mark
    double de00 = 0;
    Interval ci95;
    Lab chip, swatch;  // relative to the light's white; drawn no farther apart than `de00` says: likely is not the same as read
};
/// First how the pair was looked at (its own light, also where that has no name), then what else was seen, computed, inferred; each kind in the order
/// of the comparison.
[[nodiscard]] std::vector<LightRung> light_ladder(const Comparison& comparison);

/// "Nearest to the chip is A, 0.8 (0.3 to 1.4): chance 97 %." or "Cannot tell which is nearest to the chip: A, 0.8 (0.3 to 1.4), or B, ...", and
/// whether any is within the tolerance; a sentence each. to: "the chip", "the swatch". Ranked as match/rank.hpp has them, nearest first, at least
/// one.
[[nodiscard]] std::vector<std::string> ranking_words(const std::vector<Ranked>& ranked, const std::string& to, double tolerance);
/// "1", or "1=" where others cannot be told from it.
[[nodiscard]] std::string rank_text(const Ranked& ranked);

/// "✓", "~", "✗": a flag has a shape, so that nothing hangs on color.
[[nodiscard]] const char* flag_mark(Flag flag);

}  // namespace sw
