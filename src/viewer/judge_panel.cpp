// Right column: judging. Verdict, the pair under each light, readings, what is kept, what was done.
#include <imgui.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "sheet/pair_words.hpp"
#include "viewer/panels.hpp"
#include "viewer/widgets.hpp"

namespace sw::window {
namespace {

void verdict_card(const Scene& scene) {
    const Look& look = scene.look;
    if (!scene.results.comparison) {
        ImGui::PushFont(look.medium);
        text("No verdict yet");
        ImGui::PopFont();
        std::string missing;
        switch (next_step(scene.work, scene.results)) {
            case 1:
                missing = "It needs a photo of chip and swatch side by side.";
                break;
            case 2:
                missing = "It needs a gray card or a chart in the photo, the chip, and the swatch.";
                break;
            case 3:
                missing = scene.work.chip ? "It needs the swatch: press S and drag a box over it."
                                          : "It needs the chip and the swatch: press C and drag a box over the chip.";
                break;
            default:
                missing = scene.busy ? "Being worked out ..." : "Nothing could be compared.";
                break;
        }
        if (scene.results.match_error)
            missing = first_capital(cause_of(*scene.results.match_error)) + ". " + first_capital(scene.results.match_error->remedy) + ".";
        quiet(missing);
        return;
    }
    const Difference& d = scene.results.comparison->difference;
    const bool stale = !scene.current;
    const VerdictWords words = verdict_words(d);
    const std::string number = stale ? "..." : words.figure;
    const ImVec2 at = ImGui::GetCursorScreenPos();
    ImGui::PushFont(look.large);
    const ImVec2 size = ImGui::CalcTextSize(number.c_str());
    ImGui::TextUnformatted(number.c_str());
    ImGui::PopFont();
    const float x = at.x + size.x + look.px(14), right = at.x + ImGui::GetContentRegionAvail().x;
    ImDrawList* list = ImGui::GetWindowDrawList();
    if (stale) {
        list->AddText(look.medium, look.medium->FontSize, {x, at.y + look.px(18)}, tone(Gray::text), "being worked out");
        quiet("The figures follow what was just changed.");
        return;
    }
    list->AddText(look.medium, look.medium->FontSize, {x, at.y - look.px(2)}, tone(Gray::text), words.range.c_str());
    ImGui::PushFont(look.medium);
    const float interval_width = ImGui::CalcTextSize(words.range.c_str()).x;
    ImGui::PopFont();
    list->AddText({x + interval_width + look.px(10), at.y + look.px(4)}, tone(Gray::quiet), "ΔE00, 95 %");
    // The verdict on a light bar: symbol and word, never color.
    const ImVec2 bar{x, at.y + look.px(29)};
    const float height = look.px(33);
    list->AddRectFilled(bar, {right, bar.y + height}, tone(Gray::chosen), look.px(3));
    list->AddText(look.medium, look.medium->FontSize, {bar.x + look.px(10), bar.y + (height - look.medium->FontSize) / 2}, tone(Gray::chosen_text),
                  words.verdict.c_str());
    ImGui::Dummy({1, look.px(4)});
    ImGui::PushFont(look.medium);
    text(words.direction);
    ImGui::PopFont();
    quiet(words.steps);
    for (const auto& [line, loud] : {std::pair{&words.reaches, true}, {&words.doubt, false}, {&words.advice, true}, {&words.beside, false}}) {
        if (!line->empty()) loud ? text(*line) : quiet(*line);
    }
}

/// One light: chip and swatch butt-joined on neutral gray, words beside them in black.
void patch_row(const Scene& scene, const Rect& row, const Lab& chip, const Lab& swatch, const std::string& name,
               const std::vector<std::string>& lines) {
    const Look& look = scene.look;
    ImDrawList* list = ImGui::GetWindowDrawList();
    const float half = std::floor(look.px(74)), gap = look.px(10), x = std::floor(row.x + gap), y = std::floor(row.y + gap / 2),
                bottom = std::floor(row.y + row.h - gap / 2);
    bool in_gamut = true;
    const unsigned left = screen_tone(chip, in_gamut), right = screen_tone(swatch, in_gamut);
    list->AddRectFilled({x, y}, {x + half, bottom}, left);
    list->AddRectFilled({x + half, y}, {x + 2 * half, bottom}, right);
    const float tx = x + 2 * half + gap, width = row.x + row.w - tx - look.px(4);
    float ty = y;
    const unsigned black = tone(gray::surround_text);
    const auto line = [&](const std::string& words) { ty += draw_wrapped(look.base, tx, ty, width, black, words); };
    line(name);
    for (const std::string& words : lines) line(words);
    if (!in_gamut) line("beyond this screen's colors");
}

float patch_height(const Look& look, const std::string& name, const std::vector<std::string>& lines, float least, float row_width) {
    const float width = row_width - 2 * std::floor(look.px(74)) - look.px(24);
    float height = wrapped_height(name, width);
    for (const std::string& words : lines) height += wrapped_height(words, width);
    return std::max(height, least) + look.px(10);
}

void patches(const Scene& scene) {
    const Look& look = scene.look;
    const Comparison& c = *scene.results.comparison;
    const float width = ImGui::GetContentRegionAvail().x;
    struct Row {
        Lab chip, swatch;
        std::string name;
        std::vector<std::string> lines;
        float height;
    };
    std::vector<Row> rows;
    const auto add = [&](const Lab& chip, const Lab& swatch, const std::string& name, std::vector<std::string> lines, float least) {
        const float height = patch_height(look, name, lines, look.px(least), width);
        rows.push_back({chip, swatch, name, std::move(lines), height});
    };
    bool first = true;
    for (const LightRung& rung : light_ladder(c)) {
        add(rung.chip, rung.swatch, rung.light + "  " + (rung.flag ? flag_mark(*rung.flag) + (" " + rung.flag_words) + ", " : "") + rung.known,
            {"ΔE00 " + rung.figure}, first ? 64 : 34);
        first = false;
    }
    float height = ImGui::GetTextLineHeight() + look.px(8);
    for (const Row& row : rows) height += row.height;
    const ImVec2 at = ImGui::GetCursorScreenPos();
    ImDrawList* list = ImGui::GetWindowDrawList();
    list->AddRectFilled({at.x, at.y}, {at.x + width, at.y + height}, tone(gray::surround));
    list->AddText({at.x + look.px(10), at.y + look.px(4)}, tone(gray::surround_text), "chip");
    list->AddText({at.x + look.px(10) + std::floor(look.px(74)), at.y + look.px(4)}, tone(gray::surround_text), "swatch");
    list->AddText({at.x + look.px(20) + 2 * std::floor(look.px(74)), at.y + look.px(4)}, tone(gray::surround_text), "under");
    float y = at.y + ImGui::GetTextLineHeight() + look.px(6);
    for (const Row& row : rows) {
        patch_row(scene, {at.x, y, width, row.height}, row.chip, row.swatch, row.name, row.lines);
        y += row.height;
    }
    ImGui::Dummy({width, height});
}

void readings(const Scene& scene) {
    if (!scene.results.chip && !scene.results.swatch) return;
    if (!ImGui::BeginTable("readings", 7, ImGuiTableFlags_SizingStretchProp | ImGuiTableFlags_BordersInnerH)) return;
    ImGui::TableSetupColumn("D50, 2°", ImGuiTableColumnFlags_WidthFixed, ImGui::CalcTextSize("D50, 2°").x);
    for (const char* name : {"L*", "a*", "b*", "C*", "h°", "LRV"}) ImGui::TableSetupColumn(name);
    ImGui::TableHeadersRow();
    for (const auto& [name, reading] : {std::pair{"Chip", &scene.results.chip}, {"Swatch", &scene.results.swatch}}) {
        if (!*reading) continue;
        const Reading& r = **reading;
        const auto sd = lab_sd(r);
        const auto polar = lch_sd(r.lab, r.lab_covariance);
        const std::array<std::pair<double, double>, 6> cells{
            {{r.lab.L, sd[0]}, {r.lab.a, sd[1]}, {r.lab.b, sd[2]}, {r.lch.C, polar[1]}, {r.lch.h, polar[2]}, {r.lrv, r.lrv_sd}}};
        ImGui::TableNextRow();
        ImGui::TableNextColumn();
        ImGui::TextUnformatted(name);
        for (std::size_t i = 0; i < cells.size(); ++i) {
            const auto& [value, spread] = cells[i];
            ImGui::TableNextColumn();
            const bool whole = i == 4;  // a hue angle's tenths mean nothing
            const bool hue_unknown = whole && !std::isfinite(spread);
            ImGui::TextUnformatted(hue_unknown ? "–" : whole ? shortest(std::round(value)).c_str() : one_decimal(value).c_str());
            const std::string under = hue_unknown ? "unkn." : whole ? "±" + shortest(std::max(1.0, std::round(spread))) : "±" + one_decimal(spread);
            ImGui::PushStyleColor(ImGuiCol_Text, tone(Gray::quiet));
            ImGui::TextUnformatted(under.c_str());
            ImGui::PopStyleColor();
        }
    }
    ImGui::EndTable();
}

/// What the monitor is sent, and the choice of another profile.
void shown_as(const Scene& scene, Outbox& out) {
    static constexpr const char *kDesktop = "the desktop's profile of the first monitor", *kNone = "none: sRGB as it is";
    const float width = ImGui::GetContentRegionAvail().x - scene.look.px(36) - ImGui::GetStyle().ItemSpacing.x;
    ImGui::AlignTextToFramePadding();
    ImGui::PushStyleColor(ImGuiCol_Text, tone(Gray::quiet));
    ImGui::TextUnformatted(fitting(scene.shown_as, width).c_str());
    ImGui::PopStyleColor();
    ImGui::SameLine(ImGui::GetCursorPosX() + width + ImGui::GetStyle().ItemSpacing.x);
    std::vector<std::string> choices{kDesktop, kNone};
    choices.insert(choices.end(), scene.profiles.begin(), scene.profiles.end());
    const auto chosen =
        choice_button(scene.look, "display", choices,
                      "The profile that your monitor was measured or delivered with. What is shown goes through it, figures do not change.");
    if (chosen) out.view.emplace_back(SetDisplay{*chosen == kDesktop ? "desktop" : *chosen == kNone ? "none" : *chosen});
}

/// A heading that opens and closes what is under it.
bool section(const Scene& scene, const std::string& title, bool open, const char* toggle, Outbox& out) {
    if (button(scene.look, (open ? "▾ " : "▸ ") + title)) out.view.emplace_back(Toggle{toggle, !open});
    return open;
}

void log(const Scene& scene) {
    const auto& done = scene.history.done();
    const auto& undone = scene.history.undone();
    for (auto step = undone.begin(); step != undone.end(); ++step) quiet("   undone: " + step->sentence);
    for (auto step = done.rbegin(); step != done.rend(); ++step) text(std::to_string(done.rend() - step) + ". " + step->sentence);
    if (done.empty() && undone.empty()) quiet("Nothing was done yet.");
}

}  // namespace

void draw_judge_panel(const Scene& scene, View& view, Outbox& out, const Rect& rect) {
    const Look& look = scene.look;
    if (view.focus_column == 2) ImGui::SetNextWindowFocus();
    begin_panel("Judging", rect);
    if (ImGui::IsWindowFocused(ImGuiFocusedFlags_ChildWindows)) view.column = 2;
    verdict_card(scene);
    if (scene.results.comparison && scene.current) patches(scene);
    shown_as(scene, out);
    readings(scene);
    if (scene.surface != nullptr) {
        for (const std::string& words : scene.surface->words) text(words);
        if (scene.surface->map) quiet("Map: the darker, the farther off; hatched beyond your tolerance.");
    }
    if (scene.results.comparison && scene.current) {
        if (view.reveal_plots > 0) {
            ImGui::SetScrollHereY(0);
            --view.reveal_plots;
        }
        if (section(scene, "Plots  P", view.show_plots, "plots", out)) {
            draw_judge_plots(scene);
        } else {
            ImGui::SameLine();
        }
    }
    (void)section(scene, "Done (" + std::to_string(scene.history.done().size()) + ")", view.show_log, "log", out);
    ImGui::SameLine();
    if (button(look, "Undo", false, 0, scene.can_undo)) out.view.emplace_back(Undo{});
    same_line_if_fits(button_width("Redo"));
    if (button(look, "Redo", false, 0, scene.history.can_redo())) out.view.emplace_back(Redo{});
    if (view.show_log) {
        log(scene);
        if (!scene.history.done().empty() && button(look, "Save as a script"))
            out.view.emplace_back(SaveScript{free_file(scene.work.photo.empty() ? scene.workbook : scene.work.photo, "done", ".script")});
        if (!scene.told.said.empty()) text("✓ " + scene.told.said);
    }
    ImGui::End();
}

}  // namespace sw::window
