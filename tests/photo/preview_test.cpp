// Small pictures of files: the right way up, at most as large as asked, held against the full decode; what is no picture is an error.
#include "photo/preview.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>

#include "photo/pictures.hpp"
#include "photo/thumbnail.hpp"

namespace sw {
namespace {

/// Largest mean difference of a channel between two pictures of one size.
double apart(const Preview& a, const Preview& b) {
    if (a.width != b.width || a.height != b.height) return 255;
    std::array<double, 3> sum{};
    for (std::size_t i = 0; i < a.rgb.size(); ++i) sum[i % 3] += std::abs(static_cast<int>(a.rgb[i]) - static_cast<int>(b.rgb[i]));
    return *std::max_element(sum.begin(), sum.end()) / (static_cast<double>(a.rgb.size()) / 3);
}

class PreviewUpright : public testing::TestWithParam<int> {};
INSTANTIATE_TEST_SUITE_P(Orientations, PreviewUpright, testing::Range(1, 9));

// EXIF 2.32, tag Orientation: written by OpenImageIO, undone by the loader on one side and by the preview on the other.
TEST_P(PreviewUpright, LikeThePhotoItself) {
    const test::Folder folder;
    constexpr int width = 640, height = 416;
    std::vector<std::uint8_t> samples;
    for (int y = 0; y < height; ++y) {
        for (int x = 0; x < width; ++x) {
            samples.push_back(static_cast<std::uint8_t>(40 + 150 * x / width));
            samples.push_back(static_cast<std::uint8_t>(40 + 150 * y / height));
            samples.push_back(x > width / 2 && y > height / 2 ? 200 : 60);
        }
    }
    for (const char* name : {"picture.jpg", "picture.png", "picture.tif"}) {
        OIIO::ImageSpec spec = test::spec<std::uint8_t>(width, height, 3);
        spec.attribute("Orientation", GetParam());
        const std::string file = test::write(folder / name, spec, samples).string();
        const auto small = preview(file, 80);
        ASSERT_TRUE(small) << describe(small.error());
        const auto photo = load_photo(file);
        ASSERT_TRUE(photo);
        EXPECT_LE(std::max(small->width, small->height), 80) << name;
        EXPECT_GE(std::max(small->width, small->height), 40) << name;
        EXPECT_LT(apart(*small, thumbnail(*photo, 80)), 3) << name << " " << GetParam();
    }
}

TEST(PreviewFiles, WhatIsNoPictureIsAnError) {
    const test::Folder folder;
    test::write_bytes(folder / "words.jpg", {'h', 'e', 'l', 'l', 'o', ' ', 'y', 'o', 'u'});
    test::write_bytes(folder / "empty.jpg", {});
    test::FileBytes cut = test::read_bytes(SW_ASSETS "/demo/bench_led_chart.jpg");
    ASSERT_GT(cut.size(), 1000U);
    cut.resize(cut.size() / 3);
    test::write_bytes(folder / "cut.jpg", cut);
    for (const char* name : {"words.jpg", "empty.jpg", "cut.jpg", "none.jpg"}) EXPECT_FALSE(preview((folder / name).string(), 100)) << name;
    EXPECT_TRUE(preview(SW_ASSETS "/demo/bench_led_chart.jpg", 100));
}

}  // namespace
}  // namespace sw
