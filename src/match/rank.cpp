#include "match/rank.hpp"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>

#include "color/difference.hpp"
#include "match/difference_map.hpp"
#include "spectral/random.hpp"

namespace sw {
namespace {

constexpr int kRankDraws = 2048;

/// A difference (sample less target) about the middle of the two.
struct Apart {
    Lab middle;
    Eigen::Vector3d d = Eigen::Vector3d::Zero();
    [[nodiscard]] double de00(const Eigen::Vector3d& error) const {
        const Eigen::Vector3d half = (d + error) / 2;
        return difference_2000({middle.L - half[0], middle.a - half[1], middle.b - half[2], middle.white},
                               {middle.L + half[0], middle.a + half[1], middle.b + half[2], middle.white});
    }
};
Apart apart(const Lab& target, const Lab& sample) {
    return {{(target.L + sample.L) / 2, (target.a + sample.a) / 2, (target.b + sample.b) / 2, target.white},
            {sample.L - target.L, sample.a - target.a, sample.b - target.b}};
}

Eigen::MatrixXd root_of(const Eigen::MatrixXd& covariance) {
    const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen((covariance + covariance.transpose()) / 2);
    return eigen.eigenvectors() * eigen.eigenvalues().cwiseMax(0).cwiseSqrt().asDiagonal();
}

/// Fills rank, ties and chances from draws of all differences together, and puts the nearest first.
/// drawn: for each draw the CIEDE2000 of each.
std::vector<Ranked> ordered(std::vector<Ranked> all, const std::vector<std::vector<double>>& drawn) {
    const std::size_t n = all.size();
    std::vector<std::vector<double>> nearer(n, std::vector<double>(n, 0));  // share of draws in which the first is the nearer one
    for (const std::vector<double>& draw : drawn) {
        const auto least = std::min_element(draw.begin(), draw.end()) - draw.begin();
        all[static_cast<std::size_t>(least)].nearest += 1.0 / static_cast<double>(drawn.size());
        for (std::size_t i = 0; i < n; ++i) {
            for (std::size_t j = 0; j < i; ++j) {
                const double share = draw[i] < draw[j] ? 1 : draw[i] > draw[j] ? 0 : 0.5;
                nearer[i][j] += share / static_cast<double>(drawn.size());
                nearer[j][i] += (1 - share) / static_cast<double>(drawn.size());
            }
        }
    }
    for (std::size_t i = 0; i < n; ++i) {
        for (std::size_t j = 0; j < n; ++j) {
            if (i == j) continue;
            if (nearer[j][i] >= kSure) ++all[i].rank;
            if (nearer[j][i] < kSure && nearer[i][j] < kSure) all[i].not_told_from.push_back(all[j].name);
        }
        all[i].tied = !all[i].not_told_from.empty();
    }
    std::stable_sort(all.begin(), all.end(), [](const Ranked& a, const Ranked& b) { return a.rank != b.rank ? a.rank < b.rank : a.de00 < b.de00; });
    return all;
}

}  // namespace

Result<std::vector<Ranked>> rank_swatches(const Photo& photo, const Calibration& calibration, const std::optional<Light>& lit_by, const Region& chip,
                                          const std::vector<NamedSwatch>& swatches, const CompareOptions& asked) {
    const std::size_t n = swatches.size();
    if (n == 0 || n > kMostSwatches)
        return Error{Fault::bad_usage, photo.path, std::to_string(n) + " swatches",
                     "cannot be ranked: from 1 to " + std::to_string(kMostSwatches) + " can", "mark fewer, the likeliest ones"};
    CompareOptions options = asked;
    options.under = {lit_by ? *lit_by : *light("D50")};  // the order is that under the photo's own light
    const auto between = [&](const Region& a, const Region& b) { return compare({{&photo, &calibration, a, b, lit_by}}, options); };
    std::vector<Ranked> all;
    std::vector<Apart> steps;
    std::vector<Eigen::Matrix3d> own;
    for (std::size_t i = 0; i < n; ++i) {
        const auto comparison = between(chip, swatches[i].region);
        if (!comparison) {
            Error error = comparison.error();
            error.place = swatches[i].name + ": " + error.place;
            return error;
        }
        const MapAnchor anchor = map_anchor(*comparison);
        steps.push_back(apart(anchor.target, anchor.part));
        own.push_back(anchor.covariance);
        const Difference& d = comparison->difference;
        Ranked ranked;
        ranked.name = swatches[i].name;
        ranked.index = i;
        ranked.de00 = d.de00;
        ranked.ci95 = d.ci95;
        ranked.verdict = d.verdict;
        ranked.words = d.words;
        all.push_back(ranked);
    }
    // cov(a, b) = (var a + var b - var(a - b)) / 2, and a - b is the difference of two swatches, which compare() knows as well
    Eigen::MatrixXd joint = Eigen::MatrixXd::Zero(3 * static_cast<Eigen::Index>(n), 3 * static_cast<Eigen::Index>(n));
    for (std::size_t i = 0; i < n; ++i) {
        for (std::size_t j = 0; j <= i; ++j) {
            Eigen::Matrix3d block = own[i];
            if (i != j) {
                const auto comparison = between(swatches[j].region, swatches[i].region);
                if (!comparison) return comparison.error();
                block = (own[i] + own[j] - map_anchor(*comparison).covariance) / 2;
            }
            const auto row = 3 * static_cast<Eigen::Index>(i), column = 3 * static_cast<Eigen::Index>(j);
            joint.block<3, 3>(row, column) = block;
            joint.block<3, 3>(column, row) = block.transpose();
        }
    }
    const Eigen::MatrixXd root = root_of(joint);
    Random random(8);
    std::vector<std::vector<double>> drawn;
    Eigen::VectorXd u(root.cols());
    for (int k = 0; k < kRankDraws; ++k) {
        if (k % 2 == 0) {
            for (double& v : u) v = random.normal();
        } else {
            u = -u;
        }
        const Eigen::VectorXd error = root * u;
        std::vector<double>& draw = drawn.emplace_back();
        for (std::size_t i = 0; i < n; ++i) draw.push_back(steps[i].de00(error.segment<3>(3 * static_cast<Eigen::Index>(i))));
    }
    return ordered(std::move(all), drawn);
}

std::vector<Ranked> rank_targets(const std::vector<HeldAgainst>& targets, double tolerance) {
    std::vector<Ranked> all;
    std::vector<Apart> steps;
    std::vector<Eigen::MatrixXd> swatch_root, target_root;
    for (std::size_t i = 0; i < targets.size(); ++i) {
        const HeldAgainst& held = targets[i];
        const Apart step = apart(held.target, held.swatch);
        const DifferenceDistribution known(step.middle, step.d, held.swatch_covariance + held.target_covariance);
        Ranked ranked;
        ranked.name = held.name;
        ranked.index = i;
        ranked.de00 = known.median();
        ranked.ci95 = known.ci95();
        ranked.verdict = verdict_of(ranked.ci95, tolerance);
        ranked.words = known.distinct() ? difference_words(held.target, held.swatch) : "no difference that this photo could show";
        all.push_back(ranked);
        steps.push_back(step);
        swatch_root.push_back(root_of(held.swatch_covariance));
        target_root.push_back(root_of(held.target_covariance));
    }
    Random random(9);
    std::vector<std::vector<double>> drawn;
    const auto normal = [&] {  // one draw a statement: the order of arguments is the compiler's
        const double z = random.normal(), y = random.normal(), x = random.normal();
        return Eigen::Vector3d(x, y, z);
    };
    const int draws = std::max(256, std::min(kRankDraws, 400'000 / static_cast<int>(targets.size())));
    for (int k = 0; k < draws; ++k) {
        const Eigen::Vector3d shared = normal();
        std::vector<double>& draw = drawn.emplace_back();
        for (std::size_t i = 0; i < targets.size(); ++i) draw.push_back(steps[i].de00(swatch_root[i] * shared + target_root[i] * normal()));
    }
    return ordered(std::move(all), drawn);
}

}  // namespace sw
