#include "photo/region.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstddef>
#include <optional>

#include "photo/words.hpp"

namespace sw {
namespace {

constexpr double kLargest = 1e6;  // no picture we read is wider; keeps the arithmetic exact enough
constexpr std::size_t kMostPoints = 500;

std::string_view trim(std::string_view text) {
    const auto space = [](char c) { return c == ' ' || c == '\t'; };
    while (!text.empty() && space(text.front())) text.remove_prefix(1);
    while (!text.empty() && space(text.back())) text.remove_suffix(1);
    return text;
}

/// What is wrong with the figures, or nothing.
std::optional<std::string> read_numbers(std::string_view text, std::vector<double>& numbers) {
    while (true) {
        const std::size_t comma = text.find(',');
        const std::string_view word = trim(text.substr(0, comma));
        double value = 0;
        const auto [end, problem] = std::from_chars(word.data(), word.data() + word.size(), value);
        if (word.empty()) return "a figure is missing";
        if (problem != std::errc{} || end != word.data() + word.size()) return "'" + printable(word, 60) + "' is not a number";
        if (!std::isfinite(value)) return "'" + printable(word, 60) + "' is not a finite number";
        if (std::abs(value) > kLargest) return "'" + printable(word, 60) + "' is more than a million pixels";
        numbers.push_back(value);
        if (numbers.size() > 2 * kMostPoints) return "has more than 500 points";
        if (comma == std::string_view::npos) return std::nullopt;
        text.remove_prefix(comma + 1);
    }
}

/// The x at which the edge a-b crosses height y. contains() and for_each_run() must use the same figure.
double crossing(const Point& a, const Point& b, double y) { return a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x); }
bool crosses(const Point& a, const Point& b, double y) { return (a.y > y) != (b.y > y); }

bool inside(const Box& box, Point p) { return p.x >= box.x && p.x < box.x + box.w && p.y >= box.y && p.y < box.y + box.h; }

bool inside(const Ellipse& e, Point p) {
    const double u = (p.x - e.cx) / e.rx, v = (p.y - e.cy) / e.ry;
    return u * u + v * v <= 1;
}

bool inside(const Polygon& polygon, Point p) {
    bool odd = false;
    for (std::size_t i = 0, j = polygon.points.size() - 1; i < polygon.points.size(); j = i++) {
        const Point &a = polygon.points[i], &b = polygon.points[j];
        if (crosses(a, b, p.y) && p.x < crossing(a, b, p.y)) odd = !odd;
    }
    return odd;
}

/// First i in 0..limit whose center i + 0.5 is at or right of x.
int first_center(double x, int limit) {
    const double clamped = x > -1.0 ? std::min(x, limit + 1.0) : -1.0;  // NaN too
    int i = static_cast<int>(std::ceil(clamped - 0.5));
    while (i + 0.5 < clamped) ++i;
    while (i - 0.5 >= clamped) --i;
    return std::clamp(i, 0, limit);
}

using Row = std::function<void(int, int, int)>;

void runs(const Box& box, int y, int width, const Row& row) {
    const int begin = first_center(box.x, width), end = first_center(box.x + box.w, width);
    if (begin < end) row(y, begin, end);
}

void runs(const Ellipse& e, int y, int width, const Row& row) {
    const double v = (y + 0.5 - e.cy) / e.ry;
    const double half = e.rx * std::sqrt(std::max(0.0, 1 - v * v));
    int begin = first_center(e.cx - half, width), end = first_center(e.cx + half, width);
    const auto in = [&](int x) { return inside(e, {x + 0.5, y + 0.5}); };  // the root is rounded: settle the ends by the definition
    while (begin > 0 && in(begin - 1)) --begin;
    while (begin < end && !in(begin)) ++begin;
    while (end < width && in(end)) ++end;
    while (end > begin && !in(end - 1)) --end;
    if (begin < end) row(y, begin, end);
}

void runs(const Polygon& polygon, int y, int width, const Row& row) {
    std::vector<double> cuts;
    for (std::size_t i = 0, j = polygon.points.size() - 1; i < polygon.points.size(); j = i++) {
        const Point &a = polygon.points[i], &b = polygon.points[j];
        if (crosses(a, b, y + 0.5)) cuts.push_back(crossing(a, b, y + 0.5));
    }
    std::sort(cuts.begin(), cuts.end());
    for (std::size_t i = 0; i + 1 < cuts.size(); i += 2) {
        const int begin = first_center(cuts[i], width), end = first_center(cuts[i + 1], width);
        if (begin < end) row(y, begin, end);
    }
}

std::string list(std::initializer_list<double> numbers) {
    std::string text;
    for (const double number : numbers) {
        char digits[32];
        const auto result = std::to_chars(digits, digits + sizeof digits, number);  // shortest that reads back the same
        text += (text.empty() ? "" : ",") + std::string(digits, result.ptr);
    }
    return text;
}

}  // namespace

