#include "viewer/book_parts.hpp"

#include <imgui.h>

#include <algorithm>

#include "sheet/figures.hpp"
#include "viewer/widgets.hpp"

namespace sw::window {

void book_heading(const Scene& scene, const std::string& words) {
    ImGui::PushFont(scene.look.medium);
    text(words);
    ImGui::PopFont();
}

void approach_plot(const Scene& scene, const std::vector<ApproachStep>& steps) {
    if (steps.size() < 2) return;
    const Look& look = scene.look;
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const float width = ImGui::GetContentRegionAvail().x, height = look.px(110), left = look.px(34), base = height - look.px(22);
    double most = 1;
    for (const ApproachStep& step : steps) most = std::max(most, step.high);
    ImDrawList* list = ImGui::GetWindowDrawList();
    list->AddRectFilled(at, {at.x + width, at.y + height}, tone(Gray::field));
    const auto y = [&](double de) { return at.y + base - static_cast<float>(de / most) * (base - look.px(8)); };
    const double grid = most > 8 ? 4 : most > 4 ? 2 : 1;
    for (double de = 0; de <= most; de += grid) {
        list->AddLine({at.x + left, y(de)}, {at.x + width - look.px(8), y(de)}, tone(Gray::line, de == 0 ? 255 : 110));
        list->AddText({at.x + look.px(8), y(de) - ImGui::GetTextLineHeight() / 2}, tone(Gray::quiet), brief(de).c_str());
    }
    const float stride = (width - left - look.px(30)) / static_cast<float>(steps.size());
    ImVec2 last{};
    for (std::size_t i = 0; i < steps.size(); ++i) {
        const ImVec2 point{at.x + left + stride * (static_cast<float>(i) + 0.5F), y(steps[i].de00)};
        if (i > 0) list->AddLine(last, point, tone(Gray::quiet), look.px(1));
        list->AddLine({point.x, y(steps[i].low)}, {point.x, y(steps[i].high)}, tone(Gray::text), look.px(2));
        list->AddCircleFilled(point, look.px(5), tone(Gray::chosen));
        last = point;
    }
    list->AddText({at.x + left, at.y + base + look.px(2)}, tone(Gray::quiet), "ΔE00 of its readings, the first left");
    ImGui::Dummy({width, height});
}

}  // namespace sw::window
