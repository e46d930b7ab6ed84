// Paints as absorption and scattering, each a belief; what a mix of them looks like.
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <string>
#include <vector>

#include "color/color.hpp"
#include "color/light.hpp"
#include "color/result.hpp"
#include "spectral/bands.hpp"
#include "spectral/kubelka_munk.hpp"

namespace sw {

struct Drop {
    double ml = 0.05;  // > 0; 0.05 is common practice, no source
    double cv = 0.05;  // spread of what one addition of this paint brings, over its size; 5 % is common practice, no source
};

enum class Finish { matte, satin, gloss };

/// K and S a unit of volume, the shelf's white having S = 1; both > 0.
struct Paint {
    std::string name, maker, code, binder;  // free text
    Finish finish = Finish::matte;
    Drop drop;
    ModelSpectrum k = ModelSpectrum::Constant(1e-3), s = ModelSpectrum::Ones();
    /// Ways this paint may differ from k and s: ln K (71 rows), then ln S (71 rows), moved by each column.
    Eigen::MatrixXd doubt = Eigen::MatrixXd(2 * kModelBands, 0);
};

struct Shelf {
    std::vector<Paint> paints;
    PaintSurface surface;
    /// How the doubts hang together: rows are the columns of all paints' doubts in turn, as mixed from independent standard normal numbers (the
    /// columns). Without rows: the doubts are independent of each other, each one standard deviation.
    Eigen::MatrixXd spread;
    /// Spread of what the model itself gets wrong in each of L*, a*, b*, in CIEDE2000-weighted size. 0.3: our own, of opaque paint.
    double model_sd = 0.3;
};
/// The spread, made where it is not.
[[nodiscard]] Eigen::MatrixXd spread_of(const Shelf&);
/// First row of a paint's doubts in the spread.
[[nodiscard]] Eigen::Index first_doubt(const Shelf&, int paint);

/// Who looks, and under what light, made ready for many colors.
struct Sight {
    ObserverMatrix to_xyz;
    Xyz white;
};
[[nodiscard]] Sight sight(const Light&, Observer);
[[nodiscard]] Lab seen(const ModelSpectrum& reflectance, const Sight&);
/// Lab by reflectance, one column a band.
[[nodiscard]] ObserverMatrix lab_slope(const ModelSpectrum& reflectance, const Sight&);
/// Covariance of Lab of which one standard deviation in lightness, chroma and hue each is `sd` of CIEDE2000 (weights S_L, S_C, S_H).
[[nodiscard]] Eigen::Matrix3d weighted_covariance(const Lab&, double sd);

struct RecipePart {
    int paint = 0;  // on the shelf
    int drops = 0;
    friend bool operator==(const RecipePart&, const RecipePart&) = default;
};
using Recipe = std::vector<RecipePart>;

/// K and S of a mix, a unit of volume; volumes > 0 together.
struct Volume {
    int paint = 0;
    double ml = 0;  // >= 0
};
struct Medium {
    ModelSpectrum k, s;
};
[[nodiscard]] std::vector<Volume> volumes(const Shelf&, const Recipe&);
[[nodiscard]] Medium medium(const Shelf&, const std::vector<Volume>&);

/// How it is laid: thick enough to hide, or a film over an undercoat.
struct Coat {
    double thickness = 0;                                    // 0: hides; else in units in which the shelf's white has S = 1
    ModelSpectrum undercoat = ModelSpectrum::Constant(0.5);  // as measured under the same surface
    double surface_seen = 1;                                 // share of the surface's light in the reading: 1 matte, 0 gloss seen off the highlight
};
/// As measured; its slopes by ln K and ln S, band by band. By ln thickness: their sum.
struct Appearance {
    ModelSpectrum reflectance, by_k, by_s;
};
[[nodiscard]] Appearance appearance(const Medium&, const PaintSurface&, const Coat& = {});

/// Reflectance of an opaque coat of the mix, drops by their volumes. At least one drop.
[[nodiscard]] ModelSpectrum mix_reflectance(const Shelf&, const Recipe&);
/// Over an undercoat, thickness > 0.
[[nodiscard]] ModelSpectrum mix_film(const Shelf&, const Recipe&, double thickness, const ModelSpectrum& undercoat);

/// What a clear coat makes of a reading: another surface over the same paint. A gloss coat hides the surface's light (`seen` 0), a satin one half of
/// it.
[[nodiscard]] ModelSpectrum under_clear_coat(const ModelSpectrum& bare, const PaintSurface& bare_surface, const PaintSurface& coat, Finish finish);

/// The shelf with a paint let down beforehand: one part by volume of the paint to this many of the shelf's white (the first paint), as one paint
/// more, named after it. Its doubts are those of the two it is made of. For strong tinters, of which a drop is too much. Fault bad_usage: no such
/// paint, the white itself, parts not above 0.
[[nodiscard]] Result<Shelf> with_let_down(const Shelf&, int paint, double white_parts = 10);

/// Some of its paints, by their places, with how their doubts hang together.
[[nodiscard]] Shelf some_of(const Shelf&, const std::vector<int>& paints);

struct MixColor {
    Lab lab;
    Eigen::Matrix3d covariance;  // of L*, a*, b*: doubts of the paints and of the drops to first order, and what the model gets wrong
};
[[nodiscard]] MixColor mix_color(const Shelf&, const Recipe&, const Sight&, const Coat& = {});

/// A bare coat's reading under a clear one. k1_sd: doubt of the share of light that the bare surface sends back, the same at all bands; 0.3
/// CIEDE2000 of what the model gets wrong is in the covariance. Which k2 does not matter: it falls out.
[[nodiscard]] MixColor coated_color(const ModelSpectrum& bare, const PaintSurface& bare_surface, const PaintSurface& coat, Finish, double k1_sd,
                                    const Sight&);

}  // namespace sw
