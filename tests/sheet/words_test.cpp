// Words for lights and colors, on a table of cases drawn up before the words were written. The thresholds are our own (words.hpp), so the cases are
// too.
#include "sheet/words.hpp"

#include <gtest/gtest.h>

#include <limits>
#include <set>

namespace sw {
namespace {

LightQuality quality(double cct, double duv, double ra, double r9) {
    LightQuality q;
    q.cct = cct;
    q.duv = duv;
    q.cct_valid = true;
    q.ra = ra;
    q.r9 = r9;
    return q;
}

TEST(LightWords, TableOfCases) {
    struct Case {
        LightQuality quality;
        const char* words;
    };
    for (const Case& one :
         {Case{quality(2700, 0.000, 97, 90), "Warm white. Colors look right under it (Ra 97)."},
          Case{quality(3300, 0.006, 90, 50), "Neutral white. Colors look right under it (Ra 90)."},
          Case{quality(5300, -0.006, 85, 60), "Neutral white. Colors look fairly right under it (Ra 85)."},
          Case{quality(5301, 0.007, 80, 12), "Cool white, a bit greenish. Colors look fairly right under it (Ra 80); reds look dull (R9 12)."},
          Case{quality(6500, 0.013, 72, -8), "Cool white, greenish. Colors look not quite right under it (Ra 72); reds look very dull (R9 -8)."},
          Case{quality(4000, -0.007, 59, 0), "Neutral white, a bit pinkish. Colors look wrong under it (Ra 59); reds look dull (R9 0)."},
          Case{quality(3000, -0.015, 91, 80), "Warm white, pinkish. Colors look right under it (Ra 91)."},
          Case{quality(1900, 0, 99, 95), "Orange light: everything takes its color, whatever its Ra (99)."},
          Case{quality(9000, 0, 99, 95), "Bluish white. Colors look right under it (Ra 99)."},
          Case{quality(6500, 0, 79.6, 60), "Cool white. Colors look fairly right under it (Ra 80)."}}) {
        EXPECT_EQ(light_words(one.quality), one.words);
    }
    LightQuality three_color = quality(2840, 0.004, 57, -34);
    three_color.rg = 107;
    EXPECT_EQ(light_words(three_color), "Warm white. Colors look wrong under it (Ra 57); reds look far off (R9 -34).");
    EXPECT_EQ(light_words(LightQuality{}), "Not a white light: its CCT means nothing.");
}

TEST(LightWords, SayPerhapsOnlyWhereTheDoubtReachesAcross) {
    LightQuality sd;
    sd.r9 = 25;  // 1.64 x 25 = 41: from 12 it reaches 50
    sd.duv = 0.002;
    EXPECT_EQ(light_words(quality(6500, 0.007, 80, 12), sd),
              "Cool white, perhaps a bit greenish. Colors look fairly right under it (Ra 80); reds look perhaps dull (R9 12 ± 25).");
    sd.r9 = 20;
    sd.duv = 0.0004;
    EXPECT_EQ(light_words(quality(6500, 0.007, 80, 12), sd),
              "Cool white, a bit greenish. Colors look fairly right under it (Ra 80); reds look dull (R9 12 ± 20).");
}

// Chart patches (Lab D50 of tests/reference/chart24_lab.csv, rounded) and household colors: what most people would say; no source.
TEST(ColorWords, TableOfCases) {
    struct Case {
        Lab color;
        const char* words;
    };
    for (const Case& one :
         {Case{{38, 14, 14}, "Dark, muted red (brown)"}, Case{{55, -38, 32}, "Medium, clear green"}, Case{{82, 4, 79}, "Very light, vivid yellow"},
          Case{{29, 14, -50}, "Dark, clear blue"}, Case{{42.1, 53.4, 28.2}, "Medium, vivid red"}, Case{{62, 36, 57}, "Light, vivid orange"},
          Case{{30, 22, -21}, "Dark, muted purple"}, Case{{43, -13, 22}, "Medium, muted yellow green (olive)"},
          Case{{75, 30, 12}, "Light, muted pink"}, Case{{50, 0, 0}, "Medium gray"}, Case{{96, 1, 2}, "White"}, Case{{5, 0, 0}, "Black"},
          Case{{35, 2, 1}, "Dark gray, nearly neutral"}, Case{{15, 6, 3}, "Very dark, grayish red"}}) {
        EXPECT_EQ(color_words(one.color), one.words) << one.color.L << " " << one.color.a << " " << one.color.b;
    }
    EXPECT_EQ(color_words({std::numeric_limits<double>::quiet_NaN(), 0, 0}), "Unknown");
}

// Going round the hue circle each hue word comes once, in one piece.
TEST(ColorWords, HuesComeInOrder) {
    std::vector<std::string> words;
    for (double h = 20; h < 380; h += 0.5) {
        const std::string text = color_words(lab(Lch{70, 40, h < 360 ? h : h - 360}));
        const std::string hue = text.substr(text.find("clear ") + 6);
        if (words.empty() || words.back() != hue) words.push_back(hue);
    }
    if (words.front() == words.back()) words.pop_back();
    EXPECT_EQ(std::set<std::string>(words.begin(), words.end()).size(), words.size()) << testing::PrintToString(words);
    EXPECT_EQ(words.size(), 9U);
}

}  // namespace
}  // namespace sw
