#include "mix/recipe.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "color/difference.hpp"

namespace sw {
namespace {

constexpr int kMostPaints = 4;
constexpr double kSlack = 1e-9;  // of XYZ on 0..1: rounding
using Row = Eigen::Array<double, kModelBands, 1>;
using Counts = std::array<int, kMostPaints>;

double f_inverse(double f) {
    constexpr double d = 6.0 / 29;
    return f > d ? f * f * f : 3 * d * d * (f - 4.0 / 29);
}

/// direction * XYZ (Y = 1) <= limit holds wherever the difference is small enough.
struct Plane {
    Eigen::Vector3d direction = Eigen::Vector3d::Zero();
    double limit = 0;
};
using Planes = std::array<Plane, 6>;

/// Where CIEDE2000 to the target can be t or less. Weighting functions grow with what they depend on, so starting from too wide a range and working
/// it out again only narrows it, and each step holds.
Planes planes_around(const Lab& target, double t) {
    const auto s_l = [](double l) { return 1 + 0.015 * (l - 50) * (l - 50) / std::sqrt(20 + (l - 50) * (l - 50)); };
    double dl = t * s_l(100);
    for (int i = 0; i < 20; ++i) dl = t * s_l(50 + std::min(std::abs(target.L - 50) + dl / 2, 50.0));  // L* of both are 0..100

    const auto seventh = [](double c) { return std::sqrt(std::pow(c, 7) / (std::pow(c, 7) + std::pow(25.0, 7))); };
    const double chroma = std::hypot(target.a, target.b);
    const double stretch = 1 + 0.5 * (1 - seventh(chroma / 2));  // 1 + G at most: the mean chroma is at least half the target's
    const double c_low = chroma, c_high = std::hypot(stretch * target.a, target.b);
    const auto degrees = [](double a, double b) { return std::atan2(b, a) * 180 / std::numbers::pi; };
    const double hue_0 = degrees(target.a, target.b), hue_1 = degrees(stretch * target.a, target.b);
    double reach = c_high + 250;  // |difference| in the plane of a', b'
    double dc = reach, dh = reach;
    for (int i = 0; i < 60; ++i) {
        const double mean = c_high + std::min(reach, dc) / 2;
        double theta = 30;
        if (reach < c_low) {
            const double turn = std::asin(reach / c_low) * 180 / std::numbers::pi + std::abs(hue_1 - hue_0);
            const double off = std::max(0.0, std::abs(std::remainder(hue_0 - 275, 360.0)) - turn);
            theta = 30 * std::exp(-off * off / 625);
        }
        const double r_t = std::sin(std::min(2 * theta, 60.0) * std::numbers::pi / 180) * 2 * seventh(mean);
        const double s_c = 1 + 0.045 * mean, s_h = 1 + 0.015 * mean * 1.93;  // T <= 1 + 0.17 + 0.24 + 0.32 + 0.20
        reach = std::min(reach, t * s_c / std::sqrt(1 - r_t / 2));
        dc = std::min(dc, t * s_c / std::sqrt(1 - r_t * r_t / 4));
        dh = std::min(dh, t * s_h / std::sqrt(1 - r_t * r_t / 4));
    }
    double da = reach, db = reach;
    if (c_low > 0) {  // along and across the target's hue
        const double along = dc + dh * dh / (2 * c_low), across = dh * std::sqrt(1 + dc / c_low);
        const auto worst = [&](double x0, double y0, double x1, double y1) {
            return std::max(std::abs(x0), std::abs(x1)) * along + std::max(std::abs(y0), std::abs(y1)) * across;
        };
        const double r = std::numbers::pi / 180;
        const double cos_0 = std::cos(hue_0 * r), cos_1 = std::cos(hue_1 * r), sin_0 = std::sin(hue_0 * r), sin_1 = std::sin(hue_1 * r);
        da = std::min(da, worst(cos_0, sin_0, cos_1, sin_1));
        db = std::min(db, worst(sin_0, cos_0, sin_1, cos_1));
    }

    const Eigen::Vector3d white(target.white.X / 100, target.white.Y / 100, target.white.Z / 100);
    const double fy_low = (target.L - dl + 16) / 116, fy_high = (target.L + dl + 16) / 116;
    Planes planes;
    planes[0] = {{0, 1, 0}, white[1] * f_inverse(fy_high)};
    planes[1] = {{0, -1, 0}, -white[1] * f_inverse(fy_low)};
    const auto side = [&](int axis, double low, double high, std::size_t at) {  // low <= f(axis) - f(Y) <= high
        Eigen::Vector3d e = Eigen::Vector3d::Zero();
        e[axis] = 1 / white[axis];
        if (fy_low > 0.21 && fy_low + low > 0.21) {  // cube roots: a ratio
            const double k_high = std::pow(1 + std::max(high / fy_low, high / fy_high), 3),
                         k_low = std::pow(1 + std::min(low / fy_low, low / fy_high), 3);
            planes[at] = {e - Eigen::Vector3d(0, k_high / white[1], 0), 0};
            planes[at + 1] = {Eigen::Vector3d(0, k_low / white[1], 0) - e, 0};
        } else {
            planes[at] = {e, f_inverse(fy_high + high)};
            planes[at + 1] = {-e, -f_inverse(fy_low + low)};
        }
    };
    side(0, (target.a - da) / 500, (target.a + da) / 500, 2);
    side(2, -(target.b + db) / 200, -(target.b - db) / 200, 4);
    return planes;
}

/// A light made ready: planes for a ladder of differences.
struct Sight {
    ObserverMatrix to_xyz;
    Lab target;
    double weight = 1;
    struct Step {
        Planes planes;
        std::array<Row, 6> rows;  // each plane as weights over the bands
    };
    std::vector<Step> ladder;
};
constexpr double kFirstStep = 0.01, kStepRatio = 1.1;
constexpr int kSteps = 105;  // up to 200
int step_above(double t) {
    return t <= kFirstStep ? 0 : std::min(static_cast<int>(std::ceil(std::log(t / kFirstStep) / std::log(kStepRatio))), kSteps);
}

/// A corner of a cell: a mix, scaled so that its mean S is 1 (K and S may be scaled together).
struct Corner {
    Row k, s, r;    // r as measured
    Row root, inv;  // sqrt of R below the surface; 1 / sqrt(1 - k2 R)
    std::vector<Eigen::Vector3d> xyz;
};
/// A recipe in a cell: its weights on the corners, any scale.
struct Point {
    std::array<double, kMostPaints> weight{};
    int at = 0;
};

class Search {
public:
    Search(const Shelf& shelf, const RecipeGoal& goal, const std::stop_token& stop) : shelf_(shelf), goal_(goal), stop_(stop) {
        for (const RecipeLight& l : goal.lights) {
            Sight sight{observer_matrix(l.light, goal.observer), l.target, l.weight, {}};
            sight.target.white = xyz(l.light, goal.observer);
            for (int i = 0; i < kSteps; ++i) {
                Sight::Step step{planes_around(sight.target, kFirstStep * std::pow(kStepRatio, i)), {}};
                for (std::size_t p = 0; p < 6; ++p) step.rows[p] = (step.planes[p].direction.transpose() * sight.to_xyz).transpose().array();
                sight.ladder.push_back(std::move(step));
            }
            sights_.push_back(std::move(sight));
        }
        for (const Paint& paint : shelf.paints) {
            Corner corner;
            scale_.push_back(finish(corner, paint.k.array() * paint.drop.ml, paint.s.array() * paint.drop.ml));
            pure_.push_back(std::move(corner));
        }
    }

