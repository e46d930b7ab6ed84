// The card of one target.
#include <algorithm>

#include "calibrate/screen.hpp"
#include "sheet/figures.hpp"
#include "sheet/page_parts.hpp"
#include "sheet/target_sheets.hpp"
#include "sheet/words.hpp"

namespace sw {
namespace {

constexpr double kSurroundWidth = 20;
constexpr const char* kCardCaution =
    "Wet paint and unglossed paint are not the dry, glossed color. A photo's figures are no substitute for an instrument where a contract or a "
    "safety "
    "color depends on them.";

struct CardLine {
    std::string name, value, meaning;
};

/// Name, value and meaning in three columns; returns the bottom.
double draw_figures(Pen& pen, const PageBox& box, const std::string& head, const std::vector<CardLine>& lines) {
    double y = box.y + pen.write(box.x, box.y, head, {.size = 9, .bold = true}) + 6;
    pen.line(box.x, y, box.right(), y, kInk, 0.75);
    y += 6;
    for (const CardLine& line : lines) {
        pen.write(box.x, y + 2.6, line.name, {.size = 9, .ink = kPaleInk});
        pen.write(box.x + 32, y, line.value, {.size = 12});
        const Writing small{.size = 7.5, .ink = kPaleInk};
        const double width = pen.measure(line.meaning, small).width;
        pen.write(box.right() - width, y + 3.8, line.meaning, small);
        y += 21;
        pen.line(box.x, y - 3, box.right(), y - 3, kGridInk, 0.5);
    }
    return y;
}

/// Name above value, the value wrapped; as many lines as there is room for. Returns the bottom.
double draw_origin(Pen& pen, const PageBox& box, const std::string& head, const std::vector<CardLine>& lines) {
    double y = box.y + pen.write(box.x, box.y, head, {.size = 9, .bold = true}) + 6;
    pen.line(box.x, y, box.right(), y, kInk, 0.75);
    y += 6;
    for (const CardLine& line : lines) {
        pen.write(box.x, y + 0.8, line.name, {.size = 9, .ink = kPaleInk});
        const PageBox room{box.x + 58, y, box.width - 58, std::max(12.0, std::min(62.0, box.bottom() - y))};
        const double height = pen.write(room.x, y, line.value, fitted_writing(pen, line.value, {}, room, {10, 8.5, 7}));
        y += std::max(16.0, height + 5);
        pen.line(box.x, y - 2.5, box.right(), y - 2.5, kGridInk, 0.5);
        y += 3;
    }
    return y;
}

double draw_card_patch(Pen& pen, const PageBox& around, const TargetWords& words) {
    pen.fill(around, kSurround);
    draw_patch(pen, {around.x + kSurroundWidth, around.y + kSurroundWidth, around.width - 2 * kSurroundWidth, around.height - 2 * kSurroundWidth},
               words);
    const Writing small{.size = 8, .ink = kPaleInk};
    const double y = around.bottom() + 6;
    const std::string shown = words.hex + (words.in_gamut ? " (sRGB)" : ", the nearest that sRGB has: the color lies beyond it");
    const double height = pen.write(around.x, y, shown, small);
    const bool beside = pen.measure(shown, small).width + pen.measure(kPrintNote, small).width + 20 < around.width;
    if (beside) {
        pen.write(around.right() - pen.measure(kPrintNote, small).width, y, kPrintNote, small);
        return y + height;
    }
    return y + height + 2 + pen.write(around.x, y + height + 2, kPrintNote, small);
}

/// A line in a frame; returns the bottom.
double draw_notice(Pen& pen, const PageBox& at, const std::string& bold, const std::string& text) {
    const double width = at.width - 24;
    const Writing strong{.size = 10, .bold = true, .width = width, .lines = 2}, plain{.size = 8.5, .ink = kPaleInk, .width = width, .lines = 3};
    const double first = pen.measure(bold, strong).height, height = first + 3 + pen.measure(text, plain).height + 16;
    pen.frame({at.x, at.y, at.width, height}, kInk, 0.75);
    pen.write(at.x + 12, at.y + 8, bold, strong);
    pen.write(at.x + 12, at.y + 8 + first + 3, text, plain);
    return at.y + height;
}

/// The photo in the room, with the place framed; nothing where there is too little room.
void draw_place(Pen& pen, const PageBox& room, const TargetPlace& place) {
    constexpr double kCaption = 12;
    const double height = std::min({room.height - kCaption, 150.0, room.width * place.picture.height / place.picture.width});
    if (height < 40) return;
    const PageBox box{room.x, room.y, height * place.picture.width / place.picture.height, height};
    pen.picture(box, place.picture.width, place.picture.height, place.picture.rgb);
    const PageBox mark{box.x + place.box.x * box.width, box.y + place.box.y * box.height, place.box.width * box.width, place.box.height * box.height};
    pen.frame(mark, kPaper, 2.2);
    pen.frame(mark, kDarkInk, 0.9);
    pen.write(box.x, box.bottom() + 3, "The place in the photo, as it came.", {.size = 7.5, .ink = kPaleInk});
}

void draw_card(Pen& pen, const Paper& paper, const Target& target, const std::optional<TargetPlace>& place) {
    const TargetWords words = target_words(target);
    const double left = kSheetMargin, width = paper.width - 2 * kSheetMargin;
    double y = draw_page_head(pen, paper, "Target card", words.day);
    const Writing name = fitted_writing(pen, target.name, {.bold = true}, {left, y, width, 96}, {27, 22, 18, 15, 12, 10});
    y += pen.write(left, y, target.name, name) + 3;
    y += pen.write(left, y, color_words(target.lab), {.size = 11, .ink = kPaleInk, .width = width}) + 14;
    // below the patch: some 225 for the figures, 62 for a notice, 60 more where a photo is to be seen
    const double below_patch = 225 + (target.kind == TargetKind::screen ? 62 : 0) + (place ? 60 : 0);
    const double patch = std::min(370.0, paper.height - kSheetMargin - 36 - below_patch - y);
    y = draw_card_patch(pen, {left, y, width, patch}, words) + 18;
    if (target.kind == TargetKind::screen)
        y = draw_notice(pen, {left, y, width, 0}, capitalized(kAppearance),
                        "What a film shows was lit, graded and encoded by others: the thing that was "
                        "filmed may have another color.") +
            16;

    const double gap = 30, column = (width - gap) / 2, room = paper.height - kSheetMargin - 50;
    const double end = draw_figures(pen, {left, y, column, room - y}, "The color",
                                    {{"L*", words.L, "lightness, 0 to 100"},
                                     {"a*", words.a, "green to red"},
                                     {"b*", words.b, "blue to yellow"},
                                     {"C*", words.C, "chroma"},
                                     {"h", words.h + (words.h == "unknown" ? "" : "°"), "hue angle"},
                                     {"LRV", words.lrv, "light reflectance value"}});
    pen.write(left, end + 2, "± is one standard deviation.", {.size = 7.5, .ink = kPaleInk});
    const double below = draw_origin(pen, {left + column + gap, y, column, room - y}, "Where it comes from",
                                     {{"Kind", words.kind, ""},
                                      {"Light", target.light, ""},
                                      {"Observer", target.observer == Observer::degree10 ? "CIE 10°" : "CIE 2°", ""},
                                      {"Kept on", words.day, ""},
                                      {"Source", target.source, ""}});
    const double foot = draw_page_foot(pen, paper, kCardCaution, "Swatchwright");
    if (place) draw_place(pen, {left + column + gap, below + 4, column, foot - below - 4}, *place);
}

}  // namespace

Result<Sheet> target_card(const Target& target, const Paper& paper, const std::string& path, const std::optional<TargetPlace>& place) {
    auto files = draw_pages(path, target.name, paper, 1, [&](Pen& pen, std::size_t) { draw_card(pen, paper, target, place); });
    if (!files) return files.error();
    return Sheet{*std::move(files), 1, 0};
}

}  // namespace sw
