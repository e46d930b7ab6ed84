#include "calibrate/edition_choice.hpp"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>

#include "color/color.hpp"
#include "color/difference.hpp"

namespace sw {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr std::array<double, 6> kSigmas{0.003, 0.006, 0.012, 0.02, 0.035, 0.06};
constexpr std::array<double, 3> kScales{1, 4, 16};
constexpr double kClear = 6;

/// One edition's model: y = observation * sensitivity + ... + noise.
struct Hypothesis {
    VectorXd misfit, level;
    MatrixXd from_sensitivity, fixed;  // covariances of misfit: of prior scale 1; of doubts and measurement
};

struct Fit {
    double log_evidence = -1e300;
    MatrixXd inverse;  // of the covariance of misfit, at the likeliest noise and scale
};

Lab lab_of(const SensorModel& model, const Eigen::Vector3d& scene) {
    const Eigen::Vector3d v = 100 * (model.matrix() * scene);
    return lab(Xyz{v[0], v[1], v[2]}, kWhiteD50);
}

Hypothesis hypothesis(const SensorModel& model, const std::vector<ReferenceColor>& references, const std::vector<int>& patch,
                      const ChartColors& colors) {
    const auto n = static_cast<Index>(references.size());
    const Sensitivity& prior = model.setup().prior;
    MatrixXd observation = MatrixXd::Zero(3 * n, kSensitivitySize), by_doubts(3 * n, static_cast<int>(doubt_count));
    Hypothesis h{VectorXd(3 * n), VectorXd(3 * n), {}, MatrixXd::Zero(3 * n, 3 * n)};
    for (Index i = 0; i < n; ++i) {
        const ReferenceColor& r = references[static_cast<std::size_t>(i)];
        const int p = patch[static_cast<std::size_t>(i)];
        const ModelSpectrum reflectance = p < 0 ? r.reflectance : ModelSpectrum(colors.reflectance.col(p));
        const MatrixXd& open = p < 0 ? r.reflectance_covariance : colors.covariance[static_cast<std::size_t>(p)];
        for (int c = 0; c < 3; ++c) observation.row(3 * i + c).segment(c * kModelBands, kModelBands) = reflectance.transpose();
        by_doubts.middleRows<3>(3 * i) = model.scene_by_doubts(r.rgb, r.at);
        const Eigen::Vector3d expected = prior.mean * reflectance, level = model.rows() * reflectance;
        const Eigen::Matrix3d j = model.scene_by_rgb(r.rgb, r.at);
        Eigen::Matrix3d block = j * r.rgb_covariance * j.transpose() + r.tolerance * r.tolerance * level * level.transpose();
        if (open.size() > 0) block += model.rows() * open * model.rows().transpose();
        h.fixed.block<3, 3>(3 * i, 3 * i) = block;
        h.misfit.segment<3>(3 * i) = model.scene(r.rgb, r.at) - expected;
        h.level.segment<3>(3 * i) = expected.cwiseAbs();
    }
    h.misfit -= by_doubts * (model.doubts() - model.prior_doubts());
    h.fixed += by_doubts * model.prior_doubt_covariance() * by_doubts.transpose();
    h.from_sensitivity = observation * prior.covariance * observation.transpose();
    return h;
}

/// rows: those that count, three a reference.
Fit fitted(const Hypothesis& h, const std::vector<Index>& rows) {
    const auto n = static_cast<Index>(rows.size());
    VectorXd misfit(n), level(n);
    MatrixXd from(n, n), fixed(n, n);
    for (Index a = 0; a < n; ++a) {
        const Index i = rows[static_cast<std::size_t>(a)];
        misfit[a] = h.misfit[i];
        level[a] = h.level[i];
        for (Index b = 0; b < n; ++b) {
            const Index k = rows[static_cast<std::size_t>(b)];
            from(a, b) = h.from_sensitivity(i, k);
            fixed(a, b) = h.fixed(i, k);
        }
    }
    std::vector<double> all;
    double best = -1e300;
    Fit fit;
    for (double scale : kScales) {
        for (double sigma : kSigmas) {
            MatrixXd s = scale * from + fixed;
            s.diagonal() += (sigma * (level.array() + 0.1)).square().matrix();
            const Eigen::LLT<MatrixXd> llt(s);
            const VectorXd r = llt.matrixL().solve(misfit);
            all.push_back(-0.5 * r.squaredNorm() - llt.matrixLLT().diagonal().array().log().sum());
            if (all.back() > best) {
                best = all.back();
                fit.inverse = llt.solve(MatrixXd::Identity(n, n));
            }
        }
    }
    double sum = 0;
    for (double v : all) sum += std::exp(v - best);
    fit.log_evidence = best + std::log(sum);
    return fit;
}

/// Reference k of those that count: its left-out residual, and that squared in its own spread.
std::pair<Eigen::Vector3d, double> left_out(const Hypothesis& h, const Fit& fit, const std::vector<Index>& rows, Index k) {
    VectorXd misfit(static_cast<Index>(rows.size()));
    for (std::size_t a = 0; a < rows.size(); ++a) misfit[static_cast<Index>(a)] = h.misfit[rows[a]];
    const Eigen::Matrix3d spread = fit.inverse.block<3, 3>(3 * k, 3 * k).inverse();
    const Eigen::Vector3d off = spread * (fit.inverse.middleRows<3>(3 * k) * misfit);
    return {off, off.dot(spread.ldlt().solve(off))};
}

}  // namespace

EditionChoice choose_edition(const SensorModel& model, const std::vector<ReferenceColor>& references, const std::vector<int>& patch) {
    const Hypothesis before = hypothesis(model, references, patch, chart_colors(ChartEdition::before_2014)),
                     from = hypothesis(model, references, patch, chart_colors(ChartEdition::from_2014));
    std::vector<Index> rows;
    for (Index i = 0; i < 3 * static_cast<Index>(references.size()); ++i) rows.push_back(i);
    Fit a = fitted(before, rows), b = fitted(from, rows);
    constexpr double kOdd = 16.3;  // chi-square of 3 degrees of freedom, 99.9 %
    std::vector<Index> kept;
    for (Index k = 0; 3 * k < static_cast<Index>(rows.size()); ++k) {
        if (std::min(left_out(before, a, rows, k).second, left_out(from, b, rows, k).second) > kOdd) continue;
        for (int c = 0; c < 3; ++c) kept.push_back(3 * k + c);
    }
    if (kept.size() < rows.size() && kept.size() >= 3 * SensorModel::kEnoughForScale) {
        rows = kept;
        a = fitted(before, rows);
        b = fitted(from, rows);
    }
    EditionChoice choice;
    choice.log_odds = b.log_evidence - a.log_evidence;
    int count = 0;
    for (Index k = 0; 3 * k < static_cast<Index>(rows.size()); ++k) {
        const auto i = static_cast<std::size_t>(rows[static_cast<std::size_t>(3 * k)] / 3);
        if (patch[i] < 0) continue;
        ++count;
        const Eigen::Vector3d scene = model.scene(references[i].rgb, references[i].at);
        const Lab seen = lab_of(model, scene);
        choice.fits_before += difference_2000(seen, lab_of(model, scene - left_out(before, a, rows, k).first));
        choice.fits_from += difference_2000(seen, lab_of(model, scene - left_out(from, b, rows, k).first));
    }
    choice.fits_before /= std::max(count, 1);
    choice.fits_from /= std::max(count, 1);
    if (std::abs(choice.log_odds) > kClear) choice.edition = choice.log_odds > 0 ? ChartEdition::from_2014 : ChartEdition::before_2014;
    return choice;
}

}  // namespace sw
