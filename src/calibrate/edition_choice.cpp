#include "calibrate/edition_choice.hpp"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>

namespace sw {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr std::array<double, 4> kSigmas{0.004, 0.01, 0.025, 0.06};
constexpr std::array<double, 3> kScales{1, 4, 16};
constexpr double kTempered = 4;
constexpr std::array<double, kChartTables> kUsual{0.25, 0.25, 0.5};  // before the photo is looked at

/// One table's model: y = observation * sensitivity + ... + noise.
struct Hypothesis {
    VectorXd misfit, level;
    MatrixXd from_sensitivity, fixed;  // covariances of misfit: of prior scale 1; of doubts and measurement
};

struct Fit {
    double log_evidence = -1e300;
    MatrixXd inverse;  // of the covariance of misfit, at the likeliest noise and scale
};

Hypothesis hypothesis(const SensorModel& model, const std::vector<ReferenceColor>& references, const std::vector<int>& patch,
                      const ChartColors& colors) {
    const auto n = static_cast<Index>(references.size());
    const Sensitivity& prior = model.setup().prior;
    MatrixXd reflectances(n, kModelBands), by_doubts(3 * n, static_cast<int>(doubt_count));
    Hypothesis h{VectorXd(3 * n), VectorXd(3 * n), {}, MatrixXd::Zero(3 * n, 3 * n)};
    for (Index i = 0; i < n; ++i) {
        const ReferenceColor& r = references[static_cast<std::size_t>(i)];
        const int p = patch[static_cast<std::size_t>(i)];
        const ModelSpectrum reflectance = p < 0 ? r.reflectance : ModelSpectrum(colors.reflectance.col(p));
        const MatrixXd& open = p < 0 ? r.reflectance_covariance : colors.covariance[static_cast<std::size_t>(p)];
        reflectances.row(i) = reflectance.transpose();
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
    h.from_sensitivity.resize(3 * n, 3 * n);
    for (Index a = 0; a < 3; ++a) {  // channel by channel: the observation is mostly zeros
        for (Index b = 0; b <= a; ++b) {
            const MatrixXd part =
                reflectances * prior.covariance.block<kModelBands, kModelBands>(a * kModelBands, b * kModelBands) * reflectances.transpose();
            for (Index i = 0; i < n; ++i) {
                for (Index k = 0; k < n; ++k) h.from_sensitivity(3 * k + b, 3 * i + a) = h.from_sensitivity(3 * i + a, 3 * k + b) = part(i, k);
            }
        }
    }
    return h;
}

/// rows: those that count, three a reference.
Fit fitted(const Hypothesis& h, const std::vector<Index>& rows, bool inverse) {
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
    MatrixXd likeliest;
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
                likeliest = s;
            }
        }
    }
    double sum = 0;
    for (double v : all) sum += std::exp(v - best);
    fit.log_evidence = best + std::log(sum);
    if (inverse) fit.inverse = likeliest.llt().solve(MatrixXd::Identity(n, n));
    return fit;
}

/// Reference k's left-out residual, squared in its own spread.
double left_out(const Hypothesis& h, const Fit& fit, Index k) {
    const Eigen::Matrix3d spread = fit.inverse.block<3, 3>(3 * k, 3 * k).inverse();
    const Eigen::Vector3d off = spread * (fit.inverse.middleRows<3>(3 * k) * h.misfit);
    return off.dot(spread.ldlt().solve(off));
}

}  // namespace

EditionChoice choose_edition(const SensorModel& model, const std::vector<ReferenceColor>& references, const std::vector<int>& patch,
                             const std::optional<ChartEdition>& only) {
    std::array<Hypothesis, kChartTables> tables;
    std::array<Fit, kChartTables> fits;
    std::vector<Index> rows;
    for (Index i = 0; i < 3 * static_cast<Index>(references.size()); ++i) rows.push_back(i);
    for (std::size_t t = 0; t < kChartTables; ++t) {
        tables[t] = hypothesis(model, references, patch, chart_colors(static_cast<ChartTable>(t)));
        fits[t] = fitted(tables[t], rows, true);
    }
    constexpr double kOdd = 16.3;  // chi-square of 3 degrees of freedom, 99.9 %
    std::vector<Index> kept;
    for (Index k = 0; 3 * k < static_cast<Index>(rows.size()); ++k) {
        double least = kOdd;
        for (std::size_t t = 0; t < kChartTables; ++t) least = std::min(least, left_out(tables[t], fits[t], k));
        if (least >= kOdd) continue;
        for (int c = 0; c < 3; ++c) kept.push_back(3 * k + c);
    }
    if (kept.size() < rows.size() && kept.size() >= 3 * SensorModel::kEnoughForScale) {
        for (std::size_t t = 0; t < kChartTables; ++t) fits[t] = fitted(tables[t], kept, false);
    }
    EditionChoice choice;
    const auto share_out = [&](auto counts) {
        double best = -1e300, sum = 0;
        for (std::size_t t = 0; t < kChartTables; ++t) best = counts(t) ? std::max(best, fits[t].log_evidence) : best;
        for (std::size_t t = 0; t < kChartTables; ++t)
            sum += choice.shares[t] = counts(t) ? kUsual[t] * std::exp((fits[t].log_evidence - best) / kTempered) : 0;
        for (double& share : choice.shares) share /= sum;
    };
    share_out([](std::size_t) { return true; });
    for (std::size_t t = 0; t < kChartTables; ++t) {
        if (edition_of(static_cast<ChartTable>(t)) == ChartEdition::from_2014) choice.chance_2014 += choice.shares[t];
    }
    if (only) share_out([&](std::size_t t) { return edition_of(static_cast<ChartTable>(t)) == *only; });
    return choice;
}

}  // namespace sw
