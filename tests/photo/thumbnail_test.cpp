// A thumbnail, decoded again by OpenImageIO: the outside.
#include "photo/thumbnail.hpp"

#include <OpenImageIO/filesystem.h>
#include <OpenImageIO/imageio.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstring>

namespace sw {
namespace {

// Left half one gray, right half red, as linear light.
Photo two_halves(int width, int height) {
    Photo photo;
    photo.width = width;
    photo.height = height;
    photo.rgb.resize(3 * static_cast<std::size_t>(width) * static_cast<std::size_t>(height));
    for (int y = 0; y < height; ++y) {
        for (int x = 0; x < width; ++x) {
            float* pixel = &photo.rgb[3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x))];
            const bool left = x < width / 2;
            pixel[0] = left ? 0.2F : 0.5F;
            pixel[1] = pixel[2] = left ? 0.2F : 0.01F;
        }
    }
    return photo;
}

TEST(Thumbnail, IsASmallPictureOfTheSameColorsWithoutMetadata) {
    for (const auto& [width, height] : {std::pair{800, 600}, {37, 1201}, {5, 4}}) {
        const std::string jpeg = thumbnail_jpeg(two_halves(width, height), 160);
        ASSERT_GT(jpeg.size(), 100U);
        EXPECT_LT(jpeg.size(), 20'000U);
        EXPECT_EQ(jpeg.find("Exif"), std::string::npos);
        OIIO::Filesystem::IOMemReader memory(const_cast<char*>(jpeg.data()), jpeg.size());
        OIIO::ImageSpec config;
        void* proxy = &memory;
        config.attribute("oiio:ioproxy", OIIO::TypeDesc::PTR, &proxy);
        const auto input = OIIO::ImageInput::open("thumbnail.jpg", &config);
        ASSERT_TRUE(input) << OIIO::geterror();
        EXPECT_LE(std::max(input->spec().width, input->spec().height), 160);
        const auto small_width = static_cast<std::size_t>(input->spec().width), small_height = static_cast<std::size_t>(input->spec().height);
        std::vector<std::uint8_t> rgb(3 * small_width * small_height);
        ASSERT_TRUE(input->read_image(0, 0, 0, 3, OIIO::TypeDesc::UINT8, rgb.data()));
        if (width < 100) continue;
        const std::uint8_t* left = &rgb[3 * (small_height / 2 * small_width + small_width / 4)];
        const std::uint8_t* right = left + 3 * (small_width / 2);
        // IEC 61966-2-1 of 0.2: 255 * 0.4845 = 124; of 0.5: 188; JPEG's own loss: some codes
        for (int c = 0; c < 3; ++c) EXPECT_NEAR(left[c], 124, 4);
        EXPECT_NEAR(right[0], 188, 6);
        EXPECT_LT(right[1], 60);
    }
    EXPECT_TRUE(thumbnail_jpeg(Photo{}, 160).empty());
}

// What this program writes has nothing that could be taken off; what is no JPEG, or is cut off, gives nothing. Marker segments: ITU-T T.81, B.1.
TEST(Thumbnail, MetadataIsTakenOff) {
    const std::string own = thumbnail_jpeg(two_halves(8, 8), 8);
    ASSERT_GT(own.size(), 100U);
    EXPECT_EQ(without_metadata(own), own);
    const std::string place(
        "\xFF\xE1\x00\x0C"
        "Exif\0\0GPS!",
        14);
    EXPECT_EQ(without_metadata(own.substr(0, 2) + place + own.substr(2)), own);
    EXPECT_EQ(without_metadata(own.substr(0, 2) + place), "");
    for (const char* none : {"", "\xFF", "GIF89a..", "\xFF\xD8\xFF\xE1\x7F\x7F",
                             "\xFF\xD8"
                             "picture"})
        EXPECT_EQ(without_metadata(none), "");
}

TEST(FileHash, IsThatOfTheLoadedPhoto) {
    const std::string file = std::string(SW_TESTS) + "/photos/case-02/photo.jpg";
    const auto photo = load_photo(file);
    ASSERT_TRUE(photo);
    const auto hash = file_hash(file);
    ASSERT_TRUE(hash);
    EXPECT_EQ(*hash, photo->content_hash);
    EXPECT_FALSE(file_hash(file + ".none"));
}

}  // namespace
}  // namespace sw
