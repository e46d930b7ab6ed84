// What physics allows: which colors a surface can have, and which it can have under another light when it looks like this under the first.
// Both are linear programs in the reflectance: values of 0..1, one for each wavelength, and three equations.
#pragma once

#include <Eigen/Core>
#include <memory>
#include <optional>
#include <vector>

#include "spectral/bands.hpp"

namespace sw {

using SensorRows = Eigen::Matrix<double, 3, kModelBands>;

/// All reflectances 0..1 on the model's grid with rows * R = seen (scene RGB or XYZ, diffuser = 1), for asking which of them is extreme, many times.
/// A bounded simplex of three rows; each question starts from the answer to the one before, so neighbors in a row are quick (some 2 microseconds).
/// Source: Dantzig 1955 (upper bounds in the simplex method), Bland 1977 (against cycling), Harris 1973 (which variable leaves). Test: against GLPK.
class AlikeSurfaces {
public:
    /// rows: any finite values; what is below 1e-14 of its row's sum counts as nothing.
    AlikeSurfaces(const SensorRows& rows, const Eigen::Vector3d& seen);
    ~AlikeSurfaces();
    AlikeSurfaces(AlikeSurfaces&&) noexcept;
    AlikeSurfaces& operator=(AlikeSurfaces&&) noexcept;

    /// Whether there is none: no surface reads within 1e-9 of `seen`, relative to what each row reads at most.
    [[nodiscard]] bool none() const;
    /// `seen` where a surface reads so, else the nearest that one can (least sum of the three differences, each relative to its row).
    [[nodiscard]] const Eigen::Vector3d& reading() const;
    /// The surface among those with that reading() that maximizes weight * R. Exact: its reading within 1e-9 and its value within 1e-9 (relative to
    /// the largest weight) of the dual's bound for that reading, give or take its last bit, both checked at the end; nullopt where a check fails or a
    /// number is not finite.
    [[nodiscard]] std::optional<ModelSpectrum> extreme(const ModelSpectrum& weight);

private:
    struct Inside;
    std::unique_ptr<Inside> inside_;
};

/// The same for a single question; nullopt also where no surface reads like that.
[[nodiscard]] std::optional<ModelSpectrum> extreme_surface(const SensorRows& rows, const Eigen::Vector3d& seen, const ModelSpectrum& weight);

/// Unit vectors spread evenly over the sphere, each near the one before: the generalized spiral from pole to pole of z. count >= 2.
/// Source: Saff & Kuijlaars 1997, Mathematical Intelligencer 19(1), eq. (8).
[[nodiscard]] std::vector<Eigen::Vector3d> sphere_directions(int count);

/// Extreme XYZ (Y = 1 for the diffuser) under `target` of all reflectances 0..1 with rows * R = seen (scene RGB or XYZ, diffuser = 1), one for each
/// of sphere_directions(directions). A footnote for what physics allows, never an interval. Empty where no surface can read like that.
/// Source: metamer mismatch body, Logvinenko, Funt & Godau 2014, IEEE TIP 23(1).
[[nodiscard]] std::vector<Eigen::Vector3d> mismatch_extremes(const SensorRows& rows, const Eigen::Vector3d& seen, const ObserverMatrix& target,
                                                             int directions = 14);

/// Whether a non-fluorescent surface can have this color under that light: inside the optimal-color solid (Schroedinger 1920, MacAdam 1935).
/// color: XYZ, Y = 100 for the diffuser. Exact for the sums at 1 nm; a color on the boundary, and up to 0.01 % of the white's X, Y and Z (summed)
/// outside it, counts as inside, so that the rounding of a printed figure decides nothing. False where a figure is not finite.
[[nodiscard]] bool can_be_surface(const Xyz& color, const Light&, Observer);

/// The colors of the optimal-color solid's boundary at luminance factor Y (0 < Y < 100, in %), a closed outline for plotting, by 1 nm: each is the
/// reflectance 1 from one wavelength on (over the red end to the violet where need be) until Y is reached, 0 elsewhere. Empty for other Y.
/// Source: Schroedinger 1920; MacAdam 1935, J. Opt. Soc. Am. 25.
[[nodiscard]] std::vector<Xy> optimal_color_outline(double Y, const Light&, Observer);

}  // namespace sw
