#include "photo/frame.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>

namespace sw {
namespace {

// Black of a film's bars: code 16 of video levels shown as is (linear 0.005), compressed; common practice, no source.
constexpr float kBlack = 0.008F;
constexpr double kMostBlack = 0.998;  // of a bar's row: compression spills over
constexpr float kStep = 3;            // the picture's first rows are brighter by this factor somewhere

struct Line {
    double black = 0;  // share of its pixels
    float top = 0;     // its brightest 2 %
};

Line line_of(const Photo& photo, bool row, int at) {
    const int count = row ? photo.width : photo.height, step = std::max(1, count / 512);
    std::vector<float> values;
    for (int i = step / 2; i < count; i += step) {
        const auto p = row ? photo.pixel(i, at) : photo.pixel(at, i);
        values.push_back(std::max({p[0], p[1], p[2]}));
    }
    Line line;
    line.black =
        static_cast<double>(std::count_if(values.begin(), values.end(), [](float v) { return v < kBlack; })) / static_cast<double>(values.size());
    const auto at_top = values.begin() + static_cast<std::ptrdiff_t>(0.98 * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at_top, values.end());
    line.top = *at_top;
    return line;
}

/// How many lines from an edge inwards are a bar.
int bar(const Photo& photo, bool row, bool from_end) {
    const int count = row ? photo.height : photo.width, most = count * 45 / 100;
    const auto line = [&](int i) { return line_of(photo, row, from_end ? count - 1 - i : i); };
    int depth = 0;
    while (depth < most && line(depth).black >= kMostBlack) ++depth;
    if (depth < 2 || depth == most) return 0;
    float inside = 0;  // compression may smear the edge over some lines
    for (int i = depth; i < std::min(depth + 8, count); ++i) inside = std::max(inside, line(i).top);
    return inside > kStep * kBlack ? depth : 0;
}

}  // namespace

Box picture_area(const Photo& photo) {
    const int top = bar(photo, true, false), bottom = bar(photo, true, true), left = bar(photo, false, false), right = bar(photo, false, true);
    return {static_cast<double>(left), static_cast<double>(top), static_cast<double>(photo.width - left - right),
            static_cast<double>(photo.height - top - bottom)};
}

Averaged block_means(const Photo& photo, const Region& region, int side) {
    const Box box = bounds(region);
    const int x0 = std::clamp(static_cast<int>(std::floor(box.x)), 0, photo.width - 1),
              y0 = std::clamp(static_cast<int>(std::floor(box.y)), 0, photo.height - 1);
    const int x1 = std::clamp(static_cast<int>(std::ceil(box.x + box.w)), x0 + 1, photo.width);
    const int y1 = std::clamp(static_cast<int>(std::ceil(box.y + box.h)), y0 + 1, photo.height);
    Averaged result;
    Photo& small = result.photo;
    small.path = photo.path;
    small.bits = 16;  // means have finer steps than codes
    small.width = (x1 - x0 + side - 1) / side;
    small.height = (y1 - y0 + side - 1) / side;
    small.rgb.reserve(3UL * static_cast<std::size_t>(small.width) * static_cast<std::size_t>(small.height));
    for (int y = y0; y < y1; y += side) {
        for (int x = x0; x < x1; x += side) {
            double sum[3] = {}, n = 0;
            std::uint8_t clipped = 0;
            for (int v = y; v < std::min(y + side, y1); ++v) {
                for (int u = x; u < std::min(x + side, x1); ++u, ++n) {
                    const auto p = photo.pixel(u, v);
                    for (std::size_t c = 0; c < 3; ++c) sum[c] += p[c];
                    if (photo.clipped_at(u, v)) clipped = 1;
                }
            }
            for (const double s : sum) small.rgb.push_back(static_cast<float>(s / n));
            small.clipped.push_back(clipped);
        }
    }
    const auto to = [&](double x, double y) { return Point{(x - x0) / side, (y - y0) / side}; };
    if (const auto* b = std::get_if<Box>(&region)) {
        const Point p = to(b->x, b->y);
        result.region = Box{p.x, p.y, b->w / side, b->h / side};
    } else if (const auto* e = std::get_if<Ellipse>(&region)) {
        const Point p = to(e->cx, e->cy);
        result.region = Ellipse{p.x, p.y, e->rx / side, e->ry / side};
    } else {
        Polygon polygon;
        for (const Point& p : std::get<Polygon>(region).points) polygon.points.push_back(to(p.x, p.y));
        result.region = std::move(polygon);
    }
    return result;
}

}  // namespace sw
