// part, photo, lamp, note, find and workbook at the command line.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "cli/ran.hpp"
#include "cli/schema.hpp"

namespace sw {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::StartsWith;

class Book : public testing::Test {
protected:
    void SetUp() override {
        folder_ = std::filesystem::temp_directory_path() /
                  ("sw_book_" + std::to_string(getpid()) + "_" + testing::UnitTest::GetInstance()->current_test_info()->name());
        std::filesystem::create_directories(folder_);
        setenv("XDG_DATA_HOME", folder_.c_str(), 1);
    }
    void TearDown() override { std::filesystem::remove_all(folder_); }
    [[nodiscard]] std::string path(const std::string& name) const { return (folder_ / name).string(); }

    static test::Ran done(const test::Words& words) {
        const test::Ran ran = test::run_words(words);
        EXPECT_EQ(ran.code, 0) << testing::PrintToString(words) << ran.err;
        return ran;
    }
    static nlohmann::json told(test::Words words, const std::string& schema) {
        words.emplace_back("--json");
        const test::Ran ran = done(words);
        EXPECT_EQ(test::misfits(ran.out, schema), "") << testing::PrintToString(words);
        return nlohmann::json::parse(ran.out, nullptr, false);
    }
    static void refused(const test::Words& words, int code, const std::string& say) {
        const test::Ran ran = test::run_words(words);
        EXPECT_EQ(ran.code, code) << testing::PrintToString(words) << ran.err;
        EXPECT_EQ(ran.out, "");
        EXPECT_THAT(ran.err, HasSubstr(say));
    }
    std::filesystem::path folder_;
};

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
    refused({"part", "list", "--status", "mixing"}, 2, "takes fewer options");
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
    EXPECT_THAT(done({"lamp", "remove", "bench"}).out, StartsWith("Removed lamp \"bench\" from "));
    refused({"light", "bench"}, 2, "bench");
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
    refused({"target", "list", "--kind", "paint"}, 2, "is not a kind of target");
    refused({"target", "show", "plum", "--sort", "lab"}, 2, "does not sort");
    EXPECT_THAT(done({"note", "remove", "1"}).out, HasSubstr("Removed note \"1\""));
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