    RecipeAnswer run() {
        const int paints = static_cast<int>(shelf_.paints.size());
        std::vector<FoundRecipe> fewer;
        for (int count = 1; count <= std::min(goal_.max_paints, paints) && !stopped(); ++count) {
            list_points(count);
            // Passes with a rising cap: each finds the best below it or proves that there is none.
            for (double cap = 0.08; !stopped(); cap *= 2.5) {
                cap_ = cap;
                std::array<int, kMostPaints> set{};
                sets(set, 0, 0, count);
                if (best_.cost <= cap || cap > 150) break;
            }
            if (!best_.parts.empty() && (fewer.empty() || fewer.back().parts != best_.parts)) fewer.push_back(best_);
        }
        std::reverse(fewer.begin(), fewer.end());
        return {std::move(fewer), !stopped(), looked_at_};
    }

private:
    bool stopped() const { return stop_.stop_requested(); }

    /// Fills the corner from K and S; returns what they were divided by.
    double finish(Corner& c, const Row& k, const Row& s) const {
        const double scale = s.mean();
        const PaintSurface& f = shelf_.surface;
        c.k = k / scale;
        c.s = s / scale;
        const Row q = c.k / c.s.max(1e-9);
        const Row inside = (1 + q + (q * (q + 2)).sqrt()).inverse();
        c.root = inside.sqrt();
        const Row open = 1 - f.k2 * inside;
        c.inv = open.rsqrt();
        c.r = (1 - f.k1) * (1 - f.k2) * inside / open + f.k1;
        c.xyz.clear();
        for (const Sight& sight : sights_) c.xyz.emplace_back(sight.to_xyz * c.r.matrix());
        return scale;
    }

