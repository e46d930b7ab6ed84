// Commands as values: text both ways, planning, undo and redo, with a real workbook.
#include "viewer/commands.hpp"

#include "calibrate/calibration.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <random>

#include "viewer/script.hpp"
#include "viewer/shelf.hpp"

namespace sw::window {
namespace {

/// A folder of this test alone, in memory where the system has one: thousands of transactions wait for the disk otherwise.
class Folder {
public:
    Folder() {
        const std::filesystem::path base = std::filesystem::is_directory("/dev/shm") ? "/dev/shm" : std::filesystem::temp_directory_path();
        std::string name = (base / "swatchwright-XXXXXX").string();
        path = mkdtemp(name.data());
    }
    ~Folder() {
        std::error_code ignored;
        std::filesystem::remove_all(path, ignored);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    std::filesystem::path path;
};

Results some_results() {
    Results results;
    Reading reading;
    reading.light = "D50";
    reading.lab = Lab{.L = 32.5, .a = 20.8, .b = -12.7};
    reading.lab_covariance = Eigen::Matrix3d::Identity() * 0.25;
    results.chip = reading;
    reading.lab.L = 31.6;
    results.swatch = reading;
    return results;
}

Shelf shelf_of(const Workbook& workbook) {
    Result<Shelf> shelf = load_shelf(workbook);
    EXPECT_TRUE(shelf);
    return shelf ? *shelf : Shelf{};
}

std::string rows_text(const Shelf& shelf) {
    std::string text;
    for (const Target& t : shelf.targets)
        text += "t" + std::to_string(t.id) + " " + t.name + " " + std::to_string(t.lab.L) + " " + t.source + " " + t.created + "\n";
    for (const KeptReading& r : shelf.readings)
        text +=
            "r" + std::to_string(r.id) + " " + r.name + " " + (r.target ? std::to_string(*r.target) : "-") + " " + r.region + " " + r.created + "\n";
    for (const Part& p : shelf.parts)
        text += "p" + std::to_string(p.id) + " " + part_path(shelf.parts, p) + " " + (p.target ? std::to_string(*p.target) : "-") + " " +
                to_word(p.status) + " " + p.created + "\n";
    for (const KeptPhoto& p : shelf.photos) text += "f" + std::to_string(p.id) + " " + p.hash + "\n";
    for (const Lamp& l : shelf.lamps) text += "l" + std::to_string(l.id) + " " + l.name + " " + l.light + "\n";
    for (const Note& n : shelf.notes) text += "n" + std::to_string(n.id) + " " + n.text + " " + n.created + "\n";
    if (!shelf.mix) return text;
    for (const KeptPot& p : shelf.mix->pots) text += "o" + std::to_string(p.id) + " " + p.name + " " + p.created + "\n";
    for (const KeptAddition& a : shelf.mix->additions)
        text += "a" + std::to_string(a.id) + " " + std::to_string(a.pot) + " " + std::to_string(a.number) + " " +
                std::to_string(a.amount.value_or(0)) + "\n";
    for (const KeptPotReading& r : shelf.mix->readings) text += "d" + std::to_string(r.id) + " " + r.source + " " + r.verdict + "\n";
    return text;
}

std::vector<Command> one_of_each() {
    const Region box = Box{840, 97, 219, 162};
    const Region ellipse = Ellipse{100.5, 90, 20, 10.25};
    const Region polygon = Polygon{{{1, 2}, {30.125, 2}, {16, 40}}};
    return {OpenPhoto{"a folder/bench \"1\".jpg"},
            SetTransfer{{TransferKind::gamma, 2.4}},
            SetTransfer{{TransferKind::bt1886, 2.2}},
            SetLitBy{"LED-B3"},
            SetLitBy{""},
            SetLitBy{"0.7*led:6500,ra=80+0.3*D65"},
            SetGray{box, 18.5, 0},
            SetGray{ellipse, std::nullopt, 1},
            SetLrv{20, 0},
            FindChart{},
            SetChartCorners{{Point{80.09, 90.37}, {670.22, 78.92}, {675.7, 469.38}, {90.59, 478.45}}},
            ClearChart{},
            SetKnown{"Straw 31", box, Lab{.L = 71.7, .a = 4.6, .b = -35.5}},
            SetChip{polygon},
            SetSwatch{ellipse},
            RemoveRegion{{Mark::gray, 1}},
            RemoveRegion{{Mark::chart, 0}},
            RemoveRegion{{Mark::chip, 0}},
            RemoveRegion{{Mark::swatch, 0}},
            RemoveRegion{{Mark::known, 0}},
            SetTolerance{1.5},
            SetTextured{},
            AddLight{"D50"},
            RemoveLight{"D65"},
            SaveTarget{"Damson 14"},
            SaveReading{"mix 3, pot B"},
            AddTarget{"Straw 31", Lab{.L = 78.25, .a = 3, .b = 32}},
            RenameTarget{"Straw 31", "Straw \"31\""},
            RemoveTarget{"Damson 14"},
            RemoveReading{7},
            AddPart{"Car no. 2", ""},
            AddPart{"brake wheel", "Car no. 2"},
            RenamePart{"Car no. 2/brake wheel", "hand wheel"},
            SetPartStatus{"hand wheel", PartStatus::painted},
            SetPartTarget{"hand wheel", "none"},
            SetPartTarget{"hand wheel", ""},
            RemovePart{"hand wheel"},
            AddLamp{"bench lamp"},
            RemoveLamp{"bench \"lamp\""},
            RemovePhoto{"0123abcd"},
            StartPot{"body side", "Damson 14"},
            AddDrops{"body side", {{"Titanium \"White\"", 16}, {"Carbon Black", 2}}},
            ReadPot{"body side"},
            RemovePot{"body side"},
            AddNote{NoteOn::part, "Car no. 2", "two coats,\nthin"},
            AddNote{NoteOn::reading, "3", "wet"},
            RemoveNote{4}};
}

TEST(CommandText, GoesBothWays) {
    std::set<std::size_t> kinds;
    for (const Command& command : one_of_each()) {
        kinds.insert(command.index());
        const std::string text = to_text(command);
        const Result<Command> read = parse_command(text);
        ASSERT_TRUE(read) << text << ": " << describe(read.error());
        EXPECT_EQ(read->index(), command.index()) << text;
        EXPECT_EQ(to_text(*read), text);
    }
    EXPECT_EQ(kinds.size(), std::variant_size_v<Command>) << "a command is missing from this test";
}

TEST(CommandText, KeepsEveryDigit) {
    std::mt19937_64 random(1);
    std::uniform_real_distribution<double> number(1, 5000);
    for (int i = 0; i < 200; ++i) {
        const Box box{number(random), number(random), number(random), number(random)};
        const Result<Command> read = parse_command(to_text(Command(SetChip{box})));
        ASSERT_TRUE(read);
        const Box back = std::get<Box>(std::get<SetChip>(*read).region);
        EXPECT_EQ(back.x, box.x);
        EXPECT_EQ(back.h, box.h);
    }
}

TEST(CommandText, TakesPlainPathsAndNames) {
    const Result<Command> open = parse_command("open bench photo.jpg");
    ASSERT_TRUE(open);
    EXPECT_EQ(std::get<OpenPhoto>(*open).path, "bench photo.jpg");
    const Result<Command> save = parse_command("save-target \"Damson 14\"");
    ASSERT_TRUE(save);
    EXPECT_EQ(std::get<SaveTarget>(*save).name, "Damson 14");
}

TEST(CommandText, KnowsTheThresholdsByName) {
    for (const auto& [name, de00] : kThresholds) {
        const Result<Command> read = parse_command("tolerance " + std::string(name));
        ASSERT_TRUE(read) << name;
        EXPECT_EQ(std::get<SetTolerance>(*read).de00, de00);
    }
}

TEST(CommandText, RefusesWithARemedy) {
    for (const char* line : {"",
                             "paint it black",
                             "gray",
                             "gray 1,2,3",
                             "gray 1,2,3,4 x",
                             "gray#0 1,2,3,4",
                             "chart 1,2,3",
                             "tolerance two",
                             "tolerance nan",
                             "surface",
                             "surface rough",
                             "open",
                             "save-target \"x",
                             "remove hat",
                             "remove-reading 1.5",
                             "transfer loud",
                             "add-target x",
                             "add-target x 1,2",
                             "add-part",
                             "add-part a inside b",
                             "part-status a done",
                             "part-wears",
                             "note on it",
                             "rename-part a",
                             "remove-note x",
                             "known x 1,2,3,4 1,2"}) {
        const Result<Command> read = parse_command(line);
        ASSERT_FALSE(read) << line;
        EXPECT_FALSE(read.error().remedy.empty()) << line;
    }
}

TEST(ScriptText, GoesBothWays) {
    const std::string script =
        "# a comment\n\nopen \"bench.jpg\"\r\n  zoom 4\nfit\nmode side-by-side\nsplit 0.25\nlook-at 100,50.5\ntool chip\nselect gray#2\npoint "
        "3,4\nshow clipping\nshow strip\nhide bright\ndisplay /a folder/monitor.icc\nhide loupe\nstep 3\nkey ctrl+z\n"
        "save-script a.script\nlist parts\norder newest\nfind near 45,10,-20 within 3\nfind\npick Car no. 2/brake wheel\nexport a b.csv\nimport "
        "c.json\nshare d.zip\nsheet "
        "labels \"e f.pdf\" \"Damson 14\" Straw\nverify\n"
        "click 10,20\ndrag 1,2 30,40\nsave-ladder my ladder.png\nsave-ladder\nrelease\nundo\nredo\nwait\nexpect-error open \"no.jpg\"\n";
    const Result<std::vector<Line>> lines = parse_script(script, "a.txt");
    ASSERT_TRUE(lines) << describe(lines.error());
    EXPECT_EQ(lines->size(), 36U);
    std::set<std::size_t> kinds, jobs;
    for (const Line& line : *lines) {
        if (const auto* view = std::get_if<ViewCommand>(&line.what)) {
            kinds.insert(view->index());
            if (const auto* job = std::get_if<FileJob>(view)) jobs.insert(job->index());
        }
        const auto again = parse_line(to_text(line));
        ASSERT_TRUE(again && *again) << to_text(line);
        EXPECT_EQ(to_text(**again), to_text(line));
        EXPECT_EQ((*again)->expect_error, line.expect_error);
    }
    EXPECT_EQ(jobs.size(), std::variant_size_v<FileJob>) << "a job is missing from this test";
    EXPECT_EQ(kinds.size(), std::variant_size_v<ViewCommand>) << "a view command is missing from this test";
}

TEST(ScriptText, ErrorsNameFileAndLine) {
    const auto lines = parse_script("open a.jpg\n\nmode upside-down\n", "walk.txt");
    ASSERT_FALSE(lines);
    EXPECT_EQ(lines.error().file, "walk.txt");
    EXPECT_THAT(lines.error().place, testing::StartsWith("line 3"));
    EXPECT_THAT(lines.error().remedy, testing::HasSubstr("side-by-side"));
}

// Every command: what it does, undone to the letter, done again.
TEST(Plan, EachCommandUndoesAndRedoes) {
    const Folder folder;
    auto workbook = Workbook::open(folder.path / "w.swb", true);
    ASSERT_TRUE(workbook) << describe(workbook.error());
    Results results = some_results();
    Photo photo;
    photo.path = "bench.jpg";
    photo.content_hash = "0123abcd";
    photo.width = photo.height = 8;
    photo.rgb.assign(3U * 8 * 8, 0.2F);
    photo.clipped.assign(8U * 8, 0);
    results.photo = std::make_shared<const Photo>(photo);
    KeptPaint white;
    white.name = "Titanium White";
    ASSERT_TRUE(workbook->add(white));
    Work work;
    History history;
    const auto apply = [&](const Command& command) {
        const Shelf shelf = shelf_of(*workbook);
        Result<Step> step = plan(work, command, {results, shelf, {}, own_lights(shelf.lamps)});
        EXPECT_TRUE(step) << to_text(command) << ": " << describe(step.error());
        if (!step) return;
        EXPECT_FALSE(step->sentence.empty()) << to_text(command);
        EXPECT_TRUE(changes_something(*step)) << to_text(command);
        const std::string before = to_script(work) + rows_text(shelf);
        const Result<Done> done = history.apply(work, &*workbook, *step);
        EXPECT_TRUE(done) << to_text(command);
        const std::string after = to_script(work) + rows_text(shelf_of(*workbook));
        EXPECT_NE(before, after) << to_text(command);
        EXPECT_TRUE(history.undo(work, &*workbook));
        EXPECT_EQ(to_script(work) + rows_text(shelf_of(*workbook)), before) << to_text(command);
        EXPECT_TRUE(history.redo(work, &*workbook));
        EXPECT_EQ(to_script(work) + rows_text(shelf_of(*workbook)), after) << to_text(command);
    };
    const Region box = Box{10, 10, 40, 30};
    const std::vector<Command> all{OpenPhoto{"bench.jpg"},
                                   SetTransfer{{TransferKind::srgb, 2.2}},
                                   SetLitBy{"LED-B3"},
                                   SetGray{box, 18.0, 0},
                                   SetGray{Ellipse{200, 200, 20, 20}, 20.0, 1},
                                   SetLrv{17, 1},
                                   FindChart{},
                                   SetChartCorners{{Point{0, 0}, {60, 0}, {60, 40}, {0, 40}}},
                                   ClearChart{},
                                   SetKnown{"Straw 31", box, Lab{.L = 70, .a = 5, .b = 35}},
                                   SetChip{box},
                                   SetSwatch{box},
                                   SetTolerance{1},
                                   SetTextured{},
                                   AddLight{"F11"},
                                   RemoveLight{"A"},
                                   SaveTarget{"Damson 14"},
                                   SaveReading{"mix 3"}};
    std::set<std::size_t> kinds;
    for (const Command& command : all) {
        kinds.insert(command.index());
        apply(command);
    }
    const Shelf shelf = shelf_of(*workbook);
    ASSERT_EQ(shelf.targets.size(), 1U);
    ASSERT_EQ(shelf.readings.size(), 2U) << "the chip's own, so that its target can be checked, and the swatch's";
    EXPECT_EQ(shelf.targets[0].source, "bench.jpg 10,10,40,30");
    EXPECT_EQ(shelf.readings[0].name, "mix 3");
    EXPECT_FALSE(shelf.readings[0].target) << "it was not held against the chip";
    EXPECT_EQ(shelf.readings[1].target, shelf.targets[0].id);
    // what points at a target points at it again after the target was removed and put back
    for (const Command& command :
         std::vector<Command>{AddTarget{"Straw 31", Lab{.L = 78, .a = 3, .b = 32}}, RenameTarget{"Straw 31", "Straw 32"}, AddPart{"Car no. 2", ""},
                              AddPart{"brake wheel", "Car no. 2"}, RenamePart{"brake wheel", "hand wheel"},
                              SetPartStatus{"hand wheel", PartStatus::painted}, SetPartTarget{"Car no. 2/hand wheel", "Damson 14"},
                              AddNote{NoteOn::target, "Damson 14", "a"}, AddNote{NoteOn::part, "hand wheel", "b"}}) {
        kinds.insert(command.index());
        apply(command);
    }
    apply(SetLitBy{"led:6500,ra=80"});
    for (const Command& command : std::vector<Command>{AddLamp{"bench lamp"}, RemoveLamp{"bench lamp"}}) {
        kinds.insert(command.index());
        apply(command);
    }
    EXPECT_EQ(work.lit_by, "led:6500,ra=80") << "its name went, the light stayed";
    kinds.insert(Command(RemovePhoto{}).index());
    apply(RemovePhoto{"0123abcd"});
    // A pot: drops go in, the swatch is its test piece.
    Photo bench;
    bench.path = "bench.jpg";
    bench.content_hash = "0123abcd";
    bench.width = 200;
    bench.height = 100;
    for (int i = 0; i < 200 * 100; ++i) {
        for (const float v : i % 200 < 100 ? std::array{0.18F, 0.18F, 0.18F} : std::array{0.12F, 0.05F, 0.1F}) bench.rgb.push_back(v);
    }
    bench.clipped.assign(200U * 100, 0);
    results.photo = std::make_shared<const Photo>(bench);
    auto calibration = calibrate(bench, {{{Box{10, 10, 80, 80}, 18}}, {}, {}}, {});
    ASSERT_TRUE(calibration) << describe(calibration.error());
    results.calibration = std::make_shared<const Calibration>(*std::move(calibration));
    apply(SetSwatch{Box{120, 20, 60, 60}});
    for (const Command& command : std::vector<Command>{StartPot{"body side", "Damson 14"},
                                                       AddDrops{"body side", {{"Titanium White", 4}, {"Titanium White", 1}}}, ReadPot{"body side"}}) {
        kinds.insert(command.index());
        apply(command);
    }
    const Shelf mixed = shelf_of(*workbook);
    ASSERT_EQ(mixed.mix->additions.size(), 2U);
    EXPECT_EQ(mixed.mix->additions[1].number, 2);
    ASSERT_EQ(mixed.mix->readings.size(), 1U);
    EXPECT_EQ(mixed.mix->readings[0].addition, mixed.mix->additions[1].id);
    EXPECT_FALSE(mixed.mix->readings[0].verdict.empty());
    EXPECT_TRUE(mixed.mix->readings[0].reading) << "the photo's own reading is kept beside it";
    kinds.insert(Command(RemovePot{}).index());
    apply(RemovePot{"body side"});
    apply(RemoveReading{shelf_of(*workbook).readings[0].id});
    const Shelf full = shelf_of(*workbook);
    apply(AddNote{NoteOn::reading, std::to_string(full.readings[0].id), "c"});
    for (const Command& command :
         std::vector<Command>{RemoveNote{full.notes[0].id}, RemoveTarget{"Damson 14"}, RemoveReading{full.readings[0].id}, RemovePart{"hand wheel"},
                              RemoveRegion{{Mark::known, 0}}, RemoveRegion{{Mark::gray, 0}}, RemoveRegion{{Mark::chip, 0}}}) {
        kinds.insert(command.index());
        apply(command);
    }
    EXPECT_EQ(kinds.size(), std::variant_size_v<Command>) << "a command is missing from this test";
    while (history.can_undo()) ASSERT_TRUE(history.undo(work, &*workbook));
    EXPECT_EQ(to_script(work), to_script(Work{}));
    while (history.can_redo()) ASSERT_TRUE(history.redo(work, &*workbook));
    EXPECT_EQ(shelf_of(*workbook).targets.size(), 1U);
    EXPECT_EQ(shelf_of(*workbook).parts.size(), 1U);
}

TEST(Plan, RefusesWhatCannotBe) {
    const Results none, some = some_results();
    Shelf shelf;
    Target target;
    target.name = "Damson 14";
    shelf.targets.push_back(target);
    Work work;
    work.chip = Box{1, 1, 20, 20};
    const auto fault = [&](const Command& command, const Results& results) -> std::optional<Fault> {
        const Result<Step> step = plan(work, command, {results, shelf, {}});
        if (step) return std::nullopt;
        EXPECT_FALSE(step.error().remedy.empty()) << to_text(command);
        return step.error().fault;
    };
    EXPECT_EQ(fault(SetGray{Box{1, 1, 9, 9}, 0.0, 0}, some), Fault::gray_unusable);
    EXPECT_EQ(fault(SetGray{Box{1, 1, 9, 9}, 101.0, 0}, some), Fault::gray_unusable);
    EXPECT_EQ(fault(SetGray{Box{1, 1, 9, 9}, 18.0, 5}, some), Fault::bad_usage);
    EXPECT_EQ(fault(SetLrv{18, 0}, some), Fault::bad_usage);
    EXPECT_EQ(fault(SetLitBy{"moonshine"}, some), Fault::light_unknown);
    EXPECT_EQ(fault(AddLight{"moonshine"}, some), Fault::light_unknown);
    EXPECT_EQ(fault(SetTolerance{0}, some), Fault::bad_usage);
    EXPECT_EQ(fault(SaveTarget{"Damson 14"}, some), Fault::name_taken);
    EXPECT_EQ(fault(SaveTarget{""}, some), Fault::bad_usage);
    EXPECT_EQ(fault(SaveTarget{"two\nlines"}, some), Fault::bad_usage);
    EXPECT_EQ(fault(SaveTarget{"Straw 31"}, none), Fault::bad_usage);
    EXPECT_EQ(fault(SaveReading{"mix"}, some), Fault::bad_usage) << "the swatch is not marked";
    EXPECT_EQ(fault(RemoveTarget{"nobody"}, some), Fault::name_unknown);
    EXPECT_EQ(fault(RemoveReading{99}, some), Fault::name_unknown);
    EXPECT_EQ(fault(RemoveRegion{{Mark::gray, 3}}, some), Fault::bad_usage);
    EXPECT_EQ(fault(OpenPhoto{""}, some), Fault::bad_usage);
    EXPECT_EQ(fault(AddTarget{"Damson 14", Lab{}}, some), Fault::name_taken);
    EXPECT_EQ(fault(RenameTarget{"Damson 14", ""}, some), Fault::bad_usage);
    EXPECT_EQ(fault(RenameTarget{"nobody", "x"}, some), Fault::name_unknown);
    EXPECT_EQ(fault(AddPart{"wheel", "nothing"}, some), Fault::name_unknown);
    EXPECT_EQ(fault(AddNote{NoteOn::target, "Damson 14", ""}, some), Fault::bad_usage);
    EXPECT_EQ(fault(AddNote{NoteOn::reading, "5", "x"}, some), Fault::name_unknown);
    EXPECT_EQ(fault(RemoveNote{5}, some), Fault::name_unknown);
    EXPECT_EQ(fault(AddLamp{"bench lamp"}, some), Fault::bad_usage) << "the light is unknown";
    EXPECT_EQ(fault(RemoveLamp{"bench lamp"}, some), Fault::name_unknown);
    EXPECT_EQ(fault(RemovePhoto{"0"}, some), Fault::name_unknown);
    Part one, two;
    one.id = 1;
    two.id = 2;
    one.name = "brake wheel";
    two.name = "brake wheel";
    two.parent = 1;
    shelf.parts = {one, two};
    EXPECT_EQ(fault(SetPartStatus{"nowhere", PartStatus::mixing}, some), Fault::name_unknown);
    EXPECT_FALSE(fault(SetPartStatus{"brake wheel", PartStatus::mixing}, some)) << "the path of the outer one";
    EXPECT_EQ(fault(SetPartTarget{"brake wheel", "nobody"}, some), Fault::name_unknown);
}

TEST(Plan, OpeningAPhotoKeepsToleranceAndLightsOnly) {
    Work work;
    work.photo = "a.jpg";
    work.chip = Box{1, 1, 20, 20};
    work.lit_by = "A";
    work.tolerance = 1;
    work.textured = true;
    work.lights = {"D50"};
    const Results results;
    const Shelf shelf;
    const Result<Step> step = plan(work, OpenPhoto{"b.jpg"}, {results, shelf, {}});
    ASSERT_TRUE(step);
    EXPECT_FALSE(step->after.chip);
    EXPECT_TRUE(step->after.lit_by.empty());
    EXPECT_EQ(step->after.tolerance, 1);
    EXPECT_TRUE(step->after.textured);
    EXPECT_EQ(step->after.lights, std::vector<std::string>{"D50"});
}

TEST(History, WithoutAWorkbookNothingIsKeptAndNothingChanges) {
    Work work;
    work.chip = Box{1, 1, 20, 20};
    const Results results = some_results();
    const Shelf shelf;
    History history;
    const Result<Step> step = plan(work, SaveTarget{"Damson 14"}, {results, shelf, {}});
    ASSERT_TRUE(step);
    const Result<Done> done = history.apply(work, nullptr, *step);
    ASSERT_FALSE(done);
    EXPECT_EQ(done.error().fault, Fault::workbook_write);
    EXPECT_FALSE(history.can_undo());
}

TEST(History, TheSameValueAgainIsNoStep) {
    Work work;
    const Results results;
    const Shelf shelf;
    History history;
    const Result<Step> step = plan(work, SetTolerance{2}, {results, shelf, {}});
    ASSERT_TRUE(step);
    ASSERT_TRUE(history.apply(work, nullptr, *step));
    EXPECT_FALSE(history.can_undo());
}

class RandomCommands {
public:
    explicit RandomCommands(std::uint64_t seed) : random_(seed) {}
    Command next(const Shelf& shelf) {
        const auto name = [&] { return "name " + std::to_string(pick(6)); };
        switch (pick(26)) {
            case 0:
                return OpenPhoto{"photo" + std::to_string(pick(3)) + ".jpg"};
            case 1:
                return SetTransfer{{pick(2) == 0 ? TransferKind::srgb : TransferKind::gamma, 1.8 + 0.1 * pick(5)}};
            case 2:
                return SetLitBy{std::array{"", "A", "LED-B3", "led:6500,ra=80", "nonsense"}[static_cast<std::size_t>(pick(5))]};
            case 3:
                return SetGray{region(), pick(2) == 0 ? std::optional<double>(pick(120)) : std::nullopt, static_cast<std::size_t>(pick(3))};
            case 4:
                return SetLrv{static_cast<double>(pick(120)), static_cast<std::size_t>(pick(2))};
            case 5:
                return FindChart{};
            case 6:
                return SetChartCorners{{point(), point(), point(), point()}};
            case 7:
                return ClearChart{};
            case 8:
                return SetKnown{name(), region(), Lab{.L = 50, .a = 1.0 * pick(9), .b = 2}};
            case 9:
                return SetChip{region()};
            case 10:
                return SetSwatch{region()};
            case 11:
                return RemoveRegion{{static_cast<Mark>(pick(6)), static_cast<std::size_t>(pick(2))}};
            case 12:
                return SetTolerance{0.5 * pick(8)};
            case 13:
                return SetTextured{pick(2) == 0};
            case 14:
                return AddLight{std::array{"D50", "F11", "LED-B5", "planck:2400"}[static_cast<std::size_t>(pick(4))]};
            case 15:
                return RemoveLight{std::array{"D50", "F11", "LED-B3", "A"}[static_cast<std::size_t>(pick(4))]};
            case 16:
                return SaveTarget{name()};
            case 17:
                return SaveReading{name()};
            case 18:
                return RemoveTarget{name()};
            case 19:
                return AddTarget{name(), Lab{.L = 50, .a = 1.0 * pick(9), .b = 2}};
            case 20:
                return RenameTarget{name(), name()};
            case 21:
                return AddPart{name(), pick(2) == 0 ? "" : name()};
            case 22:
                return SetPartTarget{name(), pick(3) == 0 ? "" : name()};
            case 23:
                return RemovePart{name()};
            case 24:
                return AddNote{static_cast<NoteOn>(pick(2)), name(), "thin coats"};
            default:
                return RemoveReading{
                    shelf.readings.empty() ? 1 : shelf.readings[static_cast<std::size_t>(pick(static_cast<int>(shelf.readings.size())))].id};
        }
    }
    int pick(int below) { return std::uniform_int_distribution<int>(0, below - 1)(random_); }

private:
    Point point() { return {0.25 * pick(4000), 0.25 * pick(4000)}; }
    Region region() {
        if (pick(2) == 0) return Box{1.0 * pick(900), 1.0 * pick(900), 1.0 + pick(90), 1.0 + pick(90)};
        if (pick(2) == 0) return Ellipse{1.0 * pick(900), 1.0 * pick(900), 1.0 + pick(90), 0.5 + pick(90)};
        return Polygon{{point(), point(), point()}};
    }
    std::mt19937_64 random_;
};

TEST(History, FiveHundredRandomSequencesUndoneGiveTheStartBack) {
    const Folder folder;
    auto workbook = Workbook::open(folder.path / "w.swb", true);
    ASSERT_TRUE(workbook) << describe(workbook.error());
    const Results results = some_results();
    int steps = 0, rows = 0;
    for (std::uint64_t seed = 1; seed <= 500; ++seed) {
        RandomCommands random(seed);
        Work work;
        History history;
        const std::string start = to_script(work) + rows_text(shelf_of(*workbook));
        const int length = 5 + random.pick(20);
        for (int i = 0; i < length; ++i) {
            const Shelf shelf = shelf_of(*workbook);
            Result<Step> step = plan(work, random.next(shelf), {results, shelf, {}});
            if (!step) continue;  // refused: must have changed nothing
            if (step->edit) ++rows;
            // what only the workbook can refuse (a name that is taken among parts, a part with parts in it) must have changed nothing either
            if (const Result<Done> done = history.apply(work, &*workbook, std::move(*step)); !done) {
                EXPECT_TRUE(done.error().fault == Fault::name_taken || done.error().fault == Fault::bad_usage) << describe(done.error());
                ASSERT_EQ(rows_text(shelf_of(*workbook)), rows_text(shelf)) << "seed " << seed;
            }
            if (random.pick(6) == 0) {
                ASSERT_TRUE(history.undo(work, &*workbook)) << "seed " << seed;
            }
            if (random.pick(8) == 0) {
                ASSERT_TRUE(history.redo(work, &*workbook)) << "seed " << seed;
            }
        }
        steps += static_cast<int>(history.done().size());
        while (history.can_undo()) ASSERT_TRUE(history.undo(work, &*workbook)) << "seed " << seed;
        ASSERT_EQ(to_script(work) + rows_text(shelf_of(*workbook)), start) << "seed " << seed;
    }
    EXPECT_GT(steps, 2500);  // the sequences did something
    EXPECT_GT(rows, 150);
}

TEST(History, GoesOnWhereAnEarlierSessionEnded) {
    const Folder folder;
    const Results results = some_results();
    Work work;
    {
        auto workbook = Workbook::open(folder.path / "w.swb", true);
        ASSERT_TRUE(workbook);
        History history;
        for (const Command& command : std::vector<Command>{AddTarget{"Straw 31", Lab{.L = 78, .a = 3, .b = 32}}, RemoveTarget{"Straw 31"}}) {
            Result<Step> step = plan(work, command, {results, shelf_of(*workbook), {}});
            ASSERT_TRUE(step);
            ASSERT_TRUE(history.apply(work, &*workbook, *std::move(step)));
        }
    }
    auto workbook = Workbook::open(folder.path / "w.swb", false);
    ASSERT_TRUE(workbook);
    History history;
    EXPECT_FALSE(history.can_undo());
    ASSERT_TRUE(history.undo(work, &*workbook));
    EXPECT_EQ(shelf_of(*workbook).targets.size(), 1U);
    ASSERT_TRUE(history.can_redo());
    EXPECT_EQ(history.undone().back().sentence, "Removed target Straw 31");
    ASSERT_TRUE(history.undo(work, &*workbook));
    EXPECT_TRUE(shelf_of(*workbook).targets.empty());
    ASSERT_TRUE(history.undo(work, &*workbook)) << "nothing is left, which is no fault";
    ASSERT_TRUE(history.redo(work, &*workbook));
    EXPECT_EQ(shelf_of(*workbook).targets.size(), 1U);
    ASSERT_TRUE(history.redo(work, &*workbook));
    EXPECT_TRUE(shelf_of(*workbook).targets.empty());
    ASSERT_TRUE(history.can_undo());
    const auto changes = workbook->changes();
    ASSERT_TRUE(changes);
    EXPECT_EQ(changes->size(), 2U) << "going back and forth is no change of its own";
}

// What another program did in between must not be taken back unseen.
TEST(History, DoesNotUndoWhatAnotherProgramDid) {
    const Folder folder;
    auto workbook = Workbook::open(folder.path / "w.swb", true);
    ASSERT_TRUE(workbook);
    const Results results = some_results();
    Work work;
    History history;
    Result<Step> step = plan(work, AddTarget{"Straw 31", Lab{.L = 78, .a = 3, .b = 32}}, {results, shelf_of(*workbook), {}});
    ASSERT_TRUE(step);
    ASSERT_TRUE(history.apply(work, &*workbook, *std::move(step)));
    {
        auto other = Workbook::open(folder.path / "w.swb", false);
        ASSERT_TRUE(other);
        Target target;
        target.name = "Damson 14";
        ASSERT_TRUE(other->add(target));
    }
    const Result<Done> refused = history.undo(work, &*workbook);
    ASSERT_FALSE(refused);
    EXPECT_THAT(refused.error().cause, testing::HasSubstr("Damson 14"));
    EXPECT_EQ(shelf_of(*workbook).targets.size(), 2U);
    ASSERT_TRUE(workbook->undo());
    EXPECT_TRUE(history.undo(work, &*workbook)) << "its turn again";
    EXPECT_TRUE(shelf_of(*workbook).targets.empty());
}

}  // namespace
}  // namespace sw::window
