// Camera statistics from a table of sensitivities: mean and principal components, each channel scaled to unit area.
#pragma once

#include <Eigen/Dense>
#include <vector>

#include "spectral/sensitivity.hpp"

namespace sw::test {

/// Three channels stacked, 380..730 nm each, any scale.
using CameraTable = std::vector<Eigen::VectorXd>;

inline CameraStatistics learn_statistics(const CameraTable& cameras, int rank) {
    Eigen::MatrixXd all(kSensitivitySize, static_cast<Eigen::Index>(cameras.size()));
    for (std::size_t i = 0; i < cameras.size(); ++i) {
        Eigen::VectorXd s = cameras[i];
        for (int c = 0; c < 3; ++c) s.segment(c * kModelBands, kModelBands) /= s.segment(c * kModelBands, kModelBands).sum();
        all.col(static_cast<Eigen::Index>(i)) = s;
    }
    CameraStatistics statistics;
    statistics.mean = all.rowwise().mean();
    const Eigen::MatrixXd spread = (all.colwise() - statistics.mean) / std::sqrt(static_cast<double>(cameras.size() - 1));
    const Eigen::JacobiSVD<Eigen::MatrixXd> svd(spread, Eigen::ComputeThinU);
    for (int k = 0; k < rank; ++k) {
        Eigen::VectorXd u = svd.matrixU().col(k) * svd.singularValues()[k];
        Eigen::Index largest = 0;
        u.cwiseAbs().maxCoeff(&largest);
        if (u[largest] < 0) u = -u;  // the sign is free: fixed so that the file is always the same
        statistics.components.push_back(u);
    }
    return statistics;
}

}  // namespace sw::test
