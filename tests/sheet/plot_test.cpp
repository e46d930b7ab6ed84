// Plots read back as pictures: what is drawn where, what happens when it cannot be written. How they look was judged by eye.
#include "sheet/plot.hpp"

#include <OpenImageIO/imageio.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/resource.h>
#include <unistd.h>

#include <cmath>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <limits>
#include <set>
#include <sstream>

#include "folder_test.hpp"
#include "sheet/file.hpp"

namespace sw {
namespace {

namespace fs = std::filesystem;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::StartsWith;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN(), kInf = std::numeric_limits<double>::infinity();

class Plots : public test::FolderTest {
protected:
};

std::string content(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

struct Picture {
    int width = 0, height = 0, channels = 0;
    std::vector<unsigned char> pixels;
    [[nodiscard]] std::array<int, 3> at(int x, int y) const {
        const std::size_t i = static_cast<std::size_t>((y * width + x) * channels);
        return {pixels[i], pixels[i + 1], pixels[i + 2]};
    }
};

Picture read(const std::string& path) {
    Picture picture;
    const auto file = OIIO::ImageInput::open(path);
    if (!file) return picture;
    picture.width = file->spec().width;
    picture.height = file->spec().height;
    picture.channels = file->spec().nchannels;
    picture.pixels.resize(static_cast<std::size_t>(picture.width * picture.height * picture.channels));
    file->read_image(0, 0, 0, picture.channels, OIIO::TypeDesc::UINT8, picture.pixels.data());
    return picture;
}

Plot ramp() {
    Plot plot;
    plot.title = "A ramp";
    plot.x = {"wavelength", "nm", {}, {}};
    plot.y = {"power", "%", {}, {}};
    plot.lines.push_back({"rising", {400, 700}, {0, 100}});
    return plot;
}

// Round figures as printed on rulers; worked by hand.
TEST(RoundTicks, AreOneTwoOrFiveApart) {
    EXPECT_THAT(round_ticks(0, 1, 6),
                ElementsAre(0, testing::DoubleEq(0.2), testing::DoubleEq(0.4), testing::DoubleNear(0.6, 1e-12), testing::DoubleEq(0.8), 1));
    EXPECT_THAT(round_ticks(380, 730, 9), ElementsAre(400, 450, 500, 550, 600, 650, 700));
    EXPECT_THAT(round_ticks(-7, 12, 5), ElementsAre(-5, 0, 5, 10));
    EXPECT_THAT(round_ticks(2700, 6500, 5), ElementsAre(3000, 4000, 5000, 6000));
    EXPECT_TRUE(round_ticks(1, 1, 5).empty());
    EXPECT_TRUE(round_ticks(2, 1, 5).empty());
    EXPECT_TRUE(round_ticks(kNan, 1, 5).empty());
    EXPECT_TRUE(round_ticks(0, kInf, 5).empty());
    EXPECT_TRUE(round_ticks(-1e308, 1e308, 5).empty());
}

// Property: within the range, evenly apart, no more than asked for and enough to read by.
TEST(RoundTicks, KeepTheirPromisesOverManyRanges) {
    for (const double low : {-3e4, -1.7, 0.0, 0.013, 360.0}) {
        for (const double width : {1e-3, 0.7, 1.0, 13.0, 471.0, 9.9e5}) {
            for (const int most : {4, 7, 10}) {
                const auto ticks = round_ticks(low, low + width, most);
                ASSERT_GE(ticks.size(), 1U) << low << " " << width;
                EXPECT_LE(ticks.size(), static_cast<std::size_t>(most));
                EXPECT_GE(ticks.front(), low - width * 1e-3);
                EXPECT_LE(ticks.back(), low + width * 1.001);
                for (std::size_t i = 2; i < ticks.size(); ++i)
                    EXPECT_NEAR(ticks[i] - ticks[i - 1], ticks[1] - ticks[0], width * 1e-6 + std::abs(low) * 1e-12);
            }
        }
    }
}

// The color words of common practice: no source.
TEST(WavelengthColor, IsBlueGreenAndRedWhereTheyAre) {
    const auto at = [](double nm) { return wavelength_color(nm); };
    EXPECT_GT(at(455).b, std::max(at(455).r, at(455).g) + 0.3);
    EXPECT_GT(at(530).g, std::max(at(530).r, at(530).b) + 0.3);
    EXPECT_GT(at(650).r, std::max(at(650).g, at(650).b) + 0.3);
    EXPECT_LT(std::abs(at(580).r - at(580).g), 0.3) << "yellow: red and green";
    EXPECT_LT(at(775).r, 0.3) << "dark at the end of what is seen";
    for (double nm = 200; nm < 1000; nm += 0.7) {
        for (const double value : {at(nm).r, at(nm).g, at(nm).b}) {
            EXPECT_GE(value, 0) << nm;
            EXPECT_LE(value, 1) << nm;
        }
    }
}

TEST_F(Plots, APngIsOfItsSizeAndShowsTheSwatchesColorExactly) {
    Plot plot = ramp();
    plot.swatches.push_back({{0.2, 0.4, 0.6}, "a blue"});  // 51, 102, 153
    plot.figures = {{"Figures", ""}, {"Ra", "80 ± 3"}};
    const std::string file = path("plot.PNG");
    ASSERT_TRUE(save_plot(plot, file));
    const Picture picture = read(file);
    ASSERT_EQ(picture.width, 1600);
    ASSERT_EQ(picture.height, 1000);
    int of_the_color = 0;
    for (int y = 0; y < picture.height; ++y) {
        for (int x = 0; x < picture.width; ++x) of_the_color += picture.at(x, y) == std::array<int, 3>{51, 102, 153};
    }
    EXPECT_GT(of_the_color, 60000) << "large enough to judge";
    EXPECT_THAT(files(), ElementsAre("plot.PNG")) << "nothing else is left";
}

// The line from the bottom left to the top right corner of the axes passes their middle; at a quarter it is at a quarter.
TEST_F(Plots, ALineGoesWhereItsFiguresSay) {
    Plot plot = ramp();
    plot.y.low = 0, plot.y.high = 100;
    ASSERT_TRUE(save_plot(plot, path("plot.png")));
    const Picture picture = read(path("plot.png"));
    // the axes: the longest dark runs along a row and a column
    const auto dark = [&](int x, int y) { return picture.at(x, y)[0] < 60; };
    int axis_y = 0, axis_x = 0, length = 0, height = 0;
    for (int y = 0; y < picture.height; ++y) {
        for (int x = 0, run = 0; x < picture.width; ++x) {
            run = dark(x, y) ? run + 1 : 0;
            if (run > length) length = run, axis_y = y;
        }
    }
    for (int x = 0; x < picture.width; ++x) {
        for (int y = 0, run = 0; y < picture.height; ++y) {
            run = dark(x, y) ? run + 1 : 0;
            if (run > height) height = run, axis_x = x;
        }
    }
    for (const double share : {0.25, 0.5, 0.75}) {
        const int x = axis_x + static_cast<int>(share * length);
        int y = axis_y - 20;
        while (y > 0 && !dark(x, y)) --y;
        EXPECT_NEAR(axis_y - y, share * height, 6) << "a line is four pixels wide; share " << share;
    }
}

// Told apart without color: along eight level lines the lengths of ink and gap all differ.
TEST_F(Plots, EightLinesHaveEightDashPatterns) {
    Plot plot;
    for (int i = 0; i < 8; ++i) plot.lines.push_back({"", {0, 1}, {static_cast<double>(i), static_cast<double>(i)}});
    plot.y.low = -0.37, plot.y.high = 7.4;  // so that no line lies on a grid line
    plot.y.quantity = plot.x.quantity = "x";
    ASSERT_TRUE(save_plot(plot, path("plot.png")));
    const Picture picture = read(path("plot.png"));
    std::set<std::vector<int>> patterns;
    const int from = 400, to = 1400;
    for (int y = 60; y < 860; ++y) {  // rows in the middle of each line: more ink than above and below
        std::vector<int> runs;
        int run = 0, inked = 0;
        bool before = false;
        for (int x = from; x < to; ++x) {
            const auto c = picture.at(x, y);
            const bool ink = std::min({c[0], c[1], c[2]}) < 160;
            inked += ink;
            if (x > from && ink != before) {
                runs.push_back(run);
                run = 0;
            }
            ++run;
            before = ink;
        }
        if (inked < 100) continue;
        if (runs.size() > 12) runs = {runs.begin() + 2, runs.begin() + 10};
        const int rough = 4;  // pixels; the edges are soft
        std::sort(runs.begin(), runs.end());
        for (int& one : runs) one /= rough;
        patterns.insert(runs);
    }
    EXPECT_GE(patterns.size(), 8U);
}

TEST_F(Plots, APdfIsOneA4PageWithTextAsText) {
    Plot plot = ramp();
    plot.wavelengths = true;
    ASSERT_TRUE(save_plot(plot, path("plot.pdf")));
    const std::string bytes = content(path("plot.pdf"));
    EXPECT_THAT(bytes, StartsWith("%PDF-"));
    EXPECT_THAT(bytes, HasSubstr("%%EOF"));
    EXPECT_THAT(bytes, HasSubstr("DejaVuSans")) << "the font is embedded";
    EXPECT_EQ(bytes.find("/Subtype /Image"), std::string::npos) << "vectors only";
    EXPECT_LT(bytes.size(), 200000U);
}

TEST_F(Plots, NothingToDrawAndFiguresThatAreNoneAreDrawnAllTheSame) {
    std::vector<Plot> plots(6);
    plots[1] = ramp();
    plots[1].lines[0].y = {kNan, kInf};
    plots[2] = ramp();
    plots[2].lines[0] = {"one point", {550}, {3}};
    plots[3] = ramp();
    plots[3].lines[0].y = {5, 5};
    plots[3].bands.push_back({"of unequal lengths", {400, 500, 600}, {1, 2}, {3}});
    plots[4] = ramp();
    plots[4].title = std::string(5000, 'W');
    plots[4].subtitle = "broken \xff\xfe text, \x1b[2J\n two lines";
    plots[4].lines[0].name = std::string(3000, 'x');
    plots[4].figures.assign(200, {"a name that is far too long for its column, it must be shortened", "12345 ± 678"});
    plots[4].note = std::string(4000, ' ') + "note";
    plots[5] = ramp();
    plots[5].lines.assign(20, plots[5].lines[0]);
    plots[5].x = {"", "", 700, 400};
    plots[5].swatches.assign(5, {{kNan, 2, -1}, ""});
    for (std::size_t i = 0; i < plots.size(); ++i) {
        EXPECT_TRUE(save_plot(plots[i], path("plot.png"))) << i;
        EXPECT_TRUE(save_plot(plots[i], path("plot.pdf"))) << i;
        EXPECT_EQ(read(path("plot.png")).width, 1600) << i;
    }
}

TEST_F(Plots, WhatCannotBeWrittenSaysWhyAndLeavesNothing) {
    const auto fault = [&](const std::string& file) {
        const auto saved = save_plot(ramp(), file);
        return saved ? Fault::internal : saved.error().fault;
    };
    EXPECT_EQ(fault(path("plot.svg")), Fault::bad_usage);
    EXPECT_EQ(fault(path("png")), Fault::bad_usage);
    EXPECT_EQ(fault(""), Fault::bad_usage);
    EXPECT_EQ(fault(path("nowhere/plot.png")), Fault::file_missing);
    fs::create_directories(path("folder.png"));
    EXPECT_EQ(fault(path("folder.png")), Fault::file_unwritable);
    EXPECT_EQ(fault(path(std::string(300, 'n') + ".png")), Fault::file_unwritable) << "longer than a name may be";
    EXPECT_THAT(files(), ElementsAre("folder.png"));
}

// A limit on the size of files stands for a full disk: writing fails in the middle.
TEST_F(Plots, AFullDiskLeavesTheOldFileAsItWas) {
    ASSERT_TRUE(write_file(path("plot.png"), "old"));
    rlimit before{};
    ASSERT_EQ(getrlimit(RLIMIT_FSIZE, &before), 0);
    const auto handler = std::signal(SIGXFSZ, SIG_IGN);
    const rlimit little{4096, before.rlim_max};
    ASSERT_EQ(setrlimit(RLIMIT_FSIZE, &little), 0);
    const auto saved = save_plot(ramp(), path("plot.png"));
    setrlimit(RLIMIT_FSIZE, &before);
    std::signal(SIGXFSZ, handler);
    ASSERT_FALSE(saved);
    EXPECT_EQ(saved.error().fault, Fault::file_unwritable);
    EXPECT_THAT(saved.error().cause, HasSubstr("does not fit"));
    EXPECT_EQ(content(path("plot.png")), "old");
    EXPECT_THAT(files(), ElementsAre("plot.png"));
}

}  // namespace
}  // namespace sw
