// Finding the chart in made-up pictures, condition by condition; OpenCV's own finder beside it as an outside yardstick.
#include <gtest/gtest.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <opencv2/mcc.hpp>

#include "calibrate/calibration.hpp"
#include "calibrate/chart.hpp"
#include "chart_picture.hpp"
#include "photo/statistics.hpp"
#include "spectral/tables.hpp"

namespace sw {
namespace {

using test::chart_picture;
using test::ChartPicture;
using test::ChartShot;

double off(const ChartPicture& truth, const ChartCorners& found) {
    double worst = 0;
    for (std::size_t i = 0; i < 4; ++i) worst = std::max(worst, std::hypot(found[i].x - truth.corners[i].x, found[i].y - truth.corners[i].y));
    return worst / truth.pitch;
}

/// Whether OpenCV's finder puts a box over the chart: middle within a pitch, size within a third.
bool found_by_opencv(const ChartPicture& p) {
    cv::Mat3b picture(p.photo.height, p.photo.width);
    for (std::size_t i = 0; i < picture.total(); ++i) {
        for (std::size_t c = 0; c < 3; ++c)
            picture.data[3 * i + 2 - c] =
                cv::saturate_cast<unsigned char>(255 * linear_to_srgb(std::clamp(static_cast<double>(p.photo.rgb[3 * i + c]), 0.0, 1.0)));
    }
    const auto detector = cv::mcc::CCheckerDetector::create();
    try {
        if (!detector->process(picture, cv::mcc::MCC24, 3, false)) return false;
    } catch (const cv::Exception&) {
        return false;
    }
    Point middle{0, 0};
    for (const Point& c : p.corners) middle = {middle.x + c.x / 4, middle.y + c.y / 4};
    for (const auto& found : detector->getListColorChecker()) {
        Point m{0, 0};
        for (const cv::Point2f& q : found->getBox()) m = {m.x + q.x / 4, m.y + q.y / 4};
        if (std::hypot(m.x - middle.x, m.y - middle.y) < p.pitch) return true;
    }
    return false;
}

struct Condition {
    std::string name;
    ChartShot shot;
    double least = 1;  // share of the pictures in which it must be found
};

std::vector<Condition> conditions() {
    std::vector<Condition> all;
    const auto add = [&](const std::string& name, auto change, double least = 1) {
        ChartShot shot;
        change(shot);
        all.push_back({name, shot, least});
    };
    add("plain", [](ChartShot&) {});
    for (double turn : {17, 45, 90, 133, 180}) add("turned " + std::to_string(static_cast<int>(turn)), [&](ChartShot& s) { s.turn = turn; });
    add("mirrored", [](ChartShot& s) { s.mirrored = true; });
    for (double tilt : {15, 30, 45}) {
        add("tilted " + std::to_string(static_cast<int>(tilt)), [&](ChartShot& s) {
            s.tilt = tilt;
            s.turn = 30;
        });
    }
    for (double share : {0.08, 0.12, 0.25, 0.7, 0.9, 1.0}) {
        add(std::to_string(static_cast<int>(100 * share)) + " % of the width", [&](ChartShot& s) {
            s.share = share;
            if (share < 0.1) s.width = 2400, s.height = 1600;
        });
    }
    add("shadow, half the light", [](ChartShot& s) { s.shadow = 0.5; });
    add("shadow, a fifth of the light", [](ChartShot& s) { s.shadow = 0.2; });
    add("soft shadow, a third", [](ChartShot& s) { s.shadow = 0.33, s.penumbra = 0.1; });
    add("uneven light, 2 to 1", [](ChartShot& s) { s.slope = 1.7; });
    add("veil of 20 % (low contrast)", [](ChartShot& s) { s.veil = 0.2, s.exposure = 0.6; });
    add("dim, noisy", [](ChartShot& s) { s.exposure = 0.04, s.noise = 0.01; });
    add("noise 4 %", [](ChartShot& s) { s.noise = 0.04; });
    add("warm light, not balanced", [](ChartShot& s) { s.cast = {1.2, 0.8, 0.25}; });
    add("blue light, not balanced", [](ChartShot& s) { s.cast = {0.3, 0.7, 1.2}; });
    add("raw linear, green", [](ChartShot& s) { s.linear = true, s.quality = 0; });
    add("JPEG quality 40", [](ChartShot& s) { s.quality = 40; });
    add("gap of 8 %", [](ChartShot& s) { s.gap = 0.08; });
    add("gap of 25 %", [](ChartShot& s) { s.gap = 0.25; });
    add("150 boxes", [](ChartShot& s) { s.boxes = 150; });
    add("glare on 8 patches, dust", [](ChartShot& s) { s.glare = 0.2, s.dust = 0.3; });
    add("one column covered", [](ChartShot& s) { s.covered = 1; });
    add("two columns covered", [](ChartShot& s) { s.covered = 2; });
    add(
        "cut off by a fifth", [](ChartShot& s) { s.off_x = 0.39; }, 0);
    add("two charts", [](ChartShot& s) { s.second = true, s.off_x = -0.15; });
    add("all at once, mildly", [](ChartShot& s) {
        s.turn = 160, s.tilt = 25, s.shadow = 0.5, s.noise = 0.02, s.share = 0.3, s.cast = {1, 0.9, 0.5}, s.quality = 75;
    });
    return all;
}

// One picture a condition, 20 and OpenCV's finder beside it with SW_MANY set. A corner may be off by a fifth of a pitch before the middle half that
// is read leaves its patch.
TEST(ChartFinder, ConditionByCondition) {
    const bool many = std::getenv("SW_MANY") != nullptr;
    const int tries = many ? 20 : 1;
    std::printf("%-30s %-9s %-6s %-25s %-8s %s\n", "picture", "found", "goal", "corners off, of a pitch", "ms", "OpenCV's finder alone");
    for (const Condition& condition : conditions()) {
        int found = 0, theirs = 0;
        double sum = 0, worst = 0, took = 0;
        for (int k = 0; k < tries; ++k) {
            const ChartPicture picture = chart_picture(condition.shot, static_cast<std::uint64_t>(100 + k));
            const auto start = std::chrono::steady_clock::now();
            const Result<ChartSight> sight = find_chart(picture.photo);
            took += std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count() / tries;
            if (many) theirs += found_by_opencv(picture);
            if (!sight) {
                if (many) std::printf("   %d: %s\n", k, describe(sight.error()).c_str());
                continue;
            }
            const double error = off(picture, sight->corners);
            if (error > 0.15) std::printf("   %d: off by %.2f\n", k, error);
            EXPECT_EQ(sight->mirrored, condition.shot.mirrored) << condition.name;
            sum += error;
            worst = std::max(worst, error);
            found += error < 0.2;
        }
        std::printf("%-30s %2d of %2d  %3.0f %%  mean %.3f, worst %.3f   %5.0f    %s\n", condition.name.c_str(), found, tries, 100 * condition.least,
                    sum / std::max(1, found), worst, took, many ? (std::to_string(theirs) + " of " + std::to_string(tries)).c_str() : "(not asked)");
        EXPECT_GE(found, std::floor(condition.least * tries)) << condition.name;
    }
}

TEST(ChartFinder, SeesNoneWhereThereIsNone) {
    const int tries = std::getenv("SW_MANY") ? 60 : 6;
    for (int k = 0; k < tries; ++k) {
        ChartShot shot;
        shot.chart = false;
        shot.boxes = 20 + 30 * (k % 5);
        const ChartPicture picture = chart_picture(shot, static_cast<std::uint64_t>(500 + k));
        const Result<ChartSight> sight = find_chart(picture.photo);
        EXPECT_FALSE(sight) << k;
    }
}

// Large pictures are looked at on a reduced copy: 24 megapixels in less than a second, 100 (with SW_MANY) as well; time is printed, not judged.
TEST(ChartFinder, LargePictures) {
    ChartShot shot;
    shot.width = 1500, shot.height = 1000, shot.share = 0.3, shot.turn = 20;
    const ChartPicture small = chart_picture(shot, 3);
    for (const int times : {4, 8}) {
        if (times > (std::getenv("SW_MANY") ? 8 : 4)) break;
        Photo photo;
        photo.width = times * shot.width;
        photo.height = times * shot.height;
        photo.rgb.reserve(3UL * static_cast<std::size_t>(photo.width) * static_cast<std::size_t>(photo.height));
        for (int y = 0; y < photo.height; ++y) {
            for (int x = 0; x < photo.width; ++x) {
                const auto p = small.photo.pixel(x / times, y / times);
                photo.rgb.insert(photo.rgb.end(), p.begin(), p.end());
            }
        }
        const auto start = std::chrono::steady_clock::now();
        const Result<ChartSight> sight = find_chart(photo);
        const double took = std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count();
        ASSERT_TRUE(sight);
        ChartPicture truth = small;
        truth.pitch *= times;
        for (Point& p : truth.corners) p = {p.x * times, p.y * times};
        std::printf("%3.0f megapixels: %.0f ms, goal 1000 at 24; corners off by %.3f of a pitch\n", photo.width * 1e-6 * photo.height, took,
                    off(truth, sight->corners));
        EXPECT_LT(off(truth, sight->corners), 0.1);
    }
}

// Inner part of the patches against what was painted there: tilted, with a spot of glare over a third of every third patch, with dust. 2.5 %: a
// patch's middle half holds thousands of pixels of 0.4 % noise; what is left is compression and, under the glare, what the trimmed mean lets through.
TEST(ChartFinder, PatchesReadWhatTheyAre) {
    std::printf("%-28s %-24s goal\n", "picture", "patches off, mean, worst");
    struct Row {
        std::string name;
        double tilt, glare, dust, goal;
    };
    for (const Row& row : {Row{"plain", 0, 0, 0, 0.025}, Row{"tilted 45", 45, 0, 0, 0.025}, Row{"glare", 0, 0.2, 0, 0.025},
                           Row{"dust", 0, 0, 1, 0.025}, Row{"tilted 45, glare, dust", 45, 0.2, 0.5, 0.025}}) {
        ChartShot shot;
        shot.turn = 15, shot.share = 0.5, shot.tilt = row.tilt, shot.glare = row.glare, shot.dust = row.dust, shot.fan_deck = false;
        shot.quality = 97;
        const ChartPicture picture = chart_picture(shot, 77);
        const Result<ChartSight> sight = find_chart(picture.photo);
        ASSERT_TRUE(sight) << row.name;
        const std::array<Region, 24> regions = patch_regions(sight->corners);
        double sum = 0, worst = 0;
        for (std::size_t i = 0; i < 24; ++i) {
            EXPECT_EQ(sight->lost[i], "") << row.name << " " << i;
            const Result<RegionStatistics> read = region_statistics(picture.photo, regions[i], "patch");
            ASSERT_TRUE(read);
            const double error = (read->mean - picture.patch_rgb[i].cwiseMax(0)).norm() / (picture.patch_rgb[i].norm() + 0.02);
            sum += error / 24;
            worst = std::max(worst, error);
        }
        std::printf("%-28s %4.1f %%  %4.1f %%           %3.1f %%\n", row.name.c_str(), 100 * sum, 100 * worst, 100 * row.goal);
        EXPECT_LT(worst, row.goal) << row.name;
    }
}

}  // namespace
}  // namespace sw
