#include "spectral/sensitivity.hpp"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <cmath>
#include <string>
#include <string_view>
#include <vector>

#include "camera_tables.hpp"
#include "color/adaptation.hpp"
#include "color/light.hpp"
#include "spectral/random.hpp"
#include "spectral/surfaces.hpp"

namespace sw {
namespace {

CameraStatistics read_statistics() {
    CameraStatistics statistics;
    const std::string text(camera_tables::file("camera_statistics.csv"));
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t end = std::min(text.find('\n', at), text.size());
        const std::string line = text.substr(at, end - at);
        at = end + 1;
        const bool mean = line.rfind("mean,", 0) == 0;
        if (!mean && line.rfind("component", 0) != 0) continue;
        Eigen::VectorXd row(kSensitivitySize);
        const char* p = line.c_str() + line.find(',');
        for (double& value : row) {
            char* next = nullptr;
            value = std::strtod(p + 1, &next);
            p = next;
        }
        if (mean)
            statistics.mean = row;
        else
            statistics.components.push_back(row);
    }
    return statistics;
}

constexpr int kTraining = 300;

/// Every so many-th surface of the library.
const Eigen::MatrixXd& training_surfaces() {
    static const Eigen::MatrixXd training = [] {
        Eigen::MatrixXd t(kModelBands, kTraining);
        const SurfaceLibrary& all = surface_library();
        for (int i = 0; i < kTraining; ++i) t.col(i) = all.col(i * (all.cols() / kTraining)).cast<double>();
        return t;
    }();
    return training;
}

/// White-preserving least squares: out = m * seen with m * (1,1,1) = white.
Eigen::Matrix3d white_preserving_fit(const Eigen::Matrix3Xd& seen, const Eigen::Matrix3Xd& out, const Eigen::Vector3d& white) {
    Eigen::Matrix2Xd x(2, seen.cols());
    x.row(0) = seen.row(0) - seen.row(1);
    x.row(1) = seen.row(2) - seen.row(1);
    const Eigen::Matrix3Xd y = out - white * seen.row(1);
    const Eigen::RowVectorXd weight = (out.row(1).array() / white[1] + 0.05).pow(-4.0 / 3.0);  // a step in L* is worth the same at all levels
    const Eigen::Matrix2Xd wx = x.array().rowwise() * weight.array();
    const Eigen::Matrix<double, 3, 2> q = (wx * x.transpose()).ldlt().solve(wx * y.transpose()).transpose();
    Eigen::Matrix3d m;
    m.col(0) = q.col(0);
    m.col(2) = q.col(1);
    m.col(1) = white - q.col(0) - q.col(1);
    return m;
}

Eigen::Matrix3d to_linear_srgb() {
    Eigen::Matrix3d m;
    for (int j = 0; j < 3; ++j) {
        Xyz unit;
        (j == 0 ? unit.X : j == 1 ? unit.Y : unit.Z) = 100;
        const LinearRgb c = linear_rgb(unit);
        m.col(j) << c.r, c.g, c.b;
    }
    return m;
}

/// From XYZ under a light's white to linear sRGB with that white at (1, 1, 1).
Eigen::Matrix3d adapted_to_srgb(const Light& light) {
    const Xyz white = xyz(light, Observer::degree2);
    Eigen::Matrix3d adaptation;
    for (int j = 0; j < 3; ++j) {
        Xyz unit;
        (j == 0 ? unit.X : j == 1 ? unit.Y : unit.Z) = 1;
        const Xyz c = adapt(unit, white, kWhiteD65);
        adaptation.col(j) << c.X, c.Y, c.Z;
    }
    return to_linear_srgb() * adaptation;
}

SensitivityRows under(const Eigen::VectorXd& camera, const ModelSpectrum& power) {
    SensitivityRows rows;
    for (int c = 0; c < 3; ++c) {
        rows.row(c) = camera.segment(c * kModelBands, kModelBands).cwiseProduct(power).transpose();
        rows.row(c) /= rows.row(c).sum();
    }
    return rows;
}

const std::vector<Light>& bench_lights() {
    static const std::vector<Light> lights = [] {
        std::vector<Light> list;
        for (const char* name : {"LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-V1", "LED-V2", "F2", "F7", "F11", "A", "D50",
                                 "D65", "daylight:7500", "planck:2400", "planck:3400"}) {
            if (Result<Light> l = light(name)) list.push_back(*l);
        }
        return list;
    }();
    return lights;
}

}  // namespace

