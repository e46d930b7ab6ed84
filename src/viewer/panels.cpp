#include "viewer/panels.hpp"

#include <imgui.h>

#include <algorithm>
#include <cmath>

#include "viewer/shortcuts.hpp"
#include "viewer/widgets.hpp"

namespace sw::window {

Layout layout(float width, float height, float scale) {
    const float bottom = std::round(44 * scale);
    // Columns keep their width; the picture takes the rest. In narrow windows the columns give way down to what their text needs.
    const float left = std::round(std::min(294 * scale, width * 0.26F)), right = std::round(std::min(400 * scale, width * 0.36F));
    const float rows = std::max(1.0F, height - bottom);
    return {{0, 0, left, rows}, {left, 0, std::max(1.0F, width - left - right), rows}, {width - right, 0, right, rows}, {0, rows, width, bottom}};
}

void draw_bottom_line(const Scene& scene, View& view, Outbox& out, const Rect& rect) {
    const Look& look = scene.look;
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, ImVec2(look.px(12), look.px(5)));
    begin_panel("Next", rect, ImGuiWindowFlags_NoScrollbar, Gray::raised);
    ImGui::PopStyleVar();
    const float right = rect.x + rect.w - look.px(12);
    float text_end = right;
    if (scene.working) {
        const std::string cancel = "Cancel  Esc";
        const float bar = look.px(150), button_w = button_width(cancel);
        const std::string stage = scene.progress.stage + (scene.progress.share ? "" : " ...");
        const float stage_w = ImGui::CalcTextSize(stage.c_str()).x;
        const float x = right - button_w - bar - stage_w - look.px(24);
        text_end = x - look.px(16);
        ImGui::SetCursorScreenPos({x, rect.y + look.px(5)});
        ImGui::AlignTextToFramePadding();
        ImGui::TextUnformatted(stage.c_str());
        ImGui::SetCursorScreenPos({x + stage_w + look.px(12), rect.y + look.px(5)});
        const ImVec2 at{x + stage_w + look.px(12), rect.y + look.px(14)};
        ImDrawList* list = ImGui::GetWindowDrawList();
        list->AddRectFilled(at, {at.x + bar, at.y + look.px(14)}, tone(Gray::field));
        list->AddRect(at, {at.x + bar, at.y + look.px(14)}, tone(Gray::line));
        if (scene.progress.share)
            list->AddRectFilled(at, {at.x + bar * std::clamp(*scene.progress.share, 0.0F, 1.0F), at.y + look.px(14)}, tone(Gray::text));
        ImGui::SetCursorScreenPos({right - button_w, rect.y + look.px(5)});
        if (button(look, cancel)) out.cancel = true;
    } else {
        const std::string help = "Keys  F1";
        const float width = button_width(help);
        text_end = right - width - look.px(16);
        ImGui::SetCursorScreenPos({right - width, rect.y + look.px(5)});
        if (button(look, help, view.help)) out.view.emplace_back(Toggle{"help", !view.help});
    }
    // The hint wraps where it must; two small lines fit the height.
    const std::string hint = next_hint(scene.work, scene.results, view);
    const float width = std::max(look.px(100), text_end - rect.x - look.px(12));
    draw_wrapped(look.base, rect.x + look.px(12), rect.y + std::max(look.px(2), (rect.h - wrapped_height(hint, width)) / 2), width, tone(Gray::text),
                 hint);
    ImGui::End();
}

