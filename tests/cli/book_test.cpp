// part, photo, lamp, note, find and workbook at the command line.
#include <filesystem>
#include <fstream>

#include "cli/command_test.hpp"

namespace sw {
namespace {

using test::done;
using test::refused;
using test::told;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::StartsWith;

class Book : public test::CommandTest {};

TEST_F(Book, PartsStandInATreeAndWearTargets) {
    EXPECT_EQ(told({"part", "list"}, "part.json")["parts"].size(), 0U);
    refused({"part", "show", "body side"}, 3, "there is no workbook yet");
    EXPECT_FALSE(std::filesystem::exists(folder_ / "swatchwright")) << "looking makes no file";
    done({"target", "add", "Damson 14", "--lab", "32.5,20.8,-12.7", "--sd", "0.3"});
    done({"part", "add", "Car no. 2"});
    const auto side = told({"part", "add", "body side", "--in", "Car no. 2", "--wears", "Damson 14", "--note", "two coats"}, "part.json")["parts"][0];
    EXPECT_EQ(side["path"], "Car no. 2/body side");
    EXPECT_EQ(side["wears"], "Damson 14");
    EXPECT_EQ(side["status"], "target");
    done({"part", "add", "brake wheel", "--in", "Car no. 2"});
    EXPECT_EQ(told({"part", "set", "brake wheel", "--status", "mixing", "--wears", "Damson 14"}, "part.json")["parts"][0]["status"], "mixing");
    EXPECT_EQ(told({"part", "set", "brake wheel", "--wears", ""}, "part.json")["parts"][0]["wears"], nullptr);
    const test::Ran list = done({"part", "list"});
    EXPECT_THAT(list.out, StartsWith("3 parts in "));
    EXPECT_THAT(list.out, HasSubstr("\n  Car no. 2 "));
    EXPECT_THAT(list.out, HasSubstr("\n    body side ")) << "within it";
    refused({"part", "add", "body side", "--in", "Car no. 2"}, 3, "exists in the same place");
    refused({"part", "add", "roof", "--wears", "Straw 31"}, 3, "there is no target of that name");
    refused({"part", "add", "roof", "--in", "Car no. 9"}, 3, "there is no part of that name");
    refused({"part", "set", "Car no. 2", "--in", "body side"}, 2, "within itself");
    refused({"part", "set", "Car no. 2"}, 2, "says not what is new");
    refused({"part", "set", "Car no. 2", "--status", "ready"}, 2, "is not a status");
    refused({"part", "list", "--note", "x"}, 2, "takes fewer options");
    refused({"part", "show", "Car no. 2", "--status", "mixing"}, 2, "takes fewer options");
    refused({"part", "remove", "Car no. 2"}, 2, "2 parts stand in it");
    refused({"part"}, 2, "add, list, show, set and remove");
    refused({"part", "paint", "x"}, 2, "is not something a part can do");
    EXPECT_THAT(done({"part", "remove", "Car no. 2/brake wheel"}).out, StartsWith("Removed part \"brake wheel\" from "));
    // The target goes, the part stays; and it is all there again when taken back.
    done({"target", "remove", "Damson 14"});
    EXPECT_EQ(told({"part", "show", "body side"}, "part.json")["parts"][0]["wears"], nullptr);
    EXPECT_THAT(done({"workbook", "undo"}).out, HasSubstr("Removed target \"Damson"));
    EXPECT_EQ(told({"part", "show", "body side"}, "part.json")["parts"][0]["wears"], "Damson 14");
    EXPECT_EQ(told({"workbook", "redo"}, "workbook_undo.json")["redone"], "Removed target \"Damson 14\"");
    EXPECT_EQ(told({"workbook", "redo"}, "workbook_undo.json")["redone"], nullptr);
}

TEST_F(Book, LampsHaveNames) {
    EXPECT_EQ(told({"lamp", "list"}, "lamp.json")["lamps"].size(), 0U);
    EXPECT_EQ(told({"lamp", "add", "window", "daylight:5600"}, "lamp.json")["lamps"][0]["light"], "daylight:5600");
    std::ofstream csv(path("lamp.csv"));
    for (int nm = 380; nm <= 780; nm += 5) csv << nm << "," << 1 + 0.001 * (nm - 380) << "\n";
    csv.close();
    EXPECT_EQ(told({"lamp", "add", "bench", path("lamp.csv")}, "lamp.json")["lamps"][0]["light"], nullptr);
    std::filesystem::remove(path("lamp.csv"));  // its spectrum is in the workbook
    const auto by_name = nlohmann::json::parse(done({"light", "window", "--json"}).out),
               by_light = nlohmann::json::parse(done({"light", "daylight:5600", "--json"}).out);
    EXPECT_EQ(by_name["xyz"], by_light["xyz"]);
    EXPECT_EQ(nlohmann::json::parse(done({"light", "bench", "--json"}).out)["name"], "bench");
    done({"color", "50,0,0", "--under", "bench"});
    refused({"light", "attic"}, 2, "attic");
    refused({"lamp", "add", "window", "D65"}, 3, "a lamp of that name exists");
    refused({"lamp", "add", "x", "no such light"}, 2, "no such light");
    refused({"lamp", "add", "x"}, 2, "does not say what lamp it is");
    const auto lights = told({"light", "--list"}, "lights.json");
    ASSERT_EQ(lights["lamps"].size(), 2U);
    EXPECT_EQ(lights["lamps"][1]["lamp"], "window");
    EXPECT_EQ(lights["lamps"][1]["xyz"], by_light["xyz"]);
    EXPECT_THAT(done({"light", "--list"}).out, HasSubstr("Lamps of your own"));
    // In blends too; and what is kept of one stands by itself.
    const auto blend = nlohmann::json::parse(done({"light", "0.7*bench+0.3*window", "--json"}).out);
    EXPECT_EQ(blend["name"], "0.7*bench+0.3*daylight:5600");
    EXPECT_EQ(blend["known"], "file");
    EXPECT_EQ(told({"lamp", "add", "evening", "0.5*window+0.5*A"}, "lamp.json")["lamps"][0]["light"], "0.5*daylight:5600+0.5*A");
    EXPECT_EQ(told({"lamp", "add", "both", "0.7*bench+0.3*window"}, "lamp.json")["lamps"][0]["light"], nullptr);
    refused({"lamp", "add", "half", "0.5*bench+0.5*led:6500,ra=80"}, 2, "beside one that is known by its spectrum");
    refused({"light", "0.5*attic+0.5*A"}, 2, "attic");
    refused({"light", "\"D65\""}, 2, "is no lamp of your own");
    EXPECT_THAT(done({"lamp", "remove", "bench"}).out, StartsWith("Removed lamp \"bench\" from "));
    const auto kept = nlohmann::json::parse(done({"light", "both", "--json"}).out);
    for (const char* axis : {"xyz", "xy"})
        for (std::size_t i = 0; i < blend[axis].size(); ++i) EXPECT_NEAR(kept[axis][i].get<double>(), blend[axis][i].get<double>(), 1e-5);
    refused({"light", "bench"}, 2, "bench");
}

// A lamp's name in --pair, in --under and as the light that a target is stated for.
TEST_F(Book, LampsLightPairs) {
    done({"lamp", "add", "bench lamp", "led:6500,ra=80"});
    const std::string places = test::kBench + ":chip=" + test::kChip + ":swatch=" + test::kSwatch + ":gray=" + test::kCard + ":lit-by=";
    const auto lights = [&](const std::string& lit_by, const std::string& under) {
        return nlohmann::json::parse(done({"compare", "--pair", places + lit_by, "--under", under, "--json"}).out)["lights"];
    };
    EXPECT_EQ(lights("bench lamp", "0.5*bench lamp+0.5*D65"), lights("led:6500,ra=80", "0.5*led:6500,ra=80+0.5*D65"));
    refused({"compare", "--pair", places + "attic lamp"}, 2, "attic lamp");
    std::ofstream csv(path("strip.csv"));
    for (int nm = 380; nm <= 780; nm += 5) csv << nm << ",1\n";
    csv.close();
    done({"lamp", "add", "strip", path("strip.csv")});
    std::filesystem::remove(path("strip.csv"));
    done({"target", "add", "damson", "--lab", "32.5,20.8,-12.7", "--sd", "0.3", "--under", "0.5*strip+0.5*A"});
    EXPECT_EQ(done({"rank", test::kBench, "--swatch", test::kSwatch, "--gray", test::kCard}).code, 0) << "read under the target's light";
    done({"map", test::kBench, "--region", test::kSwatch, "--against", "damson", "--gray", test::kCard});
}

TEST_F(Book, NotesAndFind) {
    done({"target", "add", "Damson 14", "--lab", "32,20,-12", "--sd", "0.2"});
    done({"target", "add", "Straw 31", "--lab", "80,2,31", "--sd", "0.2"});
    const test::Ran twin = done({"target", "add", "plum", "--lab", "32.3,20,-12", "--sd", "0.2"});
    EXPECT_THAT(twin.err, HasSubstr("this may be a color that is kept already: Damson 14 (ΔE00 0.2 ± "));
    done({"part", "add", "lining", "--wears", "Straw 31"});
    const auto note = told({"note", "add", "third try, a drop more ochre", "--target", "Straw 31"}, "note.json")["notes"][0];
    EXPECT_EQ(note["target"], "Straw 31");
    done({"note", "add", "mask the edge", "--part", "lining"});
    refused({"note", "add", "x"}, 2, "does not say what it is about");
    refused({"note", "add", "x", "--reading", "7"}, 3, "what it belongs to is not in the workbook");
    refused({"note", "remove", "99"}, 3, "there is no note of that number");
    refused({"note", "remove", "x"}, 2, "is not a note's number");

    const auto near = told({"find", "--near", "32,20,-12", "--within", "2"}, "find.json")["targets"];
    ASSERT_EQ(near.size(), 2U);
    EXPECT_EQ(near[0]["name"], "Damson 14");
    EXPECT_EQ(near[0]["de00"], 0);
    EXPECT_GT(near[0]["de00_sd"], 0);
    EXPECT_EQ(told({"find", "ochre"}, "find.json")["notes"][0]["id"], note["id"]);
    EXPECT_EQ(told({"find", "--part", "lining"}, "find.json")["notes"].size(), 2U);
    EXPECT_EQ(told({"find", "straw", "--near", "32,20,-12"}, "find.json")["targets"].size(), 0U);
    EXPECT_THAT(done({"find", "mask"}).out, HasSubstr("part \"lining\""));
    EXPECT_THAT(done({"find", "nowhere"}).out, StartsWith("Nothing found in "));
    const auto pairs = told({"find", "--duplicates"}, "duplicates.json")["duplicates"];
    ASSERT_EQ(pairs.size(), 1U);
    EXPECT_THAT(pairs[0]["targets"], ElementsAre("Damson 14", "plum"));
    EXPECT_THAT(done({"find", "--duplicates"}).out, HasSubstr("may be one color"));
    refused({"find"}, 2, "says not what to look for");
    refused({"find", "x", "--duplicates"}, 2, "stands alone");
    refused({"find", "--within", "2"}, 2, "has no color to be near to");
    refused({"find", "--near", "32,20"}, 2, "--near");
    refused({"find", "--since", "yesterday"}, 2, "is not a date");
    refused({"find", "--verdict", "good"}, 2, "is not a verdict");

    const auto names = [&](const test::Words& words) {
        std::vector<std::string> all;
        const nlohmann::json json = told(words, "target.json");
        for (const auto& target : json["targets"]) all.push_back(target["name"]);
        return all;
    };
    EXPECT_THAT(names({"target", "list"}), ElementsAre("Damson 14", "plum", "Straw 31"));
    EXPECT_THAT(names({"target", "list", "--sort", "date"}), ElementsAre("plum", "Straw 31", "Damson 14"));
    EXPECT_THAT(names({"target", "list", "--sort", "lab"}), ElementsAre("Damson 14", "plum", "Straw 31"));
    EXPECT_THAT(names({"target", "list", "--kind", "chip"}), ElementsAre());
    EXPECT_THAT(names({"target", "list", "--near", "80,2,31"}), ElementsAre("Straw 31", "plum", "Damson 14"));
    EXPECT_THAT(names({"target", "list", "--near", "32.3,20,-12", "--within", "1"}), ElementsAre("plum", "Damson 14"));
    EXPECT_THAT(names({"target", "list", "--near", "32.3,20,-12", "--within", "1", "--sort", "name"}), ElementsAre("Damson 14", "plum"));
    EXPECT_THAT(names({"target", "list", "--since", "2999-01-01"}), ElementsAre());
    const auto nearest = told({"target", "list", "--near", "80,2,31"}, "target.json")["targets"][0];
    EXPECT_EQ(nearest["de00"], 0);
    EXPECT_GT(nearest["de00_sd"], 0.1);
    EXPECT_THAT(done({"target", "list", "--near", "80,2,31"}).out, HasSubstr("ΔE00"));
    refused({"target", "list", "--within", "2"}, 2, "has no color to be near to");
    refused({"target", "list", "--sort", "near"}, 2, "has no color to be near to");
    refused({"target", "list", "--sort", "size"}, 2, "is not an order");
    refused({"target", "list", "--since", "today"}, 2, "is not a date");
    refused({"target", "list", "--kind", "paint"}, 2, "is not a kind of target");
    refused({"target", "show", "plum", "--sort", "lab"}, 2, "does not sort");
    EXPECT_THAT(done({"note", "remove", "1"}).out, HasSubstr("Removed note \"1\""));
}

TEST_F(Book, PartsAreSortedAndPicked) {
    done({"target", "add", "Damson 14", "--lab", "32,20,-12", "--sd", "0.2"});
    done({"target", "add", "Straw 31", "--lab", "80,2,31", "--sd", "0.2"});
    done({"part", "add", "Car no. 2"});
    done({"part", "add", "lining", "--in", "Car no. 2", "--wears", "Straw 31", "--status", "painted"});
    done({"part", "add", "body side", "--in", "Car no. 2", "--wears", "Damson 14"});
    done({"part", "add", "door", "--in", "body side", "--wears", "Damson 14", "--status", "mixing"});
    const auto names = [&](test::Words words) {
        words.insert(words.begin(), {"part", "list"});
        std::vector<std::string> all;
        const nlohmann::json json = told(words, "part.json");
        for (const auto& part : json["parts"]) all.push_back(part["name"]);
        return all;
    };
    EXPECT_THAT(names({"--wears", "Damson 14"}), ElementsAre("body side", "door"));
    EXPECT_THAT(names({"--wears", ""}), ElementsAre("Car no. 2"));
    EXPECT_THAT(names({"--status", "painted"}), ElementsAre("lining"));
    EXPECT_THAT(names({"--in", "body side"}), ElementsAre("door"));
    EXPECT_THAT(names({"--in", "Car no. 2"}), ElementsAre("body side", "door", "lining"));
    EXPECT_THAT(names({"--in", ""}), ElementsAre("Car no. 2"));
    EXPECT_THAT(names({"--sort", "date"}), ElementsAre("door", "body side", "lining", "Car no. 2"));
    EXPECT_THAT(names({"--sort", "lab"}), ElementsAre("body side", "door", "lining", "Car no. 2")) << "without a color last";
    EXPECT_THAT(names({"--near", "80,2,30"}), ElementsAre("lining", "body side", "door")) << "without a color not at all";
    EXPECT_THAT(names({"--near", "80,2,30", "--within", "5"}), ElementsAre("lining"));
    EXPECT_THAT(done({"part", "list", "--sort", "lab"}).out, HasSubstr("  Car no. 2/body side/door ")) << "by its path";
    EXPECT_THAT(done({"part", "list", "--near", "80,2,30"}).out, HasSubstr("ΔE00"));
    EXPECT_THAT(done({"part", "list", "--wears", "Damson 14"}).out, HasSubstr("\n    door ")) << "still a tree";
    refused({"part", "list", "--wears", "Heather 09"}, 3, "there is no target of that name");
    refused({"part", "list", "--in", "Car no. 9"}, 3, "there is no part of that name");
}

TEST_F(Book, FindTellsCardsLampsAndSetups) {
    std::filesystem::copy_file(test::kBench, path("bench.jpg"));
    done({"card", "add", "bench card", "--lrv", "18.33"});
    done({"lamp", "add", "bench lamp", "led:6500,ra=80"});
    done({"calibrate", path("bench.jpg"), "--gray", test::kCard, "--save", "bench, evening"});
    const auto found = told({"find", "ben"}, "find.json");
    ASSERT_TRUE(found["cards"].size() == 1 && found["lamps"].size() == 1 && found["setups"].size() == 1) << found;
    EXPECT_EQ(found["cards"][0]["name"], "bench card");
    EXPECT_EQ(found["lamps"][0]["light"], "led:6500,ra=80");
    EXPECT_EQ(found["setups"][0]["name"], "bench, evening");
    const std::string text = done({"find", "ben"}).out;
    for (const char* name : {"bench card", "bench lamp", "bench, evening"}) EXPECT_THAT(text, HasSubstr(name));
    const auto evening = told({"find", "evening"}, "find.json");
    EXPECT_EQ(evening["cards"].size() + evening["lamps"].size(), 0U);
    EXPECT_EQ(told({"find", "ben", "--near", "50,0,0"}, "find.json")["cards"].size(), 0U);
    EXPECT_EQ(told({"find", "ben", "--since", "2999-01-01"}, "find.json")["setups"].size(), 0U);
}

// One step back from a figure: reading, region, photo, calibration, references.
TEST_F(Book, ReadingsAreListedAndShown) {
    EXPECT_EQ(told({"reading", "list"}, "kept_readings.json")["readings"].size(), 0U);
    refused({"reading", "show", "1"}, 3, "there is no workbook yet");
    std::filesystem::copy_file(test::kBench, path("bench.jpg"));
    done({"target", "add", "damson", "--from", path("bench.jpg"), "--region", test::kChip, "--gray", test::kCard});
    done({"target", "add", "swatch", "--from", path("bench.jpg"), "--region", test::kSwatch, "--gray", test::kCard});
    const auto names = [&](test::Words words) {
        words.insert(words.begin(), {"reading", "list"});
        std::vector<std::string> all;
        const nlohmann::json json = told(words, "kept_readings.json");
        for (const auto& reading : json["readings"]) all.push_back(reading["name"]);
        return all;
    };
    EXPECT_THAT(names({}), ElementsAre("swatch", "damson")) << "newest first";
    EXPECT_THAT(names({"--sort", "name"}), ElementsAre("damson", "swatch"));
    EXPECT_THAT(names({"--target", "damson"}), ElementsAre("damson"));
    EXPECT_THAT(names({"--photo", "bench.jpg"}), ElementsAre("swatch", "damson"));
    EXPECT_THAT(names({"--verdict", "within"}), ElementsAre());
    EXPECT_THAT(names({"--near", "0,0,0"}).size(), 2U);
    EXPECT_THAT(names({"--near", "99,0,0", "--within", "1"}), ElementsAre());
    EXPECT_THAT(done({"reading", "list"}).out, StartsWith("2 readings in "));
    const auto shown = told({"reading", "show", "1"}, "kept_readings.json")["readings"][0];
    EXPECT_EQ(shown["calibration"]["references"].size(), 1U);
    EXPECT_THAT(shown["calibration"]["references"][0].get<std::string>(), HasSubstr("LRV 18.3"));
    EXPECT_EQ(shown["can_be_taken_again"], true);
    const std::string text = done({"reading", "show", "1"}).out;
    for (const char* words : {"made into       damson", "179,138,173,183", "sha1:", "calibrated by", "workbook verify takes it again"})
        EXPECT_THAT(text, HasSubstr(words));
    done({"photo", "remove", "bench.jpg"});
    EXPECT_THAT(done({"reading", "show", "1"}).out, HasSubstr(", not on record"));
    EXPECT_THAT(names({"--photo", "bench.jpg"}), ElementsAre("swatch", "damson")) << "it is still known where they came from";
    refused({"reading", "list", "--photo", "other.jpg"}, 3, "there is no photo of that name");
    refused({"reading", "list", "--target", "straw"}, 3, "there is no target of that name");
    refused({"reading", "list", "--verdict", "good"}, 2, "is not a verdict");
    refused({"reading", "show", "seven"}, 2, "is not a reading's number");
    refused({"reading", "show", "7"}, 3, "there is no reading of that number");
    refused({"reading", "show", "1", "--target", "damson"}, 2, "takes a number only");
    EXPECT_THAT(done({"reading", "remove", "1"}).out, StartsWith("Removed reading \"damson\" from "));
    EXPECT_THAT(names({}), ElementsAre("swatch"));
    done({"workbook", "undo"});
    EXPECT_THAT(names({}), ElementsAre("swatch", "damson"));
}

// A target from a photo brings photo and reading; verify takes it again, finds what was changed, and a photo that was moved.
TEST_F(Book, ATargetOfAPhotoCanBeTakenAgain) {
    std::filesystem::copy_file(test::kBench, path("bench.jpg"));
    done({"target", "add", "damson", "--from", path("bench.jpg"), "--region", test::kChip, "--gray", test::kCard, "--lit-by", "led:6500,ra=80"});
    done({"card", "add", "my card", "--lrv", "18.33"});
    done({"target", "add", "by card", "--from", path("bench.jpg"), "--region", test::kSwatch, "--card", "my card=" + test::kCardBox, "--under", "D65",
          "--observer", "10"});
    done({"calibrate", path("bench.jpg"), "--gray", test::kCard, "--save", "bench"});
    done({"target", "add", "by set-up", "--from", path("bench.jpg"), "--region", test::kChip, "--setup", "bench"});
    const auto photos = told({"photo", "list"}, "photo.json")["photos"];
    ASSERT_EQ(photos.size(), 1U);
    EXPECT_EQ(photos[0]["there"], true);
    EXPECT_GT(photos[0]["thumbnail_bytes"], 500);
    const auto found = told({"find", "damson"}, "find.json")["readings"];
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found[0]["target"], "damson");

