// The page of a difference map read back: its scale, its marks, its words. How it looks was judged by eye.
#include "sheet/difference_picture.hpp"

#include <OpenImageIO/imageio.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "calibrate/scene.hpp"
#include "folder_test.hpp"

namespace sw {
namespace {

using testing::HasSubstr;
using Cell = DifferenceMap::Cell;

class DifferencePicture : public test::FolderTest {};

/// 40 x 30 cells: left half 1, right half 5 from the target; a glossy square and a clipped one.
DifferenceMap two_halves() {
    DifferenceMap map;
    map.part = {240, 40, 160, 120};
    map.width = 40;
    map.height = 30;
    map.cell = 4;
    map.smooth = 9;
    map.cells.assign(1200, Cell::judged);
    map.de00.assign(1200, 1.F);
    for (int y = 0; y < 30; ++y) {
        for (int x = 0; x < 40; ++x) {
            const auto i = static_cast<std::size_t>(40 * y + x);
            if (x >= 20) map.de00[i] = 5;
            if (y < 6 && x < 6) map.cells[i] = Cell::glossy;
            if (y > 23 && x < 6) map.cells[i] = Cell::spoiled;
            if (map.cells[i] != Cell::judged) map.de00[i] = std::numeric_limits<float>::quiet_NaN();
        }
    }
    map.within = {0.5, {0.31, 0.62}};
    map.median = {1, {0.6, 1.6}};
    map.p95 = {5, {4.4, 5.6}};
    map.noise = 0.24;
    map.uneven = 2.1;
    map.glossy = 0.03;
    map.spoiled = 0.03;
    map.light_doubt = 0.3;
    map.patches.push_back({{350, 100}, "right edge", 0.5, 4.2, 4, -1.2, 0.1, "much lighter, slightly duller"});
    return map;
}

// Even in lightness, of one hue, within what sRGB shows: read back from the bytes a file holds.
TEST_F(DifferencePicture, TheScaleIsEvenInLightnessAndOfOneHue) {
    double least_hue = 400, most_hue = 0;
    for (int i = 0; i <= 50; ++i) {
        const ScreenColor shown = screen_color(map_ramp(i / 50.0));
        EXPECT_TRUE(shown.in_gamut) << i;
        const auto byte = [](double v) { return std::round(255 * v) / 255; };
        const Xyz seen = xyz(decode(EncodedRgb{byte(shown.rgb.r), byte(shown.rgb.g), byte(shown.rgb.b)}));
        const Lab color = lab(seen, kWhiteD65);
        EXPECT_NEAR(color.L, 96 - 80 * i / 50.0, 1.0) << i;
        if (lch(color).C < 8) continue;
        least_hue = std::min(least_hue, lch(color).h);
        most_hue = std::max(most_hue, lch(color).h);
    }
    EXPECT_LT(most_hue - least_hue, 12);
}

TEST_F(DifferencePicture, DrawsTheRampTheHatchingAndTheRings) {
    test::Bench bench;
    References r;
    r.grays.push_back({bench.lay_card(), 18});
    const Calibration calibration = *calibrate(bench.photo, r);
    const DifferenceMap map = two_halves();
    ASSERT_TRUE(save_difference_picture(bench.photo, calibration, map, "Part", map_words(map, "the chip"), path("m.png")));
    const auto in = OIIO::ImageInput::open(path("m.png"));
    ASSERT_TRUE(in);
    ASSERT_EQ(in->spec().width, 1600);
    ASSERT_EQ(in->spec().height, 1131);
    std::vector<unsigned char> rgb(3UL * 1600 * 1131);
    in->read_image(0, 0, 0, 3, OIIO::TypeDesc::UINT8, rgb.data());
    const auto count = [&](const EncodedRgb& c) {
        int n = 0;
        for (std::size_t i = 0; i < rgb.size(); i += 3)
            n += std::abs(rgb[i] - 255 * c.r) <= 2 && std::abs(rgb[i + 1] - 255 * c.g) <= 2 && std::abs(rgb[i + 2] - 255 * c.b) <= 2;
        return n;
    };
    // the scale ends at 5, in steps of 1; 800 x 600 units: a good half of the left half, and what the hatching leaves of the right
    EXPECT_GT(count(screen_color(map_ramp(1.0 / 5)).rgb), 150'000);
    EXPECT_GT(count(screen_color(map_ramp(1.0)).rgb), 100'000);
    ASSERT_TRUE(save_difference_picture(bench.photo, calibration, map, "Part", map_words(map, "the chip"), path("m.pdf")));
    EXPECT_FALSE(save_difference_picture(bench.photo, calibration, map, "Part", {}, path("m.jpg")));
    EXPECT_FALSE(can_save_difference_picture("m.gif"));
    // one cell, no words
    DifferenceMap tiny = map;
    tiny.width = tiny.height = 1;
    tiny.cells = {Cell::judged};
    tiny.de00 = {0.F};
    tiny.patches.clear();
    EXPECT_TRUE(save_difference_picture(bench.photo, calibration, tiny, "", {}, path("t.png")));
}

TEST_F(DifferencePicture, SaysWhereItIsOffAndHowSureThatIs) {
    DifferenceMap map = two_halves();
    const auto text = [&] {
        std::string all;
        for (const std::string& line : map_words(map, "Damson 14")) all += line + "\n";
        return all;
    };
    EXPECT_THAT(
        text(),
        HasSubstr(
            "50 % (31 to 62 %) of the part lies within 2 of Damson 14; half of it within 1.0 (0.6 to 1.6), 95 % of it within 5.0 (4.4 to 5.6)."));
    EXPECT_THAT(
        text(),
        HasSubstr("A, right edge, 50 % of it: 4.2 ± 0.2 off, much lighter, slightly duller; paint lying thin over a lighter undercoat looks so"));
    EXPECT_THAT(text(), HasSubstr("Gloss on 3 % of it"));
    EXPECT_THAT(text(), HasSubstr("clipped"));
    EXPECT_THAT(text(), HasSubstr("mean over 9 pixels; grain leaves ± 0.2"));
    map.light_doubt = 2;  // a step of 4 in L*, where the light is known to 2 only
    map.patches[0].dC = 0;
    EXPECT_THAT(text(), HasSubstr("known to ± 2.0 in L* only, so it may be the light"));
    map.patches.clear();
    map.noise = std::numeric_limits<double>::quiet_NaN();
    EXPECT_THAT(text(), HasSubstr("Even: 95 % of it keeps within 2.1 ± unknown"));
}

}  // namespace
}  // namespace sw
