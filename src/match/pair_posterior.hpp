// What is known about a pair in one photo or several, before it is put into figures and words. For judge() and tests.
#pragma once

#include <Eigen/Core>
#include <array>
#include <vector>

#include "calibrate/sensed.hpp"
#include "match/interval.hpp"
#include "spectral/posterior.hpp"

namespace sw {

/// How alike chip and swatch err when a camera stands for an eye (correlation of the two residuals). Most pairs are of like kind, as mixing the same
/// paints makes them. Some have little in common; and some have nothing in common and were mixed until they matched, under this light or another, so
/// that they lie near each other but err against each other. How a pair errs is a mixture of the three: one that the camera sees match is then most
/// likely of like kind, one that it sees far apart was hardly mixed to match, and a range is only as wide as it must be.
/// share: among pairs that do not differ; reach: see Scatter. Our own judgment, no source; held to simulated pairs (tests/match/pair_bars_study.cpp).
struct PairKind {
    double share, alike, reach;
};
inline const std::vector<PairKind> kPairKinds{{0.5, 0.93, 1e6}, {0.22, 0.0, 1e6}, {0.28, -1.0, 2.2}};
/// The same under a light that no photo was taken under, for pairs not mixed to trick a light. Here what unlike colors may do comes on top of what
/// was read, as they do not draw nearer to each other under another light. A second photo says which kind a pair is: the shares are then weighed by
/// the root of the chance that each kind gives to what it read (the kinds are few and coarse), those that no usual paints make among them.
inline const std::vector<PairKind> kPairKindsElsewhere{{0.6, 0.85, 1e6}, {0.4, 0.3, 1e6}};
inline constexpr PairKind kUnusualKind{0.08, -8.0, 1e6};

/// One photo's part of what is known about the pair.
struct SensedPair {
    Calibration calibration;  // the photo's, with what the chip says about the light
    SensedColor chip, swatch;
    int photo = -1;  // pairs with the same number >= 0 were read in one photo: all its doubts are common
    int light = -1;  // with the same number >= 0 under one light by one camera: the doubt of its sensitivity is common
    [[nodiscard]] Eigen::Vector3d middle() const { return (chip.feature + swatch.feature) / 2; }
    [[nodiscard]] Eigen::Vector3d step() const { return swatch.feature - chip.feature; }
};

/// Where the covariance of a difference vector comes from.
enum class Part : int {
    noise,    // grain and texture
    field,    // light that changes between the two places
    lamp,     // a lamp known only by its box
    unnamed,  // a light that is not named
    tone,     // the camera's curve
    white,    // gains and flare
    camera,   // what is not known of its sensitivity
    unlike,   // three numbers are not a spectrum: two colors seen alike by camera or lamp need not be; of one color, twice
    count
};
inline constexpr std::size_t kParts = static_cast<std::size_t>(Part::count);

/// The pair under one light as the readings allow: Lab of both, difference vector (swatch less chip) and the parts of its covariance.
struct PairColor {
    Eigen::Vector3d chip, swatch, d;
    std::array<Eigen::Matrix3d, kParts> parts;
    std::vector<PairKind> kinds;  // weighed by what several photos say of the kind
    bool elsewhere = false;       // not as lit in a photo
    PairColor() { parts.fill(Eigen::Matrix3d::Zero()); }
    [[nodiscard]] Eigen::Matrix3d& part(Part p) { return parts[static_cast<std::size_t>(p)]; }
    [[nodiscard]] const Eigen::Matrix3d& part(Part p) const { return parts[static_cast<std::size_t>(p)]; }
    /// Covariance of d for a pair of one kind.
    [[nodiscard]] Eigen::Matrix3d covariance(double alike) const;
    [[nodiscard]] std::vector<Scatter> scatter() const;
    [[nodiscard]] DifferenceDistribution distribution(const Lab& middle, const Weights& weights = {}) const {
        return {middle, d, scatter(), weights};
    }
};

/// A light under which the pair is looked at, and what the surface library looks like there.
struct TargetLight {
    Light light;
    Observer observer = Observer::degree2;
    LibraryView view = lab_view(light, observer);
};

/// The pair under each wanted light, from one photo or several; elsewhere: other lights than those of the photos. Some 10 ms.
[[nodiscard]] std::vector<PairColor> pair_posterior(const std::vector<SensedPair>&, const std::vector<TargetLight>&, bool elsewhere = false);

/// What a photo reads against what others let expect: difference vectors of the sensed features.
struct Surprise {
    Eigen::Vector3d off;            // read less expected
    Eigen::Matrix3d unlike, noise;  // covariance of it: what colors leave open for one color, twice; and all doubts of the readings
    [[nodiscard]] double chi_square(double alike) const;  // 3 degrees of freedom for pairs of a kind
};
[[nodiscard]] Surprise surprise(const std::vector<SensedPair>& others, const SensedPair& read);

/// The nearest covariance matrix.
[[nodiscard]] Eigen::Matrix3d nearest_psd(const Eigen::Matrix3d&);

}  // namespace sw
