#include "calibrate/plain_steps.hpp"

#include <Eigen/LU>
#include <cmath>

#include "calibrate/sensor_model.hpp"

namespace sw {
namespace {

PlainSteps steps(const Calibration& calibration, const ObserverMatrix& target, const Eigen::Matrix3d& to_xyz) {
    const SensorModel& model = *calibration.sensor;
    const Doubts& d = model.doubts();
    Eigen::Vector3d gain;
    for (int c = 0; c < 3; ++c) gain[c] = 1 / (model.start_white()[c] * std::exp(d[c]));
    const Eigen::Matrix3d& native = model.setup().native;
    PlainSteps result{native, model.tone(), gain.asDiagonal() * native.inverse(), Eigen::Vector3d::Constant(d[flare]), to_xyz, {}};
    if (calibration.map) {  // made for the picture's light: from there the 3x3 that surfaces follow best
        const ObserverMatrix here = observer_matrix(model.lit_by() ? *model.lit_by() : *light("D50"), Observer::degree2);
        const Eigen::Matrix3d on = here.isApprox(target) ? Eigen::Matrix3d::Identity() : best_matrix(here, target);
        result.bent = PlainMap{calibration.map->kind, on * calibration.map->start, on * calibration.map->more};
    }
    return result;
}

}  // namespace

Eigen::Vector3d PlainSteps::scene(const Eigen::Vector3d& rgb) const {
    Eigen::Vector3d v = native * rgb;
    for (double& x : v) x = tone.scene(x);
    return to_scene * v - veil;
}

PlainSteps plain_steps(const Calibration& calibration) {
    return steps(calibration, observer_matrix(*light("D50"), Observer::degree2), calibration.sensor->matrix());
}

PlainSteps plain_steps(const Calibration& calibration, const Light& under, Observer observer) {
    const ObserverMatrix target = observer_matrix(under, observer);
    return steps(calibration, target, best_matrix(calibration.sensor->rows(), target));
}

}  // namespace sw