    /// Drops of `count` paints: all totals above half of the most.
    void list_points(int count) {
        points_.clear();
        Counts n{};
        const auto fill = [&](auto&& self, int at, int left) -> void {
            if (at == count) {
                const int total = goal_.drops - left;
                const bool small = 2 * total <= goal_.drops;
                if (!small) points_.push_back(n);
                return;
            }
            for (int i = goal_.least_drops; i <= left; ++i) {
                n[static_cast<std::size_t>(at)] = i;
                self(self, at + 1, left - i);
            }
        };
        fill(fill, 0, goal_.drops);
    }

    void sets(std::array<int, kMostPaints>& set, int at, int first, int count) {
        if (stopped()) return;
        if (at == count) {
            std::array<const Corner*, kMostPaints> corners{};
            for (int i = 0; i < count; ++i) corners[static_cast<std::size_t>(i)] = &pure_[static_cast<std::size_t>(set[static_cast<std::size_t>(i)])];
            if (excluded(corners, count)) return;
            set_ = set;
            std::vector<Point> all(points_.size());
            for (std::size_t p = 0; p < all.size(); ++p) {
                all[p].at = static_cast<int>(p);
                for (std::size_t i = 0; i < static_cast<std::size_t>(count); ++i)
                    all[p].weight[i] = points_[p][i] * scale_[static_cast<std::size_t>(set[i])];
            }
            cell(corners, count, std::move(all), true);
            return;
        }
        for (int p = first; p < static_cast<int>(pure_.size()); ++p) {
            const bool clash = std::any_of(goal_.apart.begin(), goal_.apart.end(), [&](const auto& pair) {
                const auto in = [&](int x) { return x == p || std::find(set.begin(), set.begin() + at, x) != set.begin() + at; };
                return pair.first != pair.second && in(pair.first) && in(pair.second) && (pair.first == p || pair.second == p);
            });
            if (clash) continue;
            set[static_cast<std::size_t>(at)] = p;
            sets(set, at + 1, p + 1, count);
        }
    }

    double to_beat() const { return std::min(best_.cost - goal_.within, cap_); }

