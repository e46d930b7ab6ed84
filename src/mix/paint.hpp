// Paints as absorption and scattering, each a belief; what a mix of them looks like.
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "color/color.hpp"
#include "color/light.hpp"
#include "spectral/bands.hpp"
#include "spectral/kubelka_munk.hpp"

namespace sw {

struct Drop {
    double ml = 0.05;  // > 0
    double cv = 0.05;  // spread of what one addition of this paint brings, over its size; 5 % is common practice, no source
};

enum class Finish { matte, satin, gloss };

/// K and S a unit of volume, the shelf's white having S = 1; both >= 0, never both 0 in a band.
struct Paint {
    std::string name, maker, code, binder;  // free text
    Finish finish = Finish::matte;
    Drop drop;
    ModelSpectrum k = ModelSpectrum::Zero(), s = ModelSpectrum::Ones();
    /// Doubts, independent of each other: each column one standard deviation of ln K (71 rows), then of ln S (71 rows). Covariance = doubt * doubt^T.
    Eigen::MatrixXd doubt = Eigen::MatrixXd(2 * kModelBands, 0);
};

struct Shelf {
    std::vector<Paint> paints;
    PaintSurface surface;
};

struct Part {
    int paint = 0;  // on the shelf
    int drops = 0;
    friend bool operator==(const Part&, const Part&) = default;
};
using Recipe = std::vector<Part>;

/// A painted-out sample that hides: this share of the paint by volume (0..1, 1 = masstone), the rest white.
struct PaintSample {
    double share = 1;
    ModelSpectrum reflectance = ModelSpectrum::Zero();
    double sd = 0.003;  // of the reflectance, > 0
};

/// k1 lowered, where needed, to 0.98 of the lowest value of any masstone, so that none reads below its own surface; k2 kept.
[[nodiscard]] PaintSurface fitted_surface(const std::vector<ModelSpectrum>& masstones, PaintSurface start = {});

/// The white of a shelf: S = 1 by definition, K from its masstone. Fault table_malformed: not 0..1, or below the surface.
[[nodiscard]] Result<Paint> white_paint(const ModelSpectrum& masstone, double sd, const PaintSurface&);

/// K and S from samples with the shelf's white, each band by weighted least squares (Walowit, McCarthy & Berns 1987, Color Res. Appl. 12, 340), with
/// the doubts that the readings' spread leaves. Two different shares at least tell both; a masstone alone tells K/S: then S is taken as that of the
/// white, one doubt of a factor of 3 (K and S together; our own).
/// Fault table_malformed: no sample, share not above 0 up to 1, reflectance not 0..1 or below the surface, sd not above 0.
[[nodiscard]] Result<Paint> paint_from_samples(const std::vector<PaintSample>&, const Paint& white, const PaintSurface&);

/// Reflectance of an opaque coat of the mix, drops by their volumes. At least one drop.
[[nodiscard]] ModelSpectrum mix_reflectance(const Shelf&, const Recipe&);
/// Over an undercoat (reflectance as measured, under the same surface); thickness in units in which the shelf's white has S = 1.
[[nodiscard]] ModelSpectrum mix_film(const Shelf&, const Recipe&, double thickness, const ModelSpectrum& undercoat);

struct MixColor {
    Lab lab;
    Eigen::Matrix3d covariance;  // of L*, a*, b*: doubts of the paints and of the drops, to first order
};
[[nodiscard]] MixColor mix_color(const Shelf&, const Recipe&, const Light&, Observer);

}  // namespace sw
