// The plain map taken apart into the steps that pictures, profiles and lcms2 are made from: one set of figures for all of them.
#pragma once

#include <Eigen/Core>
#include <optional>

#include "calibrate/calibration.hpp"
#include "calibrate/ladder.hpp"
#include "calibrate/tone.hpp"

namespace sw {

/// rgb, the photo's linear RGB -> scene = to_scene * tone(native * rgb) - veil -> XYZ (Y = 1 for the diffuser, relative to the light's white): by a
/// 3x3, or by a root-polynomial where such a plain map won. The place in the picture does not matter: as plain_map.
struct PlainSteps {
    Eigen::Matrix3d native;  // linear sRGB -> the file's own primaries, where the camera's curve acted
    ToneCurve tone;          // undone there, channel by channel
    Eigen::Matrix3d to_scene;
    Eigen::Vector3d veil;
    Eigen::Matrix3d to_xyz;        // where there is no `bent`
    std::optional<PlainMap> bent;  // scene -> XYZ

    [[nodiscard]] Eigen::Vector3d scene(const Eigen::Vector3d& rgb) const;
    [[nodiscard]] Eigen::Vector3d xyz(const Eigen::Vector3d& scene) const { return bent ? (*bent)(scene) : Eigen::Vector3d(to_xyz * scene); }
    /// Without `bent` all behind the curves in one: XYZ = matrix() * tone(native * rgb) + offset().
    [[nodiscard]] Eigen::Matrix3d matrix() const { return to_xyz * to_scene; }
    [[nodiscard]] Eigen::Vector3d offset() const { return -to_xyz * veil; }
};

/// Under D50, 2 degrees: plain_map itself. Test: tests/calibrate/calibration_test.cpp
[[nodiscard]] PlainSteps plain_steps(const Calibration&);
/// Under another light: the same scene through the 3x3 that fits that light best (behind the root-polynomial, if one won).
[[nodiscard]] PlainSteps plain_steps(const Calibration&, const Light& under, Observer);

}  // namespace sw
