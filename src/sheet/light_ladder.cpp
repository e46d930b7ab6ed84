#include "sheet/light_ladder.hpp"

#include <algorithm>
#include <cmath>

#include "sheet/figures.hpp"
#include "sheet/pen.hpp"
#include "sheet/plot.hpp"

namespace sw {
namespace {

constexpr double kHead = 40;
constexpr std::size_t kOneColumn = 12;  // rungs beyond that stand in two columns, without the scale

/// Where things stand in a column of rungs, from its left edge.
struct Columns {
    double panel, half, name, flag, scale, width;
};
constexpr Columns kWide{500, 200, 530, 800, 1150, 1488}, kNarrow{220, 95, 238, 470, 0, 722};

/// Circle, triangle, square: filled where the whole range agrees, else open.
void draw_flag(Pen& pen, double x, double y, double size, Flag flag, bool sure) {
    const double r = size / 2;
    const auto shape = [&](double grow, const EncodedRgb& color) {
        const double s = r + grow;
        if (flag == Flag::holds)
            pen.circle(x, y, s, color, 0);
        else if (flag == Flag::shifts)
            pen.polygon({{x, y - 1.15 * s}, {x + 1.2 * s, y + 0.95 * s}, {x - 1.2 * s, y + 0.95 * s}}, color);
        else
            pen.fill({x - 0.92 * s, y - 0.92 * s, 1.84 * s, 1.84 * s}, color);
    };
    shape(0, kDarkInk);
    if (!sure) shape(-2.2, kPaper);
    const double down = flag == Flag::shifts ? 0.22 * r : 0;
    pen.write_around(x, y + down, flag_mark(flag), {.size = 1.15 * r, .bold = true, .ink = sure ? kPaper : kDarkInk});
}

/// From ΔE00 to the page, the same for all rungs.
struct RungScale {
    double x, width, most;
    [[nodiscard]] double at(double de00) const { return x + width * std::clamp(de00 / most, 0.0, 1.0); }
};

RungScale rung_scale(const std::vector<LightRung>& rungs, const CompareOptions& options, double x, double width) {
    double most = 1.25 * options.breaks_above, figures = 6 * options.breaks_above;
    for (const LightRung& rung : rungs) {
        most = std::max(most, std::isfinite(rung.ci95.high) ? rung.ci95.high : 0);
        figures = std::max(figures, 1.1 * rung.de00);
    }
    return {x, width, std::min(most, figures)};  // a long range may run off it, with an arrow
}

void draw_scale_head(Pen& pen, const RungScale& scale, const CompareOptions& options, double y, double bottom) {
    for (const double tick : round_ticks(0, scale.most, 8)) {
        pen.line(scale.at(tick), y, scale.at(tick), bottom, kGridInk, 1);
        pen.write_below(scale.at(tick), y - 24, brief(tick), {.size = 17, .ink = kPaleInk});
    }
    for (const double threshold : {options.holds_below, options.breaks_above}) {
        if (threshold >= scale.most) continue;
        for (double dash = y; dash < bottom; dash += 12)
            pen.line(scale.at(threshold), dash, scale.at(threshold), std::min(bottom, dash + 7), kPaleInk, 2);
    }
}

/// The range as a bar, the figure as a dot: dark where it was seen, open where inferred.
void draw_range(Pen& pen, const RungScale& scale, const LightRung& rung, double y) {
    const double from = scale.at(rung.ci95.low), to = std::max(from + 2, scale.at(rung.ci95.high));
    const bool looked_at = rung.known != "inferred";
    pen.fill({from, y - 6, to - from, 12}, kDarkInk);
    if (!looked_at && to - from > 5) pen.fill({from + 2, y - 4, to - from - 4, 8}, kPaper);
    if (rung.ci95.high > scale.most) pen.polygon({{to, y - 11}, {to + 12, y}, {to, y + 11}}, kDarkInk);
    pen.circle(scale.at(rung.de00), y, 10, kDarkInk, 0);
    pen.circle(scale.at(rung.de00), y, 6, kPaper, 0);
}

void draw_half(Pen& pen, const PageBox& box, const Screen::Shown& shown, bool outer_left) {
    pen.fill(box, shown.rgb);
    if (shown.in_gamut) return;
    const double x = outer_left ? box.x : box.right(), in = outer_left ? 1 : -1, s = std::min(24.0, 0.4 * box.height);
    pen.polygon({{x, box.y}, {x + in * s, box.y}, {x, box.y + s}}, kPaper);
    pen.polygon({{x, box.y}, {x + in * 0.62 * s, box.y}, {x, box.y + 0.62 * s}}, kDarkInk);
}

std::string beyond_words(bool chip, bool swatch, const std::string& screen) {
    if (chip && swatch) return "";
    return std::string(!chip && !swatch ? "both" : !chip ? "chip" : "swatch") + " beyond " + screen;
}

/// Draws rungs one below the other, each `height` high, and returns whether all could be shown.
bool draw_rungs(Pen& pen, const PageBox& at, const std::vector<LightRung>& rungs, double height, const Columns& columns, const Screen& screen) {
    const double gap = std::min(22.0, 0.2 * height);
    pen.fill({at.x, at.y - kHead, columns.panel, kHead + height * static_cast<double>(rungs.size()) + gap / 2}, kSurround);
    const double left = at.x + columns.panel / 2 - columns.half;
    const Writing small{.size = 19, .ink = kDarkInk};
    pen.write_around(left + columns.half / 2, at.y - kHead / 2, "chip", small);
    pen.write_around(left + 1.5 * columns.half, at.y - kHead / 2, "swatch", small);
    bool all = true;
    double y = at.y;
    for (const LightRung& rung : rungs) {
        const Screen::Shown chip = screen.show(rung.chip), swatch = screen.show(rung.swatch);
        draw_half(pen, {left, y + gap / 2, columns.half, height - gap}, chip, true);
        draw_half(pen, {left + columns.half, y + gap / 2, columns.half, height - gap}, swatch, false);
        pen.frame({left, y + gap / 2, 2 * columns.half, height - gap}, kDarkInk, 1);  // a gray may be as gray as what is around it
        all = all && chip.in_gamut && swatch.in_gamut;

        const double middle = y + height / 2, width = columns.flag - columns.name - 12;
        const std::string beyond = beyond_words(chip.in_gamut, swatch.in_gamut, screen.name());
        pen.write(at.x + columns.name, middle - 27, rung.light, {.size = 23, .bold = true, .width = width});
        pen.write(at.x + columns.name, middle + 2, rung.known + (beyond.empty() ? "" : "; " + beyond),
                  {.size = 18, .ink = kPaleInk, .width = width, .lines = height > 84 ? 2 : 1});
        const double words = at.x + columns.flag + 44;
        if (rung.flag) draw_flag(pen, at.x + columns.flag + 17, middle, 34, *rung.flag, !rung.flag_words.ends_with('?'));
        pen.write(words, middle - 27, rung.flag ? capitalized(rung.flag_words) : "As looked at", {.size = 23, .bold = true});
        pen.write(words, middle + 2, "\u0394E00 " + rung.figure, {.size = 20});
        y += height;
    }
    return all;
}

void draw(Pen& pen, const Comparison& comparison, const CompareOptions& options, const Screen& screen, const std::string& title,
          const std::string& answer, double page_height) {
    const std::vector<LightRung> rungs = light_ladder(comparison);
    const double full = kPageWidth - 2 * kPageMargin;
    pen.fill({0, 0, kPageWidth, page_height}, kPaper);
    double top = 34;
    top += pen.write(kPageMargin, top, title, {.size = 36, .bold = true, .width = full});
    top += 4 + pen.write(kPageMargin, top + 4, answer, {.size = 23, .width = full, .lines = 2});
    top += 22 + kHead;

    constexpr double kFoot = 136;
    const std::size_t in_column = rungs.size() <= kOneColumn ? rungs.size() : (rungs.size() + 1) / 2;
    const double room = page_height - kFoot - 24 - top, height = std::min(176.0, room / static_cast<double>(in_column));
    bool all = true;
    if (in_column == rungs.size()) {
        const double bottom = top + height * static_cast<double>(rungs.size());
        const RungScale scale = rung_scale(rungs, options, kPageMargin + kWide.scale, kWide.width - kWide.scale - 14);
        draw_scale_head(pen, scale, options, top, bottom);
        pen.write_left_of(scale.x - 18, top - 14, "\u0394E00", {.size = 17, .ink = kPaleInk});
        all = draw_rungs(pen, {kPageMargin, top, full, room}, rungs, height, kWide, screen);
        for (std::size_t i = 0; i < rungs.size(); ++i) draw_range(pen, scale, rungs[i], top + (static_cast<double>(i) + 0.5) * height);
    } else {
        const auto half = rungs.begin() + static_cast<std::ptrdiff_t>(in_column);
        all = draw_rungs(pen, {kPageMargin, top, full, room}, {rungs.begin(), half}, height, kNarrow, screen);
        all = draw_rungs(pen, {kPageMargin + full - kNarrow.width, top, full, room}, {half, rungs.end()}, height, kNarrow, screen) && all;
    }

    double y = page_height - kFoot;
    for (const std::string& line :
         {std::string(
              "Each pair is shown adapted to its light's white, as the eye adapts: the light's own tint is left out, and what changes is the pair."),
          "Colors for " + screen.name() + (all ? "." : "; a dark corner marks what that cannot show: the nearest color is drawn."),
          std::string(
              "seen: photographed under that light; computed: from both spectra; inferred: estimated from the photo, for paints not chosen to "
              "trick the light."),
          std::string(flag_mark(Flag::holds)) + " holds: \u0394E00 below " + brief(options.holds_below) + "; " + flag_mark(Flag::breaks) +
              " breaks: above " + brief(options.breaks_above) + "; " + flag_mark(Flag::shifts) +
              " shifts: between; with ? and an open mark where the range reaches beyond that. Ranges hold the truth in 95 % of cases."})
        y += 4 + pen.write(kPageMargin, y, line, {.size = 18, .ink = kPaleInk, .width = full});
}

}  // namespace

Result<Done> can_save_light_ladder(const std::string& path, bool own_profile) {
    if (const auto can = can_save_page(path, "ladder"); !can) return can;
    if (own_profile && (path.ends_with('f') || path.ends_with('F')))
        return Error{Fault::bad_usage, path, "", "a PDF is drawn in sRGB and cannot carry a screen's own profile",
                     "give a file name like ladder.png, or leave out the profile"};
    return Done{};
}

Result<Done> save_light_ladder(const Comparison& comparison, const CompareOptions& options, const Screen& screen, const std::string& title,
                               const std::string& answer, const std::string& path) {
    if (light_ladder(comparison).size() > kMostRungs)
        return Error{Fault::bad_usage, path, "", "more than " + std::to_string(kMostRungs) + " lights do not fit a page",
                     "name fewer lights with --under"};
    return save_page(
        path, title, kPageHeight, "ladder", [&](Pen& pen, double page_height) { draw(pen, comparison, options, screen, title, answer, page_height); },
        screen.profile());
}

}  // namespace sw
