// Color differences. All Lab of one call: one white and observer. L* 0..100, a* and b* any finite value.
#pragma once

#include <string>
#include <vector>

#include "color/color.hpp"

namespace sw {

struct Weights {
    double kL = 1, kC = 1, kH = 1;  // > 0, no unit
};

/// CIEDE2000 color difference, >= 0, symmetric, NaN if an input is NaN. Not continuous where hues lie 180 degrees apart: exactly opposite hues
/// (to 1e-10 degrees) take the side printed by Sharma et al. (pair 14: 4.8045, not 4.7461).
/// Source: ISO/CIE 11664-6:2022; branches from Sharma, Wu & Dalal 2005, Color Res. Appl. 30(1), eqs (10), (14).
/// Tests: the 34 published pairs (ciede2000_pairs.csv), oracle_differences.csv, outside_python.csv (weights too), Little CMS.
[[nodiscard]] double difference_2000(const Lab& reference, const Lab& sample, const Weights& weights = {});
/// CIE 1976 (ISO/CIE 11664-4). Tests: oracle_differences.csv, outside_python.csv.
[[nodiscard]] double difference_1976(const Lab& reference, const Lab& sample);
/// CIE 1994, graphic arts constants, chroma of the reference: not symmetric. Source: CIE 116-1995.
/// Tests: oracle_differences.csv, outside_python.csv. A worked example of the paper: none found.
[[nodiscard]] double difference_1994(const Lab& reference, const Lab& sample, const Weights& weights = {});
/// CMC(l:c), not symmetric; l, c > 0. Source: BS 6923:1988 / ISO 105-J03; Clarke, McDonald & Rigg 1984, J. Soc. Dyers Colour. 100, 128.
/// Tests: oracle_differences.csv, outside_python.csv, Little CMS. A worked example of the standard: none found.
[[nodiscard]] double difference_cmc(const Lab& reference, const Lab& sample, double l = 2, double c = 1);

/// Signed CIE 1976 components (ISO/CIE 11664-4; tests: oracle_differences.csv), sample less reference; dH has the sign of the hue step
/// (counterclockwise +), 0 if either is neutral (C* < 1e-6).
struct Components {
    double dL = 0, dC = 0, dH = 0;
};
[[nodiscard]] Components components(const Lab& reference, const Lab& sample);

/// In words, the sample against the reference, largest first, each with how much: "much darker, greener, slightly duller". Scale, in
/// CIEDE2000-weighted size: below 1 "slightly", above 3 "much". Components smaller than `least` are left out; all left out gives "no visible
/// difference". Chroma: cleaner, duller. The hue word is the neighbor the step goes to (redder 0, yellower 90, greener 180, bluer 270 degrees; a hue
/// within 15 degrees of one of these has that name already and goes to the next). For near-neutral colors (C* < 4 for both) a shift is named by its
/// a*, b* direction instead. The words are those of the trade (ASTM D2244); scale and 15 degrees: our own.
/// "unknown" if an input is not finite. Each word for itself: difference_steps.
[[nodiscard]] std::string difference_words(const Lab& reference, const Lab& sample, double least = 0.3);

/// The direction a word speaks of, a unit vector in L*, a*, b* at the middle of the two colors, toward the sample; size: CIEDE2000-weighted, > 0.
struct DifferenceStep {
    std::string word;  // "slightly darker"
    double size = 0;
    double L = 0, a = 0, b = 0;
};
/// Those that difference_words names, largest first; none if an input is not finite.
[[nodiscard]] std::vector<DifferenceStep> difference_steps(const Lab& reference, const Lab& sample, double least = 0.3);

}  // namespace sw
