// Design, section 7: every bad picture gives a clear error and nothing worse.
#include <gtest/gtest.h>
#include <sys/resource.h>
#include <sys/stat.h>

#include <algorithm>
#include <chrono>
#include <cstring>
#include <random>

#include "photo/dng.hpp"
#include "photo/file_header.hpp"
#include "photo/photo.hpp"
#include "photo/pictures.hpp"
#include "photo/profiles.hpp"

namespace sw {
namespace {

using test::crc32;
using test::FileBytes;
using test::Folder;
using test::put_big_endian;
using test::scenery;
using test::set_tiff_tag;
using test::spec;

void expect_refused(const std::filesystem::path& path, Fault fault, const std::string& cause, const std::string& remedy) {
    const auto photo = load_photo(path);
    ASSERT_FALSE(photo) << path;
    const Error& e = photo.error();
    EXPECT_EQ(e.fault, fault) << describe(e);
    EXPECT_EQ(e.file, path.string());
    EXPECT_NE(e.cause.find(cause), std::string::npos) << describe(e);
    EXPECT_NE(e.remedy.find(remedy), std::string::npos) << describe(e);
}

std::filesystem::path good(const Folder& folder, const std::string& name, int width = 64, int height = 48) {
    const auto path = folder / name;
    if (name.ends_with("cmyk.jpg")) {
        test::write_bytes(path, test::ink_jpeg(width, height, {200, 30, 60, 10}, test::ink_profile()));
        return path;
    }
    if (name.ends_with(".dng")) {
        test::write_bytes(path, test::flat_dng({}, {3000, 9000, 5000}));
        return path;
    }
    OIIO::ImageSpec s = spec<std::uint8_t>(width, height, 3);
    if (name.ends_with(".exr")) s.format = OIIO::TypeDesc::HALF;
    return test::write(path, s, scenery(width, height));
}

TEST(BadPictures, MissingFile) { expect_refused("/no/such/bench.jpg", Fault::file_missing, "no such file", "check the name"); }

TEST(BadPictures, NoPermission) {
    if (::geteuid() == 0) GTEST_SKIP() << "root may read everything";
    const Folder folder;
    const auto path = good(folder, "a.png");
    ::chmod(path.c_str(), 0);
    expect_refused(path, Fault::file_missing, "no permission", "permissions");
}

TEST(BadPictures, FolderPipeAndDevice) {
    const Folder folder;
    std::filesystem::create_directory(folder / "d.jpg");
    expect_refused(folder / "d.jpg", Fault::not_a_picture, "is a folder", "one picture");
    ASSERT_EQ(::mkfifo((folder / "p.jpg").c_str(), 0600), 0);
    expect_refused(folder / "p.jpg", Fault::not_a_picture, "pipe", "save the picture to a file");  // returns at all: it did not wait for a writer
    expect_refused("/dev/zero", Fault::not_a_picture, "device", "save the picture to a file");
}

TEST(BadPictures, EmptyFile) {
    const Folder folder;
    test::write_bytes(folder / "a.jpg", {});
    expect_refused(folder / "a.jpg", Fault::not_a_picture, "empty (0 bytes)", "again");
}

TEST(BadPictures, OtherKinds) {
    const Folder folder;
    const auto refuse = [&](const std::string& content, const std::string& words) {
        test::write_bytes(folder / "a.jpg", FileBytes(content.begin(), content.end()));
        expect_refused(folder / "a.jpg", Fault::not_a_picture, words, "JPEG, PNG or TIFF");
    };
    refuse("hello, world", "is not a picture");
    refuse("x", "is not a picture");
    refuse("II*", "is not a picture");
    refuse("GIF89a" + std::string(40, '\0'), "GIF");
    refuse("RIFF1234WEBP", "is not a picture");
    refuse(std::string("\0\0\0\x18", 4) + "ftypisom" + std::string(40, '\0'), "a film");
    refuse(std::string("\0\0\0\x0CJXL \r\n\x87\n", 12) + std::string(40, '\0'), "JPEG XL");
    refuse("%PDF-1.4", "PDF");
    // Formats that the decoder's library would read, but that are not on our list.
    for (const char* name : {"a.bmp", "a.tga", "a.ppm", "a.hdr", "a.gif"}) {
        if (!OIIO::ImageOutput::create(name)) continue;
        expect_refused(good(folder, name), Fault::not_a_picture, "", "JPEG, PNG or TIFF");
    }
}

// Every length: where the header is whole, the picture's end is missing. libjpeg fills up with gray and only warns; that must not pass.
class Truncated : public testing::TestWithParam<const char*> {};
TEST_P(Truncated, IsRefusedAtEveryLength) {
    const Folder folder;
    const FileBytes whole = test::read_bytes(good(folder, std::string("whole.") + GetParam()));
    ASSERT_TRUE(load_photo(folder / (std::string("whole.") + GetParam())));
    const std::size_t tail = std::string(GetParam()) == "jpg" ? 2 : 0;  // the end marker; all pixels are there without it
    const auto path = folder / (std::string("cut.") + GetParam());
    int passed = 0;
    for (std::size_t length = 1; length + tail < whole.size(); length += 1 + length / 50) {
        test::write_bytes(path, FileBytes(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(length)));
        const auto photo = load_photo(path);
        passed += photo ? 1 : 0;
        EXPECT_FALSE(photo) << GetParam() << " cut to " << length << " of " << whole.size();
        if (!photo) {
            EXPECT_EQ(photo.error().fault, Fault::not_a_picture) << describe(photo.error());
        }
    }
    EXPECT_EQ(passed, 0);
}
INSTANTIATE_TEST_SUITE_P(Photo, Truncated, testing::Values("jpg", "png", "tif", "webp", "exr", "heic", "avif", "dng"));

TEST(BadPictures, HalfAPictureSaysDamaged) {
    const Folder folder;
    for (const char* name : {"a.jpg", "a.png", "a.tif"}) {
        FileBytes bytes = test::read_bytes(good(folder, name, 200, 200));
        bytes.resize(bytes.size() / 2);
        test::write_bytes(folder / name, bytes);
        expect_refused(folder / name, Fault::not_a_picture, "damaged or cut off", "again");
    }
}

void set_png_size(FileBytes& bytes, std::uint32_t width, std::uint32_t height) {
    put_big_endian(bytes, 16, width, 4);
    put_big_endian(bytes, 20, height, 4);
    put_big_endian(bytes, 29, crc32(&bytes[12], 17), 4);
}

std::size_t find_jpeg_frame(const FileBytes& bytes) {
    for (std::size_t i = 2; i + 9 < bytes.size(); i += 2 + static_cast<std::size_t>(bytes[i + 2] << 8 | bytes[i + 3])) {
        if (bytes[i + 1] == 0xC0 || bytes[i + 1] == 0xC2) return i;
    }
    return 0;
}

/// Peak memory of this process so far, in megabytes.
long peak_megabytes() {
    rusage usage{};
    ::getrusage(RUSAGE_SELF, &usage);
    return usage.ru_maxrss / 1024;
}

TEST(BadPictures, LyingHeadersAllocateNothing) {
    const Folder folder;
    const long before = peak_megabytes();
    FileBytes png = test::read_bytes(good(folder, "a.png"));
    set_png_size(png, 100'000, 100'000);
    test::write_bytes(folder / "a.png", png);
    expect_refused(folder / "a.png", Fault::picture_unsupported, "100000 x 100000 pixels; at most 200 million", "crop");
    set_png_size(png, 14'000, 14'000);  // within the limit, but 2 kB cannot hold it
    test::write_bytes(folder / "a.png", png);
    expect_refused(folder / "a.png", Fault::not_a_picture, "more pixels than the file can hold", "again");
    set_png_size(png, 0, 10);
    test::write_bytes(folder / "a.png", png);
    expect_refused(folder / "a.png", Fault::not_a_picture, "no size", "again");
    set_png_size(png, 0x80000000U, 0xFFFFFFFFU);
    test::write_bytes(folder / "a.png", png);
    expect_refused(folder / "a.png", Fault::picture_unsupported, "at most 200 million", "crop");

    FileBytes jpeg = test::read_bytes(good(folder, "a.jpg"));
    const std::size_t frame = find_jpeg_frame(jpeg);
    ASSERT_NE(frame, 0U);
    put_big_endian(jpeg, frame + 5, 65500, 2);
    put_big_endian(jpeg, frame + 7, 65500, 2);
    test::write_bytes(folder / "a.jpg", jpeg);
    expect_refused(folder / "a.jpg", Fault::picture_unsupported, "65500 x 65500", "crop");
    put_big_endian(jpeg, frame + 5, 12000, 2);
    put_big_endian(jpeg, frame + 7, 12000, 2);
    test::write_bytes(folder / "a.jpg", jpeg);
    expect_refused(folder / "a.jpg", Fault::not_a_picture, "more pixels than the file can hold", "again");

    for (const char* compression : {"none", "lzw", "zip"}) {
        OIIO::ImageSpec s = spec<std::uint8_t>(64, 48, 3);
        s.attribute("compression", compression);
        const FileBytes tiff = test::read_bytes(test::write(folder / "a.tif", s, scenery(64, 48)));
        FileBytes lying = tiff;
        set_tiff_tag(lying, 256, 100'000);  // ImageWidth
        set_tiff_tag(lying, 257, 100'000);  // ImageLength
        test::write_bytes(folder / "b.tif", lying);
        const auto huge = load_photo(folder / "b.tif");
        ASSERT_FALSE(huge);
        EXPECT_TRUE(huge.error().fault == Fault::picture_unsupported || huge.error().fault == Fault::not_a_picture) << describe(huge.error());
        lying = tiff;
        set_tiff_tag(lying, 256, 14'000);
        set_tiff_tag(lying, 257, 14'000);
        test::write_bytes(folder / "b.tif", lying);
        expect_refused(folder / "b.tif", Fault::not_a_picture, "damaged", "again");
    }
    EXPECT_LT(peak_megabytes() - before, 100) << "the sizes above are 588 MB and more";
}

// With a profile they are read: tests/photo/formats_test.cpp.
TEST(BadPictures, CmykWithoutAProfile) {
    const Folder folder;
    test::write_bytes(folder / "a.jpg", test::ink_jpeg(16, 16, {10, 20, 30, 40}, {}));
    expect_refused(folder / "a.jpg", Fault::picture_unsupported, "CMYK picture without a color profile", "convert it to RGB");
    FileBytes tiff = test::read_bytes(test::write(folder / "a.tif", spec<std::uint8_t>(8, 8, 4), std::vector<std::uint8_t>(256, 90)));
    set_tiff_tag(tiff, 262, 5);  // PhotometricInterpretation = separated
    test::write_bytes(folder / "a.tif", tiff);
    expect_refused(folder / "a.tif", Fault::picture_unsupported, "CMYK picture without a color profile", "convert it to RGB");
    set_tiff_tag(tiff, 262, 8);  // CIE L*a*b*
    test::write_bytes(folder / "a.tif", tiff);
    expect_refused(folder / "a.tif", Fault::picture_unsupported, "Lab", "RGB");
}

TEST(BadPictures, CameraRawThatIsNone) {
    const Folder folder;
    FileBytes tiff = test::read_bytes(good(folder, "a.tif"));
    const std::size_t directory = tiff[4] | tiff[5] << 8 | tiff[6] << 16 | tiff[7] << 24;
    tiff.at(directory + 2) = 0x12;  // the first tag becomes 50706, DNGVersion
    tiff.at(directory + 3) = 0xC6;
    test::write_bytes(folder / "a.tif", tiff);
    const auto photo = load_photo(folder / "a.tif");
    ASSERT_FALSE(photo);
    EXPECT_FALSE(photo.error().remedy.empty());
}

TEST(BadPictures, OddPixelKinds) {
    const Folder folder;
    expect_refused(test::write(folder / "a.tif", spec<std::int16_t>(8, 8, 3), std::vector<std::int16_t>(192, 5)), Fault::picture_unsupported, "int16",
                   "8 or 16 bits");
    expect_refused(test::write(folder / "b.tif", spec<std::uint8_t>(8, 8, 12), std::vector<std::uint8_t>(768, 5)), Fault::picture_unsupported,
                   "12 channels", "RGB");
}

// What is damaged but whole in length. The decoder would drop the profile without a word and print its own line for the pixels.
TEST(BadPictures, PngWithWrongChecksums) {
    const Folder folder;
    const auto path = test::write(folder / "a.png", test::with_profile(spec<std::uint8_t>(64, 48, 3), test::wide_gamut()), scenery(64, 48));
    const FileBytes whole = test::read_bytes(path);
    for (std::size_t at = 33; at + 12 < whole.size();) {
        const std::size_t length = static_cast<std::size_t>(whole[at + 2] << 8 | whole[at + 3]);
        FileBytes bytes = whole;
        bytes[at + 8 + length / 2] ^= 0x10;
        if (at + 24 < whole.size()) {
            test::write_bytes(path, bytes);
            testing::internal::CaptureStderr();
            expect_refused(path, Fault::not_a_picture, "a checksum inside it is wrong", "again");
            EXPECT_EQ(testing::internal::GetCapturedStderr(), "");
        }
        at += 12 + length;
    }
    // A profile that is nonsense, with the right checksum: said, not dropped.
    FileBytes png = test::read_bytes(test::write(path, spec<std::uint8_t>(64, 48, 3), scenery(64, 48)));
    test::insert_png_chunk(png, "iCCP", {0x41420000, 0x12345678});
    test::write_bytes(path, png);
    expect_refused(path, Fault::profile_broken, "cannot be read", "remove the profile");
}

TEST(BadPictures, LyingExr) {
    const Folder folder;
    OIIO::ImageSpec s = spec<float>(64, 48, 3);
    s.attribute("compression", "none");
    const FileBytes whole = test::read_bytes(test::write(folder / "a.exr", s, scenery(64, 48)));
    const std::string name = "dataWindow";
    const auto found = std::search(whole.begin(), whole.end(), name.begin(), name.end());
    ASSERT_NE(found, whole.end());
    const std::size_t corner = static_cast<std::size_t>(found - whole.begin()) + name.size() + 1 + 6 + 4 + 8;  // name, "box2i", size, first corner
    const auto lie = [&](std::uint32_t right, std::uint32_t bottom, Fault fault, const std::string& cause, const std::string& remedy) {
        FileBytes bytes = whole;
        for (std::size_t i = 0; i < 4; ++i) {
            bytes[corner + i] = static_cast<std::uint8_t>(right >> (8 * i));
            bytes[corner + 4 + i] = static_cast<std::uint8_t>(bottom >> (8 * i));
        }
        test::write_bytes(folder / "a.exr", bytes);
        expect_refused(folder / "a.exr", fault, cause, remedy);
    };
    const long before = peak_megabytes();
    lie(99'999, 99'999, Fault::picture_unsupported, "100000 x 100000 pixels; at most 200 million", "crop");
    lie(13'999, 13'999, Fault::not_a_picture, "more pixels than the file can hold", "again");
    lie(0xFFFFFFF0U, 10, Fault::not_a_picture, "no size", "again");
    EXPECT_LT(peak_megabytes() - before, 100);
}

// A palette of three colors, 2 bits a pixel, made by hand: chunks as the PNG specification (ISO/IEC 15948) has them, stored (not compressed) deflate.
FileBytes palette_png(bool animated) {
    FileBytes png{0x89, 'P', 'N', 'G', '\r', '\n', 0x1A, '\n'};
    const auto chunk = [&](const char* kind, const FileBytes& data) {
        FileBytes body(kind, kind + 4);
        body.insert(body.end(), data.begin(), data.end());
        png.resize(png.size() + 4);
        put_big_endian(png, png.size() - 4, static_cast<std::uint32_t>(data.size()), 4);
        png.insert(png.end(), body.begin(), body.end());
        png.resize(png.size() + 4);
        put_big_endian(png, png.size() - 4, crc32(body.data(), body.size()), 4);
    };
    chunk("IHDR", {0, 0, 0, 4, 0, 0, 0, 1, 2, 3, 0, 0, 0});
    if (animated) chunk("acTL", {0, 0, 0, 2, 0, 0, 0, 0});
    chunk("PLTE", {255, 0, 0, 0, 128, 0, 0, 0, 64});
    // zlib header, one stored block of two bytes: filter 0, pixels 0 1 2 1; Adler-32
    const std::uint8_t pixels = 0b00011001;
    const std::uint32_t a = 1 + pixels, b = 1 + a;
    chunk("IDAT", {0x78, 0x01, 1, 2, 0, 0xFD, 0xFF, 0, pixels, static_cast<std::uint8_t>(b >> 8), static_cast<std::uint8_t>(b),
                   static_cast<std::uint8_t>(a >> 8), static_cast<std::uint8_t>(a)});
    chunk("IEND", {});
    return png;
}

TEST(OddPictures, PaletteIsExpanded) {
    const Folder folder;
    test::write_bytes(folder / "a.png", palette_png(false));
    const auto photo = load_photo(folder / "a.png", {TransferKind::linear});
    ASSERT_TRUE(photo) << describe(photo.error());
    ASSERT_EQ(photo->width, 4);
    EXPECT_EQ(photo->pixel(0, 0)[0], 1.0F);
    EXPECT_NEAR(photo->pixel(1, 0)[1], 128 / 255.0, 1e-6);
    EXPECT_NEAR(photo->pixel(2, 0)[2], 64 / 255.0, 1e-6);
    EXPECT_NEAR(photo->pixel(3, 0)[1], 128 / 255.0, 1e-6);
    EXPECT_FALSE(test::mentions(photo->notes, "animation"));
}

TEST(OddPictures, FirstOfAnAnimation) {
    const Folder folder;
    test::write_bytes(folder / "a.png", palette_png(true));
    const auto photo = load_photo(folder / "a.png");
    ASSERT_TRUE(photo) << describe(photo.error());
    EXPECT_TRUE(test::mentions(photo->notes, "animation; its first picture was taken"));
}

#ifdef SW_SLOW_BUILD
constexpr int kTrials = 60;
#else
constexpr int kTrials = 300;
#endif

// Bytes changed, removed or doubled at random: any answer will do, a crash, a hang or a huge allocation will not. Seeded: the same each time.
class Mutated : public testing::TestWithParam<const char*> {};
TEST_P(Mutated, NeverCrashes) {
    const Folder folder;
    const std::string kind = GetParam();
    auto made = folder / ("whole." + kind);
    if (kind == "jpg" || kind == "png" || kind == "tif") {
        OIIO::ImageSpec s = spec<std::uint8_t>(24, 20, 3);
        s.attribute("Orientation", 6);
        s.attribute("Make", "Invented");
        s.attribute("compression", kind == "tif" ? "lzw" : "jpeg:90");
        test::write(made, s, scenery(24, 20));
    } else {
        made = good(folder, "whole." + kind);
    }
    const FileBytes whole = test::read_bytes(made);
    std::mt19937 random(7);
    const auto below = [&](std::size_t n) { return static_cast<std::ptrdiff_t>(random() % n); };
    const auto path = folder / (std::string("a.") + GetParam());
    int read = 0;
    const long before = peak_megabytes();
    double slowest = 0;
    for (int i = 0; i < kTrials; ++i) {
        FileBytes bytes = whole;
        for (int k = 0; k < 1 + i % 4; ++k) {
            const std::ptrdiff_t at = below(i % 2 == 0 ? std::min<std::size_t>(bytes.size(), 400) : bytes.size());  // half of them in the header
            if (i % 7 == 6) {
                bytes.erase(bytes.begin() + at);
            } else if (i % 7 == 5) {
                bytes.insert(bytes.begin() + at, bytes[static_cast<std::size_t>(at)]);
            } else {
                bytes[static_cast<std::size_t>(at)] = static_cast<std::uint8_t>(random());
            }
        }
        test::write_bytes(path, bytes);
        const auto begun = std::chrono::steady_clock::now();
        const auto photo = load_photo(path);
        slowest = std::max(slowest, std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count());
        if (photo) {
            ++read;
            const std::size_t pixels = static_cast<std::size_t>(photo->width) * static_cast<std::size_t>(photo->height);
            if (photo->table) {
                ASSERT_EQ(photo->codes.size(), 3 * pixels);
            } else {
                ASSERT_EQ(photo->rgb.size(), 3 * pixels);
                ASSERT_EQ(photo->clipped.size(), pixels);
            }
        } else {
            ASSERT_FALSE(photo.error().cause.empty());
            ASSERT_FALSE(photo.error().remedy.empty());
        }
    }
    RecordProperty("read", read);
    EXPECT_LT(slowest, 5) << "seconds for a picture of 3000 pixels";
    // A decoder's own 8-bit picture of the largest size we let through, and nothing beyond.
    EXPECT_LT(peak_megabytes() - before, static_cast<long>(3 * kMostPixels / 1'000'000));
}
INSTANTIATE_TEST_SUITE_P(Photo, Mutated, testing::Values("jpg", "png", "tif", "webp", "exr", "heic", "avif", "dng", "cmyk.jpg"));

}  // namespace
}  // namespace sw
