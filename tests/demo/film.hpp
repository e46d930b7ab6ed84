// A still from a film that never was: the car's brake wheel at the station, graded, grainy, in a wider frame than the screen.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <functional>
#include <vector>

#include "color/spectrum.hpp"
#include "demo/picture.hpp"

namespace demo {

struct Film {
    int width = 768, height = 432;  // of the screen
    int bar = 54;                   // black above and below
    double grain = 0.011;           // of the encoded range, at middle gray
    std::uint64_t seed = 1;
    sw::Reflectance body, lining, wheel, platform, foliage, iron;
};

struct Still {
    std::vector<std::uint8_t> rgb;  // encoded, 8 bits
    std::array<int, 4> hub{};       // a box on the wheel's flat hub
    Eigen::Vector3d hub_linear;     // its linear RGB (sRGB primaries) on the screen, without grain
};

/// `developed`: linear RGB on the primaries of sRGB of a surface fully lit.
[[nodiscard]] Still still(const Film& film, const std::function<Eigen::Vector3f(const sw::Reflectance&)>& developed);

}  // namespace demo
