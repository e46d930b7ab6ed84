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

/// Some file with this text anywhere among its notes.
template <class Notes>
bool mentions(const Notes& notes, const std::string& text) {
    for (const auto& note : notes) {
        if (note.find(text) != std::string::npos) return true;
    }
    return false;
}

}  // namespace sw::test
