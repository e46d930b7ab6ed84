#include "spectral/chart_edition.hpp"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <cmath>
#include <cstdlib>

#include "color/color.hpp"
#include "color/light.hpp"
#include "sample_tables.hpp"

namespace sw {
namespace {

using Eigen::Matrix3d;
using Eigen::MatrixXd;
using Eigen::Vector3d;

constexpr double kPigmentWidth = 50;     // nm: how smoothly a changed pigment changes a reflectance; our own judgment, no source
constexpr double kPrintRounding = 0.03;  // of the printed Lab, and of what charts of one edition differ by where it matters least

Eigen::Matrix<double, 3, 24> labs_of(const char* file) {
    Eigen::Matrix<double, 3, 24> m = Eigen::Matrix<double, 3, 24>::Zero();
    const std::string_view text = sample_tables::file(file);
    std::size_t at = 0;
    while (at < text.size()) {
        const std::size_t end = std::min(text.find('\n', at), text.size());
        const std::string line(text.substr(at, end - at));
        at = end + 1;
        char* next = nullptr;
        const long patch = std::strtol(line.c_str(), &next, 10);
        if (next == line.c_str() || patch < 1 || patch > 24) continue;
        for (int k = 0; k < 3; ++k) m(k, patch - 1) = std::strtod(next + 1, &next);
    }
    return m;
}

/// Lab under D50 of log odds, and its slope.
struct Seen {
    Vector3d lab;
    Eigen::Matrix<double, 3, kModelBands> slope;
};
Seen seen(const ModelSpectrum& z, const ObserverMatrix& to_xyz) {
    const ModelSpectrum r = from_log_odds(z);
    const Vector3d v = to_xyz * r;
    const auto lab_at = [](const Vector3d& xyz_of) {
        const Lab l = lab(Xyz{100 * xyz_of[0], 100 * xyz_of[1], 100 * xyz_of[2]}, kWhiteD50);
        return Vector3d(l.L, l.a, l.b);
    };
    Matrix3d by_xyz;
    constexpr double h = 1e-6;
    for (int k = 0; k < 3; ++k) by_xyz.col(k) = (lab_at(v + h * Vector3d::Unit(k)) - lab_at(v - h * Vector3d::Unit(k))) / (2 * h);
    return {lab_at(v), by_xyz * to_xyz * (r.array() * (1 - r.array())).matrix().asDiagonal()};
}

ChartColors moved_to(const Eigen::Matrix<double, 3, 24>& goal) {
    MatrixXd smooth(kModelBands, kModelBands);
    for (int i = 0; i < kModelBands; ++i) {
        for (int j = 0; j < kModelBands; ++j) smooth(i, j) = std::exp(-0.5 * std::pow((model_nm(i) - model_nm(j)) / kPigmentWidth, 2));
    }
    const ObserverMatrix to_xyz = observer_matrix(*light("D50"), Observer::degree2);
    const Matrix3d noise = kPrintRounding * kPrintRounding * Matrix3d::Identity();
    ChartColors colors;
    double size = 0;  // mean square of the change, in units of `smooth`
    std::array<ModelSpectrum, 24> changed;
    for (int i = 0; i < 24; ++i) {
        const auto old = chart_reflectances().col(i).array().max(1e-3).min(0.999);
        const ModelSpectrum start = (old / (1 - old)).log();
        ModelSpectrum z = start;
        for (int round = 0; round < 20; ++round) {
            const Seen now = seen(z, to_xyz);
            const Matrix3d spread = now.slope * smooth * now.slope.transpose();
            const Vector3d left = goal.col(i) - now.lab + now.slope * (z - start);
            z = start + smooth * now.slope.transpose() * spread.ldlt().solve(left);
            if (round == 19) size += left.dot(spread.ldlt().solve(left)) / (3 * 24);
        }
        changed[static_cast<std::size_t>(i)] = z;
    }
    for (int i = 0; i < 24; ++i) {
        const ModelSpectrum& z = changed[static_cast<std::size_t>(i)];
        const Eigen::Matrix<double, 3, kModelBands> slope = seen(z, to_xyz).slope;
        const MatrixXd prior = size * smooth, gain = prior * slope.transpose() * (slope * prior * slope.transpose() + noise).inverse();
        const MatrixXd open = prior - gain * slope * prior;
        const ModelSpectrum r = from_log_odds(z), by_z = r.array() * (1 - r.array());
        colors.reflectance.col(i) = r;
        colors.covariance[static_cast<std::size_t>(i)] = by_z.asDiagonal() * (0.5 * (open + open.transpose())) * by_z.asDiagonal();
    }
    return colors;
}

}  // namespace

std::string to_word(ChartEdition edition) { return edition == ChartEdition::from_2014 ? "of 2014" : "before 2014"; }

const ChartColors& chart_colors(ChartTable table) {
    static const ChartColors one{chart_reflectances(), {}};
    if (table == ChartTable::one_before) return one;
    static const ChartColors mean = moved_to(labs_of("chart24_lab_mean.csv")), from = moved_to(labs_of("chart24_lab_2014.csv"));
    return table == ChartTable::mean_before ? mean : from;
}

ChartColors chart_colors(const std::array<double, kChartTables>& shares) {
    ChartColors mixed;
    mixed.reflectance.setZero();
    for (std::size_t t = 0; t < kChartTables; ++t) {
        if (shares[t] > 0.999) return chart_colors(static_cast<ChartTable>(t));
        mixed.reflectance += shares[t] * chart_colors(static_cast<ChartTable>(t)).reflectance;
    }
    for (int i = 0; i < 24; ++i) {
        const auto k = static_cast<std::size_t>(i);
        mixed.covariance[k] = MatrixXd::Zero(kModelBands, kModelBands);
        for (std::size_t t = 0; t < kChartTables; ++t) {
            const ChartColors& one = chart_colors(static_cast<ChartTable>(t));
            const ModelSpectrum off = one.reflectance.col(i) - mixed.reflectance.col(i);
            mixed.covariance[k] += shares[t] * off * off.transpose();
            if (one.covariance[k].size() > 0) mixed.covariance[k] += shares[t] * one.covariance[k];
        }
    }
    return mixed;
}

}  // namespace sw
