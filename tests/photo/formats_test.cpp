// Every format that is read: known values in, known linear values out.
#include <gtest/gtest.h>
#include <lcms2.h>
#include <libheif/heif.h>
#include <webp/encode.h>

#include <array>
#include <cmath>
#include <cstring>
#include <limits>

#include "color/color.hpp"
#include "photo/dng.hpp"
#include "photo/photo.hpp"
#include "photo/pictures.hpp"
#include "photo/profiles.hpp"

namespace sw {
namespace {

using test::Dng;
using test::FileBytes;
using test::Folder;
using test::load;
using test::mentions;
using test::scenery;
using test::spec;

void expect_color(const Photo& photo, int x, int y, const std::array<double, 3>& rgb, double tolerance) {
    ASSERT_LT(x, photo.width);
    ASSERT_LT(y, photo.height);
    for (int c = 0; c < 3; ++c) EXPECT_NEAR(photo.pixel(x, y)[c], rgb[static_cast<std::size_t>(c)], tolerance) << x << "," << y << " channel " << c;
}

std::array<double, 3> light(int r, int g, int b) { return {srgb_to_linear(r / 255.0), srgb_to_linear(g / 255.0), srgb_to_linear(b / 255.0)}; }

// --- WebP -----------------------------------------------------------------------------------------------------------------------------

/// By libwebp's encoder; quality 0..100, above that lossless.
FileBytes webp(int width, int height, int channels, const std::vector<std::uint8_t>& samples, float quality = 101) {
    std::uint8_t* memory = nullptr;
    const int stride = width * channels;
    const std::size_t size = quality <= 100  ? WebPEncodeRGB(samples.data(), width, height, stride, quality, &memory)
                             : channels == 3 ? WebPEncodeLosslessRGB(samples.data(), width, height, stride, &memory)
                                             : WebPEncodeLosslessRGBA(samples.data(), width, height, stride, &memory);
    const FileBytes bytes(memory, memory + size);
    WebPFree(memory);
    return bytes;
}

/// RFC 9649: a plain file becomes an extended one: VP8X (flags, canvas), then the chunks given, then the old ones.
FileBytes extended_webp(const FileBytes& plain, std::uint8_t flags, int width, int height,
                        const std::vector<std::pair<std::string, FileBytes>>& before,
                        const std::vector<std::pair<std::string, FileBytes>>& after = {}) {
    FileBytes body{'W', 'E', 'B', 'P'};
    const auto chunk = [&](const std::string& name, const FileBytes& content) {
        body.insert(body.end(), name.begin(), name.end());
        for (int i = 0; i < 4; ++i) body.push_back(static_cast<std::uint8_t>(content.size() >> (8 * i)));
        body.insert(body.end(), content.begin(), content.end());
        if (content.size() % 2 != 0) body.push_back(0);
    };
    const auto three = [](int v) {
        return FileBytes{static_cast<std::uint8_t>(v), static_cast<std::uint8_t>(v >> 8), static_cast<std::uint8_t>(v >> 16)};
    };
    FileBytes head{flags, 0, 0, 0};
    for (const int v : {width - 1, height - 1}) {
        const FileBytes part = three(v);
        head.insert(head.end(), part.begin(), part.end());
    }
    chunk("VP8X", head);
    for (const auto& [name, content] : before) chunk(name, content);
    std::size_t at = 12;
    if (std::equal(plain.begin() + 12, plain.begin() + 16, "VP8X")) at += 18;
    body.insert(body.end(), plain.begin() + static_cast<std::ptrdiff_t>(at), plain.end());
    for (const auto& [name, content] : after) chunk(name, content);
    FileBytes file{'R', 'I', 'F', 'F'};
    for (int i = 0; i < 4; ++i) file.push_back(static_cast<std::uint8_t>(body.size() >> (8 * i)));
    file.insert(file.end(), body.begin(), body.end());
    return file;
}

TEST(WebP, LosslessValuesProfileAndExif) {
    const Folder folder;
    const int width = 40, height = 30;
    const std::vector<std::uint8_t> scene = scenery(width, height);
    const FileBytes plain = webp(width, height, 3, scene);
    test::write_bytes(folder / "a.webp", plain);
    const Photo photo = load(folder / "a.webp");
    ASSERT_EQ(photo.width, width);
    for (int y = 0; y < height; ++y) {
        for (int x = 0; x < width; ++x) {
            const auto* code = &scene[static_cast<std::size_t>(3 * (y * width + x))];
            expect_color(photo, x, y, light(code[0], code[1], code[2]), 1e-6);
        }
    }
    EXPECT_TRUE(photo.untagged);
    EXPECT_EQ(photo.bits, 8);

    // Flags of VP8X: 0x20 a profile, 0x08 EXIF. The EXIF block is a TIFF with orientation 6 and a camera's name.
    FileBytes exif{'I', 'I', 42, 0, 0, 0, 0, 0};
    test::TiffDirectory directory;
    directory.shorts(274, {6});
    directory.text(271, "Invented");
    exif[4] = static_cast<std::uint8_t>(directory.append_to(exif));
    test::write_bytes(folder / "b.webp", extended_webp(plain, 0x28, width, height, {{"ICCP", test::wide_gamut()}}, {{"EXIF", exif}}));
    const Photo tagged = load(folder / "b.webp");
    EXPECT_EQ(tagged.encoding, "profile: Wide test");
    EXPECT_EQ(tagged.orientation, 6);
    EXPECT_EQ(tagged.width, height);
    EXPECT_EQ(tagged.camera, "Invented");
    // The same picture with the same profile in a TIFF.
    OIIO::ImageSpec s = test::with_profile(spec<std::uint8_t>(width, height, 3), test::wide_gamut());
    s.attribute("Orientation", 6);
    EXPECT_EQ(tagged.codes, load(test::write(folder / "c.tif", s, scene)).codes);
    EXPECT_EQ(tagged.codes.size(), scene.size());
    test::write_bytes(folder / "d.webp", extended_webp(plain, 0x20, width, height, {{"ICCP", FileBytes(200, 'x')}}));
    const auto broken = load_photo(folder / "d.webp");
    ASSERT_FALSE(broken);
    EXPECT_EQ(broken.error().fault, Fault::profile_broken);
}

TEST(WebP, LossyIsNear) {
    const Folder folder;
    std::vector<std::uint8_t> flat;
    for (int i = 0; i < 48 * 48; ++i) flat.insert(flat.end(), {90, 140, 200});
    // Video-range YCbCr of 8 bits: a step of Y is 1.16 codes, of Cr up to 1.6, rounding once more; 3 codes cover that. At 200 they are 0.025.
    test::write_bytes(folder / "a.webp", webp(48, 48, 3, flat, 100));
    expect_color(load(folder / "a.webp"), 24, 24, light(90, 140, 200), 0.025);
}

TEST(WebP, AlphaAndAnimation) {
    const Folder folder;
    const std::vector<std::uint8_t> samples{200, 100, 50, 128, 10, 20, 30, 255, 7, 8, 9, 0, 7, 8, 9, 255};
    const FileBytes bytes = webp(4, 1, 4, samples);
    test::write_bytes(folder / "a.webp", bytes);
    const Photo photo = load(folder / "a.webp");
    expect_color(photo, 0, 0, light(200, 100, 50), 1e-6);
    expect_color(photo, 1, 0, light(10, 20, 30), 1e-6);
    EXPECT_TRUE(mentions(photo.notes, "transparency was ignored"));
    EXPECT_TRUE(mentions(photo.notes, "25 % of the picture is wholly transparent"));
    test::write_bytes(folder / "b.webp", extended_webp(bytes, 0x02, 4, 1, {{"ANIM", FileBytes(6, 0)}}));
    const auto animated = load_photo(folder / "b.webp");
    ASSERT_FALSE(animated);
    EXPECT_EQ(animated.error().fault, Fault::picture_unsupported);
    EXPECT_NE(animated.error().cause.find("animated"), std::string::npos);
}

// --- OpenEXR --------------------------------------------------------------------------------------------------------------------------

TEST(Exr, IsLinearAndUnbounded) {
    const Folder folder;
    const float inf = std::numeric_limits<float>::infinity(), nan = std::numeric_limits<float>::quiet_NaN();
    const auto path =
        test::write<float>(folder / "a.exr", spec<float>(4, 1, 3), {0.25F, 0.5F, 0.75F, 3.0F, -0.125F, 0, inf, nan, 0.5F, 0.1F, 0.1F, 0.1F});
    const Photo photo = load(path);
    expect_color(photo, 0, 0, {0.25, 0.5, 0.75}, 0);
    expect_color(photo, 1, 0, {3, -0.125, 0}, 0);
    expect_color(photo, 2, 0, {0, 0, 0.5}, 0);
    EXPECT_TRUE(mentions(photo.notes, "held no number"));
    EXPECT_TRUE(mentions(photo.notes, "does not say its primaries; those of sRGB were taken"));
    EXPECT_EQ(photo.encoding, "linear (OpenEXR)");
    EXPECT_EQ(photo.encoded, Encoding::linear);
    EXPECT_EQ(photo.encoding_by, DecidedBy::file);
    EXPECT_TRUE(photo.linear);
    EXPECT_FALSE(photo.untagged);
    EXPECT_EQ(photo.clipped, (Pixels<std::uint8_t>(4, 0))) << "OpenEXR has no top";
    EXPECT_EQ(load(path, {TransferKind::srgb}).encoding, "sRGB, as asked");
}

TEST(Exr, HalfAndTiles) {
    const Folder folder;
    OIIO::ImageSpec s(70, 50, 3, OIIO::TypeDesc::HALF);
    std::vector<float> samples;
    for (int i = 0; i < 70 * 50 * 3; ++i) samples.push_back(static_cast<float>(i % 1000) / 1024.0F);  // exact in half
    const Pixels<float> expected(samples.begin(), samples.end());
    const Photo rows = load(test::write(folder / "a.exr", s, samples));
    EXPECT_EQ(rows.bits, 16);
    EXPECT_EQ(rows.rgb, expected);
    s.tile_width = s.tile_height = 32;
    EXPECT_EQ(load(test::write(folder / "b.exr", s, samples)).rgb, expected);
}

// Display P3 (SMPTE RP 431-2's primaries, white D65): the linear sRGB of its red is 1.2249, -0.0420, -0.0197 (CSS Color 4's matrices, from memory).
TEST(Exr, ChromaticitiesAreFollowed) {
    const Folder folder;
    OIIO::ImageSpec s = spec<float>(3, 1, 3);
    const std::array<float, 8> p3{0.680F, 0.320F, 0.265F, 0.690F, 0.150F, 0.060F, 0.3127F, 0.3290F};
    s.attribute("chromaticities", OIIO::TypeDesc(OIIO::TypeDesc::FLOAT, 8), p3.data());
    const Photo photo = load(test::write<float>(folder / "a.exr", s, {1, 0, 0, 0.5F, 0.5F, 0.5F, 0, 0, 1}));
    expect_color(photo, 0, 0, {1.2249, -0.0420, -0.0197}, 2e-4);
    expect_color(photo, 1, 0, {0.5, 0.5, 0.5}, 2e-4);
    EXPECT_EQ(photo.encoding, "linear (OpenEXR, with its own primaries)");
    EXPECT_NEAR(photo.native_from_srgb[0] * 1.2249 - photo.native_from_srgb[1] * 0.0420 - photo.native_from_srgb[2] * 0.0197, 1, 1e-3);
    // Another white: its neutral still is neutral here (adapted). The ACES primaries AP0 and white, SMPTE ST 2065-1.
    const std::array<float, 8> aces{0.7347F, 0.2653F, 0, 1, 0.0001F, -0.0770F, 0.32168F, 0.33767F};
    s.attribute("chromaticities", OIIO::TypeDesc(OIIO::TypeDesc::FLOAT, 8), aces.data());
    expect_color(load(test::write<float>(folder / "b.exr", s, {1, 1, 1, 0.25F, 0.25F, 0.25F, 0, 0, 1})), 1, 0, {0.25, 0.25, 0.25}, 1e-4);
    const std::array<float, 8> nonsense{0, 0, 0, 0, 0, 0, 0, 0};
    s.attribute("chromaticities", OIIO::TypeDesc(OIIO::TypeDesc::FLOAT, 8), nonsense.data());
    EXPECT_TRUE(mentions(load(test::write<float>(folder / "c.exr", s, {1, 1, 1, 0.25F, 0.25F, 0.25F, 0, 0, 1})).notes, "cannot be"));
}

TEST(Exr, AlphaIsUndone) {
    const Folder folder;
    const Photo photo =
        load(test::write<float>(folder / "a.exr", spec<float>(3, 1, 4), {0.125F, 0.25F, 0.0625F, 0.5F, 0.25F, 0.5F, 0.75F, 1, 0, 0, 0, 0}));
    expect_color(photo, 0, 0, {0.25, 0.5, 0.125}, 1e-7);  // OpenEXR multiplies colors by opacity
    expect_color(photo, 1, 0, {0.25, 0.5, 0.75}, 1e-7);
    EXPECT_TRUE(mentions(photo.notes, "33 % of the picture is wholly transparent"));
}

TEST(Exr, OddChannels) {
    const Folder folder;
    OIIO::ImageSpec s = spec<float>(2, 1, 1);
    s.channelnames = {"Y"};
    const Photo gray = load(test::write<float>(folder / "a.exr", s, {0.25F, 0.5F}));
    expect_color(gray, 1, 0, {0.5, 0.5, 0.5}, 0);
    EXPECT_TRUE(mentions(gray.notes, "gray picture"));
    OIIO::ImageSpec layers = spec<float>(1, 1, 3);
    layers.channelnames = {"depth.Z", "normal.X", "normal.Y"};
    const auto refused = load_photo(test::write<float>(folder / "b.exr", layers, {1, 2, 3}));
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().fault, Fault::picture_unsupported);
    EXPECT_NE(refused.error().cause.find("no channels R, G and B"), std::string::npos) << describe(refused.error());
}

TEST(Exr, WhatMayBeCutOffIsSaid) {
    const Folder folder;
    std::vector<float> samples;
    for (int i = 0; i < 60 * 40; ++i)
        samples.insert(samples.end(), {0.3F + 1e-4F * static_cast<float>(i), i < 100 ? 0.95F : 0.2F + 1e-4F * static_cast<float>(i), 0.1F});
    for (std::size_t i = 2; i < samples.size(); i += 3) samples[i] += 1e-5F * static_cast<float>(i);
    const std::string words = "many pixels share the largest value";
    EXPECT_TRUE(mentions(load(test::write(folder / "a.exr", spec<float>(60, 40, 3), samples)).notes, words));
    for (std::size_t i = 0; i < 100; ++i) samples[3 * i + 1] -= 1e-3F * static_cast<float>(i);
    EXPECT_FALSE(mentions(load(test::write(folder / "b.exr", spec<float>(60, 40, 3), samples)).notes, words));
}

// --- HEIF -----------------------------------------------------------------------------------------------------------------------------

/// Written with libheif's encoder (x265 or AOM, lossless 4:4:4 where asked). Empty when the encoder is not installed.
struct Heif {
    heif_compression_format format = heif_compression_HEVC;
    int width = 64, height = 48, bits = 8;
    bool alpha = false;
    FileBytes profile, exif;
    int orientation = 1;
    int primaries = 0, transfer = 0;  // code points of ITU-T H.273 instead of a profile
};
FileBytes heif(const Heif& about, const std::vector<std::uint16_t>& rgb) {
    FileBytes file;
    heif_context* context = heif_context_alloc();
    heif_encoder* encoder = nullptr;
    if (heif_context_get_encoder_for_format(context, about.format, &encoder).code != heif_error_Ok) {
        heif_context_free(context);
        return file;
    }
    heif_encoder_set_lossless(encoder, 1);
    heif_encoder_set_parameter(encoder, "chroma", "444");
    heif_image* image = nullptr;
    const int channels = about.alpha ? 4 : 3;
    const heif_chroma chroma = about.bits > 8 ? (about.alpha ? heif_chroma_interleaved_RRGGBBAA_LE : heif_chroma_interleaved_RRGGBB_LE)
                                              : (about.alpha ? heif_chroma_interleaved_RGBA : heif_chroma_interleaved_RGB);
    heif_image_create(about.width, about.height, heif_colorspace_RGB, chroma, &image);
    heif_image_add_plane(image, heif_channel_interleaved, about.width, about.height, about.bits);
    int stride = 0;
    std::uint8_t* plane = heif_image_get_plane(image, heif_channel_interleaved, &stride);
    for (int y = 0; y < about.height; ++y) {
        for (int i = 0; i < about.width * channels; ++i) {
            const std::uint16_t code = rgb[static_cast<std::size_t>(y * about.width * channels + i)];
            if (about.bits > 8) {
                plane[y * stride + 2 * i] = static_cast<std::uint8_t>(code);
                plane[y * stride + 2 * i + 1] = static_cast<std::uint8_t>(code >> 8);
            } else {
                plane[y * stride + i] = static_cast<std::uint8_t>(code);
            }
        }
    }
    if (!about.profile.empty()) heif_image_set_raw_color_profile(image, "prof", about.profile.data(), about.profile.size());
    heif_encoding_options* options = heif_encoding_options_alloc();
    heif_color_profile_nclx* nclx = heif_nclx_color_profile_alloc();
    heif_nclx_color_profile_set_matrix_coefficients(nclx, 0);  // RGB stays RGB: lossless
    nclx->full_range_flag = 1;
    if (about.primaries != 0) heif_nclx_color_profile_set_color_primaries(nclx, static_cast<std::uint16_t>(about.primaries));
    if (about.transfer != 0) heif_nclx_color_profile_set_transfer_characteristics(nclx, static_cast<std::uint16_t>(about.transfer));
    options->output_nclx_profile = nclx;
    options->image_orientation = static_cast<heif_orientation>(about.orientation);
    options->macOS_compatibility_workaround_no_nclx_profile = 0;
    if (about.primaries != 0) heif_image_set_nclx_color_profile(image, nclx);
    heif_image_handle* handle = nullptr;
    const heif_error error = heif_context_encode_image(context, image, encoder, options, &handle);
    EXPECT_EQ(error.code, heif_error_Ok) << error.message;
    if (!about.exif.empty()) heif_context_add_exif_metadata(context, handle, about.exif.data(), static_cast<int>(about.exif.size()));
    heif_writer writer{1, [](heif_context*, const void* data, std::size_t size, void* to) {
                           const auto* from = static_cast<const std::uint8_t*>(data);
                           static_cast<FileBytes*>(to)->assign(from, from + size);
                           return heif_error{heif_error_Ok, heif_suberror_Unspecified, ""};
                       }};
    heif_context_write(context, &writer, &file);
    heif_image_handle_release(handle);
    heif_nclx_color_profile_free(nclx);
    heif_encoding_options_free(options);
    heif_image_release(image);
    heif_encoder_release(encoder);
    heif_context_free(context);
    return file;
}

std::vector<std::uint16_t> widened(const std::vector<std::uint8_t>& samples) { return {samples.begin(), samples.end()}; }

#define SW_NEEDS_ENCODER(bytes) \
    if ((bytes).empty()) GTEST_SKIP() << "no encoder for it is installed"

TEST(HeifPicture, LosslessValuesWithAndWithoutProfile) {
    const Folder folder;
    const std::vector<std::uint8_t> scene = scenery(64, 48);
    const FileBytes bytes = heif({}, widened(scene));
    SW_NEEDS_ENCODER(bytes);
    test::write_bytes(folder / "a.heic", bytes);
    const Photo photo = load(folder / "a.heic");
    ASSERT_EQ(photo.width, 64);
    for (int y = 0; y < 48; y += 5) {
        for (int x = 0; x < 64; x += 5) {
            const auto* code = &scene[static_cast<std::size_t>(3 * (y * 64 + x))];
            // Lossless, but libheif may go through YCbCr: two codes, at most 0.016 linear below 200.
            expect_color(photo, x, y, light(code[0], code[1], code[2]), 0.016);
        }
    }
    EXPECT_TRUE(photo.untagged);
    Heif tagged;
    tagged.profile = test::wide_gamut();
    test::write_bytes(folder / "b.heic", heif(tagged, widened(scene)));
    const Photo wide = load(folder / "b.heic");
    EXPECT_EQ(wide.encoding, "profile: Wide test");
    const Photo same = load(test::write(folder / "c.png", test::with_profile(spec<std::uint8_t>(64, 48, 3), test::wide_gamut()), scene));
    for (int i = 0; i < 3 * 64 * 48; ++i) {
        const int x = i / 3 % 64, y = i / 3 / 64;
        ASSERT_NEAR(wide.pixel(x, y)[i % 3], same.pixel(x, y)[i % 3], 0.02) << i;
    }
    tagged.profile = FileBytes(200, 'x');
    test::write_bytes(folder / "d.heic", heif(tagged, widened(scene)));
    const auto broken = load_photo(folder / "d.heic");
    ASSERT_FALSE(broken);
    EXPECT_EQ(broken.error().fault, Fault::profile_broken);
}

// The properties irot and imir, written by libheif for what EXIF 2.32 calls 1 to 8; the decoder turns the picture itself.
class HeifOrientations : public testing::TestWithParam<int> {};
TEST_P(HeifOrientations, AreUndoneOnce) {
    const int orientation = GetParam(), width = 64, height = 48;
    const bool turned = orientation >= 5;
    const std::vector<std::uint8_t> scene = scenery(width, height);
    Heif about;
    about.width = turned ? height : width;
    about.height = turned ? width : height;
    about.orientation = orientation;
    FileBytes exif{'I', 'I', 42, 0, 0, 0, 0, 0};
    test::TiffDirectory directory;
    directory.shorts(274, {static_cast<std::uint16_t>(orientation)});  // cameras write both
    exif[4] = static_cast<std::uint8_t>(directory.append_to(exif));
    about.exif = exif;
    std::vector<std::uint16_t> stored(scene.size());
    for (int y = 0; y < height; ++y) {
        for (int x = 0; x < width; ++x) {
            const auto [sx, sy] = test::stored_at(orientation, x, y, width, height);
            for (int c = 0; c < 3; ++c)
                stored[static_cast<std::size_t>(3 * (sy * about.width + sx) + c)] = scene[static_cast<std::size_t>(3 * (y * width + x) + c)];
        }
    }
    const FileBytes bytes = heif(about, stored);
    SW_NEEDS_ENCODER(bytes);
    const Folder folder;
    test::write_bytes(folder / "a.heic", bytes);
    const Photo photo = load(folder / "a.heic");
    ASSERT_EQ(photo.width, width);
    ASSERT_EQ(photo.height, height);
    for (int y = 0; y < height; y += 47) {
        for (int x = 0; x < width; x += 63) {
            const auto* code = &scene[static_cast<std::size_t>(3 * (y * width + x))];
            expect_color(photo, x, y, light(code[0], code[1], code[2]), 0.016);
        }
    }
}
INSTANTIATE_TEST_SUITE_P(Properties, HeifOrientations, testing::Range(1, 9));

// EXIF says "turn", HEIF's own properties say nothing: upright it is (ISO/IEC 23008-12: EXIF's orientation does not count).
TEST(HeifPicture, ExifOrientationDoesNotCountButItsCameraDoes) {
    const Folder folder;
    FileBytes exif{'I', 'I', 42, 0, 0, 0, 0, 0};
    test::TiffDirectory directory;
    directory.shorts(274, {6});
    directory.text(271, "Invented");
    exif[4] = static_cast<std::uint8_t>(directory.append_to(exif));
    Heif about;
    about.exif = exif;
    const FileBytes bytes = heif(about, widened(scenery(64, 48)));
    SW_NEEDS_ENCODER(bytes);
    test::write_bytes(folder / "a.heic", bytes);
    const Photo photo = load(folder / "a.heic");
    EXPECT_EQ(photo.width, 64);
    EXPECT_EQ(photo.orientation, 1);
    EXPECT_EQ(photo.camera, "Invented");
    const std::vector<std::uint8_t> scene = scenery(64, 48);
    expect_color(photo, 0, 0, light(scene[0], scene[1], scene[2]), 0.016);
}

TEST(HeifPicture, TenBitsAndAlpha) {
    const Folder folder;
    Heif about;
    about.bits = 10;
    std::vector<std::uint16_t> codes;
    for (int i = 0; i < 64 * 48; ++i) codes.insert(codes.end(), {101, 514, 777});
    const FileBytes bytes = heif(about, codes);
    SW_NEEDS_ENCODER(bytes);
    test::write_bytes(folder / "a.heic", bytes);
    const Photo photo = load(folder / "a.heic");
    EXPECT_EQ(photo.bits, 10);
    // Two codes of 1023.
    expect_color(photo, 30, 30, {srgb_to_linear(101 / 1023.0), srgb_to_linear(514 / 1023.0), srgb_to_linear(777 / 1023.0)}, 0.004);
    Heif clear;
    clear.alpha = true;
    std::vector<std::uint16_t> samples;
    for (int i = 0; i < 64 * 48; ++i) samples.insert(samples.end(), {120, 90, 60, static_cast<std::uint16_t>(i < 64 * 12 ? 0 : 255)});
    test::write_bytes(folder / "b.heic", heif(clear, samples));
    const Photo alpha = load(folder / "b.heic");
    expect_color(alpha, 40, 40, light(120, 90, 60), 0.016);
    EXPECT_TRUE(mentions(alpha.notes, "25 % of the picture is wholly transparent")) << alpha.notes.size();
}

TEST(HeifPicture, CodePointsAreFollowed) {
    const Folder folder;
    Heif about;
    about.primaries = 12;  // SMPTE EG 432-1, P3 with D65
    about.transfer = 13;   // IEC 61966-2-1
    std::vector<std::uint16_t> red;
    for (int i = 0; i < 64 * 48; ++i) red.insert(red.end(), {255, 0, 0});
    const FileBytes bytes = heif(about, red);
    SW_NEEDS_ENCODER(bytes);
    test::write_bytes(folder / "a.heic", bytes);
    const Photo photo = load(folder / "a.heic");
    expect_color(photo, 30, 30, {1.2249, -0.0420, -0.0197}, 0.02);
    EXPECT_EQ(photo.encoding, "sRGB's curve (HEIF, with its own primaries)");
    about.transfer = 16;  // PQ
    test::write_bytes(folder / "b.heic", heif(about, red));
    const auto hdr = load_photo(folder / "b.heic");
    ASSERT_FALSE(hdr);
    EXPECT_NE(hdr.error().cause.find("HDR"), std::string::npos);
}

TEST(HeifPicture, Avif) {
    const Folder folder;
    Heif about;
    about.format = heif_compression_AV1;
    const std::vector<std::uint8_t> scene = scenery(64, 48);
    const FileBytes bytes = heif(about, widened(scene));
    SW_NEEDS_ENCODER(bytes);
    test::write_bytes(folder / "a.avif", bytes);
    const Photo photo = load(folder / "a.avif");
    const auto* code = &scene[static_cast<std::size_t>(3 * (20 * 64 + 20))];
    expect_color(photo, 20, 20, light(code[0], code[1], code[2]), 0.016);
    EXPECT_TRUE(photo.notes.empty());
}

// --- Camera raw -----------------------------------------------------------------------------------------------------------------------

// Sensor codes 3000, 9000, 5000 between black 512 and white 15000. Half a step of 16 bits, twice rounded by LibRaw: 2 / 65535.
TEST(Raw, SensorCodesComeOutLinear) {
    const Folder folder;
    for (const bool linear : {false, true}) {
        Dng about;
        about.linear = linear;
        test::write_bytes(folder / "a.dng", test::flat_dng(about, {3000, 9000, 5000}));
        const Photo photo = load(folder / "a.dng");
        ASSERT_EQ(photo.width, about.width);
        ASSERT_EQ(photo.height, about.height);
        const auto share = [&](double code) { return (code - about.black) / (about.white - about.black); };
        for (int y = 0; y < about.height; ++y) {
            for (int x = 0; x < about.width; ++x) expect_color(photo, x, y, {share(3000), share(9000), share(5000)}, 2.0 / 65535);
        }
        EXPECT_TRUE(photo.linear);
        EXPECT_EQ(photo.encoding, "linear (camera raw)");
        EXPECT_EQ(photo.encoded, Encoding::linear);
        EXPECT_EQ(photo.encoding_by, DecidedBy::file);
        ASSERT_TRUE(photo.sensor);
        ASSERT_TRUE(photo.sensor->from_xyz_d65);
        for (std::size_t i = 0; i < 9; ++i) EXPECT_NEAR((*photo.sensor->from_xyz_d65)[i], about.matrix[i], 1e-4) << i;
        ASSERT_TRUE(photo.sensor->neutral_as_shot);
        for (std::size_t i = 0; i < 3; ++i) EXPECT_NEAR((*photo.sensor->neutral_as_shot)[i], about.neutral[i], 1e-4);
        EXPECT_EQ(photo.camera, "Invented Box 4");
        EXPECT_EQ(photo.shot.iso, 200);
        EXPECT_NEAR(photo.shot.exposure_s.value_or(0), 0.008, 1e-6);
        EXPECT_NEAR(photo.shot.f_number.value_or(0), 5.6, 1e-4);
        EXPECT_NEAR(photo.shot.focal_mm.value_or(0), 50, 1e-4);
        EXPECT_EQ(photo.taken, "2026:05:04 10:11:12");
        EXPECT_TRUE(mentions(photo.notes, "not balanced"));
        EXPECT_EQ(std::count(photo.clipped.begin(), photo.clipped.end(), 1), 0);
    }
}

// The camera's opinion of white must change nothing, nor how bright the rest of the picture is.
TEST(Raw, NeitherWhiteNorBrightnessAreGuessed) {
    const Folder folder;
    Dng about;
    test::write_bytes(folder / "a.dng", test::flat_dng(about, {1000, 2000, 1500}));
    const Photo dark = load(folder / "a.dng");
    about.neutral = {0.9, 1, 0.3};
    test::write_bytes(folder / "a.dng", test::flat_dng(about, {1000, 2000, 1500}));
    EXPECT_EQ(load(folder / "a.dng").rgb, dark.rgb);
    EXPECT_NEAR(dark.pixel(20, 20)[1], (2000.0 - 512) / (15000 - 512), 2.0 / 65535);
    EXPECT_TRUE(mentions(load(folder / "a.dng", {TransferKind::srgb}).notes, "the transfer asked for was not used"));
    EXPECT_EQ(load(folder / "a.dng", {TransferKind::srgb}).rgb, dark.rgb);
}

// One bright red sensor pixel: its neighbors that are interpolated from it are marked too.
TEST(Raw, ClippedReachesItsNeighbors) {
    const Folder folder;
    const Dng about;
    std::vector<std::uint16_t> codes(static_cast<std::size_t>(about.width * about.height), 3000);
    codes[static_cast<std::size_t>(20 * about.width + 30)] = 15000;
    test::write_bytes(folder / "a.dng", test::dng(about, codes));
    const Photo photo = load(folder / "a.dng");
    EXPECT_EQ(std::count(photo.clipped.begin(), photo.clipped.end(), 1), 9);
    EXPECT_EQ(photo.clipped[static_cast<std::size_t>(19 * about.width + 29)], 1);
    EXPECT_FALSE(photo.clipped[static_cast<std::size_t>(18 * about.width + 30)]);
}

TEST(Raw, OrientationIsUndone) {
    const Folder folder;
    for (const int orientation : {1, 3, 6, 8}) {
        Dng about;
        about.orientation = orientation;
        about.linear = true;
        std::vector<std::uint16_t> codes;
        for (int y = 0; y < about.height; ++y) {
            for (int x = 0; x < about.width; ++x) {
                const auto code = static_cast<std::uint16_t>(1000 + 100 * x + y);
                codes.insert(codes.end(), 3, code);
            }
        }
        test::write_bytes(folder / "a.dng", test::dng(about, codes));
        const Photo photo = load(folder / "a.dng");
        ASSERT_EQ(photo.width, orientation >= 5 ? about.height : about.width);
        // Where stored row 0, column 0 lies: 1 top left, 3 bottom right, 6 right top, 8 left bottom (EXIF 2.32).
        const int x = orientation == 3 || orientation == 6 ? photo.width - 1 : 0, y = orientation == 3 || orientation == 8 ? photo.height - 1 : 0;
        EXPECT_NEAR(photo.pixel(x, y)[1], (1000.0 - 512) / (15000 - 512), 2.0 / 65535) << orientation;
    }
}

TEST(Raw, BadOnes) {
    const Folder folder;
    FileBytes bytes = test::flat_dng({}, {3000, 9000, 5000});
    const auto refuse = [&](const FileBytes& file, const std::string& words) {
        test::write_bytes(folder / "a.dng", file);
        const auto photo = load_photo(folder / "a.dng");
        ASSERT_FALSE(photo) << words;
        EXPECT_NE(photo.error().cause.find(words), std::string::npos) << describe(photo.error());
        EXPECT_FALSE(photo.error().remedy.empty());
    };
    Dng huge;
    FileBytes lying = test::flat_dng(huge, {3000, 9000, 5000});
    test::set_tiff_tag(lying, 256, 60'000);
    test::set_tiff_tag(lying, 257, 60'000);
    refuse(lying, "at most 200 million");
    lying = test::flat_dng(huge, {3000, 9000, 5000});
    test::set_tiff_tag(lying, 256, 14'000);
    test::set_tiff_tag(lying, 257, 14'000);
    refuse(lying, "more pixels than the file can hold");
    // A camera's own format by its first bytes, nothing in it.
    std::string own = "FUJIFILMCCD-RAW 0201";
    own.resize(4000);
    refuse(FileBytes(own.begin(), own.end()), "");
}

// --- CMYK -----------------------------------------------------------------------------------------------------------------------------

// Against lcms2's own answer for the same profile. JPEG at quality 100 of flat inks: one code of rounding each, 0.02 linear at most.
TEST(Cmyk, GoesThroughItsProfile) {
    const Folder folder;
    const FileBytes profile = test::ink_profile();
    const std::array<std::array<std::uint8_t, 4>, 4> inks{{{0, 0, 0, 0}, {200, 30, 60, 10}, {10, 180, 120, 0}, {0, 0, 0, 255}}};
    for (const bool deep : {false, true}) {
        OIIO::ImageSpec s = deep ? spec<std::uint16_t>(4, 1, 4) : spec<std::uint8_t>(4, 1, 4);
        s = test::with_profile(s, profile);
        std::vector<std::uint8_t> eight;
        std::vector<std::uint16_t> sixteen;
        for (const auto& ink : inks) {
            for (const std::uint8_t v : ink) {
                eight.push_back(v);
                sixteen.push_back(static_cast<std::uint16_t>(257 * v));
            }
        }
        const auto path = folder / "a.tif";
        if (deep)
            test::write(path, s, sixteen);
        else
            test::write(path, s, eight);
        FileBytes tiff = test::read_bytes(path);
        test::set_tiff_tag(tiff, 262, 5);  // PhotometricInterpretation: separated
        test::set_tiff_tag(tiff, 338, 0);  // ExtraSamples: the fourth is no opacity
        test::write_bytes(path, tiff);
        const Photo photo = load(path);
        EXPECT_EQ(photo.encoding, "profile: Ink test");
        EXPECT_TRUE(mentions(photo.notes, "CMYK"));
        for (int i = 0; i < 4; ++i) expect_color(photo, i, 0, test::ink_color(profile, inks[static_cast<std::size_t>(i)]), 1e-4);
        EXPECT_EQ(photo.clipped, (Pixels<std::uint8_t>{1, 0, 0, 0})) << "bare paper is the brightest there is";
        EXPECT_TRUE(mentions(load(path, {TransferKind::linear}).notes, "inks have no transfer"));
    }
}

TEST(Cmyk, JpegWithInvertedInks) {
    const Folder folder;
    const FileBytes profile = test::ink_profile();
    const std::array<std::uint8_t, 4> ink{200, 30, 60, 10};
    test::write_bytes(folder / "a.jpg", test::ink_jpeg(48, 32, ink, profile));
    const Photo photo = load(folder / "a.jpg");
    ASSERT_EQ(photo.width, 48);
    expect_color(photo, 20, 20, test::ink_color(profile, ink), 0.02);
    EXPECT_EQ(photo.encoding, "profile: Ink test");
    test::write_bytes(folder / "b.jpg", test::ink_jpeg(48, 32, ink, {}));
    const auto bare = load_photo(folder / "b.jpg");
    ASSERT_FALSE(bare);
    EXPECT_EQ(bare.error().fault, Fault::picture_unsupported);
    EXPECT_NE(bare.error().cause.find("CMYK picture without a color profile"), std::string::npos);
    EXPECT_NE(bare.error().remedy.find("convert it to RGB"), std::string::npos);
    // An RGB profile in a CMYK picture.
    test::write_bytes(folder / "c.jpg", test::ink_jpeg(48, 32, ink, test::wide_gamut()));
    const auto wrong = load_photo(folder / "c.jpg");
    ASSERT_FALSE(wrong);
    EXPECT_EQ(wrong.error().fault, Fault::profile_broken);
    FileBytes cut = test::ink_jpeg(48, 32, ink, profile);
    cut.resize(cut.size() - 40);
    test::write_bytes(folder / "d.jpg", cut);
    EXPECT_FALSE(load_photo(folder / "d.jpg"));
}

// --- PNG's own words on color ---------------------------------------------------------------------------------------------------------

TEST(Png, GammaAndPrimariesAreFollowed) {
    const Folder folder;
    const auto with = [&](const std::vector<std::pair<std::string, std::vector<std::uint32_t>>>& chunks) {
        FileBytes png = test::read_bytes(test::write<std::uint8_t>(folder / "a.png", spec<std::uint8_t>(2, 1, 3), {128, 128, 128, 255, 0, 0}));
        for (const auto& [name, figures] : chunks) test::insert_png_chunk(png, name, figures);
        test::write_bytes(folder / "a.png", png);
        return load(folder / "a.png");
    };
    const Photo linear = with({{"gAMA", {100000}}});
    expect_color(linear, 0, 0, {128 / 255.0, 128 / 255.0, 128 / 255.0}, 1e-6);
    EXPECT_EQ(linear.encoding, "linear (PNG)");
    EXPECT_TRUE(linear.linear);
    const Photo gamma = with({{"gAMA", {55556}}});
    EXPECT_NEAR(gamma.pixel(0, 0)[0], std::pow(128 / 255.0, 1.8), 1e-4);
    EXPECT_EQ(gamma.encoding, "gamma 1.8 (PNG)");
    EXPECT_EQ(gamma.encoded, Encoding::gamma);
    EXPECT_EQ(with({{"gAMA", {45455}}}).encoding, "sRGB (no profile in the file)") << "what programs write that mean sRGB";
    const Photo p3 = with({{"cHRM", {31270, 32900, 68000, 32000, 26500, 69000, 15000, 6000}}});
    expect_color(p3, 1, 0, {1.2249, -0.0420, -0.0197}, 2e-4);
}

TEST(Png, ExifChunkIsFollowed) {
    const Folder folder;
    const std::vector<std::uint8_t> scene = scenery(20, 10);
    FileBytes png = test::read_bytes(test::write(folder / "a.png", spec<std::uint8_t>(20, 10, 3), scene));
    // "MM", 42, directory at 8; one entry: tag 274 Orientation, SHORT, one of them, 8; no further directory (two bytes of it are padding).
    test::insert_png_chunk(png, "eXIf", {0x4D4D002A, 8, 0x00010112, 0x00030000, 0x00010008, 0, 0});
    test::write_bytes(folder / "a.png", png);
    const Photo photo = load(folder / "a.png");
    EXPECT_EQ(photo.orientation, 8);
    ASSERT_EQ(photo.width, 10);
    // 8: stored row 0 is the left side, column 0 the bottom.
    expect_color(photo, 0, photo.height - 1, light(scene[0], scene[1], scene[2]), 1e-6);
}

// --- Stopping -------------------------------------------------------------------------------------------------------------------------

class Stopped : public testing::TestWithParam<const char*> {};
TEST_P(Stopped, EndsAsCancelled) {
    const Folder folder;
    const std::string kind = GetParam();
    const auto path = folder / ("a." + kind);
    const std::vector<std::uint8_t> scene = scenery(64, 48);
    if (kind == "dng")
        test::write_bytes(path, test::flat_dng({}, {3000, 9000, 5000}));
    else if (kind == "webp")
        test::write_bytes(path, webp(64, 48, 3, scene));
    else if (kind == "heic")
        test::write_bytes(path, heif({}, widened(scene)));
    else
        test::write(path, spec<std::uint8_t>(64, 48, 3), scene);
    if (std::filesystem::file_size(path) == 0) GTEST_SKIP() << "no encoder for it is installed";
    for (const float when : {0.05F, 0.12F}) {  // after the file is read, and a little later
        std::stop_source source;
        float last = 0;
        const auto photo = load_photo(path, {}, source.get_token(), [&](float p) {
            EXPECT_GE(p, last);
            EXPECT_LE(p, 1);
            last = p;
            if (p > when) source.request_stop();
        });
        if (photo) {  // everything was done in the one step that came after
            EXPECT_GT(when, 0.1F) << kind;
        } else {
            EXPECT_EQ(photo.error().fault, Fault::cancelled) << describe(photo.error());
        }
    }
}
INSTANTIATE_TEST_SUITE_P(Formats, Stopped, testing::Values("jpg", "png", "tif", "exr", "webp", "heic", "dng"));

// --- What set-ups need ----------------------------------------------------------------------------------------------------------------

TEST(ShotOf, KeepsHowItWasTakenAndNothingPersonal) {
    const Folder folder;
    OIIO::ImageSpec s = spec<std::uint8_t>(16, 16, 3);
    s.attribute("Make", "Invented");
    s.attribute("Model", "Box 4");
    s.attribute("Exif:LensModel", "Plain 50\x07 mm" + std::string(200, 'x'));
    s.attribute("Exif:PhotographicSensitivity", 200);
    s.attribute("ExposureTime", 0.008F);
    s.attribute("FNumber", 5.6F);
    s.attribute("Exif:FocalLength", 50.0F);
    s.attribute("Exif:WhiteBalance", 1);
    s.attribute("Exif:DateTimeOriginal", "2026:05:04 10:11:12");
    s.attribute("Exif:BodySerialNumber", "SECRET-1");
    s.attribute("Exif:CameraOwnerName", "SECRET-2");
    for (const char* name : {"a.jpg", "a.tif"}) {
        const Photo photo = load(test::write(folder / name, s, scenery(16, 16)));
        EXPECT_EQ(photo.shot.make, "Invented");
        EXPECT_EQ(photo.shot.model, "Box 4");
        EXPECT_EQ(photo.shot.lens.substr(0, 12), "Plain 50? mm") << name;
        EXPECT_LE(photo.shot.lens.size(), 64U);
        if (std::string(name) == "a.jpg") {  // OpenImageIO does not write it into TIFF; read from one below
            EXPECT_EQ(photo.shot.iso, 200);
        }
        EXPECT_NEAR(photo.shot.exposure_s.value_or(0), 0.008, 1e-5) << name;
        EXPECT_NEAR(photo.shot.f_number.value_or(0), 5.6, 1e-4) << name;
        EXPECT_NEAR(photo.shot.focal_mm.value_or(0), 50, 1e-4) << name;
        EXPECT_EQ(photo.shot.white_balance, "set by hand") << name;
        EXPECT_EQ(photo.shot.taken, "2026:05:04 10:11:12") << name;
    }
    const Photo none = load(test::write(folder / "b.png", spec<std::uint8_t>(16, 16, 3), scenery(16, 16)));
    EXPECT_FALSE(none.shot.iso);
    FileBytes tiff{'I', 'I', 42, 0, 0, 0, 0, 0, 90, 140, 200, 0};
    test::TiffDirectory exif, directory;
    exif.shorts(34855, {400});
    exif.octets(37500, FileBytes(40, 'x'));  // MakerNote: an odd one
    const std::uint32_t exif_at = exif.append_to(tiff);
    directory.longs(256, {1});
    directory.longs(257, {1});
    directory.shorts(258, {8, 8, 8});
    directory.shorts(259, {1});
    directory.shorts(262, {2});
    directory.longs(273, {8});
    directory.shorts(277, {3});
    directory.longs(278, {1});
    directory.longs(279, {3});
    directory.longs(34665, {exif_at});
    const std::uint32_t at = directory.append_to(tiff);
    for (std::size_t i = 0; i < 4; ++i) tiff[4 + i] = static_cast<std::uint8_t>(at >> (8 * i));
    test::write_bytes(folder / "c.tif", tiff);
    const Photo hand = load(folder / "c.tif");
    EXPECT_EQ(hand.shot.iso, 400);
    expect_color(hand, 0, 0, light(90, 140, 200), 1e-6);
    EXPECT_TRUE(none.shot.white_balance.empty());
}

}  // namespace
}  // namespace sw
