// Regions of the upright picture, in pixels; pixel (x, y) covers x..x+1, y..y+1 and belongs to a region when its center does.
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "color/result.hpp"

namespace sw {

struct Point {
    double x = 0, y = 0;
};

struct Box {
    double x = 0, y = 0, w = 0, h = 0;
};
struct Ellipse {
    double cx = 0, cy = 0, rx = 0, ry = 0;
};
struct Polygon {
    std::vector<Point> points;  // three or more, closed by itself; even-odd rule
};

using Region = std::variant<Box, Ellipse, Polygon>;

/// `x,y,w,h`, `ellipse:cx,cy,rx,ry` or `poly:x1,y1,x2,y2,x3,y3...`. Finite figures, sizes > 0. Error: region_malformed, place = role.
[[nodiscard]] Result<Region> parse_region(std::string_view text, const std::string& role);
/// The text form; parse_region(to_text(r)) gives r back.
[[nodiscard]] std::string to_text(const Region&);

/// Smallest box around it.
[[nodiscard]] Box bounds(const Region&);
[[nodiscard]] bool contains(const Region&, Point);
/// Calls row(y, x_begin, x_end) for the runs of pixels whose centers lie inside, clipped to width x height.
void for_each_run(const Region&, int width, int height, const std::function<void(int y, int x_begin, int x_end)>& row);

}  // namespace sw
