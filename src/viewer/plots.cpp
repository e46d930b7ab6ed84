#include "viewer/plots.hpp"

#include <cmath>
#include <numbers>

#include "color/difference.hpp"

namespace sw::window {
namespace {

/// How far one must go for the difference to be de00; it grows with the way. Up to 200.
template <class DifferenceAt>
double reach(DifferenceAt difference_at, double de00) {
    double near = 0, far = 1;
    while (far < 200 && difference_at(far) < de00) far *= 2;
    for (int i = 0; i < 40; ++i) {
        const double middle = (near + far) / 2;
        (difference_at(middle) < de00 ? near : far) = middle;
    }
    return (near + far) / 2;
}

double angle_of(int i, int n) { return 2 * std::numbers::pi * i / n; }

}  // namespace

std::vector<Point> tolerance_ring(const Lab& chip, double de00, int n) {
    std::vector<Point> ring;
    for (int i = 0; i < n; ++i) {
        const double x = std::cos(angle_of(i, n)), y = std::sin(angle_of(i, n));
        const auto at = [&](double way) {
            Lab moved = chip;
            moved.a += way * x;
            moved.b += way * y;
            return difference_2000(chip, moved);
        };
        const double way = reach(at, de00);
        ring.push_back({way * x, way * y});
    }
    return ring;
}

Interval tolerance_lightness(const Lab& chip, double de00, double kL) {
    const auto towards = [&](double sign) {
        return sign * reach(
                          [&](double way) {
                              Lab moved = chip;
                              moved.L += sign * way;
                              return difference_2000(chip, moved, {.kL = kL});
                          },
                          de00);
    };
    return {towards(-1), towards(1)};
}

SwatchRegion swatch_region(const Comparison& c, int n) {
    const Lab &chip = c.chip.lab, &swatch = c.swatch.lab;
    const double hue = std::atan2(chip.b + swatch.b, chip.a + swatch.a), x = std::cos(hue), y = std::sin(hue), factor = std::sqrt(5.991);
    SwatchRegion region{{swatch.a - chip.a, swatch.b - chip.b}, {}};
    for (int i = 0; i < n; ++i) {
        const double along = factor * c.difference.dC_sd * std::cos(angle_of(i, n)), across = factor * c.difference.dH_sd * std::sin(angle_of(i, n));
        region.rim.push_back({region.middle.x + along * x - across * y, region.middle.y + along * y + across * x});
    }
    return region;
}

}  // namespace sw::window
