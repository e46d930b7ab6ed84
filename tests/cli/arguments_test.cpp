// The option languages of the command line (design, section 6).
#include "cli/arguments.hpp"

#include <gtest/gtest.h>

namespace sw {
namespace {

template <class T>
Fault fault_of(const Result<T>& result) {
    return result ? Fault::internal : result.error().fault;
}

TEST(Gray, HasAnLrvOf18UnlessSaid) {
    const auto plain = parse_gray("100,20,50,40", "--gray");
    ASSERT_TRUE(plain);
    EXPECT_EQ(plain->lrv, 18);
    EXPECT_EQ(to_text(plain->region), "100,20,50,40");
    const auto given = parse_gray("ellipse:10,20,5,6=18.5", "--gray");
    ASSERT_TRUE(given);
    EXPECT_EQ(given->lrv, 18.5);
    EXPECT_EQ(to_text(given->region), "ellipse:10,20,5,6");
    EXPECT_TRUE(parse_gray("0,0,10,10=100", "--gray"));
}

TEST(Gray, RefusesWhatNoCardCanBe) {
    for (const char* text : {"0,0,10,10=0", "0,0,10,10=-5", "0,0,10,10=100.1", "0,0,10,10=x", "0,0,10,10=", "0,0,10,10=nan", "0,0,10,10=1=2"}) {
        EXPECT_NE(parse_gray(text, "--gray") ? 0 : 1, 0) << text;
    }
    const auto zero = parse_gray("0,0,10,10=0", "--gray");
    ASSERT_FALSE(zero);
    EXPECT_EQ(describe(zero.error()), "--gray \"0,0,10,10=0\": an LRV of 0 cannot be; give the card's LRV, above 0 and up to 100 (18 % gray: 18)");
    EXPECT_EQ(fault_of(parse_gray("1,2,3", "--gray")), Fault::region_malformed);
}

TEST(Labs, MustBeColorsThatASurfaceCanHave) {
    const auto color = parse_lab("62.5,-3,18.2", "--lab");
    ASSERT_TRUE(color);
    EXPECT_EQ(color->L, 62.5);
    EXPECT_EQ(color->a, -3);
    EXPECT_EQ(color->b, 18.2);
    for (const char* text : {"-3,2,1", "100.5,0,0", "50,120,120", "50,0", "50,0,0,0", "a,b,c", ""})
        EXPECT_EQ(fault_of(parse_lab(text, "--lab")), Fault::bad_usage) << text;
    EXPECT_TRUE(parse_lab("0,0,0", "--lab"));
    EXPECT_TRUE(parse_lab("100,0,0", "--lab"));
}

TEST(Charts, AreAutoNoneOrFourCorners) {
    EXPECT_EQ(parse_chart("auto", "--chart")->mode, ChartMode::automatic);
    EXPECT_EQ(parse_chart("none", "--chart")->mode, ChartMode::none);
    const auto corners = parse_chart("1,2,3,4,5,6,-7,8.5", "--chart");
    ASSERT_TRUE(corners);
    EXPECT_EQ(corners->mode, ChartMode::corners);
    EXPECT_EQ(corners->corners[3].x, -7);
    EXPECT_EQ(corners->corners[3].y, 8.5);
    for (const char* text : {"", "Auto", "1,2,3,4", "1,2,3,4,5,6,7,8,9"}) EXPECT_EQ(fault_of(parse_chart(text, "--chart")), Fault::bad_usage) << text;
}

TEST(Known, NameMayHoldEqualsSigns) {
    const auto known = parse_known("Straw=31 = x=poly:0,0,9,0,9,9=80.1,-2.5,31", "--known");
    ASSERT_TRUE(known);
    EXPECT_EQ(known->name, "Straw=31 = x");
    EXPECT_EQ(to_text(known->region), "poly:0,0,9,0,9,9");
    EXPECT_EQ(known->lab.a, -2.5);
    for (const char* text : {"", "x", "x=1,2,3,4", "=1,2,3,4=50,0,0", "x=1,2,3,4=150,0,0"})
        EXPECT_EQ(fault_of(parse_known(text, "--known")), Fault::bad_usage) << text;
    EXPECT_EQ(fault_of(parse_known("x=1,2,3=50,0,0", "--known")), Fault::region_malformed);
}

TEST(ChartEditions, AreTwoAndAuto) {
    EXPECT_EQ(*parse_chart_edition("auto", "--chart-edition"), std::nullopt);
    EXPECT_EQ(*parse_chart_edition("before-2014", "--chart-edition"), ChartEdition::before_2014);
    EXPECT_EQ(*parse_chart_edition("2014", "--chart-edition"), ChartEdition::from_2014);
    for (const char* text : {"", "2013", "Before-2014", "before", "2014 "})
        EXPECT_EQ(fault_of(parse_chart_edition(text, "--x")), Fault::bad_usage) << text;
    const std::string pair = "a.jpg:chip=1,1,9,9:swatch=20,1,9,9:chart-edition=2014";
    for (const std::string& text : {pair, pair + ":chart=auto"}) {  // naming an edition asks for the chart
        const auto made = parse_pair(text, {});
        ASSERT_TRUE(made) << text;
        EXPECT_EQ(made->photo.references.chart.mode, ChartMode::automatic);
        EXPECT_EQ(made->photo.references.chart.edition, ChartEdition::from_2014) << text;
        EXPECT_TRUE(made->photo.chart_asked);
    }
    for (const char* more : {":chart-edition=2014", ":chart=none", ":gray=40,1,9,9", ":setup=bench"})
        EXPECT_EQ(fault_of(parse_pair(pair + more, {})), Fault::bad_usage) << more;
}

TEST(NamedRegions, NeedAName) {
    const auto region = parse_named_region("a=b=1,2,30,40", "--region");
    ASSERT_TRUE(region);
    EXPECT_EQ(region->name, "a=b");
    EXPECT_EQ(fault_of(parse_named_region("1,2,30,40", "--region")), Fault::bad_usage);
    EXPECT_EQ(fault_of(parse_named_region("=1,2,30,40", "--region")), Fault::bad_usage);
    EXPECT_EQ(fault_of(parse_named_region("chip=1,2,0,40", "--region")), Fault::region_malformed);
}

TEST(Pairs, SplitOnlyBeforeAKnownWord) {
    const auto pair = parse_pair(
        "C:/my = photos/a:b.jpg:chip=ellipse:10,20,5,5:swatch=poly:0,0,9,0,9,9:gray=0,0,10,10=18.5:gray=20,0,10,10"
        ":known=lid=5,5,9,9=50,-1,2:chart=none:lit-by=0.7*led:6500,ra=80+0.3*daylight:5600",
        {});
    ASSERT_TRUE(pair) << describe(pair.error());
    EXPECT_EQ(pair->photo.file, "C:/my = photos/a:b.jpg");
    EXPECT_EQ(to_text(pair->chip), "ellipse:10,20,5,5");
    EXPECT_EQ(to_text(pair->swatch), "poly:0,0,9,0,9,9");
    ASSERT_EQ(pair->photo.references.grays.size(), 2U);
    EXPECT_EQ(pair->photo.references.grays[0].lrv, 18.5);
    EXPECT_EQ(pair->photo.references.grays[1].lrv, 18);
    ASSERT_EQ(pair->photo.references.known.size(), 1U);
    EXPECT_EQ(pair->photo.references.known[0].name, "lid");
    EXPECT_TRUE(pair->photo.chart_asked);
    EXPECT_EQ(pair->photo.references.chart.mode, ChartMode::none);
    ASSERT_TRUE(pair->photo.lit_by);
    EXPECT_EQ(pair->photo.lit_by->name, "0.7*led:6500,ra=80+0.3*daylight:5600");
}

TEST(Pairs, LookForAChartWhenNothingElseIsMarked) {
    EXPECT_EQ(parse_pair("a.jpg:chip=1,1,9,9:swatch=20,1,9,9", {})->photo.references.chart.mode, ChartMode::automatic);
    EXPECT_FALSE(parse_pair("a.jpg:chip=1,1,9,9:swatch=20,1,9,9", {})->photo.chart_asked);
    EXPECT_EQ(parse_pair("a.jpg:chip=1,1,9,9:swatch=20,1,9,9:gray=40,1,9,9", {})->photo.references.chart.mode, ChartMode::none);
}

TEST(Pairs, SayWhatIsMissingOrDouble) {
    EXPECT_EQ(fault_of(parse_pair("a.jpg", {})), Fault::bad_usage);
    EXPECT_EQ(fault_of(parse_pair("a.jpg:chip=1,1,9,9", {})), Fault::bad_usage);
    EXPECT_EQ(fault_of(parse_pair(":chip=1,1,9,9:swatch=1,1,9,9", {})), Fault::bad_usage);
    EXPECT_EQ(fault_of(parse_pair("a.jpg:chip=1,1,9,9:chip=1,1,9,9:swatch=1,1,9,9", {})), Fault::bad_usage);
    EXPECT_EQ(fault_of(parse_pair("a.jpg:chip=1,1,9:swatch=1,1,9,9", {})), Fault::region_malformed);
    EXPECT_EQ(fault_of(parse_pair("a.jpg:chip=1,1,9,9:swatch=1,1,9,9:lit-by=moon", {})), Fault::light_unknown);
    EXPECT_EQ(describe(parse_pair("a.jpg:chip=1,1,9,9", {}).error()),
              "--pair \"a.jpg:chip=1,1,9,9\": has no swatch=; write PHOTO:chip=REGION:swatch=REGION:gray=REGION");
}

}  // namespace
}  // namespace sw
