#include "color/color.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace sw {
namespace {

using Row = std::array<double, 3>;
using Matrix = std::array<Row, 3>;

// ISO/CIE 11664-4:2019: the cube root above (6/29)^3, its tangent below.
constexpr double kDelta = 6.0 / 29.0;

double lab_f(double t) { return t > kDelta * kDelta * kDelta ? std::cbrt(t) : t / (3 * kDelta * kDelta) + 4.0 / 29.0; }

double lab_f_inverse(double f) { return f > kDelta ? f * f * f : 3 * kDelta * kDelta * (f - 4.0 / 29.0); }

// A channel the white does not have cannot be seen by it: no ratio, not infinity.
double over_white(double value, double white) { return white > 0 ? value / white : 0; }

Row product(const Matrix& m, const Row& v) {
    Row result{};
    for (std::size_t i = 0; i < 3; ++i) result[i] = m[i][0] * v[0] + m[i][1] * v[1] + m[i][2] * v[2];
    return result;
}

constexpr Matrix inverse(const Matrix& m) {
    const auto minor = [&m](std::size_t row, std::size_t column) {
        const std::size_t r1 = (row + 1) % 3, r2 = (row + 2) % 3, c1 = (column + 1) % 3, c2 = (column + 2) % 3;
        return m[r1][c1] * m[r2][c2] - m[r1][c2] * m[r2][c1];
    };
    const double determinant = m[0][0] * minor(0, 0) + m[0][1] * minor(0, 1) + m[0][2] * minor(0, 2);
    Matrix result{};
    for (std::size_t i = 0; i < 3; ++i) {
        for (std::size_t j = 0; j < 3; ++j) result[j][i] = minor(i, j) / determinant;
    }
    return result;
}

// The matrix from linear RGB to XYZ follows from the chromaticities of the primaries and of the white (SMPTE RP 177).
constexpr Matrix rgb_to_xyz(const std::array<Xy, 3>& primary, const Xy& white) {
    Matrix columns{};
    for (std::size_t k = 0; k < 3; ++k) {
        columns[0][k] = primary[k].x / primary[k].y;
        columns[1][k] = 1;
        columns[2][k] = (1 - primary[k].x - primary[k].y) / primary[k].y;
    }
    const Matrix back = inverse(columns);
    const Row w{100 * white.x / white.y, 100, 100 * (1 - white.x - white.y) / white.y};
    for (std::size_t k = 0; k < 3; ++k) {
        const double scale = back[k][0] * w[0] + back[k][1] * w[1] + back[k][2] * w[2];
        for (std::size_t i = 0; i < 3; ++i) columns[i][k] *= scale;
    }
    return columns;
}

constexpr Xy kScreenWhite{0.3127, 0.3290};                                                             // D65, IEC 61966-2-1
constexpr Matrix kSrgbToXyz = rgb_to_xyz({{{0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}}}, kScreenWhite);  // ITU-R BT.709
constexpr Matrix kXyzToSrgb = inverse(kSrgbToXyz);
constexpr Matrix kP3ToXyz = rgb_to_xyz({{{0.680, 0.320}, {0.265, 0.690}, {0.150, 0.060}}}, kScreenWhite);  // SMPTE RP 431-2
constexpr Matrix kXyzToP3 = inverse(kP3ToXyz);

}  // namespace

Lab lab(const Xyz& color, const Xyz& white) {
    const double fx = lab_f(over_white(color.X, white.X));
    const double fy = lab_f(over_white(color.Y, white.Y));
    const double fz = lab_f(over_white(color.Z, white.Z));
    return {116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz), white};
}

Xyz xyz(const Lab& color) {
    const double fy = (color.L + 16) / 116;
    return {color.white.X * lab_f_inverse(fy + color.a / 500), color.white.Y * lab_f_inverse(fy), color.white.Z * lab_f_inverse(fy - color.b / 200)};
}

Lch lch(const Lab& color) {
    double hue = std::atan2(color.b, color.a) * 180 / std::numbers::pi;
    if (hue < 0) hue += 360;
    if (hue >= 360) hue = 0;  // a hair below 0 rounds up to 360
    return {color.L, std::hypot(color.a, color.b), hue};
}