const CameraStatistics& shipped_cameras() {
    static const CameraStatistics statistics = read_statistics();
    return statistics;
}

Sensitivity sensitivity_prior(const std::optional<Light>& lit_by, Rendering rendering, const CameraStatistics& statistics) {
    static const Light d65 = *light("D65");
    const std::vector<Light> only = lit_by ? std::vector<Light>{*lit_by} : std::vector<Light>{};
    const std::vector<Light>& lights = lit_by ? only : bench_lights();
    const int cameras = lit_by ? 160 : 24;
    const bool rendered = rendering == Rendering::rendered;

    const Eigen::Matrix3Xd goal_d65 = adapted_to_srgb(d65) * observer_matrix(d65, Observer::degree2) * training_surfaces();
    const ModelSpectrum power_d65 = on_model_grid(d65.power);
    std::vector<Eigen::VectorXd> draws;
    Random random(21);
    for (const Light& l : lights) {
        const std::vector<Bands> known{l.power};
        const std::vector<Bands>& spectra = l.may_be ? *l.may_be : known;
        const Eigen::Matrix3Xd goal_here = adapted_to_srgb(l) * observer_matrix(l, Observer::degree2) * training_surfaces();
        for (int k = 0; k < cameras; ++k) {
            Eigen::VectorXd camera = statistics.mean;
            for (const Eigen::VectorXd& component : statistics.components) camera += random.normal() * component;
            camera = camera.cwiseMax(0);
            SensitivityRows rows = under(camera, on_model_grid(spectra[static_cast<std::size_t>(k) % spectra.size()]));
            if (rendered) {
                const bool for_d65 = k % 2 == 0;  // the camera's matrix: made for daylight, or for this light
                const Eigen::Matrix3Xd seen = (for_d65 ? under(camera, power_d65) : rows) * training_surfaces();
                const Eigen::Matrix3d matrix = white_preserving_fit(seen, for_d65 ? goal_d65 : goal_here, Eigen::Vector3d::Ones());
                const double blue = std::exp(0.1 * random.normal()), red = std::exp(0.1 * random.normal());
                const Eigen::Vector3d balance(red, 1, blue);
                rows = (matrix * balance.asDiagonal() * rows).eval();
                for (int c = 0; c < 3; ++c) rows.row(c) /= rows.row(c).sum();
            }
            const Eigen::Matrix<double, kModelBands, 3> columns = rows.transpose();
            draws.emplace_back(Eigen::Map<const Eigen::VectorXd>(columns.data(), kSensitivitySize));
        }
    }
    Eigen::MatrixXd all(kSensitivitySize, static_cast<Eigen::Index>(draws.size()));
    for (std::size_t i = 0; i < draws.size(); ++i) all.col(static_cast<Eigen::Index>(i)) = draws[i];
    const Eigen::VectorXd mean = all.rowwise().mean();
    all.colwise() -= mean;
    Sensitivity prior;
    for (int c = 0; c < 3; ++c) prior.mean.row(c) = mean.segment(c * kModelBands, kModelBands).transpose();
    prior.covariance = all * all.transpose() / static_cast<double>(draws.size() - 1);

    // Slack: smooth departures (20 nm) in proportion to the channel, each row's sum kept.
    Eigen::MatrixXd kernel(kModelBands, kModelBands);
    for (int i = 0; i < kModelBands; ++i) {
        for (int j = 0; j < kModelBands; ++j) kernel(i, j) = std::exp(-std::pow(5.0 * (i - j), 2) / (2 * 20.0 * 20.0));
    }
    for (int c = 0; c < 3; ++c) {
        const ModelSpectrum e = prior.mean.row(c).transpose();
        const ModelSpectrum size = ((rendered ? 0.05 : 0.1) * (e.array().abs() + 0.1 * e.maxCoeff())).matrix();
        const Eigen::MatrixXd keep = Eigen::MatrixXd::Identity(kModelBands, kModelBands) - e * Eigen::RowVectorXd::Ones(kModelBands);
        prior.covariance.block(c * kModelBands, c * kModelBands, kModelBands, kModelBands) +=
            keep * size.asDiagonal() * kernel * size.asDiagonal() * keep.transpose();
    }
    return prior;
}

Eigen::Matrix3d best_matrix(const SensitivityRows& rows, const ObserverMatrix& observer) {
    return white_preserving_fit(rows * training_surfaces(), observer * training_surfaces(), observer.rowwise().sum());
}

}  // namespace sw
