// Middle: the picture with everything that is marked on it. The picture itself is drawn by GL beneath; this is what lies over it.
#include <imgui.h>

#include <algorithm>
#include <cmath>

#include "sheet/difference_picture.hpp"
#include "viewer/marking.hpp"
#include "viewer/panels.hpp"
#include "viewer/widgets.hpp"

namespace sw::window {

std::vector<Rect> picture_areas(const Rect& area, Mode mode) {
    if (mode != Mode::side_by_side) return {area};
    const float half = std::floor(area.w / 2);
    return {{area.x, area.y, half, area.h}, {area.x + half, area.y, area.w - half, area.h}};
}

namespace {

constexpr int kSpaceKey = 32;  // GLFW_KEY_SPACE; the GLFW backend numbers keys so

void toolbar(const Scene& scene, View& view, Outbox& out) {
    const Look& look = scene.look;
    bool first = true;
    const auto item = [&](const std::string& label, bool chosen, const ViewCommand& command) {
        const float width = ImGui::CalcTextSize(label.c_str()).x + look.px(13);
        if (!first) same_line_if_fits(width);
        first = false;
        if (button(look, label, chosen, width)) out.view.push_back(command);
    };
    ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, ImVec2(look.px(4), ImGui::GetStyle().FramePadding.y));
    item("Original", view.mode == Mode::original, SetMode{Mode::original});
    item("Corrected", view.mode == Mode::corrected, SetMode{Mode::corrected});
    item("Split", view.mode == Mode::split, SetMode{Mode::split});
    item("Side by side", view.mode == Mode::side_by_side, SetMode{Mode::side_by_side});
    item("Fit", view.fit, Fit{});
    item("1:1", !view.fit && view.camera.zoom == 1.0, ZoomTo{1});
    item("Loupe", view.loupe, Toggle{"loupe", !view.loupe});
    item("Clipping", view.stripes, Toggle{"clipping", !view.stripes});
    if (scene.work.swatch) item("Map  I", view.show_map, Toggle{"map", !view.show_map});
    ImGui::PopStyleVar();
}

std::string short_title(const Marked& what, const Work& work) {
    if (what.mark == Mark::known && what.index < work.references.known.size()) return work.references.known[what.index].name;
    return title(what.mark, what.index);
}

class Overlay {
public:
    Overlay(const Scene& scene, const View& view, const Rect& area) : scene_(scene), view_(view), area_(area), list_(ImGui::GetWindowDrawList()) {}

