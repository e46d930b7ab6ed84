// Special index of metamerism, change of illuminant.
#pragma once

#include "color/spectrum.hpp"

namespace sw {

/// A pair under a test light: Lab relative to that light's white, plain difference, and the index against a reference light:
/// XYZ of b under the test light times XYZ_a/XYZ_b under the reference light, channel by channel (multiplicative correction), then
/// the difference to a. index_1976 is the CIE's, index_2000 the same with CIEDE2000.
/// Source: CIE 015:2018 (9.2) and ISO 18314-4. Test: tests/reference/oracle_metamerism.csv
struct PairUnderLight {
    Lab a, b;
    double de00 = 0, index_1976 = 0, index_2000 = 0;
};
[[nodiscard]] PairUnderLight pair_under_light(const Reflectance& a, const Reflectance& b, const Light& reference, const Light& test, Observer);

}  // namespace sw
