// From sensed pairs to the answer: figures, interval, verdict, budget, other lights. What compare() does once the regions are read.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "match/compare.hpp"
#include "match/pair_posterior.hpp"

namespace sw {

/// One look at the pair: a photo, or one of several pairs of regions in it.
struct SensedPhoto {
    SensedPair pair;
    std::optional<Light> lit_by;
    std::string name;  // for people: "bench.jpg, swatch at 10,20,30,40"
    bool chart = false, reference = true;
};

/// All of a Comparison but the readings. At least one photo.
[[nodiscard]] Comparison judge(std::vector<SensedPhoto>, const CompareOptions&);

}  // namespace sw
