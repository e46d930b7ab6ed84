// The grid of the generative model: 380..730 nm, step 5 nm, 71 values. Coarser than color/'s grid and enough for statistics of surfaces and cameras.
#pragma once

#include <Eigen/Core>

#include "color/spectrum.hpp"

namespace sw {

inline constexpr int kModelBands = 71;
using ModelSpectrum = Eigen::Matrix<double, kModelBands, 1>;
using ObserverMatrix = Eigen::Matrix<double, 3, kModelBands>;

[[nodiscard]] inline int model_nm(int band) { return 380 + 5 * band; }
[[nodiscard]] ModelSpectrum on_model_grid(const Bands&);

/// log(R / (1 - R)) of a reflectance, held to 0.003..0.99, and back.
[[nodiscard]] inline ModelSpectrum log_odds(const ModelSpectrum& reflectance) {
    const Eigen::Array<double, kModelBands, 1> c = reflectance.array().max(0.003).min(0.99);
    return (c / (1 - c)).log();
}
[[nodiscard]] inline ModelSpectrum from_log_odds(const ModelSpectrum& z) { return (1 + (-z.array()).exp()).inverse(); }

/// Matrix from a reflectance to XYZ under a light, Y = 1 for the perfect diffuser. Sums at 5 nm over 380..730, scaled per row so that
/// the diffuser has exactly the light's white of color/ (xyz(light, observer) / 100).
[[nodiscard]] ObserverMatrix observer_matrix(const Light&, Observer);

}  // namespace sw
