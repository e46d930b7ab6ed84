#include "spectral/posterior.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <string>
#include <string_view>

#include "range_tables.hpp"
#include "spectral/surfaces.hpp"

namespace sw {
namespace {

constexpr int kNearest = 60;
constexpr double kNeighbors = 600, kMostNeighbors = 4800, kUsualWidth = 4;

float lab_function(float t) {
    constexpr float edge = 216.0F / 24389.0F, slope = 841.0F / 108.0F;
    return t > edge ? std::cbrt(t) : slope * t + 4.0F / 29.0F;
}

LibraryView lab_of(const Eigen::Matrix<float, 3, kModelBands>& to_relative, const LibraryView& library) {
    LibraryView view = to_relative * library;
    for (Eigen::Index i = 0; i < view.cols(); ++i) {
        const float x = lab_function(view(0, i)), y = lab_function(view(1, i)), z = lab_function(view(2, i));
        view.col(i) << 116 * y - 16, 500 * (x - y), 200 * (y - z);
    }
    return view;
}

/// Squared CIE94 distance from a color: a*, b* turned so that the first axis is the color's chroma.
class Distance1994 {
public:
    explicit Distance1994(const Eigen::Vector3d& at) : at_(at.cast<float>()) {
        const double chroma = std::hypot(at[1], at[2]);
        const double u = chroma < 1e-6 ? 1 : at[1] / chroma, v = chroma < 1e-6 ? 0 : at[2] / chroma;
        const double sc = 1 / (1 + 0.045 * chroma), sh = 1 / (1 + 0.015 * chroma);
        chroma_ << static_cast<float>(u * sc), static_cast<float>(v * sc);
        hue_ << static_cast<float>(-v * sh), static_cast<float>(u * sh);
    }
    float operator()(const float* lab) const {
        const float l = lab[0] - at_[0], a = lab[1] - at_[1], b = lab[2] - at_[2];
        const float c = chroma_[0] * a + chroma_[1] * b, h = hue_[0] * a + hue_[1] * b;
        return l * l + c * c + h * h;
    }

private:
    Eigen::Vector3f at_;
    Eigen::Vector2f chroma_, hue_;
};

/// The `count` nearest, nearest first; of equals the one that stands earlier.
std::vector<int> nearest(const Eigen::VectorXf& distance, int count) {
    const auto nearer = [&](int a, int b) { return distance[a] < distance[b] || (distance[a] == distance[b] && a < b); };
    const int all = static_cast<int>(distance.size());
    std::vector<int> found;
    // A sample tells a limit that somewhat more than `count` stay below; where it does not, the limit is raised.
    std::vector<float> sample;
    for (int i = 0; i < all; i += 32) sample.push_back(distance[i]);
    std::size_t rank = static_cast<std::size_t>(count) / 16 + 8;
    do {
        rank = std::min(rank, sample.size() - 1);
        std::nth_element(sample.begin(), sample.begin() + static_cast<std::ptrdiff_t>(rank), sample.end());
        const float limit = rank + 1 == sample.size() ? std::numeric_limits<float>::infinity() : sample[rank];
        found.clear();
        for (int i = 0; i < all; ++i) {
            if (distance[i] <= limit) found.push_back(i);
        }
        rank *= 2;
    } while (static_cast<int>(found.size()) < count);
    std::nth_element(found.begin(), found.begin() + (count - 1), found.end(), nearer);
    found.resize(static_cast<std::size_t>(count));
    std::sort(found.begin(), found.end(), nearer);
    return found;
}

}  // namespace

LibraryView lab_view(const Eigen::Matrix<double, 3, kModelBands>& rows, const Eigen::Vector3d& white, const LibraryView& library) {
    return lab_of((white.cwiseInverse().asDiagonal() * rows).cast<float>(), library);
}

LibraryView lab_view(const Light& light, Observer observer, const LibraryView& library) {
    const ObserverMatrix to_xyz = observer_matrix(light, observer);
    const Eigen::Vector3d white = to_xyz.rowwise().sum();
    return lab_of((white.cwiseInverse().asDiagonal() * to_xyz).cast<float>(), library);
}

LibraryView lab_view(const Light& light, Observer observer) { return lab_view(light, observer, surface_library()); }

LibraryView sensor_view(const Eigen::Matrix<double, 3, kModelBands>& rows, const Eigen::Matrix3d& matrix) {
    return lab_view(matrix * rows, Eigen::Vector3d(kWhiteD50.X / 100, kWhiteD50.Y / 100, kWhiteD50.Z / 100), surface_library());
}

const LibraryView& reflectance_view() { return surface_library(); }

double range_factor(const Eigen::Vector3d& lab) {
    static const std::array<double, 3> factors = [] {
        std::array<double, 3> read{1, 1, 1};
        const std::string text(range_tables::file("ranges.csv"));
        const std::array<const char*, 3> names{"\ndark,", "\nnear_neutral,", "\nother,"};
        for (std::size_t i = 0; i < names.size(); ++i) {
            const std::size_t at = text.find(names[i]);
            assert(at != std::string::npos);
            read[i] = std::max(1.0, std::strtod(text.c_str() + at + std::string_view(names[i]).size(), nullptr));
        }
        return read;
    }();
    return lab[0] < 35 ? factors[0] : std::hypot(lab[1], lab[2]) < 15 ? factors[1] : factors[2];
}

Neighborhood neighborhood(const std::vector<const LibraryView*>& views, const std::vector<Eigen::Vector3d>& at, double least_width, int count,
                          const std::vector<double>& pull) {
    const Eigen::Index surfaces = views.front()->cols();
    if (count == 0) count = static_cast<int>(std::min(std::max(kNeighbors, kNeighbors * std::pow(least_width / kUsualWidth, 3)), kMostNeighbors));
    assert(count > kNearest && count <= surfaces);
    Eigen::VectorXf distance = Eigen::VectorXf::Zero(surfaces);
    Eigen::Vector3d middle = Eigen::Vector3d::Zero();
    for (std::size_t k = 0; k < views.size(); ++k) {
        const Distance1994 from(at[k]);
        const float weight = pull.empty() ? 1.0F : static_cast<float>(pull[k]);
        const float* lab = views[k]->data();
        for (Eigen::Index i = 0; i < surfaces; ++i) distance[i] += weight * from(lab + 3 * i);
        middle += at[k] / static_cast<double>(views.size());
    }
    distance /= static_cast<float>(views.size());
    Neighborhood found;
    found.index = nearest(distance, count);
    const auto of = [&](int rank) { return static_cast<double>(distance[found.index[static_cast<std::size_t>(rank)]]); };
    found.distance = std::sqrt(of(kNearest - 1));
    found.range_factor = range_factor(middle);
    const double width = std::max(least_width, found.distance / 1.5);
    found.weight.resize(count);
    for (int i = 0; i < count; ++i) found.weight[i] = std::exp(-(of(i) - of(0)) / (2 * width * width));
    found.weight /= found.weight.sum();
    return found;
}

LocalMap local_map(const Neighborhood& near, Eigen::MatrixXd x, Eigen::MatrixXd y, const Eigen::VectorXd& at, const Eigen::MatrixXd& noise) {
    LocalMap map;
    map.at = at;
    const Eigen::VectorXd mean_x = x * near.weight, mean_y = y * near.weight;
    x.colwise() -= mean_x;
    y.colwise() -= mean_y;
    const Eigen::MatrixXd weighted = x * near.weight.asDiagonal();
    Eigen::MatrixXd spread = weighted * x.transpose() + noise;
    spread.diagonal().array() += 3e-4;
    map.gain = spread.ldlt().solve(weighted * y.transpose()).transpose();
    map.mean = mean_y + map.gain * (map.at - mean_x);
    const Eigen::MatrixXd left = (y - map.gain * x) * near.weight.cwiseSqrt().asDiagonal();
    map.residual.setZero(y.rows(), y.rows());
    map.residual.selfadjointView<Eigen::Lower>().rankUpdate(left, near.range_factor);
    map.residual.triangularView<Eigen::StrictlyUpper>() = map.residual.transpose();
    return map;
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
    Eigen::VectorXd stacked(readings);
    for (std::size_t k = 0; k < at.size(); ++k) stacked.segment<3>(3 * static_cast<Eigen::Index>(k)) = at[k];
    return local_map(near, std::move(x), std::move(y), stacked, noise);
}

}  // namespace sw
