#include "sheet/plot.hpp"

#include <cairo.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <memory>
#include <numbers>

#include "color/spectrum.hpp"
#include "sheet/pen.hpp"

namespace sw {
namespace {

constexpr double kWidth = kPageWidth;
constexpr int kPlotHeight = 1000;
constexpr double kColumn = 440, kStrip = 34;
constexpr double kTitle = 38, kText = 25, kSmall = 21, kNote = 19;

constexpr EncodedRgb kPale = kPaleInk, kGrid = kGridInk, kWhite = kPaper;

struct Look {
    EncodedRgb ink;
    std::array<double, 6> dash;  // lengths of ink and gap; the first 0: solid
    int count;
};
// Inks dark enough on white, and apart for color-blind eyes (after Okabe & Ito 2008, darkened); the dashes tell them apart without color.
constexpr std::array<Look, 8> kLooks{{{{0.10, 0.10, 0.10}, {}, 0},
                                      {{0.00, 0.33, 0.62}, {20, 11}, 2},
                                      {{0.78, 0.28, 0.00}, {0.1, 10}, 2},
                                      {{0.00, 0.45, 0.33}, {26, 11, 0.1, 11}, 4},
                                      {{0.55, 0.20, 0.50}, {44, 12}, 2},
                                      {{0.40, 0.30, 0.10}, {9, 9}, 2},
                                      {{0.10, 0.20, 0.45}, {26, 10, 0.1, 10, 0.1, 10}, 6},
                                      {{0.45, 0.45, 0.45}, {44, 10, 12, 10}, 4}}};

struct FreePattern {
    void operator()(cairo_pattern_t* pattern) const { cairo_pattern_destroy(pattern); }
};
using Pattern = std::unique_ptr<cairo_pattern_t, FreePattern>;

void wear(const Pen& pen, const Look& look, double width) {
    pen.ink(look.ink);
    cairo_set_line_width(pen.to(), width);
    cairo_set_dash(pen.to(), look.dash.data(), look.count, 0);
    // the shortest dashes are dots, made by their round ends
    cairo_set_line_cap(pen.to(), look.count > 0 && std::find(look.dash.begin(), look.dash.end(), 0.1) != look.dash.end() ? CAIRO_LINE_CAP_ROUND
                                                                                                                         : CAIRO_LINE_CAP_BUTT);
    cairo_set_line_join(pen.to(), CAIRO_LINE_JOIN_ROUND);
}
void plain(const Pen& pen) {
    cairo_set_dash(pen.to(), nullptr, 0, 0);
    cairo_set_line_cap(pen.to(), CAIRO_LINE_CAP_BUTT);
}

std::string figure(double value, int decimals) {
    std::array<char, 64> buffer{};
    const auto end = decimals > 12 || std::abs(value) >= 1e9
                         ? std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::general, 4)
                         : std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed, std::max(0, decimals));
    std::string text(buffer.data(), end.ptr);
    if (text.front() == '-' && text.find_first_of("123456789") == std::string::npos) text.erase(0, 1);
    return text;
}

// One axis with its range settled.
struct Scale {
    double low = 0, high = 1, at_low = 0, at_high = 1;
    std::vector<double> ticks;
    int decimals = 0;

    [[nodiscard]] double at(double value) const { return at_low + (value - low) / (high - low) * (at_high - at_low); }
};

Scale scale_of(const PlotAxis& axis, double least, double largest, bool from_zero, int most) {
    if (!(least <= largest)) least = 0, largest = 1;  // nothing to draw
    if (from_zero && least >= 0 && least < 0.5 * largest) least = 0;
    Scale scale;
    scale.low = axis.low.value_or(least);
    scale.high = axis.high.value_or(largest);
    if (!(scale.high > scale.low)) {  // all the same
        const double room = std::max(std::abs(scale.low) * 0.1, 0.5);
        scale.low -= room;
        scale.high += room;
    } else if (!axis.high) {
        scale.high += (scale.high - scale.low) * 0.04;
    }
    scale.ticks = round_ticks(scale.low, scale.high, most);
    const double step = scale.ticks.size() > 1 ? scale.ticks[1] - scale.ticks[0] : 1;
    scale.decimals = static_cast<int>(std::clamp(std::ceil(-std::log10(step) - 1e-9), 0.0, 13.0));
    return scale;
}

struct Extent {
    double low = HUGE_VAL, high = -HUGE_VAL;
    void take(const std::vector<double>& values) {
        for (const double value : values) {
            if (!std::isfinite(value)) continue;
            low = std::min(low, value);
            high = std::max(high, value);
        }
    }
};

