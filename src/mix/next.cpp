#include "mix/next.hpp"

#include <Eigen/LU>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "color/difference.hpp"
#include "mix/gauss_newton.hpp"
#include "spectral/random.hpp"

namespace sw {
namespace {

constexpr int kDraws = 256;

Error no_next(std::string cause, std::string remedy) {
    return Error{.fault = Fault::bad_usage, .file = {}, .place = {}, .cause = std::move(cause), .remedy = std::move(remedy)};
}

Eigen::Vector3d vector_of(const Lab& lab) { return {lab.L, lab.a, lab.b}; }

class Adder {
public:
    Adder(const Learned& learned, int pot, const NextGoal& goal) : shelf_(learned.start), goal_(goal), draws_(pot_draws(learned, pot, kDraws)) {
        for (const Addition& a : learned.pots[static_cast<std::size_t>(pot)].additions) drops_ += a.drops;
        allowed_ = goal.allowed;
        if (allowed_.empty()) {
            allowed_.resize(shelf_.paints.size());
            std::iota(allowed_.begin(), allowed_.end(), 0);
        }
    }

    double grown(const Recipe& add) const {
        double ml = 0;
        for (const RecipePart& p : add) ml += p.drops * shelf_.paints[static_cast<std::size_t>(p.paint)].drop.ml;
        return ml / draws_[0].ml;
    }
    double price(const Recipe& add) const {
        const double growth = grown(add);
        if (growth > goal_.most_growth) return 1e9;
        double sum = goal_.growth_price * growth;
        for (const NextLight& l : goal_.lights)
            sum += l.weight * difference_2000(l.target, draw_color(draws_[0], shelf_, add, {}, l.sight, goal_.coat));
        return sum;
    }

    Recipe best_from(Recipe now) const {
        double best = price(now);
        static constexpr int kSteps[] = {1, -1, 2, -2, 4, -4, 8, -8};
        for (bool moved = true; moved;) {
            moved = false;
            Recipe next = now;
            const auto look = [&](const Recipe& there) {
                const double c = price(there);
                if (c < best - 1e-9) {
                    best = c;
                    next = there;
                    moved = true;
                }
            };
            for (const int a : allowed_) {
                for (const int i : kSteps) {
                    const Recipe one = with(now, a, i);
                    if (one.empty() && i < 0) continue;
                    look(one);
                }
            }
            if (!moved) {
                for (const int a : allowed_) {
                    for (const int i : {1, 2, 4, -1, -2}) {
                        const Recipe one = with(now, a, i);
                        for (const int b : allowed_) {
                            if (b == a) continue;
                            for (const int j : {1, 2, -1, -2, -4}) look(with(one, b, j));
                        }
                    }
                }
            }
            now = next;
        }
        return now;
    }

    Outlook outlook(const Recipe& add) const {
        Outlook o;
        o.add = add;
        const NextLight& light = goal_.lights[0];
        Random random(7);
        const Eigen::Matrix3d target_root = root_of(goal_.target_covariance);
        std::vector<double> off;
        std::vector<Eigen::Vector3d> labs;
        for (std::size_t d = 1; d < draws_.size(); ++d) {
            std::vector<double> dose;
            for (const RecipePart& p : add) dose.push_back(std::exp(shelf_.paints[static_cast<std::size_t>(p.paint)].drop.cv * random.normal()));
            Eigen::Vector3d normal;
            for (double& v : normal) v = random.normal();
            const Eigen::Vector3d moved = target_root * normal;
            const Lab lab = draw_color(draws_[d], shelf_, add, dose, light.sight, goal_.coat);
            const Lab target{light.target.L + moved[0], light.target.a + moved[1], light.target.b + moved[2], light.target.white};
            off.push_back(difference_2000(target, lab));
            labs.push_back(vector_of(lab));
        }
        Eigen::Vector3d mean = Eigen::Vector3d::Zero();
        for (const Eigen::Vector3d& v : labs) mean += v / static_cast<double>(labs.size());
        for (const Eigen::Vector3d& v : labs) o.covariance += (v - mean) * (v - mean).transpose() / static_cast<double>(labs.size() - 1);
        o.expected = {mean[0], mean[1], mean[2], light.sight.white};
        o.de00 = std::accumulate(off.begin(), off.end(), 0.0) / static_cast<double>(off.size());
        o.chance_within = static_cast<double>(std::count_if(off.begin(), off.end(), [&](double v) { return v <= goal_.tolerance; })) /
                          static_cast<double>(off.size());
        std::sort(off.begin(), off.end());
        o.low = off[off.size() / 40];
        o.high = off[off.size() - 1 - off.size() / 40];
        o.drops_before = o.drops_after = drops_;
        for (const RecipePart& p : add) o.drops_after += p.drops;
        o.growth = 1 + grown(add);
        return o;
    }

