// What the references say about the camera, the light and the way the picture was rendered: one Gaussian over everything that is not known.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

#include "calibrate/light_field.hpp"
#include "calibrate/tone.hpp"
#include "photo/region.hpp"
#include "spectral/posterior.hpp"
#include "spectral/sensitivity.hpp"

namespace sw {

/// The doubts beside the effective sensitivity, in this order.
enum Doubt : int {
    gain_r,
    gain_g,
    gain_b,
    flare,
    contrast,
    lift,
    roll,
    bend_first,
    bend_last = bend_first + ToneCurve::kBends - 1,
    light_x,
    light_y,
    light_r,
    light_d,  // along x against along y, and across both: only where a plain surrounding shows them
    light_s,
    red_x,
    red_y,
    blue_x,
    blue_y,
    doubt_count
};
using Doubts = Eigen::Matrix<double, doubt_count, 1>;
inline constexpr int kBeliefSize = kSensitivitySize + doubt_count;
[[nodiscard]] ToneCurve tone_of(const Doubts&);

/// A reference as the fit sees it.
struct ReferenceColor {
    std::string name;
    Eigen::Vector3d rgb;             // picture's linear RGB
    Eigen::Matrix3d rgb_covariance;  // of that mean
    Point at;                        // where in the picture
    ModelSpectrum reflectance;
    Eigen::MatrixXd reflectance_covariance;  // 71 x 71, or empty: known exactly
    double tolerance = 0;                    // relative, of its level: an LRV is printed with so much doubt
};

/// What a fit starts from.
struct SensorSetup {
    int width = 0, height = 0;
    Eigen::Matrix3d native = Eigen::Matrix3d::Identity();  // linear sRGB -> the file's own primaries, where the camera's curve acted
    bool linear = false;                                   // stored linear: no camera curve
    std::optional<Light> lit_by;
    Sensitivity prior;                     // of the effective sensitivity, before any reference: sensitivity_prior(lit_by, ...)
    std::optional<Eigen::Vector3d> white;  // what the camera takes for white, picture's linear RGB; used where there is no reference
    bool evened = false;                   // uneven light was divided out by a picture of a plain board
    double flare = 0.003;                  // usual veiling light, relative to the diffuser; 0: black has been taken off
    bool free_curve = false;               // four neutrals or more: the curve may bend as they say
    bool black_and_white = false;          // neutrals of both are there: they tell the veiling light
};

/// Picture RGB -> scene RGB (diffuser = 1) -> Lab-like feature; with derivatives with respect to every doubt.
class SensorModel {
public:
    static constexpr std::size_t kEnoughForScale = 8;  // references from which the prior's scale and their weights are judged

    /// Gauss-Newton on a linear-Gaussian model: prior of the sensitivity and of the doubts, references as observations;
    /// noise chosen by evidence (with a usual one in mind), prior scale where there are >= 8 references; references that do not fit are weighted
    /// down. slopes: of the light over the references, plain: surroundings of one color (prior knowledge of the light field).
    /// rough: a few rounds, for a question about the references themselves; covariance() and view() are not made.
    enum class Effort { full, rough };
    SensorModel(const SensorSetup&, const std::vector<ReferenceColor>&, const std::vector<LightSlope>& slopes = {},
                const std::vector<PlainArea>& plain = {}, Effort = Effort::full);

    [[nodiscard]] Eigen::Vector3d scene(const Eigen::Vector3d& rgb, Point at) const { return scene(rgb, at, doubts_); }
    /// Without the light's slope over the picture: what the plain map and the shown picture use.
    [[nodiscard]] Eigen::Vector3d scene(const Eigen::Vector3d& rgb) const { return scene(rgb, origin_, doubts_); }
    [[nodiscard]] Eigen::Matrix3d scene_by_rgb(const Eigen::Vector3d& rgb, Point at) const;
    [[nodiscard]] Eigen::Matrix<double, 3, doubt_count> scene_by_doubts(const Eigen::Vector3d& rgb, Point at) const {
        return by_doubts(rgb, at, doubts_);
    }

    /// Logarithm of the light at a place per channel, against the references' middle, and how it hangs on the doubts.
    [[nodiscard]] Eigen::Vector3d field(Point at) const { return field_by_doubts(at) * doubts_; }
    [[nodiscard]] Eigen::Matrix<double, 3, doubt_count> field_by_doubts(Point at) const;

