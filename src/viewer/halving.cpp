#include "viewer/halving.hpp"

namespace sw::window {

std::vector<std::uint8_t> halved(const std::uint8_t* first, std::size_t stride, int w, int h) {
    const auto columns = static_cast<std::size_t>(w / 2), rows = static_cast<std::size_t>(h / 2);
    std::vector<std::uint8_t> half(3 * columns * rows);
    for (std::size_t y = 0; y < rows; ++y) {
        const std::uint8_t *above = first + 2 * y * stride, *below = above + stride;
        std::uint8_t* out = &half[3 * columns * y];
        for (std::size_t x = 0; x < columns; ++x, above += 6, below += 6, out += 3) {
            for (std::size_t c = 0; c < 3; ++c) out[c] = static_cast<std::uint8_t>((above[c] + above[c + 3] + below[c] + below[c + 3] + 2) / 4);
        }
    }
    return half;
}

}  // namespace sw::window