    /// One paint more or less, if it can be; else as it was.
    Recipe with(Recipe add, int paint, int drops) const {
        const auto at = std::find_if(add.begin(), add.end(), [&](const RecipePart& p) { return p.paint == paint; });
        if (at == add.end()) {
            if (drops > 0 && static_cast<int>(add.size()) < goal_.most_paints) add.push_back({paint, drops});
            return add;
        }
        at->drops = std::max(at->drops + drops, 0);
        if (at->drops == 0) add.erase(at);
        return add;
    }

    const std::vector<int>& allowed() const { return allowed_; }

private:
    const Shelf& shelf_;
    const NextGoal& goal_;
    std::vector<PotDraw> draws_;
    std::vector<int> allowed_;
    double drops_ = 0;
};

std::string percent(double chance) { return std::to_string(static_cast<int>(std::lround(100 * chance))) + " %"; }

}  // namespace

Result<NextAdvice> next_addition(const Learned& learned, int pot, const NextGoal& goal) {
    if (pot < 0 || pot >= static_cast<int>(learned.pots.size())) return no_next("there is no such pot", "name one that was begun");
    if (learned.pots[static_cast<std::size_t>(pot)].additions.empty()) return no_next("nothing is in the pot", "begin with a recipe");
    if (goal.lights.empty()) return no_next("no light to match under", "name a light");
    if (!(goal.tolerance > 0) || goal.most_paints < 1 || !(goal.most_growth > 0) || !(goal.growth_price >= 0))
        return no_next("a number of the goal is out of range", "tolerance and growth are above 0, paints at least 1");
    for (const int p : goal.allowed) {
        if (p < 0 || p >= static_cast<int>(learned.start.paints.size())) return no_next("a paint is not on the shelf", "put it there");
    }
    const Adder adder(learned, pot, goal);
    NextAdvice advice;
    advice.as_it_is = adder.outlook({});
    std::vector<Recipe> found;
    const auto keep = [&](const Recipe& add) {
        if (add.empty()) return;
        Recipe sorted = add;
        std::sort(sorted.begin(), sorted.end(), [](const RecipePart& a, const RecipePart& b) { return a.paint < b.paint; });
        if (std::find(found.begin(), found.end(), sorted) == found.end()) found.push_back(sorted);
    };
    keep(adder.best_from({}));
    std::vector<std::pair<double, Recipe>> starts;  // and from the best with each paint alone
    for (const int p : adder.allowed()) {
        Recipe one{{p, 1}};
        double price = adder.price(one);
        for (int n = 2; n < 60; ++n) {
            const double more = adder.price({{p, n}});
            if (more >= price) break;
            price = more;
            one = {{p, n}};
        }
        starts.emplace_back(price, one);
    }
    std::sort(starts.begin(), starts.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    for (std::size_t i = 0; i < std::min<std::size_t>(3, starts.size()); ++i) {
        keep(starts[i].second);
        keep(adder.best_from(starts[i].second));
    }
    std::sort(found.begin(), found.end(), [&](const Recipe& a, const Recipe& b) { return adder.price(a) < adder.price(b); });
    if (found.size() > 4) found.resize(4);
    for (const Recipe& add : found) advice.additions.push_back(adder.outlook(add));
    const auto worth = [&](const Outlook& o) { return o.de00 + goal.growth_price * (o.growth - 1); };
    std::stable_sort(advice.additions.begin(), advice.additions.end(), [&](const Outlook& a, const Outlook& b) { return worth(a) < worth(b); });
    std::erase_if(advice.additions, [&](const Outlook& o) { return worth(o) > worth(advice.as_it_is) - 0.1; });
    if (advice.as_it_is.chance_within >= 0.9) {
        advice.step = NextStep::leave;
        advice.words = "within your tolerance already, by a chance of " + percent(advice.as_it_is.chance_within);
    } else if (advice.additions.empty()) {
        const bool near = advice.as_it_is.chance_within >= 1.0 / 3;
        advice.step = near ? NextStep::leave : NextStep::start_anew;
        advice.words = near ? "no addition promises to come nearer than it is" : "no addition brings it near: start anew, with what was learned";
    } else if (advice.additions[0].chance_within < 1.0 / 3 && advice.additions[0].de00 > goal.tolerance &&
               advice.additions[0].growth > 1 + 0.9 * goal.most_growth) {
        advice.step = NextStep::start_anew;
        advice.words = "even grown as far as allowed it stays outside (chance " + percent(advice.additions[0].chance_within) + "): start anew";
    } else {
        advice.step = NextStep::add;
        advice.words = "chance within tolerance " + percent(advice.additions[0].chance_within);
    }
    return advice;
}

Result<AdditionGuess> guess_addition(const Learned& learned, int pot, const ColorRead& read, int how_many, int most_drops, const Coat& coat) {
    if (pot < 0 || pot >= static_cast<int>(learned.pots.size())) return no_next("there is no such pot", "name one that was begun");
    if (learned.pots[static_cast<std::size_t>(pot)].additions.empty()) return no_next("nothing was in the pot", "begin with a recipe");
    if (how_many < 0 || how_many > 2) return no_next("more than two paints cannot be told from one color", "give 1, 2 or 0 for unknown");
    if (most_drops < 1 || most_drops > 20) return no_next("the most that may have been added is not 1 to 20 drops", "narrow it down");
    const Shelf& shelf = learned.shelf;
    const std::vector<PotDraw> draws = pot_draws(learned, pot, 96);
    const PotDraw& base = draws[0];
    // How the pot's color, before, is open: carried over to after.
    std::vector<Eigen::Vector3d> before;
    Eigen::Vector3d mean = Eigen::Vector3d::Zero();
    for (std::size_t d = 1; d < draws.size(); ++d) before.push_back(vector_of(draw_color(draws[d], learned.start, {}, {}, read.sight, coat)));
    for (const Eigen::Vector3d& v : before) mean += v / static_cast<double>(before.size());
    Eigen::Matrix3d open = Eigen::Matrix3d::Zero();
    for (const Eigen::Vector3d& v : before) open += (v - mean) * (v - mean).transpose() / static_cast<double>(before.size());

    const int paints = static_cast<int>(shelf.paints.size());
    const Eigen::MatrixXd spread = spread_of(shelf);
    std::vector<Eigen::MatrixXd> own;  // covariance of each paint's own doubts
    for (int p = 0; p < paints; ++p) {
        const Eigen::MatrixXd rows = spread.middleRows(first_doubt(shelf, p), shelf.paints[static_cast<std::size_t>(p)].doubt.cols());
        own.emplace_back(rows * rows.transpose());
    }
    struct Way {
        std::vector<int> paints, drops;
        double log_weight = 0;
        Eigen::Vector3d lab;
        Eigen::Matrix3d covariance;
    };
    std::vector<Way> ways;
    const double singles = paints * most_drops, pairs = 0.5 * paints * (paints - 1) * most_drops * most_drops;
    const double one = how_many == 1 ? 1 : how_many == 2 ? 0 : 0.5;
    const auto look = [&](const std::vector<int>& which, const std::vector<int>& drops, double log_prior) {
        Medium mix{base.k, base.s};
        double total = base.ml;
        std::vector<double> ml;
        for (std::size_t i = 0; i < which.size(); ++i) {
            const auto p = static_cast<std::size_t>(which[i]);
            ml.push_back(drops[i] * shelf.paints[p].drop.ml);
            mix.k += ml[i] * base.paints[p].k;
            mix.s += ml[i] * base.paints[p].s;
            total += ml[i];
        }
        mix.k /= total;
        mix.s /= total;
        const Appearance a = appearance(mix, shelf.surface, coat);
        const Eigen::Vector3d lab = vector_of(seen(a.reflectance, read.sight)) + base.error;
        const Eigen::Vector3d off = vector_of(read.lab) - lab;
        const double share_before = base.ml / total;
        Eigen::Matrix3d covariance = read.covariance + share_before * share_before * open;
        if (off.dot((covariance + 4 * Eigen::Matrix3d::Identity()).ldlt().solve(off)) > 400) return;  // out of the question
        const ObserverMatrix slope = lab_slope(a.reflectance, read.sight);
        const ObserverMatrix by_k = slope * a.by_k.cwiseQuotient(mix.k).asDiagonal(), by_s = slope * a.by_s.cwiseQuotient(mix.s).asDiagonal();
        Eigen::Matrix3d doubt = share_before * share_before * open + 1e-4 * Eigen::Matrix3d::Identity();
        for (std::size_t i = 0; i < which.size(); ++i) {
            const Paint& paint = shelf.paints[static_cast<std::size_t>(which[i])];
            const Medium& m = base.paints[static_cast<std::size_t>(which[i])];
            const double share = ml[i] / total;
            const Eigen::Vector3d dose = share * (by_k * (m.k - mix.k) + by_s * (m.s - mix.s));
            doubt += paint.drop.cv * paint.drop.cv * dose * dose.transpose();
            if (paint.doubt.cols() == 0) continue;
            const Eigen::MatrixXd moves = share * (by_k * m.k.asDiagonal() * paint.doubt.topRows<kModelBands>() +
                                                   by_s * m.s.asDiagonal() * paint.doubt.bottomRows<kModelBands>());
            doubt += moves * own[static_cast<std::size_t>(which[i])] * moves.transpose();
        }
        covariance = read.covariance + doubt;
        const Eigen::LDLT<Eigen::Matrix3d> solver(covariance);
        const Eigen::Matrix3d gain = doubt * solver.solve(Eigen::Matrix3d::Identity());
        ways.push_back({which, drops, log_prior - 0.5 * off.dot(solver.solve(off)) - 0.5 * std::log(covariance.determinant()), lab + gain * off,
                        doubt - gain * doubt});
    };
    for (int a = 0; a < paints; ++a) {
        for (int i = 1; i <= most_drops; ++i) {
            if (one > 0) look({a}, {i}, std::log(one / singles));
            for (int b = a + 1; one < 1 && b < paints; ++b) {
                for (int j = 1; j <= most_drops; ++j) look({a, b}, {i, j}, std::log((1 - one) / pairs));
            }
        }
    }
    AdditionGuess guess;
    guess.lab = read.lab;
    guess.covariance = read.covariance;
    if (ways.empty()) {  // nothing explains it
        guess.ambiguous = true;
        return guess;
    }
    double top = ways[0].log_weight, sum = 0;
    for (const Way& w : ways) top = std::max(top, w.log_weight);
    for (const Way& w : ways) sum += std::exp(w.log_weight - top);
    std::map<std::vector<int>, GuessedAddition> sets;
    Eigen::Vector3d lab = Eigen::Vector3d::Zero();
    for (const Way& w : ways) {
        const double chance = std::exp(w.log_weight - top) / sum;
        GuessedAddition& g = sets[w.paints];
        g.paints = w.paints;
        g.chance += chance;
        g.drops.resize(w.paints.size());
        g.drops_sd.resize(w.paints.size());
        for (std::size_t i = 0; i < w.paints.size(); ++i) {
            g.drops[i] += chance * w.drops[i];
            g.drops_sd[i] += chance * w.drops[i] * w.drops[i];
        }
        lab += chance * w.lab;
    }
    Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();
    for (const Way& w : ways) covariance += std::exp(w.log_weight - top) / sum * (w.covariance + (w.lab - lab) * (w.lab - lab).transpose());
    guess.lab = {lab[0], lab[1], lab[2], read.sight.white};
    guess.covariance = covariance;
    for (auto& [which, g] : sets) {
        if (g.chance < 0.01) continue;
        for (std::size_t i = 0; i < which.size(); ++i) {
            g.drops[i] /= g.chance;
            g.drops_sd[i] = std::sqrt(std::max(g.drops_sd[i] / g.chance - g.drops[i] * g.drops[i], 0.0));
        }
        guess.sets.push_back(g);
    }
    std::sort(guess.sets.begin(), guess.sets.end(), [](const GuessedAddition& a, const GuessedAddition& b) { return a.chance > b.chance; });
    guess.ambiguous = guess.sets.empty() || guess.sets[0].chance < 0.8;
    return guess;
}

}  // namespace sw
