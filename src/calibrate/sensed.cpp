#include "calibrate/sensed.hpp"

#include <algorithm>
#include <cmath>

namespace sw {
namespace {

constexpr double kLeastMisfit = 0.025;  // relative: what a chart's patches usually miss their fit by, where there is no chart to tell

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

SurfaceColor surface_color(const Calibration& calibration, const RegionStatistics& statistics, Point place, const LibraryView& target) {
    const SensorModel& model = *calibration.sensor;
    SensedColor sensed = sense(calibration, statistics, place);
    // What the references could not be made to fit, this color may miss as well.
    const Eigen::Vector3d misfit = std::max(model.noise(), kLeastMisfit) * (sensed.scene.array() + 0.1).matrix();
    sensed.noise += sensed.by_scene * misfit.cwiseAbs2().asDiagonal() * sensed.by_scene.transpose();
    const std::vector<Eigen::Vector3d> at{sensed.feature};
    Neighborhood near = neighborhood({&model.view()}, at);
    // Two passes: the doubt about the sensitivity weighs with the surface's reflectance, which the first pass gives.
    LocalMap map = local_map(near, {&model.view()}, at, sensed.noise, {&target, &reflectance_view()});
    const Eigen::Matrix3d doubt = sensed.noise + feature_doubt(calibration, sensed, map.mean.tail<kModelBands>());
    // A doubt wider than the kernel would be cut down to it: the neighborhood grows with it.
    near = neighborhood({&model.view()}, at, std::max(4.0, std::sqrt(doubt.trace() / 3)));
    map = local_map(near, {&model.view()}, at, doubt, {&target});
    return {map.mean.head<3>(),
            kSpread * map.residual.topLeftCorner<3, 3>() + map.gain * doubt * map.gain.transpose() + 0.1 * 0.1 * Eigen::Matrix3d::Identity(),
            near.distance};
}

Eigen::Matrix3d feature_doubt(const Calibration& calibration, const SensedColor& sensed, const ModelSpectrum& reflectance) {
    const Eigen::MatrixXd slope = by_belief(sensed, reflectance);
    return slope * calibration.sensor->covariance() * slope.transpose();
}

}  // namespace sw
