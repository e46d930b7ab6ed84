#include "match/physical_bounds.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "color/difference.hpp"

namespace sw {
namespace {

/// f of CIELAB (CIE 015:2018, eqs 8.6 to 8.11): rising and concave everywhere.
constexpr double kKnee = 24.0 / 116;
double f(double t) { return t > kKnee * kKnee * kKnee ? std::cbrt(t) : 841.0 / 108 * t + 16.0 / 116; }
double f_inverse(double v) { return v > kKnee ? v * v * v : (v - 16.0 / 116) * 108 / 841; }
double f_slope(double t) { return t > kKnee * kKnee * kKnee ? 1 / (3 * std::cbrt(t) * std::cbrt(t)) : 841.0 / 108; }

/// The colors of all surfaces that read alike: a convex body in XYZ, a bent one in CIELAB.
class Body {
public:
    /// relative: reflectance to XYZ, each relative to the white.
    Body(const SensorRows& rows, const Eigen::Vector3d& seen, const ObserverMatrix& relative, const Xyz& white)
        : surfaces_(rows, seen), relative_(relative), white_(white) {
        for (int c = 0; c < 3; ++c) {
            low_[c] = std::max(0.0, -support(-Eigen::Vector3d::Unit(c)));
            high_[c] = std::max(low_[c], support(Eigen::Vector3d::Unit(c)));
            middle_[c] = f_inverse((f(low_[c]) + f(high_[c])) / 2);
        }
    }

    /// No color of the body has a larger L* m[0] + a* m[1] + b* m[2]: f is replaced by its tangent where it counts up, by its chord over the body's
    /// range where it counts down, and what is then linear in XYZ is asked of the body. The color that answers is kept as an extreme.
    double reach(const Eigen::Vector3d& m) {
        const Eigen::Vector3d factor(500 * m[1], 116 * m[0] - 500 * m[1] + 200 * m[2], -200 * m[2]);
        Eigen::Vector3d slope;
        double constant = -16 * m[0];
        for (int c = 0; c < 3; ++c) {
            double at = f(middle_[c]), from = middle_[c], k = f_slope(middle_[c]);
            if (factor[c] < 0) {
                at = f(low_[c]);
                from = low_[c];
                k = high_[c] - low_[c] > 1e-9 ? (f(high_[c]) - at) / (high_[c] - low_[c]) : 0;
            }
            slope[c] = factor[c] * k;
            constant += factor[c] * (at - k * from);
        }
        return constant + support(slope);
    }

    /// The color of the body that lies farthest along `rise` (per L*, a*, b*), as seen from a color of it.
    Lab farthest(const Lab& from, const Eigen::Vector3d& rise) {
        const Eigen::Vector3d factor(500 * rise[1], 116 * rise[0] - 500 * rise[1] + 200 * rise[2], -200 * rise[2]);
        const double y = (from.L + 16) / 116;
        const Eigen::Vector3d at(f_inverse(y + from.a / 500), f_inverse(y), f_inverse(y - from.b / 200));
        support({factor[0] * f_slope(at[0]), factor[1] * f_slope(at[1]), factor[2] * f_slope(at[2])});
        return extremes_.back();
    }

    [[nodiscard]] const std::vector<Lab>& extremes() const { return extremes_; }
    [[nodiscard]] bool sound() const { return sound_; }
    [[nodiscard]] double lowest_L() const { return 116 * f(low_[1]) - 16; }
    [[nodiscard]] double highest_L() const { return 116 * f(high_[1]) - 16; }

private:
    double support(const Eigen::Vector3d& direction) {
        const std::optional<ModelSpectrum> r = surfaces_.extreme(relative_.transpose() * direction);
        sound_ = sound_ && r;
        if (!r) return 0;
        const Eigen::Vector3d v = relative_ * *r;
        const Lab color = lab(Xyz{v[0] * white_.X, v[1] * white_.Y, v[2] * white_.Z}, white_);
        extremes_.push_back(color);
        return direction.dot(v);
    }