Result<Region> parse_region(std::string_view text, const std::string& role) {
    const auto malformed = [&](const std::string& cause) {
        return Error{Fault::region_malformed, "", role + (role.empty() ? "" : " ") + printable(text, 60), cause,
                     "write x,y,w,h or ellipse:cx,cy,rx,ry or poly:x1,y1,x2,y2,x3,y3... in pixels"};
    };
    constexpr std::string_view kEllipse = "ellipse:", kPolygon = "poly:";
    std::string_view rest = trim(text);
    const bool ellipse = rest.starts_with(kEllipse), polygon = rest.starts_with(kPolygon);
    if (ellipse) rest.remove_prefix(kEllipse.size());
    if (polygon) rest.remove_prefix(kPolygon.size());
    if (trim(rest).empty()) return malformed("is empty");

    std::vector<double> n;
    if (const auto problem = read_numbers(rest, n)) return malformed(*problem);
    if (polygon) {
        if (n.size() % 2 != 0) return malformed("has an x without its y");
        if (n.size() < 6) return malformed("has fewer than three points");
        Polygon result;
        for (std::size_t i = 0; i < n.size(); i += 2) result.points.push_back({n[i], n[i + 1]});
        const Box around = bounds(result);
        if (around.w <= 0 || around.h <= 0) return malformed("encloses nothing: all its points lie on one line");
        return Region{std::move(result)};
    }
    if (n.size() != 4) return malformed("has " + std::to_string(n.size()) + (n.size() == 1 ? " figure" : " figures") + " where four are needed");
    if (ellipse) {
        if (n[2] <= 0 || n[3] <= 0) return malformed("has a radius that is not above zero");
        return Region{Ellipse{n[0], n[1], n[2], n[3]}};
    }
    if (n[2] <= 0 || n[3] <= 0) return malformed("has a width or height that is not above zero");
    return Region{Box{n[0], n[1], n[2], n[3]}};
}

std::string to_text(const Region& region) {
    if (const Box* box = std::get_if<Box>(&region)) return list({box->x, box->y, box->w, box->h});
    if (const Ellipse* e = std::get_if<Ellipse>(&region)) return "ellipse:" + list({e->cx, e->cy, e->rx, e->ry});
    std::string text = "poly:";
    for (const Point& p : std::get<Polygon>(region).points) text += (text.size() > 5 ? "," : "") + list({p.x, p.y});
    return text;
}

Box bounds(const Region& region) {
    if (const Box* box = std::get_if<Box>(&region)) return *box;
    if (const Ellipse* e = std::get_if<Ellipse>(&region)) return {e->cx - e->rx, e->cy - e->ry, 2 * e->rx, 2 * e->ry};
    const std::vector<Point>& points = std::get<Polygon>(region).points;
    if (points.empty()) return {};
    const auto [left, right] = std::minmax_element(points.begin(), points.end(), [](Point a, Point b) { return a.x < b.x; });
    const auto [top, bottom] = std::minmax_element(points.begin(), points.end(), [](Point a, Point b) { return a.y < b.y; });
    return {left->x, top->y, right->x - left->x, bottom->y - top->y};
}

bool contains(const Region& region, Point p) {
    return std::visit([&](const auto& shape) { return inside(shape, p); }, region);
}

void for_each_run(const Region& region, int width, int height, const Row& row) {
    const Box around = bounds(region);
    // One row more at either end than the centers say: an ellipse's or polygon's own test decides there.
    const bool box = std::holds_alternative<Box>(region);
    const int begin = std::max(0, first_center(around.y, height) - (box ? 0 : 1));
    const int end = std::min(height, first_center(around.y + around.h, height) + (box ? 0 : 1));
    for (int y = begin; y < end; ++y) {
        std::visit([&](const auto& shape) { runs(shape, y, width, row); }, region);
    }
}

}  // namespace sw
