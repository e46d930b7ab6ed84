// What to put into a pot next; what somebody put in without counting.
#pragma once

#include <string>
#include <vector>

#include "mix/pot.hpp"

namespace sw {

struct NextLight {
    Sight sight;
    Lab target;  // relative to the sight's white
    double weight = 1;
};
struct NextGoal {
    std::vector<NextLight> lights;  // the first is the one to match under
    Eigen::Matrix3d target_covariance = Eigen::Matrix3d::Zero();
    double tolerance = 1;       // CIEDE2000
    int most_paints = 3;        // in one addition
    double growth_price = 0.3;  // CIEDE2000 that a pot twice the size must be better by
    double most_growth = 1;     // of the pot's volume, 1 doubles it
    std::vector<int> allowed;   // paints; none: all of the shelf's
    Coat coat;                  // as it will be laid and looked at; the target is of that
};

/// What comes of an addition: the color, CIEDE2000 to the target with 95 % range, the chance to be within tolerance (of draws of all that is open).
struct Outlook {
    Recipe add;  // none: leave it as it is
    Lab expected;
    Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();
    double de00 = 0, low = 0, high = 0, chance_within = 0;
    double drops_before = 0, drops_after = 0;
    double growth = 1;  // of the volume, as a factor
};
enum class NextStep { leave, add, start_anew };
struct NextAdvice {
    NextStep step = NextStep::leave;
    Outlook as_it_is;
    std::vector<Outlook> additions;  // best first; only better ones than leaving it
    std::string words;               // why
};

/// Additions only: nothing is taken back. Searched on the most likely state by steps of one to eight drops of one paint or two, judged on 256 draws.
/// Leave: what is there is within tolerance by a chance of 0.9, or nothing promises a gain of 0.1 CIEDE2000. Start anew: even with the pot grown as
/// far as allowed the chance stays below a third and the color outside the tolerance. Thresholds: our own. Faults: bad_usage (no light, no such pot,
/// nothing in it, numbers out of range). Tests: tests/mix/pot_test.cpp, tests/mix/next_study.cpp
[[nodiscard]] Result<NextAdvice> next_addition(const Learned&, int pot, const NextGoal&);

/// One way the pot may have come to its color.
struct GuessedAddition {
    std::vector<int> paints;  // one or two
    double chance = 0;
    std::vector<double> drops, drops_sd;  // of each, should it be these
};
struct AdditionGuess {
    std::vector<GuessedAddition> sets;  // likeliest first, down to 1 %
    Lab lab;                            // the pot's color now, with its covariance
    Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();
    bool ambiguous = false;  // the likeliest set has a chance below 0.8
};
/// Something was put in and nobody counted: one or two of the paints, 1 to most_drops each; `read` is what it looks like since. how_many: 1 or
/// 2 where that is remembered; 0: one is as likely as two. All amounts are as likely. coat: how what was read was laid.
/// Faults: bad_usage (no such pot, nothing in it, how_many not 0..2, most_drops not 1..20).
[[nodiscard]] Result<AdditionGuess> guess_addition(const Learned&, int pot, const ColorRead& read, int how_many = 0, int most_drops = 8,
                                                   const Coat& coat = {});

}  // namespace sw
