#include "spectral/smooth_surface.hpp"

#include <Eigen/LU>
#include <cmath>
#include <optional>

namespace sw {
namespace {

constexpr int kUnknowns = kModelBands + 3;
using Unknowns = Eigen::Matrix<double, kUnknowns, 1>;  // z = artanh(2 R - 1), then the three multipliers
using System = Eigen::Matrix<double, kUnknowns, kUnknowns>;

constexpr int kNewtonSteps = 40, kStages = 60;
constexpr double kClose = 1e-11;      // of XYZ with Y = 1
constexpr double kStationary = 1e-9;  // of the gradient, whose terms are of order 1
constexpr double kLongestStep = 2;    // of z: further the tangent says nothing
constexpr double kLeastStage = 1e-3;  // share of the way from gray to the color

/// Sum of squared steps as z' D z / 2.
System smoothness() {
    System d = System::Zero();
    for (int i = 0; i + 1 < kModelBands; ++i) {
        d(i, i) += 2;
        d(i + 1, i + 1) += 2;
        d(i, i + 1) -= 2;
        d(i + 1, i) -= 2;
    }
    return d;
}

/// Newton's method on gradient and constraint together, from `start`.
std::optional<Unknowns> solve(const ObserverMatrix& observer, const Eigen::Vector3d& color, Unknowns u) {
    static const System d = smoothness();
    for (int step = 0; step < kNewtonSteps; ++step) {
        const ModelSpectrum tanh = u.head<kModelBands>().array().tanh();
        const ModelSpectrum slope = (1 - tanh.array().square()) / 2;  // dR/dz
        const ModelSpectrum pull = observer.transpose() * u.tail<3>();
        Unknowns f = d * u;
        f.head<kModelBands>() += slope.cwiseProduct(pull);
        f.tail<3>() = observer * ((tanh.array() + 1) / 2).matrix() - color;
        if (!f.allFinite()) return std::nullopt;
        if (f.tail<3>().cwiseAbs().maxCoeff() < kClose && f.head<kModelBands>().cwiseAbs().maxCoeff() < kStationary) return u;
        System jacobian = d;
        jacobian.diagonal().head<kModelBands>() -= 2 * slope.cwiseProduct(tanh).cwiseProduct(pull);
        jacobian.topRightCorner<kModelBands, 3>() = slope.asDiagonal() * observer.transpose();
        jacobian.bottomLeftCorner<3, kModelBands>() = observer * slope.asDiagonal();
        Unknowns move = jacobian.partialPivLu().solve(f);
        const double longest = move.head<kModelBands>().cwiseAbs().maxCoeff();
        if (!(longest < 1e6)) return std::nullopt;
        if (longest > kLongestStep) move *= kLongestStep / longest;
        u -= move;
    }
    return std::nullopt;
}

}  // namespace

Result<ModelSpectrum> smooth_surface(const Xyz& color, const Light& light, Observer observer) {
    const Error impossible{Fault::known_unusable, "", "", "no smooth surface has this color under " + light.name,
                           "check the figures and the light; a surface that does not glow of itself is within the optimal-color solid"};
    const ObserverMatrix matrix = observer_matrix(light, observer);
    const Eigen::Vector3d goal(color.X / 100, color.Y / 100, color.Z / 100), white = matrix.rowwise().sum();
    if (!goal.allFinite() || !(goal.array() > 0).all() || !(goal.array() < white.array()).all()) return impossible;
    // From the gray of the same luminance, whose answer is known, to the color: at once, or in stages where Newton's method loses its way.
    Unknowns u = Unknowns::Zero();
    u.head<kModelBands>().setConstant(std::atanh(2 * goal[1] - 1));
    const Eigen::Vector3d gray = goal[1] * white;
    double done = 0, stage = 1;
    for (int k = 0; k < kStages && done < 1; ++k) {
        const double next = std::min(1.0, done + stage);
        if (const std::optional<Unknowns> found = solve(matrix, gray + next * (goal - gray), u)) {
            u = *found;
            done = next;
            stage *= 2;
        } else {
            stage /= 4;
            if (stage < kLeastStage) return impossible;
        }
    }
    if (done < 1) return impossible;
    const ModelSpectrum r = (u.head<kModelBands>().array().tanh() + 1) / 2;
    if (!(r.minCoeff() > 0) || !(r.maxCoeff() < 1)) return impossible;
    return r;
}

}  // namespace sw
