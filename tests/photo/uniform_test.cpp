// The flat part of a region: on made pictures with known edges, and on the simulated bench photos, whose truth says where the parts lie.
#include "photo/uniform.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>
#include <random>

#include "photo/statistics.hpp"

namespace sw {
namespace {

/// A chip from (60, 40) to (180, 140) with a dark rim of 3 px, on a bench that is lighter; grain of 2 %, light that falls by `slope` over the
/// picture.
Photo chip_on_bench(double slope, bool speck) {
    Photo photo;
    photo.path = "bench.jpg";
    photo.width = 240;
    photo.height = 180;
    std::mt19937 random(7);
    std::normal_distribution<float> grain(1.0F, 0.02F);
    for (int y = 0; y < photo.height; ++y) {
        for (int x = 0; x < photo.width; ++x) {
            const bool chip = x >= 60 && x < 180 && y >= 40 && y < 140, inner = x >= 63 && x < 177 && y >= 43 && y < 137;
            std::array<float, 3> color = inner  ? std::array{0.20F, 0.12F, 0.16F}
                                         : chip ? std::array{0.05F, 0.05F, 0.05F}
                                                : std::array{0.4F, 0.38F, 0.33F};
            if (speck && x >= 118 && x < 122 && y >= 88 && y < 92) color = {0.9F, 0.9F, 0.9F};
            const auto light = static_cast<float>(1 - slope * x / photo.width);
            for (const float c : color) photo.rgb.push_back(c * light * grain(random));
        }
    }
    photo.clipped.assign(240U * 180, 0);
    return photo;
}

TEST(UniformPart, LeavesOutRimAndBench) {
    for (const double slope : {0.0, 0.1, 0.25}) {
        for (const bool speck : {false, true}) {
            const Photo photo = chip_on_bench(slope, speck);
            for (const Region& drawn : {Region(Box{50, 35, 138, 112}), Region(Polygon{{{52, 33}, {188, 36}, {186, 149}, {50, 146}}})}) {
                const auto part = uniform_part(photo, drawn, "chip");
                ASSERT_TRUE(part) << describe(part.error());
                EXPECT_GE(part->x, 63) << slope;
                EXPECT_GE(part->y, 43);
                EXPECT_LE(part->x + part->w, 177);
                EXPECT_LE(part->y + part->h, 137);
                EXPECT_GT(part->w * part->h, 0.75 * 114 * 94) << "slope " << slope << (speck ? " with a speck" : "");
            }
        }
    }
}

TEST(UniformPart, KeepsARegionThatIsFlatAlready) {
    const auto part = uniform_part(chip_on_bench(0, false), Box{70, 50, 96, 80}, "chip");
    ASSERT_TRUE(part);
    EXPECT_GE(part->w * part->h, 0.95 * 96 * 80);
}

TEST(UniformPart, SaysWhenThereIsNone) {
    const Photo photo = chip_on_bench(0, false);
    const auto fault = [&](const Region& region) {
        const auto part = uniform_part(photo, region, "chip");
        return part ? Fault::internal : part.error().fault;
    };
    EXPECT_EQ(fault(Box{300, 10, 50, 50}), Fault::region_outside);
    EXPECT_EQ(fault(Box{10, 10, 5, 5}), Fault::region_too_small);
    Photo checked = photo;  // a checkerboard of 8 px has no flat part
    for (int y = 0; y < 180; ++y) {
        for (int x = 0; x < 240; ++x) {
            for (std::size_t c = 0; c < 3; ++c) checked.rgb[3 * static_cast<std::size_t>(y * 240 + x) + c] = (x / 8 + y / 8) % 2 == 0 ? 0.1F : 0.5F;
        }
    }
    const auto none = uniform_part(checked, Box{10, 10, 200, 150}, "chip");
    ASSERT_FALSE(none);
    EXPECT_EQ(none.error().fault, Fault::bad_usage);
}

// Drawn around the whole chip and some bench, on photos with noise, blur, uneven light and JPEG: what is left must lie on the chip, and read as it
// does.
TEST(UniformPart, FindsChipsOfTheSimulatedPhotos) {
    int tried = 0, found = 0;
    for (const auto& entry : std::filesystem::directory_iterator(SW_TESTS "/photos")) {
        std::ifstream in(entry.path() / "truth.json");
        if (!in) continue;
        const auto truth = nlohmann::json::parse(in);
        for (const auto& shot : truth.at("photos")) {
            const std::filesystem::path file = entry.path() / shot.at("file").get<std::string>();
            if (!std::filesystem::exists(file)) continue;  // not all photos are part of the project
            const auto photo = load_photo(file);
            ASSERT_TRUE(photo);
            for (const char* role : {"chip", "swatch"}) {
                if (!shot.at("regions").contains(role)) continue;
                const auto& where = shot.at("regions").at(role);
                const auto rect = where.at("rect").get<std::vector<double>>(), corners = where.at("polygon").get<std::vector<double>>();
                const Box given{rect[0], rect[1], rect[2], rect[3]};
                Polygon outline;
                for (std::size_t i = 0; i + 1 < corners.size(); i += 2) outline.points.push_back({corners[i], corners[i + 1]});
                const Box around = bounds(outline);  // of a chip that lies askew: its corners show the bench
                const Box drawn{around.x - 0.03 * around.w, around.y - 0.03 * around.h, 1.06 * around.w, 1.06 * around.h};
                ++tried;
                const auto part = uniform_part(*photo, drawn, role);
                if (!part) continue;
                const auto exact = region_statistics(*photo, given, role), flat = region_statistics(*photo, *part, role);
                ASSERT_TRUE(exact && flat);
                const double off = ((flat->mean - exact->mean).cwiseQuotient(exact->mean)).cwiseAbs().maxCoeff();
                if (off < 0.02) ++found;
            }
        }
    }
    std::printf("flat parts of chips and swatches drawn with some bench: %d of %d read within 2 %% of the exact place\n", found, tried);
    EXPECT_GT(tried, 20);
    EXPECT_GE(found, 0.9 * tried);
}

}  // namespace
}  // namespace sw
