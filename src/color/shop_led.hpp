// A shop LED from the figures on its box.
#pragma once

#include <optional>

#include "color/light.hpp"

namespace sw {

/// What is known of a lamp: a blue emitter under phosphor, perhaps a red emitter beside it. Violet-pumped and three-color lamps are something else.
struct ShopLed {
    static constexpr double kMinCct = 2200, kMaxCct = 8000, kMinRa = 50, kMaxDuv = 0.02, kMinPeak = 420, kMaxPeak = 480;
    double cct = 0;                 // K
    std::optional<double> ra;       // CIE 13.3, as printed on the box
    std::optional<double> duv;      // unknown: near what is usual for its CCT
    std::optional<double> peak_nm;  // of the blue emitter
};

/// The mean spectrum of such lamps, and the spectra such a lamp may have (Light::may_be: 60 of the same Y, >= 0, whose mean is `power`).
///
/// Same figures, same light. Its own CCT is within 0.5 mired (0.4 % at 8000 K), its Ra within 0.5 and its Duv within 0.00025 of the figures given.
/// Each figure is taken as printed, give or take a kernel: 3 mired, Duv 0.0008, Ra 1 (widened where few lamps have it). A box's 80 often means "80 or
/// more, rounded"; it is taken as 80 with that width all the same, and who knows the class's usual figure (82 or 83) does better to name that.
/// Duv not given: near what is usual for the CCT, give or take 0.0025. Ra not given: 82, give or take 6.
/// light_unknown, with what can be reached, where no such lamp has these figures.
///
/// Population: S = g(blue) + a g(phosphor) + b g(red), two-sided Gaussians; shape after Jin et al. 2013, IEEE Photonics J. 5(4). Independent normal
/// parameters (mean, sd; round figures near the medians of 129 measured phosphor LEDs): blue peak 450, 7 nm, left ln 11, 0.25, right ln 13, 0.3;
/// phosphor peak 548, 12 nm, left ln 36, 0.3, right ln 82, 0.25, ln a 0, 0.7; red peak 618, 20 nm, left ln 40, 0.3, right 1.15 times left, ln b -0.6,
/// 1.2. One made-up lamp in three has a narrow red emitter instead (630, 8 nm; ln 8, 0.2; ln b 0.7, 1), and these are taken to be made for their Ra:
/// 92, 5. The others have the R9 that data sheets of their Ra class give: -35 at Ra 72, 12 at 82, 57 at 92, 90 at 97; give or take 15.
/// Share, R9 and usual Ra are common practice, no source. Nothing is fitted to the CIE's LEDs, but the share was chosen (of one in ten, five, four
/// and three) with an eye on LED-BH1, the only one of them that has such an emitter.
///
/// The draws: lamps of the population that have the figures, resampled systematically (negative local linear weights count as 0), set about the mean
/// at a factor of their spread: 0.6 where CCT, Duv and Ra are known, 1 for CCT and Ra, 1.15 for CCT. These made 95 % regions cover 95 % of those 129
/// lamps, each left out, with no red emitters in the population; with them they cover more.
/// Mixing raises Ra, so the draws' own Ra lies below that of their mean: by 1 or 2 at Ra 80, by up to 8 above Ra 88, where lamps with and without a
/// red emitter mix.
///
/// Time: 0.2 s for the first call, which makes the population, then 0.02 s; 0.04 s with a peak.
/// Tests: tests/color/shop_led_test.cpp (the CIE's six phosphor LEDs, coverage).
[[nodiscard]] Result<Light> shop_led(const ShopLed& known);

}  // namespace sw