Lab lab(const Lch& color, const Xyz& white) {
    const double hue = color.h * std::numbers::pi / 180;
    return {color.L, color.C * std::cos(hue), color.C * std::sin(hue), white};
}

Luv luv(const Xyz& color, const Xyz& white) {
    const double L = 116 * lab_f(over_white(color.Y, white.Y)) - 16;
    if (!(color.X + 15 * color.Y + 3 * color.Z > 0)) return {L, 0, 0, white};
    const UvPrime own = uv_prime(color), neutral = uv_prime(white);
    return {L, 13 * L * (own.u - neutral.u), 13 * L * (own.v - neutral.v), white};
}

Xyz xyz(const Luv& color) {
    const double Y = color.white.Y * lab_f_inverse((color.L + 16) / 116);
    if (color.L == 0) return {0, 0, 0};
    const UvPrime neutral = uv_prime(color.white);
    const double u = color.u / (13 * color.L) + neutral.u, v = color.v / (13 * color.L) + neutral.v;
    if (v == 0) return {0, Y, 0};
    return {Y * 9 * u / (4 * v), Y, Y * (12 - 3 * u - 20 * v) / (4 * v)};
}

Xy xy(const Xyz& color) {
    const double sum = color.X + color.Y + color.Z;
    return sum > 0 ? Xy{color.X / sum, color.Y / sum} : Xy{};
}

UvPrime uv_prime(const Xyz& color) {
    const double sum = color.X + 15 * color.Y + 3 * color.Z;
    return sum > 0 ? UvPrime{4 * color.X / sum, 9 * color.Y / sum} : UvPrime{};
}

double srgb_to_linear(double encoded) {
    const double size = std::abs(encoded);
    return std::copysign(size <= 0.04045 ? size / 12.92 : std::pow((size + 0.055) / 1.055, 2.4), encoded);
}

double linear_to_srgb(double linear) {
    const double size = std::abs(linear);
    return std::copysign(size <= 0.0031308 ? size * 12.92 : 1.055 * std::pow(size, 1 / 2.4) - 0.055, linear);
}

LinearRgb decode(const EncodedRgb& color) { return {srgb_to_linear(color.r), srgb_to_linear(color.g), srgb_to_linear(color.b)}; }

EncodedRgb encode(const LinearRgb& color) { return {linear_to_srgb(color.r), linear_to_srgb(color.g), linear_to_srgb(color.b)}; }

Xyz xyz(const LinearRgb& color) {
    const Row v = product(kSrgbToXyz, {color.r, color.g, color.b});
    return {v[0], v[1], v[2]};
}

LinearRgb linear_rgb(const Xyz& color_d65) {
    const Row v = product(kXyzToSrgb, {color_d65.X, color_d65.Y, color_d65.Z});
    return {v[0], v[1], v[2]};
}

LinearP3 decode(const EncodedP3& color) { return {srgb_to_linear(color.r), srgb_to_linear(color.g), srgb_to_linear(color.b)}; }

EncodedP3 encode(const LinearP3& color) { return {linear_to_srgb(color.r), linear_to_srgb(color.g), linear_to_srgb(color.b)}; }

Xyz xyz(const LinearP3& color) {
    const Row v = product(kP3ToXyz, {color.r, color.g, color.b});
    return {v[0], v[1], v[2]};
}

LinearP3 linear_p3(const Xyz& color_d65) {
    const Row v = product(kXyzToP3, {color_d65.X, color_d65.Y, color_d65.Z});
    return {v[0], v[1], v[2]};
}

std::string hex(const EncodedRgb& color) {
    constexpr char digits[] = "0123456789abcdef";
    std::string text = "#";
    for (const double value : {color.r, color.g, color.b}) {
        const double inside = value > 0 ? std::min(value, 1.0) : 0;  // NaN too becomes 0
        const auto byte = static_cast<unsigned>(std::lround(inside * 255));
        text += digits[byte / 16];
        text += digits[byte % 16];
    }
    return text;
}

}  // namespace sw
