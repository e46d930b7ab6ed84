// Finding the 24-patch chart in the simulated photos, and refusing what is not a chart.
#include "calibrate/chart.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "calibrate/calibration.hpp"
#include "chart_picture.hpp"
#include "photo/photo.hpp"
#include "photo/region.hpp"
#include "slow.hpp"
#include "spectral/tables.hpp"

namespace sw {
namespace {

using Json = nlohmann::json;
namespace fs = std::filesystem;

struct Photograph {
    fs::path file;
    ChartCorners corners{};
};

std::vector<Photograph> cases() {
    std::vector<Photograph> all;
    for (const auto& folder : fs::directory_iterator(fs::path(SW_TESTS) / "photos")) {
        if (!folder.is_directory()) continue;
        std::ifstream in(folder.path() / "truth.json");
        const Json truth = Json::parse(in);
        for (const Json& photo : truth["photos"]) {
            Photograph c{folder.path() / photo["file"].get<std::string>(), {}};
            if (!fs::exists(c.file)) c.file = fs::path(SW_BESIDE) / "photos" / folder.path().filename() / photo["file"].get<std::string>();
            if (!fs::exists(c.file)) continue;
            const Json& k = photo["chart"]["corners_of_outer_patches"];
            for (std::size_t i = 0; i < 4; ++i) c.corners[i] = {k[2 * i], k[2 * i + 1]};
            all.push_back(c);
        }
    }
    std::sort(all.begin(), all.end(), [](const Photograph& a, const Photograph& b) { return a.file < b.file; });
    return all;
}

/// Largest corner error in pitches of the chart.
double off(const ChartCorners& a, const ChartCorners& b) {
    const double pitch = std::hypot(b[1].x - b[0].x, b[1].y - b[0].y) / 5.85;
    double worst = 0;
    for (std::size_t i = 0; i < 4; ++i) worst = std::max(worst, std::hypot(a[i].x - b[i].x, a[i].y - b[i].y) / pitch);
    return worst;
}

// The patches' middle half is read: a corner may be off by a fifth of a pitch before the reading leaves its patch (patch 0.85, middle half 0.42 of a
// pitch).
TEST(Chart, IsFoundInEveryPhoto) {
    int found = 0, all = 0, seen = 0;
    for (const Photograph& c : cases()) {
        if (seen++ % (test::kSlow ? 5 : 1) != 0) continue;
        const Result<Photo> photo = load_photo(c.file);
        ASSERT_TRUE(photo) << describe(photo.error());
        ++all;
        const Result<ChartSight> corners = find_chart(*photo);
        if (!corners) {
            std::printf("%s: %s\n", c.file.parent_path().filename().c_str(), describe(corners.error()).c_str());
            continue;
        }
        const double error = off(corners->corners, c.corners);
        std::printf("%s %s: corners off by %.2f of a pitch\n", c.file.parent_path().filename().c_str(), c.file.filename().c_str(), error);
        EXPECT_LT(error, 0.1) << c.file;
        found += error < 0.1;
    }
    std::printf("found %d of %d\n", found, all);
    EXPECT_EQ(found, all);
}

/// The refusal's words; empty where there is none.
std::string words(const Result<ChartSight>& r) {
    if (r) return "";
    EXPECT_EQ(r.error().fault, Fault::chart_not_found);
    EXPECT_FALSE(r.error().remedy.empty());
    return r.error().cause;
}

TEST(BadCharts, CornersAreRefusedWithTheReason) {
    const std::vector<Photograph> all = cases();
    ASSERT_FALSE(all.empty());
    const Result<Photo> photo = load_photo(all[1].file);
    ASSERT_TRUE(photo);
    const ChartCorners& right = all[1].corners;
    const auto given = [&](const ChartCorners& c) { return words(check_corners(*photo, c)); };
    EXPECT_EQ(given(right), "");
    const double nan = std::nan(""), w = photo->width, h = photo->height;
    const std::vector<std::pair<ChartCorners, std::string>> bad{
        {{right[2], right[3], right[0], right[1]}, "the chart lies turned: the corners are given in another order"},
        {{right[1], right[2], right[3], right[0]}, "the chart lies turned: the corners are given in another order"},
        {{right[1], right[0], right[3], right[2]}, "the corners are given in mirrored order"},
        {{right[0], right[2], right[1], right[3]}, "the corners cross over"},
        {{right[0], right[0], right[0], right[0]}, "the chart is too small to measure"},
        {{Point{-5, 10}, right[1], right[2], right[3]},
         "a corner lies outside the picture (" + std::to_string(photo->width) + " x " + std::to_string(photo->height) + ")"},
        {{right[0], Point{w + 1, 10}, right[2], right[3]},
         "a corner lies outside the picture (" + std::to_string(photo->width) + " x " + std::to_string(photo->height) + ")"},
        {{Point{nan, 10}, right[1], right[2], right[3]}, "a corner is not a number"},
        {{Point{10, 10}, Point{30, 10}, Point{30, 25}, Point{10, 25}}, "the chart is too small to measure"},
        {{Point{0, 0}, Point{w, 0}, Point{w, h}, Point{0, h}}, "the colors between these corners do not fit the 24-patch chart"},
    };
    for (const auto& [corners, reason] : bad) EXPECT_EQ(given(corners), reason);
}

/// A part of a photo, scaled down by whole numbers.
Photo part(const Photo& photo, int x0, int y0, int w, int h, int step = 1) {
    Photo cut;
    cut.path = photo.path;
    cut.width = w / step;
    cut.height = h / step;
    for (int y = 0; y < cut.height; ++y) {
        for (int x = 0; x < cut.width; ++x) {
            const auto p = photo.pixel(x0 + x * step, y0 + y * step);
            cut.rgb.insert(cut.rgb.end(), p.begin(), p.end());
        }
    }
    cut.clipped.assign(1UL * static_cast<std::size_t>(cut.width) * static_cast<std::size_t>(cut.height), 0);
    return cut;
}

TEST(BadCharts, AreRefusedOrToldOfWhenFoundByThemselves) {
    test::ChartShot shot;
    shot.width = 900, shot.height = 600, shot.share = 0.5, shot.boxes = 10, shot.fan_deck = false;
    const test::ChartPicture whole = chart_picture(shot, 8);
    const double x0 = whole.corners[0].x, y0 = whole.corners[0].y, pitch = whole.pitch;
    const auto cut_at = [&](double columns, double rows) {  // that many columns and rows stay in view
        const int left = static_cast<int>(x0 + (6 - columns) * pitch), bottom = static_cast<int>(y0 + rows * pitch);
        return part(whole.photo, left, 0, 900 - left, std::min(600, bottom));
    };
    // Two columns gone: the other sixteen will do.
    const Result<ChartSight> sixteen = find_chart(cut_at(4, 6));
    ASSERT_TRUE(sixteen) << describe(sixteen.error());
    ASSERT_EQ(sixteen->notes.size(), 1U);
    EXPECT_EQ(sixteen->notes[0], "8 patches of the chart are cut off by the edge of the picture; the others were used");
    EXPECT_EQ(sixteen->lost[0], "outside the picture");
    EXPECT_EQ(sixteen->lost[2], "");
    const Result<Calibration> calibration = calibrate(cut_at(4, 6), {{}, {ChartMode::automatic, {}}, {}});
    ASSERT_TRUE(calibration) << describe(calibration.error());
    EXPECT_EQ(calibration->loo.count, 16);
    EXPECT_EQ(calibration->uses.size(), 24U);
    EXPECT_EQ(calibration->uses[0].remark, "outside the picture");
    // Half of it: refused. Without the row of neutrals: refused, for nothing tells the white.
    EXPECT_NE(words(find_chart(cut_at(2.5, 6))), "");
    EXPECT_NE(words(find_chart(cut_at(6, 2.5))), "");

    shot.covered = 4;
    EXPECT_NE(words(find_chart(chart_picture(shot, 8).photo)), "");
    shot.covered = 1;
    const Result<ChartSight> covered = find_chart(chart_picture(shot, 8).photo);
    ASSERT_TRUE(covered);
    EXPECT_EQ(covered->lost[18], "covered, in glare or in shadow");
    EXPECT_EQ(covered->lost[7], "");
    shot.covered = 0;

    shot.mirrored = true;
    const Result<ChartSight> mirrored = find_chart(chart_picture(shot, 8).photo);
    ASSERT_TRUE(mirrored);
    EXPECT_TRUE(mirrored->mirrored);
    ASSERT_EQ(mirrored->notes.size(), 1U);
    EXPECT_EQ(mirrored->notes[0], "the chart is mirrored: is the whole picture? Its colors fit, so it was used");
    shot.mirrored = false;

    shot.shadow = 0.3;
    const Result<ChartSight> shaded = find_chart(chart_picture(shot, 9).photo);
    ASSERT_TRUE(shaded) << describe(shaded.error());
    ASSERT_FALSE(shaded->notes.empty());
    EXPECT_NE(shaded->notes.back().find("shadow"), std::string::npos) << shaded->notes.back();
    shot.shadow = 1;

    shot.second = true, shot.off_x = -0.15, shot.share = 0.45;
    const test::ChartPicture two = chart_picture(shot, 10);
    const Result<ChartSight> larger = find_chart(two.photo);
    ASSERT_TRUE(larger);
    EXPECT_LT(off(larger->corners, two.corners), 0.1);
    EXPECT_EQ(larger->notes.back(), "more than one chart is in the picture; the largest was used");

    EXPECT_EQ(words(find_chart(part(whole.photo, 0, 0, 50, 30))), "the picture is too small to look for a chart");
    EXPECT_NE(words(find_chart(part(whole.photo, 0, 0, 900, 600, 12))), "");  // 4 pixels a patch
}

// The demo's photos without a chart, and the simulated benches with theirs painted over in the color beside it.
TEST(Chart, IsNotSeenInPhotosWithout) {
    for (const char* name : {"card_tone_mapped.jpg", "warm_lamp_upright.jpg", "screen_grab.png"}) {
        const Result<Photo> photo = load_photo((fs::path(SW_ASSETS) / "demo" / name).string());
        if (!photo) continue;
        EXPECT_FALSE(find_chart(*photo)) << name;
    }
    int seen = 0, all = 0;
    for (const Photograph& c : cases()) {
        if (c.file.string().find("case-01") != std::string::npos || c.file.string().find("case-16") != std::string::npos)
            continue;  // the two large files
        if (test::kSlow && all > 1) break;
        Result<Photo> photo = load_photo(c.file);
        ASSERT_TRUE(photo);
        Point middle{0, 0};
        for (const Point& p : c.corners) middle = {middle.x + p.x / 4, middle.y + p.y / 4};
        Polygon over;
        for (const Point& p : c.corners) over.points.push_back({middle.x + 1.15 * (p.x - middle.x), middle.y + 1.15 * (p.y - middle.y)});
        const Region region = over;
        const Point beside = over.points[0];
        photo = as_light(*std::move(photo));
        const std::array<float, 3> color = photo->pixel(std::clamp(static_cast<int>(beside.x) - 4, 0, photo->width - 1),
                                                        std::clamp(static_cast<int>(beside.y) - 4, 0, photo->height - 1));
        for (int y = 0; y < photo->height; ++y) {
            for (int x = 0; x < photo->width; ++x) {
                if (!contains(region, {x + 0.5, y + 0.5})) continue;
                std::copy(color.begin(), color.end(),
                          &photo->rgb[3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(photo->width) + static_cast<std::size_t>(x))]);
            }
        }
        seen += find_chart(*photo) ? 1 : 0;
        ++all;
    }
    std::printf("charts seen where they are painted over: %d of %d\n", seen, all);
    EXPECT_EQ(seen, 0);
}

TEST(Chart, IsNotSeenWhereThereIsNone) {
    Photo photo;
    photo.width = 400;
    photo.height = 300;
    photo.rgb.assign(3 * 400 * 300, 0.3F);
    photo.clipped.assign(400 * 300, 0);
    const Result<ChartSight> corners = find_chart(photo);
    ASSERT_FALSE(corners);
    EXPECT_EQ(corners.error().fault, Fault::chart_not_found);
    EXPECT_NE(corners.error().remedy.find("corners"), std::string::npos);
}

}  // namespace
}  // namespace sw
