// Color rendering: the part of CIE 13.3 that is the same for exact sums and quick ones.
#pragma once

#include "color/light.hpp"

namespace sw {

inline constexpr std::size_t kTestSamples = 14, kGeneralSamples = 8;

/// The test color samples of CIE 13.3-1995 under one light, 2 degrees, Y = 100 for the perfect diffuser.
struct SamplesUnderLight {
    Xyz white;
    std::array<Xyz, kTestSamples> sample{};
};

/// R1, R2, ... of the first `count` samples; the others stay 0. Source: CIE 13.3-1995, 5.4 to 5.8.
[[nodiscard]] std::array<double, kTestSamples> special_indices(const SamplesUnderLight& test, const SamplesUnderLight& reference,
                                                               std::size_t count = kTestSamples);

/// Ra: the mean of R1..R8.
[[nodiscard]] double general_index(const std::array<double, kTestSamples>& special);

/// The reference light of CIE 13.3-1995: Planckian below 5000 K, CIE daylight from there on. cct 500..50000 K (above 25000 K as at 25000 K).
[[nodiscard]] Light reference_light_13_3(double cct);

}  // namespace sw
