// What follows from not knowing a light's spectrum: the spread of its white, and of a pair's difference, over the spectra it may have
// (Light::may_be). Both surfaces are known here; what is not is the lamp.
#pragma once

#include <optional>

#include "color/light.hpp"
#include "color/metamerism_index.hpp"
#include "match/interval.hpp"

namespace sw {

/// Standard deviations of a light's white (Y = 100) and its chromaticities; all 0 for a light whose spectrum is known.
struct WhiteSd {
    Xyz xyz;
    Xy xy;
    UvPrime uv;
};
[[nodiscard]] WhiteSd white_sd(const Light&, Observer);

/// The figures of pair_under_light: 95 % ranges; standard deviations of the two Lab.
struct PairRange {
    Interval de00, index_1976, index_2000;
    Lab a_sd, b_sd;
};
/// Over the spectra that the two lights may have, drawn independently unless they are the same light by name. nullopt: both are known.
/// Central 95 % of the draws, between them linearly. Test: tests/match/doubtful_light_test.cpp
[[nodiscard]] std::optional<PairRange> pair_range(const Reflectance& a, const Reflectance& b, const Light& reference, const Light& test, Observer,
                                                  Correction = Correction::multiplicative);

}  // namespace sw
