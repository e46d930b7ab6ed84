// The bench: cardboard, on which lie a chart, a gray card, a chip and a swatch, lit from one side.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "color/light.hpp"
#include "color/spectrum.hpp"
#include "demo/picture.hpp"

namespace demo {

/// A thing on the bench: a rectangle in mm (turned about its middle), its surface, how high it lies, how uneven it is.
struct Item {
    std::string role;  // "card", "chip", "swatch", "patch 1"...; empty: scenery
    double x = 0, y = 0, w = 0, h = 0;
    sw::Reflectance surface;
    double height_mm = 0.4;  // throws the shadow
    double texture = 0;      // relative, of a sprayed or brushed film
    double corner_mm = 0;    // rounding
    double turn = 0;         // degrees
};

struct Bench {
    double w_mm = 300, h_mm = 225;
    int width = 1200, height = 900;
    double pixels_per_mm = 4, turn = 0, lean_x = 0, lean_y = 0;
    sw::Reflectance board;
    std::vector<Item> items;  // later ones lie on top
    /// The light's unevenness: relative change from left to right and from top to bottom, and how much the corners lose.
    double across = 0, down = 0, vignette = 0;
    std::uint64_t seed = 1;
};

/// What the camera's pixels see; `sees` gives that for one surface.
[[nodiscard]] Picture render(const Bench& bench, const std::function<Eigen::Vector3f(const sw::Reflectance&)>& sees);

/// Corners of an item in the picture: its own top left, top right, bottom right, bottom left.
[[nodiscard]] std::array<Eigen::Vector2d, 4> corners(const Bench& bench, const Item& item);
/// The largest upright box inside an item, a share of its size left out at each side: x, y, w, h in whole pixels.
[[nodiscard]] std::array<int, 4> inner_box(const Bench& bench, const Item& item, double margin = 0.14);

/// The items of a 24-patch chart, frame first; x, y its top left corner.
[[nodiscard]] std::vector<Item> chart(double x, double y, double patch_mm, double gap_mm, const std::vector<sw::Reflectance>& patches);

}  // namespace demo
