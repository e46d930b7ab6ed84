#include "calibrate/tone.hpp"

#include <cmath>
#include <numbers>

#include "color/color.hpp"

namespace sw {

double ToneCurve::scene(double v) const {
    if (v < 0) return -scene(-v);
    const double u = linear_to_srgb(v);
    if (u > 1) return srgb_to_linear(1 + (1 + contrast - lift - roll) * (u - 1));
    return srgb_to_linear(u + contrast * std::sin(2 * std::numbers::pi * u) / (2 * std::numbers::pi) + (lift + roll * u) * u * (1 - u));
}

}  // namespace sw
