#include "calibrate/sensed.hpp"

namespace sw {

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

Eigen::Matrix3d feature_doubt(const Calibration& calibration, const SensedColor& sensed, const ModelSpectrum& reflectance) {
    const Eigen::MatrixXd slope = by_belief(sensed, reflectance);
    return slope * calibration.sensor->covariance() * slope.transpose();
}

}  // namespace sw
