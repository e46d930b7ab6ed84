// Uneven light and changed tones through the command line: --plain, figures that are refused, and their words.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "cli/cli.hpp"
#include "cli/exit_code.hpp"
#include "cli/ran.hpp"
#include "cli/schema.hpp"
#include "color/color.hpp"
#include "folder_test.hpp"

namespace sw {
namespace {

using Json = nlohmann::json;
using test::Ran;
using test::run_words;
using test::Words;
using testing::HasSubstr;

/// A gray picture of 400 x 200, sRGB, as an uncompressed TIFF of 8 bits (TIFF 6.0, section 2).
class Gray {
public:
    static constexpr int kWidth = 400, kHeight = 200;
    /// Cards 1..4 at the left, the same at the right; a board of 0.3 behind them.
    template <class Tone>
    void lay(int x0, int y0, int w, int h, double level, const Tone& tone) {
        for (int y = y0; y < y0 + h; ++y) {
            for (int x = x0; x < x0 + w; ++x) level_[static_cast<std::size_t>(y * kWidth + x)] = tone(x, level);
        }
    }
    void save(const std::string& path) const {
        std::string bytes("II\x2A\0\x08\0\0\0", 8);
        const auto word = [&](unsigned v, int size) {
            for (int i = 0; i < size; ++i) bytes += static_cast<char>(v >> (8 * i) & 0xFFU);
        };
        const unsigned entries = 9, bits_at = 8 + 2 + 12 * entries + 4, data_at = bits_at + 6;
        word(entries, 2);
        const auto tag = [&](unsigned id, unsigned type, unsigned count, unsigned value) {
            word(id, 2);
            word(type, 2);
            word(count, 4);
            word(value, 4);
        };
        tag(256, 4, 1, kWidth);
        tag(257, 4, 1, kHeight);
        tag(258, 3, 3, bits_at);
        tag(259, 3, 1, 1);  // not compressed
        tag(262, 3, 1, 2);  // RGB
        tag(273, 4, 1, data_at);
        tag(277, 3, 1, 3);
        tag(278, 4, 1, kHeight);
        tag(279, 4, 1, 3U * kWidth * kHeight);
        word(0, 4);
        for (int i = 0; i < 3; ++i) word(8, 2);
        unsigned grain = 1;
        for (double v : level_) {
            for (int c = 0; c < 3; ++c) {
                grain = grain * 1664525U + 1013904223U;
                bytes += static_cast<char>(std::lround(255 * std::clamp(linear_to_srgb(v), 0.0, 1.0) + 1.5 * ((grain >> 16) / 65536.0 - 0.5)));
            }
        }
        std::ofstream(path, std::ios::binary) << bytes;
    }

private:
    std::vector<double> level_ = std::vector<double>(1UL * kWidth * kHeight, 0.2);
};

constexpr std::array<double, 4> kLrv{8, 18, 45, 80};

class LightWords : public test::FolderTest {
protected:
    /// Tones at the left bent by a power, as programs lift shadows.
    Words photo(double power) const {
        Gray gray;
        const auto tone = [&](int x, double v) { return x < 200 ? 0.1 * std::pow(v / 0.1, power) : v; };
        gray.lay(0, 0, Gray::kWidth, Gray::kHeight, 0.25, tone);
        Words words{"measure", path("p.tif")};
        for (int side = 0; side < 2; ++side) {
            for (int i = 0; i < 4; ++i) {
                const int x = 10 + 310 * side + 40 * (i % 2), y = 10 + 50 * (i / 2);
                gray.lay(x, y, 36, 44, 0.8 * kLrv[static_cast<std::size_t>(i)] / 100, tone);
                words.insert(words.end(), {"--gray", std::to_string(x) + "," + std::to_string(y) +
                                                         ",36,44=" + std::to_string(static_cast<int>(kLrv[static_cast<std::size_t>(i)]))});
            }
        }
        gray.lay(20, 140, 40, 40, 0.3, tone);
        gray.lay(64, 140, 40, 40, 0.33, tone);
        gray.save(path("p.tif"));
        return words;
    }
};

TEST_F(LightWords, ColorsByThemselvesAreRefusedWhereTonesWereChanged) {
    double width = 0;  // of the first round's range
    for (const double power : {1.0, 0.75}) {
        Words words = photo(power);
        const Words references(words.begin() + 2, words.end());
        words.insert(words.end(), {"--region", "chip=20,140,40,40"});
        Words json = words;
        json.emplace_back("--json");
        const Ran asked = run_words(json), told = run_words(words);
        ASSERT_EQ(asked.code, 0) << asked.err;
        EXPECT_EQ(test::misfits(asked.out, "measure.json"), "");
        const Json answer = Json::parse(asked.out);
        const bool changed = power != 1.0;
        EXPECT_EQ(answer["calibration"]["absolute_ok"], !changed);
        EXPECT_EQ(answer["calibration"]["light"]["local_tone"].is_null(), !changed);
        const Json& region = answer["regions"][0];
        EXPECT_EQ(region["absolute_ok"], !changed);
        for (const char* figure : {"lab", "lab_sd", "lab_cov", "xyz", "lch", "lrv", "srgb"}) EXPECT_EQ(region[figure].is_null(), changed) << figure;
        EXPECT_EQ(told.out.find("unknown") != std::string::npos && told.out.find("toned differently") != std::string::npos, changed) << told.out;

        Words keep{"target", "add", "Damson", "--from", path("p.tif"), "--region", "20,140,40,40", "--workbook", path("w.swb")};
        keep.insert(keep.end(), references.begin(), references.end());
        const Ran kept = run_words(keep);
        EXPECT_EQ(kept.code, changed ? kBadInput : kDone) << kept.err;
        if (changed) {
            EXPECT_THAT(kept.err, HasSubstr("its color is unknown: tones were changed from place to place"));
            EXPECT_THAT(kept.err, HasSubstr("photograph again with HDR off"));
        }

        Words pair{"compare", path("p.tif"), "--chip", "20,140,40,40", "--swatch", "64,140,40,40", "--json"};
        pair.insert(pair.end(), references.begin(), references.end());
        const Ran compared = run_words(pair);
        ASSERT_EQ(compared.code, 0) << compared.err;
        const Json difference = Json::parse(compared.out)["difference"];
        EXPECT_TRUE(difference["de00"].is_number());
        std::printf("tones %s: pair %.2f (%.2f to %.2f)\n", changed ? "changed" : "as they were", difference["de00"].get<double>(),
                    difference["ci95"][0].get<double>(), difference["ci95"][1].get<double>());
        const double now = difference["ci95"][1].get<double>() - difference["ci95"][0].get<double>();
        if (changed) {
            EXPECT_GT(now, width) << "the pair's range is wider";
        } else {
            width = now;
        }
    }
}

TEST_F(LightWords, APlainSurroundingIsTakenAndItsFaultsAreNamed) {
    Words words = photo(1);
    words.insert(words.end(), {"--plain", "0,0,400,200", "--json"});
    const Ran ran = run_words(words);
    ASSERT_EQ(ran.code, 0) << ran.err;
    const Json answer = Json::parse(ran.out);
    EXPECT_THAT(answer["calibration"]["references"].dump(), HasSubstr("plain surrounding 0,0,400,200"));
    EXPECT_TRUE(answer["calibration"]["light"]["uneven"]["sd"].is_number());
    words[words.size() - 2] = "0,0,400";
    const Ran bad = run_words(words);
    EXPECT_EQ(bad.code, kBadUsage);
    EXPECT_THAT(bad.err, HasSubstr("--plain \"0,0,400\""));
    words[words.size() - 2] = "350,0,400,20";
    const Ran outside = run_words(words);
    EXPECT_EQ(outside.code, kBadInput);
    EXPECT_THAT(outside.err, HasSubstr("plain surrounding 350,0,400,20"));
}

}  // namespace
}  // namespace sw
