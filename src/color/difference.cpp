#include "color/difference.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace sw {
namespace {

constexpr double kDegree = std::numbers::pi / 180;

double chroma(const Lab& color) { return std::hypot(color.a, color.b); }

double hue_degrees(double a, double b) {
    if (a == 0 && b == 0) return 0;
    const double h = std::atan2(b, a) / kDegree;
    return h < 0 ? h + 360 : h;
}

/// The parts of CIEDE2000, each already divided by its weight.
struct Parts2000 {
    double L = 0, C = 0, H = 0, rotation = 0;
};

// Symbols and numbers of Sharma, Wu & Dalal 2005.
Parts2000 parts_2000(const Lab& first, const Lab& second, const Weights& weights) {
    constexpr double kPow25_7 = 6103515625.0;
    const auto pow7 = [](double x) { return x * x * x * x * x * x * x; };
    const double mean_C = (chroma(first) + chroma(second)) / 2;                        // (2), (3)
    const double G = 0.5 * (1 - std::sqrt(pow7(mean_C) / (pow7(mean_C) + kPow25_7)));  // (4)
    const double a1 = (1 + G) * first.a, a2 = (1 + G) * second.a;                      // (5)
    const double C1 = std::hypot(a1, first.b), C2 = std::hypot(a2, second.b);          // (6)
    const double h1 = hue_degrees(a1, first.b), h2 = hue_degrees(a2, second.b);        // (7)

    // Opposite hues to within rounding of atan2 count as 180 degrees apart, not more: the side Sharma et al. print (pair 14).
    constexpr double kHalfTurn = 180 + 1e-10;
    const bool neutral = C1 * C2 == 0;
    double dh = neutral ? 0 : h2 - h1;  // (10)
    if (dh > kHalfTurn) dh -= 360;
    if (dh < -kHalfTurn) dh += 360;
    const double dH = 2 * std::sqrt(C1 * C2) * std::sin(dh / 2 * kDegree);  // (11)

    const double mean_L = (first.L + second.L) / 2, mean_Cp = (C1 + C2) / 2;  // (12), (13)
    double mean_h = h1 + h2;                                                  // (14)
    if (!neutral) {
        if (std::abs(h1 - h2) > kHalfTurn) mean_h += mean_h < 360 ? 360 : -360;
        mean_h /= 2;
    }
    const double T = 1 - 0.17 * std::cos((mean_h - 30) * kDegree) + 0.24 * std::cos(2 * mean_h * kDegree) +
                     0.32 * std::cos((3 * mean_h + 6) * kDegree) - 0.20 * std::cos((4 * mean_h - 63) * kDegree);  // (15)
    const double theta = 30 * std::exp(-((mean_h - 275) / 25) * ((mean_h - 275) / 25));                           // (16)
    const double RC = 2 * std::sqrt(pow7(mean_Cp) / (pow7(mean_Cp) + kPow25_7));                                  // (17)
    const double l50 = (mean_L - 50) * (mean_L - 50);
    const double SL = 1 + 0.015 * l50 / std::sqrt(20 + l50);  // (18)
    const double SC = 1 + 0.045 * mean_Cp;                    // (19)
    const double SH = 1 + 0.015 * mean_Cp * T;                // (20)
    return {(second.L - first.L) / (weights.kL * SL), (C2 - C1) / (weights.kC * SC), dH / (weights.kH * SH),
            -std::sin(2 * theta * kDegree) * RC};  // (21)
}

}  // namespace

double difference_2000(const Lab& reference, const Lab& sample, const Weights& weights) {
    const Parts2000 p = parts_2000(reference, sample, weights);
    const double sum = p.L * p.L + p.C * p.C + p.H * p.H + p.rotation * p.C * p.H;  // (22)
    return sum < 0 ? 0 : std::sqrt(sum);                                            // rounding alone can bring it below 0; NaN passes
}

double difference_1976(const Lab& reference, const Lab& sample) {
    return std::hypot(sample.L - reference.L, sample.a - reference.a, sample.b - reference.b);
}

double difference_1994(const Lab& reference, const Lab& sample, const Weights& weights) {
    const Components d = components(reference, sample);
    const double C = chroma(reference);
    // Not d.dH: it is 0 by convention beside a neutral, the standard's is what is left of the distance.
    const double da = sample.a - reference.a, db = sample.b - reference.b;
    const double dH2 = std::max(0.0, da * da + db * db - d.dC * d.dC);
    const double L = d.dL / weights.kL, c = d.dC / (weights.kC * (1 + 0.045 * C)), S = weights.kH * (1 + 0.015 * C);
    return std::sqrt(L * L + c * c + dH2 / (S * S));
}

