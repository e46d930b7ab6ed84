#include "color/adaptation.hpp"

#include <array>
#include <cassert>
#include <cmath>

namespace sw {
namespace {

using Row = std::array<double, 3>;
using Matrix = std::array<Row, 3>;

constexpr Matrix kBradford{{{0.8951, 0.2664, -0.1614}, {-0.7502, 1.7135, 0.0367}, {0.0389, -0.0685, 1.0296}}};
constexpr Matrix kCat02{{{0.7328, 0.4296, -0.1624}, {-0.7036, 1.6975, 0.0061}, {0.0030, 0.0136, 0.9834}}};
constexpr Matrix kCat16{{{0.401288, 0.650173, -0.051461}, {-0.250268, 1.204414, 0.045854}, {-0.002079, 0.048952, 0.953127}}};

const Matrix& matrix(Adaptation kind) {
    switch (kind) {
        case Adaptation::bradford:
            return kBradford;
        case Adaptation::cat02:
            return kCat02;
        case Adaptation::cat16:
            return kCat16;
    }
    return kBradford;
}

Row times(const Matrix& m, const Xyz& c) {
    Row result{};
    for (std::size_t i = 0; i < 3; ++i) result[i] = m[i][0] * c.X + m[i][1] * c.Y + m[i][2] * c.Z;
    return result;
}

// Cramer's rule; the matrices are well conditioned.
Xyz solve(const Matrix& m, const Row& v) {
    const auto determinant = [](const Row& a, const Row& b, const Row& c) {
        return a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0]) + a[2] * (b[0] * c[1] - b[1] * c[0]);
    };
    const auto column = [&m](std::size_t k) { return Row{m[0][k], m[1][k], m[2][k]}; };
    const Row x = column(0), y = column(1), z = column(2);
    const double d = determinant(x, y, z);
    return {determinant(v, y, z) / d, determinant(x, v, z) / d, determinant(x, y, v) / d};
}

}  // namespace

Xyz adapt(const Xyz& color, const Xyz& from, const Xyz& to, Adaptation kind, double degree) {
    assert(degree >= 0 && degree <= 1);
    const Matrix& m = matrix(kind);
    const Row white_from = times(m, from), white_to = times(m, to);
    Row response = times(m, color);
    for (std::size_t i = 0; i < 3; ++i) response[i] *= 1 + degree * (white_to[i] / white_from[i] - 1);
    return solve(m, response);
}

ScreenColor screen_color(const Lab& color) {
    const Xyz screen_white = xyz(LinearRgb{1, 1, 1});
    const LinearRgb linear = linear_rgb(adapt(xyz(color), color.white, screen_white));
    // Half a code of 8 bits outside is the same color on the screen.
    constexpr double kSlack = 0.5 / 255;
    ScreenColor result{encode(linear), true};
    for (double* channel : {&result.rgb.r, &result.rgb.g, &result.rgb.b}) {
        if (!(*channel >= -kSlack && *channel <= 1 + kSlack)) result.in_gamut = false;
        *channel = *channel > 0 ? (*channel < 1 ? *channel : 1) : 0;
    }
    return result;
}

}  // namespace sw
