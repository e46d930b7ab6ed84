// Before and after a clear coat: what the coat did to the color.
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "match/compare.hpp"

namespace sw {

/// After less before. The steps are CIE 1976, with standard deviations.
struct CoatChange {
    Lab before, after;
    double de00 = 0;  // posterior median
    Interval ci95;
    double dL = 0, dC = 0, dH = 0, dL_sd = 0, dC_sd = 0, dH_sd = 0;
    bool distinct = false;           // false: no difference may be claimed
    std::string words;               // "darker, slightly cleaner"
    std::vector<std::string> means;  // what that is in the trade, and what to mix for; a sentence each
};

/// Bare and coated place side by side in one photo: the difference of compare(), chip = bare, swatch = coated.
[[nodiscard]] CoatChange coat_change(const Comparison& bare_and_coated);
/// The same swatch in two photos, each beside the same chip that was not coated: what the two calibrations miss alike cancels against it. Pairs of
/// compare(), chip = that chip.
[[nodiscard]] CoatChange coat_change(const Comparison& before, const Comparison& after);
/// The same swatch in two photos with nothing in common: both readings' whole doubt counts.
[[nodiscard]] CoatChange coat_change(const Reading& before, const Reading& after);

}  // namespace sw
