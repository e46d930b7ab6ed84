// Test pictures, written with OpenImageIO into a folder that goes away.
#pragma once

#include <OpenImageIO/imageio.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdint>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "photo/photo.hpp"

namespace sw::test {

class Folder {
public:
    Folder() {
        const testing::TestInfo* test = testing::UnitTest::GetInstance()->current_test_info();
        std::string name = std::string(test->test_suite_name()) + "." + test->name();
        for (char& c : name) {
            if (c == '/') c = '_';
        }
        path_ = std::filesystem::temp_directory_path() / ("sw-photo-" + std::to_string(::getpid()) + "-" + name);
        std::filesystem::create_directories(path_);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    ~Folder() {
        std::error_code ignored;
        std::filesystem::remove_all(path_, ignored);
    }
    std::filesystem::path operator/(const std::string& name) const { return path_ / name; }

private:
    std::filesystem::path path_;
};

using FileBytes = std::vector<std::uint8_t>;

inline FileBytes read_bytes(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

inline void write_bytes(const std::filesystem::path& path, const FileBytes& bytes) {
    std::ofstream(path, std::ios::binary).write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
}

template <class T>
OIIO::ImageSpec spec(int width, int height, int channels) {
    return {width, height, channels, OIIO::TypeDesc(OIIO::BaseTypeFromC<T>::value)};
}

/// The file's kind follows from its name.
template <class T>
std::filesystem::path write(const std::filesystem::path& path, OIIO::ImageSpec s, const std::vector<T>& samples) {
    auto out = OIIO::ImageOutput::create(path.string());
    EXPECT_TRUE(out) << OIIO::geterror();
    EXPECT_EQ(samples.size(), static_cast<std::size_t>(s.width) * static_cast<std::size_t>(s.height) * static_cast<std::size_t>(s.nchannels));
    EXPECT_TRUE(out->open(path.string(), s)) << out->geterror();
    EXPECT_TRUE(out->write_image(OIIO::TypeDesc(OIIO::BaseTypeFromC<T>::value), samples.data())) << out->geterror();
    EXPECT_TRUE(out->close()) << out->geterror();
    return path;
}

inline OIIO::ImageSpec with_profile(OIIO::ImageSpec s, const FileBytes& profile) {
    s.attribute("ICCProfile", OIIO::TypeDesc(OIIO::TypeDesc::UINT8, static_cast<int>(profile.size())), profile.data());
    return s;
}

/// Smooth and colorful, no two corners alike.
inline std::vector<std::uint8_t> scenery(int width, int height) {
    std::vector<std::uint8_t> result;
    for (int y = 0; y < height; ++y) {
        for (int x = 0; x < width; ++x) {
            result.push_back(static_cast<std::uint8_t>(40 + 160 * x / width));
            result.push_back(static_cast<std::uint8_t>(60 + 120 * y / height));
            result.push_back(static_cast<std::uint8_t>(200 - 100 * (x + y) / (width + height)));
        }
    }
    return result;
}

// EXIF 2.32 / TIFF 6.0, tag 274: value -> where the stored row 0 and column 0 are in the scene. The table is the standard's; the test stores the
// upright scene by it and must get the scene back.
//   1 top left, 2 top right, 3 bottom right, 4 bottom left, 5 left top, 6 right top, 7 right bottom, 8 left bottom
struct Stored {
    int x, y;
};
inline Stored stored_at(int orientation, int x, int y, int width, int height) {  // scene pixel -> stored pixel
    const int from_right = width - 1 - x, from_bottom = height - 1 - y;
    switch (orientation) {
        case 1:
            return {x, y};  // row 0 is the top, column 0 the left
        case 2:
            return {from_right, y};  // row 0 is the top, column 0 the right
        case 3:
            return {from_right, from_bottom};  // row 0 is the bottom, column 0 the right
        case 4:
            return {x, from_bottom};  // row 0 is the bottom, column 0 the left
        case 5:
            return {y, x};  // row 0 is the left, column 0 the top
        case 6:
            return {y, from_right};  // row 0 is the right, column 0 the top
        case 7:
            return {from_bottom, from_right};  // row 0 is the right, column 0 the bottom
        default:
            return {from_bottom, x};  // row 0 is the left, column 0 the bottom
    }
}

inline void put_big_endian(FileBytes& bytes, std::size_t at, std::uint32_t value, int size) {
    for (int i = 0; i < size; ++i) bytes.at(at + static_cast<std::size_t>(i)) = static_cast<std::uint8_t>(value >> (8 * (size - 1 - i)));
}

inline std::uint32_t crc32(const std::uint8_t* data, std::size_t size) {  // PNG specification, annex D
    std::uint32_t crc = 0xFFFFFFFF;
    for (std::size_t i = 0; i < size; ++i) {
        crc ^= data[i];
        for (int k = 0; k < 8; ++k) crc = (crc & 1) != 0 ? 0xEDB88320U ^ (crc >> 1) : crc >> 1;
    }
    return ~crc;
}

inline void set_tiff_tag(FileBytes& bytes, std::uint16_t wanted, std::uint32_t value) {  // little-endian, as OpenImageIO writes here
    const auto u16 = [&](std::size_t at) { return static_cast<std::uint32_t>(bytes.at(at) | bytes.at(at + 1) << 8); };
    const std::size_t directory = u16(4) | u16(6) << 16;
    for (std::size_t i = 0; i < u16(directory); ++i) {
        const std::size_t at = directory + 2 + 12 * i;
        if (u16(at) != wanted) continue;
        const bool is_short = u16(at + 2) == 3 && value < 65536;
        if (!is_short) bytes.at(at + 2) = 4;  // LONG
        for (int k = 0; k < 4; ++k) bytes.at(at + 8 + static_cast<std::size_t>(k)) = static_cast<std::uint8_t>(value >> (8 * k));
        return;
    }
    FAIL() << "no tag " << wanted;
}

/// Before the pixels; content in big-endian words.
inline void insert_png_chunk(FileBytes& png, const std::string& name, const std::vector<std::uint32_t>& words) {
    FileBytes chunk(name.begin(), name.end());
    for (const std::uint32_t word : words) {
        chunk.resize(chunk.size() + 4);
        put_big_endian(chunk, chunk.size() - 4, word, 4);
    }
    const std::uint32_t sum = crc32(chunk.data(), chunk.size());
    chunk.insert(chunk.begin(), 4, 0);
    put_big_endian(chunk, 0, static_cast<std::uint32_t>(4 * words.size()), 4);
    chunk.resize(chunk.size() + 4);
    put_big_endian(chunk, chunk.size() - 4, sum, 4);
    png.insert(png.begin() + 33, chunk.begin(), chunk.end());
}

/// A photo that must load.
inline Photo load(const std::filesystem::path& path, const Transfer& transfer = {}) {
    auto photo = load_photo(path, transfer);
    EXPECT_TRUE(photo) << describe(photo.error());
    return photo ? std::move(*photo) : Photo{};
}

/// Some file with this text anywhere among its notes.
template <class Notes>
bool mentions(const Notes& notes, const std::string& text) {
    for (const auto& note : notes) {
        if (note.find(text) != std::string::npos) return true;
    }
    return false;
}

}  // namespace sw::test