double difference_cmc(const Lab& reference, const Lab& sample, double l, double c) {
    const Components d = components(reference, sample);
    const double C = chroma(reference), h = hue_degrees(reference.a, reference.b);
    const double SL = reference.L < 16 ? 0.511 : 0.040975 * reference.L / (1 + 0.01765 * reference.L);
    const double SC = 0.0638 * C / (1 + 0.0131 * C) + 0.638;
    const double T =
        h >= 164 && h <= 345 ? 0.56 + std::abs(0.2 * std::cos((h + 168) * kDegree)) : 0.36 + std::abs(0.4 * std::cos((h + 35) * kDegree));
    const double C4 = C * C * C * C, F = std::sqrt(C4 / (C4 + 1900));
    const double SH = SC * (F * T + 1 - F);
    const double da = sample.a - reference.a, db = sample.b - reference.b;
    const double dH2 = std::max(0.0, da * da + db * db - d.dC * d.dC);
    const double L = d.dL / (l * SL), K = d.dC / (c * SC);
    return std::sqrt(L * L + K * K + dH2 / (SH * SH));
}

Components components(const Lab& reference, const Lab& sample) {
    const double C1 = chroma(reference), C2 = chroma(sample);
    Components d{sample.L - reference.L, C2 - C1, 0};
    if (C1 < 1e-6 || C2 < 1e-6) return d;
    // Angle of the step from cross and dot product: 2 sqrt(C1 C2) sin(angle / 2), ISO/CIE 11664-4.
    const double cross = reference.a * sample.b - reference.b * sample.a, dot = reference.a * sample.a + reference.b * sample.b;
    d.dH = 2 * std::sqrt(C1 * C2) * std::sin(std::atan2(cross, dot) / 2);
    return d;
}

namespace {

// The neighbor a hue step goes to. The axes of CIELAB carry the four names; a hue within 15 degrees of an axis has that name already,
// so its step goes to the next one (a yellow turns redder or greener, not yellower). Common practice, no source.
const char* hue_word(const Lab& reference, const Lab& sample, bool counterclockwise) {
    constexpr std::array<const char*, 4> words{"redder", "yellower", "greener", "bluer"};
    const double h1 = hue_degrees(reference.a, reference.b);
    double step = hue_degrees(sample.a, sample.b) - h1;
    if (step > 180) step -= 360;
    if (step < -180) step += 360;
    constexpr double kHasName = 15;
    double middle = h1 + step / 2 + (counterclockwise ? kHasName : -kHasName);
    middle = std::fmod(middle + 720, 360);
    const int quadrant = std::clamp(static_cast<int>(middle / 90), 0, 3);
    return words[static_cast<std::size_t>(counterclockwise ? (quadrant + 1) % 4 : quadrant)];
}

std::string how_much(double size) { return size < 1 ? "slightly " : size > 3 ? "much " : ""; }

}  // namespace

std::vector<DifferenceStep> difference_steps(const Lab& reference, const Lab& sample, double least) {
    const Parts2000 p = parts_2000(reference, sample, {});
    if (!std::isfinite(p.L + p.C + p.H)) return {};
    std::vector<DifferenceStep> steps{{p.L > 0 ? "lighter" : "darker", std::abs(p.L), p.L > 0 ? 1.0 : -1.0, 0, 0}};
    constexpr double kNearNeutral = 4;
    if (chroma(reference) < kNearNeutral && chroma(sample) < kNearNeutral) {
        // a* counts as in CIEDE2000: by 1 + G, which is 1.5 here to within 0.001; the weights of so small a chroma are 1.
        const double a = 1.5 * (sample.a - reference.a), b = sample.b - reference.b;
        steps.push_back({a > 0 ? "redder" : "greener", std::abs(a), 0, a > 0 ? 1.0 : -1.0, 0});
        steps.push_back({b > 0 ? "yellower" : "bluer", std::abs(b), 0, 0, b > 0 ? 1.0 : -1.0});
    } else {
        const double a = reference.a + sample.a, b = reference.b + sample.b, length = std::max(std::hypot(a, b), 1e-9);
        const double out = (p.C > 0 ? 1 : -1) / length, around = (p.H > 0 ? 1 : -1) / length;
        steps.push_back({p.C > 0 ? "cleaner" : "duller", std::abs(p.C), 0, out * a, out * b});
        steps.push_back({hue_word(reference, sample, p.H > 0), std::abs(p.H), 0, -around * b, around * a});
    }
    std::stable_sort(steps.begin(), steps.end(), [](const DifferenceStep& x, const DifferenceStep& y) { return x.size > y.size; });
    std::erase_if(steps, [least](const DifferenceStep& step) { return step.size < least || step.size <= 0; });
    for (DifferenceStep& step : steps) step.word = how_much(step.size) + step.word;
    return steps;
}

std::string difference_words(const Lab& reference, const Lab& sample, double least) {
    const Parts2000 p = parts_2000(reference, sample, {});
    if (!std::isfinite(p.L + p.C + p.H)) return "unknown";
    std::string text;
    for (const DifferenceStep& step : difference_steps(reference, sample, least)) text += (text.empty() ? "" : ", ") + step.word;
    return text.empty() ? "no visible difference" : text;
}

}  // namespace sw
