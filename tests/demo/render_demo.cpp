// Makes the demo's pictures and the file with their true colors, from spectra. No picture of the demo is drawn or touched up by hand.
//   render_demo FOLDER           writes everything into FOLDER
//   render_demo --check FOLDER   makes everything again in memory and compares it with what lies in FOLDER; exit code 1 if it differs
#include <OpenImageIO/imageio.h>
#include <lcms2.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <nlohmann/json.hpp>
#include <optional>
#include <sstream>

#include "color/adaptation.hpp"
#include "color/color.hpp"
#include "color/difference.hpp"
#include "color/light.hpp"
#include "demo/bench.hpp"
#include "demo/camera.hpp"
#include "demo/film.hpp"
#include "demo/paint.hpp"
#include "demo/shelf.hpp"

namespace demo {
namespace {

using nlohmann::ordered_json;

// The lights. The bench lamp is a cool LED, as sold for workshops.
constexpr const char* kBenchLamp = "led:6500,ra=80";
constexpr const char* kDaylight = "daylight:6200";
constexpr const char* kShedLamp = "LED-B3";
constexpr const char* kWarmLamp = "planck:2850";
const std::vector<std::string>& compared_lights() {
    static const std::vector<std::string> names = {"D50", "D65", "A", kBenchLamp, "LED-B3"};
    return names;
}

// The chips, and the swatches sprayed to match them from the shelf.
struct Pair {
    std::string chip_name;
    Recipe chip;
    Recipe shelf;         // paints the swatch is mixed from; shares to begin with
    std::string matched;  // under which light the swatch was matched by eye
    double dL, da, db;    // where the eye stopped
};
const Pair& damson() {
    static const Pair pair{"Damson 14",
                           {{"Titanium White", 1}, {"Cobalt Violet", 2.5}, {"Cobalt Blue", 1.0}, {"Raw Sienna", 1.0}},
                           {{"Titanium White", 1}, {"Yellow Oxide", 0.3}, {"Phthalo Green", 0.2}, {"Quinacridone Violet", 0.9}},
                           kBenchLamp,
                           -0.4,
                           -1.2,
                           0.3};
    return pair;
}
const Pair& straw() {
    static const Pair pair{"Straw 31",
                           {{"Titanium White", 1}, {"Raw Sienna", 0.10}, {"Diarylide Yellow", 0.14}, {"Cobalt Blue", 0.02}},
                           {{"Titanium White", 1}, {"Yellow Oxide", 0.5}, {"Red Oxide", 0.007}, {"Phthalo Green", 0.005}},
                           "D65",
                           -0.4,
                           -0.3,
                           -0.6};
    return pair;
}
const Pair& heather() {
    static const Pair pair{"Heather 09",
                           {{"Titanium White", 1}, {"Cobalt Blue", 0.15}, {"Cobalt Violet", 0.20}, {"Raw Sienna", 0.10}, {"Carbon Black", 0.02}},
                           {{"Titanium White", 1}, {"Ultramarine", 0.1}, {"Quinacridone Violet", 0.08}, {"Carbon Black", 0.04}},
                           kShedLamp,
                           -2.2,
                           0.9,
                           1.2};
    return pair;
}
Recipe wet_slate() { return {{"Titanium White", 1}, {"Indanthrone Blue", 0.5}, {"Carbon Black", 0.2}, {"Yellow Oxide", 0.15}}; }

sw::Reflectance gray_card() {
    sw::Reflectance card = plain(0.181, 0.004);  // a little warm
    for (std::size_t i = 0; i < sw::kBands; ++i) card.value[i] -= 0.05 / (1 + std::exp((sw::kFirstNm + static_cast<double>(i) - 400) / 8));
    return card;
}
sw::Reflectance cardboard() { return painted({{"Titanium White", 1}, {"Raw Sienna", 0.20}, {"Burnt Umber", 0.09}}); }
sw::Reflectance chip_paper() { return plain(0.84, 0.02); }
sw::Reflectance stirring_stick() { return painted({{"Titanium White", 1}, {"Raw Sienna", 0.13}, {"Diarylide Yellow", 0.02}}); }

sw::Light named(const std::string& text) {
    auto found = sw::light(text);
    if (!found) throw std::runtime_error(sw::describe(found.error()));
    return *found;
}

std::vector<sw::Reflectance> chart_patches() {
    std::ifstream file(SW_CHART);
    std::vector<std::vector<double>> columns(24);
    double first = 0;
    for (std::string line; std::getline(file, line);) {
        if (line.empty() || line[0] == '#' || line.starts_with("wavelength")) continue;
        std::istringstream cells(line);
        std::string cell;
        std::getline(cells, cell, ',');
        if (columns[0].empty()) first = std::stod(cell);
        for (auto& column : columns) {
            std::getline(cells, cell, ',');
            column.push_back(std::stod(cell));
        }
    }
    std::vector<sw::Reflectance> patches;
    for (auto& column : columns) {
        auto patch = sw::reflectance({first, 5, column}, "chart");
        if (!patch) throw std::runtime_error(sw::describe(patch.error()));
        patches.push_back(*patch);
    }
    return patches;
}

double rounded(double value, int digits = 4) {
    const double scale = std::pow(10.0, digits);
    const double result = std::round(value * scale) / scale;
    return result == 0 ? 0 : result;  // no -0
}
sw::Lab seen(const sw::Reflectance& surface, const sw::Light& light) {
    return sw::lab(sw::xyz(surface, light, sw::Observer::degree2), sw::xyz(light, sw::Observer::degree2));
}
ordered_json numbers(const sw::Lab& lab) { return {rounded(lab.L), rounded(lab.a), rounded(lab.b)}; }
ordered_json colors(const sw::Reflectance& surface, const sw::Light& photo_light) {
    return {{"lab_d50", numbers(seen(surface, named("D50")))},
            {"lab_photo", numbers(seen(surface, photo_light))},
            {"lrv", rounded(sw::xyz(surface, named("D50"), sw::Observer::degree2).Y)}};
}

/// A finished picture, upright; how it is stored is said beside it.
struct Shot {
    std::string file;
    int width = 0, height = 0;
    std::vector<std::uint8_t> rgb;
    int orientation = 1;
    bool wide = false;  // profile with the primaries of SMPTE EG 432-1
    ordered_json truth;
};

std::vector<char> wide_profile() {
    cmsCIExyY white{0.3127, 0.3290, 1};
    const cmsCIExyYTRIPLE primaries{{0.680, 0.320, 1}, {0.265, 0.690, 1}, {0.150, 0.060, 1}};
    const std::array<cmsFloat64Number, 5> transfer{2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045};  // IEC 61966-2-1
    cmsToneCurve* curve = cmsBuildParametricToneCurve(nullptr, 4, transfer.data());
    const std::array<cmsToneCurve*, 3> curves{curve, curve, curve};
    cmsHPROFILE profile = cmsCreateRGBProfile(&white, &primaries, curves.data());
    cmsUInt32Number size = 0;
    cmsSaveProfileToMem(profile, nullptr, &size);
    std::vector<char> bytes(size);
    cmsSaveProfileToMem(profile, bytes.data(), &size);
    cmsCloseProfile(profile);
    cmsFreeToneCurve(curve);
    // The header holds the time of making (bytes 24 to 35, ICC.1:2022 7.2): the same every time.
    const std::array<char, 12> date{7, static_cast<char>(0xEA), 0, 5, 0, 2, 0, 10, 0, 0, 0, 0};
    std::copy(date.begin(), date.end(), bytes.begin() + 24);
    return bytes;
}

/// As stored in the file: turned so that the orientation undoes it.
std::vector<std::uint8_t> stored(const Shot& shot, int& width, int& height) {
    width = shot.width;
    height = shot.height;
    if (shot.orientation != 6) return shot.rgb;
    width = shot.height;
    height = shot.width;
    std::vector<std::uint8_t> turned(shot.rgb.size());
    for (int y = 0; y < height; ++y) {
        for (int x = 0; x < width; ++x) {
            const std::size_t from =
                static_cast<std::size_t>(x) * static_cast<std::size_t>(shot.width) + static_cast<std::size_t>(shot.width - 1 - y);
            const std::size_t to = static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x);
            for (std::size_t k = 0; k < 3; ++k) turned[3 * to + k] = shot.rgb[3 * from + k];
        }
    }
    return turned;
}

void write(const Shot& shot, const std::filesystem::path& path) {
    int width = 0;
    int height = 0;
    const auto pixels = stored(shot, width, height);
    OIIO::ImageSpec spec(width, height, 3, OIIO::TypeDesc::UINT8);
    spec.attribute("oiio:ColorSpace", "sRGB");
    if (shot.file.ends_with(".jpg")) {
        spec.attribute("Compression", "jpeg:92");
        spec.attribute("Make", "Swatchwright");
        spec.attribute("Model", "Rendered demo, no real camera");
        spec.attribute("DateTime", "2026:05:02 10:00:00");
        spec.attribute("Orientation", shot.orientation);
    } else {
        spec.attribute("png:compressionLevel", 9);
    }
    if (shot.wide) {
        const auto profile = wide_profile();
        spec.attribute("ICCProfile", OIIO::TypeDesc(OIIO::TypeDesc::UINT8, static_cast<int>(profile.size())), profile.data());
    }
    const auto file = OIIO::ImageOutput::create(path.string());
    if (!file || !file->open(path.string(), spec) || !file->write_image(OIIO::TypeDesc::UINT8, pixels.data()) || !file->close()) {
        throw std::runtime_error("cannot write " + path.string() + (file ? ": " + file->geterror() : ""));
    }
}

/// Truth of a bench photo, from the items' roles.
ordered_json truth_of(const Bench& bench, const std::string& light_name, const Pair& pair, const sw::Reflectance& chip, const sw::Reflectance& swatch,
                      const Recipe& swatch_recipe) {
    const sw::Light light = named(light_name);
    ordered_json truth = {{"light", light_name}, {"size", {bench.width, bench.height}}};
    ordered_json regions;
    ordered_json patches = ordered_json::array();
    std::array<Eigen::Vector2d, 4> outer;
    for (const Item& item : bench.items) {
        const auto box = inner_box(bench, item);
        ordered_json entry = {{"rect", box}};
        entry.update(colors(item.surface, light));
        if (item.role == "card" || item.role == "chip" || item.role == "swatch") regions[item.role] = entry;
        if (item.role.starts_with("patch ")) {
            const int number = std::stoi(item.role.substr(6));
            entry["number"] = number;
            patches.push_back(entry);
            // Outer corners of patches 1, 6, 24, 19: top left, top right, bottom right, bottom left of the chart.
            const auto c = corners(bench, item);
            if (number == 1) outer[0] = c[0];
            if (number == 6) outer[1] = c[1];
            if (number == 24) outer[2] = c[2];
            if (number == 19) outer[3] = c[3];
        }
    }
    truth["regions"] = regions;
    truth["chart"] = nullptr;
    if (!patches.empty()) {
        ordered_json at = ordered_json::array();
        for (const auto& corner : outer) {
            at.push_back(rounded(corner[0], 2));
            at.push_back(rounded(corner[1], 2));
        }
        truth["chart"] = {{"corners", at}, {"patches", patches}};
    }
    truth["chip"] = pair.chip_name;
    ordered_json shares;
    double sum = 0;
    for (const auto& [name, share] : swatch_recipe) sum += share;
    for (const auto& [name, share] : swatch_recipe) shares[name] = rounded(share / sum, 5);
    truth["swatch_recipe"] = shares;
    ordered_json de00;
    for (const auto& name : compared_lights()) de00[name] = rounded(sw::difference_2000(seen(chip, named(name)), seen(swatch, named(name))));
    de00["photo"] = rounded(sw::difference_2000(seen(chip, light), seen(swatch, light)));
    truth["pair_de00"] = de00;
    return truth;
}

/// Chip (with its paper strip) and swatch side by side, from (x, y) on.
void lay_pair(std::vector<Item>& items, double x, double y, double w, double h, const sw::Reflectance& chip, const sw::Reflectance& swatch,
              double turn = 0) {
    items.push_back({.role = "",
                     .x = x - 1.5,
                     .y = y - 1.5,
                     .w = w + 1.5,
                     .h = h + 17,
                     .surface = chip_paper(),
                     .height_mm = 0.5,
                     .texture = 0.003,
                     .turn = turn});
    items.push_back({.role = "chip", .x = x, .y = y, .w = w, .h = h, .surface = chip, .height_mm = 0, .texture = 0.004, .turn = turn});
    items.push_back(
        {.role = "swatch", .x = x + w, .y = y - 3, .w = w * 0.95, .h = h + 7, .surface = swatch, .height_mm = 0.5, .texture = 0.012, .turn = turn});
}

Shot shoot(const std::string& file, const Bench& bench, CameraSettings settings, const std::string& light_name, const Pair& pair,
           int orientation = 1) {
    const sw::Reflectance chip = painted(pair.chip);
    const Recipe recipe = matched_under(named(pair.matched), chip, pair.shelf, pair.dL, pair.da, pair.db);
    const sw::Light light = named(light_name);
    const Camera camera(settings, chart_patches());
    const Picture scene = render(bench, [&](const sw::Reflectance& surface) { return camera.sees(surface, light); });
    ordered_json truth = truth_of(bench, light_name, pair, chip, painted(recipe), recipe);
    const sw::Xyz white = sw::xyz(light, sw::Observer::degree2);
    truth["camera_limit_pair_de00"] =
        rounded(sw::difference_2000(sw::lab(camera.at_best(chip, light), white), sw::lab(camera.at_best(painted(recipe), light), white)));
    return {.file = file,
            .width = bench.width,
            .height = bench.height,
            .rgb = camera.develop(scene, light),
            .orientation = orientation,
            .wide = settings.wide,
            .truth = truth};
}

std::vector<Shot> all_shots() {
    std::vector<Shot> shots;
    const auto swatch_of = [](const Pair& pair) {
        return painted(matched_under(named(pair.matched), painted(pair.chip), pair.shelf, pair.dL, pair.da, pair.db));
    };

    // The bench with everything on it, photographed under the lamp and again at the window, not quite from the same place.
    Bench bench;
    bench.board = cardboard();
    bench.items = chart(15, 14, 21.5, 3.6, chart_patches());
    bench.items.push_back({.role = "card",
                           .x = 192,
                           .y = 22,
                           .w = 88,
                           .h = 66,
                           .surface = gray_card(),
                           .height_mm = 1.0,
                           .texture = 0.005,
                           .corner_mm = 1.5,
                           .turn = 1.2});
    lay_pair(bench.items, 70, 139, 62, 56, painted(damson().chip), swatch_of(damson()));
    bench.items.push_back({.role = "",
                           .x = 245,
                           .y = 104,
                           .w = 9,
                           .h = 118,
                           .surface = stirring_stick(),
                           .height_mm = 1.8,
                           .texture = 0.04,
                           .corner_mm = 4.4,
                           .turn = 14});
    bench.turn = -0.9;
    bench.lean_x = 0.012;
    bench.lean_y = -0.02;
    bench.across = -0.13;
    bench.down = -0.07;
    bench.vignette = 0.09;
    bench.seed = 14;
    shots.push_back(shoot("bench_led_chart.jpg", bench, {.preset = "daylight:5000", .adapted = 0.45, .white = 0.80, .contrast = 0.16, .seed = 101},
                          kBenchLamp, damson()));

    Bench window = bench;
    window.turn = 0.7;
    window.lean_x = -0.01;
    window.pixels_per_mm = 3.94;
    window.across = 0.16;
    window.down = 0.03;
    window.vignette = 0.07;
    shots.push_back(
        shoot("daylight_chart.jpg", window, {.adapted = 0.9, .white = 0.78, .contrast = 0.16, .wide = true, .seed = 102}, kDaylight, damson()));

    // Gray card only, another camera that renders strongly.
    Bench small;
    small.w_mm = 225;
    small.h_mm = 168.75;
    small.width = 960;
    small.height = 720;
    small.pixels_per_mm = 4.25;
    small.board = cardboard();
    small.items = {{.role = "card",
                    .x = 24,
                    .y = 42,
                    .w = 60,
                    .h = 84,
                    .surface = gray_card(),
                    .height_mm = 1.0,
                    .texture = 0.005,
                    .corner_mm = 1.5,
                    .turn = -2}};
    lay_pair(small.items, 97, 40, 52, 62, painted(heather().chip), swatch_of(heather()));
    small.turn = 1.4;
    small.across = -0.08;
    small.down = -0.11;
    small.vignette = 0.12;
    small.seed = 9;
    shots.push_back(shoot("card_tone_mapped.jpg", small,
                          {.shift_nm = 2.5, .adapted = 0.88, .white = 0.62, .contrast = 0.34, .shoulder = 0.6, .seed = 103}, kShedLamp, heather()));

    // Upright photo, stored lying, under the warm lamp of the living room.
    Bench tall;
    tall.w_mm = 150;
    tall.h_mm = 200;
    tall.width = 660;
    tall.height = 880;
    tall.pixels_per_mm = 4.4;
    tall.board = cardboard();
    tall.items = {{.role = "card",
                   .x = 33,
                   .y = 16,
                   .w = 84,
                   .h = 60,
                   .surface = gray_card(),
                   .height_mm = 1.0,
                   .texture = 0.005,
                   .corner_mm = 1.5,
                   .turn = 1}};
    lay_pair(tall.items, 25, 98, 51, 68, painted(straw().chip), swatch_of(straw()));
    tall.turn = -1.1;
    tall.across = 0.07;
    tall.down = -0.12;
    tall.vignette = 0.10;
    tall.seed = 31;
    shots.push_back(shoot("warm_lamp_upright.jpg", tall, {.adapted = 0.8, .white = 0.74, .contrast = 0.14, .seed = 104}, kWarmLamp, straw(), 6));

    // The screen grab.
    Film film;
    film.body = painted(damson().chip);
    film.lining = painted(straw().chip);
    film.wheel = painted(wet_slate());
    film.platform = painted({{"Titanium White", 1}, {"Burnt Umber", 0.35}, {"Carbon Black", 0.04}});
    film.foliage = painted({{"Titanium White", 0.3}, {"Phthalo Green", 0.05}, {"Yellow Oxide", 0.4}, {"Burnt Umber", 0.1}});
    film.iron = plain(0.30, 0.02);
    film.seed = 22;
    const sw::Light daylight = named(kDaylight);
    const Camera camera({.shift_nm = -2, .adapted = 0.95}, chart_patches());
    const Still frame = still(film, [&](const sw::Reflectance& surface) { return camera.linear_srgb(camera.sees(surface, daylight), daylight); });
    Shot grab{.file = "screen_grab.png", .width = film.width, .height = film.height, .rgb = frame.rgb, .truth = {}};
    const sw::Xyz shown = sw::xyz(sw::LinearRgb{frame.hub_linear[0], frame.hub_linear[1], frame.hub_linear[2]});
    ordered_json target = {{"rect", frame.hub}};
    target.update(colors(film.wheel, daylight));
    target["lab_d50_on_screen"] = numbers(sw::lab(sw::adapt(shown, sw::kWhiteD65, sw::kWhiteD50), sw::kWhiteD50));
    grab.truth = {{"light", kDaylight},
                  {"size", {film.width, film.height}},
                  {"bars", {film.bar, film.bar}},
                  {"chip", "Wet Slate 22"},
                  {"regions", {{"target", target}}},
                  {"note", "lab_d50 is the paint; lab_d50_on_screen is what the graded picture shows there without its grain"}};
    shots.push_back(std::move(grab));
    return shots;
}

std::vector<std::pair<std::string, Recipe>> chips() {
    return {{"Damson 14", damson().chip}, {"Straw 31", straw().chip}, {"Heather 09", heather().chip}, {"Wet Slate 22", wet_slate()}};
}

ordered_json truth_of(const std::vector<Shot>& shots) {
    ordered_json photos = ordered_json::array();
    for (const Shot& shot : shots) {
        ordered_json photo = {{"file", shot.file}, {"orientation", shot.orientation}};
        photo.update(shot.truth);
        photos.push_back(photo);
    }
    return {{"made_by", "render_demo (tests/demo); do not edit"},
            {"method",
             "2-degree observer, sums at 1 nm; lab_d50 under D50, lab_photo under the photo's light, each relative to that light's white, Y = 100; "
             "lrv: Y under D50; rects are "
             "x, y, w, h and corners x, y in pixels of the upright picture; chart corners: outer corners of patches 1, 6, 24, 19; pair_de00: swatch "
             "against chip, CIEDE2000"},
            {"photos", photos}};
}

/// Largest difference of any number, and whether all else is equal.
double truth_difference(const ordered_json& a, const ordered_json& b, std::string& where, const std::string& at = "") {
    if (a.is_number() && b.is_number()) return std::abs(a.get<double>() - b.get<double>());
    if (a.type() != b.type() || a.size() != b.size()) {
        where = at;
        return 1e9;
    }
    if (!a.is_structured()) {
        if (a != b) where = at;
        return a == b ? 0 : 1e9;
    }
    double worst = 0;
    for (auto ia = a.begin(), ib = b.begin(); ia != a.end(); ++ia, ++ib) {
        const std::string next = at + "/" + (a.is_object() ? ia.key() : std::to_string(ia - a.begin()));
        if (a.is_object() && ia.key() != ib.key()) {
            where = next;
            return 1e9;
        }
        const double difference = truth_difference(*ia, *ib, where, next);
        if (difference > worst) {
            worst = difference;
            if (worst < 1e9) where = next;
        }
    }
    return worst;
}

/// The picture as somebody sees it who decodes the file. Compression is gone through, so that only rounding may differ.
std::vector<std::uint8_t> decoded(const std::filesystem::path& path, int& width, int& height) {
    const auto file = OIIO::ImageInput::open(path.string());
    if (!file) throw std::runtime_error("cannot read " + path.string());
    width = file->spec().width;
    height = file->spec().height;
    std::vector<std::uint8_t> pixels(static_cast<std::size_t>(width) * static_cast<std::size_t>(height) * 3);
    if (file->spec().nchannels != 3 || !file->read_image(0, 0, 0, 3, OIIO::TypeDesc::UINT8, pixels.data()))
        throw std::runtime_error("cannot read " + path.string());
    return pixels;
}

int check(const std::filesystem::path& folder) {
    // Rounding may differ between processors: a pixel at the edge of two codes, and with it its block of 8 x 8.
    constexpr double kMeanLimit = 0.02;
    constexpr int kPixelLimit = 12;
    constexpr double kTruthLimit = 2e-4;
    const auto again = std::filesystem::temp_directory_path() / ("render_demo_" + std::to_string(std::hash<std::string>{}(folder.string())));
    std::filesystem::create_directories(again);
    bool good = true;
    const auto shots = all_shots();
    for (const Shot& shot : shots) {
        write(shot, again / shot.file);
        int w = 0, h = 0, kept_w = 0, kept_h = 0;
        const auto fresh = decoded(again / shot.file, w, h);
        const auto kept = decoded(folder / shot.file, kept_w, kept_h);
        double sum = 0;
        int worst = 1000;
        if (w == kept_w && h == kept_h) {
            worst = 0;
            for (std::size_t i = 0; i < kept.size(); ++i) {
                const int difference = std::abs(fresh[i] - kept[i]);
                sum += difference;
                worst = std::max(worst, difference);
            }
        }
        const double mean = sum / static_cast<double>(kept.size());
        std::cout << shot.file << ": mean difference " << mean << ", largest " << worst << " of 255\n";
        good = good && mean <= kMeanLimit && worst <= kPixelLimit;
    }
    std::ifstream file(folder / "truth.json");
    const ordered_json kept = ordered_json::parse(file);
    std::string where;
    const double difference = truth_difference(kept, truth_of(shots), where);
    std::cout << "truth.json: largest difference " << difference << (where.empty() ? "" : " at " + where) << "\n";
    const double shelf =
        truth_difference(ordered_json::parse(std::ifstream(folder / "shelf.json")), ordered_json::parse(shelf_json(chips()).dump()), where);
    std::cout << "shelf.json: largest difference " << shelf << (where.empty() ? "" : " at " + where) << "\n";
    std::filesystem::remove_all(again);
    constexpr double kTenth = 0.11;  // figures are rounded to tenths: one may fall on the other side
    if (!good || difference > kTruthLimit || shelf > kTenth) {
        std::cout << "the demo is not what this program makes: run render_demo on the folder, and look at the pictures\n";
        return 1;
    }
    return 0;
}

}  // namespace
}  // namespace demo

int main(int argc, char** argv) try {
    const std::vector<std::string> arguments(argv + 1, argv + argc);
    if (arguments.size() == 2 && arguments[0] == "--check") return demo::check(arguments[1]);
    if (arguments.size() != 1 || arguments[0].starts_with("-")) {
        std::cerr << "usage: render_demo [--check] FOLDER\n";
        return 2;
    }
    const std::filesystem::path folder = arguments[0];
    std::filesystem::create_directories(folder);
    const auto shots = demo::all_shots();
    for (const auto& shot : shots) demo::write(shot, folder / shot.file);
    std::ofstream(folder / "truth.json") << demo::truth_of(shots).dump(1) << "\n";
    std::ofstream(folder / "shelf.json") << demo::shelf_json(demo::chips()).dump(1) << "\n";
    return 0;
} catch (const std::exception& error) {
    std::cerr << "render_demo: " << error.what() << "\n";
    return 1;
}
