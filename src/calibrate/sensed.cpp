#include "calibrate/sensed.hpp"

#include <algorithm>
#include <cmath>

#include "spectral/lamp_doubt.hpp"

namespace sw {
namespace {

// What references usually miss their fit by, where they are too few to tell; relative. The first blunts the map, the second widens its spread.
constexpr double kUsualMisfit = 0.01, kWideMisfit = 0.025;

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
    const double misfit = model.noise_by_evidence() ? model.noise() : std::max(model.noise(), kUsualMisfit);
    const double wide = model.noise_by_evidence() ? misfit : std::max(misfit, kWideMisfit);
    sensed.noise += misfit * misfit * by_level * by_level.transpose();
    const std::vector<Eigen::Vector3d> at{sensed.feature};
    Neighborhood near = neighborhood({&model.view()}, at);
    // Two passes: the doubt about the sensitivity weighs with the surface's reflectance, which the first pass gives.
    LocalMap map = local_map(near, {&model.view()}, at, sensed.noise, {&target, &reflectance_view()});
    const Eigen::Matrix3d doubt = sensed.noise + feature_doubt(calibration, sensed, map.mean.tail<kModelBands>());
    const Eigen::Matrix3d lamp = lamp_covariance(lamp_deviations(under, observer, map.mean.tail<kModelBands>()));
    // A doubt wider than the kernel would be cut down to it: the neighborhood grows with it.
    near = neighborhood({&model.view()}, at, std::max(4.0, std::sqrt(doubt.trace() / 3)));
    map = local_map(near, {&model.view()}, at, doubt, {&target, &model.second_view()});
    const Eigen::Matrix3d gain = map.gain.topRows<3>();
    // The mean of two opinions, and half of what they differ by as doubt; where a plain map won, all the way to it.
    const Eigen::Vector3d there = map.mean.segment<3>(3);
    const Eigen::Vector3d apart = calibration.map ? Eigen::Vector3d(model.opinion_of(*calibration.map, sensed.scene) - there)
                                                  : Eigen::Vector3d((model.second_opinion(sensed.scene) - there) / 2);
    const Eigen::Matrix3d spread = doubt + (wide * wide - misfit * misfit) * by_level * by_level.transpose();
    const Eigen::Matrix3d covariance = kSpread * map.residual.topLeftCorner<3, 3>() + gain * spread * gain.transpose() + apart * apart.transpose();
    return {map.mean.head<3>() + apart, covariance + lamp + 0.1 * 0.1 * Eigen::Matrix3d::Identity(), near.distance};
}

Eigen::Matrix3d feature_doubt(const Calibration& calibration, const SensedColor& sensed, const ModelSpectrum& reflectance) {
    const Eigen::MatrixXd slope = by_belief(sensed, reflectance);
    return slope * calibration.sensor->covariance() * slope.transpose();
}

}  // namespace sw
