// Gaussian belief brought to readings by Gauss-Newton, worked in the space of the readings (there are fewer of them than of unknowns).
#pragma once

#include <Eigen/Cholesky>
#include <Eigen/Core>

#include <cmath>
#include <initializer_list>
#include <utility>

namespace sw {

/// What the unknowns make of the readings, and how that moves with them.
struct Predicted {
    Eigen::VectorXd value;  // readings
    Eigen::MatrixXd slope;  // readings x unknowns
};

struct Updated {
    Eigen::VectorXd mean;
    Eigen::MatrixXd covariance;
    Eigen::VectorXd misfit;     // readings less what the mean makes of them
    double log_evidence = 0;    // of the readings, at the last linearization; without the constant of 2 pi
    Eigen::MatrixXd precision;  // of the readings before they were read, at the last linearization
    Eigen::VectorXd weighted;   // precision times what was read less what was expected: tells what each reading is without itself
};

/// Unknowns start as N(0, prior), readings err by N(0, noise) about predict(unknowns). At most 25 steps, each halved until the posterior grows.
/// heats: factors on the noise, the last 1, gone through in turn, so that what is known well does not run off before what is open is near.
/// Source: Bell & Cathey 1993, IEEE Trans. Autom. Control 38, 294 (the iterated Kalman update is Gauss-Newton).
template <class Predict>
[[nodiscard]] Updated gauss_newton(const Eigen::MatrixXd& prior, const Eigen::VectorXd& readings, const Eigen::MatrixXd& noise,
                                   const Predict& predict, std::initializer_list<double> heats = {1.0}) {
    const Eigen::LLT<Eigen::MatrixXd> noise_root(noise);
    Eigen::VectorXd x = Eigen::VectorXd::Zero(prior.rows()), p = x;  // p = prior^-1 x
    Predicted now = predict(x);
    const auto cost = [&](const Predicted& at, const Eigen::VectorXd& ax, const Eigen::VectorXd& ap, double heat) {
        return ax.dot(ap) + noise_root.matrixL().solve(readings - at.value).squaredNorm() / heat;
    };
    Updated answer;
    for (const double heat : heats) {
        double best = cost(now, x, p, heat);
        for (int step = 0; step < 25; ++step) {
            const Eigen::MatrixXd spread = prior * now.slope.transpose();
            const Eigen::LLT<Eigen::MatrixXd> seen(now.slope * spread + heat * noise);
            const Eigen::VectorXd lambda = seen.solve(readings - now.value + now.slope * x);
            const Eigen::VectorXd to_x = spread * lambda, to_p = now.slope.transpose() * lambda;
            const double before = best;
            for (double t = 1; t > 1e-3; t /= 2) {
                const Eigen::VectorXd tx = x + t * (to_x - x), tp = p + t * (to_p - p);
                Predicted there = predict(tx);
                const double c = cost(there, tx, tp, heat);
                if (!(c < best)) continue;
                x = tx;
                p = tp;
                now = std::move(there);
                best = c;
                break;
            }
            if (best > before - (heat > 1 ? 1e-2 : 1e-6) * (1 + before)) break;
        }
    }
    const Eigen::MatrixXd spread = prior * now.slope.transpose();
    const Eigen::LLT<Eigen::MatrixXd> seen(now.slope * spread + noise);
    const Eigen::VectorXd v = readings - now.value + now.slope * x;
    answer.mean = x;
    answer.covariance = prior - spread * seen.solve(spread.transpose());
    answer.misfit = readings - now.value;
    answer.precision = seen.solve(Eigen::MatrixXd::Identity(v.size(), v.size()));
    answer.weighted = seen.solve(v);
    answer.log_evidence = -0.5 * v.dot(answer.weighted) - seen.matrixLLT().diagonal().array().log().sum();
    return answer;
}

/// L with L L' = covariance; what rounding made slightly negative is lifted.
[[nodiscard]] inline Eigen::MatrixXd root_of(const Eigen::MatrixXd& covariance) {
    if (covariance.size() == 0) return covariance;
    const double lift = 1e-10 * (1 + covariance.diagonal().cwiseAbs().maxCoeff());
    Eigen::MatrixXd c = (covariance + covariance.transpose()) / 2;
    c.diagonal().array() += lift;
    for (double more = lift;; more *= 10) {
        const Eigen::LLT<Eigen::MatrixXd> root(c);
        if (root.info() == Eigen::Success) return root.matrixL();
        c.diagonal().array() += more;
    }
}

}  // namespace sw
