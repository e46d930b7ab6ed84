// What the monitor is sent, held to Little CMS itself and to its shader; the pictures of a folder, those opened last.
#include "viewer/display.hpp"

#include <gtest/gtest.h>
#include <lcms2.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <random>

#include "viewer/display_gl.hpp"
#include "viewer/folder.hpp"
#include "viewer/gl_context.hpp"
#include "viewer/settings.hpp"

namespace sw::window {
namespace {

/// A monitor of wide primaries (SMPTE RP 431-2's red, green and blue, from memory) and another curve than sRGB's.
std::vector<std::uint8_t> wide_monitor(double gamma) {
    const cmsCIExyY white{0.3127, 0.3290, 1};
    const cmsCIExyYTRIPLE primaries{{0.680, 0.320, 1}, {0.265, 0.690, 1}, {0.150, 0.060, 1}};
    cmsToneCurve* curve = cmsBuildGamma(nullptr, gamma);
    cmsToneCurve* curves[3] = {curve, curve, curve};
    cmsHPROFILE profile = cmsCreateRGBProfile(&white, &primaries, curves);
    cmsFreeToneCurve(curve);
    cmsUInt32Number size = 0;
    cmsSaveProfileToMem(profile, nullptr, &size);
    std::vector<std::uint8_t> bytes(size);
    cmsSaveProfileToMem(profile, bytes.data(), &size);
    cmsCloseProfile(profile);
    return bytes;
}

// Little CMS 2, color by color without a table: the outside.
TEST(Display, TheTableIsTheProfile) {
    for (const double gamma : {1.8, 2.2, 2.4}) {
        const std::vector<std::uint8_t> profile = wide_monitor(gamma);
        const auto table = display_table(profile, "monitor.icc");
        ASSERT_TRUE(table) << describe(table.error());
        cmsHPROFILE monitor = cmsOpenProfileFromMem(profile.data(), static_cast<cmsUInt32Number>(profile.size())), srgb = cmsCreate_sRGBProfile();
        cmsHTRANSFORM transform = cmsCreateTransform(srgb, TYPE_RGB_FLT, monitor, TYPE_RGB_FLT, INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOOPTIMIZE);
        std::mt19937 random(3);
        std::uniform_real_distribution<float> any(0, 1);
        double largest = 0, sum = 0;
        constexpr int kTrials = 4000;
        for (int i = 0; i < kTrials; ++i) {
            const std::array<float, 3> in{any(random), any(random), any(random)};
            std::array<float, 3> out{};
            cmsDoTransform(transform, in.data(), out.data(), 1);
            const auto shown = displayed(*table, in);
            for (std::size_t c = 0; c < 3; ++c) {
                const double off = 255 * std::abs(static_cast<double>(shown[c] - std::clamp(out[c], 0.0F, 1.0F)));
                largest = std::max(largest, off);
                sum += off / (3 * kTrials);
            }
        }
        std::printf("monitor of gamma %.1f: table against Little CMS, mean %.2f, largest %.1f codes of 255\n", gamma, sum, largest);
        EXPECT_LT(sum, 0.1);
        EXPECT_LT(largest, 1);
        cmsDeleteTransform(transform);
        cmsCloseProfile(monitor);
        cmsCloseProfile(srgb);
    }
}

TEST(Display, WhatIsNoMonitorsProfileIsRefused) {
    const auto fault = [](const std::vector<std::uint8_t>& bytes) {
        const auto table = display_table(bytes, "x.icc");
        return table ? Fault::internal : table.error().fault;
    };
    EXPECT_EQ(fault({}), Fault::profile_broken);
    EXPECT_EQ(fault({1, 2, 3}), Fault::profile_broken);
    std::vector<std::uint8_t> bytes = wide_monitor(2.2);
    bytes.resize(bytes.size() / 2);
    EXPECT_EQ(fault(bytes), Fault::profile_broken);
    cmsHPROFILE lab = cmsCreateLab4Profile(nullptr);
    cmsUInt32Number size = 0;
    cmsSaveProfileToMem(lab, nullptr, &size);
    bytes.resize(size);
    cmsSaveProfileToMem(lab, bytes.data(), &size);
    cmsCloseProfile(lab);
    EXPECT_EQ(fault(bytes), Fault::profile_broken);
    const auto none = display_table_of("/none.icc");
    ASSERT_FALSE(none);
    EXPECT_EQ(none.error().fault, Fault::file_missing);
}

TEST(Display, GpuDoesWhatTheDefinitionSays) {
    const test::GlContext context;
    if (context.window == nullptr) GTEST_SKIP() << "no display or no OpenGL 3.3 here";
    const auto table = display_table(wide_monitor(1.8), "monitor.icc");
    ASSERT_TRUE(table);
    auto made = DisplayGl::make(*table);
    ASSERT_TRUE(made) << describe(made.error());
    constexpr int width = 64, height = 48;
    const test::GlTarget target(width, height);
    std::mt19937 random(5);
    std::uniform_int_distribution<int> any(0, 255);
    std::vector<std::array<int, 3>> colors;
    for (int round = 0; round < 2; ++round) {  // the second time into what is there already
        (*made)->begin(width, height);
        glEnable(GL_SCISSOR_TEST);
        colors.clear();
        for (int i = 0; i < width; ++i) {
            colors.push_back({any(random), any(random), any(random)});
            glScissor(i, 0, 1, height);
            glClearColor(static_cast<float>(colors.back()[0]) / 255.0F, static_cast<float>(colors.back()[1]) / 255.0F,
                         static_cast<float>(colors.back()[2]) / 255.0F, 1);
            glClear(GL_COLOR_BUFFER_BIT);
        }
        (*made)->end(target.framebuffer);
        const std::vector<std::uint8_t> shown = target.pixels();
        for (int i = 0; i < width; ++i) {
            std::array<float, 3> in{};
            for (std::size_t c = 0; c < 3; ++c) in[c] = static_cast<float>(colors[static_cast<std::size_t>(i)][c]) / 255.0F;
            const auto expected = displayed(*table, in);
            for (std::size_t c = 0; c < 3; ++c)
                EXPECT_NEAR(shown[3 * (20U * width + static_cast<std::size_t>(i)) + c], 255.0F * expected[c], 1.01F) << "column " << i;
        }
    }
}

TEST(FolderOfPictures, CountsAsPeopleDo) {
    const std::filesystem::path folder = std::filesystem::temp_directory_path() / ("sw-folder-" + std::to_string(getpid()));
    std::filesystem::create_directories(folder / "IMG_3.jpg");  // a folder, not a picture
    for (const char* name : {"IMG_10.JPG", "IMG_9.jpg", "IMG_009b.png", "notes.txt", "b.heic", "IMG_0010.tif"}) std::ofstream(folder / name) << "x";
    std::vector<std::string> names;
    for (const std::string& path : pictures_in(folder)) names.push_back(std::filesystem::path(path).filename().string());
    EXPECT_EQ(names, (std::vector<std::string>{"IMG_9.jpg", "IMG_009b.png", "IMG_10.JPG", "IMG_0010.tif", "b.heic"}));
    EXPECT_EQ(picture_beside((folder / "IMG_9.jpg").string(), 1), (folder / "IMG_009b.png").string());
    EXPECT_EQ(picture_beside((folder / "IMG_9.jpg").string(), -1), "");
    EXPECT_EQ(picture_beside((folder / "none.jpg").string(), 1), "");
    EXPECT_TRUE(pictures_in(folder / "none").empty());
    std::filesystem::remove_all(folder);
}

TEST(Recent, TheLastComesFirstAndOnlyOnce) {
    std::vector<std::string> recent;
    for (int i = 0; i < 20; ++i) recent = with_recent(recent, "/bench/" + std::to_string(i) + ".jpg");
    ASSERT_EQ(recent.size(), kMostRecent);
    EXPECT_EQ(recent.front(), "/bench/19.jpg");
    recent = with_recent(recent, "/bench/./15.jpg");
    EXPECT_EQ(recent.front(), "/bench/15.jpg");
    EXPECT_EQ(std::count(recent.begin(), recent.end(), "/bench/15.jpg"), 1);
    EXPECT_EQ(with_recent(recent, "/bench/a\nb.jpg"), recent) << "a list of lines cannot hold it";
}

}  // namespace
}  // namespace sw::window