float message_card(const Scene& scene, Outbox& out, const Rect& area) {
    const Look& look = scene.look;
    if (scene.messages.empty()) return 0;
    const std::size_t last = scene.messages.size() - 1;
    const Error& error = scene.messages[last].error;
    const float width = std::min(area.w - look.px(24), look.px(560));
    ImGui::SetCursorScreenPos({area.x + (area.w - width) / 2, area.y + look.px(12)});
    const float wrap = width - look.px(28);
    const std::string words = cause_of(error);  // a file's name stays as it is
    const std::string cause = "! " + (error.file.empty() ? first_capital(words) : words);
    const std::string more = last > 0 ? std::to_string(last) + " more" : "";
    const float height = wrapped_height(cause, wrap) + (error.remedy.empty() ? 0 : wrapped_height(error.remedy, wrap)) + look.px(33) + look.px(38);
    ImGui::PushStyleColor(ImGuiCol_ChildBg, tone(Gray::field));
    ImGui::PushStyleVar(ImGuiStyleVar_ChildBorderSize, look.px(2));
    ImGui::PushStyleColor(ImGuiCol_Border, tone(Gray::text));
    ImGui::BeginChild("message", {width, height}, true, ImGuiWindowFlags_NoScrollbar);
    ImGui::PopStyleColor();
    ImGui::PopStyleVar();
    text(cause);
    if (!error.remedy.empty()) text(first_capital(error.remedy));
    if (button(look, "Understood  Esc")) out.dismissed = last;
    if (!more.empty()) {
        ImGui::SameLine();
        quiet(more);
    }
    ImGui::EndChild();
    ImGui::PopStyleColor();
    return height + look.px(12);
}

void draw_help(const Scene& scene, View& view, Outbox& out, float width, float height) {
    if (!view.help) return;
    const Look& look = scene.look;
    const float margin = look.px(24);
    ImGui::SetNextWindowFocus();
    ImGui::SetNextWindowPos({margin, margin});
    ImGui::SetNextWindowSize({width - 2 * margin, height - 2 * margin});
    ImGui::PushStyleColor(ImGuiCol_WindowBg, tone(Gray::field));
    ImGui::PushStyleVar(ImGuiStyleVar_WindowBorderSize, look.px(2));
    ImGui::Begin("Keys", nullptr,
                 ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoResize | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoCollapse |
                     ImGuiWindowFlags_NoSavedSettings);
    ImGui::PopStyleVar();
    ImGui::PopStyleColor();
    ImGui::PushFont(look.medium);
    text("All keys");
    ImGui::PopFont();
    ImGui::SameLine();
    ImGui::SetCursorPosX(ImGui::GetWindowContentRegionMax().x - button_width("Close  F1"));
    if (button(look, "Close  F1")) view.help = false;
    const Edited looked = text_field("help", view.edits.help, "what do you want to do? Enter does the first", 0, view);
    const std::vector<const Shortcut*> found = shortcuts_with(view.edits.help);
    const auto act = [&](const Shortcut& shortcut) {
        view.help = false;
        out.view.emplace_back(PressKey{shortcut.chord});
    };
    if (looked.entered && !view.edits.help.empty() && !found.empty()) act(*found.front());
    if (found.empty()) quiet("No command has these words.");
    struct Entry {
        const Shortcut* shortcut;  // nullptr: a heading
        std::string heading;
    };
    std::vector<Entry> entries;
    std::string group;
    for (const Shortcut* shortcut : found) {
        if (shortcut->group != group) entries.push_back({nullptr, shortcut->group});
        group = shortcut->group;
        entries.push_back({shortcut, {}});
    }
    const int columns = width / scene.look.scale > 1000 ? 3 : 2;
    const std::size_t per_column = (entries.size() + static_cast<std::size_t>(columns) - 1) / static_cast<std::size_t>(columns);
    ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, ImVec2(ImGui::GetStyle().ItemSpacing.x, look.px(3)));
    if (!entries.empty() && ImGui::BeginTable("keys", columns, ImGuiTableFlags_SizingStretchSame)) {
        ImGui::TableNextRow();
        for (int column = 0; column < columns; ++column) {
            ImGui::TableNextColumn();
            const std::size_t from = per_column * static_cast<std::size_t>(column), to = std::min(entries.size(), from + per_column);
            for (std::size_t i = from; i < to; ++i) {
                const Entry& entry = entries[i];
                if (entry.shortcut == nullptr) {
                    if (i != from) ImGui::Spacing();
                    quiet(entry.heading);
                    continue;
                }
                const float x = ImGui::GetCursorPosX(), inner = ImGui::GetContentRegionAvail().x - look.px(126);
                const std::string words = wrapped(entry.shortcut->words, inner);
                ImGui::PushID(entry.shortcut->chord.c_str());
                const float line = std::max(ImGui::CalcTextSize(words.c_str()).y, ImGui::GetTextLineHeight());
                if (ImGui::Selectable("##do", false, 0, {0, line})) act(*entry.shortcut);
                ImGui::PopID();
                ImGui::SameLine();
                ImGui::SetCursorPosX(x);
                ImGui::TextUnformatted(entry.shortcut->keys.c_str());
                ImGui::SameLine();
                ImGui::SetCursorPosX(x + look.px(126));
                ImGui::TextUnformatted(words.c_str());
            }
        }
        ImGui::EndTable();
    }
    ImGui::PopStyleVar();
    ImGui::End();
}

