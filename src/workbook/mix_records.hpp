// What a workbook keeps of mixing: paints as they were seen, pots, what went into them, how they looked. Schema in DEVELOPERS.md.
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "color/color.hpp"
#include "mix/paint.hpp"

namespace sw {

/// A painted-out sample of a paint: its color, or a measured spectrum.
struct KeptSample {
    double share = 1;  // of the paint by volume, above 0 up to 1: 1 is the masstone; the rest is the paint's white
    Lab lab;           // where there is no spectrum
    Eigen::Matrix3d lab_covariance = Eigen::Matrix3d::Zero();
    std::string light = "D50";
    Observer observer = Observer::degree2;
    std::string spectrum{};  // lines nm,reflectance as they came; empty: a color
    double spectrum_sd = 0.003;
};

/// A paint on the user's shelf, by what is known of it. What follows for mixing is worked out anew each time (paint_shelf.hpp).
struct KeptPaint {
    std::int64_t id = 0;
    std::string name;                         // as a target's
    std::string maker{}, code{}, binder{};    // free text
    Finish finish = Finish::matte;
    std::string pigment{};                    // generic name of the Colour Index; empty: not known
    std::optional<std::int64_t> white{};      // what its tints are let down with
    Drop drop{};
    std::optional<double> density{};          // g/ml
    std::vector<KeptSample> samples{};
    std::string source{}, created{};
};

struct KeptPot {
    std::int64_t id = 0;
    std::string name;                      // as a target's
    std::optional<std::int64_t> target{};  // what it is to become
    bool teaches = true;                   // its readings refine what is believed of the paints
    std::string note{}, created{};
};

/// One thing put into a pot; a pot's are in the order of their ids.
struct KeptAddition {
    std::int64_t id = 0;
    std::int64_t pot = 0, paint = 0;
    double drops = 0;  // above 0
    std::string created{};
};

/// How a dry test piece of a pot looked.
struct PotColor {
    std::int64_t id = 0;
    std::int64_t pot = 0;
    int after = 0;  // how many additions were in it, from 1
    Lab lab;
    Eigen::Matrix3d lab_covariance = Eigen::Matrix3d::Zero();
    std::string light = "D50";
    Observer observer = Observer::degree2;
    std::string source{}, created{};
};

[[nodiscard]] std::string to_word(Finish);
[[nodiscard]] std::optional<Finish> finish(const std::string& word);

/// A paint's samples as the JSON that its row holds, and back. Error (workbook_unreadable): what of it cannot be.
[[nodiscard]] std::string samples_text(const std::vector<KeptSample>&);
[[nodiscard]] Result<std::vector<KeptSample>> samples_of(const std::string& json);

}  // namespace sw
