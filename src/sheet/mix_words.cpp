#include "sheet/mix_words.hpp"

#include <cmath>

#include "sheet/figures.hpp"

namespace sw {

std::string drops_words(double drops) {
    constexpr double kWhole = 0.05;
    const double whole = std::round(drops);
    return (std::abs(drops - whole) < kWhole ? brief(whole) : fixed(drops, 1)) + (std::abs(drops - 1) < kWhole ? " drop" : " drops");
}

std::string addition_words(const KeptAddition& one, const MixBook& book) {
    const KeptPaint* paint = one.paint ? book.paint(*one.paint) : nullptr;
    const std::string name = paint == nullptr ? "" : paint->name;
    if (one.kind == AdditionKind::unknown) return name.empty() ? "something that nobody counted" : "an unknown amount of " + name;
    const bool small = *one.amount < 1;
    std::string amount =
        one.unit == "drops" && !small ? drops_words(*one.amount) : (small ? fixed(*one.amount, 2) : brief(*one.amount)) + " " + one.unit;
    if (one.kind == AdditionKind::taken) return amount + " of the mix taken out";
    constexpr double kUsualSpread = 0.05;
    if (one.explains) amount = "believed: " + fixed(*one.amount, 1) + " ± " + fixed(*one.amount * one.spread.value_or(kUsualSpread), 1) + " drops";
    return amount + " of " + name;
}

std::string laid_words(const KeptPotReading& reading) {
    std::vector<std::string> words;
    if (reading.wet) words.emplace_back("wet");
    if (reading.laid.coat) words.push_back("under a " + to_word(*reading.laid.coat) + " clear coat");
    if (reading.laid.under) words.emplace_back("not hiding");
    if (reading.set_aside) words.emplace_back("set aside");
    return words.empty() ? "" : listed(words);
}

std::string verdict_words(const KeptPotReading& reading) {
    if (!reading.de00 || !reading.ci_low || !reading.ci_high) return reading.wet ? "wet: not judged" : "not judged";
    return fixed(*reading.de00, 1) + " (" + range(*reading.ci_low, *reading.ci_high) + "): " + reading.verdict +
           (reading.tolerance ? " " + brief(*reading.tolerance) : "");
}

std::string minute_words(const std::string& created) { return created.substr(0, 10) + " " + created.substr(11, 5); }

}  // namespace sw
