// The workbook's page without a window: searches, lists, jobs on files, and two programs on one workbook.
#include "viewer/book.hpp"

#include <gmock/gmock.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <thread>

#include "../folder_test.hpp"
#include "cli/cli.hpp"
#include "viewer/desk.hpp"
#include "viewer/script.hpp"
#include "viewer/shelf.hpp"
#include "viewer/shortcuts.hpp"

namespace sw::window {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class BookTest : public test::FolderTest {
protected:
    void SetUp() override {
        FolderTest::SetUp();
        desk.open_workbook(path("w.swb"));
        for (const char* line :
             {"add-target \"Damson 14\" 32.5,20.8,-12.7", "add-target \"Straw 31\" 78.2,3.1,32", "add-target \"damson 15\" 33,21,-12",
              "add-part \"Car no. 2\"", "add-part underframe in \"Car no. 2\"", "add-part \"brake wheel\" in underframe",
              "part-wears \"brake wheel\" \"Straw 31\"", "note target \"Straw 31\" \"thin coats\""}) {
            const Result<Command> command = parse_command(line);
            ASSERT_TRUE(command) << line;
            ASSERT_TRUE(desk.commit(*command)) << line;
        }
        settle();
    }
    void settle() {
        const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(60);
        bool more = true;
        while (more && std::chrono::steady_clock::now() < end) {
            more = desk.pump() || desk.working();
            if (more) std::this_thread::sleep_for(std::chrono::milliseconds(1));
        }
        ASSERT_FALSE(more);
    }
    void view(const std::string& line) {
        const auto read = parse_line(line);
        ASSERT_TRUE(read && *read) << line;
        ASSERT_TRUE(run(desk, std::get<ViewCommand>((*read)->what))) << line;
        settle();
    }
    std::vector<std::string> listed() {
        std::vector<std::string> names;
        for (const BookLine& line : desk.lines()) {
            switch (desk.view.book.list) {
                case List::targets:
                    names.push_back(desk.shelf().targets[line.place].name);
                    break;
                case List::pots:
                    names.push_back(desk.shelf().mix->pots[line.place].name);
                    break;
                case List::parts:
                    names.push_back(std::string(static_cast<std::size_t>(line.depth), '-') + desk.shelf().parts[line.place].name);
                    break;
                case List::readings:
                    names.push_back(desk.shelf().readings[line.place].name);
                    break;
                case List::photos:
                    names.push_back(desk.shelf().photos[line.place].path);
                    break;
            }
        }
        return names;
    }
    std::string last_error() { return desk.messages.empty() ? "" : describe(desk.messages.back().error); }
    Desk desk;
};

TEST_F(BookTest, ListsAreInOrderAndPartsInTheirTree) {
    EXPECT_THAT(listed(), ElementsAre("Damson 14", "damson 15", "Straw 31"));
    view("order lightness");
    EXPECT_THAT(listed(), ElementsAre("Damson 14", "damson 15", "Straw 31"));
    ASSERT_TRUE(desk.commit(AddTarget{"Lamp Black", Lab{.L = 22, .a = 0, .b = 0}}));
    settle();
    EXPECT_THAT(listed(), ElementsAre("Lamp Black", "Damson 14", "damson 15", "Straw 31"));
    view("list parts");
    EXPECT_THAT(listed(), ElementsAre("Car no. 2", "-underframe", "--brake wheel"));
}

// A frame may be drawn before anything was pumped: lines always belong to the list that is shown and to the rows as they are.
TEST_F(BookTest, LinesNeverOutliveTheirRows) {
    EXPECT_EQ(listed().size(), 3U);
    desk.view.book.list = List::readings;
    EXPECT_THAT(listed(), IsEmpty());
    desk.view.book.list = List::targets;
    ASSERT_TRUE(desk.commit(RemoveTarget{"Straw 31"}));
    EXPECT_EQ(listed().size(), 2U);
}

TEST_F(BookTest, FindsByWordsNotesColorsAndParts) {
    view("find dam");
    EXPECT_THAT(listed(), testing::UnorderedElementsAre("Damson 14", "damson 15"));
    view("find thin");
    EXPECT_THAT(listed(), ElementsAre("Straw 31")) << "by the note on it";
    view("find near 33,21,-12 within 0.2");
    EXPECT_THAT(listed(), ElementsAre("damson 15"));
    ASSERT_TRUE(desk.lines()[0].distance);
    EXPECT_NEAR(desk.lines()[0].distance->de00, 0, 1e-9);
    EXPECT_GT(desk.lines()[0].distance->sd, 0);
    view("find part \"Car no. 2\"");
    EXPECT_THAT(listed(), ElementsAre("Straw 31"));
    view("find nothing");
    EXPECT_THAT(listed(), IsEmpty());
    EXPECT_TRUE(desk.messages.empty());
    desk.view.picture_focused = true;
    EXPECT_TRUE(press(desk, "escape", false));
    settle();
    EXPECT_EQ(listed().size(), 3U);
    for (const char* wrong : {"find near", "find near chip", "find near 1,2", "find within 0", "find part nowhere", "find \"open"}) {
        desk.messages.clear();
        view(wrong);
        EXPECT_EQ(desk.messages.size(), 1U) << wrong;
        EXPECT_THAT(listed(), IsEmpty()) << wrong;
    }
}

TEST_F(BookTest, ASearchFollowsTheWorkbook) {
    view("find dam");
    ASSERT_TRUE(desk.commit(RenameTarget{"Straw 31", "Dampened Straw"}));
    settle();
    EXPECT_EQ(listed().size(), 3U);
    desk.undo();
    settle();
    EXPECT_EQ(listed().size(), 2U);
}

TEST_F(BookTest, TheKeyboardPicksAndRemoves) {
    show_page(desk.view, Page::workbook);
    EXPECT_TRUE(press(desk, "down", false));
    EXPECT_TRUE(press(desk, "down", false));
    ASSERT_NE(find_target(desk.shelf(), desk.view.book.target), nullptr);
    const std::string name = find_target(desk.shelf(), desk.view.book.target)->name;
    EXPECT_TRUE(press(desk, "delete", false));
    settle();
    EXPECT_THAT(listed(), testing::Not(testing::Contains(name)));
    EXPECT_TRUE(press(desk, "ctrl+z", false));
    settle();
    EXPECT_THAT(listed(), testing::Contains(name));
    EXPECT_TRUE(press(desk, "f9", false));
    EXPECT_EQ(desk.view.book.list, List::parts);
    EXPECT_TRUE(press(desk, "ctrl+f", false));
    EXPECT_EQ(desk.view.focus, "find");
    EXPECT_TRUE(press(desk, "g", false));
    EXPECT_EQ(desk.view.page, Page::picture) << "marking is done in the picture";
}

// The shelf that follows changes row by row is what a fresh reading gives.
TEST_F(BookTest, TheShelfStaysInStep) {
    const auto same = [&] {
        const auto workbook = Workbook::open(path("w.swb"), false);
        ASSERT_TRUE(workbook);
        const Result<Shelf> fresh = load_shelf(*workbook);
        ASSERT_TRUE(fresh);
        const auto ids = [](const auto& rows) {
            std::vector<std::int64_t> all;
            for (const auto& row : rows) all.push_back(row.id);
            return all;
        };
        EXPECT_EQ(ids(desk.shelf().targets), ids(fresh->targets));
        EXPECT_EQ(ids(desk.shelf().parts), ids(fresh->parts));
        EXPECT_EQ(ids(desk.shelf().notes), ids(fresh->notes));
        for (std::size_t i = 0; i < fresh->parts.size(); ++i) EXPECT_EQ(desk.shelf().parts[i].target, fresh->parts[i].target);
    };
    same();
    ASSERT_TRUE(desk.commit(RemoveTarget{"Straw 31"}));  // the part loses its target, the note goes
    EXPECT_TRUE(desk.shelf().notes.empty());
    same();
    desk.undo();
    EXPECT_EQ(desk.shelf().notes.size(), 1U);
    same();
    ASSERT_TRUE(desk.commit(RenameTarget{"Straw 31", "a straw"}));
    EXPECT_EQ(desk.shelf().targets[0].name, "a straw");
    same();
}

TEST_F(BookTest, WhatTheCommandDoesShowsInTheWindow) {
    std::ostringstream out, err;
    ASSERT_EQ(run_command({"target", "add", "Moss 7", "--lab", "45,-12,20", "--workbook", path("w.swb")}, out, err), 0) << err.str();
    std::this_thread::sleep_for(std::chrono::milliseconds(520));
    settle();
    EXPECT_THAT(listed(), testing::Contains("Moss 7"));
    // and a change of our own, made before anybody looked, does not hide it
    ASSERT_EQ(run_command({"target", "add", "Moss 8", "--lab", "45,-12,22", "--workbook", path("w.swb")}, out, err), 0) << err.str();
    ASSERT_TRUE(desk.commit(AddPart{"roof", ""}));
    settle();
    EXPECT_THAT(listed(), testing::Contains("Moss 8"));
}

TEST_F(BookTest, LampsByTheirNamesAndPhotosInAList) {
    std::ostringstream out, err;
    const std::string photo = std::string(SW_TESTS) + "/photos/case-02/photo.jpg";
    ASSERT_EQ(run_command({"target", "add", "Moss 7", "--from", photo, "--region", "199,158,133,143", "--gray", "860,117,179,122", "--workbook",
                           path("w.swb")},
                          out, err),
              0)
        << err.str();
    ASSERT_EQ(run_command({"lamp", "add", "bench lamp", "led:6500,ra=80", "--workbook", path("w.swb")}, out, err), 0) << err.str();
    std::this_thread::sleep_for(std::chrono::milliseconds(520));
    settle();
    view("list photos");
    ASSERT_EQ(listed().size(), 1U);
    ASSERT_TRUE(desk.commit(SetLitBy{"bench lamp"})) << last_error();
    EXPECT_EQ(desk.work().lit_by, "bench lamp");
    EXPECT_FALSE(desk.commit(SetLitBy{"no such lamp"}));
    ASSERT_TRUE(desk.commit(RemovePhoto{desk.shelf().photos[0].hash}));
    settle();
    EXPECT_THAT(listed(), IsEmpty());
    desk.undo();
    settle();
    EXPECT_EQ(listed().size(), 1U);
}

TEST_F(BookTest, ExportedAndTakenInAgainIsOneStep) {
    view("export " + path("all.json"));
    EXPECT_THAT(desk.told().said, HasSubstr("3 targets"));
    ASSERT_TRUE(desk.messages.empty()) << last_error();
    view("import " + path("all.json"));
    EXPECT_THAT(desk.told().said, HasSubstr("nothing")) << "it is all there";
    Desk other;
    other.open_workbook(path("other.swb"));
    ASSERT_TRUE(other.begin(ImportFrom{path("all.json")}));
    while (other.working()) std::this_thread::sleep_for(std::chrono::milliseconds(1));
    other.pump();
    EXPECT_EQ(other.shelf().targets.size(), 3U);
    EXPECT_EQ(other.shelf().parts.size(), 3U);
    other.undo();
    EXPECT_TRUE(other.shelf().targets.empty());
    EXPECT_TRUE(other.shelf().parts.empty());
    other.redo();
    EXPECT_EQ(other.shelf().targets.size(), 3U);
}

TEST_F(BookTest, SheetsAndBundlesAreDrawn) {
    view("sheet target \"" + path("card.pdf") + "\" \"Damson 14\"");
    view("sheet targets " + path("list.pdf"));
    view("sheet labels " + path("labels.png") + " \"Straw 31\"");
    view("sheet build " + path("build.pdf"));
    view("share " + path("colors.zip"));
    EXPECT_TRUE(desk.messages.empty()) << last_error();
    for (const char* name : {"card.pdf", "list.pdf", "labels.png", "build.pdf", "colors.zip"}) EXPECT_THAT(files(), testing::Contains(name));
    for (const std::string& wrong :
         {"export " + path("a.foo"), "import " + path("gone.csv"), "share " + path("a.pdf"), "sheet build " + path("b.txt"),
          "sheet target \"" + path("c.pdf") + "\" Nobody", "sheet targets " + path("list.pdf"), std::string("export /")}) {
        desk.messages.clear();
        view(wrong);
        ASSERT_EQ(desk.messages.size(), 1U) << wrong;
        EXPECT_FALSE(desk.messages[0].error.remedy.empty()) << wrong;
    }
}

TEST_F(BookTest, CheckingReadsPhotosAgainAndOneJobRunsAtATime) {
    view("verify");
    EXPECT_THAT(desk.told().said, HasSubstr("sound"));
    ASSERT_TRUE(desk.told().reread);
    EXPECT_TRUE(desk.begin(VerifyBook{}));
    const bool second = desk.begin(VerifyBook{});
    EXPECT_TRUE(second || desk.messages.size() == 1) << "refused, unless the first was done already";
    settle();
    Desk without;
    EXPECT_FALSE(without.begin(VerifyBook{}));
    EXPECT_EQ(without.messages.size(), 1U);
}

TEST_F(BookTest, ABadRowOfATableIsToldAndTheRestTaken) {
    std::ofstream(path("t.csv")) << "name,l,a,b\nMoss 7,45,-12,20\nMoss 8,45,,20\n";
    view("import " + path("t.csv"));
    EXPECT_EQ(desk.shelf().targets.size(), 4U) << last_error();
    EXPECT_THAT(desk.told().notes, testing::Contains(HasSubstr("line 3")));
}

}  // namespace
}  // namespace sw::window
