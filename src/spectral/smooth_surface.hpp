// The smoothest surface of a color: one reflectance, without a range, where three numbers are all that is known. Beside the posterior of
// surface_posterior.hpp, which says how far it may be off and is nearer on the average.
#pragma once

#include "spectral/bands.hpp"

namespace sw {

/// Least hyperbolic tangent slope squared (LHTSS): of all reflectances strictly within 0..1 with the given color the one whose
/// artanh(2 R - 1) has the least sum of squared steps between neighboring bands.
///   color    XYZ under `light`, Y = 100 for the perfect diffuser
///   returns  380..730 nm; its XYZ (sums of observer_matrix) within 1e-8 of `color`. Error known_unusable where no surface has the color (outside
///            the optimal-color solid, black and white themselves, not finite) or only one with steps too steep to be solved for in double.
///            Some 0.4 ms.
/// Source: Burns, "Numerical methods for smoothest reflectance reconstruction", Color Res. Appl. 45 (2020); arXiv 1710.05732 (2017), Newton's method
/// with Lagrange multipliers. Test: tests/spectral/smooth_surface_test.cpp
[[nodiscard]] Result<ModelSpectrum> smooth_surface(const Xyz& color, const Light& light, Observer observer);

}  // namespace sw
