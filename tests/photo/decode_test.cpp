// Decoding: values, orientation, kinds of picture, transfers, metadata.
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "color/color.hpp"
#include "photo/photo.hpp"
#include "photo/pictures.hpp"
#include "photo/profiles.hpp"

namespace sw {
namespace {

using test::Folder;
using test::load;
using test::mentions;
using test::scenery;
using test::spec;

/// A ramp of every code of 8 or 16 bits, gray in three channels, as rows of 256.
template <class Code>
std::vector<Code> ramp() {
    std::vector<Code> result;
    for (std::size_t code = 0; code <= std::numeric_limits<Code>::max(); ++code) result.insert(result.end(), 3, static_cast<Code>(code));
    return result;
}

// Against color's definition (IEC 61966-2-1), every code. Tolerance: float's rounding.
TEST(Decode, EveryCodeAgreesWithTheDefinition) {
    const Folder folder;
    const Photo eight = load(test::write(folder / "8.png", spec<std::uint8_t>(256, 1, 3), ramp<std::uint8_t>()));
    ASSERT_EQ(eight.width, 256);
    for (int code = 0; code < 256; ++code) {
        for (int c = 0; c < 3; ++c) EXPECT_NEAR(eight.pixel(code, 0)[c], srgb_to_linear(code / 255.0), 1e-7) << code;
        EXPECT_EQ(eight.clipped_at(code, 0), code >= 254) << code;
    }
    EXPECT_EQ(eight.bits, 8);
    const Photo sixteen = load(test::write(folder / "16.png", spec<std::uint16_t>(256, 256, 3), ramp<std::uint16_t>()));
    for (int code = 0; code < 65536; ++code) {
        ASSERT_NEAR(sixteen.pixel(code % 256, code / 256)[1], srgb_to_linear(code / 65535.0), 1e-7) << code;
        ASSERT_EQ(sixteen.clipped[static_cast<std::size_t>(code)], code >= 65535 * 0.998 ? 1 : 0) << code;
    }
    EXPECT_EQ(sixteen.bits, 16);
    const Photo tiff = load(test::write(folder / "16.tif", spec<std::uint16_t>(256, 256, 3), ramp<std::uint16_t>()));
    EXPECT_EQ(tiff.rgb, sixteen.rgb);
}

// The two forms of a picture hold the same light and the same marks; with a profile's matrix as without.
TEST(Decode, CodesAndLightAgree) {
    const Folder folder;
    for (const bool wide : {false, true}) {
        OIIO::ImageSpec s = spec<std::uint8_t>(256, 1, 3);
        if (wide) s = test::with_profile(s, test::wide_gamut());
        const Photo codes = load(test::write(folder / "a.png", s, ramp<std::uint8_t>()));
        ASSERT_TRUE(codes.table && codes.rgb.empty());
        EXPECT_EQ(codes.table->to_srgb.has_value(), wide);
        const Photo light = as_light(codes);
        ASSERT_TRUE(!light.table && light.codes.empty());
        std::vector<float> room, other;
        const float *row = codes.row(0, room), *kept = light.row(0, other);
        EXPECT_TRUE(other.empty());
        for (int x = 0; x < 256; ++x) {
            EXPECT_EQ(codes.pixel(x, 0), light.pixel(x, 0));
            EXPECT_EQ(codes.clipped_at(x, 0), light.clipped_at(x, 0));
            for (int c = 0; c < 3; ++c) EXPECT_EQ(row[3 * x + c], kept[3 * x + c]);
        }
    }
}

// IEC 61966-2-1 itself, by hand: code 188 is 0.5029 (from memory, and ((188/255 + 0.055) / 1.055)^2.4 by calculator); code 10 lies on the straight
// part.
TEST(Decode, KnownValues) {
    const Folder folder;
    const Photo photo = load(test::write<std::uint8_t>(folder / "a.png", spec<std::uint8_t>(2, 1, 3), {188, 255, 0, 10, 10, 10}));
    EXPECT_NEAR(photo.pixel(0, 0)[0], 0.5029, 5e-5);
    EXPECT_EQ(photo.pixel(0, 0)[1], 1.0F);
    EXPECT_EQ(photo.pixel(0, 0)[2], 0.0F);
    EXPECT_NEAR(photo.pixel(1, 0)[0], 10 / 255.0 / 12.92, 1e-7);
    EXPECT_EQ(photo.encoding, "sRGB (no profile in the file)");
    EXPECT_TRUE(photo.untagged);
    EXPECT_FALSE(photo.linear);
    EXPECT_TRUE(photo.notes.empty()) << photo.notes.front();
}

TEST(Decode, AskedTransfers) {
    const Folder folder;
    const auto path = test::write<std::uint8_t>(folder / "a.png", spec<std::uint8_t>(1, 1, 3), {128, 51, 204});
    const auto expect = [&](const Transfer& transfer, double gamma, const std::string& words, bool linear) {
        const Photo photo = load(path, transfer);
        EXPECT_NEAR(photo.pixel(0, 0)[0], std::pow(128 / 255.0, gamma), 1e-6) << words;
        EXPECT_NEAR(photo.pixel(0, 0)[1], std::pow(51 / 255.0, gamma), 1e-6) << words;
        EXPECT_NEAR(photo.pixel(0, 0)[2], std::pow(204 / 255.0, gamma), 1e-6) << words;
        EXPECT_EQ(photo.encoding, words);
        EXPECT_EQ(photo.linear, linear);
        EXPECT_FALSE(photo.untagged);
    };
    expect({TransferKind::linear}, 1, "linear, as asked", true);
    expect({TransferKind::bt1886}, 2.4, "BT.1886 (gamma 2.4), as asked", false);
    expect({TransferKind::gamma, 1.8}, 1.8, "gamma 1.8, as asked", false);
    const Photo srgb = load(path, {TransferKind::srgb});
    EXPECT_NEAR(srgb.pixel(0, 0)[0], srgb_to_linear(128 / 255.0), 1e-7);
    EXPECT_EQ(srgb.encoding, "sRGB, as asked");
    EXPECT_FALSE(srgb.untagged);
}

TEST(ParseTransfer, ReadsAndRefuses) {
    EXPECT_EQ(parse_transfer("auto")->kind, TransferKind::automatic);
    EXPECT_EQ(parse_transfer("srgb")->kind, TransferKind::srgb);
    EXPECT_EQ(parse_transfer("linear")->kind, TransferKind::linear);
    EXPECT_EQ(parse_transfer("bt1886")->kind, TransferKind::bt1886);
    const auto gamma = parse_transfer("gamma:1.8");
    ASSERT_TRUE(gamma);
    EXPECT_EQ(gamma->kind, TransferKind::gamma);
    EXPECT_EQ(gamma->gamma, 1.8);
    for (const char* text : {"", "sRGB", "gamma", "gamma:", "gamma:0.4", "gamma:4.1", "gamma:nan", "gamma:2x", "gamma:-2", "log"}) {
        const auto bad = parse_transfer(text);
        ASSERT_FALSE(bad) << text;
        EXPECT_EQ(bad.error().fault, Fault::bad_usage);
        EXPECT_NE(bad.error().remedy.find("gamma:G"), std::string::npos);
    }
}

class Orientations : public testing::TestWithParam<int> {};
TEST_P(Orientations, AreUndone) {
    const int orientation = GetParam(), width = 96, height = 64;
    const std::vector<std::uint8_t> scene = scenery(width, height);
    const bool turned = orientation >= 5;
    const int stored_width = turned ? height : width;
    std::vector<std::uint8_t> stored(scene.size());
    for (int y = 0; y < height; ++y) {
        for (int x = 0; x < width; ++x) {
            const test::Stored to = test::stored_at(orientation, x, y, width, height);
            for (int c = 0; c < 3; ++c)
                stored[static_cast<std::size_t>(3 * (to.y * stored_width + to.x) + c)] = scene[static_cast<std::size_t>(3 * (y * width + x) + c)];
        }
    }
    const Folder folder;
    for (const char* name : {"a.tif", "a.jpg"}) {
        OIIO::ImageSpec s = spec<std::uint8_t>(stored_width, turned ? width : height, 3);
        s.attribute("Orientation", orientation);
        s.attribute("Compression", std::string(name) == "a.jpg" ? "jpeg:100" : "none");
        const Photo photo = load(test::write(folder / name, s, stored));
        EXPECT_EQ(photo.orientation, orientation);
        ASSERT_EQ(photo.width, width);
        ASSERT_EQ(photo.height, height);
        // JPEG at quality 100 is within two codes on a smooth picture, 0.02 linear; the scene's corners differ by far more.
        const double tolerance = std::string(name) == "a.jpg" ? 0.02 : 1e-6;
        for (int y = 0; y < height; ++y) {
            for (int x = 0; x < width; ++x) {
                for (int c = 0; c < 3; ++c)
                    ASSERT_NEAR(photo.pixel(x, y)[c], srgb_to_linear(scene[static_cast<std::size_t>(3 * (y * width + x) + c)] / 255.0), tolerance)
                        << name << " " << x << "," << y;
            }
        }
    }
}
INSTANTIATE_TEST_SUITE_P(Exif, Orientations, testing::Range(1, 9));

TEST(Decode, ClippedTurnsWithThePicture) {
    const Folder folder;
    std::vector<std::uint8_t> samples(3 * 5 * 3, 100);
    samples[0] = 255;  // stored top left
    OIIO::ImageSpec s = spec<std::uint8_t>(5, 3, 3);
    s.attribute("Orientation", 6);
    const Photo photo = load(test::write(folder / "a.tif", s, samples));
    ASSERT_EQ(photo.width, 3);
    for (int i = 0; i < 15; ++i) EXPECT_EQ(photo.clipped_at(i % 3, i / 3), i == 2) << i;  // upright: top right
}

TEST(Decode, GrayIsWidened) {
    const Folder folder;
    const Photo photo = load(test::write<std::uint8_t>(folder / "a.png", spec<std::uint8_t>(2, 1, 1), {128, 255}));
    for (int c = 0; c < 3; ++c) EXPECT_NEAR(photo.pixel(0, 0)[c], srgb_to_linear(128 / 255.0), 1e-7);
    EXPECT_EQ(photo.clipped[1], 1);
    EXPECT_TRUE(mentions(photo.notes, "gray picture"));
    const Photo jpeg = load(test::write<std::uint8_t>(folder / "a.jpg", spec<std::uint8_t>(16, 16, 1), std::vector<std::uint8_t>(256, 128)));
    EXPECT_NEAR(jpeg.pixel(5, 5)[2], srgb_to_linear(128 / 255.0), 0.01);
}

// Colors under transparency are what they are: not multiplied by it.
TEST(Decode, AlphaIsIgnoredWithANote) {
    const Folder folder;
    for (const char* name : {"a.png", "a.tif"}) {
        OIIO::ImageSpec s = spec<std::uint8_t>(2, 1, 4);
        s.attribute("oiio:UnassociatedAlpha", 1);
        const Photo photo = load(test::write<std::uint8_t>(folder / name, s, {200, 100, 50, 128, 10, 20, 30, 255}));
        EXPECT_NEAR(photo.pixel(0, 0)[0], srgb_to_linear(200 / 255.0), 1e-7) << name;
        EXPECT_NEAR(photo.pixel(0, 0)[2], srgb_to_linear(50 / 255.0), 1e-7) << name;
        EXPECT_FALSE(photo.clipped_at(1, 0)) << "full opacity is no clipped color";
        EXPECT_TRUE(mentions(photo.notes, "transparency was ignored")) << name;
    }
}

TEST(Decode, FloatTiff) {
    const Folder folder;
    const float nan = std::numeric_limits<float>::quiet_NaN(), inf = std::numeric_limits<float>::infinity();
    const auto path = test::write<float>(folder / "a.tif", spec<float>(5, 1, 3),
                                         {0.25F, 0.5F, 0.75F, nan, 0.5F, 0.5F, inf, -inf, 1e20F, 1.5F, -0.25F, 0, 0.999F, 0, 0});
    const Photo photo = load(path, {TransferKind::linear});
    EXPECT_EQ(photo.pixel(0, 0)[1], 0.5F);
    EXPECT_EQ(photo.pixel(1, 0)[0], 0.0F);
    EXPECT_EQ(photo.pixel(1, 0)[1], 0.5F);
    for (int c = 0; c < 3; ++c) EXPECT_EQ(photo.pixel(2, 0)[c], 0.0F);
    EXPECT_EQ(photo.pixel(3, 0)[0], 1.5F) << "brighter than white stays";
    EXPECT_EQ(photo.pixel(3, 0)[1], -0.25F) << "negatives of a wide gamut stay";
    EXPECT_EQ(photo.clipped, (Pixels<std::uint8_t>{0, 0, 0, 1, 0}));
    EXPECT_TRUE(mentions(photo.notes, "held no number"));
    EXPECT_EQ(photo.bits, 32);
    const Photo guessed = load(path);
    EXPECT_TRUE(mentions(guessed.notes, "mostly linear"));
    EXPECT_NEAR(guessed.pixel(0, 0)[1], srgb_to_linear(0.5), 1e-6);
    EXPECT_NEAR(guessed.pixel(3, 0)[1], -srgb_to_linear(0.25), 1e-6);
}

TEST(Decode, TiledAndPlanarTiff) {
    const Folder folder;
    const std::vector<std::uint8_t> scene = scenery(100, 70);
    const Photo plain = as_light(load(test::write(folder / "a.png", spec<std::uint8_t>(100, 70, 3), scene)));
    OIIO::ImageSpec tiled = spec<std::uint8_t>(100, 70, 3);
    tiled.tile_width = 32;
    tiled.tile_height = 16;
    EXPECT_EQ(as_light(load(test::write(folder / "tiled.tif", tiled, scene))).rgb, plain.rgb);
    OIIO::ImageSpec planar = spec<std::uint8_t>(100, 70, 3);
    planar.attribute("planarconfig", "separate");
    EXPECT_EQ(as_light(load(test::write(folder / "planar.tif", planar, scene))).rgb, plain.rgb);
}

TEST(Decode, FirstOfSeveralPages) {
    const Folder folder;
    const auto path = folder / "a.tif";
    auto out = OIIO::ImageOutput::create(path.string());
    const std::vector<OIIO::ImageSpec> pages{spec<std::uint8_t>(4, 2, 3), spec<std::uint8_t>(8, 8, 3)};
    ASSERT_TRUE(out->open(path.string(), 2, pages.data()));
    const std::vector<std::uint8_t> first(24, 50), second(192, 200);
    ASSERT_TRUE(out->write_image(OIIO::TypeDesc::UINT8, first.data()));
    ASSERT_TRUE(out->open(path.string(), pages[1], OIIO::ImageOutput::AppendSubimage));
    ASSERT_TRUE(out->write_image(OIIO::TypeDesc::UINT8, second.data()));
    ASSERT_TRUE(out->close());
    const Photo photo = load(path);
    EXPECT_EQ(photo.width, 4);
    EXPECT_NEAR(photo.pixel(0, 0)[0], srgb_to_linear(50 / 255.0), 1e-7);
    EXPECT_TRUE(mentions(photo.notes, "several pictures; the first one was taken"));
}

TEST(Decode, OpensByContentNotByName) {
    const Folder folder;
    const std::vector<std::uint8_t> scene = scenery(20, 10);
    test::write(folder / "a.png", spec<std::uint8_t>(20, 10, 3), scene);
    std::filesystem::copy_file(folder / "a.png", folder / "b.jpg");
    std::filesystem::copy_file(folder / "a.png", folder / "c");
    std::filesystem::copy_file(folder / "a.png", folder / "D.PNG");
    const Photo a = load(folder / "a.png"), b = load(folder / "b.jpg");
    EXPECT_EQ(a.codes, b.codes);
    EXPECT_EQ(a.codes.size(), scene.size());
    EXPECT_TRUE(mentions(b.notes, "ends in .jpg but the file is a PNG"));
    EXPECT_TRUE(load(folder / "c").notes.empty());
    EXPECT_TRUE(load(folder / "D.PNG").notes.empty());
}

TEST(Decode, KeepsCameraAndTime) {
    const Folder folder;
    OIIO::ImageSpec s = spec<std::uint8_t>(16, 16, 3);
    s.attribute("Make", "Invented");
    s.attribute("Model", "Box 4\x1b[31m");
    s.attribute("Exif:DateTimeOriginal", "2026:05:04 10:11:12");
    const Photo photo = load(test::write(folder / "a.jpg", s, scenery(16, 16)));
    EXPECT_EQ(photo.camera, "Invented Box 4?[31m") << "untrusted text without control characters";
    EXPECT_EQ(photo.taken, "2026:05:04 10:11:12");
    s.attribute("Model", "Invented Box 5");
    EXPECT_EQ(load(test::write(folder / "b.jpg", s, scenery(16, 16))).camera, "Invented Box 5");
}

// FIPS 180-4's example: SHA-1 of "abc" is a9993e36... Here over the bytes of a file, checked with sha1sum's figure for the bytes below.
TEST(Decode, HashIsTheFiles) {
    const Folder folder;
    const auto path = test::write(folder / "a.png", spec<std::uint8_t>(4, 4, 3), scenery(4, 4));
    const Photo photo = load(path);
    ASSERT_EQ(photo.content_hash.size(), 5U + 40U);
    FILE* pipe = ::popen(("sha1sum '" + path.string() + "'").c_str(), "r");  // coreutils: the independent program
    ASSERT_NE(pipe, nullptr);
    char digest[41] = {};
    ASSERT_EQ(std::fread(digest, 1, 40, pipe), 40U);
    ::pclose(pipe);
    EXPECT_EQ(photo.content_hash, std::string("sha1:") + digest);
    EXPECT_EQ(photo.path, path.string());
}

TEST(Decode, ReportsProgressAndStops) {
    const Folder folder;
    const auto path = test::write(folder / "a.png", spec<std::uint8_t>(1200, 1200, 3), scenery(1200, 1200));
    std::vector<float> steps;
    ASSERT_TRUE(load_photo(path, {}, {}, [&](float p) { steps.push_back(p); }));
    ASSERT_GE(steps.size(), 3U);
    EXPECT_TRUE(std::is_sorted(steps.begin(), steps.end()));
    EXPECT_EQ(steps.back(), 1.0F);

    std::stop_source source;
    const auto stopped = load_photo(path, {}, source.get_token(), [&](float p) {
        if (p > 0.2F) source.request_stop();
    });
    ASSERT_FALSE(stopped);
    EXPECT_EQ(stopped.error().fault, Fault::cancelled);
}

}  // namespace
}  // namespace sw
