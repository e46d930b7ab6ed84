// card, setup and calibrate at the command line, and cards and set-ups in place of typed references.
#include <filesystem>
#include <fstream>
#include <sstream>

#include "cli/command_test.hpp"

namespace sw {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;
using test::kBench;
using test::kCardBox;
using test::kChip;
using test::kPhotos;
using test::kSwatch;
using test::Ran;
using test::refused;
using test::run_words;
using test::told;
using test::Words;
using testing::HasSubstr;
using testing::StartsWith;

class KeptThings : public test::CommandTest {};

TEST_F(KeptThings, CardsAreKeptListedShownAndRemoved) {
    EXPECT_EQ(told({"card", "list", "--json"}, "card.json")["cards"].size(), 0U);
    refused({"card", "show", "gray"}, 3, "there is no workbook yet");
    EXPECT_FALSE(fs::exists(folder_ / "swatchwright")) << "looking makes no file";
    const Json gray = told({"card", "add", "gray", "--lrv", "18.33", "--sd", "0.1", "--json"}, "card.json")["cards"][0];
    EXPECT_EQ(gray["lrv"], 18.33);
    EXPECT_EQ(gray["sd_assumed"], false);
    const Ran assumed = run_words({"card", "add", "damson", "--lab", "32.5,20.8,-12.7"});
    EXPECT_EQ(assumed.code, 0) << assumed.err;
    EXPECT_THAT(assumed.err, HasSubstr("a standard deviation of 0.5 is assumed"));
    EXPECT_THAT(assumed.out, HasSubstr("it is assumed, none was given"));
    std::ofstream csv(path("board.csv"));
    csv << "nm,reflectance\n";
    for (int nm = 380; nm <= 730; nm += 10) csv << nm << ",0.4\n";
    csv.close();
    EXPECT_EQ(told({"card", "add", "board", "--spectrum", path("board.csv"), "--json"}, "card.json")["cards"][0]["sd"], 0.2);  // 0.5 % of 40
    EXPECT_EQ(told({"card", "list", "--json"}, "card.json")["cards"].size(), 3U);
    EXPECT_THAT(run_words({"card", "list"}).out, StartsWith("3 cards in "));
    refused({"card", "add", "gray", "--lrv", "20"}, 3, "a card of that name exists");
    refused({"card", "show", "straw"}, 3, "there is no card of that name");
    EXPECT_THAT(run_words({"card", "remove", "gray"}).out, StartsWith("Removed card \"gray\" from "));
    refused({"card", "remove", "gray"}, 3, "there is no card of that name");
    refused({"card", "add", "x"}, 2, "says nothing of the card");
    refused({"card", "add", "x", "--lrv", "18", "--lab", "50,0,0"}, 2, "says the card twice");
    refused({"card", "add", "x", "--lrv", "101"}, 2, "--lrv \"101\"");
    refused({"card", "add", "x", "--spectrum", path("none.csv")}, 3, "none.csv");
    refused({"card", "add", "x", "--spectrum", kBench}, 3, "photo.jpg");
    refused({"card", "list", "--sd", "1"}, 2, "takes no color");
    refused({"card"}, 2, "card add, list, show or remove");
}

// The same card typed and kept: the same colors. Its spread moves the +-.
TEST_F(KeptThings, ACardByItsNameReadsAsTheTypedOne) {
    ASSERT_EQ(run_words({"card", "add", "gray", "--lrv", "18.33"}).code, 0);
    ASSERT_EQ(run_words({"card", "add", "vague", "--lrv", "18.33", "--sd", "3"}).code, 0);
    const auto chip = [&](const Words& reference) {
        Words words{"measure", kBench, "--region", "chip=" + kChip, "--json"};
        words.insert(words.end(), reference.begin(), reference.end());
        return told(words, "measure.json");
    };
    const Json typed = chip({"--gray", kCardBox + "=18.33"}), kept = chip({"--card", "gray=" + kCardBox}),
               vague = chip({"--card", "vague=" + kCardBox});
    for (std::size_t i = 0; i < 3; ++i) EXPECT_NEAR(typed["regions"][0]["lab"][i].get<double>(), kept["regions"][0]["lab"][i].get<double>(), 1e-3);
    EXPECT_EQ(kept["calibration"]["method"], "1 own card");
    EXPECT_GT(vague["regions"][0]["lab_sd"][0].get<double>(), kept["regions"][0]["lab_sd"][0].get<double>() + 0.5);
    const Json use = kept["calibration"]["uses"][0];
    EXPECT_NEAR(use["value"][0].get<double>(), 49.9, 0.1);  // L* of Y = 18.33, CIE 1976
    EXPECT_EQ(use["region"], kCardBox);
    EXPECT_TRUE(kept["calibration"]["setup"].is_null());
    EXPECT_EQ(run_words({"compare", "--pair", kBench + ":chip=" + kChip + ":swatch=" + kSwatch + ":card=gray=" + kCardBox, "--json"}).code, 0);
    EXPECT_EQ(run_words({"target", "add", "damson", "--from", kBench, "--region", kChip, "--card", "gray=" + kCardBox}).code, 0);
    refused({"measure", kBench, "--card", "straw=" + kCardBox}, 3, "there is no card of that name");
    refused({"measure", kBench, "--card", kCardBox}, 2, "has no name");
    refused({"measure", kBench, "--card", "gray=" + kCardBox, "--workbook", path("none.swb")}, 4, "none.swb");
}

TEST_F(KeptThings, ASetUpTakesThePlaceOfReferences) {
    EXPECT_EQ(told({"setup", "list", "--json"}, "setup.json")["setups"].size(), 0U);
    refused({"measure", kBench, "--setup", "bench"}, 4, "there is no such file");
    const Json answer = told({"calibrate", kBench, "--gray", kCardBox + "=18.33", "--json"}, "calibrate.json");
    EXPECT_TRUE(answer["saved"].is_null());
    EXPECT_FALSE(fs::exists(folder_ / "swatchwright"));
    const Json saved = told({"calibrate", kBench, "--gray", kCardBox + "=18.33", "--save", "bench", "--json"}, "calibrate.json");
    EXPECT_EQ(saved["saved"]["setup"], "bench");
    EXPECT_EQ(saved["calibration"], answer["calibration"]);
    refused({"calibrate", kBench, "--gray", kCardBox + "=18.33", "--save", "bench"}, 3, "a set-up of that name exists");
    EXPECT_EQ(told({"setup", "show", "bench", "--json"}, "setup.json")["setups"][0]["photo"], kBench);
    EXPECT_THAT(run_words({"setup", "list"}).out, StartsWith("1 set-up in "));

    // the same photo as a later one: the same colors, wider by little
    const Json own = told({"measure", kBench, "--gray", kCardBox + "=18.33", "--region", "chip=" + kChip, "--json"}, "measure.json");
    const Json borrowed = told({"measure", kBench, "--setup", "bench", "--region", "chip=" + kChip, "--json"}, "measure.json");
    for (std::size_t i = 0; i < 3; ++i) {
        EXPECT_NEAR(own["regions"][0]["lab"][i].get<double>(), borrowed["regions"][0]["lab"][i].get<double>(), 0.1);
        EXPECT_GE(borrowed["regions"][0]["lab_sd"][i].get<double>(), own["regions"][0]["lab_sd"][i].get<double>() - 0.01);
        EXPECT_LE(borrowed["regions"][0]["lab_sd"][i].get<double>(), own["regions"][0]["lab_sd"][i].get<double>() + 0.5);
    }
    EXPECT_EQ(borrowed["calibration"]["method"], "set-up bench: neutral");
    EXPECT_EQ(borrowed["calibration"]["setup"]["name"], "bench");
    EXPECT_EQ(borrowed["calibration"]["uses"][0]["elsewhere"], true);
    const Ran words = run_words({"measure", kBench, "--setup", "bench", "--region", "chip=" + kChip});
    EXPECT_THAT(words.out, HasSubstr("set-up bench: neutral"));
    EXPECT_THAT(words.out, HasSubstr("backdrop: "));
    EXPECT_EQ(run_words({"compare", kBench, "--chip", kChip, "--swatch", kSwatch, "--setup", "bench"}).code, 0);
    EXPECT_EQ(run_words({"compare", "--pair", kBench + ":chip=" + kChip + ":swatch=" + kSwatch + ":setup=bench"}).code, 0);
    EXPECT_EQ(run_words({"correct", kBench, "--setup", "bench", "--out", path("out.png")}).code, 0);
    EXPECT_EQ(run_words({"target", "add", "damson", "--from", kBench, "--region", kChip, "--setup", "bench"}).code, 0);

    refused({"measure", kPhotos + "case-42/photo.jpg", "--setup", "bench", "--lit-by", "A"}, 3, "set-up bench: ");
    refused({"measure", kBench, "--setup", "bench", "--transfer", "gamma:1.8"}, 3, "encoded otherwise");
    refused({"measure", kBench, "--setup", "bench", "--lit-by", "D65"}, 3, "said to be lit by D65");
    refused({"measure", kBench, "--setup", "bench", "--gray", kCardBox}, 2, "takes the place of references");
    refused({"measure", kBench, "--setup", "bench", "--plain", kCardBox}, 2, "takes the place of references");
    refused({"measure", kBench, "--setup", "other"}, 3, "there is no set-up of that name");
    refused({"correct", kBench, "--setup", "bench", "--out", path("out.png"), "--strip"}, 2, "no references in the photo");
    refused({"calibrate", kBench, "--chart", "none", "--save", "nothing"}, 3, "there is no reference in the photo");
    refused({"calibrate"}, 2, "names no photo");
    refused({"calibrate", kBench, "--setup", "bench"}, 2, "does not know what to do with");
    refused({"setup", "add", "x"}, 2, "is not something a setup can do");
    EXPECT_THAT(run_words({"setup", "remove", "bench"}).out, StartsWith("Removed set-up \"bench\" from"));
}

TEST_F(KeptThings, TheCalibrationIsToldInWords) {
    const Ran ran = run_words({"calibrate", kBench, "--gray", kCardBox + "=18.33"});
    ASSERT_EQ(ran.code, 0) << ran.err;
    for (const char* words :
         {"Calibration", "neutral", "References, what they are and as read", "gray card", "not left out", "Not covered by the references"})
        EXPECT_THAT(ran.out, HasSubstr(words));
}

}  // namespace
}  // namespace sw
