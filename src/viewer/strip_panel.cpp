// Under the picture: what else lies in its folder.
#include <imgui.h>

#include <algorithm>
#include <cmath>

#include "viewer/panels.hpp"
#include "viewer/widgets.hpp"

namespace sw::window {
namespace {

void small_picture(const Scene& scene, const FolderPicture& picture, const Rect& box) {
    ImDrawList* list = ImGui::GetWindowDrawList();
    list->AddRectFilled({box.x, box.y}, {box.x + box.w, box.y + box.h}, tone(gray::picture_ground));
    void* texture = picture.preview && scene.texture ? scene.texture(picture.preview) : nullptr;
    if (texture == nullptr) {
        const char* mark = picture.tried ? "?" : "…";
        const ImVec2 size = ImGui::CalcTextSize(mark);
        list->AddText({box.x + (box.w - size.x) / 2, box.y + (box.h - size.y) / 2}, tone(gray::surround_text), mark);
        return;
    }
    const auto w = static_cast<float>(picture.preview->width), h = static_cast<float>(picture.preview->height);
    const float fit = std::min(box.w / w, box.h / h);
    const ImVec2 from{std::floor(box.x + (box.w - fit * w) / 2), std::floor(box.y + (box.h - fit * h) / 2)};
    list->AddImage(texture, from, {from.x + std::floor(fit * w), from.y + std::floor(fit * h)});
}

}  // namespace

void draw_strip(const Scene& scene, View& view, Outbox& out, const Rect& rect) {
    const Look& look = scene.look;
    ImGui::SetCursorScreenPos({rect.x, rect.y});
    ImGui::PushStyleColor(ImGuiCol_ChildBg, tone(Gray::raised));
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, ImVec2(look.px(6), look.px(6)));
    ImGui::BeginChild("strip", {rect.w, rect.h}, true, ImGuiWindowFlags_HorizontalScrollbar | ImGuiWindowFlags_NoScrollWithMouse);
    ImGui::PopStyleVar();
    ImGui::PopStyleColor();
    const float step = std::round(look.px(118)), width = step - look.px(6), line = ImGui::GetTextLineHeight();
    const float all = step * static_cast<float>(scene.folder.pictures.size());
    const bool scrolls = all > rect.w - look.px(12);
    const float height = std::max(look.px(20), rect.h - look.px(14) - (scrolls ? ImGui::GetStyle().ScrollbarSize : 0) - line);
    if (ImGui::IsWindowHovered() && ImGui::GetIO().MouseWheel != 0) ImGui::SetScrollX(ImGui::GetScrollX() - step * ImGui::GetIO().MouseWheel);
    const auto& pictures = scene.folder.pictures;
    if (pictures.empty()) quiet("Nothing else in this folder is a picture.");
    const ImVec2 start = ImGui::GetCursorScreenPos();
    const float scrolled = ImGui::GetScrollX();
    view.strip_first = static_cast<std::size_t>(std::max(0.0F, std::floor(scrolled / step)));
    view.strip_last = std::min(pictures.size(), view.strip_first + static_cast<std::size_t>(std::ceil(rect.w / step)) + 1);
    for (std::size_t i = 0; i < pictures.size(); ++i) {
        const bool open = pictures[i].path == scene.work.photo;
        if (open && view.strip_reveal > 0) {
            ImGui::SetScrollX(std::max(0.0F, step * static_cast<float>(i) - (rect.w - step) / 2));
            --view.strip_reveal;
        }
    }
    for (std::size_t i = view.strip_first; i < view.strip_last; ++i) {
        const bool open = pictures[i].path == scene.work.photo;
        const ImVec2 at{start.x + step * static_cast<float>(i), start.y};
        ImGui::SetCursorScreenPos(at);
        ImGui::PushID(pictures[i].path.c_str());
        if (ImGui::InvisibleButton("open", {width, height + line}) && !open) out.commit(OpenPhoto{pictures[i].path});
        const bool marked = open || ImGui::IsItemHovered() || ImGui::IsItemFocused();
        if (ImGui::IsItemHovered()) ImGui::SetTooltip("%s", file_name(pictures[i].path).c_str());
        ImGui::PopID();
        small_picture(scene, pictures[i], {at.x, at.y, width, height});
        ImDrawList* list = ImGui::GetWindowDrawList();
        if (marked) list->AddRect({at.x, at.y}, {at.x + width, at.y + height}, tone(Gray::text), 0, 0, look.px(open ? 3 : 1));
        const std::string name = fitting((open ? "▸ " : "") + file_name(pictures[i].path), width);
        list->AddText({at.x, at.y + height}, tone(open ? Gray::text : Gray::quiet), name.c_str());
    }
    // All of them count for the scroll bar.
    ImGui::SetCursorScreenPos({start.x + std::max(1.0F, all - look.px(6)) - 1, start.y});
    ImGui::Dummy({1, 1});
    ImGui::EndChild();
}

}  // namespace sw::window
