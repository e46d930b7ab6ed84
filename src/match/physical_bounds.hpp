// What physics allows a pair to do under another light, whatever the two surfaces are made of.
#pragma once

#include <Eigen/Core>

#include "match/interval.hpp"
#include "spectral/mismatch.hpp"

namespace sw {

/// The CIEDE2000 differences possible under `light` for two surfaces of 0..1 that read `chip` and `swatch` (rows * R, scene RGB or XYZ, diffuser =
/// 1).
///   low   valid: no such pair is nearer. 0 where the two bodies of colors meet, and often where they only nearly do
///   high  reached by a pair, searched from the extremes in 98 directions of CIELAB; the very largest is mostly that, at times up to a tenth more
/// A reading that no surface has stands for the nearest that one has. About 1 ms. {0, 0} where a number is not finite.
/// Source: metamer mismatch body, Logvinenko, Funt & Godau 2014, IEEE TIP 23(1); `low` by separating planes. Test:
/// tests/match/physical_bounds_test.cpp
[[nodiscard]] Interval physical_bounds(const SensorRows& rows, const Eigen::Vector3d& chip, const Eigen::Vector3d& swatch, const Light& light,
                                       Observer);

}  // namespace sw
