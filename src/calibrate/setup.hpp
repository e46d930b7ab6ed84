// Photos taken with the same camera settings under the same light share a calibration: what is kept of the first, and how a later one is held
// against it.
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "calibrate/evidence.hpp"

namespace sw {

/// A picture by blocks, row by row from the top left: what its background looks like.
struct Backdrop {
    int columns = 0, rows = 0;
    std::vector<Eigen::Vector3f> color;  // medians, linear RGB of the picture
    std::vector<std::uint8_t> plain;     // 1: one color all over, neither clipped nor dark
    [[nodiscard]] Point middle(std::size_t block, int width, int height) const;
};
/// 24 blocks across, square; fewer where they would be smaller than 9 pixels. Reads at most 441 pixels of a block.
[[nodiscard]] Backdrop backdrop(const Photo&);

/// Everything a later photo needs: what the references read, how the picture was taken, what its background looks like.
struct Setup {
    Evidence evidence;
    Shot shot;
    std::string encoding;  // as Photo
    Backdrop backdrop;
    std::string file, hash;  // of the photo it was made from
};
/// Error (setup_mismatch): a calibration without references is nothing to borrow.
[[nodiscard]] Result<Setup> make_setup(const Photo&, const Calibration&);

/// What the backdrop says of the light and the exposure now against those of the set-up. In scene light, the camera's curve undone.
struct LightDrift {
    Eigen::Vector3d log_gain = Eigen::Vector3d::Zero();  // mean over the blocks that changed by one common factor
    Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();    // covariance between those blocks
    Eigen::Matrix<double, 3, doubt_count> by_doubts = Eigen::Matrix<double, 3, doubt_count>::Zero();  // derivative of log_gain: it hangs on the curve
    int blocks = 0, compared = 0;                                                                     // how many, of how many that are plain in both
};
/// Nothing where too few blocks share a factor: fewer than 12, or than a third of those plain in both.
[[nodiscard]] std::optional<LightDrift> light_drift(const Setup&, const SensorModel&, const Backdrop& now);

/// The set-up's calibration for this photo. The drift that the backdrop shows is taken into the gains, its spread and what could not be compared
/// into their doubt. `Calibration::setup` says what was compared.
/// Error (setup_mismatch), with what differs and what to do: size, encoding, evened or not; camera, lens, focal length, white-balance setting where
/// both files tell; exposure that differs without a backdrop to confirm it; a backdrop that is another color (15 %) or, beyond what the exposure
/// explains, lighter or darker (20 %); lit_by other than the set-up's.
[[nodiscard]] Result<Calibration> calibrate_by(const Photo&, const Setup&, const std::string& name, const std::optional<Light>& lit_by);

}  // namespace sw
