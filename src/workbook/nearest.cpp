#include "workbook/nearest.hpp"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <numeric>

#include "color/adaptation.hpp"
#include "color/difference.hpp"
#include "match/compare.hpp"

namespace sw {
namespace {

constexpr double kFarthestTwins = 3;

// CIEDE2000 is at least |dL*| / SL: its other terms, x^2 + y^2 + RT x y, are not negative since |RT| <= 2. SL grows with the distance of the pair's
// mean L* from 50, so the mean that is farthest from it gives the bound.
bool lightness_tells(double one, double two, double within) {
    const double off = (one + two) / 2 - 50;
    const double sl = 1 + 0.015 * off * off / std::sqrt(20 + off * off);
    return std::abs(one - two) > within * sl;
}

std::optional<Twins> twins_if(const Lab& a, const Eigen::Matrix3d& a_doubt, const Lab& b, const Eigen::Matrix3d& b_doubt) {
    if (lightness_tells(a.L, b.L, kFarthestTwins)) return std::nullopt;
    const double de00 = difference_2000(a, b);
    if (!(de00 <= kFarthestTwins)) return std::nullopt;
    const double sd = difference_sd(a, b, a_doubt + b_doubt);
    if (de00 > std::max(kPerceptible, 2 * sd)) return std::nullopt;
    return Twins{0, 0, de00, sd};
}

}  // namespace

Lab under_d50(const Lab& color) {
    const Xyz d50 = Lab().white;
    const auto near = [](double one, double two) { return std::abs(one - two) < 1e-3; };
    if (near(color.white.X, d50.X) && near(color.white.Y, d50.Y) && near(color.white.Z, d50.Z)) return color;
    return lab(adapt(xyz(color), color.white, d50), d50);
}

std::vector<Near> nearest(std::span<const Lab> colors, const Lab& wanted, double within) {
    std::vector<Near> found;
    for (std::size_t i = 0; i < colors.size(); ++i) {
        if (lightness_tells(colors[i].L, wanted.L, within)) continue;
        const double de00 = difference_2000(wanted, colors[i]);
        if (de00 <= within) found.push_back({i, de00});
    }
    std::sort(found.begin(), found.end(), [](const Near& a, const Near& b) { return a.de00 != b.de00 ? a.de00 < b.de00 : a.index < b.index; });
    return found;
}

double difference_sd(const Lab& reference, const Lab& sample, const Eigen::Matrix3d& covariance) {
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(covariance);
    const double middle = difference_2000(reference, sample);
    double variance = 0;
    for (int i = 0; i < 3; ++i) {
        const Eigen::Vector3d step = std::sqrt(std::max(0.0, solver.eigenvalues()[i])) * solver.eigenvectors().col(i);
        for (const double sign : {-1.0, 1.0}) {
            const Lab off{sample.L + sign * step[0], sample.a + sign * step[1], sample.b + sign * step[2], sample.white};
            variance += std::pow(difference_2000(reference, off) - middle, 2) / 2;
        }
    }
    return std::sqrt(variance);
}

std::vector<Twins> twins(const std::vector<Target>& targets) {
    std::vector<Lab> colors;
    for (const Target& target : targets) colors.push_back(under_d50(target.lab));
    std::vector<std::size_t> order(targets.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return colors[a].L < colors[b].L; });
    std::vector<Twins> found;
    for (std::size_t i = 0; i < order.size(); ++i) {
        for (std::size_t j = i + 1; j < order.size(); ++j) {
            const std::size_t a = order[i], b = order[j];
            if (lightness_tells(colors[a].L, colors[b].L, kFarthestTwins)) break;  // and so for all after b: dL* outgrows SL
            if (auto pair = twins_if(colors[a], targets[a].lab_covariance, colors[b], targets[b].lab_covariance)) {
                pair->one = std::min(a, b);
                pair->two = std::max(a, b);
                found.push_back(*pair);
            }
        }
    }
    std::sort(found.begin(), found.end(), [](const Twins& a, const Twins& b) { return a.de00 < b.de00; });
    return found;
}

std::vector<Twins> twins_of(const Target& target, const std::vector<Target>& targets) {
    const Lab color = under_d50(target.lab);
    std::vector<Twins> found;
    for (std::size_t i = 0; i < targets.size(); ++i) {
        if (target.id != 0 && targets[i].id == target.id) continue;
        if (auto pair = twins_if(under_d50(targets[i].lab), targets[i].lab_covariance, color, target.lab_covariance)) {
            pair->one = i;
            found.push_back(*pair);
        }
    }
    std::sort(found.begin(), found.end(), [](const Twins& a, const Twins& b) { return a.de00 < b.de00; });
    return found;
}

}  // namespace sw
