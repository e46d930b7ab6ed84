// What physics allows: which colors a surface can have, and which it can have under another light when it looks like this under the first.
// Both are linear programs in the reflectance: 71 values of 0..1 and at most three equations.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <vector>

#include "spectral/bands.hpp"

namespace sw {

using SensorRows = Eigen::Matrix<double, 3, kModelBands>;

/// The reflectance, 0..1 in every band, that maximizes weight * R among those with rows * R = seen; nullopt where there is none.
/// A bounded simplex of three rows, exact to rounding. Source: Dantzig 1955 (upper bounds in the simplex method). Test: against an outside solver.
[[nodiscard]] std::optional<ModelSpectrum> extreme_surface(const SensorRows& rows, const Eigen::Vector3d& seen, const ModelSpectrum& weight);

/// Extreme XYZ (Y = 1 for the diffuser) under `target` of all reflectances 0..1 with rows * R = seen (scene RGB or XYZ, diffuser = 1), one for each
/// of `directions` spread evenly over the sphere. A footnote for what physics allows, never an interval. Empty where no surface can read like that.
/// Source: metamer mismatch body, Logvinenko, Funt & Godau 2014, IEEE TIP 23(1).
[[nodiscard]] std::vector<Eigen::Vector3d> mismatch_extremes(const SensorRows& rows, const Eigen::Vector3d& seen, const ObserverMatrix& target,
                                                             int directions = 14);

/// Whether a non-fluorescent surface can have this color under that light: inside the optimal-color solid (Schroedinger 1920, MacAdam 1935).
/// color: XYZ, Y = 100 for the diffuser; judged at 5 nm, so colors within some 0.2 % of the boundary may fall on either side.
[[nodiscard]] bool can_be_surface(const Xyz& color, const Light&, Observer);

}  // namespace sw
