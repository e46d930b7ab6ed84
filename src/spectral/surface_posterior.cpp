#include "spectral/surface_posterior.hpp"

#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

#include "spectral/random.hpp"
#include "spectral/surfaces.hpp"

namespace sw {
namespace {

constexpr double kFreeLevel = 0.2;  // level at which colors of free level are compared: a middle gray
constexpr double kWidth = 4;        // of the kernel, CIE94 units; see neighborhood()
constexpr int kCount = 600;
// Colors enter the regression times this, so that its ridge (3e-4, posterior.cpp) is nothing beside what neighbors vary by, in the dark too.
constexpr double kScale = 1000;

using Rows = Eigen::Matrix<double, 3, kModelBands>;

Eigen::Vector3d lab_coordinates(const Eigen::Vector3d& relative) {
    const Lab c = lab(Xyz{relative[0], relative[1], relative[2]}, Xyz{1, 1, 1});
    return {c.L, c.a, c.b};
}

/// Weights of what an eye reads that add up to its level: homogeneous, 1 for the diffuser, > 0 for every surface.
Eigen::RowVector3d level_weights(const Rows& rows) { return rows.rowwise().sum().cwiseInverse().transpose() / 3; }

/// d Lab / d relative XYZ, by central differences: 1e-5 of what they are at, or of the diffuser in the dark, errs by 1e-8.
Eigen::Matrix3d lab_slope(const Eigen::Vector3d& relative) {
    Eigen::Matrix3d slope;
    for (int j = 0; j < 3; ++j) {
        const double h = 1e-5 * std::max(relative[j], 0.01);
        Eigen::Vector3d up = relative, down = relative;
        up[j] += h;
        down[j] -= h;
        slope.col(j) = (lab_coordinates(up) - lab_coordinates(down)) / (2 * h);
    }
    return slope;
}

Eye make_eye(const Rows& rows, const Eigen::Matrix3d& relative, Level level) {
    Eye e{rows, relative, level, {}};
    if (level == Level::known) {
        e.view = lab_view(relative * rows, Eigen::Vector3d::Ones(), surface_library());
        return e;
    }
    // Each surface as if it were as light as the others: the reflectance over its level.
    const SurfaceLibrary& library = surface_library();
    const Eigen::RowVectorXf level_of = (level_weights(rows) * rows).cast<float>() * library;
    LibraryView same = library;
    for (Eigen::Index i = 0; i < same.cols(); ++i) same.col(i) *= static_cast<float>(kFreeLevel) / level_of[i];
    e.view = lab_view(relative * rows, Eigen::Vector3d::Ones(), same);
    return e;
}

/// A reading as it enters: at its own level or at the common one.
struct Entered {
    Eigen::Vector3d color, at;  // as read; Lab-like
    Eigen::Matrix3d noise;      // of color
    double level = 1;           // color as read = color * level
    double width = kWidth;      // of the kernel that its noise asks for
};

Entered enter(const SurfaceReading& reading) {
    Entered r{reading.color, {}, reading.covariance};
    if (reading.eye->level == Level::free) {
        const Eigen::RowVector3d weights = level_weights(reading.eye->rows);
        r.level = weights.dot(reading.color) / kFreeLevel;
        r.color = reading.color / r.level;
        const Eigen::Matrix3d slope = (Eigen::Matrix3d::Identity() - r.color * weights / kFreeLevel) / r.level;
        r.noise = slope * reading.covariance * slope.transpose();
    }
    const Eigen::Vector3d relative = reading.eye->relative * r.color;
    r.at = lab_coordinates(relative);
    const Eigen::Matrix3d to_lab = lab_slope(relative) * reading.eye->relative;
    r.width = std::max(kWidth, std::sqrt((to_lab * r.noise * to_lab.transpose()).trace() / 3));
    return r;
}

}  // namespace

Eye eye(const Light& light, Observer observer, Level level) {
    const ObserverMatrix rows = observer_matrix(light, observer);
    return make_eye(rows, rows.rowwise().sum().cwiseInverse().asDiagonal(), level);
}

Eye eye(const Rows& rows, const Eigen::Matrix3d& matrix, Level level) {
    const Eigen::Vector3d white(kWhiteD50.X / 100, kWhiteD50.Y / 100, kWhiteD50.Z / 100);
    return make_eye(rows, white.cwiseInverse().asDiagonal() * matrix, level);
}

ModelSpectrum SurfacePosterior::sd() const { return covariance.diagonal().cwiseMax(0).cwiseSqrt(); }

Eigen::MatrixXd SurfacePosterior::samples(int count, std::uint64_t seed) const {
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix<double, kModelBands, kModelBands>> eigen(covariance);
    const Eigen::MatrixXd root = eigen.eigenvectors() * eigen.eigenvalues().cwiseMax(0).cwiseSqrt().asDiagonal();
    Random random(seed);
    Eigen::MatrixXd normal(kModelBands, count);
    for (double& x : normal.reshaped()) x = random.normal();
    return (root * normal).colwise() + mean;
}

SurfaceColorRange SurfacePosterior::color(const Light& light, Observer observer) const {
    ObserverMatrix rows = observer_matrix(light, observer);
    const Eigen::Vector3d white = rows.rowwise().sum(), xyz_mean = 100 * (rows * mean);
    rows = white.cwiseInverse().asDiagonal() * rows;
    const Eigen::Matrix<double, 3, kModelBands> slope = lab_slope(rows * mean) * rows;
    return {lab(Xyz{xyz_mean[0], xyz_mean[1], xyz_mean[2]}, xyz(light, observer)),
            slope * covariance * slope.transpose() + 0.1 * 0.1 * Eigen::Matrix3d::Identity()};
}

Result<SurfacePosterior> surface_posterior(const std::vector<SurfaceReading>& readings) {
    assert(!readings.empty());
    std::vector<Entered> entered;
    std::vector<const LibraryView*> views;
    std::vector<Eigen::Vector3d> at;
    std::vector<double> pull;
    double width = std::numeric_limits<double>::infinity();
    bool all_free = true;
    for (const SurfaceReading& r : readings) {
        if (!r.color.allFinite() || !r.covariance.allFinite() || !(level_weights(r.eye->rows).dot(r.color) > 0)) {
            return Error{Fault::known_unusable, "", "", "a color without light in it tells nothing of a surface",
                         "give X, Y and Z (or R, G and B) above 0"};
        }
        entered.push_back(enter(r));
        views.push_back(&r.eye->view);
        at.push_back(entered.back().at);
        pull.push_back(kWidth * kWidth / (entered.back().width * entered.back().width));
        width = std::min(width, entered.back().width);
        all_free = all_free && r.eye->level == Level::free;
    }
    // The best reading says how far around it to look; the count grows as the volume that is looked at.
    const int count = static_cast<int>(std::min<double>(kSurfaces, kCount * std::pow(width / kWidth, 3)));
    const Neighborhood near = neighborhood(views, at, kWidth, count, pull);

    const auto n = static_cast<Eigen::Index>(near.index.size()), stacked = 3 * static_cast<Eigen::Index>(readings.size());
    Eigen::MatrixXd reflectance(kModelBands, n), seen(stacked, n), noise = Eigen::MatrixXd::Zero(stacked, stacked);
    Eigen::VectorXd color(stacked), unit = Eigen::VectorXd::Ones(n);
    for (Eigen::Index i = 0; i < n; ++i) reflectance.col(i) = surface_library().col(near.index[static_cast<std::size_t>(i)]).cast<double>();
    for (std::size_t k = 0; k < readings.size(); ++k) {
        const Eigen::Index row = 3 * static_cast<Eigen::Index>(k);
        const Rows& rows = readings[k].eye->rows;
        seen.middleRows<3>(row) = kScale * (rows * reflectance);
        if (readings[k].eye->level == Level::free) {
            const Eigen::VectorXd to_common = kFreeLevel * kScale * (level_weights(rows) * seen.middleRows<3>(row)).cwiseInverse().transpose();
            seen.middleRows<3>(row) *= to_common.asDiagonal();
            if (k == 0) unit = to_common;
        }
        color.segment<3>(row) = kScale * entered[k].color;
        noise.block<3, 3>(row, row) = kScale * kScale * entered[k].noise;
    }
    double level = 1;
    if (all_free) {
        reflectance *= unit.asDiagonal();
        level = entered.front().level;
    }
    const LocalMap map = local_map(near, std::move(seen), std::move(reflectance), color, noise);
    SurfacePosterior posterior;
    posterior.mean = level * map.mean;
    posterior.covariance = level * level * (map.residual + map.gain * noise * map.gain.transpose());
    posterior.distance = near.distance;
    return posterior;
}

Result<SurfacePosterior> surface_posterior(const Lab& color, const Eigen::Matrix3d& lab_covariance, const Light& light, Observer observer) {
    const Eye e = eye(light, observer);
    const Xyz c = xyz(Lab{color.L, color.a, color.b, xyz(light, observer)});
    const Eigen::Vector3d read(c.X / 100, c.Y / 100, c.Z / 100);
    const Eigen::Matrix3d from_lab = (lab_slope(e.relative * read) * e.relative).inverse();
    return surface_posterior({{&e, read, from_lab * lab_covariance * from_lab.transpose()}});
}

}  // namespace sw
