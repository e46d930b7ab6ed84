// Right column beside the workbook's page: what is picked, with everything that is known of it.
#include <imgui.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "sheet/build_plan.hpp"
#include "sheet/figures.hpp"
#include "sheet/pair_words.hpp"
#include "sheet/target_words.hpp"
#include "viewer/book_parts.hpp"
#include "viewer/panels.hpp"
#include "viewer/pot_panel.hpp"
#include "viewer/shelf.hpp"
#include "viewer/widgets.hpp"
#include "workbook/nearest.hpp"
#include "workbook/reading_request.hpp"

namespace sw::window {
namespace {

/// A button whose words may be too long for the column.
bool named_button(const Look& look, const std::string& words) {
    return button(look, fitting(words, ImGui::GetContentRegionAvail().x - 2 * ImGui::GetStyle().FramePadding.x));
}

/// On a neutral surround, wide enough to be judged against.
void large_patch(const Scene& scene, const Lab& color) {
    const Look& look = scene.look;
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const float width = ImGui::GetContentRegionAvail().x, height = look.px(120), rim = look.px(14);
    bool in_gamut = true;
    const unsigned shown = screen_tone(color, in_gamut);
    ImDrawList* list = ImGui::GetWindowDrawList();
    list->AddRectFilled(at, {at.x + width, at.y + height}, tone(gray::surround));
    list->AddRectFilled({at.x + rim, at.y + rim}, {at.x + width - rim, at.y + height - rim}, shown);
    ImGui::Dummy({width, height});
    if (!in_gamut) quiet("Beyond this screen's colors: shown is the nearest.");
}

void figure_table(const std::vector<std::pair<const char*, std::string>>& figures) {
    if (!ImGui::BeginTable("figures", 2, ImGuiTableFlags_SizingStretchProp)) return;
    for (const auto& [name, value] : figures) {
        ImGui::TableNextColumn();
        ImGui::PushStyleColor(ImGuiCol_Text, tone(Gray::quiet));
        ImGui::TextUnformatted(name);
        ImGui::PopStyleColor();
        ImGui::SameLine();
        text(value);
    }
    ImGui::EndTable();
}

/// A field for another name. Filled anew when something else is picked.
std::optional<std::string> renaming(const Scene& scene, View& view, const std::string& key, const std::string& name) {
    Edits& edits = view.edits;
    if (edits.named != key + name) {
        edits.named = key + name;
        edits.name = name;
    }
    const bool another = edits.name != name && !edits.name.empty();
    const bool asked = field_with_button(scene.look, "name", edits.name, "its name", "Rename", view, another);
    return asked && edits.name != name && !edits.name.empty() ? std::optional(edits.name) : std::nullopt;
}

template <class Of>
void notes(const Scene& scene, View& view, Outbox& out, NoteOn on, const std::string& name, Of of) {
    const float cross = scene.look.px(34);
    for (const Note& note : scene.shelf.notes) {
        if (!of(note)) continue;
        ImGui::PushID(static_cast<int>(note.id));
        ImGui::BeginGroup();
        const float width = ImGui::GetContentRegionAvail().x - cross - scene.look.px(8);
        ImGui::TextUnformatted(wrapped("“" + note.text + "”", width).c_str());
        ImGui::PushStyleColor(ImGuiCol_Text, tone(Gray::quiet));
        ImGui::TextUnformatted(note.created.substr(0, 10).c_str());
        ImGui::PopStyleColor();
        ImGui::EndGroup();
        ImGui::SameLine(ImGui::GetWindowContentRegionMax().x - cross);
        if (button(scene.look, "×", false, cross)) out.commit(RemoveNote{note.id});
        ImGui::PopID();
    }
    if (field_with_button(scene.look, "note", view.edits.note, "a note", "Note it", view) && !view.edits.note.empty()) {
        out.commit(AddNote{on, name, view.edits.note});
        view.edits.note.clear();
    }
}

std::string judged_words(const KeptReading& reading) {
    return reading.de00 && reading.ci_low && reading.ci_high
               ? "ΔE00 " + figure_with_range(*reading.de00, {*reading.ci_low, *reading.ci_high}) + "  " + marked_verdict(reading.verdict)
               : std::string("not compared");
}

void of_target(const Scene& scene, View& view, Outbox& out, const Target& target) {
    const Look& look = scene.look;
    book_heading(scene, target.name);
    large_patch(scene, target.lab);
    const TargetWords words = target_words(target);
    figure_table({{"L*", words.L}, {"LRV", words.lrv}, {"a*", true_minus(words.a)}, {"C*", words.C}, {"b*", true_minus(words.b)}, {"h°", words.h}});
    quiet(words.kind + ", under " + words.conditions + ", kept " + words.day);
    if (!target.source.empty()) quiet("From: " + target.source);
    if (!target.caution.empty()) text("! " + first_capital(target.caution));
    if (target.kind == TargetKind::screen && target.caution.empty()) text("! Appearance on screen, not a measurement.");
    std::string worn;
    for (const Part& part : scene.shelf.parts) {
        if (part.target == target.id) worn += (worn.empty() ? "" : ", ") + part_path(scene.shelf.parts, part);
    }
    if (!worn.empty()) text("Worn by: " + worn);
    for (const Twins& twin : twins_of(target, scene.shelf.targets))
        text("! May be one with \"" + scene.shelf.targets[twin.one].name + "\": ΔE00 " + one_decimal(twin.de00) + " " + plus_minus(twin.sd));
    std::vector<const KeptReading*> judged;
    for (const KeptReading& reading : scene.shelf.readings) {
        if (reading.target != target.id) continue;
        if (reading.de00 && reading.ci_low && reading.ci_high) judged.push_back(&reading);
    }
    std::vector<ApproachStep> steps;  // the list is newest first
    for (auto one = judged.rbegin(); one != judged.rend(); ++one) steps.push_back({*(*one)->de00, *(*one)->ci_low, *(*one)->ci_high});
    approach_plot(scene, steps);
    for (const KeptReading* reading : judged) {
        ImGui::PushID(static_cast<int>(reading->id));
        if (named_button(look, reading->name)) {
            out.view.emplace_back(ShowList{List::readings});
            out.view.emplace_back(PickRow{std::to_string(reading->id)});
        }
        same_line_if_fits(ImGui::CalcTextSize(judged_words(*reading).c_str()).x);
        quiet(judged_words(*reading));
        ImGui::PopID();
    }
    if (const auto name = renaming(scene, view, "target ", target.name)) out.commit(RenameTarget{target.name, *name});
    notes(scene, view, out, NoteOn::target, target.name, [&](const Note& note) { return note.target == target.id; });
    if (button(look, "Remove  Delete")) out.commit(RemoveTarget{target.name});
}

void of_reading(const Scene& scene, View& view, Outbox& out, const KeptReading& reading) {
    const Look& look = scene.look;
    book_heading(scene, reading.name);
    large_patch(scene, reading.lab);
    const auto sd = lab_sd(reading.lab_covariance);
    figure_table({{"L*", one_decimal(reading.lab.L) + " " + plus_minus(sd[0])},
                  {"a*", one_decimal(reading.lab.a) + " " + plus_minus(sd[1])},
                  {"b*", one_decimal(reading.lab.b) + " " + plus_minus(sd[2])}});
    quiet("under " + reading.light + ", kept " + reading.created.substr(0, 10));
    text(judged_words(reading));
    if (const Target* target = find_target(scene.shelf, reading.target)) {
        if (named_button(look, "Target: " + target->name)) {
            out.view.emplace_back(ShowList{List::targets});
            out.view.emplace_back(PickRow{target->name});
        }
    }
    quiet("From: " + file_name(reading.photo_file) + " " + reading.region);
    for (const std::string& line : calibration_lines(reading.calibration_json)) quiet(line);
    if (!reading.photo_file.empty() && button(look, "Open its photo")) {
        out.commit(OpenPhoto{reading.photo_file});
        out.view.emplace_back(Toggle{"workbook", false});
    }
    if (scene.told.reread) {
        for (const RereadReading& again : *scene.told.reread) {
            if (again.id != reading.id) continue;
            text(again.outcome == Reread::same ? std::string("✓ Its photo still says the same.") : "! " + first_capital(again.why) + ".");
        }
    } else {
        quiet("Check, under the list, reads all photos again.");
    }
    notes(scene, view, out, NoteOn::reading, std::to_string(reading.id), [&](const Note& note) { return note.reading == reading.id; });
    if (button(look, "Remove  Delete")) out.commit(RemoveReading{reading.id});
}

void of_part(const Scene& scene, View& view, Outbox& out, const Part& part) {
    const Look& look = scene.look;
    const std::string path = part_path(scene.shelf.parts, part);
    book_heading(scene, part.name);
    if (path != part.name) quiet("in " + path.substr(0, path.size() - part.name.size() - 1));
    const Target* target = find_target(scene.shelf, part.target);
    if (target != nullptr) {
        large_patch(scene, target->lab);
        if (named_button(look, "Wears: " + target->name)) {
            out.view.emplace_back(ShowList{List::targets});
            out.view.emplace_back(PickRow{target->name});
        }
        if (button(look, "Take it off")) out.commit(SetPartTarget{path, ""});
    } else {
        text("It wears no target yet.");
    }
    if (const Target* picked = find_target(scene.shelf, view.book.target); picked != nullptr && picked != target) {
        if (named_button(look, "Let it wear " + picked->name)) out.commit(SetPartTarget{path, picked->name});
    }
    if (field_with_button(look, "part", view.edits.part, "name of a target to wear", "Wear", view) && !view.edits.part.empty()) {
        out.commit(SetPartTarget{path, view.edits.part});
        view.edits.part.clear();
    }
    quiet("How far it is:");
    bool first = true;
    for (const PartStatus status :
         {PartStatus::missing, PartStatus::target, PartStatus::mixing, PartStatus::within, PartStatus::painted, PartStatus::coated}) {
        const std::string label = part_mark(status) + (" " + status_words(status));
        if (!first) same_line_if_fits(button_width(label));
        first = false;
        if (button(look, label, part.status == status)) out.commit(SetPartStatus{path, status});
    }
    if (!part.note.empty()) quiet(part.note);
    if (const auto name = renaming(scene, view, "part ", part.name)) out.commit(RenamePart{path, *name});
    notes(scene, view, out, NoteOn::part, path, [&](const Note& note) { return note.part == part.id; });
    if (button(look, "Remove  Delete")) out.commit(RemovePart{path});
}

void of_photo(const Scene& scene, Outbox& out, const KeptPhoto& photo) {
    const Look& look = scene.look;
    book_heading(scene, file_name(photo.path));
    quiet(photo.path);
    quiet(std::to_string(photo.width) + " × " + std::to_string(photo.height) + " pixels, content " + photo.hash.substr(0, 12));
    std::string shot = photo.camera;
    const auto more = [&](const std::string& words) { shot += (shot.empty() ? "" : ", ") + words; };
    if (!photo.lens.empty()) more(photo.lens);
    if (photo.exposure_s) more(brief(*photo.exposure_s) + " s");
    if (photo.f_number) more("f/" + brief(*photo.f_number));
    if (photo.iso) more("ISO " + brief(*photo.iso));
    if (!photo.taken.empty()) more("taken " + photo.taken);
    quiet(shot.empty() ? "The file does not say how it was taken." : shot);
    std::error_code ignored;
    if (std::filesystem::exists(photo.path, ignored)) {
        if (button(look, "Open it")) {
            out.commit(OpenPhoto{photo.path});
            out.view.emplace_back(Toggle{"workbook", false});
        }
    } else {
        text("! It is no longer there. What was read from it stays; open it from where it is now, and it is known by its content.");
    }
    for (const KeptReading& reading : scene.shelf.readings) {
        if (reading.photo_hash != photo.hash) continue;
        ImGui::PushID(static_cast<int>(reading.id));
        if (named_button(look, reading.name)) {
            out.view.emplace_back(ShowList{List::readings});
            out.view.emplace_back(PickRow{std::to_string(reading.id)});
        }
        ImGui::PopID();
    }
    if (button(look, "Forget it  Delete")) out.commit(RemovePhoto{photo.hash});
}

}  // namespace

void draw_book_item(const Scene& scene, View& view, Outbox& out, const Rect& rect) {
    if (view.focus_column == 2) ImGui::SetNextWindowFocus();
    begin_panel("Picked", rect);
    if (ImGui::IsWindowFocused(ImGuiFocusedFlags_ChildWindows)) view.column = 2;
    const BookView& book = view.book;
    const Target* target = book.list == List::targets ? find_target(scene.shelf, book.target) : nullptr;
    const KeptReading* reading = book.list == List::readings ? find_reading(scene.shelf, book.reading) : nullptr;
    const Part* part = book.list == List::parts ? find_part(scene.shelf, book.part) : nullptr;
    const KeptPhoto* photo = book.list == List::photos ? find_photo(scene.shelf, book.photo) : nullptr;
    const KeptPot* pot = book.list == List::pots ? find_pot(scene.shelf, book.pot) : nullptr;
    if (photo != nullptr) of_photo(scene, out, *photo);
    if (pot != nullptr) draw_pot(scene, out, *pot);
    if (target != nullptr) of_target(scene, view, out, *target);
    if (reading != nullptr) of_reading(scene, view, out, *reading);
    if (part != nullptr) of_part(scene, view, out, *part);
    if (target == nullptr && reading == nullptr && part == nullptr && photo == nullptr && pot == nullptr) {
        book_heading(scene, "Nothing is picked");
        quiet("Click a line of the list, or go there with the arrow keys.");
    }
    ImGui::Separator();
    if (button(scene.look, "Undo", false, 0, scene.can_undo)) out.view.emplace_back(Undo{});
    same_line_if_fits(button_width("Redo"));
    if (button(scene.look, "Redo", false, 0, scene.history.can_redo())) out.view.emplace_back(Redo{});
    if (!scene.history.done().empty()) quiet("Last: " + scene.history.done().back().sentence);
    ImGui::End();
}

}  // namespace sw::window
