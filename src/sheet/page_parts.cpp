#include "sheet/page_parts.hpp"

#include <algorithm>

namespace sw {
namespace {

constexpr double kFootSize = 7.5;

double inner_width(const Paper& paper) { return paper.width - 2 * kSheetMargin; }

Writing foot_writing(const Paper& paper) { return {.size = kFootSize, .ink = kPaleInk, .width = inner_width(paper) - 70, .lines = 6}; }

}  // namespace

Writing fitted_writing(Pen& pen, const std::string& text, Writing how, const PageBox& box, const std::vector<double>& sizes) {
    how.width = box.width;
    for (const double size : sizes) {
        how.size = size;
        how.lines = 1000;
        if (pen.measure(text, how).height <= box.height) return how;
    }
    how.lines = 1;
    const double line = pen.measure(text, how).height;
    how.lines = std::max(1, static_cast<int>(box.height / line));
    while (how.lines > 1 && pen.measure(text, how).height > box.height) --how.lines;
    return how;
}

double draw_page_head(Pen& pen, const Paper& paper, const std::string& left, const std::string& right) {
    const double y = kSheetMargin;
    const Writing small{.size = kFootSize, .ink = kPaleInk};
    const double height = pen.write(kSheetMargin, y, left, {.size = kFootSize, .ink = kPaleInk, .width = inner_width(paper) - 80});
    pen.write(paper.width - kSheetMargin - pen.measure(right, small).width, y, right, small);
    pen.line(kSheetMargin, y + height + 5, paper.width - kSheetMargin, y + height + 5, kGridInk, 0.75);
    return y + height + 18;
}

double page_foot_height(Pen& pen, const Paper& paper, const std::string& note) { return pen.measure(note, foot_writing(paper)).height + 16; }

double draw_page_foot(Pen& pen, const Paper& paper, const std::string& note, const std::string& right) {
    const Writing how = foot_writing(paper);
    const double top = paper.height - kSheetMargin - pen.measure(note, how).height;
    pen.line(kSheetMargin, top - 6, paper.width - kSheetMargin, top - 6, kGridInk, 0.75);
    pen.write(kSheetMargin, top, note, how);
    const Writing small{.size = kFootSize, .ink = kPaleInk};
    pen.write(paper.width - kSheetMargin - pen.measure(right, small).width, top, right, small);
    return top - 16;
}

void draw_patch(Pen& pen, const PageBox& box, const TargetWords& words) {
    if (words.in_gamut) return pen.fill(box, words.patch);
    const double cut = std::min(box.width, box.height) * 0.22;
    pen.polygon({{box.x, box.y}, {box.right() - cut, box.y}, {box.right(), box.y + cut}, {box.right(), box.bottom()}, {box.x, box.bottom()}},
                words.patch);
}

}  // namespace sw
