// Finding the 24-patch chart in the simulated photos, and refusing what is not a chart.
#include "calibrate/chart.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "photo/photo.hpp"

namespace sw {
namespace {

using nlohmann::json;
namespace fs = std::filesystem;

struct Case {
    fs::path file;
    ChartCorners corners{};
};

std::vector<Case> cases() {
    std::vector<Case> all;
    for (const auto& folder : fs::directory_iterator(fs::path(SW_TESTS) / "photos")) {
        if (!folder.is_directory()) continue;
        std::ifstream in(folder.path() / "truth.json");
        const json truth = json::parse(in);
        for (const json& photo : truth["photos"]) {
            Case c{folder.path() / photo["file"].get<std::string>(), {}};
            if (!fs::exists(c.file)) c.file = fs::path(SW_BESIDE) / "photos" / folder.path().filename() / photo["file"].get<std::string>();
            if (!fs::exists(c.file)) continue;
            const json& k = photo["chart"]["corners_of_outer_patches"];
            for (std::size_t i = 0; i < 4; ++i) c.corners[i] = {k[2 * i], k[2 * i + 1]};
            all.push_back(c);
        }
    }
    std::sort(all.begin(), all.end(), [](const Case& a, const Case& b) { return a.file < b.file; });
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
    int found = 0, all = 0;
    for (const Case& c : cases()) {
        const Result<Photo> photo = load_photo(c.file);
        ASSERT_TRUE(photo) << describe(photo.error());
        ++all;
        const Result<ChartCorners> corners = find_chart(*photo);
        if (!corners) {
            std::printf("%s: %s\n", c.file.parent_path().filename().c_str(), describe(corners.error()).c_str());
            continue;
        }
        const double error = off(*corners, c.corners);
        std::printf("%s %s: corners off by %.2f of a pitch\n", c.file.parent_path().filename().c_str(), c.file.filename().c_str(), error);
        EXPECT_LT(error, 0.1) << c.file;
        found += error < 0.1;
    }
    std::printf("found %d of %d\n", found, all);
    EXPECT_EQ(found, all);
}

TEST(Chart, CornersInAnotherOrderAreToldApart) {
    const std::vector<Case> all = cases();
    ASSERT_FALSE(all.empty());
    const Result<Photo> photo = load_photo(all[1].file);
    ASSERT_TRUE(photo);
    const ChartCorners& right = all[1].corners;
    EXPECT_TRUE(check_corners(*photo, right));
    const Result<ChartCorners> turned = check_corners(*photo, {right[2], right[3], right[0], right[1]});
    ASSERT_FALSE(turned);
    EXPECT_EQ(turned.error().fault, Fault::chart_not_found);
    EXPECT_NE(turned.error().cause.find("turned"), std::string::npos);
    const Result<ChartCorners> mirrored = check_corners(*photo, {right[1], right[0], right[3], right[2]});
    ASSERT_FALSE(mirrored);
    EXPECT_NE(mirrored.error().cause.find("mirrored"), std::string::npos);
    EXPECT_FALSE(check_corners(*photo, {right[0], right[2], right[1], right[3]}));                          // crossing over
    EXPECT_FALSE(check_corners(*photo, {Point{-5, 10}, right[1], right[2], right[3]}));                     // cut off
    EXPECT_FALSE(check_corners(*photo, {Point{10, 10}, Point{30, 10}, Point{30, 25}, Point{10, 25}}));      // too small
    EXPECT_FALSE(check_corners(*photo, {Point{10, 10}, Point{900, 10}, Point{900, 300}, Point{10, 300}}));  // not the chart
}

TEST(Chart, AMirroredPictureStillGivesPatchOneFirst) {
    const std::vector<Case> all = cases();
    Result<Photo> photo = load_photo(all[1].file);
    ASSERT_TRUE(photo);
    for (int y = 0; y < photo->height; ++y) {
        for (int x = 0; x < photo->width / 2; ++x) {
            for (int c = 0; c < 3; ++c) {
                std::swap(photo->rgb[3 * (static_cast<std::size_t>(y) * photo->width + x) + c],
                          photo->rgb[3 * (static_cast<std::size_t>(y) * photo->width + photo->width - 1 - x) + c]);
            }
        }
    }
    ChartCorners expected = all[1].corners;
    for (Point& p : expected) p.x = photo->width - p.x;
    const Result<ChartCorners> corners = find_chart(*photo);
    ASSERT_TRUE(corners) << describe(corners.error());
    EXPECT_LT(off(*corners, expected), 0.2);
}

TEST(Chart, IsNotSeenWhereThereIsNone) {
    Photo photo;
    photo.width = 400;
    photo.height = 300;
    photo.rgb.assign(3 * 400 * 300, 0.3F);
    photo.clipped.assign(400 * 300, 0);
    const Result<ChartCorners> corners = find_chart(photo);
    ASSERT_FALSE(corners);
    EXPECT_EQ(corners.error().fault, Fault::chart_not_found);
    EXPECT_NE(corners.error().remedy.find("corners"), std::string::npos);
}

}  // namespace
}  // namespace sw
