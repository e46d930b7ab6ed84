#include "spectral/posterior.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <numeric>

#include "spectral/surfaces.hpp"

namespace sw {
namespace {

constexpr int kNeighbors = 600, kNearest = 60;

float lab_function(float t) {
    constexpr float edge = 216.0F / 24389.0F, slope = 841.0F / 108.0F;
    return t > edge ? std::cbrt(t) : slope * t + 4.0F / 29.0F;
}

LibraryView lab_of(const Eigen::Matrix<float, 3, kModelBands>& to_relative) {
    LibraryView view = to_relative * surface_library();
    for (Eigen::Index i = 0; i < view.cols(); ++i) {
        const float x = lab_function(view(0, i)), y = lab_function(view(1, i)), z = lab_function(view(2, i));
        view.col(i) << 116 * y - 16, 500 * (x - y), 200 * (y - z);
    }
    return view;
}

/// CIE94 metric at a color: symmetric 3 x 3.
Eigen::Matrix3f metric_1994(const Eigen::Vector3d& at) {
    const double chroma = std::hypot(at[1], at[2]);
    if (chroma < 1e-6) return Eigen::Matrix3f::Identity();
    const Eigen::Vector3d u(0, at[1] / chroma, at[2] / chroma), v(0, -at[2] / chroma, at[1] / chroma);
    const double sc = 1 + 0.045 * chroma, sh = 1 + 0.015 * chroma;
    Eigen::Matrix3d m = u * u.transpose() / (sc * sc) + v * v.transpose() / (sh * sh);
    m(0, 0) += 1;
    return m.cast<float>();
}

}  // namespace

LibraryView lab_view(const Light& light, Observer observer) {
    const ObserverMatrix to_xyz = observer_matrix(light, observer);
    const Eigen::Vector3d white = to_xyz.rowwise().sum();
    return lab_of((white.cwiseInverse().asDiagonal() * to_xyz).cast<float>());
}

LibraryView sensor_view(const Eigen::Matrix<double, 3, kModelBands>& rows, const Eigen::Matrix3d& matrix) {
    const Eigen::Vector3d white(kWhiteD50.X / 100, kWhiteD50.Y / 100, kWhiteD50.Z / 100);
    return lab_of((white.cwiseInverse().asDiagonal() * matrix * rows).cast<float>());
}

const LibraryView& reflectance_view() {
    static const LibraryView view = surface_library();
    return view;
}

Neighborhood neighborhood(const std::vector<const LibraryView*>& views, const std::vector<Eigen::Vector3d>& at, double least_width) {
    const Eigen::Index count = views.front()->cols();
    Eigen::VectorXf distance = Eigen::VectorXf::Zero(count);
    for (std::size_t k = 0; k < views.size(); ++k) {
        const Eigen::Matrix3f metric = metric_1994(at[k]);
        const Eigen::Vector3f q = at[k].cast<float>();
        for (Eigen::Index i = 0; i < count; ++i) {
            const Eigen::Vector3f d = views[k]->col(i).head<3>() - q;
            distance[i] += d.dot(metric * d);
        }
    }
    distance /= static_cast<float>(views.size());
    Neighborhood found;
    std::vector<int> order(static_cast<std::size_t>(count));
    std::iota(order.begin(), order.end(), 0);
    const auto nearer = [&](int a, int b) { return distance[a] < distance[b] || (distance[a] == distance[b] && a < b); };
    std::nth_element(order.begin(), order.begin() + kNeighbors, order.end(), nearer);
    order.resize(kNeighbors);
    std::sort(order.begin(), order.end(), nearer);
    found.distance = std::sqrt(distance[order[kNearest - 1]]);
    const double width = std::max(least_width, found.distance / 1.5);
    found.index = order;
    found.weight.resize(kNeighbors);
    for (int i = 0; i < kNeighbors; ++i) {
        found.weight[i] = std::exp(-(distance[order[static_cast<std::size_t>(i)]] - distance[order[0]]) / (2 * width * width));
    }
    found.weight /= found.weight.sum();
    return found;
}

LocalMap local_map(const Neighborhood& near, const std::vector<const LibraryView*>& views, const std::vector<Eigen::Vector3d>& at,
                   const Eigen::MatrixXd& noise, const std::vector<const LibraryView*>& targets) {
    const Eigen::Index n = static_cast<Eigen::Index>(near.index.size()), readings = 3 * static_cast<Eigen::Index>(views.size());
    Eigen::Index rows = 0;
    for (const LibraryView* t : targets) rows += t->rows();
    Eigen::MatrixXd x(readings, n), y(rows, n);
    for (Eigen::Index i = 0; i < n; ++i) {
        const Eigen::Index surface = near.index[static_cast<std::size_t>(i)];
        for (std::size_t k = 0; k < views.size(); ++k)
            x.col(i).segment<3>(3 * static_cast<Eigen::Index>(k)) = views[k]->col(surface).head<3>().cast<double>();
        Eigen::Index row = 0;
        for (const LibraryView* t : targets) {
            y.col(i).segment(row, t->rows()) = t->col(surface).cast<double>();
            row += t->rows();
        }
    }
    LocalMap map;
    map.at.resize(readings);
    for (std::size_t k = 0; k < at.size(); ++k) map.at.segment<3>(3 * static_cast<Eigen::Index>(k)) = at[k];
    const Eigen::VectorXd mean_x = x * near.weight, mean_y = y * near.weight;
    x.colwise() -= mean_x;
    y.colwise() -= mean_y;
    const Eigen::MatrixXd weighted = x * near.weight.asDiagonal();
    Eigen::MatrixXd spread = weighted * x.transpose() + noise;
    spread.diagonal().array() += 3e-4;
    map.gain = spread.ldlt().solve(weighted * y.transpose()).transpose();
    map.mean = mean_y + map.gain * (map.at - mean_x);
    const Eigen::MatrixXd left = y - map.gain * x;
    map.residual = left * near.weight.asDiagonal() * left.transpose();
    return map;
}

}  // namespace sw
