#include "calibrate/plain_steps.hpp"

#include <Eigen/LU>
#include <cmath>

#include "calibrate/sensor_model.hpp"

namespace sw {
namespace {

PlainSteps steps(const SensorModel& model, const Eigen::Matrix3d& xyz_from_scene) {
    const Doubts& d = model.doubts();
    Eigen::Vector3d gain;
    for (int c = 0; c < 3; ++c) gain[c] = 1 / (model.start_white()[c] * std::exp(d[c]));
    const Eigen::Matrix3d& native = model.setup().native;
    return {native, model.tone(), xyz_from_scene * gain.asDiagonal() * native.inverse(), -xyz_from_scene * Eigen::Vector3d::Constant(d[flare])};
}

}  // namespace

PlainSteps plain_steps(const Calibration& calibration) { return steps(*calibration.sensor, calibration.sensor->matrix()); }

PlainSteps plain_steps(const Calibration& calibration, const Light& under, Observer observer) {
    return steps(*calibration.sensor, best_matrix(calibration.sensor->rows(), observer_matrix(under, observer)));
}

}  // namespace sw
