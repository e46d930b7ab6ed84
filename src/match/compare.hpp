// Reading against reading: difference with its interval, verdict, and what other lights do to the pair.
#pragma once

#include <string>
#include <vector>

#include "calibrate/calibration.hpp"
#include "color/difference.hpp"
#include "match/interval.hpp"

namespace sw {

enum class Verdict { within, outside, not_resolved };
enum class Kind { seen, computed, inferred };
enum class Flag { holds, shifts, breaks };

/// One source of doubt about the difference: standard deviation it alone would give, and what shrinks it.
struct ErrorPart {
    std::string name;  // "texture and noise", "uneven light between the two places", "camera is not an eye", "calibration", "tone curve"
    double size = 0;   // in CIEDE2000
    std::string advice;
};

/// The pair as lit in the picture, swatch less chip.
struct Difference {
    double de00 = 0;  // posterior median
    Interval ci95;
    double dL = 0, dC = 0, dH = 0;  // signed, CIE 1976
    double dL_sd = 0, dC_sd = 0, dH_sd = 0;
    std::string words;  // "slightly darker, greener"
    Verdict verdict = Verdict::not_resolved;
    double tolerance = 2;
    std::vector<ErrorPart> budget;  // largest first
    std::string largest_error, advice;
};

struct PairUnder {
    std::string light;
    Kind kind = Kind::inferred;
    double de00 = 0;
    Interval ci95;
    double breaks_probability = 0;  // chance that the difference under this light exceeds the `breaks` threshold
    Interval bounds;                // what physics allows for any surfaces that read like these
    Flag flag = Flag::shifts;       // where de00 lies
    bool flag_sure = false;         // whether all of ci95 lies there
    Lab chip, swatch;               // under this light, for showing
};

struct CompareOptions {
    std::vector<Light> under;  // empty: D65, A, LED-B3
    double tolerance = 2;
    double holds_below = 1, breaks_above = 2;  // thresholds of the flag on de00
    Observer observer = Observer::degree2;
};

struct Comparison {
    Difference difference;
    std::vector<PairUnder> lights;
    Reading chip, swatch;            // under the light the difference is stated for
    std::string lit_by;              // name of that light, or "unknown light"
    std::vector<std::string> notes;  // "one photo under one light cannot see metamerism ..."
};

/// One photo with its calibration and the two regions.
struct PairInPhoto {
    const Photo* photo = nullptr;
    const Calibration* calibration = nullptr;
    Region chip, swatch;
    std::optional<Light> lit_by;
};

/// Seen under the photos' own lights (where named), inferred from all photos together for every other;
/// `difference` is that of the first. Same input, same answer. Errors: region faults.
[[nodiscard]] Result<Comparison> compare(const std::vector<PairInPhoto>& pairs, const CompareOptions& = {});

/// `within` and `outside` only where all of the interval is.
[[nodiscard]] Verdict verdict_of(const Interval&, double tolerance);
[[nodiscard]] std::string to_word(Verdict);  // "within", "outside", "not resolved"
[[nodiscard]] std::string to_word(Kind);
[[nodiscard]] std::string to_word(Flag);

}  // namespace sw