    void draw() {
        list_->PushClipRect({area_.x, area_.y}, {area_.x + area_.w, area_.y + area_.h}, true);
        if (scene_.surface != nullptr && scene_.surface->map) map(*scene_.surface->map);
        const Drag* drag = view_.drag ? &*view_.drag : nullptr;
        for (const Outline& outline : outlines(scene_.work)) {
            if (drag != nullptr && drag->what == outline.what) continue;
            region(outline.region, short_title(outline.what, scene_.work), outline.what == view_.selected);
        }
        if (drag != nullptr && drag->what.mark != Mark::chart) {
            const Box b = bounds(drag->region);
            region(drag->region, short_title(drag->what, scene_.work) + "  " + shortest(std::round(b.w)) + " × " + shortest(std::round(b.h)), true);
        }
        if (drag != nullptr && drag->what.mark == Mark::chart) {
            chart(drag->corners, true);
        } else if (const auto corners = chart_corners(scene_.work, scene_.results)) {
            chart(*corners, view_.selected.mark == Mark::chart);
        }
        list_->PopClipRect();
    }

private:
    [[nodiscard]] ImVec2 at(Point p) const {
        const Point s = to_screen(view_.camera, area_, p);
        return {static_cast<float>(s.x), static_cast<float>(s.y)};
    }
    /// The darker, the farther from what it is held against; hatched where it is beyond the tolerance.
    void map(const DifferenceMap& map) {
        for (int y = 0; y < map.height; ++y) {
            for (int x = 0; x < map.width; ++x) {
                const auto i = static_cast<std::size_t>(y) * static_cast<std::size_t>(map.width) + static_cast<std::size_t>(x);
                if (map.cells[i] != DifferenceMap::Cell::judged) continue;
                const ImVec2 from = at({map.part.x + x * map.cell, map.part.y + y * map.cell}),
                             to = at({map.part.x + (x + 1) * map.cell, map.part.y + (y + 1) * map.cell});
                if (to.x < area_.x || to.y < area_.y || from.x > area_.x + area_.w || from.y > area_.y + area_.h) continue;
                const auto step = static_cast<std::size_t>(std::clamp(16.0 * static_cast<double>(map.de00[i]) / (2 * map.tolerance), 0.0, 16.0));
                list_->AddRectFilled(from, to, ramp()[step]);
                if (static_cast<double>(map.de00[i]) > map.tolerance)
                    list_->AddLine({from.x, to.y}, {to.x, from.y}, tone(255, 200), scene_.look.px(1));
            }
        }
    }
    static const std::array<unsigned, 17>& ramp() {
        static const std::array<unsigned, 17> tones = [] {
            std::array<unsigned, 17> made{};
            bool in_gamut = true;
            for (std::size_t i = 0; i < made.size(); ++i) made[i] = screen_tone(map_ramp(static_cast<double>(i) / 16), in_gamut);
            return made;
        }();
        return tones;
    }
    // A dark line under a light one: seen on any picture, and without any hue of its own.
    void polyline(const std::vector<ImVec2>& points, bool selected) {
        const float thick = scene_.look.px(selected ? 2.5F : 1.5F);
        list_->AddPolyline(points.data(), static_cast<int>(points.size()), tone(0, 230), ImDrawFlags_Closed, thick + scene_.look.px(2));
        list_->AddPolyline(points.data(), static_cast<int>(points.size()), tone(255), ImDrawFlags_Closed, thick);
    }
    void handle(ImVec2 p) {
        const float r = scene_.look.px(5);
        list_->AddRectFilled({p.x - r, p.y - r}, {p.x + r, p.y + r}, tone(0));
        list_->AddRectFilled({p.x - r + scene_.look.px(1.5F), p.y - r + scene_.look.px(1.5F)},
                             {p.x + r - scene_.look.px(1.5F), p.y + r - scene_.look.px(1.5F)}, tone(255));
    }
    void region(const Region& shape, const std::string& name, bool selected) {
        const Box b = bounds(shape);
        std::vector<ImVec2> points;
        if (const auto* polygon = std::get_if<Polygon>(&shape)) {
            for (const Point& p : polygon->points) points.push_back(at(p));
        } else if (const auto* e = std::get_if<Ellipse>(&shape)) {
            constexpr int count = 64;
            for (int i = 0; i < count; ++i) {
                const double angle = 2 * 3.14159265358979 * i / count;
                points.push_back(at({e->cx + e->rx * std::cos(angle), e->cy + e->ry * std::sin(angle)}));
            }
        } else {
            points = {at({b.x, b.y}), at({b.x + b.w, b.y}), at({b.x + b.w, b.y + b.h}), at({b.x, b.y + b.h})};
        }
        polyline(points, selected);
        if (selected) {
            for (const double fx : {0.0, 0.5, 1.0}) {
                for (const double fy : {0.0, 0.5, 1.0}) {
                    if (fx != 0.5 || fy != 0.5) handle(at({b.x + fx * b.w, b.y + fy * b.h}));
                }
            }
        }
        if (at({b.x + b.w, b.y}).x >= area_.x) label(at({b.x, b.y}), at({b.x, b.y + b.h}), name);
    }
    void label(ImVec2 top, ImVec2 bottom, const std::string& name) {
        if (bottom.y < area_.y || top.y > area_.y + area_.h || top.x > area_.x + area_.w) return;
        const ImVec2 size = ImGui::CalcTextSize(name.c_str());
        float y = top.y - size.y - scene_.look.px(8);
        if (y < area_.y) y = bottom.y + scene_.look.px(8);
        const float x =
            std::clamp(top.x, area_.x + scene_.look.px(6), std::max(area_.x + scene_.look.px(6), area_.x + area_.w - size.x - scene_.look.px(6)));
        haloed_text(scene_.look, x, std::clamp(y, area_.y + scene_.look.px(2), area_.y + area_.h - size.y - scene_.look.px(2)), name);
    }
    void chart(const std::array<Point, 4>& c, bool selected) {
        const auto mix = [&](double u, double v) {  // u along patches 1..6, v down the rows
            return Point{(1 - v) * ((1 - u) * c[0].x + u * c[1].x) + v * ((1 - u) * c[3].x + u * c[2].x),
                         (1 - v) * ((1 - u) * c[0].y + u * c[1].y) + v * ((1 - u) * c[3].y + u * c[2].y)};
        };
        for (int i = 1; i < 6; ++i) list_->AddLine(at(mix(i / 6.0, 0)), at(mix(i / 6.0, 1)), tone(255, 150), scene_.look.px(1));
        for (int i = 1; i < 4; ++i) list_->AddLine(at(mix(0, i / 4.0)), at(mix(1, i / 4.0)), tone(255, 150), scene_.look.px(1));
        polyline({at(c[0]), at(c[1]), at(c[2]), at(c[3])}, selected);
        static constexpr std::array<const char*, 4> names{"1 dark skin", "6", "24 black", "19"};
        for (std::size_t i = 0; i < 4; ++i) {
            handle(at(c[i]));
            const ImVec2 p = at(c[i]);
            haloed_text(scene_.look, p.x + scene_.look.px(9), p.y + scene_.look.px(i < 2 ? -24.0F : 6.0F), names[i]);
        }
    }