std::string label_of(const PlotAxis& axis) { return axis.quantity + (axis.unit.empty() ? "" : " (" + axis.unit + ")"); }

void draw_band(const Pen& pen, const PlotBand& band, const Scale& x, const Scale& y) {
    const std::size_t count = std::min({band.x.size(), band.low.size(), band.high.size()});
    const auto known = [&](std::size_t i) { return std::isfinite(band.x[i]) && std::isfinite(band.low[i]) && std::isfinite(band.high[i]); };
    for (std::size_t first = 0; first < count; ++first) {
        if (!known(first)) continue;
        std::size_t end = first;
        while (end < count && known(end)) ++end;
        for (std::size_t i = first; i < end; ++i) cairo_line_to(pen.to(), x.at(band.x[i]), y.at(band.high[i]));
        for (std::size_t i = end; i-- > first;) cairo_line_to(pen.to(), x.at(band.x[i]), y.at(band.low[i]));
        cairo_close_path(pen.to());
        first = end;
    }
    pen.ink({0.35, 0.42, 0.52}, 0.22);
    cairo_fill_preserve(pen.to());
    pen.ink({0.35, 0.42, 0.52}, 0.55);
    cairo_set_line_width(pen.to(), 1.2);
    cairo_stroke(pen.to());
}

void draw_line(const Pen& pen, const PlotLine& line, const Look& look, const Scale& x, const Scale& y) {
    bool pen_down = false;
    for (std::size_t i = 0; i < std::min(line.x.size(), line.y.size()); ++i) {
        const bool known = std::isfinite(line.x[i]) && std::isfinite(line.y[i]);
        if (known && pen_down) cairo_line_to(pen.to(), x.at(line.x[i]), y.at(line.y[i]));
        if (known && !pen_down) cairo_move_to(pen.to(), x.at(line.x[i]), y.at(line.y[i]));
        pen_down = known;
    }
    wear(pen, look, 3.6);
    cairo_stroke(pen.to());
    plain(pen);
}

// Where the colors lie, named too.
void draw_strip(Pen& pen, const PageBox& box, const Scale& x) {
    const Pattern colors(cairo_pattern_create_linear(box.x, 0, box.right(), 0));
    constexpr int kSteps = 160;
    for (int i = 0; i <= kSteps; ++i) {
        const double share = static_cast<double>(i) / kSteps;
        const EncodedRgb color = wavelength_color(x.low + share * (x.high - x.low));
        cairo_pattern_add_color_stop_rgb(colors.get(), share, color.r, color.g, color.b);
    }
    cairo_rectangle(pen.to(), box.x, box.y, box.width, box.height);
    cairo_set_source(pen.to(), colors.get());
    cairo_fill(pen.to());
    struct Name {
        double nm;
        const char* word;
        EncodedRgb ink;
    };
    // middles of the ranges that color words are commonly used for; no source
    for (const Name& name : {Name{415, "violet", kWhite}, Name{466, "blue", kWhite}, Name{530, "green", kInk}, Name{577, "yellow", kInk},
                             Name{606, "orange", kInk}, Name{655, "red", kWhite}}) {
        const Writing how{.size = 16.5, .ink = name.ink};
        const PageBox size = pen.measure(name.word, how);
        const double middle = x.at(name.nm), left = middle - size.width / 2;
        if (left < box.x + 4 || left + size.width > box.right() - 4) continue;
        pen.write(left, box.y + (box.height - size.height) / 2, name.word, how);
    }
}

// Names beside short pieces of their lines, in rows; returns the height.
double draw_legend(Pen& pen, const Plot& plot, double left, double top, double width) {
    constexpr double kSample = 84, kGap = 40, kRow = 36;
    double x = left, y = top;
    bool any = false;
    const auto entry = [&](const std::string& name, const auto& sample) {
        if (name.empty()) return;
        const Writing how{.size = kSmall, .width = std::min(width - kSample, pen.measure(name, {.size = kSmall}).width + 1)};
        const double needed = kSample + 12 + how.width;
        if (any && x + needed > left + width) {
            x = left;
            y += kRow;
        }
        any = true;
        sample(x, y + kRow / 2);
        pen.write(x + kSample + 12, y + (kRow - pen.measure(name, how).height) / 2, name, how);
        x += needed + kGap;
    };
    for (std::size_t i = 0; i < plot.lines.size(); ++i) {
        entry(plot.lines[i].name, [&](double at_x, double at_y) {
            wear(pen, kLooks[i % kLooks.size()], 3.6);
            cairo_move_to(pen.to(), at_x, at_y);
            cairo_line_to(pen.to(), at_x + kSample, at_y);
            cairo_stroke(pen.to());
            plain(pen);
        });
    }
    for (const PlotBand& band : plot.bands) {
        entry(band.name, [&](double at_x, double at_y) {
            const PageBox box{at_x, at_y - 12, kSample, 24};
            cairo_rectangle(pen.to(), box.x, box.y, box.width, box.height);
            pen.ink({0.35, 0.42, 0.52}, 0.22);
            cairo_fill_preserve(pen.to());
            pen.ink({0.35, 0.42, 0.52}, 0.55);
            cairo_set_line_width(pen.to(), 1.2);
            cairo_stroke(pen.to());
        });
    }
    return any ? y + kRow - top : 0;
}

