// What a camera under a light sees: its effective sensitivity, a Gaussian learned from real cameras.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <vector>

#include "spectral/bands.hpp"

namespace sw {

/// Effective sensitivity of a picture's three channels (camera times light and, in a rendered picture, the camera's own color matrix to linear sRGB
/// primaries), white = (1, 1, 1): 3 rows over the model's bands, each row sums to 1.
using SensitivityRows = Eigen::Matrix<double, 3, kModelBands>;
inline constexpr int kSensitivitySize = 3 * kModelBands;

/// Gaussian over the rows, stacked channel by channel (r 380..730, g, b).
struct Sensitivity {
    SensitivityRows mean = SensitivityRows::Zero();
    Eigen::MatrixXd covariance;  // kSensitivitySize x kSensitivitySize
};

/// Cameras as a Gaussian: mean and principal components times their standard deviation, of three sensitivities stacked (r 380..730, g, b), each of
/// unit area.
struct CameraStatistics {
    Eigen::VectorXd mean;
    std::vector<Eigen::VectorXd> components;
};
/// Those of assets/spectral/camera_statistics.csv.
[[nodiscard]] const CameraStatistics& shipped_cameras();

/// Whether a picture's numbers have gone through a camera's color matrix (every JPEG) or are the sensor's own (some raw converters, industrial
/// cameras).
enum class Rendering { rendered, raw };

/// What may be expected before any reference is looked at: virtual cameras drawn from the learned statistics (assets/spectral), under the light that
/// lit the picture or, where that is unknown, under a list of lights that a bench may have; each with a white-preserving 3x3 to sRGB fitted as
/// cameras do, for the light or for D65, and a white balance that missed by some 10 % (rendered), or as the sensor gives it (raw). A light that is
/// only believed enters with all the spectra it may have. Slack is added for cameras unlike those learned from. Same input, same answer; some 20 ms.
[[nodiscard]] Sensitivity sensitivity_prior(const std::optional<Light>& lit_by, Rendering = Rendering::rendered,
                                            const CameraStatistics& = shipped_cameras());

/// 3 x 3 from what the sensitivity sees to XYZ under a light (Y = 1), white-preserving, least squares over the surface library, dark colors
/// weighted up: the best plain map for this sensitivity.
[[nodiscard]] Eigen::Matrix3d best_matrix(const SensitivityRows&, const ObserverMatrix&);

}  // namespace sw
