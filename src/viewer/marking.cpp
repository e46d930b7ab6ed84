#include "viewer/marking.hpp"

#include <algorithm>
#include <cmath>

namespace sw::window {
namespace {

double middle(float start, float size) { return static_cast<double>(start) + static_cast<double>(size) / 2; }

Region box_or_ellipse(const Box& b, bool ellipse) {
    if (!ellipse) return b;
    return Ellipse{b.x + b.w / 2, b.y + b.h / 2, b.w / 2, b.h / 2};
}

Region moved(const Region& region, double dx, double dy) {
    Region result = region;
    if (auto* b = std::get_if<Box>(&result)) {
        b->x += dx;
        b->y += dy;
    } else if (auto* e = std::get_if<Ellipse>(&result)) {
        e->cx += dx;
        e->cy += dy;
    } else if (auto* p = std::get_if<Polygon>(&result)) {
        for (Point& point : p->points) {
            point.x += dx;
            point.y += dy;
        }
    }
    return result;
}

/// The same shape in another bounding box.
Region stretched(const Region& region, const Box& to) {
    const Box from = bounds(region);
    if (std::holds_alternative<Box>(region)) return to;
    if (std::holds_alternative<Ellipse>(region)) return box_or_ellipse(to, true);
    Polygon polygon = std::get<Polygon>(region);
    for (Point& p : polygon.points) {
        p.x = to.x + (from.w > 0 ? (p.x - from.x) / from.w : 0) * to.w;
        p.y = to.y + (from.h > 0 ? (p.y - from.y) / from.h : 0) * to.h;
    }
    return polygon;
}

/// How far to shift a box so that it lies inside the picture.
Point inward(const Box& b, int width, int height) {
    return {std::clamp(b.x, 0.0, std::max(0.0, width - b.w)) - b.x, std::clamp(b.y, 0.0, std::max(0.0, height - b.h)) - b.y};
}

Box between(Point a, Point b) {
    const double x0 = std::round(std::min(a.x, b.x)), y0 = std::round(std::min(a.y, b.y));
    const double x1 = std::round(std::max(a.x, b.x)), y1 = std::round(std::max(a.y, b.y));
    return {x0, y0, x1 - x0, y1 - y0};
}

Point inside(Point p, int width, int height) {
    return {std::clamp(p.x, 0.0, static_cast<double>(width)), std::clamp(p.y, 0.0, static_cast<double>(height))};
}

std::optional<Region> region_of(const Work& work, const Marked& what) {
    for (const Outline& outline : outlines(work)) {
        if (outline.what == what) return outline.region;
    }
    return std::nullopt;
}

}  // namespace

Point to_screen(const Camera& camera, const Rect& area, Point p) {
    return {middle(area.x, area.w) + (p.x - camera.center.x) * camera.zoom, middle(area.y, area.h) + (p.y - camera.center.y) * camera.zoom};
}

Point to_picture(const Camera& camera, const Rect& area, Point s) {
    return {camera.center.x + (s.x - middle(area.x, area.w)) / camera.zoom, camera.center.y + (s.y - middle(area.y, area.h)) / camera.zoom};
}

Camera fit_camera(const Rect& area, int width, int height) {
    if (width < 1 || height < 1) return {};
    const double zoom = std::min((static_cast<double>(area.w) - 16) / width, (static_cast<double>(area.h) - 16) / height);
    return {std::clamp(zoom, 1.0 / 256, 64.0), {width / 2.0, height / 2.0}};
}

Camera zoomed(const Camera& camera, const Rect& area, Point anchor, double factor) {
    const Point fixed = to_picture(camera, area, anchor);
    Camera result = camera;
    result.zoom = std::clamp(camera.zoom * factor, 1.0 / 32, 64.0);
    result.center.x = fixed.x - (anchor.x - middle(area.x, area.w)) / result.zoom;
    result.center.y = fixed.y - (anchor.y - middle(area.y, area.h)) / result.zoom;
    return result;
}

Camera kept_in_view(Camera camera, const Rect& area, int width, int height) {
    (void)area;
    camera.center.x = std::clamp(camera.center.x, 0.0, static_cast<double>(width));
    camera.center.y = std::clamp(camera.center.y, 0.0, static_cast<double>(height));
    return camera;
}

std::vector<Outline> outlines(const Work& work) {
    std::vector<Outline> all;
    for (std::size_t i = 0; i < work.references.grays.size(); ++i) all.push_back({{Mark::gray, i}, work.references.grays[i].region});
    for (std::size_t i = 0; i < work.references.known.size(); ++i) all.push_back({{Mark::known, i}, work.references.known[i].region});
    if (work.chip) all.push_back({{Mark::chip, 0}, *work.chip});
    if (work.swatch) all.push_back({{Mark::swatch, 0}, *work.swatch});
    return all;
}

std::optional<std::array<Point, 4>> chart_corners(const Work& work, const Results& results) {
    switch (work.references.chart.mode) {
        case ChartMode::none:
            return std::nullopt;
        case ChartMode::corners:
            return work.references.chart.corners;
        case ChartMode::automatic:
            return results.calibration ? results.calibration->chart_corners : std::nullopt;
    }
    return std::nullopt;
}

std::optional<Drag> grab(const Work& work, const Results& results, const Marked& selected, Point at, double reach) {
    if (const auto corners = chart_corners(work, results)) {
        for (int i = 0; i < 4; ++i) {
            const Point& c = (*corners)[static_cast<std::size_t>(i)];
            if (std::hypot(c.x - at.x, c.y - at.y) <= reach) {
                Drag drag;
                drag.what = {Mark::chart, 0};
                drag.kind = Drag::Kind::corner;
                drag.handle = i;
                drag.start = drag.now = at;
                drag.corners = drag.corners_before = *corners;
                return drag;
            }
        }
    }
    std::vector<Outline> all = outlines(work);
    std::stable_partition(all.begin(), all.end(), [&](const Outline& o) { return o.what == selected; });
    for (const Outline& outline : all) {
        const Box b = bounds(outline.region);
        // Small regions keep an inside that can be dragged: handles reach in a third at most.
        const double in_x = std::min(reach, b.w / 3), in_y = std::min(reach, b.h / 3);
        if (at.x < b.x - reach || at.y < b.y - reach || at.x > b.x + b.w + reach || at.y > b.y + b.h + reach) continue;
        int edges = 0;
        if (at.x <= b.x + in_x) edges |= 1;
        if (at.x >= b.x + b.w - in_x) edges |= 2;
        if (at.y <= b.y + in_y) edges |= 4;
        if (at.y >= b.y + b.h - in_y) edges |= 8;
        Drag drag;
        drag.what = outline.what;
        drag.kind = edges != 0 ? Drag::Kind::edges : Drag::Kind::move;
        drag.handle = edges;
        drag.start = drag.now = at;
        drag.before = drag.region = outline.region;
        return drag;
    }
    if (const auto corners = chart_corners(work, results)) {  // inside the chart moves all of it
        if (contains(Polygon{{corners->begin(), corners->end()}}, at)) {
            Drag drag;
            drag.what = {Mark::chart, 0};
            drag.kind = Drag::Kind::move;
            drag.start = drag.now = at;
            drag.corners = drag.corners_before = *corners;
            return drag;
        }
    }
    return std::nullopt;
}

Drag start_new(const Work& work, Mark mark, bool ellipse, Point at) {
    Drag drag;
    drag.what.mark = mark;
    if (mark == Mark::known) drag.what.index = work.references.known.size();
    drag.kind = Drag::Kind::create;
    drag.start = drag.now = at;
    drag.before = drag.region = box_or_ellipse({at.x, at.y, 0, 0}, ellipse);
    drag.corners.fill(at);
    return drag;
}

Drag dragged(Drag drag, bool ellipse, Point at, int width, int height) {
    drag.now = at;
    const double dx = std::round(at.x - drag.start.x), dy = std::round(at.y - drag.start.y);
    switch (drag.kind) {
        case Drag::Kind::create: {
            const Box box = between(inside(drag.start, width, height), inside(at, width, height));
            drag.region = box_or_ellipse(box, ellipse);
            // from the dark skin patch to the black patch: upright unless it is drawn backwards, then turned
            const Point a = inside(drag.start, width, height), c = inside(at, width, height);
            drag.corners = {a, Point{c.x, a.y}, c, Point{a.x, c.y}};
            break;
        }
        case Drag::Kind::move:
            if (drag.what.mark == Mark::chart) {
                for (std::size_t i = 0; i < 4; ++i) drag.corners[i] = {drag.corners_before[i].x + dx, drag.corners_before[i].y + dy};
            } else {
                drag.region = moved(drag.before, dx, dy);
                const Point in = inward(bounds(drag.region), width, height);
                drag.region = moved(drag.region, in.x, in.y);
            }
            break;
        case Drag::Kind::edges: {
            Box b = bounds(drag.before);
            double x0 = b.x, y0 = b.y, x1 = b.x + b.w, y1 = b.y + b.h;
            if (drag.handle & 1) x0 = std::clamp(x0 + dx, 0.0, x1 - 2);
            if (drag.handle & 2) x1 = std::clamp(x1 + dx, x0 + 2, std::max<double>(width, x0 + 2));
            if (drag.handle & 4) y0 = std::clamp(y0 + dy, 0.0, y1 - 2);
            if (drag.handle & 8) y1 = std::clamp(y1 + dy, y0 + 2, std::max<double>(height, y0 + 2));
            drag.region = stretched(drag.before, {x0, y0, x1 - x0, y1 - y0});
            break;
        }
        case Drag::Kind::corner: {
            const auto i = static_cast<std::size_t>(drag.handle);
            drag.corners[i] =
                inside({drag.corners_before[i].x + (at.x - drag.start.x), drag.corners_before[i].y + (at.y - drag.start.y)}, width, height);
            break;
        }
        case Drag::Kind::nudge:
            break;
    }
    return drag;
}

std::optional<Drag> nudged(const Work& work, const Results& results, const std::optional<Drag>& so_far, const Marked& selected, double dx, double dy,
                           int width, int height) {
    Drag drag;
    if (so_far && so_far->kind == Drag::Kind::nudge && so_far->what == selected) {
        drag = *so_far;
    } else {
        drag.what = selected;
        drag.kind = Drag::Kind::nudge;
        if (selected.mark == Mark::chart) {
            const auto corners = chart_corners(work, results);
            if (!corners) return std::nullopt;
            drag.corners = drag.corners_before = *corners;
        } else {
            const auto region = region_of(work, selected);
            if (!region) return std::nullopt;
            drag.before = drag.region = *region;
        }
    }
    if (selected.mark == Mark::chart) {
        for (Point& p : drag.corners) p = {p.x + dx, p.y + dy};
    } else {
        drag.region = moved(drag.region, dx, dy);
        const Point in = inward(bounds(drag.region), width, height);
        drag.region = moved(drag.region, in.x, in.y);
    }
    return drag;
}

std::optional<Command> finished(const Work& work, const Drag& drag) {
    if (drag.what.mark == Mark::chart) {
        const Box b = bounds(Polygon{{drag.corners.begin(), drag.corners.end()}});
        if (b.w < 12 || b.h < 12) return std::nullopt;
        return SetChartCorners{drag.corners};
    }
    const Box b = bounds(drag.region);
    if (b.w < 3 || b.h < 3) return std::nullopt;
    return command_for(work, drag.what, drag.region);
}

Region reshaped(const Region& region, bool ellipse) { return box_or_ellipse(bounds(region), ellipse); }

std::optional<Command> command_for(const Work& work, const Marked& what, const Region& region) {
    switch (what.mark) {
        case Mark::none:
        case Mark::chart:
            return std::nullopt;
        case Mark::gray:
            return SetGray{region, std::nullopt, what.index};
        case Mark::chip:
            return SetChip{region};
        case Mark::swatch:
            return SetSwatch{region};
        case Mark::known:
            if (what.index >= work.references.known.size()) return std::nullopt;  // its name and Lab come from the panel
            return SetKnown{work.references.known[what.index].name, region, work.references.known[what.index].lab};
    }
    return std::nullopt;
}

}  // namespace sw::window
