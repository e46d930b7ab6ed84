#include "sheet/words.hpp"

#include <array>
#include <cmath>

namespace sw {
namespace {

// "12 ± 17"; "80" where it is exact.
std::string whole(double value, double sd) {
    return std::to_string(std::lround(value)) + (sd > 0 ? " ± " + (sd < 0.5 ? std::string("<1") : std::to_string(std::lround(sd))) : "");
}

// "", or "perhaps " where the figure is so near the threshold that its doubt reaches across.
std::string perhaps(double value, double threshold, double sd) { return std::abs(value - threshold) < 1.64 * sd ? "perhaps " : ""; }

}  // namespace

std::string light_words(const LightQuality& q, const LightQuality& sd) {
    if (!q.cct_valid) return "Not a white light: its CCT means nothing.";
    std::string text = q.cct < 2000    ? "Orange light"
                       : q.cct < 3300  ? "Warm white"
                       : q.cct <= 5300 ? "Neutral white"
                       : q.cct <= 8000 ? "Cool white"
                                       : "Bluish white";
    const double side = std::abs(q.duv);
    if (side > 0.006) {
        text += ", " + perhaps(side, 0.006, sd.duv) + (side > 0.012 ? "" : "a bit ") + (q.duv > 0 ? "greenish" : "pinkish");
    }
    if (q.cct < 2000) return text + ": everything takes its color, whatever its Ra (" + whole(q.ra, sd.ra) + ").";
    struct Step {
        double least;
        const char* word;
    };
    constexpr std::array<Step, 4> kSteps{{{90, "right"}, {80, "fairly right"}, {60, "not quite right"}, {-1e9, "wrong"}}};
    std::size_t step = 0;
    while (q.ra < kSteps[step].least) ++step;
    // half a point of slack: what is printed as 80 is called by the name of 80
    if (step > 0 && std::lround(q.ra) >= std::lround(kSteps[step - 1].least)) --step;
    text += ". Colors look " + std::string(kSteps[step].word) + " under it (Ra " + whole(q.ra, sd.ra) + ")";
    if (q.r9 < 50) {
        const bool stronger = q.rg > 102;  // then a low R9 says that reds are too strong or shifted, not weak
        text += "; reds look " + perhaps(q.r9, 50, sd.r9) + (q.r9 < 0 ? (stronger ? "far off" : "very dull") : (stronger ? "off" : "dull")) +
                " (R9 " + whole(q.r9, sd.r9) + ")";
    }
    return text + ".";
}

std::string color_words(const Lab& color) {
    const Lch polar = lch(color);
    if (!std::isfinite(polar.L) || !std::isfinite(polar.C)) return "Unknown";
    if (polar.C < 4) {
        if (polar.L < 12) return "Black";
        if (polar.L > 95) return "White";
        const char* depth = polar.L < 25 ? "Very dark " : polar.L < 45 ? "Dark " : polar.L < 60 ? "Medium " : polar.L < 80 ? "Light " : "Very light ";
        return std::string(depth) + "gray" + (polar.C < 1 ? "" : ", nearly neutral");
    }
    const char* depth = polar.L < 20 ? "Very dark" : polar.L < 40 ? "Dark" : polar.L < 60 ? "Medium" : polar.L < 80 ? "Light" : "Very light";
    const char* strength = polar.C < 12 ? "grayish" : polar.C < 35 ? "muted" : polar.C < 60 ? "clear" : "vivid";
    struct Hue {
        double below;
        const char* word;
    };
    constexpr std::array<Hue, 10> kHues{{{18, "purplish red"},
                                         {48, "red"},
                                         {75, "orange"},
                                         {100, "yellow"},
                                         {130, "yellow green"},
                                         {175, "green"},
                                         {225, "blue green"},
                                         {292, "blue"},
                                         {335, "purple"},
                                         {361, "purplish red"}}};
    std::size_t at = 0;
    while (at + 1 < kHues.size() && polar.h >= kHues[at].below) ++at;
    std::string hue = kHues[at].word;
    if (polar.L >= 65 && hue.ends_with("red")) hue.replace(hue.size() - 3, 3, "pink");
    std::string text = std::string(depth) + ", " + strength + " " + hue;
    if (polar.L < 50 && polar.h >= 35 && polar.h < 85) text += " (brown)";
    if (polar.L < 65 && polar.h >= 85 && polar.h < 125) text += " (olive)";
    return text;
}

}  // namespace sw
