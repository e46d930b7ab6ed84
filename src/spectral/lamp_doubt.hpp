// What not knowing a lamp's spectrum does to the color of a surface under it.
#pragma once

#include <Eigen/Core>

#include "spectral/bands.hpp"

namespace sw {

/// Lab of the reflectance under each spectrum the light may have (each relative to its own white) less that under the light itself: 3 x number of
/// spectra, no columns where the spectrum is known. The deviations of two surfaces under one lamp belong together, column by column: what both share
/// cancels in a difference.
[[nodiscard]] Eigen::Matrix3Xd lamp_deviations(const Light&, Observer, const ModelSpectrum& reflectance);

/// Covariance of such deviations about 0; zero for none.
[[nodiscard]] Eigen::Matrix3d lamp_covariance(const Eigen::Matrix3Xd& deviations);

}  // namespace sw
