#include "sheet/difference_picture.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "sheet/figures.hpp"
#include "sheet/pair_words.hpp"
#include "sheet/pen.hpp"
#include "sheet/plot.hpp"
#include "sheet/small_picture.hpp"

namespace sw {
namespace {

using Cell = DifferenceMap::Cell;

constexpr double kMapWidth = 800, kMapHeight = 640;
constexpr int kRasterWidth = 1600;  // of the map, twice the page's units
constexpr double kOther = 8;        // CIEDE2000 from a part's usual color beyond which a place is rather another thing; common practice, no source

using Rgb8 = std::array<std::uint8_t, 3>;
Rgb8 bytes(const EncodedRgb& c) {
    const auto byte = [](double v) { return static_cast<std::uint8_t>(std::lround(255 * std::clamp(v, 0.0, 1.0))); };
    return {byte(c.r), byte(c.g), byte(c.b)};
}

/// The end of the scale: what all but a hundredth keeps within, twice the tolerance at least, rounded up.
double scale_end(const DifferenceMap& map) {
    std::vector<float> values;
    for (const float v : map.de00) {
        if (std::isfinite(v)) values.push_back(v);
    }
    double most = 2 * map.tolerance;
    if (!values.empty()) {
        const auto at = values.begin() + static_cast<std::ptrdiff_t>(0.99 * static_cast<double>(values.size() - 1));
        std::nth_element(values.begin(), at, values.end());
        most = std::max(most, static_cast<double>(*at));
    }
    const double step = most > 8 ? 2 : most > 3 ? 1 : 0.5;
    return step * std::ceil(most / step - 1e-9);
}

bool on_hatch(int x, int y) { return (x + y) % 22 < 4; }
bool on_ring(int x, int y) {
    const double r = std::hypot(x % 20 - 9.5, y % 20 - 9.5);
    return r > 4.5 && r < 7.5;
}
bool on_cross(int x, int y) { return (x + y) % 16 < 3 || ((x - y) % 16 + 16) % 16 < 3; }

/// The map as a picture: the ramp, hatched beyond the tolerance, its edge a line; rings for gloss, crosses for what is clipped.
Thumbnail raster_of(const DifferenceMap& map, double end) {
    Thumbnail picture;
    const double per_cell = static_cast<double>(kRasterWidth) / map.width;
    const double scale = std::min(per_cell, 2.0 * kMapHeight / map.height);
    picture.width = std::max(1, static_cast<int>(map.width * scale));
    picture.height = std::max(1, static_cast<int>(map.height * scale));
    picture.rgb.resize(3UL * static_cast<std::size_t>(picture.width) * static_cast<std::size_t>(picture.height));
    std::array<Rgb8, 256> ramp;
    for (std::size_t i = 0; i < ramp.size(); ++i) ramp[i] = bytes(screen_color(map_ramp(static_cast<double>(i) / 255)).rgb);
    const Rgb8 outside = bytes(kGridInk), white{255, 255, 255}, dark = bytes(kDarkInk);
    const auto cell_at = [&](int x, int y) {
        return static_cast<std::size_t>(y) * static_cast<std::size_t>(map.width) + static_cast<std::size_t>(x);
    };
    // between cells, over those that are judged
    const auto value_at = [&](double u, double v) {
        const int x = static_cast<int>(std::floor(u)), y = static_cast<int>(std::floor(v));
        double sum = 0, weight = 0;
        for (int j = 0; j <= 1; ++j) {
            for (int k = 0; k <= 1; ++k) {
                const int cx = std::clamp(x + k, 0, map.width - 1), cy = std::clamp(y + j, 0, map.height - 1);
                const float value = map.de00[cell_at(cx, cy)];
                if (!std::isfinite(value)) continue;
                const double w = (k == 1 ? u - x : 1 - u + x) * (j == 1 ? v - y : 1 - v + y) + 1e-9;
                sum += w * value;
                weight += w;
            }
        }
        return weight > 0 ? sum / weight : 0.0;
    };
    std::vector<std::int8_t> beyond(static_cast<std::size_t>(picture.width) * static_cast<std::size_t>(picture.height), -1);
    for (int y = 0; y < picture.height; ++y) {
        for (int x = 0; x < picture.width; ++x) {
            const double u = (x + 0.5) / scale - 0.5, v = (y + 0.5) / scale - 0.5;
            const int cx = std::clamp(static_cast<int>(std::lround(u)), 0, map.width - 1),
                      cy = std::clamp(static_cast<int>(std::lround(v)), 0, map.height - 1);
            const std::size_t at = static_cast<std::size_t>(y) * static_cast<std::size_t>(picture.width) + static_cast<std::size_t>(x);
            Rgb8 color = outside;
            switch (map.cells[cell_at(cx, cy)]) {
                case Cell::outside:
                    break;
                case Cell::glossy:
                    color = on_ring(x, y) ? dark : white;
                    break;
                case Cell::spoiled:
                    color = on_cross(x, y) ? dark : white;
                    break;
                case Cell::judged: {
                    const double value = value_at(u, v), share = std::clamp(value / end, 0.0, 1.0);
                    beyond[at] = value > map.tolerance ? 1 : 0;
                    color = ramp[static_cast<std::size_t>(std::lround(255 * share))];
                    if (beyond[at] == 1 && on_hatch(x, y)) color = share > 0.45 ? white : dark;
                    break;
                }
            }
            std::copy(color.begin(), color.end(), picture.rgb.begin() + static_cast<std::ptrdiff_t>(3 * at));
        }
    }
    constexpr int kLine = 2;  // half of the contour's width
    for (int y = 0; y < picture.height; ++y) {
        for (int x = 0; x < picture.width; ++x) {
            const std::size_t at = static_cast<std::size_t>(y) * static_cast<std::size_t>(picture.width) + static_cast<std::size_t>(x);
            if (beyond[at] != 1) continue;
            bool edge = false;
            for (const auto& [dx, dy] : {std::pair{-kLine, 0}, {kLine, 0}, {0, -kLine}, {0, kLine}}) {
                const int u = x + dx, v = y + dy;
                if (u < 0 || v < 0 || u >= picture.width || v >= picture.height) continue;
                edge = edge || beyond[static_cast<std::size_t>(v) * static_cast<std::size_t>(picture.width) + static_cast<std::size_t>(u)] == 0;
            }
            if (edge) std::copy(dark.begin(), dark.end(), picture.rgb.begin() + static_cast<std::ptrdiff_t>(3 * at));
        }
    }
    return picture;
}

/// A small field of a pattern for the legend.
void draw_sample(Pen& pen, const PageBox& box, bool (*pattern)(int, int), const EncodedRgb& ground) {
    Thumbnail picture{static_cast<int>(2 * box.width), static_cast<int>(2 * box.height), {}};
    const Rgb8 back = bytes(ground), dark = bytes(kDarkInk);
    for (int y = 0; y < picture.height; ++y) {
        for (int x = 0; x < picture.width; ++x) {
            const Rgb8& color = pattern(x, y) ? dark : back;
            picture.rgb.insert(picture.rgb.end(), color.begin(), color.end());
        }
    }
    pen.picture(box, picture.width, picture.height, picture.rgb);
    pen.frame(box, kPaleInk, 1.2);
}

/// The scale with how much of the part lies where.
void draw_scale(Pen& pen, const PageBox& box, const DifferenceMap& map, double end) {
    constexpr int kBins = 40;
    std::array<double, kBins> bins{};
    double most = 1;
    for (const float v : map.de00) {
        if (!std::isfinite(v)) continue;
        double& bin = bins[static_cast<std::size_t>(std::clamp(static_cast<int>(kBins * v / end), 0, kBins - 1))];
        most = std::max(most, ++bin);
    }
    constexpr double kBar = 30;
    const double foot = box.bottom() - kBar, high = box.height - kBar - 26, step = box.width / kBins;
    for (int i = 0; i < kBins; ++i) {
        const double h = high * bins[static_cast<std::size_t>(i)] / most;
        if (h > 0) pen.fill({box.x + i * step, foot - h, step - 1, h}, kPaleInk);
    }
    Thumbnail ramp{256, 1, {}};
    for (int i = 0; i < 256; ++i) {
        const Rgb8 color = bytes(screen_color(map_ramp(i / 255.0)).rgb);
        ramp.rgb.insert(ramp.rgb.end(), color.begin(), color.end());
    }
    pen.picture({box.x, foot, box.width, kBar}, ramp.width, ramp.height, ramp.rgb);
    pen.frame({box.x, foot, box.width, kBar}, kPaleInk, 1.2);
    for (const double tick : round_ticks(0, end, 9)) {
        const double x = box.x + box.width * tick / end;
        pen.line(x, box.bottom(), x, box.bottom() + 6, kPaleInk, 1.2);
        pen.write_below(x, box.bottom() + 8, brief(tick) + (tick > end - 1e-9 ? " or more" : ""), {.size = 17, .ink = kPaleInk});
    }
    const double x = box.x + box.width * std::min(map.tolerance / end, 1.0);
    pen.line(x, box.y + 24, x, box.bottom(), kDarkInk, 3);
    pen.write_below(x, box.y, "tolerance " + brief(map.tolerance), {.size = 17});
}

void draw_photo(Pen& pen, const Photo& photo, const Calibration& calibration, const DifferenceMap& map, const PageBox& room) {
    const Thumbnail picture = small_picture(photo, PictureMap(calibration), map.part, 1200);
    const double scale = std::min(room.width / map.part.w, room.height / map.part.h);
    const PageBox on{room.x, room.y, map.part.w * scale, map.part.h * scale};
    pen.picture(on, picture.width, picture.height, picture.rgb);
    pen.frame(on, kPaleInk, 1.2);
    pen.write(room.x, on.bottom() + 8, "The same place in the photo as corrected.", {.size = 18, .ink = kPaleInk, .width = room.width});
}

void draw(Pen& pen, const Photo& photo, const Calibration& calibration, const DifferenceMap& map, const std::string& title,
          const std::vector<std::string>& words, double page_height) {
    const double full = kPageWidth - 2 * kPageMargin;
    pen.fill({0, 0, kPageWidth, page_height}, kPaper);
    double top = 34;
    top += pen.write(kPageMargin, top, title, {.size = 36, .bold = true, .width = full});
    if (!words.empty()) top += 4 + pen.write(kPageMargin, top + 4, words.front(), {.size = 23, .width = full, .lines = 2});
    top += 22;

    const double end = scale_end(map);
    const Thumbnail raster = raster_of(map, end);
    // the last cells may reach beyond the region's bounds
    const PageBox on{kPageMargin, top, raster.width / 2.0, raster.height / 2.0};
    pen.picture(on, raster.width, raster.height, raster.rgb);
    pen.frame(on, kPaleInk, 1.2);
    for (std::size_t i = 0; i < map.patches.size(); ++i) {
        const double per_pixel = on.width / (map.width * map.cell);
        pen.write_over(on.x + (map.patches[i].at.x - map.part.x) * per_pixel, on.y + (map.patches[i].at.y - map.part.y) * per_pixel,
                       std::string(1, static_cast<char>('A' + static_cast<int>(i))), {.size = 26, .bold = true, .ink = kPaper}, kDarkInk);
    }
    // scale bar
    const double pixels = map.width * map.cell, unit = on.width / pixels;
    const double power = std::pow(10.0, std::floor(std::log10(std::max(0.3 * pixels, 1.0)))), most = 0.3 * pixels / power;
    const double bar = std::max(1.0, power * (most >= 5 ? 5 : most >= 2 ? 2 : 1)), y = on.bottom() + 18;
    pen.line(on.x, y, on.x + bar * unit, y, kDarkInk, 4);
    pen.write(on.x + bar * unit + 12, y - 12, brief(bar) + " pixels of the photo; figures are means over " + fixed(map.smooth, 0),
              {.size = 18, .ink = kPaleInk});

    const double right = kPageMargin + kMapWidth + kPageGap, width = full - kMapWidth - kPageGap;
    draw_photo(pen, photo, calibration, map, {right, top, width, 330});
    const PageBox scale{right + 6, top + 330 + 52, width - 70, 150};
    pen.write(scale.right() + 8, scale.bottom() - 26, "\u0394E00", {.size = 18, .ink = kPaleInk});
    draw_scale(pen, scale, map, end);
    double sample = scale.bottom() + 48;
    const auto legend = [&](bool (*pattern)(int, int), const EncodedRgb& ground, const std::string& means) {
        draw_sample(pen, {right, sample, 44, 24}, pattern, ground);
        pen.write(right + 56, sample, means, {.size = 18, .ink = kPaleInk, .width = width - 56});
        sample += 31;
    };
    legend(on_hatch, screen_color(map_ramp(0.4)).rgb, "beyond the tolerance; the line is its edge");
    if (map.glossy > 0) legend(on_ring, kPaper, "gloss: not judged");
    if (map.spoiled > 0) legend(on_cross, kPaper, "clipped: not judged");

    double line = std::max(top + kMapHeight, on.bottom()) + 52;
    line = std::min(line, std::max(on.bottom() + 50, sample + 14));
    for (std::size_t i = 1; i < words.size() && line < page_height - 40; ++i)
        line += 6 + pen.write(kPageMargin, line, words[i], {.size = 20, .width = full, .lines = 2});
}

}  // namespace

Lab map_ramp(double share) {
    const double t = std::clamp(share, 0.0, 1.0), hue = 265 * 3.14159265358979 / 180;
    const double chroma = 34 * 4 * t * (1 - t);  // none at either end: white to black through one blue
    return {96 - 80 * t, chroma * std::cos(hue), chroma * std::sin(hue), kWhiteD50};
}

std::string share_with_range(const MapFigure& share) {
    const auto whole = [](double v) { return fixed(100 * v, 0); };
    return whole(share.value) + " % (" + whole(share.ci95.low) + " to " + whole(share.ci95.high) + " %)";
}

std::vector<std::string> map_words(const DifferenceMap& map, const std::string& target) {
    const std::string grain = std::isfinite(map.noise) ? "\u00b1 " + fixed(std::max(map.noise, 0.1), 1) : "\u00b1 unknown";
    std::vector<std::string> words;
    words.push_back(share_with_range(map.within) + " of the part lies within " + brief(map.tolerance) + " of " + target + "; half of it within " +
                    figure_with_range(map.median.value, map.median.ci95) + ", 95 % of it within " + figure_with_range(map.p95.value, map.p95.ci95) +
                    ".");
    if (map.patches.empty()) {
        words.push_back("Even: 95 % of it keeps within " + fixed(map.uneven, 1) + " " + grain + " of its usual color.");
    } else {
        words.push_back("Not even: 95 % of it keeps within " + fixed(map.uneven, 1) + " " + grain + " of its usual color. Places that stand out:");
        for (std::size_t i = 0; i < map.patches.size(); ++i) {
            const MapPatch& patch = map.patches[i];
            std::string line = std::string(1, static_cast<char>('A' + static_cast<int>(i))) + ", " + patch.where + ", " + percent(patch.share) +
                               " of it: " + fixed(patch.de00, 1) + " " + grain + " off, " + patch.words;
            if (std::abs(patch.dL) > 2 * std::abs(patch.dC) + 0.3 && std::abs(patch.dL) < 3 * map.light_doubt) {
                line += "; the light there is known to \u00b1 " + fixed(map.light_doubt, 1) + " in L* only, so it may be the light";
            } else if (std::abs(patch.dL) > 0.4 && patch.de00 < kOther) {
                line += std::string("; paint lying thin over a ") + (patch.dL > 0 ? "lighter" : "darker") + " undercoat looks so" +
                        (patch.dL > 0 && patch.dC < -0.2 ? ", and so does sheen" : "");
            }
            words.push_back(line + ".");
        }
    }
    if (map.uneven > kOther || map.glossy > 0.15)
        words.emplace_back("That much difference is seldom one paint: mark the part alone, without what lies around it.");
    if (map.glossy > 0)
        words.push_back("Gloss on " + percent(map.glossy) +
                        " of it, left out: bright places toward white. Turn the part or the lamp until they are gone.");
    if (map.spoiled > 0) words.push_back(capitalized(percent(map.spoiled)) + " is clipped and left out: expose less.");
    words.push_back("Each figure of the map is a mean over " + fixed(map.smooth, 0) + " pixels; grain leaves " + grain +
                    " in it. Ranges hold what the doubt about the whole part's color leaves open, in 95 % of cases.");
    return words;
}

Result<Done> can_save_difference_picture(const std::string& path) { return can_save_page(path, "map"); }

Result<Done> save_difference_picture(const Photo& photo, const Calibration& calibration, const DifferenceMap& map, const std::string& title,
                                     const std::vector<std::string>& words, const std::string& path) {
    return save_page(path, title, kPageHeight, "map",
                     [&](Pen& pen, double page_height) { draw(pen, photo, calibration, map, title, words, page_height); });
}

}  // namespace sw
