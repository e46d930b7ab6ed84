// Left column: the work path, five steps, each with its state in a line; the open one shows its controls.
#include <imgui.h>

#include <algorithm>

#include "sheet/figures.hpp"
#include "viewer/panels.hpp"
#include "viewer/widgets.hpp"

namespace sw::window {
namespace {

const std::vector<std::string>& light_choices() {
    static const std::vector<std::string> all = [] {
        std::vector<std::string> names{"led:6500,ra=80", "led:4000,ra=80", "led:2700,ra=90",
                                       "daylight:5600",  "planck:2850",    "0.7*led:6500,ra=80+0.3*D65"};
        const std::vector<std::string>& standard = standard_light_names();
        names.insert(names.end(), standard.begin(), standard.end());
        return names;
    }();
    return all;
}

constexpr const char* kLightNote =
    "A LED lamp: led: and what is printed on its box, the color temperature and Ra. Daylight and hot filaments by color temperature. "
    "A blend: shares with + between. Or the path of a CSV file. Names as CIE has them:";

/// The step's head: number, title, mark. True when it is pressed.
bool head(const Scene& scene, const View& view, int step, const StepState& state, bool next) {
    const Look& look = scene.look;
    const bool open = view.open_step == step;
    ImGui::PushStyleColor(ImGuiCol_Button, tone(open ? Gray::chosen : Gray::button));
    ImGui::PushStyleColor(ImGuiCol_ButtonHovered, tone(open ? Gray::chosen : Gray::hovered));
    ImGui::PushStyleColor(ImGuiCol_ButtonActive, tone(open ? Gray::chosen : Gray::active));
    ImGui::PushID(step);
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const float width = ImGui::GetContentRegionAvail().x, height = look.px(34);
    const bool pressed = ImGui::Button("##step", {width, height});
    ImGui::PopID();
    ImGui::PopStyleColor(3);
    ImDrawList* list = ImGui::GetWindowDrawList();
    const unsigned color = tone(open ? Gray::chosen_text : Gray::text);
    const float y = at.y + (height - ImGui::GetTextLineHeight()) / 2;
    const std::string title = std::to_string(step) + "   " + kStepTitles[static_cast<std::size_t>(step - 1)];
    list->AddText({at.x + look.px(10), y}, color, title.c_str());
    const std::string mark = state.trouble ? "! look here" : !state.mark.empty() ? state.mark : state.done ? "✓" : next ? "→ next" : "";
    list->AddText({at.x + width - look.px(10) - ImGui::CalcTextSize(mark.c_str()).x, y}, color, mark.c_str());
    return pressed;
}

void photo_step(const Scene& scene, View& view, Outbox& out) {
    const Look& look = scene.look;
    if (field_with_button(look, "path", view.edits.path, "path of a photo", "Open", view)) out.commit(OpenPhoto{view.edits.path});
    if (scene.photo_changed) {
        text("! The file has changed since it was read.");
        if (button(look, "Read again  Ctrl+R")) out.view.emplace_back(PressKey{"ctrl+r"});
    }
    if (scene.can_browse) {
        if (button(look, "Choose …  Ctrl+Shift+O")) out.view.emplace_back(PressKey{"ctrl+shift+o"});
    }
    if (button(look, "Folder  F4", view.show_strip)) out.view.emplace_back(Toggle{"strip", !view.show_strip});
    if (!scene.recent.empty()) {
        const std::string label = "Recent";
        same_line_if_fits(button_width(label));
        if (const auto chosen = choice_button(look, "recent", scene.recent, "Opened before, the last one first:", label))
            out.commit(OpenPhoto{*chosen});
    }
    quiet("or drop a file on the window");
    if (scene.results.photo_error) text(scene.results.photo_error->remedy);
    if (scene.results.photo) {
        const Photo& photo = *scene.results.photo;
        quiet(std::to_string(photo.width) + " × " + std::to_string(photo.height) + ", " + std::to_string(photo.bits) + " bits, " + photo.encoding);
        label("Encoding " + transfer_text(scene.work.transfer));
        same_line_if_fits(look.px(36));
        const auto choice = choice_button(look, "transfer", {"auto", "srgb", "linear", "bt1886", "gamma:2.2"},
                                          "How the picture's values are encoded where the file does not say so. Screen grabs of video: bt1886.");
        if (choice) {
            if (const Result<Transfer> transfer = parse_transfer(*choice)) out.commit(SetTransfer{*transfer});
        }
        for (const std::string& note : photo.notes) quiet(note);
    }
}

void white_step(const Scene& scene, View& view, Outbox& out) {
    const Look& look = scene.look;
    const Work& work = scene.work;
    const auto tool = [&](const std::string& label, Mark mark) {
        if (button(look, label, view.tool == mark)) out.view.emplace_back(PickTool{view.tool == mark ? Mark::none : mark});
    };
    tool("Gray card  G", Mark::gray);
    same_line_if_fits(ImGui::CalcTextSize("LRV").x + look.px(60));
    label("LRV");
    ImGui::SameLine();
    const Edited lrv = text_field("lrv", view.edits.lrv, "18", 0, view);
    if (lrv.left && !work.references.grays.empty()) {
        if (const Result<Command> command = parse_command("lrv " + view.edits.lrv)) {
            out.commit(*command);
        } else {
            out.commit(SetLrv{-1});  // refused with a message that says what an LRV is
        }
    }
    tool("Chart  H", Mark::chart);
    same_line_if_fits(button_width("Find  Shift+H"));
    if (button(look, "Find  Shift+H")) out.commit(FindChart{});
    label("Lit by");
    ImGui::SameLine();
    const Edited lit =
        text_field("lit-by", view.edits.lit_by, "unknown", ImGui::GetContentRegionAvail().x - look.px(36) - ImGui::GetStyle().ItemSpacing.x, view);
    if (lit.left) out.commit(SetLitBy{view.edits.lit_by == "unknown" ? "" : view.edits.lit_by});
    ImGui::SameLine();
    std::vector<std::string> choices{"unknown"};
    for (const Lamp& lamp : scene.shelf.lamps) choices.push_back(lamp.name);
    choices.insert(choices.end(), light_choices().begin(), light_choices().end());
    if (const auto choice = choice_button(look, "lights", choices, kLightNote)) out.commit(SetLitBy{*choice == "unknown" ? "" : *choice});
    if (!work.lit_by.empty() && !scene.workbook.empty()) {
        const auto own = std::find_if(scene.shelf.lamps.begin(), scene.shelf.lamps.end(), [&](const Lamp& lamp) { return lamp.name == work.lit_by; });
        if (own == scene.shelf.lamps.end()) {
            if (field_with_button(look, "lamp", view.edits.lamp, "a name for this lamp", "Name it", view) && !view.edits.lamp.empty()) {
                out.commit(AddLamp{view.edits.lamp});
                view.edits.lamp.clear();
            }
        } else {
            quiet("Your lamp: " + (own->light.empty() ? "a measured spectrum" : own->light));
        }
    }
    tool("Known  D", Mark::known);
    same_line_if_fits(look.px(110));
    text_field("known", view.edits.known, "name L,a,b", 0, view);
    const Results& results = scene.results;
    if (results.calibration_error) text(results.calibration_error->remedy);
    if (results.calibration) {
        const Calibration& c = *results.calibration;
        const LeaveOneOut& loo = c.loo;
        const bool references = work.references.grays.size() + work.references.known.size() > 0 || work.references.chart.mode != ChartMode::none;
        if (references && !c.grade.empty()) text(first_capital(c.grade));
        if (references)
            quiet("Checked by leaving references out: " +
                  (loo.mean ? "ΔE00 " + one_decimal(*loo.mean) + (loo.p95 ? ", 95 % below " + one_decimal(*loo.p95) : "")
                            : std::string("unknown, too few")));
        for (const std::string& warning : c.warnings) text("! " + first_capital(warning));
    }
}

void figures(const Scene& scene, const std::string& name, const std::optional<Reading>& reading, bool marked) {
    if (!marked) return quiet(name + ": not marked");
    if (!reading) return quiet(name + (scene.busy ? ": being measured" : ": no reading"));
    const auto sd = lab_sd(*reading);
    text(name + ": L* " + one_decimal(reading->lab.L) + " " + plus_minus(sd[0]) + ", a* " + one_decimal(reading->lab.a) + " " + plus_minus(sd[1]) +
         ", b* " + one_decimal(reading->lab.b) + " " + plus_minus(sd[2]) + ", LRV " + one_decimal(reading->lrv) + " " + plus_minus(reading->lrv_sd));
    for (const std::string& warning : reading->warnings) text("! " + warning);
}

void samples_step(const Scene& scene, View& view, Outbox& out) {
    const Look& look = scene.look;
    for (const auto& [label, mark] : {std::pair{"Chip  C", Mark::chip}, {"Swatch  S", Mark::swatch}}) {
        if (button(look, label, view.tool == mark)) out.view.emplace_back(PickTool{view.tool == mark ? Mark::none : mark});
        if (mark == Mark::chip) same_line_if_fits(button_width("Swatch  S"));
    }
    const std::string shape = view.ellipse ? "Ellipse  E" : "Box  E";
    same_line_if_fits(button_width(shape));
    if (button(look, shape)) out.view.emplace_back(Toggle{"ellipse", !view.ellipse});
    if (scene.work.chip || scene.work.swatch) {
        same_line_if_fits(button_width("Flat part  U"));
        if (button(look, "Flat part  U")) out.view.emplace_back(PressKey{"u"});
    }
    if (scene.results.match_error) text(scene.results.match_error->remedy);
    figures(scene, "Chip", scene.results.chip, scene.work.chip.has_value());
    figures(scene, "Swatch", scene.results.swatch, scene.work.swatch.has_value());
    quiet("stated under D50, 2°");
}

void match_step(const Scene& scene, View& view, Outbox& out) {
    const Look& look = scene.look;
    label("Tolerance ΔE00");
    same_line_if_fits(look.px(60));
    const Edited tolerance = text_field("tolerance", view.edits.tolerance, "2", 0, view);
    if (tolerance.left) {
        if (const Result<Command> command = parse_command("tolerance " + view.edits.tolerance)) {
            out.commit(*command);
        } else {
            out.commit(SetTolerance{0});  // refused with a message that says what would do
        }
    }
    const std::string surface = scene.work.textured ? "Textured  X" : "Smooth  X";
    same_line_if_fits(button_width(surface));
    if (button(look, surface)) out.commit(SetTextured{!scene.work.textured});
    for (std::size_t i = 0; i < kThresholds.size(); ++i) {
        const auto& [name, de00] = kThresholds[i];
        const std::string label = brief(de00) + " " + name;
        if (i > 0) same_line_if_fits(button_width(label));
        if (button(look, label, scene.work.tolerance == de00)) out.commit(SetTolerance{de00});
    }
    quiet("Judged under these lights:");
    for (std::size_t i = 0; i < scene.work.lights.size(); ++i) {
        const std::string& name = scene.work.lights[i];
        ImGui::PushID(static_cast<int>(i));
        if (i > 0) same_line_if_fits(button_width(name + "  ×"));
        if (button(look, name + "  ×")) out.commit(RemoveLight{name});
        ImGui::PopID();
    }
    const float field = ImGui::GetContentRegionAvail().x - look.px(36) - ImGui::GetStyle().ItemSpacing.x;
    const Edited added = text_field("light", view.edits.light, "another light", field, view);
    if (added.entered && !view.edits.light.empty()) {
        out.commit(AddLight{view.edits.light});
        view.edits.light.clear();
    }
    ImGui::SameLine();
    if (const auto choice = choice_button(look, "add", light_choices(), kLightNote)) out.commit(AddLight{*choice});
    if (scene.results.comparison && scene.current) {
        if (button(look, "Save ladder  Ctrl+L")) out.view.emplace_back(SaveLadder{});
        if (!view.saved_ladder.empty()) quiet("Saved: " + view.saved_ladder);
        for (const std::string& note : scene.results.comparison->notes) quiet(note);
    }
}

void keep_step(const Scene& scene, View& view, Outbox& out) {
    const Look& look = scene.look;
    quiet("The chip, as a target:");
    const Edited target = text_field("target", view.edits.target, "its name",
                                     ImGui::GetContentRegionAvail().x - button_width("Keep  Ctrl+S") - ImGui::GetStyle().ItemSpacing.x, view);
    if (view.edits.target_saved && !ImGui::IsItemActive()) {
        view.edits.target.clear();
        view.edits.target_saved = false;
    }
    ImGui::SameLine();
    if (button(look, "Keep  Ctrl+S##target") || target.entered) out.view.emplace_back(PressKey{"ctrl+s"});
    quiet("The swatch, as a reading:");
    if (field_with_button(look, "reading", view.edits.reading, "like: mix 3, pot B", "Keep##reading", view)) {
        out.commit(SaveReading{view.edits.reading});
        if (!view.edits.reading.empty() && scene.results.swatch) view.edits.reading.clear();
    }
    if (scene.workbook.empty()) {
        text("! No workbook is open: nothing can be kept.");
    } else {
        const std::string count = std::to_string(scene.shelf.targets.size() + scene.shelf.readings.size());
        if (button(look, "Workbook (" + count + ")  F7", view.page == Page::workbook))
            out.view.emplace_back(Toggle{"workbook", view.page != Page::workbook});
        quiet(file_name(scene.workbook));
        const auto& done = scene.history.done();
        if (!done.empty() && done.back().change != 0) text("✓ " + done.back().sentence);
    }
}

}  // namespace

void draw_path_panel(const Scene& scene, View& view, Outbox& out, const Rect& rect) {
    if (view.focus_column == 0) ImGui::SetNextWindowFocus();
    begin_panel("Work path", rect);
    if (ImGui::IsWindowFocused(ImGuiFocusedFlags_ChildWindows)) view.column = 0;
    const int next = next_step(scene.work, scene.results);
    float taken = 0;
    int open_next = view.open_step;  // from the next frame on: the heights of this one belong together
    for (int step = 1; step <= 5; ++step) {
        const StepState state = step_state(step, scene.work, scene.results, scene.shelf);
        if (head(scene, view, step, state, step == next && !state.done)) open_next = step;
        quiet(state.line);
        if (view.open_step != step) continue;
        // All five heads stay in sight: what the open step holds scrolls by itself where there is no room for it.
        ImGui::PushID(step + 100);
        const float room = std::max(scene.look.px(120), rect.h - 2 * ImGui::GetStyle().WindowPadding.y - view.heads_height);
        const float height = std::min(std::max(view.open_height, scene.look.px(40)), room);
        taken = height;
        ImGui::BeginChild("open", {0, height}, false, ImGuiWindowFlags_NavFlattened);
        switch (step) {
            case 1:
                photo_step(scene, view, out);
                break;
            case 2:
                white_step(scene, view, out);
                break;
            case 3:
                samples_step(scene, view, out);
                break;
            case 4:
                match_step(scene, view, out);
                break;
            case 5:
                keep_step(scene, view, out);
                break;
            default:
                break;
        }
        if (ImGui::IsWindowFocused()) view.column = 0;
        view.open_height = ImGui::GetCursorPosY();
        ImGui::EndChild();
        ImGui::PopID();
    }
    if (open_next != view.open_step) view.open_step = open_next;
    view.heads_height = ImGui::GetCursorPosY() - ImGui::GetStyle().WindowPadding.y - taken;
    ImGui::End();
}

}  // namespace sw::window
