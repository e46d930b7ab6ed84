// A shop LED from the figures on its box.
#pragma once

#include <optional>

#include "color/light.hpp"

namespace sw {

/// What is known of a lamp: a blue emitter under phosphor. Violet-pumped and three-color lamps are something else.
struct ShopLed {
    static constexpr double kMinCct = 2200, kMaxCct = 8000, kMinRa = 50, kMaxDuv = 0.02, kMinPeak = 420, kMaxPeak = 480;
    double cct = 0;                 // K
    std::optional<double> ra;       // CIE 13.3, as printed on the box
    std::optional<double> duv;      // unknown: near what is usual for its CCT
    std::optional<double> peak_nm;  // of the blue emitter
};

/// The mean spectrum of such lamps: made-up lamps of a stated population, weighted by how well they fit the figures. Same figures, same light.
/// light_unknown, with what can be reached, where no such lamp has these figures. Its own CCT is within 2 % and its Ra within 4 of those asked for.
/// Population: S = g(blue) + a g(phosphor) + b g(red), two-sided Gaussians with independent normal parameters (round figures near the medians of
/// 129 measured phosphor LEDs): see the .cpp. Shape after Jin et al. 2013, IEEE Photonics J. 5(4).
[[nodiscard]] Result<Light> shop_led(const ShopLed& known);

}  // namespace sw
