// Middle column in place of the picture: what the workbook holds, to be looked through, searched, and brought to paper or files.
#include <imgui.h>

#include <algorithm>
#include <cmath>

#include "sheet/build_plan.hpp"
#include "sheet/pair_words.hpp"
#include "viewer/line_words.hpp"
#include "viewer/panels.hpp"
#include "viewer/shelf.hpp"
#include "viewer/widgets.hpp"

namespace sw::window {
namespace {

/// A line of the list is drawn here; text that is too long ends with dots.
class RowPen {
public:
    RowPen(const Scene& scene, const ImVec2& at, float width, float height, bool chosen)
        : look_(scene.look), list_(ImGui::GetWindowDrawList()), at_(at), right_(at.x + width), height_(height), chosen_(chosen) {}
    void patch(float x, const Lab& color) {
        const float size = height_ - look_.px(8), left = at_.x + x;
        list_->AddRectFilled({left, at_.y + look_.px(4)}, {left + size, at_.y + look_.px(4) + size}, tone(gray::surround));
        list_->AddRectFilled({left + look_.px(3), at_.y + look_.px(7)}, {left + size - look_.px(3), at_.y + look_.px(1) + size},
                             screen_tone(color, in_gamut_));
    }
    /// From x on, up to `end` (from the right).
    void words(float x, float end, int line, const std::string& text) {
        const float y =
            at_.y + (line < 0 ? (height_ - ImGui::GetTextLineHeight()) / 2 : look_.px(2) + static_cast<float>(line) * ImGui::GetTextLineHeight());
        const Gray ink = chosen_ ? Gray::chosen_text : line == 1 ? Gray::quiet : Gray::text;
        const ImVec2 from{at_.x + x, y}, to{right_ - end, y + ImGui::GetTextLineHeight()};
        if (to.x <= from.x) return;
        list_->PushClipRect(from, {to.x, to.y + look_.px(4)}, true);
        list_->AddText(from, tone(ink), fitting(text, to.x - from.x).c_str());
        list_->PopClipRect();
    }
    /// Ends at `end` from the right; returns its width.
    float words_right(float end, const std::string& text, int line = -1) {
        const float width = ImGui::CalcTextSize(text.c_str()).x;
        words(right_ - at_.x - end - width, end, line, text);
        return width;
    }

private:
    const Look& look_;
    ImDrawList* list_;
    ImVec2 at_;
    float right_, height_;
    bool chosen_, in_gamut_ = true;
};

std::string distance_words(const std::optional<Distance>& distance) {
    return distance ? "ΔE00 " + one_decimal(distance->de00) + " " + plus_minus(distance->sd) : std::string();
}

std::string lab_line(const Lab& lab, const Eigen::Matrix3d& covariance) {
    const auto sd = lab_sd(covariance);
    return "L* " + one_decimal(lab.L) + " " + plus_minus(sd[0]) + "   a* " + one_decimal(lab.a) + " " + plus_minus(sd[1]) + "   b* " +
           one_decimal(lab.b) + " " + plus_minus(sd[2]);
}

void target_row(const Scene& scene, const BookLine& line, RowPen& pen) {
    const Look& look = scene.look;
    const Target& target = scene.shelf.targets[line.place];
    const auto worn = std::count_if(scene.shelf.parts.begin(), scene.shelf.parts.end(), [&](const Part& part) { return part.target == target.id; });
    pen.patch(look.px(4), target.lab);
    const std::string right = line.distance ? distance_words(line.distance) : worn > 0 ? "worn by " + std::to_string(worn) : std::string();
    const float taken = right.empty() ? 0 : pen.words_right(look.px(10), right);
    pen.words(look.px(52), taken + look.px(20), 0, target.name);
    pen.words(look.px(52), taken + look.px(20), 1, lab_line(target.lab, target.lab_covariance));
}

void reading_row(const Scene& scene, const BookLine& line, RowPen& pen) {
    const Look& look = scene.look;
    const KeptReading& reading = scene.shelf.readings[line.place];
    const Target* target = find_target(scene.shelf, reading.target);
    pen.patch(look.px(4), reading.lab);
    const std::string right = line.distance ? distance_words(line.distance) : marked_verdict(reading.verdict);
    const float taken = right.empty() ? 0 : pen.words_right(look.px(10), right);
    pen.words(look.px(52), taken + look.px(20), 0, reading.name + (target != nullptr && target->name != reading.name ? "  of  " + target->name : ""));
    const bool judged = reading.de00 && reading.ci_low && reading.ci_high;
    pen.words(
        look.px(52), taken + look.px(20), 1,
        (judged ? "ΔE00 " + figure_with_range(*reading.de00, {*reading.ci_low, *reading.ci_high}) : lab_line(reading.lab, reading.lab_covariance)) +
            "   " + reading.created.substr(0, 10));
}

void part_row(const Scene& scene, const BookLine& line, RowPen& pen) {
    const Look& look = scene.look;
    const Part& part = scene.shelf.parts[line.place];
    const Target* target = find_target(scene.shelf, part.target);
    const float x = look.px(4 + 26 * static_cast<float>(std::min(line.depth, 8)));
    if (target != nullptr) pen.patch(x, target->lab);
    const float taken = pen.words_right(look.px(10), part_mark(part.status) + (" " + status_words(part.status)));
    pen.words(x + look.px(48), taken + look.px(20), target != nullptr ? 0 : -1, part.name);
    if (target != nullptr) pen.words(x + look.px(48), taken + look.px(20), 1, target->name);
}

void photo_row(const Scene& scene, const BookLine& line, RowPen& pen) {
    const Look& look = scene.look;
    const KeptPhoto& photo = scene.shelf.photos[line.place];
    const auto read = std::count_if(scene.shelf.readings.begin(), scene.shelf.readings.end(),
                                    [&](const KeptReading& reading) { return reading.photo_hash == photo.hash; });
    const std::string right = std::to_string(read) + (read == 1 ? " reading" : " readings");
    const float taken = pen.words_right(look.px(10), right);
    pen.words(look.px(10), taken + look.px(20), 0, file_name(photo.path));
    pen.words(look.px(10), taken + look.px(20), 1,
              std::to_string(photo.width) + " × " + std::to_string(photo.height) + (photo.camera.empty() ? "" : "   " + photo.camera) + "   " +
                  (photo.taken.empty() ? "kept " + photo.created.substr(0, 10) : "taken " + photo.taken));
}

void pot_row(const Scene& scene, const BookLine& line, RowPen& pen) {
    const Look& look = scene.look;
    const MixBook& book = *scene.shelf.mix;
    const KeptPot& pot = book.pots[line.place];
    const Target* target = pot.target ? book.target(*pot.target) : nullptr;
    if (target != nullptr) pen.patch(look.px(4), target->lab);
    const auto judged = judged_readings(book, pot.id);
    const std::string right = judged.empty() ? "not read yet" : marked_verdict(judged.back()->verdict);
    const float taken = pen.words_right(look.px(10), right);
    pen.words(look.px(52), taken + look.px(20), 0, pot.name + (target != nullptr ? "  for  " + target->name : ""));
    const std::string content = content_words(book, pot.id);
    pen.words(look.px(52), taken + look.px(20), 1, content.empty() ? "empty" : content);
}

void rows(const Scene& scene, View& view) {
    const Look& look = scene.look;
    BookView& book = view.book;
    const float height = std::max(look.px(44), 2 * ImGui::GetTextLineHeight() + look.px(4));
    if (book.reveal > 0) {
        --book.reveal;
        for (std::size_t i = 0; i < scene.lines.size() && book.picked(); ++i) {
            if (book.picked() != id_of(scene.shelf, book.list, scene.lines[i])) continue;
            const float top = static_cast<float>(i) * height, seen = ImGui::GetScrollY(), shown = ImGui::GetWindowHeight();
            if (top < seen || top + height > seen + shown) ImGui::SetScrollY(std::max(0.0F, top - (shown - height) / 2));
        }
    }
    ImGuiListClipper clipper;
    clipper.Begin(static_cast<int>(scene.lines.size()), height);
    while (clipper.Step()) {
        for (int i = clipper.DisplayStart; i < clipper.DisplayEnd; ++i) {
            const BookLine& line = scene.lines[static_cast<std::size_t>(i)];
            const std::int64_t id = id_of(scene.shelf, book.list, line);
            const bool chosen = book.picked() == id;
            ImGui::PushID(static_cast<int>(id));
            const ImVec2 at = ImGui::GetCursorScreenPos();
            const float width = ImGui::GetContentRegionAvail().x;
            if (ImGui::InvisibleButton("row", {width, height})) book.picked() = id;
            const Gray ground = chosen ? Gray::chosen : ImGui::IsItemHovered() ? Gray::hovered : i % 2 == 0 ? Gray::field : Gray::ground;
            ImGui::GetWindowDrawList()->AddRectFilled(at, {at.x + width, at.y + height}, tone(ground));
            RowPen pen(scene, at, width, height, chosen);
            if (book.list == List::targets) target_row(scene, line, pen);
            if (book.list == List::parts) part_row(scene, line, pen);
            if (book.list == List::readings) reading_row(scene, line, pen);
            if (book.list == List::photos) photo_row(scene, line, pen);
            if (book.list == List::pots) pot_row(scene, line, pen);
            ImGui::PopID();
        }
    }
}

std::string empty_words(const BookView& book) {
    if (!book.find.empty()) return "Nothing is found. Esc shows everything again.";
    switch (book.list) {
        case List::targets:
            return "No target yet. Mark a chip in the picture and press K, or type one below: a name and L*, a*, b* as published.";
        case List::parts:
            return "No part yet. Type the model's name below; then pick it, and add its parts in it. Each part can wear a target.";
        case List::photos:
            return "No photo on record yet. One comes here when something that was read from it is kept.";
        case List::pots:
            return "No pot yet. Pick the target it is to become among the targets, come back, and type a name for the pot below. Paints come by "
                   "import of a shelf, or by the command paint add.";
        case List::readings:
            break;
    }
    return "No reading yet. Mark a swatch in the picture and press R.";
}

void tabs(const Scene& scene, View& view, Outbox& out) {
    const Look& look = scene.look;
    for (const auto& [list, name, count] :
         {std::tuple{List::targets, "Targets", scene.shelf.targets.size()}, std::tuple{List::parts, "Parts", scene.shelf.parts.size()},
          std::tuple{List::readings, "Readings", scene.shelf.readings.size()}, std::tuple{List::photos, "Photos", scene.shelf.photos.size()},
          std::tuple{List::pots, "Pots", scene.shelf.mix ? scene.shelf.mix->pots.size() : 0}}) {
        const std::string label = name + (" " + std::to_string(count));
        if (list != List::targets) same_line_if_fits(button_width(label));
        if (button(look, label + "##" + name, view.book.list == list)) out.view.emplace_back(ShowList{list});
    }
    const std::string picture = "Picture  F7";
    same_line_if_fits(button_width(picture));
    if (button(look, picture)) out.view.emplace_back(Toggle{"workbook", false});
}

void finding(const Scene& scene, View& view, Outbox& out) {
    const Look& look = scene.look;
    const std::string order = "By " + to_word(view.book.order) + "  O";
    const bool ordered = view.book.list != List::parts && view.book.find.empty();
    const float spacing = ImGui::GetStyle().ItemSpacing.x;
    const float width = ImGui::GetContentRegionAvail().x - look.px(36) - spacing - (ordered ? button_width(order) + spacing : 0);
    const Edited find = text_field("find", view.edits.find, "find: words, or near 45,10,-20   Ctrl+F", width, view);
    if (find.left) out.view.emplace_back(FindText{view.edits.find});
    ImGui::SameLine();
    const std::vector<std::string> examples{"near chip",      "near swatch",     "near chip within 1",
                                            "verdict within", "verdict outside", "verdict unresolved"};
    if (const auto chosen = choice_button(look, "finds", examples,
                                          "Words, or beginnings of words, in names and notes; a color and how far from it; a part and what is in it "
                                          "(part \"Car no. 2\"); a verdict; a day (since 2031-05-06). All that is given must hold."))
        out.view.emplace_back(FindText{*chosen});
    if (!ordered) return;
    ImGui::SameLine();
    if (button(look, order)) out.view.emplace_back(PressKey{"o"});
}

/// A new target or part.
void adding(const Scene& scene, View& view, Outbox& out) {
    const Look& look = scene.look;
    std::string& fresh = view.edits.fresh;
    const BookView& book = view.book;
    if (book.list == List::readings || book.list == List::photos) return;
    const Part* parent = book.list == List::parts ? find_part(scene.shelf, book.part) : nullptr;
    const std::string label = book.list == List::pots      ? "Start pot"
                              : book.list == List::targets ? "Add target"
                              : parent != nullptr          ? "Add in it"
                                                           : "Add part";
    const std::string outside = "Add project";
    const float spacing = ImGui::GetStyle().ItemSpacing.x;
    const float width = ImGui::GetContentRegionAvail().x - button_width(label) - spacing - (parent != nullptr ? button_width(outside) + spacing : 0);
    const Edited typed =
        text_field("fresh", fresh,
                   book.list == List::pots ? (find_target(scene.shelf, book.target) != nullptr ? "name of a new pot for the target that is picked"
                                                                                               : "pick a target first, among the targets")
                   : book.list == List::targets ? "new: name 32.5,20.8,-12.7"
                   : parent != nullptr          ? "new part"
                                                : "new: the model's name",
                   width, view);
    ImGui::SameLine();
    const bool add = button(look, label) || typed.entered;
    bool add_outside = false;
    if (parent != nullptr) {
        ImGui::SameLine();
        add_outside = button(look, outside);
    }
    if ((!add && !add_outside) || fresh.empty()) return;
    if (book.list == List::pots) {
        const Target* target = find_target(scene.shelf, book.target);
        out.commit(StartPot{fresh, target != nullptr ? target->name : ""});
        fresh.clear();
        return;
    }
    if (book.list == List::targets) {
        const std::size_t blank = fresh.find_last_of(" \t");
        const Result<Command> command =
            parse_command(blank == std::string::npos ? "add-target" : "add-target " + quoted(fresh.substr(0, blank)) + fresh.substr(blank));
        if (command) {
            out.commit(*command);
            fresh.clear();
        } else {
            out.refuse(command.error());
        }
        return;
    }
    out.commit(AddPart{fresh, parent != nullptr && !add_outside ? part_path(scene.shelf.parts, *parent) : ""});
    fresh.clear();
}

/// The target that is picked, or that what is picked wears or was judged against.
const Target* picked_target(const Scene& scene, const BookView& book) {
    if (book.list == List::targets) return find_target(scene.shelf, book.target);
    const Part* part = book.list == List::parts ? find_part(scene.shelf, book.part) : nullptr;
    const KeptReading* reading = book.list == List::readings ? find_reading(scene.shelf, book.reading) : nullptr;
    return find_target(scene.shelf, part != nullptr ? part->target : reading != nullptr ? reading->target : std::nullopt);
}

void files(const Scene& scene, View& view, Outbox& out) {
    const Look& look = scene.look;
    std::string& file = view.edits.file;
    text_field("file", file, "file for what follows; empty: beside the workbook", 0, view);
    const auto place = [&](const std::string& stem, const std::string& ending) {
        return file.empty() ? free_file(scene.workbook, stem, ending) : file;
    };
    const auto job = [&](const std::string& label, bool enabled, const auto& make) {
        if (label != "Card" && label != "Export") same_line_if_fits(button_width(label));
        if (!button(look, label, false, 0, enabled && !scene.working)) return;
        out.view.emplace_back(FileJob(make()));
        file.clear();
    };
    const Target* target = picked_target(scene, view.book);
    const Part* part = view.book.list == List::parts ? find_part(scene.shelf, view.book.part) : nullptr;
    std::vector<std::string> found;  // of a list that was searched: the sheet shows these
    if (!view.book.find.empty() && view.book.list == List::targets) {
        for (const BookLine& line : scene.lines) found.push_back(scene.shelf.targets[line.place].name);
    }
    const bool targets = !scene.shelf.targets.empty();
    ImGui::AlignTextToFramePadding();
    quiet("On paper:");
    ImGui::SameLine();
    if (const KeptPot* pot = view.book.list == List::pots ? find_pot(scene.shelf, view.book.pot) : nullptr; pot != nullptr) {
        job("Card", true, [&] { return DrawSheet{SheetKind::mix, place("recipe", ".pdf"), {pot->name}}; });
    } else {
        job("Card", target != nullptr, [&] { return DrawSheet{SheetKind::target, place("card", ".pdf"), {target->name}}; });
    }
    job("List", targets, [&] { return DrawSheet{SheetKind::targets, place("targets", ".pdf"), found}; });
    job("Labels", targets, [&] { return DrawSheet{SheetKind::labels, place("labels", ".pdf"), found}; });
    job("Build plan", !scene.shelf.parts.empty(), [&] {
        return DrawSheet{SheetKind::build, place("build", ".pdf"),
                         part != nullptr ? std::vector{part_path(scene.shelf.parts, *part)} : std::vector<std::string>()};
    });
    const std::string paper = view.book.letter ? "Letter" : "A4";
    same_line_if_fits(button_width(paper));
    if (button(look, paper)) out.view.emplace_back(Toggle{"letter", !view.book.letter});
    ImGui::AlignTextToFramePadding();
    quiet("As files:");
    ImGui::SameLine();
    job("Export", true, [&] { return ExportTo{place("workbook", ".json")}; });
    job("Import", !file.empty(), [&] { return ImportFrom{file}; });
    job("Share", targets, [&] { return ShareTo{place("colors", ".zip")}; });
    job("Check", true, [&] { return VerifyBook{}; });
    if (!scene.told.said.empty()) text("✓ " + scene.told.said);
    const std::size_t most = 6;
    for (std::size_t i = 0; i < std::min(most, scene.told.notes.size()); ++i) quiet("  " + scene.told.notes[i]);
    if (scene.told.notes.size() > most) quiet("  and " + std::to_string(scene.told.notes.size() - most) + " more");
}

}  // namespace

void draw_book_panel(const Scene& scene, View& view, Outbox& out, const Rect& rect) {
    if (view.focus_column == 1) ImGui::SetNextWindowFocus();
    begin_panel("Workbook", rect, ImGuiWindowFlags_NoNavInputs);
    const bool focused = ImGui::IsWindowFocused(ImGuiFocusedFlags_ChildWindows);
    view.picture_focused = focused && !ImGui::IsAnyItemActive();  // arrows are for the list
    if (focused) view.column = 1;
    const ImVec2 top_left = ImGui::GetCursorScreenPos();
    const float card = message_card(scene, out, {rect.x, top_left.y - scene.look.px(12), rect.w, rect.h});
    ImGui::SetCursorScreenPos({top_left.x, top_left.y + card});
    if (scene.workbook.empty()) {
        text("No workbook is open: see the message from the start, then open the program with --workbook FILE.");
        ImGui::End();
        return;
    }
    tabs(scene, view, out);
    finding(scene, view, out);
    // What is under the list takes what it took in the last frame.
    const float below = view.book_below > 0 ? view.book_below : scene.look.px(160);
    const float height = std::max(scene.look.px(100), ImGui::GetContentRegionAvail().y - below);
    ImGui::PushStyleColor(ImGuiCol_ChildBg, tone(Gray::field));
    ImGui::BeginChild("list", {0, height}, false, ImGuiWindowFlags_NoNavInputs);
    if (scene.lines.empty()) {
        quiet(empty_words(view.book));
    } else {
        ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, ImVec2(0, 0));
        rows(scene, view);
        ImGui::PopStyleVar();
    }
    ImGui::EndChild();
    ImGui::PopStyleColor();
    const float top = ImGui::GetCursorPosY();
    adding(scene, view, out);
    files(scene, view, out);
    view.book_below = ImGui::GetCursorPosY() - top + ImGui::GetStyle().ItemSpacing.y;
    ImGui::End();
}

}  // namespace sw::window
