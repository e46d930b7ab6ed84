// Reading against reading: difference with its interval, verdict, and what other lights do to the pair.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "calibrate/calibration.hpp"
#include "color/difference.hpp"
#include "match/interval.hpp"

namespace sw {

enum class Verdict { within, outside, not_resolved };
enum class Kind { seen, computed, inferred };
enum class Flag { holds, shifts, breaks };

/// Half of all observers see, or accept, a difference of this size: Paravina et al. 2015, J. Esthet. Restor. Dent. 27 S1 (tooth colors, 175
/// observers in a booth; CIEDE2000). No study of painted models is known.
inline constexpr double kPerceptible = 0.8, kAcceptable = 1.8;

/// One source of doubt about the difference: how far it alone would spread it, what shrinks it, and by how much at most.
struct ErrorPart {
    std::string name;  // "grain and texture", "uneven light between chip and swatch", "color calibration of the camera" ...
    double size = 0;   // standard deviation in CIEDE2000
    std::string advice;
    Interval ci95_without;  // the range as it would be if this part were gone
};

/// One direction of the difference, and how sure its sign is.
struct Direction {
    std::string word;   // "slightly darker"
    double chance = 0;  // 0.5..1
};
inline constexpr double kDirectionSure = 0.975, kDirectionPerhaps = 0.8;

/// The tolerances that have a name.
inline constexpr std::array<std::pair<const char*, double>, 2> kThresholds{{{"perceptible", kPerceptible}, {"acceptable", kAcceptable}}};
[[nodiscard]] std::optional<double> threshold_named(std::string_view name);  // in CIEDE2000
/// One of them, beside the user's own.
struct Threshold {
    std::string name;  // "perceptible", "acceptable"
    double de00 = 0;
    Verdict verdict = Verdict::not_resolved;
    double chance_beyond = 0;
};

/// The pair as lit in the picture, swatch less chip.
struct Difference {
    double de00 = 0;  // posterior median
    Interval ci95;
    double dL = 0, dC = 0, dH = 0;  // signed, CIE 1976
    double dL_sd = 0, dC_sd = 0, dH_sd = 0;
    std::string words;                  // "slightly darker, perhaps greener": what is sure of 97.5 %, and what of 80 %
    std::vector<Direction> directions;  // largest first
    Verdict verdict = Verdict::not_resolved;
    double tolerance = 2, chance_beyond = 0;  // chance that the difference is larger than the tolerance
    std::vector<Threshold> thresholds;        // kPerceptible, kAcceptable
    bool textured = false;                    // lightness counted half
    std::vector<ErrorPart> budget;            // largest first
    std::string largest_error, advice;
};

/// What a second photo under a light would tell about the lights asked for, as expected before it is taken.
struct SecondLight {
    std::string light, where;  // "D65", "daylight at a window"
    double sd = 0;             // what would be left of `Comparison::elsewhere_sd`
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
    bool textured = false;                     // kL = 2 for textured surfaces, as ISO/CIE 11664-6 allows and the textile trade does (from memory)
    Observer observer = Observer::degree2;
};

struct Comparison {
    Difference difference;
    std::vector<PairUnder> lights;
    Reading chip, swatch;            // under the light the difference is stated for
    std::string lit_by;              // name of that light, or "unknown light"
    std::vector<std::string> notes;  // "one photo under one light cannot see metamerism ..."
    double elsewhere_sd = 0;         // doubt of the difference under the lights asked for but not seen, CIEDE2000, root mean square; 0: none asked
    std::vector<SecondLight> second_light;  // one photo only: what another would bring, best first
    bool unusual = false;                   // a photo read otherwise than the others let expect: an unusual spectrum; photos are trusted
};

/// One photo with its calibration and the two regions.
struct PairInPhoto {
    const Photo* photo = nullptr;
    const Calibration* calibration = nullptr;
    Region chip, swatch;
    std::optional<Light> lit_by;
};

/// Seen under the photos' own lights (where named), inferred from all photos together for every other; photos under the same named light, or several
/// regions of one photo, count as repeats: what is random in them averages out, what they share does not, an odd one is named and kept.
/// `difference` is that of the first photo and its repeats. Same input, same answer. Errors: region faults.
[[nodiscard]] Result<Comparison> compare(const std::vector<PairInPhoto>& pairs, const CompareOptions& = {});

/// `within` and `outside` only where all of the interval is.
[[nodiscard]] Verdict verdict_of(const Interval&, double tolerance);
[[nodiscard]] std::string to_word(Verdict);  // "within", "outside", "not resolved"
[[nodiscard]] std::string to_word(Kind);
[[nodiscard]] std::string to_word(Flag);

}  // namespace sw
