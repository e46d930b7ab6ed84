// The ladder of plain maps beside the one model: fallback, check, and a second opinion. They share the model's white, flare, curve and light field
// (scene RGB, diffuser = 1) and know nothing of surfaces or cameras.
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "color/color.hpp"

namespace sw {

/// From few to many coefficients: white and exposure only, 3x3, root-polynomials of degree 2 and 3.
enum class MapKind { neutral, matrix, root_polynomial_2, root_polynomial_3 };
[[nodiscard]] std::string to_word(MapKind);  // "neutral", "3x3", "root-polynomial 2", "root-polynomial 3"

/// The map's features of a scene RGB, homogeneous of degree 1, so that exposure may change without bending hues: r, g, b; sqrt(rg), sqrt(gb),
/// sqrt(rb); cbrt(r g^2) ...: 3, 6 or 13. Negative values count as 0. Source: Finlayson, Mackiewicz & Hurlbert 2015, IEEE TIP 24(5), table I.
[[nodiscard]] Eigen::VectorXd map_features(MapKind, const Eigen::Vector3d& scene);

/// XYZ (Y = 1 for the diffuser) = start * scene + more * features; `more` takes white to 0, so white stays what `start` makes of it.
struct PlainMap {
    MapKind kind = MapKind::neutral;
    Eigen::Matrix3d start = Eigen::Matrix3d::Identity();
    Eigen::Matrix3Xd more;
    [[nodiscard]] Eigen::Vector3d operator()(const Eigen::Vector3d& scene) const;
};

/// What a map makes of a scene RGB: L*, a*, b* relative to the white (Y = 100) of the light that it was fitted for.
[[nodiscard]] Eigen::Vector3d lab_by(const PlainMap&, const Eigen::Vector3d& scene, const Xyz& white);

/// References as the maps see them: columns are scene RGB and XYZ (Y = 1); weight 0 leaves one out.
struct MapReferences {
    Eigen::Matrix3Xd scene, xyz;
    Eigen::VectorXd weight;
};

/// Least squares in the local metric of CIEDE2000 about the references' own colors, reweighted four times toward least absolute differences, with a
/// ridge toward `start` that fades as references grow in number: few references bend it little, none leave it.
/// white: XYZ of the diffuser.
[[nodiscard]] PlainMap fit_map(MapKind, const Eigen::Matrix3d& start, const Eigen::Vector3d& white, const MapReferences&);

/// One rung: the map from all references, and how each reference comes out of the map made without it (CIEDE2000).
struct Rung {
    PlainMap map;
    std::vector<double> left_out;
    double mean = 0, p95 = 0;
};
/// All rungs that the number of references supports (a map needs more references than it has free coefficients in a row: 0, 2, 5, 12).
[[nodiscard]] std::vector<Rung> ladder(const Eigen::Matrix3d& start, const Eigen::Vector3d& white, const MapReferences&);

/// The lowest rung whose leave-one-out mean is within one standard error of the best: Breiman et al. 1984, the one-standard-error rule.
[[nodiscard]] const Rung& best_rung(const std::vector<Rung>&);

}  // namespace sw
