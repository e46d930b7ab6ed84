// More than a pair: several swatches against one chip, or one swatch against several targets. Which is nearest, and can that be told?
#pragma once

#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

#include "match/compare.hpp"

namespace sw {

/// One of them, judged.
struct Ranked {
    std::string name;
    std::size_t index = 0;  // as given
    int rank = 1;           // 1 + how many of the others are nearer for sure (kSure); equal where that cannot be told
    bool tied = false;      // others share the rank, or cannot be told from it
    double nearest = 0;     // chance that it is the nearest of all
    double de00 = 0;
    Interval ci95;
    Verdict verdict = Verdict::not_resolved;
    std::string words;                       // swatch less target: "slightly darker"
    std::vector<std::string> not_told_from;  // names of the others of which it cannot be said whether they are nearer
};
inline constexpr double kSure = 0.95;
inline constexpr std::size_t kMostSwatches = 12;  // each is compared with each

/// Swatches in one photo against its chip, nearest first. What each pair of swatches shares (camera, light, the chip's own error) cancels in the
/// order: the covariance between two differences follows from those of the two and of the pair of swatches. Seeded draws: same input, same answer.
/// Some 30 ms a pair. Errors: region faults; bad_usage for none or more than kMostSwatches. Test: tests/match/rank_test.cpp
struct NamedSwatch {
    std::string name;
    Region region;
};
[[nodiscard]] Result<std::vector<Ranked>> rank_swatches(const Photo&, const Calibration&, const std::optional<Light>& lit_by, const Region& chip,
                                                        const std::vector<NamedSwatch>& swatches, const CompareOptions& = {});

/// A target, and the swatch as read under the target's light.
struct HeldAgainst {
    std::string name;
    Lab target, swatch;  // one white
    Eigen::Matrix3d target_covariance = Eigen::Matrix3d::Zero(), swatch_covariance = Eigen::Matrix3d::Zero();
};
/// One swatch against targets, nearest first: the swatch's error is the same for all of them. At least one.
[[nodiscard]] std::vector<Ranked> rank_targets(const std::vector<HeldAgainst>&, double tolerance);

}  // namespace sw
