// The surface behind a color: from one color or from several under different lights, a believable reflectance with its range, and from that its
// color under any light. Three lines do:
//   const Result<SurfacePosterior> surface = surface_posterior(Lab{52, 10, 20}, kExact, *light("LED-B3"), Observer::degree2);
//   const ModelSpectrum reflectance = surface->mean, doubt = surface->sd();
//   const SurfaceColorRange daylight = surface->color(*light("D65"), Observer::degree2);
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <vector>

#include "color/color.hpp"
#include "color/result.hpp"
#include "spectral/bands.hpp"
#include "spectral/posterior.hpp"

namespace sw {

inline const Eigen::Matrix3d kExact = Eigen::Matrix3d::Zero();

/// Whether a reading's level means something, or only its ratios (a photo of unknown exposure, a part lit otherwise than the white).
enum class Level { known, free };

/// Who looks: an observer or a camera under one light, with what it sees of every surface of the library. Some 10 ms to make, then used often.
struct Eye {
    Eigen::Matrix<double, 3, kModelBands> rows;  // to what is read: XYZ or camera RGB
    Eigen::Matrix3d relative;                    // from there to XYZ relative to the white, in which nearness is judged
    Level level = Level::known;
    LibraryView view;  // Lab of that
};
/// Reads XYZ, Y = 1 for the diffuser.
[[nodiscard]] Eye eye(const Light&, Observer, Level = Level::known);
/// Reads rows * R (a camera's: SensitivityRows). matrix: from there to something like XYZ under D50 (best_matrix).
[[nodiscard]] Eye eye(const Eigen::Matrix<double, 3, kModelBands>& rows, const Eigen::Matrix3d& matrix, Level = Level::known);

struct SurfaceReading {
    const Eye* eye = nullptr;  // not owned
    Eigen::Vector3d color;     // what the eye reads; > 0
    Eigen::Matrix3d covariance = kExact;
};

/// A surface's color under a light: mean and covariance of Lab, relative to the light's white.
struct SurfaceColorRange {
    Lab lab;
    Eigen::Matrix3d covariance;
};

/// Gaussian over reflectances. It is one about the library's surfaces near the reading, so that single values of mean and samples may stand outside
/// 0..1 by little where a color is near what surfaces can have.
struct SurfacePosterior {
    ModelSpectrum mean;
    Eigen::Matrix<double, kModelBands, kModelBands> covariance;  // 95 % honest on unseen surfaces: see range_factor()
    double distance = 0;                                         // see Neighborhood; > 8: unlike any surface known, the range may be too small

    /// Standard deviation at each band.
    [[nodiscard]] ModelSpectrum sd() const;
    /// 71 x count draws; same seed, same draws.
    [[nodiscard]] Eigen::MatrixXd samples(int count, std::uint64_t seed = 1) const;
    /// Covariance to first order about the mean, and 0.1 of Lab for what the model rounds.
    [[nodiscard]] SurfaceColorRange color(const Light&, Observer) const;
};

/// From readings of one surface, at least one, each with its own noise. The mean reads as was read where there is no noise. The wider the noise, the
/// wider the part of the library that is looked at; without end it is the whole library, the prior (and takes a second). Some 5 ms.
/// If no reading's level is known, the answer is in the units of the first: times k when that reading is times k, to rounding.
/// Error: known_unusable where a color is not finite, nothing of it is above 0, or a covariance is not finite.
[[nodiscard]] Result<SurfacePosterior> surface_posterior(const std::vector<SurfaceReading>&);

/// The same of one Lab under a light, relative to that light's white (white of `lab` is not looked at). lab_covariance: kExact where it has no doubt.
[[nodiscard]] Result<SurfacePosterior> surface_posterior(const Lab& lab, const Eigen::Matrix3d& lab_covariance, const Light&, Observer);

}  // namespace sw
