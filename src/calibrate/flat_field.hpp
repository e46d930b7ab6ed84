// Uneven light, lens shading and mixed light from a photo of a plain board in the picture's place.
#pragma once

#include <Eigen/Core>
#include <array>

#include "color/result.hpp"
#include "photo/photo.hpp"

namespace sw {

/// Logarithm of the light over the picture, a channel each: polynomials of degree 4 in x and y (the longer half side = 1), 0 on average.
struct FlatField {
    static constexpr int kTerms = 15;
    int width = 0, height = 0;
    std::array<Eigen::Matrix<double, kTerms, 1>, 3> coefficient{};
    double residual = 0;  // relative rms of the board's blocks about the surface: grain of the board, dust
    double range = 0;     // largest over smallest light in the picture, less 1
    double tint = 0;      // the same of red over blue: light of two colors
};

/// Least squares over the medians of 48 x 48 or fewer blocks, reweighted so that spots count little. Errors (flat_unusable): the board is clipped,
/// dark, or not plain (residual above 5 %).
[[nodiscard]] Result<FlatField> flat_field(const Photo& board);

/// The light at a pixel, per channel, relative to its average (geometric) over the picture.
[[nodiscard]] Eigen::Vector3d light_at(const FlatField&, double x, double y);

/// The photo as evenly lit light would have shown it. `clipped` stays: what was clipped is not known. Error (flat_unusable): another size.
[[nodiscard]] Result<Photo> flattened(Photo, const FlatField&);

}  // namespace sw