    const Scene& scene_;
    const View& view_;
    const Rect& area_;
    ImDrawList* list_;
};

/// Magnified pixels and their values, in a corner of the area away from the mouse.
void loupe(const Scene& scene, const View& view, const Rect& area) {
    const Results& results = scene.results;
    if (!view.loupe || !view.pointer || !results.photo || !results.original) return;
    const int px = static_cast<int>(std::floor(view.pointer->x)), py = static_cast<int>(std::floor(view.pointer->y));
    const Photo& photo = *results.photo;
    if (px < 0 || py < 0 || px >= photo.width || py >= photo.height) return;
    const Look& look = scene.look;
    constexpr int reach = 5;
    const float cell = std::floor(look.px(13)), side = cell * (2 * reach + 1), pad = look.px(8), line = ImGui::GetTextLineHeightWithSpacing();
    std::vector<std::string> lines{"x " + std::to_string(px) + "  y " + std::to_string(py)};
    const std::uint8_t* encoded =
        &results.original->rgb[3 * (static_cast<std::size_t>(py) * static_cast<std::size_t>(photo.width) + static_cast<std::size_t>(px))];
    lines.push_back("original " + std::to_string(encoded[0]) + " " + std::to_string(encoded[1]) + " " + std::to_string(encoded[2]));
    if (results.calibration) {
        const auto linear = photo.pixel(px, py);
        const Lab color = lab(plain_map(*results.calibration, {linear[0], linear[1], linear[2]}), kWhiteD50);
        lines.push_back("Lab, D50 " + one_decimal(color.L) + "  " + one_decimal(color.a) + "  " + one_decimal(color.b));
        lines.emplace_back("± unknown: one pixel");
    }
    if (photo.clipped_at(px, py)) lines.emplace_back("! clipped");
    float text_width = 0;
    for (const std::string& words : lines) text_width = std::max(text_width, ImGui::CalcTextSize(words.c_str()).x);
    const float width = side + text_width + 3 * pad, height = std::max(side, line * static_cast<float>(lines.size())) + 2 * pad;
    if (width > area.w || height > area.h) return;
    const Point mouse = to_screen(view.camera, area, *view.pointer);
    const bool left = mouse.x > static_cast<double>(area.x + area.w / 2), low = mouse.y < static_cast<double>(area.y + area.h / 2);
    const float x = left ? area.x + look.px(10) : area.x + area.w - width - look.px(10);
    const float y = low ? area.y + area.h - height - look.px(10) : area.y + look.px(10);
    ImDrawList* list = ImGui::GetWindowDrawList();
    list->AddRectFilled({x, y}, {x + width, y + height}, tone(Gray::ground));
    list->AddRect({x, y}, {x + width, y + height}, tone(Gray::line));
    const bool corrected =
        view.mode == Mode::corrected && results.corrected && results.corrected->width == photo.width && results.corrected->height == photo.height;
    const CorrectedPicture& picture = corrected ? *results.corrected : *results.original;
    for (int dy = -reach; dy <= reach; ++dy) {
        for (int dx = -reach; dx <= reach; ++dx) {
            const int ix = px + dx, iy = py + dy;
            unsigned color = tone(gray::picture_ground);
            if (ix >= 0 && iy >= 0 && ix < picture.width && iy < picture.height) {
                const std::uint8_t* rgb =
                    &picture.rgb[3 * (static_cast<std::size_t>(iy) * static_cast<std::size_t>(picture.width) + static_cast<std::size_t>(ix))];
                color = IM_COL32(rgb[0], rgb[1], rgb[2], 255);
            }
            const float cx = x + pad + cell * static_cast<float>(dx + reach), cy = y + pad + cell * static_cast<float>(dy + reach);
            list->AddRectFilled({cx, cy}, {cx + cell, cy + cell}, color);
        }
    }
    const float cx = x + pad + cell * reach, cy = y + pad + cell * reach;
    list->AddRect({cx - 1, cy - 1}, {cx + cell + 1, cy + cell + 1}, tone(0), 0, 0, look.px(3));
    list->AddRect({cx - 1, cy - 1}, {cx + cell + 1, cy + cell + 1}, tone(255), 0, 0, look.px(1.5F));
    for (std::size_t i = 0; i < lines.size(); ++i)
        list->AddText({x + side + 2 * pad, y + pad + line * static_cast<float>(i)}, tone(Gray::text), lines[i].c_str());
}

void divider(const Scene& scene, const View& view, const Rect& area) {
    const Look& look = scene.look;
    ImDrawList* list = ImGui::GetWindowDrawList();
    const float x = area.x + area.w * static_cast<float>(view.split);
    list->AddLine({x, area.y}, {x, area.y + area.h}, tone(0), look.px(4));
    list->AddLine({x, area.y}, {x, area.y + area.h}, tone(255), look.px(2));
    const ImVec2 middle{x, area.y + area.h - look.px(64)};
    list->AddCircleFilled(middle, look.px(17), tone(0));
    list->AddCircleFilled(middle, look.px(15), tone(Gray::chosen));
    const ImVec2 size = ImGui::CalcTextSize("↔");
    list->AddText({middle.x - size.x / 2, middle.y - size.y / 2}, tone(Gray::chosen_text), "↔");
    const float width = ImGui::CalcTextSize("original").x, y = area.y + area.h - look.px(28);
    if (x - area.x > width + look.px(30)) haloed_text(look, x - width - look.px(14), y, "original");
    if (area.x + area.w - x > look.px(110)) haloed_text(look, x + look.px(14), y, "corrected");
}

/// The first-start hint: a strip of its own below the picture, so that it hides nothing. Returns its height.
float hint_strip(const Scene& scene, View& view, Outbox& out, const Rect& column) {
    const Look& look = scene.look;
    const bool white = next_step(scene.work, scene.results) > 2, samples = scene.work.chip && scene.work.swatch;
    const int now = !white ? 1 : !samples ? 2 : 3;
    static constexpr std::array<const char*, 3> lines{"Drag a box over the gray card: the photo turns neutral.",
                                                      "Drag a box over the chip, then one over the swatch.",
                                                      "Read the verdict on the right. Press K, then Enter, to keep the chip."};
    const float pad = look.px(12), indent = look.px(44), wrap = column.w - 2 * pad - indent;
    float height = 2 * pad + look.px(33) + look.px(4);
    for (const char* line : lines) height += wrapped_height(line, wrap) + look.px(5);
    const float top = column.y + column.h - height;
    ImDrawList* list = ImGui::GetWindowDrawList();
    list->AddRectFilled({column.x, top}, {column.x + column.w, top + height}, tone(Gray::raised));
    float y = top + pad;
    for (int i = 1; i <= 3; ++i) {
        const char* line = lines[static_cast<std::size_t>(i - 1)];
        const std::string mark = (i < now ? "✓ " : i == now ? "→ " : "    ") + std::to_string(i);
        const unsigned color = tone(i == now ? Gray::text : Gray::quiet);
        list->AddText({column.x + pad, y}, color, mark.c_str());
        y += draw_wrapped(look.base, column.x + pad + indent, y, wrap, color, line) + look.px(5);
    }
    ImGui::SetCursorScreenPos({column.x + pad, y + look.px(4)});
    if (button(look, "Don't show this again")) {
        out.hint_done = true;
        view.hint = false;
    }
    return height;
}

void empty_state(const Scene& scene, const Rect& area) {
    const Look& look = scene.look;
    const std::string title_line = scene.progress.busy         ? "Reading the photo ..."
                                   : scene.results.photo_error ? first_capital(cause_of(*scene.results.photo_error))
                                                               : "Drop a photo here";
    const std::string words =
        "Put the chip, the swatch and a gray card side by side, in the same light, and take one photo of them: "
        "no flash, nothing shiny facing the lamp, no part too bright. The camera's own file is best: JPEG, HEIC, raw. Ctrl+O to type its path.";
    const float width = std::min(area.w - look.px(40), look.px(520));
    ImGui::PushFont(look.medium);
    const float title_height = wrapped_height(title_line, width);
    ImGui::PopFont();
    const float pad = look.px(18), height = title_height + wrapped_height(words, width) + look.px(10);
    const float x = area.x + (area.w - width) / 2, y = area.y + (area.h - height) / 2;
    ImGui::GetWindowDrawList()->AddRectFilled({x - pad, y - pad}, {x + width + pad, y + height + pad}, tone(Gray::ground), look.px(3));
    draw_wrapped(look.medium, x, y, width, tone(Gray::text), title_line);
    draw_wrapped(look.base, x, y + title_height + look.px(10), width, tone(Gray::text), words);
}

/// Letting go: one command, then the tool of the next step.
void let_go(const Scene& scene, View& view, Outbox& out) {
    const Drag drag = *view.drag;
    view.drag.reset();
    std::optional<Command> command = finished(scene.work, drag);
    if (drag.what.mark == Mark::known && drag.what.index >= scene.work.references.known.size()) {
        const Box b = bounds(drag.region);
        const std::size_t cut = view.edits.known.find_last_of(' ');
        if (b.w >= 3 && b.h >= 3) {
            const std::string name = cut == std::string::npos ? "" : view.edits.known.substr(0, cut);
            const Result<Command> known = parse_command("known \"" + name + "\" " + to_text(drag.region) + " " +
                                                        (cut == std::string::npos ? "?" : view.edits.known.substr(cut + 1)));
            command = known ? *known : Command(SetKnown{});  // refused: it has no name
            if (known) view.edits.known.clear();
        }
    }
    if (!command) {
        if (drag.kind == Drag::Kind::create) view.selected = {};
        return;
    }
    out.commit(*command);
    view.selected = view.drawn = drag.what;
    if (drag.kind == Drag::Kind::create) {
        view.tool = Mark::none;
        out.created = true;
    }
}

void mouse(const Scene& scene, View& view, Outbox& out, const Rect& whole, const Photo& photo) {
    const ImGuiIO& io = ImGui::GetIO();
    const bool hovered = ImGui::IsItemHovered(), active = ImGui::IsItemActive();
    const std::vector<Rect> areas = picture_areas(whole, view.mode);
    const Rect& area = areas.size() > 1 && areas[1].contains(io.MousePos.x, io.MousePos.y) ? areas[1] : areas[0];
    const Point screen{static_cast<double>(io.MousePos.x), static_cast<double>(io.MousePos.y)};
    const Point at = to_picture(view.camera, area, screen);
    if (!view.pointer_pinned) view.pointer = hovered || active ? std::optional<Point>(at) : std::nullopt;
    const double reach = static_cast<double>(scene.look.px(12)) / view.camera.zoom;
    const float split_x = whole.x + whole.w * static_cast<float>(view.split);
    const bool near_split =
        view.mode == Mode::split && std::abs(io.MousePos.x - split_x) <= scene.look.px(16) && io.MousePos.y > whole.y + whole.h - scene.look.px(110);
    const bool pan_key = io.KeysDown[kSpaceKey];

    if (hovered && io.MouseWheel != 0) {
        view.fit = false;
        view.camera =
            kept_in_view(zoomed(view.camera, area, screen, std::pow(1.25, static_cast<double>(io.MouseWheel))), area, photo.width, photo.height);
    }
    if (hovered && ImGui::IsMouseClicked(ImGuiMouseButton_Left) && !pan_key) {
        if (near_split) {
            view.split_dragged = true;
        } else if (view.tool != Mark::none) {
            view.drag = start_new(scene.work, view.tool, view.ellipse, at);
        } else if (auto drag = grab(scene.work, scene.results, view.selected, at, reach)) {
            view.drag = std::move(drag);
            view.selected = view.drag->what;
        } else {
            view.selected = {};
        }
    }
    const bool panning =
        active && !view.drag && !view.split_dragged &&
        (ImGui::IsMouseDragging(ImGuiMouseButton_Middle, 0) || (ImGui::IsMouseDragging(ImGuiMouseButton_Left, pan_key ? 0.0F : -1.0F)));
    if (panning && (io.MouseDelta.x != 0 || io.MouseDelta.y != 0)) {
        view.fit = false;
        view.camera.center.x -= static_cast<double>(io.MouseDelta.x) / view.camera.zoom;
        view.camera.center.y -= static_cast<double>(io.MouseDelta.y) / view.camera.zoom;
        view.camera = kept_in_view(view.camera, area, photo.width, photo.height);
    }
    if (view.split_dragged) {
        view.split = std::clamp(static_cast<double>((io.MousePos.x - whole.x) / whole.w), 0.02, 0.98);
        if (!io.MouseDown[0]) view.split_dragged = false;
    }
    if (view.drag && view.drag->kind != Drag::Kind::nudge) {
        view.drag = dragged(std::move(*view.drag), view.ellipse, at, photo.width, photo.height);
        if (!io.MouseDown[0]) let_go(scene, view, out);
    }
    if (hovered || active) {
        if (near_split || view.split_dragged) {
            ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeEW);
        } else if (pan_key || panning) {
            ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeAll);
        } else if (view.tool == Mark::none) {
            if (const auto under = view.drag ? view.drag : grab(scene.work, scene.results, view.selected, at, reach)) {
                const int h = under->handle;
                ImGui::SetMouseCursor(under->kind != Drag::Kind::edges ? ImGuiMouseCursor_ResizeAll
                                      : h == 1 || h == 2               ? ImGuiMouseCursor_ResizeEW
                                      : h == 4 || h == 8               ? ImGuiMouseCursor_ResizeNS
                                      : h == 5 || h == 10              ? ImGuiMouseCursor_ResizeNWSE
                                                                       : ImGuiMouseCursor_ResizeNESW);
            }
        }
    }
}

}  // namespace

