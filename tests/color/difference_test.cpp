#include "color/difference.hpp"

#include <lcms2.h>

#include <limits>
#include <random>

#include "color/lights.hpp"
#include "color/reference.hpp"

namespace sw {
namespace {

using test::uniform;
using test::Worst;

// Pair 14's hues are exactly opposite: 4.8045 as printed, 4.7461 on the other branch. We take the printed side (180 degrees to within the
// rounding of atan2 is not more than 180 degrees); its neighbors 13 and 15, 1e-4 apart in a*, show both branches.
TEST(Difference2000, TakesThePrintedSideOfPair14) {
    const Lab reference{50, -0.0010, 2.4900};
    const Lab pair13{50, 0.0009, -2.4900}, pair14{50, 0.0010, -2.4900}, pair15{50, 0.0011, -2.4900};
    EXPECT_NEAR(difference_2000(reference, pair13), 4.8045, 5e-5);
    EXPECT_NEAR(difference_2000(reference, pair14), 4.8045, 5e-5);
    EXPECT_NEAR(difference_2000(pair14, reference), 4.8045, 5e-5);
    EXPECT_NEAR(difference_2000(reference, pair15), 4.7461, 5e-5);
}

// Exactly opposite hues anywhere: never the sign of a rounding error.
TEST(Difference2000, OppositeHuesAreTheSameBothWays) {
    std::mt19937_64 random(20240602);
    for (int i = 0; i < 5000; ++i) {
        const Lab first{50, uniform(random, -80, 80), uniform(random, -80, 80)}, second{50, -first.a, -first.b};
        EXPECT_NEAR(difference_2000(first, second), difference_2000(second, first), 1e-9) << first.a << ' ' << first.b;
    }
}

// Source: Little CMS, cmsCIE2000DeltaE. Both in double: 1e-9 is rounding. Pairs whose hues are within 1e-3 degrees of opposite are a matter of taste:
// left out.
TEST(Difference2000, AgreesWithLittleCms) {
    std::mt19937_64 random(20240603);
    Worst worst;
    for (int i = 0; i < 20000; ++i) {
        const double reach = i % 2 == 0 ? 100 : 6;
        const Lab first{uniform(random, 0, 100), uniform(random, -reach, reach), uniform(random, -reach, reach)};
        const Lab second{uniform(random, 0, 100), uniform(random, -reach, reach), uniform(random, -reach, reach)};
        const cmsCIELab a{first.L, first.a, first.b}, b{second.L, second.a, second.b};
        // Both sides of opposition, on the hues CIEDE2000 itself uses (a* times 1 + G).
        const double C = (std::hypot(first.a, first.b) + std::hypot(second.a, second.b)) / 2, C7 = std::pow(C, 7);
        const double stretch = 1.5 - 0.5 * std::sqrt(C7 / (C7 + std::pow(25.0, 7)));
        const double apart = std::abs(lch({0, stretch * first.a, first.b}).h - lch({0, stretch * second.a, second.b}).h);
        if (std::abs(apart - 180) < 1e-3) continue;
        worst.see(std::abs(difference_2000(first, second) - cmsCIE2000DeltaE(&a, &b, 1, 1, 1)), "pair " + std::to_string(i));
    }
    worst.report("lcms2 cmsCIE2000DeltaE", 1e-9);
}

// Source: Little CMS, cmsCMCdeltaE. It takes chroma and hue from its own polar form in double and dH as what is left of the distance: 1e-9. Reference
// hues within 1e-9 of 164 and 345 degrees, where T jumps, do not come up. Its cmsCIE94DeltaE is another formula (textile constants, mean chroma of
// the two): CIE 1994 is held by oracle_differences.csv and outside_python.csv instead.
TEST(DifferenceCmc, AgreesWithLittleCms) {
    std::mt19937_64 random(20240611);
    Worst worst;
    for (int i = 0; i < 20000; ++i) {
        const double reach = i % 2 == 0 ? 100 : 6;
        const Lab first{uniform(random, 0.1, 100), uniform(random, -reach, reach), uniform(random, -reach, reach)};
        const Lab second{uniform(random, 0.1, 100), uniform(random, -reach, reach), uniform(random, -reach, reach)};
        const cmsCIELab a{first.L, first.a, first.b}, b{second.L, second.a, second.b};
        for (const auto& [l, c] : {std::pair{2.0, 1.0}, {1.0, 1.0}, {1.4, 0.8}}) {
            worst.see(std::abs(difference_cmc(first, second, l, c) - cmsCMCdeltaE(&a, &b, l, c)), "pair " + std::to_string(i));
        }
    }
    worst.report("lcms2 cmsCMCdeltaE", 1e-9);
}

TEST(Difference2000, IsADifference) {
    std::mt19937_64 random(20240604);
    for (int i = 0; i < 10000; ++i) {
        const Lab first{uniform(random, 0, 100), uniform(random, -120, 120), uniform(random, -120, 120)};
        const Lab second{uniform(random, 0, 100), uniform(random, -120, 120), uniform(random, -120, 120)};
        const double d = difference_2000(first, second);
        EXPECT_GT(d, 0);
        EXPECT_NEAR(d, difference_2000(second, first), 1e-10);
        EXPECT_EQ(difference_2000(first, first), 0);
    }
}

TEST(Difference2000, NanInNanOut) {
    const double nan = std::numeric_limits<double>::quiet_NaN();
    const Lab good{50, 10, 10};
    for (const Lab bad : {Lab{nan, 1, 1}, Lab{50, nan, 1}, Lab{50, 1, nan}, Lab{50, nan, nan}}) {
        EXPECT_TRUE(std::isnan(difference_2000(good, bad)));
        EXPECT_TRUE(std::isnan(difference_2000(bad, good)));
        EXPECT_TRUE(std::isnan(difference_2000(bad, bad)));
        EXPECT_EQ(difference_words(good, bad), "unknown");
    }
}

// ISO/CIE 11664-6: twice the weight halves that part. One part at a time: lightness of neutrals; chroma along one hue far from blue.
TEST(Difference2000, WeightsDivideTheirPart) {
    const Lab gray{50, 0, 0}, lighter{55, 0, 0}, red{50, 40, 0}, redder{50, 45, 0};
    EXPECT_NEAR(difference_2000(gray, lighter, {2, 1, 1}), difference_2000(gray, lighter) / 2, 1e-12);
    EXPECT_NEAR(difference_2000(gray, lighter, {1, 2, 2}), difference_2000(gray, lighter), 1e-12);
    EXPECT_NEAR(difference_2000(red, redder, {1, 2, 1}), difference_2000(red, redder) / 2, 1e-12);
}

TEST(Components, AddUpToThe1976Difference) {
    std::mt19937_64 random(20240605);
    for (int i = 0; i < 1000; ++i) {
        const Lab first{uniform(random, 0, 100), uniform(random, -90, 90), uniform(random, -90, 90)};
        const Lab second{uniform(random, 0, 100), uniform(random, -90, 90), uniform(random, -90, 90)};
        const Components d = components(first, second);
        EXPECT_NEAR(std::hypot(d.dL, d.dC, d.dH), difference_1976(first, second), 1e-9);
    }
    EXPECT_EQ(components({50, 0, 0}, {50, 3, 4}).dH, 0);
}

// What a painter would say of swatch against chip. Common practice (ASTM D2244 describes the terms);
// the scale slightly / plain / much at 1 and 3 is our own.
struct Words {
    Lab reference, sample;
    const char* words;
};

TEST(DifferenceWords, SayWhatAPainterWouldSay) {
    const Words cases[] = {
        // lightness alone, on a mid gray (SL = 1 at L* 50)
        {{50, 0, 0}, {50, 0, 0}, "no visible difference"},
        {{50, 0, 0}, {50.2, 0, 0}, "no visible difference"},
        {{50, 0, 0}, {50.6, 0, 0}, "slightly lighter"},
        {{50, 0, 0}, {49.4, 0, 0}, "slightly darker"},
        {{50, 0, 0}, {52, 0, 0}, "lighter"},
        {{50, 0, 0}, {45, 0, 0}, "much darker"},
        // near neutrals: by a*, b*
        {{50, 0, 0}, {50, 0, 2}, "yellower"},
        {{50, 0, 0}, {50, 0, -2}, "bluer"},
        {{50, 0, 0}, {50, 1, 0}, "redder"},
        {{50, 0, 0}, {50, -1, 0}, "greener"},
        {{50, 1, 0}, {50, 1, -0.5}, "slightly bluer"},
        {{50, 0, 0}, {50, 3, 2}, "much redder, yellower"},
        {{50, -2, 2}, {48, -2, 2.5}, "darker, slightly yellower"},
        // chroma of a red, a green: along their own hue
        {{50, 40, 0.0}, {50, 46, 0.0}, "cleaner"},
        {{50, 40, 0.0}, {50, 38, 0.0}, "slightly duller"},
        {{50, -40, 0}, {50, -60, 0}, "much cleaner"},
        // hue: a red goes yellower or bluer
        {{50, 40, 3}, {50, 39.9, 6}, "yellower"},
        {{50, 40, 3}, {50, 40.1, 0}, "bluer"},
        // an orange goes yellower or redder
        {{60, 40, 40}, {60, 37, 42.79}, "yellower"},
        {{60, 40, 40}, {60, 42.79, 37}, "redder"},
        // a yellow goes greener or redder
        {{80, 0, 60}, {80, -3, 59.92}, "greener"},
        {{80, 0, 60}, {80, 3, 59.92}, "redder"},
        // an olive green goes greener or yellower
        {{60, -35, 35}, {60, -37.5, 32.3}, "greener"},
        {{60, -35, 35}, {60, -32.3, 37.5}, "yellower"},
        // a green goes bluer or yellower
        {{50, -40, 0}, {50, -39.9, -3}, "bluer"},
        {{50, -40, 0}, {50, -39.9, 3}, "yellower"},
        // a blue green goes bluer or greener
        {{50, -30, -30}, {50, -27, -32.73}, "bluer"},
        {{50, -30, -30}, {50, -32.73, -27}, "greener"},
        // a violet goes redder or bluer; across 0 degrees
        {{40, 30, -30}, {40, 32.73, -27}, "redder"},
        {{40, 30, -30}, {40, 27, -32.73}, "bluer"},
        // mixed, largest first
        {{50, 40, 0.0}, {46, 44, 0.0}, "much darker, cleaner"},
        {{60, 40, 40}, {60.5, 37, 42.79}, "yellower, slightly lighter"},
    };
    for (const Words& c : cases) {
        EXPECT_EQ(difference_words(c.reference, c.sample), c.words)
            << c.reference.L << ',' << c.reference.a << ',' << c.reference.b << " -> " << c.sample.L << ',' << c.sample.a << ',' << c.sample.b;
    }
}

// Hue names round the whole circle, drawn up from the rule of the trade as difference.hpp states it, not from the code: a step of 4 degrees at C* 40,
// counterclockwise and clockwise. A hue within 15 degrees of an axis has that name already and goes to the next.
TEST(DifferenceWords, NameTheNeighborAllRoundTheCircle) {
    struct Turn {
        double hue;
        const char *counterclockwise, *clockwise;
    };
    const Turn turns[] = {
        {0, "yellower", "bluer"},     {10, "yellower", "bluer"},    {20, "yellower", "redder"},   {30, "yellower", "redder"},
        {45, "yellower", "redder"},   {60, "yellower", "redder"},   {70, "yellower", "redder"},   {80, "greener", "redder"},
        {90, "greener", "redder"},    {100, "greener", "redder"},   {110, "greener", "yellower"}, {120, "greener", "yellower"},
        {135, "greener", "yellower"}, {150, "greener", "yellower"}, {160, "greener", "yellower"}, {170, "bluer", "yellower"},
        {180, "bluer", "yellower"},   {190, "bluer", "yellower"},   {200, "bluer", "greener"},    {225, "bluer", "greener"},
        {250, "bluer", "greener"},    {260, "redder", "greener"},   {270, "redder", "greener"},   {280, "redder", "greener"},
        {290, "redder", "bluer"},     {315, "redder", "bluer"},     {340, "redder", "bluer"},     {350, "yellower", "bluer"},
        {359, "yellower", "bluer"},
    };
    const auto last_word = [](const std::string& words) { return words.substr(words.rfind(' ') + 1); };
    for (const Turn& t : turns) {
        const Lab here = lab(Lch{60, 40, t.hue});
        EXPECT_EQ(last_word(difference_words(here, lab(Lch{60, 40, t.hue + 4}))), t.counterclockwise) << t.hue;
        EXPECT_EQ(last_word(difference_words(here, lab(Lch{60, 40, t.hue - 4}))), t.clockwise) << t.hue;
    }
}

// Chroma is named along every hue, lightness at every depth, also for colors that carry both.
TEST(DifferenceWords, CleanerAndDullerLighterAndDarkerEverywhere) {
    for (double hue = 0; hue < 360; hue += 15) {
        for (const double C : {15.0, 40.0, 70.0}) {
            // CIEDE2000 stretches a* alone, so a step in chroma turns its hue a little: chroma is the first word, not always the only one.
            EXPECT_TRUE(difference_words(lab(Lch{60, C, hue}), lab(Lch{60, 1.2 * C, hue})).find("cleaner") <= 5) << hue << ' ' << C;
            EXPECT_TRUE(difference_words(lab(Lch{60, C, hue}), lab(Lch{60, 0.8 * C, hue})).find("duller") <= 5) << hue << ' ' << C;
        }
        for (const double L : {10.0, 40.0, 80.0}) {
            EXPECT_EQ(difference_words(lab(Lch{L, 30, hue}), lab(Lch{L + 8, 30, hue})), "much lighter") << hue << ' ' << L;
            EXPECT_EQ(difference_words(lab(Lch{L, 30, hue}), lab(Lch{L - 8, 30, hue})), "much darker") << hue << ' ' << L;
        }
    }
}

// Exchanged, lighter turns into darker and cleaner into duller, by the same amount.
TEST(DifferenceWords, OppositesWhenExchanged) {
    std::mt19937_64 random(20240612);
    const auto turned = [](std::string words) {
        for (const auto& [a, b] : {std::pair{"lighter", "darker"}, {"cleaner", "duller"}}) {
            if (const std::size_t at = words.find(a); at != std::string::npos) {
                words.replace(at, std::string(a).size(), b);
            } else if (const std::size_t other = words.find(b); other != std::string::npos) {
                words.replace(other, std::string(b).size(), a);
            }
        }
        return words;
    };
    for (int i = 0; i < 2000; ++i) {
        // One hue, so that the hue word does not come into it.
        const double hue = uniform(random, 0, 360), C = uniform(random, 20, 60), L = uniform(random, 20, 80);
        const Lab a = lab(Lch{L, C, hue}), b = lab(Lch{L + uniform(random, -6, 6), C + uniform(random, -6, 6), hue});
        EXPECT_EQ(difference_words(b, a, 0.5), turned(difference_words(a, b, 0.5))) << i;
    }
}

TEST(DifferenceWords, ExchangingThePairTurnsTheWordsRound) {
    EXPECT_EQ(difference_words({50, 40, 40}, {55, 40, 40}), "much lighter");
    EXPECT_EQ(difference_words({55, 40, 40}, {50, 40, 40}), "much darker");
}

TEST(DifferenceWords, LeastDecidesWhatIsSaid) {
    EXPECT_EQ(difference_words({50, 0, 0}, {50.6, 0, 0}, 1), "no visible difference");
    EXPECT_EQ(difference_words({50, 0, 0}, {50.05, 0, 0}, 0), "slightly lighter");
}

}  // namespace
}  // namespace sw