    /// True only where no mix of the corners is better than to_beat().
    bool excluded(const std::array<const Corner*, kMostPaints>& corners, int count) const {
        const double limit = to_beat();
        if (limit <= 0) return true;
        Row worst, gap, low, high;
        bool ready = false;
        double sum = 0;
        for (std::size_t l = 0; l < sights_.size(); ++l) {
            const Sight& sight = sights_[l];
            const auto beyond = [&](int index) {
                if (index >= kSteps) return false;
                const Sight::Step& step = sight.ladder[static_cast<std::size_t>(index)];
                for (std::size_t p = 0; p < 6; ++p) {
                    double least = std::numeric_limits<double>::infinity();
                    for (std::size_t v = 0; v < static_cast<std::size_t>(count); ++v)
                        least = std::min(least, step.planes[p].direction.dot(corners[v]->xyz[l]));
                    const double bound = step.planes[p].limit + kSlack;
                    if (least <= bound) continue;  // a corner is on the good side
                    if (!ready) {
                        errors(corners, count, worst, gap, low, high);
                        ready = true;
                    }
                    const Row& w = step.rows[p];
                    if (least - (w.abs() * worst + w.max(0) * gap).sum() > bound) return true;
                    if ((w.max(0) * low + w.min(0) * high).sum() > bound) return true;
                }
                return false;
            };
            if (beyond(step_above(limit / sight.weight))) return true;
            if (sights_.size() > 1) {  // what it costs here at least: the farthest of some steps that is excluded
                for (const double share : {0.8, 0.6, 0.4, 0.2}) {
                    const double t = share * limit / sight.weight;
                    if (t < kFirstStep) break;
                    const int index = step_above(t) - 1;
                    if (index >= 0 && beyond(index)) {
                        sum += sight.weight * kFirstStep * std::pow(kStepRatio, index);
                        break;
                    }
                }
                if (sum > limit) return true;
            }
        }
        return false;
    }

    /// How far a band's R can be from the mean of the corners' (either way `worst`, down by `gap` too), and its range.
    void errors(const std::array<const Corner*, kMostPaints>& corners, int count, Row& worst, Row& gap, Row& low, Row& high) const {
        Row s_low = corners[0]->s, s_high = s_low, root_low = corners[0]->root, root_high = root_low, inv_low = corners[0]->inv, inv_high = inv_low;
        low = high = corners[0]->r;
        for (std::size_t v = 1; v < static_cast<std::size_t>(count); ++v) {
            const Corner& c = *corners[v];
            s_low = s_low.min(c.s);
            s_high = s_high.max(c.s);
            root_low = root_low.min(c.root);
            root_high = root_high.max(c.root);
            inv_low = inv_low.min(c.inv);
            inv_high = inv_high.max(c.inv);
            low = low.min(c.r);
            high = high.max(c.r);
        }
        const PaintSurface& f = shelf_.surface;
        const double b = (1 - f.k1) * (1 - f.k2);
        // Chord gaps of R(q), times the surface's steepest slope, and of the surface, (1/k2)(1/(1 - k2 R)) but for a constant.
        const Row product = (root_low * root_high).square();
        gap = b * inv_high.square().square() * (root_high - root_low).square() / (1 - product).max(1e-12);
        if (f.k2 > 0) gap += b / f.k2 * (inv_high - inv_low).square();
        worst = (s_high - s_low) * (high - low) / (4 * s_low.max(1e-9));
    }

    void cell(const std::array<const Corner*, kMostPaints>& corners, int count, std::vector<Point> inside, bool fresh) {
        if (inside.empty() || stopped()) return;
        if (!fresh && excluded(corners, count)) return;
        if (inside.size() <= 6 || count == 1) {
            for (const Point& point : inside) try_recipe(points_[static_cast<std::size_t>(point.at)], count);
            return;
        }
        // The edge longest in XYZ, split where its most changing band is midway.
        std::size_t from = 0, to = 1;
        double longest = -1;
        for (std::size_t i = 0; i < static_cast<std::size_t>(count); ++i) {
            for (std::size_t j = i + 1; j < static_cast<std::size_t>(count); ++j) {
                double length = 0;
                for (std::size_t l = 0; l < sights_.size(); ++l)
                    length += (corners[i]->xyz[l].cwiseMax(0).cwiseSqrt() - corners[j]->xyz[l].cwiseMax(0).cwiseSqrt()).squaredNorm();
                if (length > longest) {
                    longest = length;
                    from = i;
                    to = j;
                }
            }
        }
        const Corner &a = *corners[from], &b = *corners[to];
        Eigen::Index band = 0;
        (a.root - b.root).abs().maxCoeff(&band);
        const double middle = std::pow((a.root[band] + b.root[band]) / 2, 2), q = absorption_ratio(std::max(middle, 1e-9));
        const double at_a = a.k[band] - q * a.s[band], at_b = b.k[band] - q * b.s[band];
        double t = at_a != at_b ? at_a / (at_a - at_b) : 0.5;
        if (!(t > 0.001 && t < 0.999)) t = 0.5;
        Corner mid;
        const double scale = finish(mid, (1 - t) * a.k + t * b.k, (1 - t) * a.s + t * b.s);
        std::vector<Point> near_a, near_b;
        for (Point point : inside) {
            double &wa = point.weight[from], &wb = point.weight[to];
            if (wb * (1 - t) <= wa * t) {  // b is replaced
                wa = std::max(0.0, wa - wb * (1 - t) / t);
                wb = wb / t * scale;
                near_a.push_back(point);
            } else {
                wb = std::max(0.0, wb - wa * t / (1 - t));
                wa = wa / (1 - t) * scale;
                near_b.push_back(point);
            }
        }
        inside = {};
        std::array<const Corner*, kMostPaints> with_a = corners, with_b = corners;
        with_a[to] = &mid;
        with_b[from] = &mid;
        cell(with_a, count, std::move(near_a), false);
        cell(with_b, count, std::move(near_b), false);
    }

