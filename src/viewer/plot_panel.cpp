// Plots of the judging column: where the swatch lies from the chip, and what the doubt is made of. For those who would rather look than read.
#include <imgui.h>

#include <algorithm>
#include <cmath>

#include "sheet/figures.hpp"
#include "viewer/panels.hpp"
#include "viewer/plots.hpp"
#include "viewer/widgets.hpp"

namespace sw::window {
namespace {

constexpr int kRound = 72;  // points of a ring

void rotated_hint(float x, float y, const std::string& words, bool right) {
    const ImVec2 size = ImGui::CalcTextSize(words.c_str());
    ImGui::GetWindowDrawList()->AddText({right ? x - size.x : x, y}, tone(Gray::quiet), words.c_str());
}

/// a*b* around the chip: tolerance as a ring, the swatch with the ellipse that holds it in 95 of 100 cases.
void color_plane(const Scene& scene, const Comparison& c, const Rect& box, double half) {
    const Look& look = scene.look;
    ImDrawList* list = ImGui::GetWindowDrawList();
    const ImVec2 middle{box.x + box.w / 2, box.y + box.h / 2};
    const float unit = std::min(box.w, box.h) / 2 / static_cast<float>(half);
    const auto at = [&](const Point& p) { return ImVec2{middle.x + unit * static_cast<float>(p.x), middle.y - unit * static_cast<float>(p.y)}; };
    list->AddRectFilled({box.x, box.y}, {box.x + box.w, box.y + box.h}, tone(Gray::field));
    list->PushClipRect({box.x, box.y}, {box.x + box.w, box.y + box.h}, true);
    list->AddLine({box.x, middle.y}, {box.x + box.w, middle.y}, tone(Gray::line, 130));
    list->AddLine({middle.x, box.y}, {middle.x, box.y + box.h}, tone(Gray::line, 130));
    const auto ring = [&](const std::vector<Point>& points, float thickness, bool dashed) {
        for (std::size_t i = 0; i < points.size(); ++i) {
            if (dashed && i % 2 == 1) continue;
            list->AddLine(at(points[i]), at(points[(i + 1) % points.size()]), tone(Gray::text), thickness);
        }
    };
    ring(tolerance_ring(c.chip.lab, c.difference.tolerance, kRound), look.px(1.5F), true);
    const SwatchRegion swatch = swatch_region(c, kRound);
    std::vector<ImVec2> filled;
    for (const Point& p : swatch.rim) filled.push_back(at(p));
    list->AddConvexPolyFilled(filled.data(), static_cast<int>(filled.size()), tone(Gray::text, 45));
    ring(swatch.rim, look.px(2), false);
    list->AddLine({middle.x - look.px(6), middle.y}, {middle.x + look.px(6), middle.y}, tone(Gray::text), look.px(2));
    list->AddLine({middle.x, middle.y - look.px(6)}, {middle.x, middle.y + look.px(6)}, tone(Gray::text), look.px(2));
    list->AddCircleFilled(at(swatch.middle), look.px(5), tone(Gray::chosen));
    list->PopClipRect();
    const float line = ImGui::GetTextLineHeight();
    rotated_hint(box.x + box.w - look.px(5), middle.y + look.px(1), "redder", true);
    rotated_hint(box.x + look.px(5), middle.y + look.px(1), "greener", false);
    rotated_hint(middle.x + look.px(5), box.y + look.px(2), "yellower", false);
    rotated_hint(middle.x + look.px(5), box.y + box.h - line - look.px(2), "bluer", false);
}

/// ΔL*: the same along one line, lighter upward.
void lightness_bar(const Scene& scene, const Comparison& c, const Rect& box, double half) {
    const Look& look = scene.look;
    ImDrawList* list = ImGui::GetWindowDrawList();
    list->AddRectFilled({box.x, box.y}, {box.x + box.w, box.y + box.h}, tone(Gray::field));
    const float middle = box.y + box.h / 2, unit = box.h / 2 / static_cast<float>(half), x = box.x + box.w / 2;
    const auto y = [&](double step) { return std::clamp(middle - unit * static_cast<float>(step), box.y + look.px(2), box.y + box.h - look.px(2)); };
    const Interval tolerance = tolerance_lightness(c.chip.lab, c.difference.tolerance, c.difference.textured ? 2 : 1);
    for (const double edge : {tolerance.low, tolerance.high}) {
        for (float at = box.x; at < box.x + box.w; at += look.px(8))
            list->AddLine({at, y(edge)}, {at + look.px(4), y(edge)}, tone(Gray::text), look.px(1.5F));
    }
    list->AddLine({box.x, middle}, {box.x + box.w, middle}, tone(Gray::line, 130));
    const double reach = 1.96 * c.difference.dL_sd;
    list->AddRectFilled({x - look.px(7), y(c.difference.dL + reach)}, {x + look.px(7), y(c.difference.dL - reach)}, tone(Gray::text, 45));
    list->AddRect({x - look.px(7), y(c.difference.dL + reach)}, {x + look.px(7), y(c.difference.dL - reach)}, tone(Gray::text), 0, 0, look.px(2));
    list->AddCircleFilled({x, y(c.difference.dL)}, look.px(5), tone(Gray::chosen));
    const auto centered = [&](const char* words, float top) { list->AddText({x - ImGui::CalcTextSize(words).x / 2, top}, tone(Gray::quiet), words); };
    centered("lighter", box.y + look.px(2));
    centered("darker", box.y + box.h - ImGui::GetTextLineHeight() - look.px(2));
}

/// Each source of doubt as a bar, the largest first.
void budget(const Scene& scene, const Difference& d) {
    if (d.budget.empty() || !(d.budget.front().size > 0)) return;
    const Look& look = scene.look;
    quiet("What the doubt is made of, each alone, ΔE00 ±");
    ImDrawList* list = ImGui::GetWindowDrawList();
    const float full = ImGui::GetContentRegionAvail().x - look.px(42);
    for (const ErrorPart& part : d.budget) {
        if (part.size < 0.05 * d.budget.front().size) continue;
        text(part.name);
        const ImVec2 at = ImGui::GetCursorScreenPos();
        const float width = full * static_cast<float>(part.size / d.budget.front().size), height = look.px(10);
        list->AddRectFilled(at, {at.x + full, at.y + height}, tone(Gray::field));
        list->AddRectFilled(at, {at.x + width, at.y + height}, tone(Gray::quiet));
        list->AddText({at.x + full + look.px(8), at.y + height / 2 - ImGui::GetTextLineHeight() / 2}, tone(Gray::text),
                      one_decimal(part.size).c_str());
        ImGui::Dummy({full, height});
    }
}

}  // namespace

void draw_judge_plots(const Scene& scene) {
    const Look& look = scene.look;
    const Comparison& c = *scene.results.comparison;
    const float width = ImGui::GetContentRegionAvail().x, gap = look.px(8), bar = look.px(64), height = std::min(width - bar - gap, look.px(300));
    const SwatchRegion swatch = swatch_region(c, kRound);
    double half = 1;
    for (const auto* points : {&swatch.rim}) {
        for (const Point& p : *points) half = std::max({half, std::abs(p.x), std::abs(p.y)});
    }
    for (const Point& p : tolerance_ring(c.chip.lab, c.difference.tolerance, 24)) half = std::max({half, std::abs(p.x), std::abs(p.y)});
    half = std::max(half, std::abs(c.difference.dL) + 1.96 * c.difference.dL_sd) * 1.12;
    const ImVec2 at = ImGui::GetCursorScreenPos();
    color_plane(scene, c, {at.x, at.y, width - bar - gap, height}, half);
    lightness_bar(scene, c, {at.x + width - bar, at.y, bar, height}, half);
    ImGui::Dummy({width, height});
    quiet("+ chip   ● swatch, ring: where it lies in 95 of 100 cases, dashes: your tolerance of " + brief(c.difference.tolerance) +
          "   side to side " + one_decimal(2 * half) + " in a*, b*, L*");
    budget(scene, c.difference);
}

}  // namespace sw::window
