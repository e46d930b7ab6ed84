#include "sheet/small_picture.hpp"

#include <algorithm>
#include <cmath>

namespace sw {

Thumbnail small_picture(const Photo& photo, const PictureMap& map, const Box& part, int widest) {
    const int step = std::max(1, static_cast<int>(std::ceil(part.w / widest)));
    const int x0 = static_cast<int>(part.x), y0 = static_cast<int>(part.y);
    Thumbnail small{std::max(1, static_cast<int>(part.w) / step), std::max(1, static_cast<int>(part.h) / step), {}};
    const auto row = 3 * static_cast<std::size_t>(small.width);
    small.rgb.resize(row * static_cast<std::size_t>(small.height));
    std::vector<float> sums(row);
    for (int y = 0; y < small.height; ++y) {
        std::fill(sums.begin(), sums.end(), 0.F);
        float rows = 0;
        for (int j = y0 + y * step; j < std::min(y0 + (y + 1) * step, photo.height); ++j, ++rows) {
            for (int x = 0; x < small.width; ++x) {
                for (int i = 0; i < step; ++i) {
                    const auto p = photo.pixel(std::min(x0 + x * step + i, photo.width - 1), j);
                    for (std::size_t c = 0; c < 3; ++c) sums[3 * static_cast<std::size_t>(x) + c] += p[c];
                }
            }
        }
        for (float& s : sums) s /= std::max(rows, 1.F) * static_cast<float>(step);
        map.convert(sums.data(), static_cast<std::size_t>(small.width), &small.rgb[row * static_cast<std::size_t>(y)]);
    }
    return small;
}

}  // namespace sw