    /// The same belief after looking at how the light slopes over plain things (cards, patches, chips). Linear-Gaussian update.
    [[nodiscard]] SensorModel after(const std::vector<LightSlope>&) const;

    /// The same belief for a photo whose light or exposure moved: the gains by log_gain, which may hang on the doubts, and with more doubt of them.
    [[nodiscard]] SensorModel drifted(const Eigen::Vector3d& log_gain, const Eigen::Matrix<double, 3, doubt_count>& by_doubts,
                                      const Eigen::Matrix3d& doubt) const;

    /// Lab-like coordinates of a scene RGB, those of `view()`, and their derivative.
    [[nodiscard]] Eigen::Vector3d feature(const Eigen::Vector3d& scene) const;
    [[nodiscard]] Eigen::Matrix3d feature_by_scene(const Eigen::Vector3d& scene) const;
    [[nodiscard]] const LibraryView& view() const { return view_; }

    /// Covariance of the belief: sensitivity (213, channel by channel), then the doubts.
    [[nodiscard]] const Eigen::MatrixXd& covariance() const { return covariance_; }
    [[nodiscard]] const SensitivityRows& rows() const { return rows_; }
    [[nodiscard]] const Doubts& doubts() const { return doubts_; }
    [[nodiscard]] double noise() const { return sigma_; }                 // relative misfit of the references, most likely
    [[nodiscard]] double noise_as_doubt() const { return sigma_doubt_; }  // root of its mean square: more where few references leave it open
    [[nodiscard]] const Doubts& prior_doubts() const { return prior_doubts_; }
    [[nodiscard]] const Eigen::Matrix<double, doubt_count, doubt_count>& prior_doubt_covariance() const { return prior_doubt_covariance_; }
    [[nodiscard]] const std::vector<double>& weights() const { return weights_; }  // per reference, 1 = fits
    [[nodiscard]] const Eigen::Matrix3d& matrix() const { return matrix_; }        // scene RGB -> XYZ (D50, Y = 1)
    [[nodiscard]] const std::optional<Light>& lit_by() const { return setup_.lit_by; }
    [[nodiscard]] const SensorSetup& setup() const { return setup_; }
    [[nodiscard]] const Eigen::Vector3d& start_white() const { return white_; }
    [[nodiscard]] ToneCurve tone() const { return tone_of(doubts_); }

    /// Sensitivity and doubts as they would be without reference i (same noise and weights).
    struct LeftOut {
        SensitivityRows rows;
        Doubts doubts;
    };
    [[nodiscard]] LeftOut without(std::size_t i) const;
    [[nodiscard]] Eigen::Vector3d scene(const Eigen::Vector3d& rgb, Point at, const Doubts&) const;

private:
    [[nodiscard]] Eigen::Matrix<double, 3, doubt_count> by_doubts(const Eigen::Vector3d& rgb, Point at, const Doubts&) const;
    [[nodiscard]] Eigen::Matrix<double, 5, 1> place(Point at) const;
    /// Scene RGB with the light's course over the picture left in.
    [[nodiscard]] Eigen::Vector3d unleveled(const Eigen::Vector3d& rgb, const Doubts&) const;
    void solve(bool tint_by_evidence, Effort);
    /// Moves the doubts' prior; the curve is undone as `curve` has it.
    void learn_plain(const std::vector<PlainArea>&, const Doubts& curve);
    /// Mean and covariance of doubts given slopes: gain * (seen - expected).
    void learn_slopes(const std::vector<LightSlope>&, Eigen::VectorXd& mean, Eigen::MatrixXd& covariance, Eigen::Index first) const;

    SensorSetup setup_;
    std::vector<ReferenceColor> references_;
    Doubts prior_doubts_;
    Eigen::Matrix<double, doubt_count, doubt_count> prior_doubt_covariance_;
    Eigen::Matrix3d native_inverse_;
    Eigen::Vector3d white_;  // where the gains start
    Point origin_;
    // results
    SensitivityRows rows_;
    Doubts doubts_;
    Eigen::MatrixXd covariance_;
    double sigma_ = 0.01, sigma_doubt_ = 0.01, scale_ = 1;
    std::vector<double> weights_;
    Eigen::Matrix3d matrix_;
    LibraryView view_;
    // kept for leaving one out
    Eigen::MatrixXd observation_, spread_, gain_source_;
    Eigen::VectorXd misfit_;
};

}  // namespace sw
