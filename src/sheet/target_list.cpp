// All targets on a few pages.
#include <algorithm>

#include "sheet/figures.hpp"
#include "sheet/page_parts.hpp"
#include "sheet/target_sheets.hpp"

namespace sw {
namespace {

constexpr std::size_t kAcross = 3;
constexpr double kCellGap = 20, kPatchHeight = 62;

struct ListCell {
    const Target* target;
    TargetWords words;
    double height = 0;
};

double cell_width(const Paper& paper) { return (paper.width - 2 * kSheetMargin - (kAcross - 1) * kCellGap) / kAcross; }

Writing cell_name(Pen& pen, const std::string& name, double width) {
    return fitted_writing(pen, name, {.bold = true}, {0, 0, width, 74}, {9.5, 8.5, 7.5});
}

/// Draws a cell, or only says how high it is.
double cell(Pen& pen, const PageBox& at, const ListCell& what, bool draw) {
    const TargetWords& words = what.words;
    double y = at.y;
    const auto write = [&](double x, const std::string& text, const Writing& how) {
        return draw ? pen.write(x, y, text, how) : pen.measure(text, how).height;
    };
    if (draw) draw_patch(pen, {at.x, y, at.width, kPatchHeight}, words);
    y += kPatchHeight + 5;
    y += write(at.x, what.target->name, cell_name(pen, what.target->name, at.width)) + 2;
    const Writing figure{.size = 7.5};
    const double half = at.x + at.width / 2;
    for (const auto& [left, right] : {std::pair{"L* " + words.L, "a* " + words.a}, {"LRV " + words.lrv, "b* " + words.b}}) {
        write(at.x, left, figure);
        y += write(half, right, figure) + 1;
    }
    const Writing pale{.size = 7, .ink = kPaleInk, .width = at.width, .lines = 2};
    const std::string below = words.conditions + " · " + words.kind + (words.in_gamut ? "" : " · beyond sRGB");
    y += write(at.x, below, pale);
    return y - at.y;
}

struct ListLayout {
    std::vector<ListCell> cells;
    std::vector<std::vector<std::size_t>> pages;  // first cells of the rows
    double row_height(std::size_t first) const {
        double height = 0;
        for (std::size_t i = first; i < std::min(first + kAcross, cells.size()); ++i) height = std::max(height, cells[i].height);
        return height;
    }
};

std::string list_note(bool screen) {
    return std::string(kPrintNote) + " ± is one standard deviation. A patch with a corner cut off is only the nearest that sRGB has." +
           (screen ? " Appearance on screen: not a measurement." : "");
}

double list_top(Pen& pen, const Paper& paper, const std::string& title, std::size_t count, std::size_t page, bool draw) {
    const double width = paper.width - 2 * kSheetMargin;
    double y = kSheetMargin + 27;
    if (page > 0) return y;
    const Writing head = fitted_writing(pen, title, {.bold = true}, {0, 0, width, 60}, {22, 18, 15, 12});
    const std::string below = std::to_string(count) + (count == 1 ? " target" : " targets");
    const Writing pale{.size = 10, .ink = kPaleInk};
    y += (draw ? pen.write(kSheetMargin, y, title, head) : pen.measure(title, head).height) + 2;
    return y + (draw ? pen.write(kSheetMargin, y, below, pale) : pen.measure(below, pale).height) + 16;
}

ListLayout lay_out(Pen& pen, const std::vector<Target>& targets, const std::string& title, const Paper& paper, const std::string& note) {
    ListLayout layout;
    for (const Target& target : targets) {
        ListCell made{&target, target_words(target)};
        made.height = cell(pen, {0, 0, cell_width(paper), 0}, made, false);
        layout.cells.push_back(std::move(made));
    }
    const double bottom = paper.height - kSheetMargin - page_foot_height(pen, paper, note);
    double y = bottom;
    for (std::size_t first = 0; first < layout.cells.size(); first += kAcross) {
        const double height = layout.row_height(first);
        if (layout.pages.empty() || y + height > bottom) {
            y = list_top(pen, paper, title, targets.size(), layout.pages.size(), false);
            layout.pages.emplace_back();
        }
        layout.pages.back().push_back(first);
        y += height + kCellGap;
    }
    if (layout.pages.empty()) layout.pages.emplace_back();
    return layout;
}

}  // namespace

Result<Sheet> target_list(const std::vector<Target>& targets, const std::string& title, const Paper& paper, const std::string& path) {
    const bool screen = std::any_of(targets.begin(), targets.end(), [](const Target& t) { return t.kind == TargetKind::screen; });
    const std::string note = list_note(screen);
    ListLayout layout;
    static_cast<void>(draw_picture(1, 1, [&](Pen& pen) { layout = lay_out(pen, targets, title, paper, note); }));
    const auto draw = [&](Pen& pen, std::size_t page) {
        draw_page_head(pen, paper, page == 0 ? "Targets" : title, "Swatchwright");
        double y = list_top(pen, paper, title, targets.size(), page, true);
        for (const std::size_t first : layout.pages[page]) {
            for (std::size_t i = first; i < std::min(first + kAcross, layout.cells.size()); ++i) {
                const double x = kSheetMargin + static_cast<double>(i - first) * (cell_width(paper) + kCellGap);
                cell(pen, {x, y, cell_width(paper), 0}, layout.cells[i], true);
            }
            y += layout.row_height(first) + kCellGap;
        }
        draw_page_foot(pen, paper, note, "page " + std::to_string(page + 1) + " of " + std::to_string(layout.pages.size()));
    };
    auto files = draw_pages(path, title, paper, layout.pages.size(), draw);
    if (!files) return files.error();
    return Sheet{*std::move(files), layout.pages.size(), 0};
}

}  // namespace sw
