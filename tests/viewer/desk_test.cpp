// Work, background and history together, on a real photo, without a window.
#include "viewer/desk.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <thread>

#include "viewer/options.hpp"
#include "viewer/settings.hpp"
#include "viewer/shortcuts.hpp"
#include "workbook/verify.hpp"

namespace sw::window {
namespace {

const std::string kPhoto = std::string(SW_TESTS) + "/photos/case-02/photo.jpg";

bool wait(Desk& desk) {
    const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(120);
    while (std::chrono::steady_clock::now() < end) {
        desk.pump();
        if (!desk.busy()) return true;
        std::this_thread::sleep_for(std::chrono::milliseconds(2));
    }
    return false;
}

class DeskTest : public testing::Test {
protected:
    void SetUp() override {
        std::string name = (std::filesystem::temp_directory_path() / "swatchwright-XXXXXX").string();
        folder = mkdtemp(name.data());
    }
    void TearDown() override {
        std::error_code ignored;
        std::filesystem::remove_all(folder, ignored);
    }
    std::filesystem::path folder;
};

TEST_F(DeskTest, FromPhotoToVerdictToWorkbookAndBack) {
    Desk desk;
    desk.open_workbook(folder / "w.swb");
    ASSERT_TRUE(desk.commit(OpenPhoto{kPhoto}));
    EXPECT_TRUE(desk.work().photo.empty()) << "a photo is opened when it has been read";
    ASSERT_TRUE(wait(desk));
    EXPECT_EQ(desk.work().photo, kPhoto);
    ASSERT_TRUE(desk.results().photo);
    EXPECT_TRUE(desk.results().corrected);
    // regions of tests/photos/case-02/truth.json, drawn in a little
    ASSERT_TRUE(desk.commit(SetGray{Box{860, 117, 179, 122}, 18.0, 0}));
    ASSERT_TRUE(desk.commit(SetChip{Box{199, 158, 133, 143}}));
    ASSERT_TRUE(wait(desk));
    EXPECT_TRUE(desk.results().chip);
    EXPECT_FALSE(desk.results().comparison);
    desk.save_ladder((folder / "early.png").string());  // nothing to draw yet
    ASSERT_EQ(desk.messages.size(), 1U);
    desk.messages.clear();
    ASSERT_TRUE(desk.commit(SetSwatch{Box{425, 150, 135, 145}}));
    EXPECT_FALSE(desk.match_current());
    ASSERT_TRUE(wait(desk));
    ASSERT_TRUE(desk.results().comparison);
    EXPECT_TRUE(desk.match_current());
    EXPECT_EQ(desk.results().comparison->lights.size(), 3U);
    desk.save_ladder((folder / "ladder.png").string());
    EXPECT_TRUE(desk.messages.empty());
    EXPECT_EQ(desk.view.saved_ladder, (folder / "ladder.png").string());
    EXPECT_GT(std::filesystem::file_size(folder / "ladder.png"), 5000U);
    for (const char* name : {"ladder.gif", "none/ladder.png"}) {
        desk.save_ladder((folder / name).string());
        EXPECT_EQ(desk.messages.size(), 1U) << name;
        EXPECT_TRUE(desk.view.saved_ladder.empty());
        desk.messages.clear();
    }

    ASSERT_TRUE(desk.commit(SaveTarget{"Damson 14"}));
    ASSERT_TRUE(desk.commit(SaveReading{"mix 3"}));
    ASSERT_EQ(desk.shelf().readings.size(), 2U) << "the chip's own and the swatch's";
    for (const KeptReading& reading : desk.shelf().readings)
        EXPECT_EQ(reading.target, desk.shelf().targets.at(0).id) << reading.name << ": judged against the chip that was just kept";
    {  // what was kept follows from the photo, and the photo is recorded
        const Result<Workbook> kept = Workbook::open(folder / "w.swb", false);
        ASSERT_TRUE(kept);
        const auto again = reread(*kept);
        ASSERT_TRUE(again && again->size() == 2);
        for (const RereadReading& reading : *again) EXPECT_EQ(reading.outcome, Reread::same) << reading.name << ": " << reading.why;
        EXPECT_FALSE(again->front().judged_now);
        EXPECT_TRUE(again->back().judged_now);
        EXPECT_EQ(kept->photos()->size(), 1U);
        EXPECT_EQ(kept->changes()->front().words, "Kept the swatch as reading mix 3");
    }
    EXPECT_FALSE(desk.commit(SaveTarget{"Damson 14"}));
    EXPECT_EQ(desk.messages.size(), 1U);

    // all the way back, photo and workbook too, and forward again
    int steps = 0;
    for (; desk.history().can_undo(); ++steps) desk.undo();
    EXPECT_EQ(steps, 6);
    ASSERT_TRUE(wait(desk));
    EXPECT_TRUE(desk.work().photo.empty());
    EXPECT_FALSE(desk.results().photo);
    EXPECT_TRUE(desk.shelf().targets.empty());
    while (desk.history().can_redo()) desk.redo();
    ASSERT_TRUE(wait(desk));
    EXPECT_TRUE(desk.results().comparison);
    EXPECT_EQ(desk.shelf().targets.size(), 1U);
    EXPECT_EQ(desk.shelf().readings.size(), 2U);
}

TEST_F(DeskTest, ABadFileKeepsTheWorkAndSaysWhatToDo) {
    Desk desk;
    ASSERT_TRUE(desk.commit(OpenPhoto{kPhoto}));
    ASSERT_TRUE(wait(desk));
    ASSERT_TRUE(desk.commit(SetChip{Box{199, 158, 133, 143}}));
    ASSERT_TRUE(wait(desk));
    const std::string before = to_script(desk.work());
    const std::string not_a_picture = (folder / "letter.jpg").string();
    std::ofstream(not_a_picture) << "Dear reader";
    for (const std::string& path : {not_a_picture, (folder / "missing.jpg").string(), folder.string()}) {
        desk.messages.clear();
        desk.commit(OpenPhoto{path});
        ASSERT_TRUE(wait(desk));
        ASSERT_EQ(desk.messages.size(), 1U) << path;
        EXPECT_FALSE(desk.messages[0].error.remedy.empty()) << path;
        EXPECT_EQ(to_script(desk.work()), before) << path;
        EXPECT_TRUE(desk.results().chip) << path;
    }
}

TEST_F(DeskTest, ARegionOutsideIsAnErrorInPlace) {
    Desk desk;
    ASSERT_TRUE(desk.commit(OpenPhoto{kPhoto}));
    ASSERT_TRUE(wait(desk));
    ASSERT_TRUE(desk.commit(SetChip{Box{5000, 10, 50, 50}}));
    ASSERT_TRUE(wait(desk));
    ASSERT_TRUE(desk.results().match_error);
    EXPECT_EQ(desk.results().match_error->fault, Fault::region_outside);
    desk.undo();
    ASSERT_TRUE(wait(desk));
    EXPECT_FALSE(desk.results().match_error);
}

TEST_F(DeskTest, WhatIsStaleIsDropped) {
    Desk desk;
    ASSERT_TRUE(desk.commit(OpenPhoto{kPhoto}));
    ASSERT_TRUE(wait(desk));
    for (int i = 0; i < 10; ++i) {  // faster than anything can be computed
        ASSERT_TRUE(desk.commit(SetChip{Box{199.0 + i, 158, 100, 100}}));
        desk.pump();
    }
    ASSERT_TRUE(wait(desk));
    ASSERT_TRUE(desk.results().chip);
    EXPECT_EQ(to_text(desk.results().chip->region), "208,158,100,100");
}

TEST_F(DeskTest, CancelStopsAndTheNextChangeStartsAgain) {
    Desk desk;
    desk.commit(OpenPhoto{kPhoto});
    desk.cancel();
    ASSERT_TRUE(wait(desk));
    EXPECT_TRUE(desk.work().photo.empty());
    EXPECT_TRUE(desk.messages.empty());
    desk.commit(OpenPhoto{kPhoto});
    ASSERT_TRUE(wait(desk));
    EXPECT_TRUE(desk.results().photo);
}

TEST_F(DeskTest, HeldArrowKeysAreOneStep) {
    Desk desk;
    ASSERT_TRUE(desk.commit(OpenPhoto{kPhoto}));
    ASSERT_TRUE(wait(desk));
    ASSERT_TRUE(desk.commit(SetChip{Box{199, 158, 100, 100}}));
    desk.view.selected = {Mark::chip, 0};
    const std::size_t steps = desk.history().done().size();
    for (int i = 0; i < 7; ++i) EXPECT_TRUE(press(desk, "right", false));
    EXPECT_TRUE(press(desk, "shift+down", false));
    EXPECT_EQ(desk.history().done().size(), steps);
    release_arrows(desk);
    EXPECT_EQ(desk.history().done().size(), steps + 1);
    EXPECT_EQ(to_text(*desk.work().chip), "206,168,100,100");
    EXPECT_TRUE(press(desk, "e", false));
    EXPECT_TRUE(std::holds_alternative<Ellipse>(*desk.work().chip));
    EXPECT_TRUE(press(desk, "delete", false));
    EXPECT_FALSE(desk.work().chip);
    desk.view.column = 2;
    EXPECT_TRUE(press(desk, "f6", false));
    EXPECT_EQ(desk.view.focus_column, 0);
    EXPECT_FALSE(press(desk, "g", true)) << "letters typed into a field are text";
    ASSERT_TRUE(wait(desk));
}

TEST_F(DeskTest, AWorkbookThatCannotBeOpenedIsAMessage) {
    std::ofstream(folder / "w.swb") << std::string(5000, 'x');
    Desk desk;
    desk.open_workbook(folder / "w.swb");
    EXPECT_EQ(desk.messages.size(), 1U);
    EXPECT_TRUE(desk.workbook_path().empty());
}

TEST_F(DeskTest, SettingsComeBackAndDamageIsIgnored) {
    const std::filesystem::path file = folder / "deep" / "settings.json";
    EXPECT_FALSE(load_settings(file).hint_done);
    ASSERT_TRUE(save_settings(file, {.hint_done = true}));
    EXPECT_TRUE(load_settings(file).hint_done);
    std::ofstream(file) << "{\"hint_done\": tru";
    EXPECT_FALSE(load_settings(file).hint_done);
}

TEST(Options, AreReadAndRefused) {
    const auto good = parse_options({"bench.jpg", "--size", "1280x720", "--scale=2", "--lit-by", "LED-B3", "--screenshot", "a.png"});
    ASSERT_TRUE(good);
    EXPECT_EQ(good->photo, "bench.jpg");
    EXPECT_EQ(good->width, 1280);
    EXPECT_EQ(good->height, 720);
    EXPECT_EQ(good->scale, 2);
    EXPECT_EQ(good->lit_by, "LED-B3");
    for (const std::vector<std::string>& bad : std::vector<std::vector<std::string>>{
             {"--size", "big"}, {"--size", "10x10"}, {"--scale", "0"}, {"--scale", "nan"}, {"--nonsense", "1"}, {"--script"}, {"a.jpg", "b.jpg"}}) {
        const auto read = parse_options(bad);
        ASSERT_FALSE(read) << bad[0];
        EXPECT_EQ(read.error().fault, Fault::bad_usage);
        EXPECT_FALSE(read.error().remedy.empty());
    }
}

}  // namespace
}  // namespace sw::window
