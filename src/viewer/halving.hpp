// Smaller copies of pictures, by halves.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace sw::window {

/// Half as wide and high (an odd last column or row is left out): means of four codes, as OpenGL makes its smaller copies (OpenGL 3.3, 3.8.9).
/// first: RGB of 8 bits in rows of `stride` bytes; w, h at least 2.
[[nodiscard]] std::vector<std::uint8_t> halved(const std::uint8_t* first, std::size_t stride, int w, int h);

}  // namespace sw::window
