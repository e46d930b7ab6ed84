#include "photo/region.hpp"

#include <gtest/gtest.h>

#include <limits>
#include <random>
#include <set>
#include <utility>

namespace sw {
namespace {

TEST(ParseRegion, ReadsTheThreeShapes) {
    const auto box = parse_region("10,20.5, 30 ,40", "swatch");
    ASSERT_TRUE(box) << describe(box.error());
    const Box& b = std::get<Box>(*box);
    EXPECT_EQ(b.x, 10);
    EXPECT_EQ(b.y, 20.5);
    EXPECT_EQ(b.w, 30);
    EXPECT_EQ(b.h, 40);
    const auto ellipse = parse_region("ellipse:5,6,7,8", "");
    ASSERT_TRUE(ellipse);
    EXPECT_EQ(std::get<Ellipse>(*ellipse).ry, 8);
    const auto polygon = parse_region("poly:0,0,10,0,10,10,0,10", "");
    ASSERT_TRUE(polygon);
    EXPECT_EQ(std::get<Polygon>(*polygon).points.size(), 4U);
    EXPECT_EQ(std::get<Polygon>(*polygon).points[2].x, 10);
}

struct Bad {
    std::string text, words;
};
class BadRegions : public testing::TestWithParam<Bad> {};
TEST_P(BadRegions, AreRefusedInWords) {
    const auto region = parse_region(GetParam().text, "swatch");
    ASSERT_FALSE(region) << GetParam().text;
    EXPECT_EQ(region.error().fault, Fault::region_malformed);
    EXPECT_TRUE(region.error().place.starts_with("swatch")) << region.error().place;
    EXPECT_NE(region.error().cause.find(GetParam().words), std::string::npos) << describe(region.error());
    EXPECT_NE(region.error().remedy.find("x,y,w,h"), std::string::npos);
}
std::string many_points(int count) {
    std::string text = "poly:";
    for (int i = 0; i < count; ++i) text += (i > 0 ? "," : "") + std::to_string(i) + "," + std::to_string(i * i % 97);
    return text;
}
INSTANTIATE_TEST_SUITE_P(
    Photo, BadRegions,
    testing::Values(Bad{"", "empty"}, Bad{"ellipse:", "empty"}, Bad{"1,2,3", "3 figures where four"}, Bad{"1,2,3,4,5", "5 figures"},
                    Bad{"7", "1 figure where"}, Bad{"1,2,,4", "missing"}, Bad{"1,2,3,", "missing"}, Bad{"a,2,3,4", "'a' is not a number"},
                    Bad{"1,2,3,4px", "'4px' is not a number"}, Bad{"1,2,nan,4", "not a finite number"}, Bad{"1,2,inf,4", "not a finite number"},
                    Bad{"1,2,1e999,4", "not a number"}, Bad{"1,2,1000001,4", "more than a million"}, Bad{"1,2,0,4", "not above zero"},
                    Bad{"1,2,3,-4", "not above zero"}, Bad{"ellipse:1,2,0,4", "radius"}, Bad{"ellipse:1,2,3", "3 figures"},
                    Bad{"poly:1,2,3,4", "fewer than three"}, Bad{"poly:1,2,3,4,5", "without its y"}, Bad{"poly:1,1,1,5,1,9", "one line"},
                    Bad{many_points(501), "more than 500"}, Bad{"circle:1,2,3", "not a number"}, Bad{"1;2;3;4", "not a number"}));

TEST(ParseRegion, TakesFiveHundredPoints) { EXPECT_TRUE(parse_region(many_points(500), "")); }

TEST(ParseRegion, QuotesNoControlCharacters) {
    const auto region = parse_region("\x1b[31m,2,3,4\n", "swatch");
    ASSERT_FALSE(region);
    for (const char c : describe(region.error())) EXPECT_TRUE(c >= ' ' && c <= '~');
}

TEST(ToText, ComesBackExactly) {
    for (const char* text : {"0.1,0.2,30.3,1e-05", "ellipse:-1.5,2,0.333333333333,4", "poly:0,0,10.25,0,10,10"}) {
        const auto region = parse_region(text, "");
        ASSERT_TRUE(region);
        EXPECT_EQ(to_text(*region), text);
        const auto again = parse_region(to_text(*region), "");
        ASSERT_TRUE(again);
        EXPECT_EQ(to_text(*again), to_text(*region));
    }
}

TEST(Bounds, EncloseTheShapes) {
    const Box e = bounds(Ellipse{10, 20, 3, 4});
    EXPECT_EQ(e.x, 7);
    EXPECT_EQ(e.y, 16);
    EXPECT_EQ(e.w, 6);
    EXPECT_EQ(e.h, 8);
    const Box p = bounds(Polygon{{{5, 1}, {9, 4}, {2, 8}}});
    EXPECT_EQ(p.x, 2);
    EXPECT_EQ(p.y, 1);
    EXPECT_EQ(p.w, 7);
    EXPECT_EQ(p.h, 7);
}

// The definition is contains() at the center of every pixel; runs must give exactly those, each once, in any position.
void expect_runs_are_the_definition(const Region& region, int width, int height) {
    std::set<std::pair<int, int>> seen;
    for_each_run(region, width, height, [&](int y, int begin, int end) {
        ASSERT_LT(begin, end);
        ASSERT_GE(begin, 0);
        ASSERT_LE(end, width);
        for (int x = begin; x < end; ++x) ASSERT_TRUE(seen.insert({x, y}).second) << to_text(region) << " gives " << x << "," << y << " twice";
    });
    for (int y = 0; y < height; ++y) {
        for (int x = 0; x < width; ++x)
            ASSERT_EQ(seen.count({x, y}) == 1, contains(region, {x + 0.5, y + 0.5})) << to_text(region) << " at " << x << "," << y;
    }
}

TEST(Runs, AreTheDefinition) {
    std::mt19937 random(1);
    std::uniform_real_distribution<double> where(-10, 40), size(0.1, 30);
    for (int i = 0; i < 300; ++i) {
        expect_runs_are_the_definition(Box{where(random), where(random), size(random), size(random)}, 31, 29);
        expect_runs_are_the_definition(Ellipse{where(random), where(random), size(random), size(random)}, 31, 29);
        Polygon polygon;
        for (int k = 0; k < 3 + i % 9; ++k) polygon.points.push_back({where(random), where(random)});  // crosses itself: even-odd
        expect_runs_are_the_definition(polygon, 31, 29);
    }
    // On the grid, where rounding bites: edges through centers and along pixel borders.
    for (const double at : {0.0, 0.5, 1.0, 3.5}) {
        expect_runs_are_the_definition(Box{at, at, 4, 4.5}, 10, 10);
        expect_runs_are_the_definition(Ellipse{at + 2, at + 2, 2.5, 2}, 10, 10);
        expect_runs_are_the_definition(Polygon{{{at, at}, {at + 4, at}, {at + 4, at + 4}, {at, at + 4}}}, 10, 10);
    }
}

TEST(Runs, OfABoxAreItsPixels) {
    int pixels = 0;
    for_each_run(Box{2, 3, 4, 5}, 100, 100, [&](int y, int begin, int end) {
        EXPECT_TRUE(y >= 3 && y < 8);
        EXPECT_EQ(begin, 2);
        EXPECT_EQ(end, 6);
        pixels += end - begin;
    });
    EXPECT_EQ(pixels, 20);
}

TEST(Runs, EvenOddLeavesTheMiddleOfAStarOut) {
    const Polygon star{{{50, 5}, {77, 90}, {5, 37}, {95, 37}, {23, 90}}};
    EXPECT_FALSE(contains(star, {50, 50}));
    EXPECT_TRUE(contains(star, {50, 20}));
    expect_runs_are_the_definition(star, 100, 100);
}

TEST(Runs, SurviveFarAndNonFiniteShapes) {
    const double inf = std::numeric_limits<double>::infinity(), nan = std::numeric_limits<double>::quiet_NaN();
    int calls = 0;
    const auto count = [&](int, int, int) { ++calls; };
    for_each_run(Box{1e6, 1e6, 1e6, 1e6}, 100, 100, count);
    for_each_run(Ellipse{-1e6, 0, 1, 1}, 100, 100, count);
    for_each_run(Polygon{}, 100, 100, count);
    EXPECT_EQ(calls, 0);
    for_each_run(Box{nan, 0, 10, 10}, 100, 100, count);  // must return; what it gives has no meaning
    for_each_run(Ellipse{0, 0, inf, inf}, 100, 100, count);
    EXPECT_FALSE(contains(Polygon{}, {0, 0}));
}

}  // namespace
}  // namespace sw
