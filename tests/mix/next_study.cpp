// Next additions on simulated pots: how near one correction comes, beside the plain rule of offsetting the target; and what was added unseen.
#include <gtest/gtest.h>

#include <Eigen/Cholesky>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iostream>
#include <numeric>

#include "color/difference.hpp"
#include "mix/made_up_shelf.hpp"
#include "mix/next.hpp"

namespace sw {
namespace {

const char* const kLong = std::getenv("SW_FULL_BARS");

struct PotTrial {
    double strength_sd = 0.15, model_de = 0;  // how wrong strengths are; what the model gets wrong, CIEDE2000
    int earlier_pots = 0;                     // read before on the same shelf
};
struct PotSum {
    std::vector<double> first, after, plain, growth, plain_growth;
    double chance = 0, within = 0, drops = 0;
    std::vector<std::pair<double, bool>> said;
};

/// Where the model goes wrong for this shelf: alike for like colors.
class Wrong {
public:
    Wrong(double size, Random& r) : size_(size) {
        for (auto& row : wave_) {
            for (double& v : row) v = r.normal();
        }
    }
    Lab of(const Lab& c) const {
        Eigen::Vector3d by;
        for (int i = 0; i < 3; ++i) {  // variance 1 over shelves, alike within some 15 units
            const auto& w = wave_[static_cast<std::size_t>(i)];
            const double at = (w[0] * c.L + w[1] * c.a + w[2] * c.b) / 25;
            by[i] = w[3] * std::cos(at) + w[4] * std::sin(at);
        }
        const Eigen::Matrix3d root = weighted_covariance(c, size_).llt().matrixL();
        const Eigen::Vector3d off = root * by;
        return {c.L + off[0], c.a + off[1], c.b + off[2], c.white};
    }

private:
    double size_;
    std::array<std::array<double, 5>, 3> wave_{};
};

double least_de(const Shelf& shelf, const Recipe& mix, const Lab& target, const Sight& s) {
    return difference_2000(target, seen(mix_reflectance(shelf, mix), s));
}

/// First recipe: the true shares rounded to 40 drops, then bettered drop by drop on the shelf as it is thought to be.
Recipe first_recipe(const Shelf& shelf, const Recipe& shares, const Lab& target, const Sight& s) {
    Recipe mix = shares;
    double best = least_de(shelf, mix, target, s);
    for (bool moved = true; moved;) {
        moved = false;
        for (std::size_t i = 0; i < mix.size(); ++i) {
            for (std::size_t j = 0; j < mix.size(); ++j) {
                if (i == j || mix[i].drops < 2) continue;
                Recipe other = mix;
                --other[i].drops;
                ++other[j].drops;
                const double de = least_de(shelf, other, target, s);
                if (de < best - 1e-9) {
                    best = de;
                    mix = other;
                    moved = true;
                }
            }
        }
    }
    return mix;
}

PotSum run_pots(const PotTrial& trial, int trials) {
    const Sight d65 = sight(*light("D65"), Observer::degree2);
    Random r(21);
    PotSum sum;
    for (int t = 0; t < trials; ++t) {
        Shelf truth = made_up_shelf(12, 400 + static_cast<std::uint64_t>(t)), thought = truth;
        thought.model_sd = 0.3;
        for (std::size_t p = 0; p < truth.paints.size(); ++p) {
            doubt_strength(thought.paints[p], trial.strength_sd);
            const double factor = std::exp(trial.strength_sd * r.normal());
            truth.paints[p].k *= factor;
            truth.paints[p].s *= factor;
        }
        const Wrong wrong(trial.model_de, r);
        const auto brought = [&](int paint, int drops) {
            return drops * 0.05 * std::exp(truth.paints[static_cast<std::size_t>(paint)].drop.cv * r.normal());
        };
        const auto true_color = [&](const std::vector<Volume>& in) {
            return wrong.of(seen(appearance(medium(truth, in), truth.surface).reflectance, d65));
        };
        const auto read = [&](Lab lab) {
            lab.L += 0.4 * r.normal();
            lab.a += 0.4 * r.normal();
            lab.b += 0.4 * r.normal();
            return ColorRead{d65, lab, 0.16 * Eigen::Matrix3d::Identity()};
        };
        const auto some_shares = [&] {
            Recipe shares;
            while (shares.size() < 4) {
                const int paint = shares.empty() ? 0 : r.below(12);
                if (std::none_of(shares.begin(), shares.end(), [&](const RecipePart& p) { return p.paint == paint; })) shares.push_back({paint, 1});
            }
            for (int left = 36; left > 0; --left) ++shares[static_cast<std::size_t>(r.uniform() < 0.4 ? 0 : r.below(4))].drops;
            return shares;
        };
        const auto fill = [&](const Recipe& mix, Pot& pot, std::vector<Volume>& in) {
            for (const RecipePart& p : mix) {
                pot.additions.push_back({p.paint, static_cast<double>(p.drops)});
                in.push_back({p.paint, brought(p.paint, p.drops)});
            }
        };
        std::vector<Pot> pots;
        for (int e = 0; e < trial.earlier_pots; ++e) {
            Pot pot;
            std::vector<Volume> in;
            fill(some_shares(), pot, in);
            pot.readings.push_back({4, read(true_color(in)), {}});
            pots.push_back(pot);
        }
        const Recipe shares = some_shares();
        const Lab target = seen(mix_reflectance(thought, shares), d65);
        const Result<Learned> before = learn(thought, pots);
        EXPECT_TRUE(before);
        Pot pot;
        std::vector<Volume> in;
        fill(first_recipe(before->shelf, shares, target, d65), pot, in);
        const Lab first = true_color(in);
        pot.readings.push_back({4, read(first), {}});
        pots.push_back(pot);
        const Result<Learned> learned = learn(thought, pots);
        EXPECT_TRUE(learned);
        NextGoal goal;
        goal.lights = {{d65, target, 1}};
        for (const RecipePart& p : shares) goal.allowed.push_back(p.paint);
        const int number = static_cast<int>(pots.size()) - 1;
        const Result<NextAdvice> advice = next_addition(*learned, number, goal);
        EXPECT_TRUE(advice);
        const Outlook chosen = advice->additions.empty() ? advice->as_it_is : advice->additions[0];
        const auto ml = [](const std::vector<Volume>& parts) {
            return std::accumulate(parts.begin(), parts.end(), 0.0, [](double s, const Volume& v) { return s + v.ml; });
        };
        const auto after = [&](const Recipe& add, std::vector<double>& growth) {
            std::vector<Volume> more = in;
            for (const RecipePart& p : add) more.push_back({p.paint, brought(p.paint, p.drops)});
            growth.push_back(ml(more) / ml(in));
            return difference_2000(target, true_color(more));
        };
        sum.first.push_back(difference_2000(target, first));
        sum.after.push_back(after(chosen.add, sum.growth));
        sum.chance += chosen.chance_within / trials;
        sum.within += (sum.after.back() <= goal.tolerance ? 1.0 : 0.0) / trials;
        // The plain rule: aim off by what was read beside what was expected, with the shelf as it was thought to be.
        Pot blind = pot;
        blind.readings.clear();
        const Result<Learned> start = learn(before->shelf, {blind}, false);
        EXPECT_TRUE(start);
        const Lab expected = draw_color(pot_draws(*start, 0, 0)[0], thought, {}, {}, d65), was = pot.readings[0].color.lab;
        NextGoal offset = goal;
        offset.lights[0].target = {target.L - was.L + expected.L, target.a - was.a + expected.a, target.b - was.b + expected.b, target.white};
        const Result<NextAdvice> plain = next_addition(*start, 0, offset);
        EXPECT_TRUE(plain);
        sum.plain.push_back(after(plain->additions.empty() ? Recipe{} : plain->additions[0].add, sum.plain_growth));
    }
    return sum;
}

double mean_of(const std::vector<double>& v) { return std::accumulate(v.begin(), v.end(), 0.0) / static_cast<double>(v.size()); }
double ninth(std::vector<double> v) {
    std::sort(v.begin(), v.end());
    return v[v.size() * 9 / 10];
}

class NextAddition : public testing::TestWithParam<std::tuple<PotTrial, double, double, double>> {};
INSTANTIATE_TEST_SUITE_P(Bars, NextAddition,
                         testing::Values(std::tuple{PotTrial{0.15, 0, 0}, 0.60, 1.0, 1.15}, std::tuple{PotTrial{0.21, 0, 0}, 0.65, 1.1, 1.22},
                                         std::tuple{PotTrial{0.15, 0.6, 0}, 0.80, 1.4, 1.25}, std::tuple{PotTrial{0.15, 0.6, 4}, 0.80, 1.4, 1.25}));

TEST_P(NextAddition, ComesNearer) {
    const auto& [trial, mean, p90, growth] = GetParam();
    const int trials = kLong != nullptr ? 400 : 60;
    const PotSum s = run_pots(trial, trials);
    std::cout << "strengths " << trial.strength_sd << ", model " << trial.model_de << ", earlier pots " << trial.earlier_pots << ": first "
              << mean_of(s.first) << "; after one correction " << mean_of(s.after) << " (p90 " << ninth(s.after) << ", growth " << mean_of(s.growth)
              << "); plain rule " << mean_of(s.plain) << " (" << ninth(s.plain) << ", " << mean_of(s.plain_growth) << "); chance said " << s.chance
              << ", got " << s.within << std::endl;
    EXPECT_LE(mean_of(s.after), mean * 1.1);
    EXPECT_LE(ninth(s.after), p90 * 1.15);
    EXPECT_LE(mean_of(s.growth), growth + 0.05);
}

class Unseen : public testing::TestWithParam<std::tuple<int, int, double>> {};  // added, said to be, sd
INSTANTIATE_TEST_SUITE_P(Bars, Unseen,
                         testing::Values(std::tuple{1, 1, 0.4}, std::tuple{1, 0, 0.4}, std::tuple{2, 0, 0.4}, std::tuple{1, 0, 0.15},
                                         std::tuple{2, 0, 0.15}));

TEST_P(Unseen, AdditionsAreNamed) {
    const auto& [added, known, sd] = GetParam();
    const Sight d65 = sight(*light("D65"), Observer::degree2);
    const int trials = kLong != nullptr ? 200 : 40;
    Random r(5);
    int named = 0, ambiguous = 0, held = 0;
    double off = 0;
    for (int t = 0; t < trials; ++t) {
        Shelf shelf = made_up_shelf(12, 700 + static_cast<std::uint64_t>(t));
        shelf.model_sd = 0;
        Pot pot;
        std::vector<Volume> in;
        for (const int n : {18, 8, 4}) {
            const int paint = pot.additions.empty() ? 0 : r.below(12);
            pot.additions.push_back({paint, static_cast<double>(n)});
            in.push_back({paint, 0.05 * n});
        }
        for (Paint& p : shelf.paints) p.drop.cv = 0.001;  // known pot
        std::vector<int> which;
        while (static_cast<int>(which.size()) < added) {
            const int paint = r.below(12);
            if (std::find(which.begin(), which.end(), paint) != which.end()) continue;
            which.push_back(paint);
            const int drops = 1 + r.below(8);
            in.push_back({paint, 0.05 * drops});
        }
        std::sort(which.begin(), which.end());
        const Lab is = seen(appearance(medium(shelf, in), shelf.surface).reflectance, d65);
        Lab read = is;
        read.L += sd * r.normal();
        read.a += sd * r.normal();
        read.b += sd * r.normal();
        const Result<Learned> learned = learn(shelf, {pot}, false);
        ASSERT_TRUE(learned);
        const Result<AdditionGuess> guess = guess_addition(*learned, 0, {d65, read, sd * sd * Eigen::Matrix3d::Identity()}, known);
        ASSERT_TRUE(guess);
        named += !guess->sets.empty() && guess->sets[0].paints == which ? 1 : 0;
        held += std::any_of(guess->sets.begin(), guess->sets.end(), [&](const GuessedAddition& g) { return g.paints == which; }) ? 1 : 0;
        ambiguous += guess->ambiguous ? 1 : 0;
        off += difference_2000(is, guess->lab) / trials;
    }
    std::cout << added << " added, " << (known > 0 ? "known how many" : "unknown how many") << ", sd " << sd << ": named " << 100.0 * named / trials
              << " %, among those shown " << 100.0 * held / trials << " %, said to be ambiguous " << 100.0 * ambiguous / trials << " %, color off by "
              << off << std::endl;
    EXPECT_LE(off, 0.45);
    EXPECT_GE(named, (known == 1 ? 0.85 : added == 1 ? 0.7 : 0.3) * trials);
    EXPECT_GE(held, 0.9 * trials);
}

}  // namespace
}  // namespace sw
