// What is known about a pair in one photo or several, before it is put into figures and words. For compare() and its tests.
#pragma once

#include <Eigen/Core>
#include <vector>

#include "calibrate/sensed.hpp"
#include "match/interval.hpp"
#include "spectral/posterior.hpp"

namespace sw {

/// How alike chip and swatch err when a camera stands for an eye (correlation of the two residuals). The figure shown takes them for paints of like
/// kind, as a match by mixing mostly is; the interval must also hold for paints that have nothing in common and were mixed until they matched, which
/// makes them metameric more often. Chosen after looking at the simulated photos; tests/match prints the coverage.
inline constexpr double kAlikeShown = 0.8, kAlikeInterval = -0.4;
/// One photo, another light: a pair mixed until it matched by eye under this very light is metameric more often than two paints picked blindly, so
/// the residual's variance is taken three times. Our own judgment, no source; a second photo makes it unnecessary.
inline constexpr double kAlikeInferred = -2.0;

/// One photo's part of what is known about the pair.
struct SensedPair {
    Calibration calibration;  // the photo's, with what the chip says about the light
    SensedColor chip, swatch;
    [[nodiscard]] Eigen::Vector3d middle() const { return (chip.feature + swatch.feature) / 2; }
    [[nodiscard]] Eigen::Vector3d step() const { return swatch.feature - chip.feature; }
};

/// The pair under a set of lights as the readings allow: difference vectors (Lab, swatch less chip), covariances, and their parts.
struct PairPosterior {
    std::vector<Eigen::Vector3d> chip, swatch;  // Lab under each target light
    std::vector<Eigen::Vector3d> d;
    std::vector<Eigen::Matrix3d> residual, noise, belief, tone, field, white,
        lamp;  // parts of the covariance of d; belief is all of the calibration's
    [[nodiscard]] Eigen::Matrix3d covariance(std::size_t i, double alike) const { return (1 - alike) * residual[i] + noise[i] + belief[i] + lamp[i]; }
    [[nodiscard]] DifferenceDistribution shown(const Lab& middle, std::size_t i) const { return {middle, d[i], covariance(i, kAlikeShown)}; }
    [[nodiscard]] DifferenceDistribution honest(const Lab& middle, std::size_t i, double alike = kAlikeInterval) const {
        return {middle, d[i], covariance(i, alike)};
    }
};

/// A light under which the pair is looked at, and what the surface library looks like there.
struct TargetLight {
    Light light;
    Observer observer = Observer::degree2;
    LibraryView view = lab_view(light, observer);
};

/// The pair under each wanted light, from one photo or several. Some 10 ms.
[[nodiscard]] PairPosterior pair_posterior(const std::vector<SensedPair>&, const std::vector<TargetLight>&);

/// The nearest covariance matrix.
[[nodiscard]] Eigen::Matrix3d nearest_psd(const Eigen::Matrix3d&);

}  // namespace sw