    void try_recipe(const Counts& drops, int count) {
        ++looked_at_;
        Row k = Row::Zero(), s = Row::Zero();
        for (std::size_t i = 0; i < static_cast<std::size_t>(count); ++i) {
            const auto p = static_cast<std::size_t>(set_[i]);
            k += drops[i] * scale_[p] * pure_[p].k;
            s += drops[i] * scale_[p] * pure_[p].s;
        }
        const PaintSurface& f = shelf_.surface;
        const Row q = k / s.max(1e-9);
        const Row inside = (1 + q + (q * (q + 2)).sqrt()).inverse();
        const ModelSpectrum r = ((1 - f.k1) * (1 - f.k2) * inside / (1 - f.k2 * inside) + f.k1).matrix();
        double cost = 0;
        std::vector<double> de00;
        for (const Sight& sight : sights_) {
            const Eigen::Vector3d v = 100 * (sight.to_xyz * r);
            de00.push_back(difference_2000(sight.target, lab(Xyz{v[0], v[1], v[2]}, sight.target.white)));
            cost += sight.weight * de00.back();
            if (cost >= best_.cost) return;
        }
        best_ = {{}, std::move(de00), cost};
        for (std::size_t i = 0; i < static_cast<std::size_t>(count); ++i) best_.parts.push_back({set_[i], drops[i]});
    }

    const Shelf& shelf_;
    const RecipeGoal& goal_;
    const std::stop_token& stop_;
    std::vector<Sight> sights_;
    std::vector<Corner> pure_;
    std::vector<double> scale_;
    std::vector<Counts> points_;
    std::array<int, kMostPaints> set_{};
    double cap_ = 0;
    FoundRecipe best_{{}, {}, std::numeric_limits<double>::infinity()};
    std::int64_t looked_at_ = 0;
};

}  // namespace

Result<RecipeAnswer> best_recipes(const Shelf& shelf, const RecipeGoal& goal, const std::stop_token& stop) {
    const auto refuse = [](std::string cause, std::string remedy) {
        return Error{.fault = Fault::bad_usage, .file = {}, .place = {}, .cause = std::move(cause), .remedy = std::move(remedy)};
    };
    if (shelf.paints.empty()) return refuse("no paints to mix from", "put paints on the shelf");
    if (goal.lights.empty()) return refuse("no light to match under", "name a light");
    if (goal.drops < 1 || goal.drops > 60) return refuse("the drops of a recipe are not 1 to 60", "scale a smaller recipe up");
    if (goal.max_paints < 1 || goal.max_paints > kMostPaints) return refuse("the paints of a recipe are not 1 to 4", "ask for up to 4");
    if (goal.least_drops < 1 || goal.least_drops > goal.drops) return refuse("the least dose is not between 1 and all drops", "make it smaller");
    if (!(goal.within >= 0)) return refuse("the best cannot be missed by less than nothing", "give 0 or more");
    for (const RecipeLight& l : goal.lights) {
        if (!(l.weight > 0) || !std::isfinite(l.target.L + l.target.a + l.target.b))
            return refuse("a target or a light's weight is no number", "check it");
    }
    return Search(shelf, goal, stop).run();
}

}  // namespace sw
