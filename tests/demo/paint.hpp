// Paints of the demo: invented two-constant Kubelka-Munk curves, called after the pigments they behave like. No measured paint is in here.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "color/spectrum.hpp"

namespace demo {

/// Absorption and scattering on the grid, per unit of pigment; any scale, the same for all.
struct Pigment {
    std::string name;
    sw::Bands absorption{}, scattering{};
};

/// The pigments: eleven of the model maker's shelf, and those that only the chips' maker has. Throws std::out_of_range for other names.
[[nodiscard]] const Pigment& pigment(const std::string& name);

/// Shares of pigments, > 0; they need not add up to 1.
using Recipe = std::vector<std::pair<std::string, double>>;

/// A dry opaque film. Kubelka & Munk 1931 for the inside, Saunderson 1942 for the skin (0.6 reflected back inside), matte: 0.02 of the light
/// comes off the skin into every direction.
[[nodiscard]] sw::Reflectance painted(const Recipe& recipe);

/// What a painter ends up with who matches `chip` by eye under `lamp` from the paints of `start`: the shares are changed (the first stays) until
/// the swatch lies at the chip's Lab + (dL, da, db) under that lamp. Least squares with at most three free paints.
[[nodiscard]] Recipe matched_under(const sw::Light& lamp, const sw::Reflectance& chip, Recipe start, double dL, double da, double db);

/// A surface with an even reflectance, tilted a little over the wavelengths: value at 555 nm, change from 400 to 700 nm.
[[nodiscard]] sw::Reflectance plain(double value, double tilt);

}  // namespace demo
