// Expected texts follow from the rules stated in cli/text.hpp.
#include "cli/text.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace sw {
namespace {

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

TEST(ParseNumber, TakesWholeFiniteNumbersOnly) {
    EXPECT_EQ(parse_number("18.5"), 18.5);
    EXPECT_EQ(parse_number(" -3 "), -3.0);
    EXPECT_EQ(parse_number("+2"), 2.0);
    EXPECT_EQ(parse_number("1e2"), 100.0);
    for (const char* bad : {"", " ", "x", "1x", "1,5", "nan", "inf", "1e999", "+-1", "0x10", "--1"}) EXPECT_FALSE(parse_number(bad)) << bad;
}

TEST(ParseNumbers, SplitsAtCommas) {
    EXPECT_EQ(parse_numbers("1,-2, 3"), (std::vector<double>{1, -2, 3}));
    for (const char* bad : {"", "1,", ",1", "1,,2", "1;2"}) EXPECT_FALSE(parse_numbers(bad)) << bad;
}

TEST(Fixed, NeverShowsAMinusZeroOrNan) {
    EXPECT_EQ(fixed(-0.04, 1), "0.0");
    EXPECT_EQ(fixed(-0.06, 1), "-0.1");
    EXPECT_EQ(fixed(2.25, 0), "2");
    EXPECT_EQ(fixed(kNan, 1), "unknown");
    EXPECT_EQ(fixed(1e300, 1), "above 1e15");
}

TEST(Brief, DropsZerosThatSayNothing) {
    EXPECT_EQ(brief(2), "2");
    EXPECT_EQ(brief(1.5), "1.5");
    EXPECT_EQ(brief(0.125), "0.125");
    EXPECT_EQ(brief(0), "0");
    EXPECT_EQ(brief(100), "100");
}

TEST(Measured, ShowsNoMoreDigitsThanAreMeant) {
    EXPECT_EQ(measured(40.7312, 0.4149), "40.7 ± 0.4");
    EXPECT_EQ(measured(40.7312, 0.0412), "40.73 ± 0.04");
    EXPECT_EQ(measured(40.7312, 0.0001), "40.73 ± <0.01");
    EXPECT_EQ(measured(40.7312, 12.3), "41 ± 12");
    EXPECT_EQ(measured(40.7312, kNan), "40.7 ± unknown");
    EXPECT_EQ(measured(kNan, 1), "unknown");
}

TEST(Spread, ShowsOneOrTwoDigitsOfTheDeviation) {
    EXPECT_EQ(spread(6487.3, 112.2, 0), "6490 ± 110");
    EXPECT_EQ(spread(6487.3, 41, 0), "6490 ± 40");
    EXPECT_EQ(spread(6487.3, 4.1, 0), "6487 ± 4");
    EXPECT_EQ(spread(0.00314, 0.00121, 4), "0.0031 ± 0.0012");
    EXPECT_EQ(spread(0.00314, 0.00351, 4), "0.003 ± 0.004");
    EXPECT_EQ(spread(80.2, 1.84, 0), "80 ± 2");
    EXPECT_EQ(spread(80.2, 0.2, 0), "80 ± <1");
    EXPECT_EQ(spread(100, 0, 0), "100") << "exact";
    EXPECT_EQ(spread(80.2, kNan, 1), "80.2 ± unknown");
    EXPECT_EQ(spread(kNan, 1, 1), "unknown");
}

TEST(Range, TakesItsDigitsFromItsWidth) {
    EXPECT_EQ(range(1.4321, 2.512), "1.4 to 2.5");
    EXPECT_EQ(range(1.43, 1.48), "1.43 to 1.48");
    EXPECT_EQ(range(0, kNan), "unknown");
}

TEST(Percent, ClaimsNoCertainty) {
    EXPECT_EQ(percent(0.61), "61 %");
    EXPECT_EQ(percent(0), "under 1 %");
    EXPECT_EQ(percent(1), "over 99 %");
    EXPECT_EQ(percent(kNan), "unknown");
}

TEST(Printable, StopsEscapesAndBrokenUtf8) {
    EXPECT_EQ(printable("Größe ± Δ.jpg"), "Größe ± Δ.jpg");
    EXPECT_EQ(printable("a\x1b[31mb\n\x7f"), "a?[31mb??");
    EXPECT_EQ(printable("a\xff\xc3"), "a??");
    EXPECT_EQ(printable("\xc2\x9b"), "?");        // C1 control
    EXPECT_EQ(printable("\xc0\xaf"), "??");       // overlong
    EXPECT_EQ(printable("\xed\xa0\x80"), "???");  // surrogate
    EXPECT_EQ(printable("\xf0\x9f\x8e\xa8"), "\xf0\x9f\x8e\xa8");
    EXPECT_EQ(printable("a\nb", true), "a\nb");
}

TEST(Wrapped, BreaksAtBlanksAndHangs) {
    EXPECT_EQ(wrapped("one two three", "- ", 9), "- one two\n  three\n");
    EXPECT_EQ(wrapped("unbreakable", "", 4), "unbreakable\n");
    EXPECT_EQ(wrapped("", "x "), "x \n");
}

TEST(Listed, ReadsLikeASentence) {
    EXPECT_EQ(listed({}), "");
    EXPECT_EQ(listed({"chip"}), "chip");
    EXPECT_EQ(listed({"chip", "swatch", "lid"}), "chip, swatch and lid");
}

// "±" is two bytes but one column: the cells below must still line up.
TEST(Table, AlignsCharactersNotBytes) {
    Table table({"", "L*", "word"}, {2});
    table.row({"chip", "40.7 ± 0.4", "x"});
    table.row({"swatch", "1.2", "y"});
    EXPECT_EQ(table.text(),
              "                   L*   word\n"
              "  chip     40.7 ± 0.4   x\n"
              "  swatch          1.2   y\n");
}

}  // namespace
}  // namespace sw
