#include "calibrate/sensed.hpp"

#include <algorithm>
#include <cmath>

#include "calibrate/ladder.hpp"
#include "spectral/lamp_doubt.hpp"

namespace sw {
namespace {

const Light& d50() {
    static const Light light_d50 = *light("D50");
    return light_d50;
}

}  // namespace
Point center(const Region& region) {
    const Box box = bounds(region);
    return {box.x + box.w / 2, box.y + box.h / 2};
}

SensedColor sense(const Calibration& calibration, const RegionStatistics& statistics, Point at) {
    const SensorModel& model = *calibration.sensor;
    SensedColor s;
    s.scene = model.scene(statistics.mean, at).cwiseMax(1e-5);
    s.feature = model.feature(s.scene);
    s.by_scene = model.feature_by_scene(s.scene);
    const Eigen::Matrix3d by_rgb = s.by_scene * model.scene_by_rgb(statistics.mean, at);
    s.noise = by_rgb * statistics.covariance * by_rgb.transpose();
    // Light that changes too finely for the model: a part of the region's own slope, common to all channels.
    const double fine = 0.002 + 0.03 * statistics.gradient;
    const Eigen::Vector3d level = s.by_scene * s.scene;
    s.noise += fine * fine * level * level.transpose();
    s.by_doubts = s.by_scene * model.scene_by_doubts(statistics.mean, at);
    return s;
}

Eigen::MatrixXd by_belief(const SensedColor& sensed, const ModelSpectrum& reflectance) {
    Eigen::MatrixXd slope(3, kBeliefSize);
    for (int c = 0; c < 3; ++c) {  // a sensitivity that sees more of the surface makes this reading mean less
        slope.middleCols(c * kModelBands, kModelBands) = -sensed.by_scene.col(c) * reflectance.transpose();
    }
    slope.rightCols<doubt_count>() = sensed.by_doubts;
    return slope;
}

SurfaceColor surface_color(const Calibration& calibration, const RegionStatistics& statistics, Point place, const Light& under, Observer observer,
                           const LibraryView& target) {
    const SensorModel& model = *calibration.sensor;
    SensedColor sensed = sense(calibration, statistics, place);
    // What the references could not be made to fit, this color may miss as well.
    const Eigen::Matrix3d by_level = sensed.by_scene * (sensed.scene.array() + 0.1).matrix().asDiagonal();
    const Eigen::Matrix3d misfit = by_level * by_level.transpose();
    sensed.noise += model.noise() * model.noise() * misfit;
    const std::vector<Eigen::Vector3d> at{sensed.feature};
    const Neighborhood near = neighborhood({&model.view()}, at);
    // The gain knows the region's own noise alone: the doubt about the camera is the same for all colors of a photo, and pulling each of them toward
    // its likeliest neighbors makes them worse (tests/calibrate/cameras_study.cpp: gray card 1.84 instead of 1.78).
    std::vector<const LibraryView*> targets{&target, &reflectance_view()};
    const Light& here = model.lit_by() ? *model.lit_by() : d50();
    LibraryView as_lit;
    if (calibration.map) targets.push_back(&(as_lit = lab_view(here, Observer::degree2)));
    const LocalMap map = local_map(near, {&model.view()}, at, sensed.noise, targets);
    const ModelSpectrum reflectance = map.mean.segment<kModelBands>(3);
    const Eigen::Matrix3d gain = map.gain.topRows<3>();
    const double open = model.noise_as_doubt() * model.noise_as_doubt() - model.noise() * model.noise();
    const Eigen::Matrix3d doubt = sensed.noise + std::max(open, 0.0) * misfit + feature_doubt(calibration, sensed, reflectance);
    SurfaceColor found{map.mean.head<3>(), kSpread * map.residual.topLeftCorner<3, 3>() + gain * doubt * gain.transpose(), near.distance};
    if (calibration.map) {  // moved to where the plain map reads it, that move being doubt as well
        const Eigen::Vector3d apart = lab_by(*calibration.map, sensed.scene, xyz(here, Observer::degree2)) - map.mean.tail<3>();
        found.lab += apart;
        found.covariance += apart * apart.transpose();
    }
    found.covariance += lamp_covariance(lamp_deviations(under, observer, reflectance)) + 0.1 * 0.1 * Eigen::Matrix3d::Identity();
    return found;
}

Eigen::Matrix3d feature_doubt(const Calibration& calibration, const SensedColor& sensed, const ModelSpectrum& reflectance) {
    const Eigen::MatrixXd slope = by_belief(sensed, reflectance);
    return slope * calibration.sensor->covariance() * slope.transpose();
}

}  // namespace sw
