// From what has been read to what is believed of the paints: the same update for a new paint's samples and for the swatches of mixes.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "mix/paint.hpp"
#include "mix/pigment.hpp"

namespace sw {

/// What was read of a coat: a color, or a spectrum.
struct ColorRead {
    Sight sight;
    Lab lab;                     // relative to the sight's white
    Eigen::Matrix3d covariance;  // of Lab
};
struct SpectrumRead {
    ModelSpectrum reflectance;
    double sd = 0.003;  // of the reflectance at each band, > 0
};

/// A painted-out sample of a paint that is being put on the shelf.
struct PaintSample {
    double share = 1;  // of the paint by volume, above 0 up to 1 (masstone); the rest is the shelf's white
    std::optional<ColorRead> color;
    std::optional<SpectrumRead> spectrum;  // one of the two
    /// Drawdown: samples of one film number >= 0 have one thickness, known to be near `coat.thickness` by this factor's logarithm.
    int film = -1;
    double film_sd = 0.3;
    Coat coat;
};

/// What is known of it beside its samples.
struct PaintStart {
    Paint paint;  // name to drop; k, s and doubt are not looked at
    PigmentClass pigment = PigmentClass::any;
};

/// The shelf with one paint more. The first paint is the shelf's white: its S is 1 by definition, its pigment is taken as white. Belief: Gaussian in
/// ln K and ln S, begun from the members of the class that look like the masstone (with no masstone, all), brought to the samples by Gauss-Newton,
/// with the covariance there (Laplace). What the white is not known by enters each paint that was let down with it, and the spread remembers that.
/// A masstone alone, by its color, leaves how strong the paint is almost open, and the doubts say so.
/// Two constants from a masstone and tints: Walowit, McCarthy & Berns 1987, Color Res. Appl. 12, 340 (there without a prior, by least squares).
/// Faults: table_malformed (share, reflectance, spread or color out of range; a white with a tint).
/// Tests: tests/mix/belief_test.cpp, tests/mix/paints_study.cpp
[[nodiscard]] Result<Shelf> with_paint(const Shelf&, const PaintStart&, const std::vector<PaintSample>&);

/// k1 lowered, where needed, to 0.98 of the lowest value of any masstone, so that none reads below its own surface; k2 kept.
[[nodiscard]] PaintSurface fitted_surface(const std::vector<ModelSpectrum>& masstones, PaintSurface start = {});

/// A paint as wrong in strength as this: K and S together, by the logarithm's spread.
void doubt_strength(Paint&, double sd);

}  // namespace sw
