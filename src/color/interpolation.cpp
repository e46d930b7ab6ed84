#include "color/interpolation.hpp"

#include <array>
#include <cassert>
#include <cmath>

namespace sw {
namespace {

/// The value at a whole position, up to two steps beyond either end by the rule of CIE 167:2005.
double with_ends(std::span<const double> y, std::ptrdiff_t i) {
    const auto n = std::ssize(y);
    const auto beyond = [&y, n](std::ptrdiff_t steps, bool at_end) {
        constexpr std::array<std::array<double, 6>, 2> weight{{{508, -540, 488, -367, 144, -24}, {884, -1960, 3033, -2648, 1080, -180}}};
        double sum = 0;
        for (std::ptrdiff_t k = 0; k < 6; ++k) {
            sum += weight[static_cast<std::size_t>(steps - 1)][static_cast<std::size_t>(k)] * y[static_cast<std::size_t>(at_end ? n - 1 - k : k)];
        }
        return sum / 209;
    };
    if (i < 0) return beyond(-i, false);
    if (i >= n) return beyond(i - n + 1, true);
    return y[static_cast<std::size_t>(i)];
}

}  // namespace

double sprague(std::span<const double> values, double position) {
    const auto n = std::ssize(values);
    assert(n >= 6 && position >= 0 && position <= static_cast<double>(n - 1));
    auto i = static_cast<std::ptrdiff_t>(position);
    if (i == n - 1) --i;
    const double x = position - static_cast<double>(i);
    if (x == 0) return values[static_cast<std::size_t>(i)];
    if (x == 1) return values[static_cast<std::size_t>(i + 1)];
    const double m2 = with_ends(values, i - 2), m1 = with_ends(values, i - 1), p0 = with_ends(values, i);
    const double p1 = with_ends(values, i + 1), p2 = with_ends(values, i + 2), p3 = with_ends(values, i + 3);
    const double a1 = 2 * m2 - 16 * m1 + 16 * p1 - 2 * p2;
    const double a2 = -m2 + 16 * m1 - 30 * p0 + 16 * p1 - p2;
    const double a3 = -9 * m2 + 39 * m1 - 70 * p0 + 66 * p1 - 33 * p2 + 7 * p3;
    const double a4 = 13 * m2 - 64 * m1 + 126 * p0 - 124 * p1 + 61 * p2 - 12 * p3;
    const double a5 = -5 * m2 + 25 * m1 - 50 * p0 + 50 * p1 - 25 * p2 + 5 * p3;
    return p0 + x * (a1 + x * (a2 + x * (a3 + x * (a4 + x * a5)))) / 24;
}

double linear(std::span<const double> values, double position) {
    const auto n = std::ssize(values);
    assert(n >= 2 && position >= 0 && position <= static_cast<double>(n - 1));
    auto i = static_cast<std::ptrdiff_t>(position);
    if (i == n - 1) --i;
    const double x = position - static_cast<double>(i);
    return values[static_cast<std::size_t>(i)] * (1 - x) + values[static_cast<std::size_t>(i + 1)] * x;
}

}  // namespace sw
