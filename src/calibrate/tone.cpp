#include "calibrate/tone.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "color/color.hpp"

namespace sw {
namespace {

constexpr double kPi = std::numbers::pi;

double slope(const ToneCurve& curve, double u) {
    double value = 1 + curve.contrast * std::cos(2 * kPi * u) + curve.lift * (1 - 2 * u) + curve.roll * u * (2 - 3 * u);
    for (int k = 0; k < ToneCurve::kBends; ++k) value += curve.bend[static_cast<std::size_t>(k)] * std::cos((k + 3) * kPi * u);
    return value;
}

}  // namespace

double ToneCurve::scene(double v) const {
    if (v < 0) return -scene(-v);
    const double u = linear_to_srgb(v);
    if (u > 1) return srgb_to_linear(1 + slope(*this, 1) * (u - 1));
    double bent = u + contrast * std::sin(2 * kPi * u) / (2 * kPi) + (lift + roll * u) * u * (1 - u);
    for (int k = 0; k < kBends; ++k) {
        if (const double b = bend[static_cast<std::size_t>(k)]; b != 0) bent += b * std::sin((k + 3) * kPi * u) / ((k + 3) * kPi);
    }
    return srgb_to_linear(bent);
}

double ToneCurve::least_slope() const {
    double least = slope(*this, 0);
    for (int i = 1; i <= 64; ++i) least = std::min(least, slope(*this, i / 64.0));
    return least;
}

}  // namespace sw
