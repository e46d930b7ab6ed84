// What a workbook keeps of mixing: paints, what was seen of them, pots, what went into them, how they looked. Schema in DEVELOPERS.md.
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "color/color.hpp"
#include "mix/paint.hpp"

namespace sw {

/// A paint of the user's. What follows for mixing is worked out anew each time (paint_shelf.hpp).
struct KeptPaint {
    std::int64_t id = 0;
    std::string name;                            // as a target's
    std::string maker{}, code{}, binder{};       // free text, may be empty
    std::optional<Finish> finish{};              // nothing: not said
    std::string pigments{};                      // generic names of the Colour Index with blanks between; empty: not known
    bool white = false;                          // said to be the shelf's white
    bool on_shelf = true;                        // false: used up or given away; pots still name it
    std::optional<double> drop_ml{}, drop_cv{};  // nothing: not said
    std::optional<double> density{};             // g/ml
    std::optional<double> bottle_ml{}, price{};  // a full bottle, and what it costs in the user's money
    std::optional<double> stock_ml{};            // what was left of it ...
    std::string stock_said{};                    // ... at this time
    std::string note{}, source{}, created{};
};

/// How a coat was laid that was read.
struct CoatLaid {
    std::optional<double> film_um{}, film_cv{};  // dry thickness, and its spread over its size
    std::optional<Lab> under{};                  // ground or undercoat, D50, 2 degrees; nothing: it is hidden
    std::optional<Finish> coat{};                // clear coat over it
    friend bool operator==(const CoatLaid&, const CoatLaid&);
};

/// A painted-out sample of a paint.
struct KeptSample {
    std::int64_t id = 0;
    std::int64_t paint = 0;
    double share = 1;                     // of the paint by volume, above 0 up to 1: 1 is the masstone
    std::optional<std::int64_t> white{};  // what the rest is; nothing: the shelf's white
    Lab lab;
    Eigen::Matrix3d lab_covariance = Eigen::Matrix3d::Zero();
    std::string light = "D50";
    Observer observer = Observer::degree2;
    std::string spectrum{};  // lines nm,reflectance as they came, and then Lab is of it; empty: none
    std::optional<double> spectrum_sd{};
    std::optional<std::int64_t> film{};  // samples of one number are one film
    CoatLaid laid{};
    bool set_aside = false;                 // kept, not counted
    std::optional<std::int64_t> reading{};  // where the color came from
    std::string source{}, created{};
};

struct KeptPot {
    std::int64_t id = 0;
    std::string name;                        // as a target's
    std::optional<std::int64_t> target{};    // what it is to become
    std::optional<std::int64_t> batch_of{};  // an earlier pot that it is to look like
    std::optional<double> tolerance{};       // CIEDE2000
    std::vector<std::string> lights{};       // LIGHT strings, the one to match under first
    bool teaches = true;                     // its readings refine what is believed of the paints
    std::string note{}, created{};
};

enum class AdditionKind { paint, unknown, taken };  // unknown: nobody counted; taken: some of the mix was taken out
/// One thing put into a pot, or taken out.
struct KeptAddition {
    std::int64_t id = 0;
    std::int64_t pot = 0;
    std::int64_t number = 0;  // in the pot, from 1 in the order of time; given when it is added
    AdditionKind kind = AdditionKind::paint;
    std::optional<std::int64_t> paint{};
    std::optional<double> amount{};          // as it was said; nothing: unknown
    std::string unit{};                      // "drops", "ml", "g"; empty: unknown
    std::optional<double> ml{};              // what that was reckoned to be
    std::optional<double> spread{};          // of it over its size; nothing: as the paint's drops
    std::optional<std::int64_t> explains{};  // the unknown one that this is believed to have been
    std::string note{}, created{};
};

/// How a test piece of a pot looked.
struct KeptPotReading {
    std::int64_t id = 0;
    std::int64_t pot = 0, addition = 0;  // addition: the last that was in it
    Lab lab;
    Eigen::Matrix3d lab_covariance = Eigen::Matrix3d::Zero();
    std::string light = "D50";
    Observer observer = Observer::degree2;
    bool wet = false;  // then neither judged nor learned from
    CoatLaid laid{};
    std::optional<double> de00{}, ci_low{}, ci_high{}, tolerance{};  // against the pot's target; nothing: not judged
    std::string verdict{};
    bool set_aside = false;
    std::optional<std::int64_t> reading{};
    std::string source{}, created{};
};

[[nodiscard]] std::string to_word(Finish);
[[nodiscard]] std::optional<Finish> finish(const std::string& word);
[[nodiscard]] std::string to_word(AdditionKind);
[[nodiscard]] std::optional<AdditionKind> addition_kind(const std::string& word);
/// The names of a paint's pigments, one by one.
[[nodiscard]] std::vector<std::string> pigments_of(const std::string& text);

/// The id of what was put in last, explanations of earlier things not counted; nothing: the pot is empty. additions: of one pot.
[[nodiscard]] std::optional<std::int64_t> last_put_in(const std::vector<KeptAddition>& additions);
/// A pot's additions in the order in which they are to be read: what explains an unknown one stands right behind it.
[[nodiscard]] std::vector<KeptAddition> additions_of(const std::vector<KeptAddition>& all, std::int64_t pot);

}  // namespace sw