// Swatches and the table of figures.
void draw_column(Pen& pen, const Plot& plot, const PageBox& column) {
    double y = column.y;
    if (!plot.swatches.empty()) {
        const auto count = static_cast<double>(plot.swatches.size());
        constexpr double kFrame = 22;
        const double height = std::min(column.height * 0.4, 300.0);
        pen.fill({column.x, y, column.width, height}, kSurround);
        const double each = (column.width - 2 * kFrame) / count;
        double caption = 0;
        for (std::size_t i = 0; i < plot.swatches.size(); ++i) {
            const double x = column.x + kFrame + each * static_cast<double>(i);
            pen.fill({x, y + kFrame, each, height - 2 * kFrame}, plot.swatches[i].color);
            const double left = count > 1 ? x : column.x, wide = count > 1 ? each - 8 : column.width;
            caption = std::max(caption, pen.write(left, y + height + 8, plot.swatches[i].caption, {.size = kSmall, .width = wide, .lines = 3}));
        }
        y += height + caption + 30;
    }
    if (plot.figures.empty()) return;
    const double row = std::min(41.0, (column.bottom() - y) / static_cast<double>(plot.figures.size()));
    const double size = std::min(23.0, row * 0.58);
    for (const PlotFigure& one : plot.figures) {
        const bool heading = one.value.empty();
        const Writing value{.size = size};
        const double room = column.width - pen.measure(one.value, value).width - 14;
        const Writing name{.size = size, .bold = heading, .ink = heading ? kInk : kPale, .width = std::max(room, 40.0)};
        pen.write(column.x, y + (row - pen.measure(one.name, name).height) / 2, one.name, name);
        if (!heading) pen.write_left_of(column.right(), y + row / 2, one.value, value);
        y += row;
        pen.line(column.x, y, column.right(), y, kGrid, heading ? 2.5 : 1.2);
    }
}

