// A pot as text and back.
#include "mix/pot_record.hpp"

#include <gtest/gtest.h>

#include "mix/made_up_shelf.hpp"

namespace sw {
namespace {

PotRecord kept_pot() {
    return {"Damson 14, second try",
            {{"made up 0", 20}, {"made up 2", 3}, {"made up 0", 0.1}},
            {{2, 41.2, 20.0 / 3, -9.125, {0.16, 0.01, 0, 0.2, -0.03, 1e-3}, Observer::degree2, "D50"},
             {3, 42, 1, 2, {1, 0, 0, 1, 0, 1}, Observer::degree10, "0.7*led:6500,ra=80+0.3*D65"}}};
}

TEST(PotRecord, ComesBackFromText) {
    const Result<PotRecord> back = pot_from_text(pot_text(kept_pot()));
    ASSERT_TRUE(back);
    EXPECT_EQ(*back, kept_pot());
    const Result<PotRecord> edited = pot_from_text("# by hand\r\npot One\r\n\nadd 2 made up 1");
    ASSERT_TRUE(edited);
    EXPECT_EQ(edited->additions, (std::vector<AdditionRecord>{{"made up 1", 2}}));
}

TEST(PotRecord, BadLinesAreNamed) {
    for (const char* bad : {"", "add 2 x", "pot A\npot B", "pot A\nadd 0 x", "pot A\nadd nan x", "pot A\nadd two x", "pot A\nadd 2 ", "pot A\nstir",
                            "pot A\nread 1 2 3 1 0 0 1 0 1 2 D65", "pot A\nadd 1 x\nread 1 2 3 1 0 0 1 0 1 5 D65", "pot A\nadd 1 x\nread 1 2 3"}) {
        const Result<PotRecord> pot = pot_from_text(bad);
        ASSERT_FALSE(pot) << bad;
        EXPECT_EQ(pot.error().fault, Fault::table_malformed);
    }
    EXPECT_EQ(pot_from_text("pot A\nadd 2 x\nstir").error().place, "line 3");
}

TEST(PotRecord, FindsItsPaintsAndLights) {
    const Shelf shelf = made_up_shelf(3, 1);
    const Result<Pot> pot = pot_on_shelf(kept_pot(), shelf);
    ASSERT_TRUE(pot);
    EXPECT_EQ(pot->additions[1].paint, 2);
    EXPECT_EQ(pot->readings[0].color.covariance(1, 2), -0.03);
    EXPECT_EQ(pot->readings[0].color.covariance(2, 1), -0.03);
    EXPECT_NEAR(pot->readings[0].color.lab.white.Z, kWhiteD50.Z, 1e-4);
    EXPECT_TRUE(learn(shelf, {*pot}));
    PotRecord other = kept_pot();
    other.additions[1].paint = "made up 9";
    EXPECT_EQ(pot_on_shelf(other, shelf).error().fault, Fault::name_unknown);
    other = kept_pot();
    other.readings[0].light = "candle";
    EXPECT_EQ(pot_on_shelf(other, shelf).error().fault, Fault::light_unknown);
}

}  // namespace
}  // namespace sw
