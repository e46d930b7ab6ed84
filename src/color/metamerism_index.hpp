// Special index of metamerism, change of illuminant.
// Not here: the metamerism index of daylight simulators (ISO/CIE 23603). It needs the standard's own tables of reflectances (five standard specimens
// and their virtual metamers for each daylight, and the fluorescent ones), which are at hand nowhere we may take them from; made-up ones would not be
// it.
#pragma once

#include <string_view>

#include "color/spectrum.hpp"

namespace sw {

/// How what is left of a pair's difference under the reference light is taken out under the test light (1: a, 2: b, r: reference, t: test).
enum class Correction {
    multiplicative,  // X2t * X1r / X2r, the same for Y and Z: the rule of CIE 015 and ISO 18314-4
    additive,        // X2t + (X1r - X2r), the same for Y and Z; has a warning
};

/// What a user must be told beside figures of this correction; empty where there is nothing to tell.
[[nodiscard]] std::string_view correction_warning(Correction);

/// A pair under a test light: Lab relative to that light's white, plain difference, and the index against a reference light: b corrected, then
/// the difference to a. index_1976 is the CIE's, index_2000 the same with CIEDE2000. Finite for every pair, black ones too (a channel in which b is
/// black under the reference light has no ratio and stays as it is).
/// Source: CIE 015:2018 (9.2) and ISO 18314-4. Outside figures: multiplicative, tests/reference/oracle_metamerism.csv; additive, none found: held by
/// a case worked by hand in tests/color/metamerism_index_test.cpp.
struct PairUnderLight {
    Lab a, b;
    double de00 = 0, index_1976 = 0, index_2000 = 0;
};
[[nodiscard]] PairUnderLight pair_under_light(const Reflectance& a, const Reflectance& b, const Light& reference, const Light& test, Observer,
                                              Correction = Correction::multiplicative);

}  // namespace sw