    const auto outcomes = [&] {
        std::vector<std::string> all;
        const nlohmann::json json = told({"workbook", "verify"}, "verify.json");
        for (const auto& reading : json["readings"]) all.push_back(reading["outcome"]);
        return all;
    };
    EXPECT_THAT(outcomes(), ElementsAre("same", "same", "same"));
    EXPECT_EQ(test::run_words({"workbook", "verify", "--check"}).code, 0);

    std::filesystem::create_directories(path("deeper/inside"));
    std::filesystem::rename(path("bench.jpg"), path("deeper/inside/renamed.jpg"));
    EXPECT_THAT(outcomes(), ElementsAre("photo missing", "photo missing", "photo missing"));
    EXPECT_EQ(test::run_words({"workbook", "verify", "--check"}).code, 1);
    EXPECT_EQ(told({"workbook", "info"}, "workbook_info.json")["missing_photos"].size(), 1U);
    EXPECT_EQ(told({"photo", "find", path("deeper")}, "photo.json")["photos"].size(), 1U);
    EXPECT_EQ(told({"photo", "show", "renamed.jpg"}, "photo.json")["photos"][0]["there"], true);
    // The set-up under its name is another one now: its reading cannot be taken again, and that is said. One undo takes target, photo and reading.
    done({"setup", "remove", "bench"});
    EXPECT_THAT(outcomes(), ElementsAre("same", "same", "not possible"));
    done({"workbook", "undo"});
    EXPECT_THAT(outcomes(), ElementsAre("same", "same", "same"));
    EXPECT_THAT(done({"workbook", "verify"}).out, HasSubstr("3 readings taken again from the photos: 3 the same"));
    EXPECT_EQ(told({"workbook", "undo"}, "workbook_undo.json")["undone"], "Found moved photos in " + path("deeper"));
    EXPECT_EQ(told({"workbook", "undo"}, "workbook_undo.json")["undone"], "Added target \"by set-up\"");
    EXPECT_EQ(told({"workbook", "info"}, "workbook_info.json")["rows"]["reading"], 2);
}

TEST_F(Book, PhotosAreKnownByTheirContent) {
    refused({"photo", "add", path("none.jpg")}, 3, "none.jpg");
    EXPECT_FALSE(std::filesystem::exists(folder_ / "swatchwright")) << "a bad photo leaves no empty workbook behind";
    const auto added = told({"photo", "add", test::kBench}, "photo.json")["photos"][0];
    EXPECT_THAT(added["hash"].get<std::string>(), StartsWith("sha1:"));
    told({"photo", "add", test::kBench}, "photo.json");
    EXPECT_EQ(told({"photo", "list"}, "photo.json")["photos"].size(), 1U);
    EXPECT_EQ(told({"photo", "show", added["hash"]}, "photo.json")["photos"][0], added);
    refused({"photo", "show", "other.jpg"}, 3, "there is no photo of that name");
    refused({"photo", "find", path("no folder")}, 3, "cannot be looked through");
    EXPECT_THAT(done({"photo", "find", folder_.string()}).out, StartsWith("No photo of the workbook that was missing"));
}

// What was read from it stays, and says so; one undo brings all of it back.
TEST_F(Book, APhotoCanBeForgotten) {
    std::filesystem::copy_file(test::kBench, path("bench.jpg"));
    done({"target", "add", "damson", "--from", path("bench.jpg"), "--region", test::kChip, "--gray", test::kCard});
    done({"target", "add", "typed", "--lab", "50,0,0"});
    const auto photo = told({"photo", "list"}, "photo.json")["photos"][0];
    EXPECT_EQ(told({"find", "damson"}, "find.json")["readings"][0]["photo_not_on_record"], false);
    EXPECT_EQ(told({"target", "show", "damson"}, "target.json")["targets"][0]["photo_not_on_record"], false);

    const test::Ran removed = done({"photo", "remove", "bench.jpg"});
    EXPECT_THAT(removed.out, StartsWith("Removed photo \""));
    EXPECT_THAT(removed.err, HasSubstr("1 reading of it stays, without its photo on record"));
    EXPECT_TRUE(std::filesystem::exists(path("bench.jpg")));
    EXPECT_EQ(told({"photo", "list"}, "photo.json")["photos"].size(), 0U);
    const auto found = told({"find", "damson"}, "find.json");
    EXPECT_EQ(found["readings"][0]["photo_not_on_record"], true);
    EXPECT_EQ(found["targets"][0]["photo_not_on_record"], true);
    EXPECT_THAT(done({"find", "damson"}).out, HasSubstr("bench.jpg, not on record"));
    EXPECT_THAT(done({"target", "show", "damson"}).out, HasSubstr("; photo not on record"));
    EXPECT_EQ(told({"target", "show", "typed"}, "target.json")["targets"][0]["photo_not_on_record"], false);
    refused({"photo", "remove", "bench.jpg"}, 3, "there is no photo of that name");
    EXPECT_EQ(told({"workbook", "undo"}, "workbook_undo.json")["undone"], "Removed photo \"" + path("bench.jpg") + "\"");
    EXPECT_EQ(told({"photo", "list"}, "photo.json")["photos"][0], photo);
    EXPECT_EQ(told({"target", "show", "damson"}, "target.json")["targets"][0]["photo_not_on_record"], false);
    EXPECT_EQ(told({"photo", "remove", photo["hash"]}, "photo.json")["photos"][0], photo);

    // Two of one file name: which one is told by the hash.
    std::filesystem::create_directories(path("other"));
    std::filesystem::copy_file(test::kPhotos + "case-08/photo.jpg", path("other/bench.jpg"));
    done({"photo", "add", path("bench.jpg")});
    const auto other = told({"photo", "add", path("other/bench.jpg")}, "photo.json")["photos"][0];
    refused({"photo", "remove", "bench.jpg"}, 2, "2 photos have that name");
    refused({"photo", "show", "bench.jpg"}, 2, other["hash"]);
    EXPECT_EQ(told({"photo", "remove", path("other/bench.jpg")}, "photo.json")["photos"][0], other);
    EXPECT_EQ(told({"photo", "show", "bench.jpg"}, "photo.json")["photos"][0]["path"], path("bench.jpg"));
}

TEST_F(Book, ADamagedWorkbookIsToldAndRescued) {
    for (int i = 0; i < 40; ++i) done({"target", "add", "color " + std::to_string(i), "--lab", std::to_string(20 + i) + ",0,0", "--sd", "0.1"});
    const std::string file = path("swatchwright/workbook.swb");
    std::string bytes;
    {
        std::ifstream in(file, std::ios::binary);
        bytes.assign(std::istreambuf_iterator<char>(in), {});
    }
    std::size_t name = bytes.find("color 17");  // in its row, where its figures and then its kind follow; not in an index
    while (name != std::string::npos && bytes.find("published", name) - name > 140) name = bytes.find("color 17", name + 1);
    ASSERT_NE(name, std::string::npos);
    bytes[name + 9] = static_cast<char>(bytes[name + 9] ^ 0x10);
    std::ofstream(file, std::ios::binary).write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    const auto sound = told({"workbook", "verify"}, "verify.json");
    EXPECT_EQ(sound["sound"], false);
    ASSERT_EQ(sound["damaged"].size(), 1U);
    EXPECT_EQ(sound["damaged"][0]["label"], "target \"color 17\"");
    EXPECT_EQ(test::run_words({"workbook", "verify", "--check"}).code, 1);
    refused({"target", "list"}, 4, "swatchwright workbook rescue");
    const auto rescued = told({"workbook", "rescue", file, path("out.swb")}, "rescue.json");
    EXPECT_EQ(rescued["rows"]["target"], 39);
    EXPECT_EQ(rescued["damaged"][0]["label"], "target \"color 17\"");
    EXPECT_EQ(nlohmann::json::parse(done({"target", "list", "--workbook", path("out.swb"), "--json"}).out)["targets"].size(), 39U);
    refused({"workbook", "rescue", file, path("out.swb")}, 2, "it is there already");
    refused({"workbook", "rescue", file}, 2, "needs the damaged file and the one to make");
    refused({"workbook", "info", file}, 2, "takes no file there");
    refused({"workbook", "info", "--workbook", path("none.swb")}, 4, "none.swb");
    refused({"workbook", "mend"}, 2, "is not something to do with a workbook");
    EXPECT_THAT(done({"workbook", "rescue", file, path("again.swb")}).out, HasSubstr("1 row found damaged and not taken:"));
}

}  // namespace
}  // namespace sw
