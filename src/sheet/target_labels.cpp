// Labels to cut out.
#include <cairo.h>

#include <algorithm>
#include <array>

#include "sheet/page_parts.hpp"
#include "sheet/target_sheets.hpp"

namespace sw {
namespace {

constexpr std::size_t kLabelsAcross = 3;
constexpr double kLabelHeight = 26 * 72 / 25.4;  // 26 mm
constexpr double kLabelPatch = 50, kLabelInset = 6;
constexpr const char* kLabelNote =
    "Cut along the dashed lines. A print is not the color: the patch tells labels apart, the figures tell the color. ± is one standard deviation.";

void draw_cut(Pen& pen, double x0, double y0, double x1, double y1) {
    constexpr std::array<double, 2> dashes{3, 3};
    cairo_set_dash(pen.to(), dashes.data(), 2, 0);
    pen.line(x0, y0, x1, y1, kPaleInk, 0.5);
    cairo_set_dash(pen.to(), nullptr, 0, 0);
}

void draw_label(Pen& pen, const PageBox& box, const Target& target) {
    const TargetWords words = target_words(target);
    draw_patch(pen, {box.x + kLabelInset, box.y + kLabelInset, kLabelPatch, box.height - 2 * kLabelInset}, words);
    const double x = box.x + 2 * kLabelInset + kLabelPatch, width = box.right() - kLabelInset - x;
    const Writing figure{.size = 6}, pale{.size = 5.5, .ink = kPaleInk, .width = width, .lines = 2};
    const std::string below = words.conditions + " · " + words.kind + (words.in_gamut ? "" : " · beyond sRGB");
    const double line = pen.measure("L*", figure).height, last = pen.measure(below, pale).height;
    double y = box.bottom() - kLabelInset - last - 2 * line - 2;
    const PageBox room{x, box.y + kLabelInset - 1, width, y - box.y - kLabelInset - 2};
    pen.write(x, room.y, target.name, fitted_writing(pen, target.name, {.bold = true}, room, {10, 8.5, 7, 6, 5, 4.2}));
    for (const auto& [left, right] : {std::pair{"L* " + words.L, "a* " + words.a}, {"LRV " + words.lrv, "b* " + words.b}}) {
        pen.write(x, y, left, figure);
        pen.write(x + 0.54 * width, y, right, figure);
        y += line + 1;
    }
    pen.write(x, y, below, pale);
}

}  // namespace

Result<Sheet> target_labels(const std::vector<Target>& targets, const Paper& paper, const std::string& path) {
    double foot = 0;
    static_cast<void>(draw_picture(1, 1, [&](Pen& pen) { foot = page_foot_height(pen, paper, kLabelNote); }));
    const double top = kSheetMargin + 27, width = (paper.width - 2 * kSheetMargin) / kLabelsAcross;
    const auto down = static_cast<std::size_t>((paper.height - kSheetMargin - foot - top) / kLabelHeight);
    const std::size_t each = down * kLabelsAcross, pages = std::max<std::size_t>(1, (targets.size() + each - 1) / each);
    const auto draw = [&](Pen& pen, std::size_t page) {
        draw_page_head(pen, paper, "Swatch labels", "Swatchwright");
        const std::size_t first = page * each, count = std::min(each, targets.size() - first);
        const std::size_t rows = (count + kLabelsAcross - 1) / kLabelsAcross, columns = std::min(count, kLabelsAcross);
        for (std::size_t i = 0; i < count; ++i) {
            const double x = kSheetMargin + static_cast<double>(i % kLabelsAcross) * width,
                         y = top + static_cast<double>(i / kLabelsAcross) * kLabelHeight;
            draw_label(pen, {x, y, width, kLabelHeight}, targets[first + i]);
        }
        const double right = kSheetMargin + static_cast<double>(columns) * width, bottom = top + static_cast<double>(rows) * kLabelHeight;
        for (std::size_t row = 0; row <= rows; ++row) {
            const double y = top + static_cast<double>(row) * kLabelHeight;
            draw_cut(pen, kSheetMargin - 10, y, right + 10, y);
        }
        for (std::size_t column = 0; column <= columns; ++column) {
            const double x = kSheetMargin + static_cast<double>(column) * width;
            draw_cut(pen, x, top - 10, x, bottom + 10);
        }
        pen.write(kSheetMargin - 22, top - 5, "\xE2\x9C\x82", {.size = 9, .ink = kPaleInk});  // scissors
        draw_page_foot(pen, paper, kLabelNote, "page " + std::to_string(page + 1) + " of " + std::to_string(pages));
    };
    auto files = draw_pages(path, "Swatch labels", paper, pages, draw);
    if (!files) return files.error();
    return Sheet{*std::move(files), pages, 0};
}

}  // namespace sw
