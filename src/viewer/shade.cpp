#include "viewer/shade.hpp"

#include <algorithm>
#include <cmath>

namespace sw::window {

std::array<float, 3> shade(const std::array<float, 3>& original, const std::array<float, 3>& corrected, float x, float y, const ShadeParameters& p) {
    if (p.stripes && *std::max_element(original.begin(), original.end()) >= kClippedFrom) {
        const float phase = (x + y) / p.stripe_px;
        const float value = phase - std::floor(phase) < 0.5F ? 0.0F : 1.0F;
        return {value, value, value};
    }
    return p.mode == 1 || (p.mode == 2 && x >= p.divider) ? corrected : original;
}

}  // namespace sw::window