    AlikeSurfaces surfaces_;
    ObserverMatrix relative_;
    Xyz white_;
    Eigen::Vector3d low_, high_, middle_;
    std::vector<Lab> extremes_;
    bool sound_ = true;
};

/// The largest chroma and whether the hue lies in 0..180 degrees for sure.
struct Around {
    double chroma;
    bool yellow_half;
};
Around around(Body& body) {
    const double a = std::max(body.reach({0, 1, 0}), body.reach({0, -1, 0}));
    const double up = body.reach({0, 0, 1}), down = body.reach({0, 0, -1});
    return {std::hypot(a, std::max(up, down)), down <= 0};
}

/// CIEDE2000 is never less than the length of (dL / sl, da / sc, db / sc). For dC'^2 + dH'^2 = da'^2 + db'^2, a' is a* stretched alike for both,
/// S_H <= S_C, and R_T takes at most |R_T| / 2 of the sum. Sharma, Wu & Dalal 2005, eqs (2) to (22).
struct Least {
    double sl, sc;
};
Least least(Body& one, Body& other) {
    const auto lightness = [](double L) { return 1 + 0.015 * (L - 50) * (L - 50) / std::sqrt(20 + (L - 50) * (L - 50)); };
    const Around p = around(one), q = around(other);
    const double chroma = (p.chroma + q.chroma) / 2;
    const auto seventh = [](double c) { return std::sqrt(std::pow(c, 7) / (std::pow(c, 7) + std::pow(25.0, 7))); };
    const double stretched = chroma * (1 + 0.5 * (1 - seventh(chroma)));  // rises with chroma, so this is the largest
    // R_T = -sin(2 dtheta) R_C, dtheta <= 30 degrees; below 1e-4 for mean hues of 0..180 degrees.
    const double turn = p.yellow_half && q.yellow_half ? 1e-4 : std::sqrt(0.75) * seventh(stretched);
    const double low = (one.lowest_L() + other.lowest_L()) / 2, high = (one.highest_L() + other.highest_L()) / 2;
    return {std::max(lightness(low), lightness(high)), (1 + 0.045 * stretched) / std::sqrt(1 - turn)};
}

Lab farthest(const Lab& from, const std::vector<Lab>& to, double& most) {
    Lab best = from;
    for (const Lab& c : to) {
        const double d = difference_2000(from, c);
        if (d <= most) continue;
        best = c;
        most = d;
    }
    return best;
}

/// Moves a color of the body along the slope of its difference from `to`, where that gains.
bool climb(Body& body, Lab& at, const Lab& to, double& most) {
    constexpr double step = 1e-3;
    const double here = difference_2000(at, to);
    const Eigen::Vector3d rise(difference_2000({at.L + step, at.a, at.b, at.white}, to) - here,
                               difference_2000({at.L, at.a + step, at.b, at.white}, to) - here,
                               difference_2000({at.L, at.a, at.b + step, at.white}, to) - here);
    const Lab next = body.farthest(at, rise / step);
    const double there = difference_2000(next, to);
    if (!(there > most + 1e-6)) return false;
    most = there;
    at = next;
    return true;
}

/// The largest difference found between two bodies: from extremes here and there of one to the farthest of the other and back, then on along the
/// slope of the difference until nothing is gained. Every step is a pair that exists.
double largest(Body& one, Body& other) {
    const std::vector<Lab> ones = one.extremes(), others = other.extremes();
    double largest = 0;
    for (std::size_t k = 0; k < ones.size(); k += 16) {
        double most = -1;
        Lab b = farthest(ones[k], others, most), a = ones[k];
        most = -1;
        a = farthest(b, ones, most);
        for (int round = 0; round < 10; ++round) {
            const bool first = climb(one, a, b, most), second = climb(other, b, a, most);
            if (!first && !second) break;
        }
        largest = std::max(largest, most);
    }
    return largest;
}

}  // namespace

Interval physical_bounds(const SensorRows& rows, const Eigen::Vector3d& chip, const Eigen::Vector3d& swatch, const Light& light, Observer observer) {
    const Xyz white = xyz(light, observer);
    const ObserverMatrix relative = Eigen::Vector3d(100 / white.X, 100 / white.Y, 100 / white.Z).asDiagonal() * observer_matrix(light, observer);
    Body one(rows, chip, relative, white), other(rows, swatch, relative, white);
    const Least scale = least(one, other);
    if (!one.sound() || !other.sound()) return {};

    Interval bounds;
    const std::vector<Eigen::Vector3d> half = sphere_directions(49);
    std::vector<double> ahead_one, ahead_other;
    for (const double sign : {1.0, -1.0}) {
        for (std::size_t k = 0; k < half.size(); ++k) {
            const Eigen::Vector3d m =
                sign * Eigen::Vector3d(half[k][2] / scale.sl, half[k][0] / scale.sc, half[k][1] / scale.sc);  // from dark to light
            const double p = one.reach(m), q = other.reach(m);
            if (sign > 0) {
                ahead_one.push_back(p);
                ahead_other.push_back(q);
            } else {  // the slab between the two bodies, either way round
                bounds.low = std::max({bounds.low, -q - ahead_one[k], -p - ahead_other[k]});
            }
        }
    }
    if (!one.sound() || !other.sound()) return {};
    bounds.high = largest(one, other);
    bounds.low = std::clamp(bounds.low - 1e-6, 0.0, bounds.high);
    return bounds;
}

}  // namespace sw
