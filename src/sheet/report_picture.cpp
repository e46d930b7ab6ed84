#include "sheet/report_picture.hpp"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <optional>
#include <vector>

#include "calibrate/coverage.hpp"
#include "calibrate/picture_map.hpp"
#include "calibrate/sensor_model.hpp"
#include "sheet/figures.hpp"
#include "sheet/pen.hpp"
#include "sheet/plot.hpp"
#include "sheet/small_picture.hpp"

namespace sw {
namespace {

constexpr double kSmallMapWidth = 168, kMapGap = 14;  // of the small map of the whole photo
constexpr EncodedRgb kAlarm{0.80, 0.24, 0.04}, kSpeck{1, 0.45, 0}, kClipped{0.95, 0, 0.35};
constexpr double kLightTimes = 2;  // how much stronger than it is the course of the light is drawn

/// A reference as the page shows it.
struct Mark {
    const ReferenceUse* use;
    std::string label;  // a patch's number, or a letter
    bool worst = false;
};

std::vector<Mark> marks_of(const Calibration& calibration) {
    std::vector<Mark> marks;
    char letter = 'A';
    const ReferenceUse* worst = nullptr;
    for (const ReferenceUse& use : calibration.uses) {
        std::string label;
        if (use.name.starts_with("patch ")) {
            label = use.name.substr(6, use.name.find(' ', 6) - 6);
        } else {
            label = std::string(1, letter);
            letter = letter == 'Z' ? 'a' : static_cast<char>(letter + 1);
        }
        marks.push_back({&use, label});
        if (use.read && use.used && (worst == nullptr || use.de00 > worst->de00)) worst = &use;
    }
    for (Mark& mark : marks) mark.worst = mark.use == worst && marks.size() > 1;
    return marks;
}

/// A part of the photo and where it lies on the page.
struct View {
    Box part;    // pixels of the photo
    PageBox on;  // of the page
    bool whole = true;
    [[nodiscard]] double scale() const { return on.width / part.w; }
    [[nodiscard]] std::pair<double, double> at(Point p) const { return {on.x + (p.x - part.x) * scale(), on.y + (p.y - part.y) * scale()}; }
};

/// The part that is shown: the whole picture, or what holds the references where they are many and fill little of it.
View view_of(const Photo& photo, const Calibration& calibration, const PageBox& room) {
    const double width = photo.width, height = photo.height;
    double left = width, top = height, right = 0, bottom = 0;
    for (const ReferenceUse& use : calibration.uses) {
        const Box box = bounds(use.region);
        left = std::min(left, box.x);
        top = std::min(top, box.y);
        right = std::max(right, box.x + box.w);
        bottom = std::max(bottom, box.y + box.h);
    }
    View view{{0, 0, width, height}, {}, true};
    PageBox on = room;
    const bool close = calibration.uses.size() > 4 && (right - left) < 0.55 * width && (bottom - top) < 0.6 * height;
    if (close || calibration.light.field_known) on.width -= kSmallMapWidth + kMapGap;  // small maps beside it
    if (close) {
        const double edge = 0.08 * std::max(right - left, bottom - top);
        const double x0 = std::max(0.0, left - edge), x1 = std::min(width, right + edge), y0 = std::max(0.0, top - edge),
                     y1 = std::min(height, bottom + edge);
        view.part = {x0, y0, x1 - x0, y1 - y0};
        view.whole = false;
    }
    const double scale = std::min(on.width / view.part.w, on.height / view.part.h);
    view.on = {room.x, room.y, view.part.w * scale, view.part.h * scale};
    return view;
}

/// Where dust, glare and clipping lie in the references: small squares on the photo, each where three pixels or more, and a tenth of those it
/// covers, are spoiled. Returns the share of each reference that was left out.
std::vector<double> draw_spoiled(Pen& pen, const Photo& photo, const View& view, const std::vector<Mark>& marks) {
    constexpr double kSide = 4;  // page units
    std::vector<double> shares;
    for (const Mark& mark : marks) {
        const Result<RegionStatistics> read = region_statistics(photo, mark.use->region, "");
        shares.push_back(read ? read->rejected : 0);
        std::map<std::pair<int, int>, std::pair<int, int>> cells;  // place on the page: spoiled, clipped
        for (const SpoiledPixel& pixel : spoiled_pixels(photo, mark.use->region)) {
            const auto [x, y] = view.at({pixel.x + 0.5, pixel.y + 0.5});
            auto& [all, clipped] = cells[{static_cast<int>(std::floor(x / kSide)), static_cast<int>(std::floor(y / kSide))}];
            ++all;
            clipped += pixel.clipped ? 1 : 0;
        }
        const double covered = std::pow(kSide / view.scale(), 2);
        for (const auto& [cell, count] : cells) {
            if (count.first < std::max(std::min(3.0, covered), 0.1 * covered)) continue;
            pen.fill({cell.first * kSide, cell.second * kSide, kSide, kSide}, 2 * count.second > count.first ? kClipped : kSpeck);
        }
    }
    return shares;
}

/// The light's course over the whole photo, as its own color on a gray ground.
void draw_light(Pen& pen, const Photo& photo, const Calibration& calibration, const PageBox& box) {
    constexpr int kColumns = 42;
    const int rows = std::max(1, static_cast<int>(std::lround(kColumns * box.height / box.width)));
    Thumbnail small{kColumns, rows, {}};
    std::vector<Eigen::Vector3d> field;
    Eigen::Vector3d mean = Eigen::Vector3d::Zero();
    for (int y = 0; y < rows; ++y) {
        for (int x = 0; x < kColumns; ++x) {
            field.push_back(calibration.sensor->field({photo.width * (x + 0.5) / kColumns, photo.height * (y + 0.5) / rows}));
            mean += field.back() / (kColumns * rows);
        }
    }
    for (const Eigen::Vector3d& f : field) {
        for (int c = 0; c < 3; ++c) {
            const double linear = 0.3 * std::exp(kLightTimes * (f[c] - mean.mean()));
            small.rgb.push_back(static_cast<std::uint8_t>(std::lround(255 * linear_to_srgb(std::clamp(linear, 0.0, 1.0)))));
        }
    }
    pen.picture(box, small.width, small.height, small.rgb);
    pen.frame(box, kPaleInk, 1.2);
}

std::vector<double> draw_photo(Pen& pen, const Photo& photo, const Calibration& calibration, const PictureMap& map, const View& view,
                               const std::vector<Mark>& marks) {
    const Thumbnail picture = small_picture(photo, map, view.part, 1520);
    pen.picture(view.on, picture.width, picture.height, picture.rgb);
    pen.frame(view.on, kPaleInk, 1.2);
    const std::vector<double> shares = draw_spoiled(pen, photo, view, marks);

    // circles may not run into each other: as large as the nearest neighbor allows
    double apart = 200;
    for (std::size_t i = 0; i < marks.size(); ++i) {
        for (std::size_t j = 0; j < i; ++j) {
            const auto [xi, yi] = view.at(marks[i].use->at);
            const auto [xj, yj] = view.at(marks[j].use->at);
            apart = std::min(apart, std::hypot(xi - xj, yi - yj));
        }
    }
    const double text = std::clamp(apart * 0.17, 11.0, 19.0), most = std::clamp(apart * 0.42, 8.0, 60.0);
    double largest = 0;
    for (const Mark& mark : marks) largest = std::max(largest, mark.use->read ? mark.use->de00 : 0);
    const double by_de00 = std::min(12.0, most / std::max(largest, 1.0));
    for (const Mark& mark : marks) {
        const auto [x, y] = view.at(mark.use->at);
        const bool known = mark.use->read.has_value();
        const double radius = std::max(3.0, known && mark.use->used ? by_de00 * mark.use->de00 : 0);
        if (mark.use->used && known) {
            pen.circle(x, y, radius, kDarkInk, 4.5);
            pen.circle(x, y, radius, mark.worst ? EncodedRgb{1, 0.62, 0.2} : kPaper, 2.5);
        } else {
            for (const auto& [color, width] : {std::pair{kDarkInk, 6.0}, std::pair{kPaper, 3.0}}) {
                pen.line(x - 9, y - 9, x + 9, y + 9, color, width);
                pen.line(x - 9, y + 9, x + 9, y - 9, color, width);
            }
        }
        const double off =
            mark.use->used && radius > 1.5 * text ? 0.58 * text : std::max(radius, 8.0) + 0.62 * text;  // inside a large circle, else outside
        pen.write_over(x, y - off, mark.label, {.size = text * 0.95, .bold = true, .ink = kPaper}, kDarkInk);
        if (known) pen.write_over(x, y + off, fixed(mark.use->de00, 1), {.size = text, .ink = kPaper}, kDarkInk);
    }
    const double w = kSmallMapWidth, h = w * photo.height / photo.width;
    PageBox map_box{view.on.right() + kMapGap, view.on.y, w, h};
    if (calibration.light.field_known) {
        const PageBox light_box{map_box.x, view.whole ? map_box.y : map_box.y + h + kMapGap, w, h};
        draw_light(pen, photo, calibration, light_box);
        pen.write(light_box.x, light_box.bottom() + 6, "The light over the photo, its course drawn " + fixed(kLightTimes, 0) + "\u00d7 as strong.",
                  {.size = 15, .ink = kPaleInk, .width = w, .lines = 3});
    }
    if (view.whole) return shares;
    // where in the photo this is
    const Thumbnail all = small_picture(photo, map, {0, 0, static_cast<double>(photo.width), static_cast<double>(photo.height)}, 340);
    pen.picture(map_box, all.width, all.height, all.rgb);
    const double s = w / photo.width;
    pen.frame(map_box, kPaleInk, 1.2);
    const PageBox shown{map_box.x + s * view.part.x, map_box.y + s * view.part.y, s * view.part.w, s * view.part.h};
    pen.frame(shown, kDarkInk, 4);
    pen.frame(shown, kPaper, 2);
    return shares;
}

// ---- a*b*

/// The plane faintly tinted, so that directions need no words.
Thumbnail wash(double span) {
    constexpr int n = 24;
    Thumbnail small{n, n, {}};
    for (int y = 0; y < n; ++y) {
        for (int x = 0; x < n; ++x) {
            const double a = span * (2 * (x + 0.5) / n - 1), b = -span * (2 * (y + 0.5) / n - 1);
            const EncodedRgb c = screen_color(Lab{95, 0.16 * 60 / span * a, 0.16 * 60 / span * b}).rgb;
            for (const double v : {c.r, c.g, c.b}) small.rgb.push_back(static_cast<std::uint8_t>(std::lround(255 * v)));
        }
    }
    return small;
}

void draw_plane(Pen& pen, const PageBox& box, const std::vector<Mark>& marks) {
    double reach = 10;
    for (const Mark& mark : marks) reach = std::max({reach, std::abs(mark.use->value.a), std::abs(mark.use->value.b)});
    const auto tips_reach = [&](double k) {  // and are not longer than is pleasant
        double most = 0;
        for (const Mark& mark : marks) {
            if (!mark.use->read) continue;
            const Lab &from = mark.use->value, &to = *mark.use->read;
            const double a = k * (to.a - from.a), b = k * (to.b - from.b);
            most = std::max({most, std::abs(from.a + a), std::abs(from.b + b), k > 1 ? 4 * std::hypot(a, b) : 0});
        }
        return most;
    };
    const double span = std::max(20.0, std::ceil(std::max(1.18 * reach, 1.05 * tips_reach(1)) / 10) * 10);
    double magnified = 1;
    for (const double k : {2.0, 5.0, 10.0}) {
        if (tips_reach(k) < 0.97 * span) magnified = k;
    }
    const auto at = [&](double a, double b) { return std::pair{box.x + (a / span + 1) * box.width / 2, box.y + (1 - b / span) * box.height / 2}; };
    const Thumbnail tint = wash(span);
    pen.picture(box, tint.width, tint.height, tint.rgb);
    const Writing tick{.size = 17, .ink = kPaleInk};
    for (const double value : round_ticks(-span, span, 7)) {
        const auto [x, y] = at(value, value);
        const bool axis = std::abs(value) < 1e-9;
        pen.line(x, box.y, x, box.bottom(), axis ? EncodedRgb{0.55, 0.55, 0.55} : EncodedRgb{0.80, 0.80, 0.80}, axis ? 1.8 : 1);
        pen.line(box.x, y, box.right(), y, axis ? EncodedRgb{0.55, 0.55, 0.55} : EncodedRgb{0.80, 0.80, 0.80}, axis ? 1.8 : 1);
        pen.write_below(x, box.bottom() + 5, fixed(value, 0), tick);
        pen.write_left_of(box.x - 8, y, fixed(value, 0), tick);
    }
    pen.frame(box, kPaleInk, 1.2);
    const Writing axis{.size = 19, .ink = kPaleInk};
    pen.write_left_of(box.right() - 10, box.bottom() - 18, "a*: redder \u2192", axis);
    pen.write(box.x + 10, box.y + 8, "b*: yellower \u2191", axis);

    for (const Mark& mark : marks) {
        const Lab& value = mark.use->value;
        const auto [x, y] = at(value.a, value.b);
        if (mark.use->read) {
            const auto [tip_x, tip_y] = at(value.a + magnified * (mark.use->read->a - value.a), value.b + magnified * (mark.use->read->b - value.b));
            const double length = std::hypot(tip_x - x, tip_y - y);
            const EncodedRgb ink = mark.worst || !mark.use->used ? kAlarm : kDarkInk;
            if (length > 2) {
                const double ux = (tip_x - x) / length, uy = (tip_y - y) / length, head = std::min(11.0, length);
                const double base_x = tip_x - head * ux, base_y = tip_y - head * uy;
                pen.line(x, y, base_x, base_y, ink, 2.4);
                pen.polygon(
                    {{tip_x, tip_y}, {base_x - 0.45 * head * uy, base_y + 0.45 * head * ux}, {base_x + 0.45 * head * uy, base_y - 0.45 * head * ux}},
                    ink);
            }
        }
        pen.circle(x, y, 6, screen_color(value).rgb, 0);
        pen.circle(x, y, 6, kDarkInk, 1.2);
    }
    // numbers last, on the side away from the arrow, and where no other number stands yet
    std::vector<PageBox> taken;
    for (const Mark& mark : marks) {
        const Lab& value = mark.use->value;
        const auto [x, y] = at(value.a, value.b);
        const Writing how{.size = 16, .bold = mark.worst, .ink = mark.worst || !mark.use->used ? kAlarm : kDarkInk};
        const PageBox size = pen.measure(mark.label, how);
        double away = mark.use->read ? std::atan2(mark.use->read->b - value.b, -(mark.use->read->a - value.a)) : 0;
        for (int tries = 0; tries < 12; ++tries) {
            const double far = 15 + 2.5 * tries;
            const PageBox place{x + far * std::cos(away) - size.width / 2, y + far * std::sin(away) - size.height / 2, size.width, size.height};
            const bool free = std::none_of(taken.begin(), taken.end(), [&](const PageBox& other) {
                return place.x < other.right() && other.x < place.right() && place.y < other.bottom() && other.y < place.bottom();
            });
            if (free || tries == 11) {
                pen.write(place.x, place.y, mark.label, how);
                taken.push_back(place);
                break;
            }
            away += 0.9;
        }
    }
    std::string words = marks.empty() ? "No reference in the picture." : "Dot: what a reference is; arrow: to what is read";
    if (!marks.empty()) words += magnified > 1 ? ", " + fixed(magnified, 0) + "\u00d7 as long." : ".";
    pen.write(box.x, box.bottom() + 32, words, {.size = 18, .ink = kPaleInk, .width = box.width, .lines = 2});
}

// ---- words

double draw_column(Pen& pen, const PageBox& box, const std::string& head, const std::vector<std::string>& paragraphs) {
    double y = box.y;
    y += pen.write(box.x, y, head, {.size = 23, .bold = true, .width = box.width}) + 8;
    double size = 19;  // smaller where there is more to say
    const auto needed = [&] {
        double height = 0;
        for (const std::string& paragraph : paragraphs) height += pen.measure(paragraph, {.size = size, .width = box.width, .lines = 4}).height + 7;
        return height;
    };
    while (size > 15 && y + needed() > box.bottom()) size -= 0.5;
    for (const std::string& paragraph : paragraphs) {
        const Writing how{.size = size, .width = box.width, .lines = 4};
        const double height = pen.measure(paragraph, how).height;
        if (y + height > box.bottom()) {
            pen.write(box.x, y, "\u2026", how);
            break;
        }
        y += pen.write(box.x, y, paragraph, how) + 7;
    }
    return y;
}

/// "Left out as dust or glare: patch 7 orange 12 %, ..."; empty where there is next to none.
std::string spoiled_words(const std::vector<Mark>& marks, const std::vector<double>& shares) {
    std::string words;
    int more = 0;
    for (std::size_t i = 0; i < marks.size(); ++i) {
        if (shares[i] < 0.03) continue;
        if (++more > 4) continue;
        words += (words.empty() ? "Left out as dust or glare (orange): " : ", ") + marks[i].use->name + " " + fixed(100 * shares[i], 0) + " %";
    }
    if (more > 4) words += " and of " + std::to_string(more - 4) + " more";
    return words.empty() ? words : words + " of its pixels.";
}

std::vector<std::string> how_it_was_made(const Calibration& calibration, const std::vector<Mark>& marks) {
    std::string made = "Method: " + calibration.method;
    std::size_t used = 0;
    for (const Mark& mark : marks) used += mark.use->used ? 1 : 0;
    if (!marks.empty())
        made += "; references: " + std::to_string(used) + " used" + (used < marks.size() ? ", " + std::to_string(marks.size() - used) + " not" : "");
    const auto& lit_by = calibration.sensor->lit_by();
    std::vector<std::string> words{made + "; light " + (lit_by ? lit_by->name : "not named") + "."};
    if (calibration.loo.mean) {
        double square = 0;
        const double mean = *calibration.loo.mean;
        int count = 0;
        for (const Mark& mark : marks) {
            if (!mark.use->left_out || !mark.use->read) continue;
            square += (mark.use->de00 - mean) * (mark.use->de00 - mean);
            ++count;
        }
        const double error = count > 1 ? std::sqrt(square / (count - 1) / count) : 0;
        words.push_back("Each reference read by the others: \u0394E00 " + fixed(mean, 1) + (count > 1 ? " \u00b1 " + fixed(error, 1) : "") +
                        " on average" + (calibration.loo.p95 ? ", 95 % within " + fixed(*calibration.loo.p95, 1) + "." : "."));
    } else if (!marks.empty()) {
        words.emplace_back("How true other colors come out is unknown: there are too few references to leave one out.");
    }
    std::string ladder;
    for (const PlainMapScore& score : calibration.ladder) {
        if (score.loo.mean) ladder += (ladder.empty() ? "Plain maps on the same: " : ", ") + score.name + " " + fixed(*score.loo.mean, 1);
    }
    if (!ladder.empty()) words.push_back(ladder + (calibration.map ? "; the best of them is used." : "."));
    if (marks.size() > 6) {
        for (const Mark& mark : marks) {
            if (mark.worst) words.push_back("Worst: " + mark.label + ", " + mark.use->name + ", " + fixed(mark.use->de00, 1) + ".");
        }
    } else if (marks.size() > 1) {  // few: each by name
        std::string list;
        for (const Mark& mark : marks)
            list += (list.empty() ? "" : "; ") + mark.label + " " + mark.use->name + (mark.use->read ? " " + fixed(mark.use->de00, 1) : "");
        words.push_back(list + ".");
    }
    if (calibration.chart) words.push_back("24-patch chart: " + calibration.chart->words + ".");
    return words;
}

std::vector<std::string> what_to_heed(const Calibration& calibration, const std::vector<Mark>& marks) {
    std::vector<std::string> words;
    std::vector<std::pair<std::string, std::string>> not_used;  // why, and which
    for (const Mark& mark : marks) {
        if (mark.use->used) continue;
        const auto same = std::find_if(not_used.begin(), not_used.end(), [&](const auto& group) { return group.first == mark.use->remark; });
        if (same == not_used.end())
            not_used.emplace_back(mark.use->remark, mark.use->name);
        else
            same->second += ", " + mark.use->name;
    }
    for (const auto& [why, which] : not_used)
        words.push_back("Not used: " + which + (why.empty() ? "." : ": " + why + (why.ends_with('?') ? "" : ".")));
    for (const std::string& warning : calibration.warnings) {
        const bool said =
            std::any_of(marks.begin(), marks.end(), [&](const Mark& mark) { return !mark.use->used && warning.starts_with(mark.use->name + ":"); });
        if (!said) words.push_back(capitalized(warning) + ".");
    }
    if (words.empty()) words.emplace_back("Nothing stands out.");
    return words;
}

void draw(Pen& pen, const Photo& photo, const Calibration& calibration, double page_height) {
    const double full = kPageWidth - 2 * kPageMargin;
    pen.fill({0, 0, kPageWidth, page_height}, kPaper);
    double top = 38;
    const std::string file = std::filesystem::path(photo.path).filename().string();
    top += pen.write(kPageMargin, top, "Calibration of " + file, {.size = 38, .bold = true, .width = full});
    top += 6 + pen.write(kPageMargin, top + 6, capitalized(calibration.grade) + ".", {.size = 25, .ink = kPaleInk, .width = full, .lines = 2});
    top += 22;

    const std::vector<Mark> marks = marks_of(calibration);
    constexpr double kFigures = 600, kPlane = 600;
    const double room = full - kPlane - kPageGap - 44;
    const View view = view_of(photo, calibration, {kPageMargin, top, room, kFigures});
    const PictureMap map(calibration);
    const std::vector<double> shares = draw_photo(pen, photo, calibration, map, view, marks);
    std::string caption = view.whole ? "The photo as corrected" : "The references as corrected";
    caption += marks.empty() ? "." : ". Figures: \u0394E00 from what a reference is to what is read.";
    const double caption_height = pen.write(kPageMargin, view.on.bottom() + 10, caption, {.size = 18, .ink = kPaleInk, .width = room, .lines = 2});
    draw_plane(pen, {kPageWidth - kPageMargin - kPlane, top, kPlane, kFigures}, marks);

    std::vector<std::string> light;
    for (const std::string& line : calibration.light.lines) light.push_back(capitalized(line) + ".");
    if (const std::string spoiled = spoiled_words(marks, shares); !spoiled.empty()) light.push_back(spoiled);
    const double free_from = view.on.bottom() + 20 + caption_height, free = top + kFigures + 56 - free_from;
    const bool under_photo = free > 100;  // else in the last column
    if (!light.empty() && under_photo) draw_column(pen, {kPageMargin, free_from, room, free}, "The light, dust and glare", light);

    top += kFigures + 88;
    const double third = (full - 2 * kPageGap) / 3, rest = page_height - 64 - top;
    pen.line(kPageMargin, top - 16, kPageWidth - kPageMargin, top - 16, kGridInk, 2);
    draw_column(pen, {kPageMargin, top, third, rest}, "How it was made", how_it_was_made(calibration, marks));
    draw_column(pen, {kPageMargin + third + kPageGap, top, third, rest}, "What to heed", what_to_heed(calibration, marks));
    std::vector<std::string> gaps = not_covered(calibration.uses);
    for (std::string& gap : gaps) gap = capitalized(gap) + ".";
    const double last = kPageMargin + 2 * (third + kPageGap), below = draw_column(pen, {last, top, third, rest}, "What it does not cover", gaps) + 10;
    if (!light.empty() && !under_photo && below + 60 < top + rest)
        draw_column(pen, {last, below, third, top + rest - below}, "The light, dust and glare", light);
    pen.write(kPageMargin, page_height - 46,
              "\u0394E00: color difference; about 1 can just be seen side by side. C*: how strong a color is; L*: how light, 0 black to 100 white.",
              {.size = 17, .ink = kPaleInk, .width = full});
}

}  // namespace

Result<Done> can_save_report_picture(const std::string& path) { return can_save_page(path, "report"); }

Result<Done> save_report_picture(const Photo& photo, const Calibration& calibration, const std::string& path) {
    const std::string title = "Calibration of " + std::filesystem::path(photo.path).filename().string();
    return save_page(path, title, kPageHeight, "report", [&](Pen& pen, double page_height) { draw(pen, photo, calibration, page_height); });
}

}  // namespace sw
