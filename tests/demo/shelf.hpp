// The demo's shelf: eleven tubes as a careful user would have read them, and the chips as targets, for swatchwright import.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <utility>
#include <vector>

#include "demo/paint.hpp"

namespace demo {

/// As swatchwright export writes it (DEVELOPERS.md, exchange formats). Colors under D50 to a tenth, as one types them. chips: name and recipe.
[[nodiscard]] nlohmann::ordered_json shelf_json(const std::vector<std::pair<std::string, Recipe>>& chips);

/// Color under D50, 2 degrees, of a dry opaque film.
[[nodiscard]] sw::Lab color_of(const Recipe& recipe);

}  // namespace demo
