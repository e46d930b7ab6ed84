#include "sheet/corrected.hpp"

#include <lcms2.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <memory>
#include <string_view>
#include <vector>

#include "calibrate/picture_map.hpp"
#include "calibrate/plain_steps.hpp"
#include "calibrate/sensor_model.hpp"
#include "color/difference.hpp"
#include "photo/words.hpp"
#include "photo/write_picture.hpp"
#include "sheet/file.hpp"
#include "sheet/pen.hpp"
#include "spectral/posterior.hpp"

namespace sw {
namespace {

struct Format {
    const char* name;  // for people
    PictureToWrite::Format format;
    int least_bits, most_bits;
};
constexpr Format kJpeg{"JPEG", PictureToWrite::Format::jpeg, 8, 8}, kPng{"PNG", PictureToWrite::Format::png, 8, 16},
    kTiff{"TIFF", PictureToWrite::Format::tiff, 16, 16};

const Format* format_of(const std::string& path) {
    std::string ending = std::filesystem::path(path).extension().string();
    for (char& c : ending) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    if (ending == ".jpg" || ending == ".jpeg") return &kJpeg;
    if (ending == ".png") return &kPng;
    if (ending == ".tif" || ending == ".tiff") return &kTiff;
    return nullptr;
}

std::vector<std::uint8_t> srgb_profile() {
    const std::unique_ptr<void, decltype(&cmsCloseProfile)> profile(cmsCreate_sRGBProfile(), &cmsCloseProfile);
    cmsUInt32Number size = 0;
    if (!profile || !cmsSaveProfileToMem(profile.get(), nullptr, &size)) return {};
    std::vector<std::uint8_t> bytes(size);
    if (!cmsSaveProfileToMem(profile.get(), bytes.data(), &size)) return {};
    return bytes;
}

std::string figure(double value) {
    char digits[32];
    return {digits, std::to_chars(digits, digits + sizeof digits, value, std::chars_format::fixed, 1).ptr};
}

/// A reference in the strip.
struct Tile {
    std::string name;
    EncodedRgb shown, known;
    double de00 = 0;
    bool used = true, read = true;
};

Lab under_light(const Lab& color, const LibraryView& d50, const LibraryView& target, const Xyz& white) {
    const std::vector<Eigen::Vector3d> at{{color.L, color.a, color.b}};
    const LocalMap map = local_map(neighborhood({&d50}, at), {&d50}, at, 0.01 * Eigen::Matrix3d::Identity(), {&target});
    return {map.mean[0], map.mean[1], map.mean[2], white};
}

std::vector<Tile> tiles_of(const Photo& photo, const Calibration& calibration, const PictureMap& map, const CorrectedOptions& options) {
    const PlainSteps steps = options.under ? plain_steps(calibration, *options.under, options.observer) : plain_steps(calibration);
    const Xyz white = options.under ? xyz(*options.under, options.observer) : kWhiteD50;
    LibraryView d50, target;
    if (options.under && !calibration.uses.empty()) {
        d50 = lab_view(*light("D50"), Observer::degree2);
        target = lab_view(*options.under, options.observer);
    }
    std::vector<Tile> tiles;
    for (const ReferenceUse& use : calibration.uses) {
        Tile tile{use.name, {}, {}, 0, use.used, false};
        const Lab known = options.under ? under_light(use.value, d50, target, white) : use.value;
        tile.known = screen_color(known).rgb;
        if (const Result<RegionStatistics> seen = region_statistics(photo, use.region, use.name)) {
            tile.read = true;
            tile.shown = map.color(seen->mean, use.at);
            Eigen::Vector3d v = steps.scene(seen->mean);
            if (map.levels()) v = v.array() / calibration.sensor->field(use.at).array().exp();
            v = 100 * steps.xyz(v);
            tile.de00 = difference_2000(known, lab(Xyz{v[0], v[1], v[2]}, white));
        }
        tiles.push_back(tile);
    }
    return tiles;
}

/// The strip: how it divides a picture's width. In units of `unit` pixels.
struct StripLayout {
    double unit, width, tile_width, left;
    int columns, rows;
    static constexpr double kGap = 14, kMargin = 28, kHead = 74, kTileHeight = 76, kRow = kTileHeight + 62;
    StripLayout(int picture_width, std::size_t tiles)
        : unit(std::max(0.75, picture_width / 1600.0)), width(picture_width / unit), tile_width(0), left(0), columns(1), rows(1) {
        constexpr double least = 160;
        const int fit = std::max(1, static_cast<int>((width - 2 * kMargin + kGap) / (least + kGap)));
        const int count = std::max(1, static_cast<int>(tiles));
        rows = (count + fit - 1) / fit;
        columns = (count + rows - 1) / rows;                                         // rows of like length
        if (count % 6 == 0 && fit >= 6 && columns > 6 && columns < 12) columns = 6;  // the chart's own rows
        if (count % 6 == 0 && fit >= 12) columns = std::min(count, 12);
        rows = (count + columns - 1) / columns;
        tile_width = std::min(260.0, (width - 2 * kMargin + kGap) / columns - kGap);
        left = (width - columns * (tile_width + kGap) + kGap) / 2;
    }
    [[nodiscard]] int height() const { return static_cast<int>(std::ceil(unit * (kHead + rows * kRow + kMargin / 2))); }
};

void draw_strip(Pen& pen, const StripLayout& layout, const std::vector<Tile>& tiles, const std::string& head) {
    pen.scale(layout.unit);
    pen.fill({0, 0, layout.width, layout.height() / layout.unit + 1}, kSurround);
    pen.write(StripLayout::kMargin, 20, head, {.size = 19, .ink = kPaper, .width = layout.width - 2 * StripLayout::kMargin, .lines = 2});
    for (std::size_t i = 0; i < tiles.size(); ++i) {
        const Tile& tile = tiles[i];
        const double x = layout.left + static_cast<double>(static_cast<int>(i) % layout.columns) * (layout.tile_width + StripLayout::kGap);
        const double y = StripLayout::kHead + static_cast<double>(static_cast<int>(i) / layout.columns) * StripLayout::kRow;
        const double half = layout.tile_width / 2;
        if (tile.read) pen.fill({x, y, half, StripLayout::kTileHeight}, tile.shown);
        pen.fill({x + half, y, half, StripLayout::kTileHeight}, tile.known);
        pen.frame({x, y, layout.tile_width, StripLayout::kTileHeight}, kInk, 1);  // a gray card is as gray as the surround
        const std::string apart = !tile.read ? "not read" : figure(tile.de00) + (tile.used ? "" : ", not used");
        pen.write(x, y + StripLayout::kTileHeight + 4, tile.name, {.size = 17, .ink = kPaper, .width = layout.tile_width});
        pen.write(x, y + StripLayout::kTileHeight + 26, apart, {.size = 17, .bold = true, .ink = kPaper, .width = layout.tile_width});
    }
}

std::string shown_light(const CorrectedOptions& options) { return options.under ? printable(options.under->name) : "D50"; }

template <class Code>
Result<Done> encode(const Photo& photo, const Calibration& calibration, const CorrectedOptions& options, const Format& format,
                    const std::string& path, SavedPicture& saved, const std::stop_token& stop, const std::function<void(float)>& progress,
                    std::vector<unsigned char>& bytes) {
    const PictureMap map(calibration, options.under, options.observer);
    const auto row = 3 * static_cast<std::size_t>(photo.width);
    std::vector<std::uint8_t> strip;
    int strip_height = 0;
    if (options.strip) {
        const std::vector<Tile> tiles = tiles_of(photo, calibration, map, options);
        const StripLayout layout(photo.width, tiles.size());
        strip_height = layout.height();
        const std::string head = tiles.empty() ? "No reference in this picture: its colors are as the camera gave them."
                                               : "References: left half as this picture shows them, right half their known color under " +
                                                     shown_light(options) + ", and how far apart they are (\u0394E00).";
        strip = draw_picture(photo.width, strip_height, [&](Pen& pen) { draw_strip(pen, layout, tiles, head); });
        if (strip.empty()) strip_height = 0;
    }
    saved.width = photo.width;
    saved.height = photo.height + strip_height;

    const std::string source = printable(std::filesystem::path(photo.path).filename().string());
    const PictureToWrite picture{.format = format.format,
                                 .width = saved.width,
                                 .height = saved.height,
                                 .bits = 8 * static_cast<int>(sizeof(Code)),
                                 .software = "Swatchwright",
                                 .description = "White and colors of " + source + " corrected by Swatchwright (" + printable(calibration.method) +
                                                "); surfaces as under " + shown_light(options) + ", its white as the screen's, sRGB" +
                                                (map.levels() ? "; uneven light leveled" : ""),
                                 .profile = srgb_profile(),
                                 .quick = true};
    Result<std::unique_ptr<PictureWriter>> made = picture_writer(picture, bytes);
    if (!made) return made.error();
    PictureWriter& out = **made;
    const auto failed = [&] {
        return Error{Fault::internal, path, "", std::string("could not be written as ") + format.name + ": " + out.trouble(), "try another format"};
    };
    const int block = std::max(32, 500'000 / std::max(1, photo.width));
    std::vector<Code> codes(row * static_cast<std::size_t>(block));
    for (int y = 0; y < saved.height;) {
        if (stop.stop_requested()) {
            return Error{Fault::cancelled, path, "", "was not written: stopped", "ask again when you want it"};
        }
        int end = std::min(y + block, saved.height);
        if (y < photo.height) {
            end = std::min(end, photo.height);
            convert_rows(photo, map, y, end, codes.data());
        } else {
            const std::size_t from = row * static_cast<std::size_t>(y - photo.height), count = row * static_cast<std::size_t>(end - y);
            std::transform(strip.begin() + static_cast<std::ptrdiff_t>(from), strip.begin() + static_cast<std::ptrdiff_t>(from + count),
                           codes.begin(), [](std::uint8_t c) { return static_cast<Code>(sizeof(Code) == 1 ? c : 257 * c); });
        }
        if (!out.rows(y, end, codes.data())) return failed();
        y = end;
        if (progress) progress(static_cast<float>(y) / static_cast<float>(saved.height));
    }
    if (!out.finish()) return failed();
    return Done{};
}

}  // namespace

Lab known_under(const Lab& color, const Light& under, Observer observer) {
    return under_light(color, lab_view(*light("D50"), Observer::degree2), lab_view(under, observer), xyz(under, observer));
}

Result<Done> can_save_corrected(const std::string& path, const std::string& photo_path, const CorrectedOptions& options) {
    const Format* format = format_of(path);
    if (format == nullptr) {
        return Error{Fault::bad_usage, path, "", "ends in none of .jpg, .png and .tif",
                     "give a file name like corrected.jpg, corrected.png or corrected.tif"};
    }
    if (options.bits && ((*options.bits != 8 && *options.bits != 16) || *options.bits < format->least_bits || *options.bits > format->most_bits)) {
        return Error{Fault::bad_usage, path, "", std::string(format->name) + " does not hold " + std::to_string(*options.bits) + " bits a channel",
                     "JPEG holds 8, PNG 8 or 16, TIFF is written with 16"};
    }
    std::error_code problem;
    if (std::filesystem::equivalent(path, photo_path, problem) && !problem) {
        return Error{Fault::bad_usage, path, "", "is the photo itself, which is never written over", "choose another name"};
    }
    return Done{};
}

Result<SavedPicture> save_corrected(const Photo& photo, const Calibration& calibration, const std::string& path, const CorrectedOptions& options,
                                    std::stop_token stop, const std::function<void(float)>& progress) {
    if (const Result<Done> can = can_save_corrected(path, photo.path, options); !can) return can.error();
    const Format& format = *format_of(path);
    SavedPicture saved;
    saved.format = format.name;
    saved.bits = std::clamp(options.bits.value_or(photo.bits > 8 ? 16 : 8), format.least_bits, format.most_bits);
    std::vector<unsigned char> bytes;
    const Result<Done> encoded = saved.bits == 8 ? encode<std::uint8_t>(photo, calibration, options, format, path, saved, stop, progress, bytes)
                                                 : encode<std::uint16_t>(photo, calibration, options, format, path, saved, stop, progress, bytes);
    if (!encoded) return encoded.error();
    const Result<Done> written = write_file(path, std::string_view(reinterpret_cast<const char*>(bytes.data()), bytes.size()));
    if (!written) return written.error();
    return saved;
}

}  // namespace sw
