// The plain map taken apart into the steps that pictures, profiles and lcms2 are made from: one set of figures for all of them.
#pragma once

#include <Eigen/Core>

#include "calibrate/calibration.hpp"
#include "calibrate/tone.hpp"

namespace sw {

/// XYZ (Y = 1 for the diffuser, relative to the light's white) = to_xyz * tone(native * rgb) + offset, with rgb the photo's linear RGB. The place in
/// the picture does not matter: as plain_map.
struct PlainSteps {
    Eigen::Matrix3d native;  // linear sRGB -> the file's own primaries, where the camera's curve acted
    ToneCurve tone;          // undone there, channel by channel
    Eigen::Matrix3d to_xyz;
    Eigen::Vector3d offset;
};

/// Under D50, 2 degrees: plain_map itself. Test: tests/calibrate/calibration_test.cpp
[[nodiscard]] PlainSteps plain_steps(const Calibration&);
/// Under another light: the same scene through the 3x3 that fits that light best.
[[nodiscard]] PlainSteps plain_steps(const Calibration&, const Light& under, Observer);

}  // namespace sw
