// Pots: what went in, what was read, and what both teach about the paints.
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "mix/belief.hpp"

namespace sw {

/// One thing put into a pot.
struct Addition {
    int paint = 0;     // on the shelf
    double drops = 0;  // > 0; whole, but for amounts weighed
    double cv = 0;     // spread of it over its size, > 0; 0: as the paint's drops
};
/// The pot's color after its first `after` additions.
struct PotReading {
    int after = 0;  // 1..number of additions
    ColorRead color;
    Coat coat;
};
struct Pot {
    std::string name;
    std::vector<Addition> additions;
    std::vector<PotReading> readings;  // of dry paint
};

/// How sure a reading is, seen from all others.
struct ReadingJudged {
    int pot = 0, reading = 0;
    double de00 = 0;          // between what was read and what the others, and the start, lead to expect
    double chi_square = 0;    // of 3 degrees of freedom
    bool questioned = false;  // above 16.27 (1 in 1000): counted with next to no weight
};
/// What was learned of one paint: how much stronger it is than it was thought, as a factor, and the spread of its logarithm before and now.
struct StrengthLearned {
    double factor = 1, sd_before = 0, sd = 0;
};

/// The shelf after the pots. Unknown are the paints' doubts, how much each addition truly brought (log-normal, Drop::cv) and, for each pot, what the
/// model gets wrong there (nine tenths of its variance are one and the same in all readings of a pot). All pots are always learned from the start, so
/// their order does not matter, and forgetting one is leaving it out.
struct Learned {
    Shelf shelf;  // model_sd: as learned, or as it was
    std::vector<ReadingJudged> readings;
    std::vector<StrengthLearned> strengths;
    /// Of all unknowns: the columns of the start's spread, then for each pot its doses (ln) and its error in Lab.
    Eigen::VectorXd mean;
    Eigen::MatrixXd covariance;
    std::vector<Eigen::Index> first_dose, first_error;  // of each pot
    Shelf start;
    std::vector<Pot> pots;
};
/// learn_model: what the model gets wrong is chosen by evidence too (0.1 .. 2 CIEDE2000, usual one the start's).
/// Faults: table_malformed (an amount not above 0, no such paint, a reading of no addition, a color not finite).
[[nodiscard]] Result<Learned> learn(const Shelf& start, const std::vector<Pot>& pots, bool learn_model = true);

/// A pot as it may truly be: K and S times volume in it, what the model gets wrong there, and the paints beside it.
struct PotDraw {
    ModelSpectrum k, s;
    double ml = 0;
    Eigen::Vector3d error = Eigen::Vector3d::Zero();  // of Lab
    std::vector<Medium> paints;
};
/// The most likely one, then `count` draws; same seed, same draws. Pots need no reading.
[[nodiscard]] std::vector<PotDraw> pot_draws(const Learned&, int pot, int count, std::uint64_t seed = 1);
/// Its color after more is put in (drops by volume, each with its factor of what it truly brings).
[[nodiscard]] Lab draw_color(const PotDraw&, const Shelf&, const Recipe& more, const std::vector<double>& dose, const Sight&, const Coat& = {});

}  // namespace sw
