#include "spectral/raw_matrix.hpp"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <array>
#include <cmath>

#include "color/light.hpp"
#include "spectral/posterior.hpp"

namespace sw {
namespace {

using Vector9d = Eigen::Matrix<double, 9, 1>;

// Of an entry of the red, green, blue row, white at 1: twice (blue, green) and half as much again (red) as matrices fitted on a chart stand from
// those fitted on other surfaces, over 23 cameras (root mean square 0.037, 0.011, 0.011).
constexpr std::array<double, 3> kSpread{0.055, 0.025, 0.022};

/// Row by row, each scaled so that the light's white gives 1. Nothing where a row gives white no value.
std::optional<Vector9d> scaled(const Eigen::Matrix3d& m, const Eigen::Vector3d& white) {
    Vector9d all;
    for (int r = 0; r < 3; ++r) {
        const double level = m.row(r) * white;
        if (!(level > 1e-6)) return std::nullopt;
        all.segment<3>(3 * r) = m.row(r).transpose() / level;
    }
    return all;
}

}  // namespace

std::optional<CameraStatistics> cameras_with_matrix(const CameraStatistics& cameras, const Eigen::Matrix3d& from_xyz_d65) {
    static const Light d65 = *light("D65");
    static const ModelSpectrum power = on_model_grid(d65.power);
    static const ObserverMatrix observer = observer_matrix(d65, Observer::degree2);
    const Eigen::Vector3d white = observer.rowwise().sum();
    if (!from_xyz_d65.allFinite()) return std::nullopt;
    const std::optional<Vector9d> seen = scaled(from_xyz_d65, white);
    if (!seen || !(std::abs(from_xyz_d65.determinant()) > 1e-9) || !(seen->cwiseAbs().maxCoeff() < 10)) return std::nullopt;

    const auto n = static_cast<Eigen::Index>(cameras.components.size());
    Eigen::MatrixXd components(kSensitivitySize, n);
    for (Eigen::Index k = 0; k < n; ++k) components.col(k) = cameras.components[static_cast<std::size_t>(k)];
    const auto matrix_of = [&](const Eigen::VectorXd& z) {
        const Eigen::VectorXd camera = (cameras.mean + components * z).cwiseMax(0);
        SensitivityRows rows;
        for (int c = 0; c < 3; ++c) {
            rows.row(c) = camera.segment<kModelBands>(c * kModelBands).cwiseProduct(power).transpose();
            rows.row(c) /= rows.row(c).sum();
        }
        return scaled(best_matrix(rows, observer).inverse(), white).value_or(*seen);
    };
    Eigen::VectorXd z = Eigen::VectorXd::Zero(n);
    Eigen::MatrixXd left = Eigen::MatrixXd::Identity(n, n);
    for (int round = 0; round < 2; ++round) {
        const Vector9d here = matrix_of(z);
        Eigen::MatrixXd slope(9, n);
        constexpr double h = 0.1;
        for (Eigen::Index k = 0; k < n; ++k) slope.col(k) = (matrix_of(z + h * Eigen::VectorXd::Unit(n, k)) - here) / h;
        Eigen::MatrixXd spread = slope * slope.transpose();
        for (Eigen::Index i = 0; i < 9; ++i) spread(i, i) += std::pow(kSpread[static_cast<std::size_t>(i / 3)], 2);
        const Eigen::LLT<Eigen::MatrixXd> llt(spread);
        const Eigen::VectorXd off = *seen - here + slope * z;
        if (round == 0 && off.dot(llt.solve(off)) > 34) return std::nullopt;  // chi-square of 9, 99.99 %
        z = slope.transpose() * llt.solve(off);
        left = Eigen::MatrixXd::Identity(n, n) - slope.transpose() * llt.solve(slope);
    }
    const Eigen::MatrixXd root = (0.5 * (left + left.transpose())).llt().matrixL();
    CameraStatistics informed{cameras.mean + components * z, {}};
    for (Eigen::Index k = 0; k < n; ++k) informed.components.emplace_back(components * root.col(k));
    return informed;
}

}  // namespace sw
