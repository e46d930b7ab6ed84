#include "match/bounds.hpp"

#include <Eigen/Cholesky>
#include <cmath>

namespace sw {
namespace {

/// The reflectance that is largest along `price` among those that read `seen`: minimizes over l the convex
/// seen.l + sum softplus((price - rows' l) / m) m by damped Newton, with m falling; its slope being zero is rows * R = seen.
bool extreme(const Eigen::Matrix<double, 3, kModelBands>& rows, const Eigen::Vector3d& seen, const ModelSpectrum& price, ModelSpectrum& reflectance) {
    Eigen::Vector3d l = Eigen::Vector3d::Zero();
    const double top = price.cwiseAbs().maxCoeff();
    double off = 1e9;
    for (double m : {0.3 * top, 0.1 * top, 0.03 * top, 0.01 * top}) {
        const auto value = [&](const Eigen::Vector3d& at) {
            double sum = seen.dot(at);
            const ModelSpectrum x = (price - rows.transpose() * at) / m;
            for (double v : x) sum += m * (v > 30 ? v : std::log1p(std::exp(v)));
            return sum;
        };
        for (int round = 0; round < 40; ++round) {
            const ModelSpectrum x = (price - rows.transpose() * l) / m;
            reflectance = (1 + (-x.array()).exp()).inverse();
            const Eigen::Vector3d slope = seen - rows * reflectance;
            off = slope.cwiseAbs().maxCoeff();
            if (off < 1e-6) break;
            Eigen::Matrix3d curvature = rows * (reflectance.array() * (1 - reflectance.array()) / m).matrix().asDiagonal() * rows.transpose();
            curvature.diagonal().array() += 1e-9 * curvature.trace() + 1e-12;
            const Eigen::Vector3d step = -curvature.ldlt().solve(slope);
            const double now = value(l);
            double length = 1;
            while (length > 1e-6 && !(value(l + length * step) <= now + 1e-4 * length * slope.dot(step))) length /= 2;
            l += length * step;
        }
    }
    return off < 2e-3;
}

}  // namespace

std::vector<Eigen::Vector3d> mismatch_extremes(const Eigen::Matrix<double, 3, kModelBands>& rows, const Eigen::Vector3d& seen,
                                               const ObserverMatrix& target) {
    std::vector<Eigen::Vector3d> found;
    for (int x = -1; x <= 1; ++x) {
        for (int y = -1; y <= 1; ++y) {
            for (int z = -1; z <= 1; ++z) {
                const int parts = std::abs(x) + std::abs(y) + std::abs(z);
                if (parts != 1 && parts != 3) continue;  // faces and corners of a cube: 14 directions
                const ModelSpectrum price = target.transpose() * Eigen::Vector3d(x, y, z);
                ModelSpectrum reflectance;
                if (extreme(rows, seen, price, reflectance)) found.emplace_back(target * reflectance);
            }
        }
    }
    return found;
}

}  // namespace sw