void draw_panels(const Scene& scene, View& view, Outbox& out, float width, float height) {
    const Layout place = layout(width, height, scene.look.scale);
    draw_path_panel(scene, view, out, place.path);
    if (view.page == Page::workbook) {
        view.canvas.visible = false;
        draw_book_panel(scene, view, out, place.picture);
        draw_book_item(scene, view, out, place.judge);
    } else {
        draw_picture_panel(scene, view, out, place.picture);
        draw_judge_panel(scene, view, out, place.judge);
    }
    draw_bottom_line(scene, view, out, place.bottom);
    view.focus_column = -1;
    draw_help(scene, view, out, width, height);
}

Scene scene_of(const Desk& desk, const Look& look, const SmallTexture& texture, const std::string& shown_as,
               const std::vector<std::string>& profiles) {
    return {desk.work(),          desk.results(), desk.shelf(), desk.history(), desk.messages,  desk.progress(), desk.busy(),    desk.match_current(),
            desk.workbook_path(), look,           desk.lines(), desk.told(),    desk.working(), desk.can_undo(), desk.surface(), desk.can_browse(),
            desk.photo_changed(), desk.folder(),  desk.recent,  texture,        desk.advice(),  shown_as,        profiles};
}

bool deliver(Desk& desk, const Outbox& out) {
    if (out.dismissed && *out.dismissed < desk.messages.size())
        desk.messages.erase(desk.messages.begin() + static_cast<std::ptrdiff_t>(*out.dismissed));
    for (const Error& error : out.refused) desk.complain(error);
    if (out.cancel) desk.cancel();
    for (const Command& command : out.commits) {
        if (!desk.commit(command)) continue;
        // The next step's controls open by themselves, and its marking tool is at hand.
        const Mark marked = std::holds_alternative<SetGray>(command)           ? Mark::gray
                            : std::holds_alternative<FindChart>(command)       ? Mark::chart
                            : std::holds_alternative<SetChartCorners>(command) ? Mark::chart
                            : std::holds_alternative<SetChip>(command)         ? Mark::chip
                            : std::holds_alternative<SetSwatch>(command)       ? Mark::swatch
                                                                               : Mark::none;
        if (marked == Mark::none) continue;
        const bool only_moved = desk.view.tool == Mark::none && desk.view.selected.mark == marked && !out.created;
        const bool white_tool = marked == Mark::chart && desk.view.tool == Mark::gray;
        if (!only_moved && (desk.view.tool == Mark::none || desk.view.tool == marked || white_tool)) {
            desk.view.tool = Mark::none;
            const Mark next = tool_for_next_step(desk.work(), desk.results());
            if (next != Mark::none) {
                desk.view.tool = next;
                desk.view.selected = {};
            }
            desk.view.open_step = next_step(desk.work(), desk.results());
        }
    }
    for (const ViewCommand& command : out.view) {
        if (const auto* key = std::get_if<PressKey>(&command)) {
            press(desk, key->chord, false);
        } else {
            (void)run(desk, command);
        }
    }
    return !out.commits.empty() || !out.view.empty() || !out.refused.empty() || out.dismissed || out.cancel || out.hint_done;
}

}  // namespace sw::window
