#include "spectral/lamp_doubt.hpp"

namespace sw {
namespace {

Eigen::Vector3d lab_under(const ObserverMatrix& to_xyz, const ModelSpectrum& reflectance) {
    const Eigen::Vector3d v = to_xyz * reflectance, w = to_xyz.rowwise().sum();
    const Lab value = lab(Xyz{v[0], v[1], v[2]}, Xyz{w[0], w[1], w[2]});
    return {value.L, value.a, value.b};
}

}  // namespace

Eigen::Matrix3Xd lamp_deviations(const Light& light, Observer observer, const ModelSpectrum& reflectance) {
    if (!light.may_be) return Eigen::Matrix3Xd(3, 0);
    const Eigen::Vector3d usual = lab_under(observer_matrix(light, observer), reflectance);
    Eigen::Matrix3Xd deviations(3, static_cast<Eigen::Index>(light.may_be->size()));
    for (Eigen::Index k = 0; k < deviations.cols(); ++k) {
        const Light instead{light.name, (*light.may_be)[static_cast<std::size_t>(k)]};
        deviations.col(k) = lab_under(observer_matrix(instead, observer), reflectance) - usual;
    }
    return deviations;
}

Eigen::Matrix3d lamp_covariance(const Eigen::Matrix3Xd& deviations) {
    if (deviations.cols() == 0) return Eigen::Matrix3d::Zero();
    return deviations * deviations.transpose() / static_cast<double>(deviations.cols());
}

}  // namespace sw
