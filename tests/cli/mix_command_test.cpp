// paint and mix at the command line: forms, errors, JSON, and whole pots from the first drop to the match. Truth: the demo's paints, whose K and S
#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>

#include "cli/mix_fixture.hpp"
#include "color/difference.hpp"
#include "slow.hpp"

namespace sw {
namespace {

using test::done;
using test::flat;
using test::kWhite;
using test::lab_text;
using test::Mix;
using test::refused;
using test::told;
using test::true_color;
using test::Words;
using testing::HasSubstr;
using testing::StartsWith;

TEST_F(Mix, PaintsAreKeptShownChangedAndRemoved) {
    EXPECT_EQ(told({"paint", "list"}, "paint.json")["paints"].size(), 0U);
    refused({"paint", "show", "Yellow Oxide"}, 3, "there is no workbook yet");
    refused({"mix", "next", "B"}, 3, "there is no workbook yet");
    EXPECT_FALSE(std::filesystem::exists(folder_ / "swatchwright")) << "looking makes no file";
    fill_shelf({"Yellow Oxide"});
    const auto yellow = told({"paint", "show", "Yellow Oxide"}, "paint.json")["paints"][0];
    ASSERT_EQ(yellow["samples"].size(), 3U);
    EXPECT_EQ(yellow["samples"][0]["share"], 1);
    EXPECT_EQ(yellow["samples"][1]["share"], 0.1);
    EXPECT_EQ(yellow["samples"][1]["white"], kWhite);
    EXPECT_NEAR(yellow["samples"][0]["lab"][0].get<double>(), true_color({{"Yellow Oxide", 1}}).L, 1e-4);
    EXPECT_NEAR(yellow["samples"][0]["lab_cov"][0][0].get<double>(), 0.09, 1e-9);
    EXPECT_EQ(yellow["drop_assumed"], true);
    const test::Ran list = done({"paint", "list"});
    EXPECT_THAT(list.out, StartsWith("2 paints in "));
    EXPECT_THAT(list.out, HasSubstr("Titanium White (the white)"));
    EXPECT_THAT(list.out, HasSubstr("masstone and 2 tints"));
    EXPECT_THAT(list.out, HasSubstr("0.050 ml ± 5 %, assumed"));
    done({"paint",   "add", "Carbon Black", "--pigment", "PBk7",     "--binder", "Acrylic", "--drop-ml",        "0.04",   "--bottle-ml", "17",
          "--price", "3.4", "--stock-ml",   "8",         "--finish", "matte",    "--maker", "Marrowdale Works", "--code", "M11",         "--note",
          "strong"});
    const auto black = told({"paint", "list"}, "paint.json")["paints"][0];
    EXPECT_EQ(black["name"], "Carbon Black");
    EXPECT_EQ(black["pigments"][0], "PBk7");
    EXPECT_EQ(black["stock_ml"], 8);
    done({"paint", "measure", "carbon black", "--masstone", "24,0,0"});  // but for case it is its name
    const test::Ran assumed = done({"paint", "measure", "Carbon Black", "--over", "white=30,0.1,0.2", "--over", "black=24.5,0,0", "--film-um", "20"});
    EXPECT_THAT(assumed.err, HasSubstr("a standard deviation of 0.5 is assumed"));
    const auto films = told({"paint", "show", "Carbon Black"}, "paint.json")["paints"][0]["samples"];
    ASSERT_EQ(films.size(), 3U);
    EXPECT_EQ(films[1]["film_um"], 20);
    EXPECT_EQ(films[2]["over"][0], 25);
    EXPECT_THAT(done({"paint", "show", "Carbon Black"}).out, HasSubstr("masstone and 2 drawdowns"));
    done({"paint", "set", "Carbon Black", "--rename", "Lamp Black", "--drop-g", "0.06", "--density", "1.2"});
    EXPECT_NEAR(told({"paint", "show", "Lamp Black"}, "paint.json")["paints"][0]["drop_ml"].get<double>(), 0.05, 1e-9);
    EXPECT_THAT(flat(done({"workbook", "undo"}).out), HasSubstr("Changed paint \"Lamp Black\""));
    EXPECT_THAT(flat(done({"paint", "remove", "Carbon Black"}).out), StartsWith("Removed paint \"Carbon Black\" from "));
    // The white stays, for tints were let down with it.
    EXPECT_THAT(done({"paint", "remove", kWhite}).err, HasSubstr("stays in the workbook"));
    EXPECT_EQ(told({"paint", "show", kWhite}, "paint.json")["paints"][0]["on_shelf"], false);
    EXPECT_THAT(done({"workbook", "info"}).out, HasSubstr("paint"));
    EXPECT_THAT(flat(done({"workbook", "verify"}).out), HasSubstr("is sound"));
}

TEST_F(Mix, WhatCannotBeIsRefusedWithARemedy) {
    fill_shelf({"Yellow Oxide", "Red Oxide"});
    refused({"paint"}, 2, "says not what to do");
    refused({"paint", "brush", "x"}, 2, "is not something to do with paints");
    refused({"paint", "add", "x"}, 2, "says nothing of its color");
    refused({"paint", "add", "Red Oxide", "--masstone", "30,20,10"}, 3, "a paint of that name exists");
    refused({"paint", "add", "x", "--masstone", "30,20"}, 2, "--masstone");
    refused({"paint", "add", "x", "--masstone", "30,20,10", "--tint", "1.5=60,5,5"}, 2, "share above 0 and below 1");
    refused({"paint", "add", "x", "--masstone", "30,20,10", "--tint", "0.1=60,5,5", "--white", "Zinc White"}, 3, "nearest are \"Titanium White\"");
    refused({"paint", "add", "x", "y", "--masstone", "30,20,10"}, 2, "does not know what to do with y; put a name of several words into quotes");
    EXPECT_EQ(told({"paint", "add", "two pigments", "--pigment", "PY42", "PR101"}, "paint.json")["paints"][0]["pigments"].size(), 2U);
    done({"paint", "remove", "two pigments"});
    refused({"paint", "add", "x", "--pigment", "XX9"}, 2, "no generic name of the Colour Index");
    refused({"paint", "add", "x", "--masstone", "30,20,10", "--drop-g", "0.05"}, 2, "density");
    refused({"paint", "add", "x", "--masstone", "30,20,10", "--finish", "shiny"}, 2, "matte, satin or gloss");
    refused({"paint", "add", "x", "--spectrum", "none.csv"}, 3, "none.csv");
    refused({"paint", "add", "x", "--from", "none.jpg", "--region", "1,2,30,40"}, 3, "none.jpg");
    refused({"paint", "add", "x", "--masstone", "30,20,10", "--film-um", "20"}, 2, "under it");
    refused({"paint", "measure", "Red Oxide"}, 2, "says not what it looks like");
    refused({"paint", "show", "Red Oxid"}, 3, "nearest are \"Red Oxide\"");
    refused({"paint", "list", "--binder", "acrylic"}, 2, "takes fewer options");
    refused({"paint", "set", "Red Oxide"}, 2, "says not what is new");
    EXPECT_THAT(done({"paint", "--help"}).out, HasSubstr("--masstone L,a,b"));
    EXPECT_THAT(done({"mix", "--help"}).out, HasSubstr("respirator"));

    refused({"mix"}, 2, "suggest, start, add");
    refused({"mix", "stir", "B"}, 2, "is not something to do with a mix");
    refused({"mix", "suggest"}, 2, "names no target");
    refused({"mix", "suggest", "Straw 31"}, 3, "there is no target of that name");
    done({"target", "add", "Straw 31", "--lab", "75,5,40", "--sd", "0.3"});
    refused({"mix", "suggest", "Straw 31", "--paints", "Yelow Oxide,Titanium White"}, 3, "nearest are \"Yellow Oxide\"");
    refused({"mix", "suggest", "Straw 31", "--max-paints", "5"}, 2, "--max-paints");
    refused({"mix", "suggest", "Straw 31", "--drops", "2.5"}, 2, "whole number");
    refused({"mix", "suggest", "Straw 31", "--wet"}, 2, "takes fewer options");
    refused({"mix", "start", "B"}, 2, "says not what the pot is to become");
    refused({"mix", "start", "B", "--target", "Straw 99"}, 3, "there is no target of that name");
    done({"mix", "start", "B", "--target", "Straw 31"});
    refused({"mix", "start", "B", "--target", "Straw 31"}, 3, "a pot of that name exists");
    refused({"mix", "add", "B", "Yellow Oxide"}, 2, "says not how much");
    refused({"mix", "add", "B", "Yellow Oxide", "-3"}, 2, "is not above 0");
    refused({"mix", "add", "B", "Yellow Oxide", "1.5"}, 2, "whole number of drops");
    refused({"mix", "add", "B", "Yellow Oxide", "3 spoons"}, 2, "is not an amount");
    refused({"mix", "add", "B", "Yellow Oxide", "2g"}, 2, "its density is not known");
    refused({"mix", "add", "A", "Yellow Oxide", "3"}, 3, "there are \"B\"");
    refused({"mix", "read", "B", "--lab", "75,5,40"}, 2, "nothing is in it yet");
    refused({"mix", "next", "B"}, 2, "nothing that is known is in it");
    refused({"mix", "read", "B"}, 2, "says no color");
    refused({"mix", "take", "B", "5"}, 2, "not that much in it");
    refused({"mix", "explain", "B"}, 2, "nothing that is known was in it before");
    refused({"mix", "scale", "B"}, 2, "says not how much to make");
    refused({"mix", "scale", "B", "--cm2", "200"}, 2, "how far a milliliter goes");
    refused({"mix", "scale", "B", "--ml", "15"}, 2, "nothing that is known is in it");
    // Unlike binders: never on the tool's word.
    done({"paint", "set", "Yellow Oxide", "--binder", "acrylic"});
    done({"paint", "set", "Red Oxide", "--binder", "Enamel"});
    refused({"mix", "suggest", "Straw 31", "--paints", "Yellow Oxide,Red Oxide"}, 2, "unlike binders; never mix unlike binders on the tool's word");
    const auto apart = told({"mix", "suggest", "Straw 31"}, "mix_suggest.json");
    for (const auto& recipe : apart["recipes"]) {
        bool yellow = false, red = false;
        for (const auto& part : recipe["parts"]) {
            yellow = yellow || part["paint"] == "Yellow Oxide";
            red = red || part["paint"] == "Red Oxide";
        }
        EXPECT_FALSE(yellow && red);
    }
    done({"mix", "add", "B", "Yellow Oxide", "3"});
    refused({"mix", "next", "B", "--paints", "Red Oxide"}, 2, "unlike binders");
    EXPECT_THAT(done({"mix", "add", "B", "Red Oxide", "1"}).out, HasSubstr("Caution")) << "what is in the pot is in it: it is kept, and told";
}

// Two paints ten times stronger than others of their class: the shelf knows only pigments, and learns from what is read.
TEST_F(Mix, AShelfKnownByPigmentsLearnsFromAPot) {
    done({"paint", "add", kWhite, "--masstone", lab_text(true_color({{kWhite, 1}})), "--sd", "0.3", "--pigment", "PW6"});
    done({"paint", "add", "Phthalo Green", "--pigment", "PG7"});
    done({"target", "add", "pale green", "--lab", lab_text(true_color({{kWhite, 28}, {"Phthalo Green", 1}})), "--sd", "0.2"});
    const auto before = told({"mix", "suggest", "pale green"}, "mix_suggest.json");
    EXPECT_THAT(before["messages"].dump(), HasSubstr("only its pigment is known"));
    done({"mix", "start", "trial", "--target", "pale green"});
    done({"mix", "add", "trial", kWhite, "20"});
    done({"mix", "add", "trial", "Phthalo Green", "1"});
    done({"mix", "read", "trial", "--lab", lab_text(true_color({{kWhite, 20}, {"Phthalo Green", 1}})), "--sd", "0.3"});
    const auto after = told({"mix", "suggest", "pale green"}, "mix_suggest.json");
    const auto width = [](const nlohmann::json& told) {
        return told["recipes"][0]["ci95"][1].get<double>() - told["recipes"][0]["ci95"][0].get<double>();
    };
    EXPECT_LT(width(after), 0.5 * width(before));
}

TEST_F(Mix, WetReadingsAreKeptAndNotJudged) {
    fill_shelf({"Yellow Oxide"});
    done({"target", "add", "Straw 31", "--lab", "75,5,40", "--sd", "0.3"});
    done({"mix", "start", "S", "--target", "Straw 31"});
    done({"mix", "add", "S", kWhite, "2ml"});
    done({"mix", "add", "S", kWhite, "1.4g"});
    EXPECT_NEAR(told({"mix", "add", "S", "Yellow Oxide", "10"}, "mix_add.json")["pot"]["ml"].get<double>(), 3.5, 1e-9);  // 1.4 g at 1.4 g/ml is 1 ml
    EXPECT_THAT(done({"mix", "read", "S", "--lab", "70,5,40", "--wet"}).out, HasSubstr("Wet paint is not the dry color"));
    EXPECT_EQ(told({"mix", "log", "S"}, "mix_log.json")["pot"]["last"]["verdict"], nullptr);
    EXPECT_EQ(told({"paint", "learn"}, "paint_learn.json")["readings"].size(), 0U);
    done({"mix", "read", "S", "--lab", "80,5,35", "--coat", "gloss"});
    EXPECT_THAT(done({"mix", "log", "S"}).out, HasSubstr("under a gloss clear coat"));
    // Some of it is sprayed: there is less, of the same color, and the next drops count for more.
    EXPECT_NEAR(told({"mix", "take", "S", "1.5ml"}, "mix_add.json")["pot"]["ml"].get<double>(), 2.0, 1e-9);
    const auto after = told({"mix", "log", "S"}, "mix_log.json")["pot"]["in_it"];
    EXPECT_NEAR(after[0]["share"].get<double>(), 3.0 / 3.5, 1e-4);
    EXPECT_EQ(told({"paint", "set", kWhite, "--stock-ml", "10"}, "paint.json")["paints"][0]["stock_ml"], 10);
    done({"mix", "add", "S", kWhite, "1ml"});
    EXPECT_NEAR(told({"paint", "show", kWhite}, "paint.json")["paints"][0]["stock_ml"].get<double>(), 9, 1e-9);
    done({"mix", "remove", "S"});
    EXPECT_EQ(told({"mix", "list"}, "pots.json")["pots"].size(), 0U);
    done({"workbook", "undo"});
    EXPECT_EQ(told({"mix", "log", "S"}, "mix_log.json")["log"].size(), 7U);
}

TEST_F(Mix, SharesNeedNotAddUp) {
    fill_shelf({"Yellow Oxide", "Red Oxide"});
    const auto odd = told({"mix", "scale", "--share", "Titanium White=60", "--share", "yellow oxide=30", "--share", "Red Oxide=7", "--ml", "10"},
                          "mix_scale.json");
    EXPECT_THAT(odd["note"].get<std::string>(), HasSubstr("97"));
    EXPECT_NEAR(odd["parts"][0]["ml"].get<double>(), 10 * 60 / 97.0, 1e-3);
    EXPECT_NEAR(odd["parts"][0]["g"].get<double>(), 1.4 * 10 * 60 / 97.0, 1e-3);
    EXPECT_EQ(odd["parts"][1]["g"], nullptr);
    const auto even = told({"mix", "scale", "--share", "Titanium White=70", "--share", "Red Oxide=30", "--drops", "10"}, "mix_scale.json");
    EXPECT_EQ(even["note"], "");
    EXPECT_EQ(even["parts"][0]["drops"], 7);
    EXPECT_NEAR(even["rounding_de00"].get<double>(), 0, 1e-9);
    const auto area =
        told({"mix", "scale", "--share", "Red Oxide=1", "--cm2", "300", "--coats", "2", "--coverage", "60", "--loss", "0.5"}, "mix_scale.json");
    EXPECT_NEAR(area["ml"].get<double>(), 20, 0.05);  // 300 x 2 / 60 / (1 - 0.5)
    EXPECT_THAT(done({"mix", "scale", "--share", "Titanium White=60", "--share", "Red Oxide=7", "--ml", "1"}).out,
                HasSubstr("The shares add up to 67: taken as parts of that."));
    refused({"mix", "scale", "--share", "Red Oxide=0", "--ml", "1"}, 2, "no share is above 0");
    refused({"mix", "scale", "--share", "Red Oxide", "--ml", "1"}, 2, "is not a paint and its share");
}

TEST_F(Mix, OutOfReachSaysWhichWay) {
    fill_shelf({"Yellow Oxide", "Red Oxide"});
    done({"target", "add", "deep blue", "--lab", "28,15,-45", "--sd", "0.3"});
    const auto far = told({"mix", "suggest", "deep blue"}, "mix_suggest.json");
    ASSERT_TRUE(far["missing"].is_object());
    EXPECT_GT(far["missing"]["de00"].get<double>(), 10);
    EXPECT_THAT(far["missing"]["kind"].get<std::string>(), HasSubstr("blue"));
    EXPECT_THAT(done({"mix", "suggest", "deep blue"}).out, HasSubstr("Out of reach of any 3 of these paints by "));
    EXPECT_LT(far["recipes"][0]["chance_within"].get<double>(), 0.01);
}

TEST_F(Mix, LetDownsAreOffered) {
    fill_shelf({"Phthalo Blue", "Yellow Oxide"});
    const Lab pale = true_color({{kWhite, 200}, {"Phthalo Blue", 1}});
    done({"target", "add", "pale", "--lab", lab_text(pale), "--sd", "0.2"});
    const auto plain = told({"mix", "suggest", "pale"}, "mix_suggest.json"),
               with = told({"mix", "suggest", "pale", "--let-downs"}, "mix_suggest.json");
    EXPECT_LE(with["recipes"][0]["de00"].get<double>(), plain["recipes"][0]["de00"].get<double>() + 0.05);
    EXPECT_THAT(with["recipes"][0]["parts"].dump(), HasSubstr("let down 1:10"));
    // It goes into a pot as what it is made of, and is taken back as one.
    done({"mix", "start", "P", "--target", "pale"});
    const auto pot = told({"mix", "add", "P", "Phthalo Blue let down 1:10", "11"}, "mix_add.json")["pot"];
    ASSERT_EQ(pot["in_it"].size(), 2U);
    EXPECT_EQ(pot["in_it"][0]["paint"], kWhite);
    EXPECT_NEAR(pot["in_it"][1]["share"].get<double>(), 1 / 11.0, 1e-4);
    EXPECT_NEAR(pot["drops"].get<double>(), 11, 1e-9);
    EXPECT_THAT(done({"mix", "log", "P"}).out, HasSubstr("11 drops of Phthalo Blue let down 1:10"));
    done({"workbook", "undo"});
    EXPECT_EQ(told({"mix", "log", "P"}, "mix_log.json")["log"].size(), 0U);
    refused({"mix", "add", "P", "Phthalo Red let down 1:10", "1"}, 3, "nearest are \"Phthalo Blue\"");
}

// From a photo: the same path as measure, and the reading can be taken again.
TEST_F(Mix, APotReadFromAPhoto) {
    fill_shelf({"Yellow Oxide"});
    done({"target", "add", "chip", "--from", test::kBench, "--region", test::kChip, "--gray", test::kCard});
    done({"mix", "start", "P", "--target", "chip"});
    done({"mix", "add", "P", kWhite, "10"});
    const auto measured = nlohmann::json::parse(
        done({"measure", test::kBench, "--gray", test::kCard, "--region", "swatch=" + test::kSwatch, "--json"}).out)["regions"][0]["lab"];
    const auto read = told({"mix", "read", "P", "--from", test::kBench, "--region", test::kSwatch, "--gray", test::kCard}, "mix_read.json");
    for (int i = 0; i < 3; ++i) EXPECT_NEAR(read["reading"]["lab"][i].get<double>(), measured[i].get<double>(), 1e-3);
    const auto log = told({"mix", "log", "P"}, "mix_log.json")["log"];
    EXPECT_EQ(log[1]["reading"]["photo"], test::kBench);
    const auto verified = nlohmann::json::parse(done({"workbook", "verify", "--json"}).out);
    ASSERT_EQ(verified["readings"].size(), 2U);
    EXPECT_EQ(verified["readings"][1]["outcome"], "same");
    done({"paint", "measure", "Yellow Oxide", "--from", test::kBench, "--region", test::kSwatch, "--gray", test::kCard});
    EXPECT_EQ(told({"paint", "show", "Yellow Oxide"}, "paint.json")["paints"][0]["samples"].size(), 4U);
    // All of it goes to another workbook and back.
    done({"export", path("all.json")});
    done({"import", path("all.json"), "--workbook", path("other.swb")});
    const auto there = told({"mix", "log", "P", "--workbook", path("other.swb")}, "mix_log.json");
    EXPECT_EQ(there["log"], told({"mix", "log", "P"}, "mix_log.json")["log"]);
}

}  // namespace
}  // namespace sw