void draw(Pen& pen, const Plot& plot, double page_height) {
    cairo_t* to = pen.to();
    pen.fill({0, 0, kWidth, page_height}, kWhite);
    const double full = kWidth - 2 * kPageMargin;
    double top = 40;
    top += pen.write(kPageMargin, top, plot.title, {.size = kTitle, .bold = true, .width = full});
    if (!plot.subtitle.empty()) top += 8 + pen.write(kPageMargin, top + 8, plot.subtitle, {.size = kText, .ink = kPale, .width = full, .lines = 2});
    top += 22;

    double bottom = page_height - 34;
    const bool nothing = plot.lines.empty() && plot.bands.empty();
    if (!plot.note.empty() && !nothing) {
        const Writing how{.size = kNote, .ink = kPale, .width = full, .lines = 3};
        bottom -= pen.measure(plot.note, how).height;
        pen.write(kPageMargin, bottom, plot.note, how);
        bottom -= 18;
    }
    const bool column = !plot.swatches.empty() || !plot.figures.empty();
    if (column) draw_column(pen, plot, {kWidth - kPageMargin - kColumn, top + 6, kColumn, bottom - top - 6});
    const double plot_right = kWidth - kPageMargin - (column ? kColumn + 50 : 0);
    top += draw_legend(pen, plot, kPageMargin, top, plot_right - kPageMargin) + 14;

    // what is drawn decides the axes
    Extent wide, high;
    for (const PlotBand& band : plot.bands) {
        wide.take(band.x);
        high.take(band.low);
        high.take(band.high);
    }
    for (const PlotLine& line : plot.lines) {
        wide.take(line.x);
        high.take(line.y);
    }
    PlotAxis x_axis = plot.x;
    if (!x_axis.high && wide.low <= wide.high) x_axis.high = wide.high;  // to the last point, no further
    Scale y = scale_of(plot.y, high.low, high.high, true, 9);
    Scale x = scale_of(x_axis, wide.low, wide.high, false, 9);

    const Writing tick{.size = kSmall}, label{.size = kText};
    double widest = 0;
    for (const double value : y.ticks) widest = std::max(widest, pen.measure(figure(value, y.decimals), tick).width);
    const double label_height = pen.measure("x", label).height, tick_height = pen.measure("0", tick).height;
    PageBox box{kPageMargin + label_height + 14 + widest + 14, top, 0, 0};
    box.width = plot_right - box.x;
    box.height = bottom - label_height - 10 - tick_height - 10 - (plot.wavelengths ? kStrip + 6 : 0) - top;
    x.at_low = box.x, x.at_high = box.right();
    y.at_low = box.bottom(), y.at_high = box.y;

    for (const double value : y.ticks) {
        pen.line(box.x, y.at(value), box.right(), y.at(value), kGrid, 1.4);
        pen.write_left_of(box.x - 14, y.at(value), figure(value, y.decimals), tick);
    }
    for (const double value : x.ticks) pen.line(x.at(value), box.y, x.at(value), box.bottom(), kGrid, 1.4);
    cairo_save(to);
    cairo_rectangle(to, box.x, box.y - 3, box.width, box.height + 6);
    cairo_clip(to);
    for (const PlotBand& band : plot.bands) draw_band(pen, band, x, y);
    for (std::size_t i = plot.lines.size(); i-- > 0;) draw_line(pen, plot.lines[i], kLooks[i % kLooks.size()], x, y);  // the first on top
    cairo_restore(to);
    if (nothing) {
        const Writing how{.size = kText, .ink = kPaleInk, .width = box.width * 0.7, .lines = 6};
        const double height = pen.measure(plot.note, how).height;
        const double left = box.x + box.width * 0.15, upper = box.y + (box.height - height) / 2;
        pen.fill({left - 20, upper - 20, how.width + 40, height + 40}, kPaper);
        pen.write(left, upper, plot.note, how);
    }
    pen.line(box.x, box.y, box.x, box.bottom(), kInk, 2);
    pen.line(box.x, box.bottom(), box.right(), box.bottom(), kInk, 2);

    double below = box.bottom() + 6;
    if (plot.wavelengths) {
        draw_strip(pen, {box.x, below, box.width, kStrip}, x);
        below += kStrip + 4;
    }
    for (const double value : x.ticks) pen.write_below(x.at(value), below, figure(value, x.decimals), tick);
    pen.write_below(box.x + box.width / 2, below + tick_height + 4, label_of(plot.x), label);
    cairo_save(to);
    cairo_translate(to, kPageMargin, box.y + box.height / 2);
    cairo_rotate(to, -std::numbers::pi / 2);
    pen.write_below(0, 0, label_of(plot.y), label);
    cairo_restore(to);
}

}  // namespace

Result<Done> can_save_plot(const std::string& path) { return can_save_page(path, "plot"); }

Result<Done> save_plot(const Plot& plot, const std::string& path) {
    return save_page(path, plot.title, kPlotHeight, "plot", [&](Pen& pen, double page_height) { draw(pen, plot, page_height); });
}

std::vector<double> round_ticks(double low, double high, int most) {
    if (!std::isfinite(low) || !std::isfinite(high) || !(high > low) || !std::isfinite(high - low) || most < 2) return {};
    const double rough = (high - low) / (most - 1);
    const double power = std::pow(10.0, std::floor(std::log10(rough)));
    double step = 10 * power;
    for (const double nice : {1.0, 2.0, 5.0}) {
        if (nice * power >= rough * (1 - 1e-9)) {
            step = nice * power;
            break;
        }
    }
    std::vector<double> ticks;
    const double slack = step * 1e-6;
    for (double n = std::ceil((low - slack) / step); n * step <= high + slack && ticks.size() < static_cast<std::size_t>(most); ++n) {
        ticks.push_back(n * step + 0.0);  // + 0.0: no negative zero
    }
    return ticks;
}

EncodedRgb wavelength_color(double nm) {
    const auto& matching = color_matching(Observer::degree2);
    const auto band = static_cast<std::size_t>(std::clamp(std::lround(nm) - kFirstNm, 0L, static_cast<long>(kBands) - 1));
    LinearRgb color = linear_rgb({matching[0][band], matching[1][band], matching[2][band]});
    // no screen shows them: a little white added (0.35 of what would be needed; found by looking), the rest clipped
    const double white = -0.35 * std::min({color.r, color.g, color.b, 0.0});
    color = {std::max(color.r + white, 0.0), std::max(color.g + white, 0.0), std::max(color.b + white, 0.0)};
    const double largest = std::max({color.r, color.g, color.b, 1e-12});
    const double bright = std::min(1.0, std::pow(largest / 0.004, 0.45));  // full strength where the eye sees well; found by looking
    return encode(LinearRgb{color.r / largest * bright, color.g / largest * bright, color.b / largest * bright});
}

}  // namespace sw
