#include "mix/recipe.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <limits>
#include <numbers>

#include "color/difference.hpp"

namespace sw {
namespace {

constexpr int kMostPaints = 4;
constexpr int kMostLights = 8, kLeaf = 80, kDeepest = 200;
constexpr std::size_t kNear = 200;
constexpr double kNearBy = 0.5;  // recipes met that cost this more are remembered too
constexpr double kEdge = 1e-9;   // of weights: rounding
constexpr double kSlack = 1e-9;  // of XYZ on 0..1: rounding
using Row = Eigen::Array<double, kModelBands, 1>;
using Counts = Eigen::Vector4d;  // drops of each paint of the set; whole
static_assert(kMostPaints == 4);

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
struct Aim {
    ObserverMatrix to_xyz;
    Lab target;
    double weight = 1;
    struct Step {
        Planes planes;
        std::array<Row, 6> rows;      // each plane as weights over the bands
        std::array<double, 3> width;  // between opposite planes, at the target
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
    std::array<Eigen::Vector3d, kMostLights> xyz;
};
/// A part of the simplex of shares. Drops n of the set's paints have the weights `share` * n on the corners, any scale; none is negative inside.
/// Columns of `drops`: what the corners are made of, any scale.
struct Cell {
    std::array<const Corner*, kMostPaints> corners{};
    Eigen::Matrix4d share = Eigen::Matrix4d::Zero(), drops = Eigen::Matrix4d::Zero();
};
/// A bound on XYZ and what the bands may be off by in its direction.
struct Fence {
    std::size_t light = 0;
    Eigen::Vector3d direction;
    double limit = 0, error = 0;
};

class Search {
public:
    Search(const Shelf& shelf, const RecipeGoal& goal, const std::stop_token& stop) : shelf_(shelf), goal_(goal), stop_(stop) {
        for (const RecipeLight& l : goal.lights) {
            Aim sight{observer_matrix(l.light, goal.observer), l.target, l.weight, {}};
            sight.target.white = xyz(l.light, goal.observer);
            for (int i = 0; i < kSteps; ++i) {
                Aim::Step step{planes_around(sight.target, kFirstStep * std::pow(kStepRatio, i)), {}, {}};
                const Xyz middle = xyz(sight.target);
                const Eigen::Vector3d at(middle.X / 100, middle.Y / 100, middle.Z / 100);
                for (std::size_t p = 0; p < 3; ++p) {
                    const Plane &up = step.planes[2 * p], &down = step.planes[2 * p + 1];
                    step.width[p] = std::max(up.limit + down.limit - (up.direction + down.direction).dot(at), 1e-12);
                }
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
        std::sort(near_.begin(), near_.end(), [](const FoundRecipe& a, const FoundRecipe& b) { return a.cost < b.cost; });
        const auto same = [](const FoundRecipe& a, const FoundRecipe& b) { return a.parts == b.parts; };
        near_.erase(std::unique(near_.begin(), near_.end(), same), near_.end());
        if (near_.size() > kNear) near_.resize(kNear);
        return {std::move(fewer), std::move(near_), !stopped(), looked_at_};
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
        for (std::size_t l = 0; l < sights_.size(); ++l) c.xyz[l] = sights_[l].to_xyz * c.r.matrix();
        return scale;
    }

    /// The recipes in a cell lie in boxes, one for each total above half of the most (smaller totals are multiples of others).
    struct Boxes {
        Counts least = Counts::Zero(), most = Counts::Zero();  // shares of the whole
    };
    Boxes boxes_of(const Cell& c, int count) const {
        Boxes b;
        b.least.setOnes();
        for (int v = 0; v < count; ++v) {
            const Counts share = c.drops.col(v) / c.drops.col(v).sum();
            b.least = b.least.cwiseMin(share);
            b.most = b.most.cwiseMax(share);
        }
        return b;
    }
    int low(const Boxes& b, int i, int total) const { return std::max(goal_.least_drops, static_cast<int>(std::ceil(b.least[i] * total - kEdge))); }
    static int high(const Boxes& b, int i, int total) { return static_cast<int>(std::floor(b.most[i] * total + kEdge)); }
    /// How many points the boxes hold at most, counted up to `enough`.
    int points_in(const Boxes& b, int count, int enough) const {
        int sum = 0;
        for (int total = goal_.drops / 2 + 1; total <= goal_.drops && sum < enough; ++total) {
            int here = 1;
            for (int i = 0; i + 1 < count && here > 0; ++i) here *= std::max(0, high(b, i, total) - low(b, i, total) + 1);
            if (high(b, count - 1, total) < low(b, count - 1, total)) here = 0;
            sum += here;
        }
        return sum;
    }
    template <class Do>
    void for_points(const Boxes& b, const Cell& c, int count, const Do& act) const {
        for (int total = goal_.drops / 2 + 1; total <= goal_.drops; ++total) {
            Counts n = Counts::Zero();
            const auto fill = [&](auto&& self, int at, int left) -> void {
                if (at + 1 == count) {
                    if (left < low(b, at, total) || left > high(b, at, total)) return;
                    n[at] = left;
                    const Counts w = c.share * n;
                    if (w.minCoeff() >= -kEdge * w.cwiseAbs().maxCoeff()) act(n, w);
                    return;
                }
                for (int i = low(b, at, total); i <= std::min(high(b, at, total), left); ++i) {
                    n[at] = i;
                    self(self, at + 1, left - i);
                }
            };
            fill(fill, 0, total);
        }
    }

    void sets(std::array<int, kMostPaints>& set, int at, int first, int count) {
        if (stopped()) return;
        if (at == count) {
            Cell all;
            for (int i = 0; i < count; ++i) {
                const auto p = static_cast<std::size_t>(set[static_cast<std::size_t>(i)]);
                all.corners[static_cast<std::size_t>(i)] = &pure_[p];
                all.share(i, i) = scale_[p];
                all.drops(i, i) = 1 / scale_[p];
            }
            set_ = set;
            if (!excluded(all.corners, count, false)) cell(all, count);
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

    /// True only where no mix of the corners is better than to_beat(). Else the fences are left, for the recipes inside.
    bool excluded(const std::array<const Corner*, kMostPaints>& corners, int count, bool keep_fences) {
        fences_.clear();
        const double limit = to_beat();
        if (limit <= 0) return true;
        Row worst, gap, low, high;
        bool ready = false;
        double sum = 0;
        for (std::size_t l = 0; l < sights_.size(); ++l) {
            const Aim& sight = sights_[l];
            const auto beyond = [&](int index, bool keep) {
                if (index >= kSteps) return false;
                const Aim::Step& step = sight.ladder[static_cast<std::size_t>(index)];
                std::array<std::array<double, kMostPaints>, 6> over;  // how far each corner is beyond each plane
                for (std::size_t p = 0; p < 6; ++p) {
                    double least = std::numeric_limits<double>::infinity();
                    for (std::size_t v = 0; v < static_cast<std::size_t>(count); ++v) {
                        over[p][v] = step.planes[p].direction.dot(corners[v]->xyz[l]) - step.planes[p].limit;
                        least = std::min(least, over[p][v]);
                    }
                    if (least <= kSlack && !keep) continue;  // a corner is on the good side
                    if (!ready) {
                        errors(corners, count, worst, gap, low, high);
                        ready = true;
                    }
                    const Row& w = step.rows[p];
                    const double error = (w.abs() * worst + w.max(0) * gap).sum();
                    if (least - error > kSlack) return true;
                    if (least > kSlack && (w.max(0) * low + w.min(0) * high).sum() - step.planes[p].limit > kSlack) return true;
                    if (keep) fences_.push_back({l, step.planes[p].direction, step.planes[p].limit, error});
                }
                if (!ready) return false;
                // A slanting plane: what is below each of some planes is below any sum of them. Which: Gilbert 1966, SIAM J. Control 4, 61, toward
                // the corners' point nearest the middle of the planes, where opposite planes are one unit away.
                std::array<Eigen::Vector3d, kMostPaints> y;
                for (std::size_t v = 0; v < static_cast<std::size_t>(count); ++v) {
                    for (std::size_t i = 0; i < 3; ++i) {
                        const double up = over[2 * i][v], down = over[2 * i + 1][v];
                        y[v][static_cast<Eigen::Index>(i)] = (up - down) / step.width[i];
                    }
                }
                Eigen::Vector3d near = y[0];
                for (int turn = 0; turn < 6; ++turn) {
                    std::size_t to = 0;
                    for (std::size_t v = 1; v < static_cast<std::size_t>(count); ++v) to = near.dot(y[v]) < near.dot(y[to]) ? v : to;
                    const Eigen::Vector3d edge = y[to] - near;
                    const double length = edge.squaredNorm();
                    if (!(length > 0) || near.dot(edge) >= 0) break;
                    near += std::min(1.0, -near.dot(edge) / length) * edge;
                }
                Fence slanting{l, Eigen::Vector3d::Zero(), 0, 0};
                Row w = Row::Zero();
                for (std::size_t i = 0; i < 3; ++i) {
                    const double c = near[static_cast<Eigen::Index>(i)] / step.width[i];
                    const std::size_t p = c > 0 ? 2 * i : 2 * i + 1;
                    slanting.direction += std::abs(c) * step.planes[p].direction;
                    slanting.limit += std::abs(c) * step.planes[p].limit;
                    w += std::abs(c) * step.rows[p];
                }
                double least = std::numeric_limits<double>::infinity();
                for (std::size_t v = 0; v < static_cast<std::size_t>(count); ++v) least = std::min(least, slanting.direction.dot(corners[v]->xyz[l]));
                const double slack = kSlack * (1 + slanting.direction.norm());
                if (least <= slanting.limit + slack && !keep) return false;
                slanting.error = (w.abs() * worst + w.max(0) * gap).sum();
                if (least - slanting.error > slanting.limit + slack) return true;
                if (keep) fences_.push_back(slanting);
                return false;
            };
            if (beyond(step_above(limit / sight.weight), keep_fences)) return true;
            if (sights_.size() > 1) {  // what it costs here at least: the farthest of some steps that is excluded
                for (const double share : {0.8, 0.6, 0.4, 0.2}) {
                    const double t = share * limit / sight.weight;
                    if (t < kFirstStep) break;
                    const int index = step_above(t) - 1;
                    if (index >= 0 && beyond(index, false)) {
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

    /// `here` is not excluded.
    void cell(const Cell& here, int count) {
        if (stopped()) return;
        const std::array<const Corner*, kMostPaints>& corners = here.corners;
        const Boxes boxes = boxes_of(here, count);
        const int points = points_in(boxes, count, kLeaf + 1);
        if (points == 0) return;
        if (points <= kLeaf || count == 1 || depth_ + 1 >= kDeepest) {
            if (excluded(corners, count, true)) return;
            const auto corners_used = static_cast<std::size_t>(count), lights = sights_.size();
            std::array<Eigen::Vector3d, kMostLights> mean;  // of the corners, as the recipe is weighted on them
            for_points(boxes, here, count, [&](const Counts& n, const Counts& w) {
                const double weights = w.sum();
                for (std::size_t l = 0; l < lights; ++l) {
                    mean[l].setZero();
                    for (std::size_t v = 0; v < corners_used; ++v) mean[l] += w[static_cast<Eigen::Index>(v)] / weights * corners[v]->xyz[l];
                }
                const bool beyond = std::any_of(fences_.begin(), fences_.end(), [&](const Fence& f) {
                    return f.direction.dot(mean[f.light]) - f.error > f.limit + kSlack * (1 + f.direction.norm());
                });
                if (!beyond) try_recipe(n, count);
            });
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
        const auto row_a = static_cast<Eigen::Index>(from), row_b = static_cast<Eigen::Index>(to);
        Cell with_a = here, with_b = here;  // b replaced; a replaced
        with_a.corners[to] = &mid;
        with_a.share.row(row_a) -= (1 - t) / t * here.share.row(row_b);
        with_a.share.row(row_b) *= scale / t;
        with_b.corners[from] = &mid;
        with_b.share.row(row_b) -= t / (1 - t) * here.share.row(row_a);
        with_b.share.row(row_a) *= scale / (1 - t);
        with_a.drops.col(row_b) = ((1 - t) * here.drops.col(row_a) + t * here.drops.col(row_b)) / scale;
        with_b.drops.col(row_a) = with_a.drops.col(row_b);
        ++depth_;
        if (!excluded(with_a.corners, count, false)) cell(with_a, count);
        if (!excluded(with_b.corners, count, false)) cell(with_b, count);
        --depth_;
    }

    void try_recipe(const Counts& drops, int count) {
        ++looked_at_;
        Row k = Row::Zero(), s = Row::Zero();
        for (std::size_t i = 0; i < static_cast<std::size_t>(count); ++i) {
            const auto p = static_cast<std::size_t>(set_[i]);
            k += drops[static_cast<Eigen::Index>(i)] * scale_[p] * pure_[p].k;
            s += drops[static_cast<Eigen::Index>(i)] * scale_[p] * pure_[p].s;
        }
        const PaintSurface& f = shelf_.surface;
        const Row q = k / s.max(1e-9);
        const Row inside = (1 + q + (q * (q + 2)).sqrt()).inverse();
        const ModelSpectrum r = ((1 - f.k1) * (1 - f.k2) * inside / (1 - f.k2 * inside) + f.k1).matrix();
        double cost = 0;
        std::vector<double> de00;
        for (const Aim& sight : sights_) {
            const Eigen::Vector3d v = 100 * (sight.to_xyz * r);
            de00.push_back(difference_2000(sight.target, lab(Xyz{v[0], v[1], v[2]}, sight.target.white)));
            cost += sight.weight * de00.back();
            if (cost >= best_.cost + kNearBy) return;
        }
        FoundRecipe found{{}, std::move(de00), cost};
        for (int i = 0; i < count; ++i) found.parts.push_back({set_[static_cast<std::size_t>(i)], static_cast<int>(drops[i])});
        if (cost < best_.cost) best_ = found;
        near_.push_back(std::move(found));
        if (near_.size() < 20 * kNear) return;
        const auto middle = near_.begin() + kNear;  // the cheapest stay
        std::nth_element(near_.begin(), middle, near_.end(), [](const FoundRecipe& a, const FoundRecipe& b) { return a.cost < b.cost; });
        near_.erase(middle, near_.end());
    }

    const Shelf& shelf_;
    const RecipeGoal& goal_;
    const std::stop_token& stop_;
    std::vector<Aim> sights_;
    std::vector<Corner> pure_;
    std::vector<double> scale_;
    std::array<int, kMostPaints> set_{};
    double cap_ = 0;
    int depth_ = 0;
    std::vector<Fence> fences_;
    std::vector<FoundRecipe> near_;
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
    if (goal.lights.size() > kMostLights) return refuse("more lights than can be matched at once", "name up to 8");
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

std::vector<std::pair<int, int>> unlike_binders(const Shelf& shelf) {
    std::vector<std::string> binders;
    for (const Paint& p : shelf.paints) {
        binders.push_back(p.binder);
        for (char& c : binders.back()) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    }
    std::vector<std::pair<int, int>> apart;
    for (std::size_t a = 0; a < binders.size(); ++a) {
        for (std::size_t b = a + 1; b < binders.size(); ++b) {
            if (!binders[a].empty() && !binders[b].empty() && binders[a] != binders[b]) apart.emplace_back(static_cast<int>(a), static_cast<int>(b));
        }
    }
    return apart;
}

RecipeTraits traits(const Shelf& shelf, const RecipeGoal& goal, const FoundRecipe& found) {
    std::vector<Sight> sights;
    for (const RecipeLight& l : goal.lights) sights.push_back(sight(l.light, goal.observer));
    RecipeTraits t;
    if (!found.de00.empty())
        t.light_spread = *std::max_element(found.de00.begin(), found.de00.end()) - *std::min_element(found.de00.begin(), found.de00.end());
    int ways = 0;
    for (std::size_t i = 0; i < found.parts.size(); ++i) {
        for (const int by : {-1, 1}) {
            Recipe other = found.parts;
            other[i].drops += by;
            int all = 0;
            for (const RecipePart& p : other) all += p.drops;
            if (all < 1) continue;
            const ModelSpectrum r = mix_reflectance(shelf, other);
            double cost = 0;
            for (std::size_t l = 0; l < sights.size(); ++l) {
                Lab target = goal.lights[l].target;
                target.white = sights[l].white;
                cost += goal.lights[l].weight * difference_2000(target, seen(r, sights[l]));
            }
            t.drop_cost += cost - found.cost;
            ++ways;
        }
    }
    if (ways > 0) t.drop_cost /= ways;
    return t;
}

RecipeChoice choices(const Shelf& shelf, const RecipeGoal& goal, const RecipeAnswer& answer, double more) {
    RecipeChoice c;
    if (answer.best.empty()) return c;
    c.best = c.fewest_paints = c.least_metameric = c.most_robust = answer.best[0];
    RecipeTraits metameric = traits(shelf, goal, c.best), robust = metameric;
    std::vector<FoundRecipe> all = answer.best;
    all.insert(all.end(), answer.near.begin(), answer.near.end());
    for (const FoundRecipe& r : all) {
        if (r.cost > c.best.cost + more) continue;
        const RecipeTraits t = traits(shelf, goal, r);
        if (r.parts.size() < c.fewest_paints.parts.size() || (r.parts.size() == c.fewest_paints.parts.size() && r.cost < c.fewest_paints.cost))
            c.fewest_paints = r;
        if (t.light_spread < metameric.light_spread) {
            c.least_metameric = r;
            metameric = t;
        }
        if (r.cost + t.drop_cost < c.most_robust.cost + robust.drop_cost) {
            c.most_robust = r;
            robust = t;
        }
    }
    return c;
}

MissingPaint missing_paint(const RecipeGoal& goal, const Shelf& shelf, const FoundRecipe& found) {
    MissingPaint m;
    if (goal.lights.empty() || found.parts.empty()) return m;
    const Sight sight = sw::sight(goal.lights[0].light, goal.observer);
    Lab target = goal.lights[0].target;
    target.white = sight.white;
    const Lab is = seen(mix_reflectance(shelf, found.parts), sight);
    m.de00 = difference_2000(target, is);
    if (m.de00 < 1) return m;
    m.direction = difference_words(is, target);
    const Components step = components(is, target);
    const double chroma = std::hypot(target.a, target.b);
    if (chroma < 12) {
        m.kind = step.dL > 0 ? "a stronger white (such as PW6)" : "a deeper black (such as PBk7)";
        return m;
    }
    double hue = std::atan2(target.b, target.a) * 180 / std::numbers::pi;
    if (hue < 0) hue += 360;
    struct Hue {
        double upto;
        const char* name;
    };
    static constexpr Hue kHues[] = {{20, "violet-red (PV, PR)"}, {45, "red (PR)"},   {70, "orange (PO)"},  {105, "yellow (PY)"},
                                    {200, "green (PG)"},         {290, "blue (PB)"}, {335, "violet (PV)"}, {361, "violet-red (PV, PR)"}};
    const auto* named = std::find_if(std::begin(kHues), std::end(kHues), [&](const Hue& h) { return hue <= h.upto; });
    m.kind = std::string("a ") + (step.dC > 0 ? "cleaner " : "duller ") + (step.dL < 0 ? "and deeper " : "and lighter ") + named->name;
    return m;
}

}  // namespace sw
