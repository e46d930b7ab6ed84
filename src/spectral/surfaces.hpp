// What surfaces look like: a library of made-up but believable reflectances, from which every statement about "the surface behind this color" is
// drawn.
#pragma once

#include <Eigen/Core>

#include "spectral/bands.hpp"

namespace sw {

/// 71 bands x count, 0.002..0.99. Paints as Kubelka-Munk mixtures of made-up pigments (five sixths) and mixtures, in K/S, of the published CIE
/// samples and the 24 chart patches (one sixth). Made once from a fixed seed, always the same; about 0.1 s. Sources: Kubelka & Munk 1931, Saunderson
/// 1942 for the physics; CIE 13.3, CIE 224 and ISO 17321-1 samples (assets/cie). The ranges of the generator are our own, checked on reflectances
/// that it has not seen (tests/spectral).
using SurfaceLibrary = Eigen::Matrix<float, kModelBands, Eigen::Dynamic>;
[[nodiscard]] const SurfaceLibrary& surface_library();

/// The 24 chart patches (McCamy, Marcus & Davidson 1976; figures of ISO 17321-1), 71 x 24, patch 1 first.
[[nodiscard]] const Eigen::Matrix<double, kModelBands, 24>& chart_reflectances();
/// "dark skin", ... "black"; patch 0..23.
[[nodiscard]] const char* chart_patch_name(int patch);

}  // namespace sw
