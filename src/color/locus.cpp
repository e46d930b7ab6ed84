#include "color/locus.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "color/light.hpp"
#include "color/planck.hpp"

namespace sw {
namespace {

struct Point {
    double mired = 0;
    Uv uv;
};

Uv locus_point(double mired) {
    const std::array<Bands, 3>& cmf = color_matching(Observer::degree2);
    Xyz sum;
    for (std::size_t i = 0; i < kBands; ++i) {
        const double power = planck_power(kFirstNm + static_cast<double>(i), 1e6 / mired);
        sum.X += cmf[0][i] * power;
        sum.Y += cmf[1][i] * power;
        sum.Z += cmf[2][i] * power;
    }
    return uv_1960(sum);
}

// 10 (100000 K) to 2000 mired (500 K) in steps of 1 percent.
const std::vector<Point>& locus() {
    static const std::vector<Point> points = [] {
        std::vector<Point> result;
        for (double mired = 10; mired < 2020; mired *= 1.01) result.push_back({mired, locus_point(mired)});
        return result;
    }();
    return points;
}

double distance(const Uv& a, const Uv& b) { return std::hypot(a.u - b.u, a.v - b.v); }

std::size_t nearest_index(const Uv& color) {
    const std::vector<Point>& points = locus();
    std::size_t best = 0;
    double least = 1e300;
    for (std::size_t i = 0; i < points.size(); ++i) {
        const double du = points[i].uv.u - color.u, dv = points[i].uv.v - color.v, d = du * du + dv * dv;
        if (d < least) {
            least = d;
            best = i;
        }
    }
    return best;
}

// Above the locus: on the side of greater v. The locus is nowhere steep enough in this range for v alone to mislead;
// the sign is taken from the side of the tangent all the same (temperature falls towards greater u).
double signed_distance(const Uv& color, const Uv& foot, const Uv& tangent) {
    const double cross = tangent.u * (color.v - foot.v) - tangent.v * (color.u - foot.u);
    return std::copysign(distance(color, foot), cross);
}

}  // namespace

Uv uv_1960(const Xyz& color) {
    const UvPrime prime = uv_prime(color);
    return {prime.u, prime.v * 2 / 3};
}

OnLocus nearest_on_locus(const Uv& color) {
    const std::vector<Point>& points = locus();
    const std::size_t i = nearest_index(color);
    if (i == 0 || i + 1 == points.size()) return {1e6 / points[i].mired, distance(color, points[i].uv), false};
    // Golden section between the neighbors.
    constexpr double kGolden = 0.6180339887498949;
    double low = points[i - 1].mired, high = points[i + 1].mired;
    double a = high - kGolden * (high - low), b = low + kGolden * (high - low);
    double at_a = distance(color, locus_point(a)), at_b = distance(color, locus_point(b));
    while (high - low > 1e-7 * high) {
        if (at_a < at_b) {
            high = b;
            b = a;
            at_b = at_a;
            a = high - kGolden * (high - low);
            at_a = distance(color, locus_point(a));
        } else {
            low = a;
            a = b;
            at_a = at_b;
            b = low + kGolden * (high - low);
            at_b = distance(color, locus_point(b));
        }
    }
    const double mired = (low + high) / 2;
    const Uv before = points[i - 1].uv, after = points[i + 1].uv;
    return {1e6 / mired, signed_distance(color, locus_point(mired), {after.u - before.u, after.v - before.v}), true};
}

OnLocus nearest_on_locus_fast(const Uv& color) {
    const std::vector<Point>& points = locus();
    const std::size_t i = nearest_index(color);
    if (i == 0 || i + 1 == points.size()) return {1e6 / points[i].mired, distance(color, points[i].uv), false};
    OnLocus best;
    double least = 1e300;
    for (std::size_t k = i - 1; k <= i; ++k) {
        const Point &p = points[k], &q = points[k + 1];
        const double du = q.uv.u - p.uv.u, dv = q.uv.v - p.uv.v;
        const double t = std::clamp(((color.u - p.uv.u) * du + (color.v - p.uv.v) * dv) / (du * du + dv * dv), 0.0, 1.0);
        const Uv foot{p.uv.u + t * du, p.uv.v + t * dv};
        const double d = distance(color, foot);
        if (d < least) {
            least = d;
            best = {1e6 / (p.mired + t * (q.mired - p.mired)), signed_distance(color, foot, {du, dv}), true};
        }
    }
    return best;
}

}  // namespace sw