void draw_picture_panel(const Scene& scene, View& view, Outbox& out, const Rect& rect) {
    const Look& look = scene.look;
    if (view.focus_column == 1) ImGui::SetNextWindowFocus();
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, ImVec2(look.px(8), look.px(6)));
    begin_panel("Picture", rect,
                ImGuiWindowFlags_NoBackground | ImGuiWindowFlags_NoScrollbar | ImGuiWindowFlags_NoScrollWithMouse | ImGuiWindowFlags_NoNav);
    ImGui::PopStyleVar();
    view.picture_focused = ImGui::IsWindowFocused(ImGuiFocusedFlags_ChildWindows);
    if (view.picture_focused) view.column = 1;

    // The strip of view controls; its ground is drawn first, as high as the buttons turn out to be.
    ImDrawList* list = ImGui::GetWindowDrawList();
    list->ChannelsSplit(2);
    list->ChannelsSetCurrent(1);
    toolbar(scene, view, out);
    const float bottom = ImGui::GetItemRectMax().y + look.px(6);
    list->ChannelsSetCurrent(0);
    list->PushClipRect({rect.x, rect.y}, {rect.x + rect.w, rect.y + rect.h});
    list->AddRectFilled({rect.x, rect.y}, {rect.x + rect.w, bottom}, tone(Gray::raised));
    list->PopClipRect();
    list->ChannelsMerge();

    list->PushClipRect({rect.x, rect.y}, {rect.x + rect.w, rect.y + rect.h});
    float hint = view.hint ? hint_strip(scene, view, out, rect) : 0;
    if (view.show_strip && !scene.work.photo.empty()) {
        const float height = std::round(look.px(116));
        draw_strip(scene, view, out, {rect.x, rect.y + rect.h - hint - height, rect.w, height});
        hint += height;
    }
    const Rect area{rect.x, bottom, rect.w, std::max(1.0F, rect.y + rect.h - bottom - hint)};
    view.canvas = {area, scene.results.photo != nullptr};
    if (!scene.results.photo) {
        list->AddRectFilled({area.x, area.y}, {area.x + area.w, area.y + area.h}, tone(gray::picture_ground));
        empty_state(scene, area);
        message_card(scene, out, area);
        list->PopClipRect();
        ImGui::End();
        return;
    }
    const Photo& photo = *scene.results.photo;
    const std::vector<Rect> areas = picture_areas(area, view.mode);
    if (view.fit) view.camera = fit_camera(areas[0], photo.width, photo.height);

    // Cards lie over the canvas and get the mouse first: as children they are hovered before the button beneath.
    ImGui::SetCursorScreenPos({area.x, area.y});
    ImGui::SetItemAllowOverlap();
    ImGui::InvisibleButton("canvas", {area.w, area.h}, ImGuiButtonFlags_MouseButtonLeft | ImGuiButtonFlags_MouseButtonMiddle);
    ImGui::SetItemAllowOverlap();
    mouse(scene, view, out, area, photo);
    for (const Rect& part : areas) Overlay(scene, view, part).draw();
    if (view.mode == Mode::split) divider(scene, view, area);
    if (view.mode == Mode::side_by_side && areas.size() > 1) {
        list->AddLine({areas[1].x, area.y}, {areas[1].x, area.y + area.h}, tone(0), look.px(2));
        haloed_text(look, areas[0].x + look.px(10), area.y + area.h - look.px(28), "original");
        haloed_text(look, areas[1].x + look.px(10), area.y + area.h - look.px(28), "corrected");
    }
    if (view.mode != Mode::original && !scene.results.corrected && scene.busy)
        haloed_text(look, area.x + look.px(10), area.y + look.px(8), "original, until the corrected picture is ready");
    loupe(scene, view, area);
    message_card(scene, out, area);
    list->PopClipRect();
    ImGui::End();
}

}  // namespace sw::window
