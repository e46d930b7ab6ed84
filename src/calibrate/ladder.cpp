#include "calibrate/ladder.hpp"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <algorithm>
#include <cassert>
#include <cmath>

#include "color/difference.hpp"
#include "color/quantile.hpp"

namespace sw {
namespace {

constexpr double kRidge = 0.02;  // against a typical reference's square, times 1 / number of references; flat from 0.005 to 0.1 on the chart

Lab lab_at(const Eigen::Vector3d& xyz_of, const Eigen::Vector3d& white) {
    return lab(Xyz{100 * xyz_of[0], 100 * xyz_of[1], 100 * xyz_of[2]}, Xyz{100 * white[0], 100 * white[1], 100 * white[2]});
}

/// CIEDE2000 squared about a color as a quadratic form of small steps in XYZ.
Eigen::Matrix3d metric(const Eigen::Vector3d& at, const Eigen::Vector3d& white) {
    const Lab center = lab_at(at, white);
    const auto squared = [&](const Eigen::Vector3d& half) {
        const Lab up{center.L + half[0], center.a + half[1], center.b + half[2], center.white};
        const Lab down{center.L - half[0], center.a - half[1], center.b - half[2], center.white};
        const double d = difference_2000(down, up);
        return d * d;
    };
    constexpr double h = 0.05;
    Eigen::Matrix3d g;
    for (int i = 0; i < 3; ++i) g(i, i) = squared(h / 2 * Eigen::Vector3d::Unit(i)) / (h * h);
    for (int i = 0; i < 3; ++i) {
        for (int j = 0; j < i; ++j) {
            const double both = squared(h / 2 * (Eigen::Vector3d::Unit(i) + Eigen::Vector3d::Unit(j))) / (h * h);
            g(i, j) = g(j, i) = (both - g(i, i) - g(j, j)) / 2;
        }
    }
    Eigen::Matrix3d slope;  // Lab by XYZ
    for (int i = 0; i < 3; ++i) {
        constexpr double step = 1e-5;
        const Lab up = lab_at(at + step * Eigen::Vector3d::Unit(i), white), down = lab_at(at - step * Eigen::Vector3d::Unit(i), white);
        slope.col(i) = Eigen::Vector3d(up.L - down.L, up.a - down.a, up.b - down.b) / (2 * step);
    }
    return slope.transpose() * g * slope;
}

int free_coefficients(MapKind kind) {
    switch (kind) {
        case MapKind::neutral:
            return 0;
        case MapKind::matrix:
            return 2;
        case MapKind::root_polynomial_2:
            return 5;
        case MapKind::root_polynomial_3:
            return 12;
    }
    return 0;
}

}  // namespace

std::string to_word(MapKind kind) {
    switch (kind) {
        case MapKind::neutral:
            return "neutral";
        case MapKind::matrix:
            return "3x3";
        case MapKind::root_polynomial_2:
            return "root-polynomial 2";
        case MapKind::root_polynomial_3:
            return "root-polynomial 3";
    }
    return "";
}

Eigen::VectorXd map_features(MapKind kind, const Eigen::Vector3d& scene) {
    const double r = std::max(scene[0], 0.0), g = std::max(scene[1], 0.0), b = std::max(scene[2], 0.0);
    if (kind == MapKind::neutral || kind == MapKind::matrix) return Eigen::Vector3d(r, g, b);
    Eigen::VectorXd f(kind == MapKind::root_polynomial_2 ? 6 : 13);
    f.head<6>() << r, g, b, std::sqrt(r * g), std::sqrt(g * b), std::sqrt(r * b);
    if (kind == MapKind::root_polynomial_3) {
        f.tail<7>() << std::cbrt(r * g * g), std::cbrt(g * b * b), std::cbrt(r * b * b), std::cbrt(g * r * r), std::cbrt(b * g * g),
            std::cbrt(b * r * r), std::cbrt(r * g * b);
    }
    return f;
}

Eigen::Vector3d PlainMap::operator()(const Eigen::Vector3d& scene) const {
    Eigen::Vector3d v = start * scene;
    if (more.cols() > 0) v += more * map_features(kind, scene);
    return v;
}

Eigen::Vector3d lab_by(const PlainMap& map, const Eigen::Vector3d& scene, const Xyz& white) {
    const Eigen::Vector3d v = 100 * map(scene);
    const Lab value = lab(Xyz{v[0], v[1], v[2]}, white);
    return {value.L, value.a, value.b};
}

PlainMap fit_map(MapKind kind, const Eigen::Matrix3d& start, const Eigen::Vector3d& white, const MapReferences& references) {
    PlainMap map{kind, start, {}};
    const Eigen::Index n = references.scene.cols();
    if (kind == MapKind::neutral || n == 0) return map;
    // White has all features 1: with every feature less the green one, `more` takes it to 0 whatever the coefficients are.
    const Eigen::Index size = map_features(kind, Eigen::Vector3d::Ones()).size(), count = size - 1;
    const auto reduced = [&](Eigen::Index i) {
        const Eigen::VectorXd f = map_features(kind, references.scene.col(i));
        Eigen::VectorXd x(count);
        for (Eigen::Index k = 0, at = 0; k < size; ++k) {
            if (k != 1) x[at++] = f[k] - f[1];
        }
        return x;
    };
    const Eigen::Matrix3Xd left = references.xyz - start * references.scene;
    std::vector<Eigen::VectorXd> x;
    std::vector<Eigen::Matrix3d> w;
    double typical = 0, total = 0;
    for (Eigen::Index i = 0; i < n; ++i) {
        x.push_back(reduced(i));
        w.push_back(metric(references.xyz.col(i), white));
        typical += references.weight[i] * w.back().trace() / 3 * x.back().squaredNorm() / static_cast<double>(count);
        total += references.weight[i];
    }
    if (total <= 0 || typical <= 0) return map;
    // coefficients stacked row by row: 3 x count
    Eigen::VectorXd solution = Eigen::VectorXd::Zero(3 * count);
    Eigen::VectorXd robust = Eigen::VectorXd::Ones(n);
    for (int round = 0; round < 4; ++round) {
        Eigen::MatrixXd normal = kRidge * typical / total * Eigen::MatrixXd::Identity(3 * count, 3 * count);
        Eigen::VectorXd right = Eigen::VectorXd::Zero(3 * count);
        for (Eigen::Index i = 0; i < n; ++i) {
            const double weight = references.weight[i] * robust[i];
            const Eigen::VectorXd& f = x[static_cast<std::size_t>(i)];
            const Eigen::MatrixXd square = weight * f * f.transpose();
            const Eigen::Matrix3d& m = w[static_cast<std::size_t>(i)];
            const Eigen::Vector3d goal = weight * m * left.col(i);
            for (int a = 0; a < 3; ++a) {
                right.segment(a * count, count) += goal[a] * f;
                for (int b = 0; b < 3; ++b) normal.block(a * count, b * count, count, count) += m(a, b) * square;
            }
        }
        solution = normal.ldlt().solve(right);
        for (Eigen::Index i = 0; i < n; ++i) {
            Eigen::Vector3d off = left.col(i);
            for (int a = 0; a < 3; ++a) off[a] -= solution.segment(a * count, count).dot(x[static_cast<std::size_t>(i)]);
            robust[i] = 0.5 / std::sqrt(off.dot(w[static_cast<std::size_t>(i)] * off) + 0.25);
        }
    }
    map.more = Eigen::Matrix3Xd::Zero(3, size);
    for (int a = 0; a < 3; ++a) {
        for (Eigen::Index k = 0, at = 0; k < size; ++k) {
            if (k != 1) map.more(a, k) = solution[a * count + at++];
        }
        map.more(a, 1) = -solution.segment(a * count, count).sum();
    }
    return map;
}

std::vector<Rung> ladder(const Eigen::Matrix3d& start, const Eigen::Vector3d& white, const MapReferences& references) {
    const Eigen::Index n = references.scene.cols();
    std::vector<Rung> rungs;
    for (MapKind kind : {MapKind::neutral, MapKind::matrix, MapKind::root_polynomial_2, MapKind::root_polynomial_3}) {
        if (n <= free_coefficients(kind)) break;
        Rung rung{fit_map(kind, start, white, references), {}};
        for (Eigen::Index i = 0; i < n; ++i) {
            MapReferences others = references;
            others.weight[i] = 0;
            const PlainMap map = kind == MapKind::neutral ? rung.map : fit_map(kind, start, white, others);
            rung.left_out.push_back(difference_2000(lab_at(references.xyz.col(i), white), lab_at(map(references.scene.col(i)), white)));
        }
        std::vector<double> sorted = rung.left_out;
        std::sort(sorted.begin(), sorted.end());
        for (double e : sorted) rung.mean += e / static_cast<double>(n);
        rung.p95 = quantile_of_sorted(sorted, 0.95);
        rungs.push_back(std::move(rung));
    }
    return rungs;
}

const Rung& best_rung(const std::vector<Rung>& rungs) {
    assert(!rungs.empty());
    const Rung& best = *std::min_element(rungs.begin(), rungs.end(), [](const Rung& a, const Rung& b) { return a.mean < b.mean; });
    double spread = 0;
    const auto n = static_cast<double>(best.left_out.size());
    for (double e : best.left_out) spread += (e - best.mean) * (e - best.mean);
    const double error = n > 1 ? std::sqrt(spread / (n - 1) / n) : 0;
    return *std::find_if(rungs.begin(), rungs.end(), [&](const Rung& r) { return r.mean <= best.mean + error; });
}

}  // namespace sw
