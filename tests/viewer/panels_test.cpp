// Every panel in a null context: no window, no GL. What is drawn where, and what one drag says.
#include "viewer/panels.hpp"

#include <gtest/gtest.h>
#include <unistd.h>

#include <imgui.h>
#include <imgui_internal.h>

#include <cfloat>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <random>
#include <thread>

#include "photo/write_picture.hpp"
#include "viewer/marking.hpp"
#include "viewer/shortcuts.hpp"

namespace sw::window {
namespace {

struct Screen {
    float width, height, scale;
    float letter_gap = 0;  // as if every word were a third longer
    Theme theme = Theme::dark;
};

class Null {
public:
    explicit Null(Screen screen) : screen_(screen), context_(ImGui::CreateContext()) {
        ImGuiIO& io = ImGui::GetIO();
        io.IniFilename = nullptr;
        io.DisplaySize = {screen.width, screen.height};
        io.DeltaTime = 1.0F / 60;
        io.ConfigFlags |= ImGuiConfigFlags_NavEnableKeyboard;
        for (int key = 0; key < ImGuiKey_COUNT; ++key) io.KeyMap[key] = 300 + key;  // keyboard navigation wants every key known
        io.KeyMap[ImGuiKey_Space] = 32;
        io.MousePos = {-FLT_MAX, -FLT_MAX};
        look = make_look(screen.scale, screen.letter_gap);
        dress(screen.scale, screen.theme);
        unsigned char* pixels = nullptr;
        int w = 0, h = 0;
        io.Fonts->GetTexDataAsAlpha8(&pixels, &w, &h);
        EXPECT_LE(std::max(w, h), 8192) << "font atlas";
    }
    ~Null() { ImGui::DestroyContext(context_); }
    Null(const Null&) = delete;
    Null& operator=(const Null&) = delete;

    Outbox frame(const Work& work, const Results& results, View& view) {
        const Scene scene{work,
                          results,
                          shelf,
                          history,
                          messages,
                          progress,
                          progress.busy,
                          true,
                          "/somewhere/workbook.swb",
                          look,
                          lines,
                          told,
                          progress.busy,
                          true,
                          nullptr,
                          true,
                          true,
                          folder,
                          recent,
                          texture,
                          &advice,
                          "Shown through the monitor's profile: A monitor with a rather long name, 2026-11-25",
                          recent};
        ImGui::NewFrame();
        Outbox out;
        draw_panels(scene, view, out, screen_.width, screen_.height);
        ImGui::Render();
        return out;
    }

    Look look;
    Shelf shelf;
    History history;
    std::vector<Message> messages;
    Progress progress;
    std::vector<BookLine> lines;
    JobDone told;
    PhotoFolder folder;
    std::vector<std::string> recent{"/a_rather_long_folder/of_photos/and_a_photo_with_a_long_name_as_cameras_give_them_2031-05-06.jpg"};
    SmallTexture texture;
    PotAdvice advice;

private:
    Screen screen_;
    ImGuiContext* context_;
};

Results some_photo() {
    Results results;
    Photo photo;
    photo.path = "bench.jpg";
    photo.width = 400;
    photo.height = 300;
    photo.encoding = "sRGB (no profile in the file)";
    photo.rgb.assign(3U * 400 * 300, 0.2F);
    photo.clipped.assign(400U * 300, 0);
    photo.notes = {"The picture has an alpha channel, which is left out."};
    results.photo = std::make_shared<const Photo>(photo);
    CorrectedPicture picture;
    picture.width = 400;
    picture.height = 300;
    picture.rgb.assign(3U * 400 * 300, 120);
    results.original = std::make_shared<const CorrectedPicture>(picture);
    return results;
}

/// Long words everywhere: what a real calibration and comparison could say at worst.
Results full_results() {
    Results results = some_photo();
    Calibration calibration;
    calibration.method = "24-patch chart and gray card and 3 chips";
    calibration.grade = "good for finished colors, with some doubt about strong reds and for the darkest patches";
    calibration.warnings = {"the card is not evenly lit (12 % from corner to corner): turn it toward the lamp",
                            "two lights: the window is brighter on the left; close the curtain"};
    calibration.loo = {1.24, 3.31, 24};
    results.calibration = std::make_shared<const Calibration>(calibration);
    Reading reading;
    reading.lab = Lab{.L = 32.6, .a = 20.8, .b = -112.7};
    reading.lch = {32.6, 124.4, 328.6};
    reading.lrv = 7.3;
    reading.lrv_sd = 10.4;
    reading.lab_covariance = Eigen::Matrix3d::Identity() * 169;
    reading.warnings = {"12 % of the pixels are clipped: choose a darker place or a shorter exposure"};
    results.chip = results.swatch = reading;
    Comparison comparison;
    comparison.chip = comparison.swatch = reading;
    comparison.lit_by = "0.7*led:6500,ra=80+0.3*D65";
    comparison.difference.de00 = 12.4;
    comparison.difference.ci95 = {10.4, 14.4};
    comparison.difference.words = "much darker, slightly duller, slightly greener";
    comparison.difference.dL_sd = comparison.difference.dC_sd = comparison.difference.dH_sd = 10.4;
    comparison.difference.dL = -10.2;
    comparison.difference.budget = {{"uneven light between the two places, which the card does not tell", 1.2, "put them nearer", {}},
                                    {"grain", 0.4, "", {}}};
    comparison.difference.largest_error = "uneven light between the two places";
    comparison.difference.advice = "put the swatch nearer to the chip, and both where the lamp shines evenly";
    for (const Flag flag : {Flag::holds, Flag::shifts, Flag::breaks}) {
        PairUnder pair;
        pair.light = flag == Flag::shifts ? "0.25*planck:2850+0.75*daylight:5600" : "D65";
        pair.de00 = 12.4;
        pair.ci95 = {10.2, 15.3};
        pair.flag = flag;
        pair.chip = pair.swatch = reading.lab;
        comparison.lights.push_back(pair);
    }
    comparison.notes = {"One photo under one light cannot see metamerism: take a second one in daylight."};
    results.comparison = comparison;
    return results;
}

Work full_work() {
    Work work;
    work.photo = "a_rather_long_folder/and_a_photo_with_a_long_name_as_cameras_give_them_2026-11-25.jpg";
    work.references.grays.push_back({Box{10, 10, 60, 40}, 18});
    work.references.chart = {ChartMode::corners, {Point{100, 20}, {250, 18}, {252, 120}, {101, 122}}};
    work.references.known.push_back({"Straw 31", Ellipse{350, 250, 20, 20}, Lab{.L = 70, .a = 5, .b = 35}});
    work.chip = Box{100, 200, 60, 60};
    work.swatch = Polygon{{{170, 200}, {230, 205}, {200, 260}}};
    return work;
}

/// All windows and child windows lie inside the display, nothing is wider than its window, and the four panels do not overlap.
void expect_everything_fits(const Screen& screen, const std::string& what) {
    const float slack = 1;  // rounding to whole pixels
    std::vector<ImGuiWindow*> panels;
    for (ImGuiWindow* window : GImGui->Windows) {
        if (!window->Active || window->Hidden || std::string(window->Name).starts_with("Debug")) continue;
        EXPECT_GE(window->Pos.x, -slack) << what << " " << window->Name;
        EXPECT_GE(window->Pos.y, -slack) << what << " " << window->Name;
        EXPECT_LE(window->Pos.x + window->Size.x, screen.width + slack) << what << " " << window->Name;
        EXPECT_LE(window->Pos.y + window->Size.y, screen.height + slack) << what << " " << window->Name;
        const std::string name = window->Name;
        // the picture reaches from edge to edge, all else keeps its margin
        const float room = name == "Picture" ? window->Size.x - window->WindowPadding.x : window->WorkRect.GetWidth();
        EXPECT_LE(window->ContentSize.x, room + slack) << what << " " << window->Name << " is wider than its room";
        for (const char* panel : {"Work path", "Picture", "Judging", "Next", "Workbook", "Picked"}) {
            if (name == panel) panels.push_back(window);
        }
        if (name == "Next" || name == "Picture" || name.starts_with("Picture/")) {
            EXPECT_LE(window->ContentSize.y, window->InnerRect.GetHeight() + slack) << what << " " << name << " is cut below";
        }
    }
    ASSERT_EQ(panels.size(), 4U) << what;
    for (std::size_t i = 0; i < panels.size(); ++i) {
        for (std::size_t k = i + 1; k < panels.size(); ++k) {
            ImRect a = panels[i]->Rect(), b = panels[k]->Rect();
            a.Expand(-slack);
            EXPECT_FALSE(a.Overlaps(b)) << what << " " << panels[i]->Name << " and " << panels[k]->Name;
        }
    }
}

/// German runs about a third longer than English (common practice among translators, no source): letters are some 9 px wide.
constexpr float kLonger = 3;

class AllScreens : public testing::TestWithParam<Screen> {};
INSTANTIATE_TEST_SUITE_P(Sizes, AllScreens,
                         testing::Values(Screen{1280, 720, 1}, Screen{1600, 1000, 1}, Screen{2560, 1440, 2}, Screen{3840, 2160, 2},
                                         Screen{1280, 720, 1, kLonger}, Screen{1600, 1000, 1, kLonger, Theme::light},
                                         Screen{3840, 2160, 2, kLonger}));

TEST_P(AllScreens, NothingIsCutOrOverlaps) {
    const Screen screen = GetParam();
    Null null(screen);
    const Work empty, full = full_work();
    const Results none, photo = some_photo(), results = full_results();
    Target target;
    target.id = 1;
    target.name = "Damson 14, from the chip that came with the second letter";
    KeptReading reading;
    reading.id = 2;
    reading.name = "mix 3, pot B, two coats over gray primer";
    for (const bool kept : {false, true}) {
        null.shelf = kept ? Shelf{{target}, {reading}, {}, {}, {}, {}, false, 0} : Shelf{};
        for (int step = 1; step <= 5; ++step) {
            for (const Mode mode : {Mode::original, Mode::split, Mode::side_by_side}) {
                View view;
                view.mode = mode;
                view.open_step = step;
                view.hint = !kept;
                view.show_strip = kept;
                view.show_log = view.show_plots = kept;
                view.selected = {Mark::chip, 0};
                null.messages.clear();
                if (kept)
                    null.messages.push_back({Error{.fault = Fault::not_a_picture,
                                                   .file = "holiday.doc",
                                                   .place = {},
                                                   .cause = "is not one of the picture formats that can be read",
                                                   .remedy = "open a JPEG, PNG or TIFF; other formats: export them first"}});
                null.progress = {kept, "Reading a_photo_with_a_long_name.jpg", 0.4F};
                const std::string what = "step " + std::to_string(step) + " mode " + to_word(mode) + (kept ? " kept" : "");
                for (const auto& [work, made] : {std::pair{&empty, &none}, {&full, &photo}, {&full, &results}}) {
                    for (int frame = 0; frame < 3; ++frame) (void)null.frame(*work, *made, view);  // sizes settle in the second
                    expect_everything_fits(screen, what);
                }
            }
        }
    }
}

/// A workbook of n targets, readings and parts, with the longest words that a name can have on a screen.
Shelf large_shelf(int n) {
    Shelf shelf;
    MixBook book;
    for (int i = 1; i <= n; ++i) {
        Target target;
        target.id = i;
        target.name = "Damson " + std::to_string(i) + ", from the chip that came with the second letter of the builder's society, faded";
        target.lab = Lab{.L = 20.0 + i % 70, .a = 1.0 * (i % 37), .b = -1.0 * (i % 53)};
        target.lab_covariance = Eigen::Matrix3d::Identity();
        target.source = "a_rather_long_folder/and_a_photo_with_a_long_name_as_cameras_give_them_2026-11-25.jpg 100,200,300,400";
        target.caution = "appearance on screen, not a measurement";
        target.created = "2031-05-06T07:08:09Z";
        shelf.targets.push_back(target);
        KeptReading reading;
        reading.id = i;
        reading.target = 1 + i / 3;
        reading.name = "mix 3, pot B, two coats over gray primer, dried for three days";
        reading.lab = target.lab;
        reading.de00 = 12.4;
        reading.ci_low = 10.2;
        reading.ci_high = 14.6;
        reading.verdict = "not resolved";
        reading.created = target.created;
        reading.photo_file = target.source;
        reading.calibration_json =
            R"({"method":"24-patch chart and gray card","references":["gray card 1,2,3,4, LRV 18.0"],"warnings":["two lights"]})";
        shelf.readings.push_back(reading);
        Part part;
        part.id = i;
        part.name = "brake wheel of the second car, left side, the one that was lost " + std::to_string(i);
        if (i > 1) part.parent = i / 2;
        part.target = i;
        shelf.parts.push_back(part);
        KeptPhoto photo;
        photo.id = i;
        photo.path = "/a_rather_long_folder/of_photos/and_a_photo_with_a_long_name_as_cameras_give_them_2031-05-06_" + std::to_string(i) + ".jpg";
        photo.hash = std::to_string(i);
        photo.camera = "A camera with a long name, mark 3";
        photo.exposure_s = 0.0125;
        shelf.photos.push_back(photo);
        KeptPaint paint;
        paint.id = i;
        paint.name = "Quinacridone Violet of the second tube, the one with the dented cap " + std::to_string(i);
        book.paints.push_back(paint);
        KeptPot pot;
        pot.id = i;
        pot.name = "body side, left of the door, second try " + std::to_string(i);
        pot.target = i;
        book.pots.push_back(pot);
        for (int k = 1; k <= 3; ++k) {
            KeptAddition addition;
            addition.id = 10 * i + k;
            addition.pot = i;
            addition.number = k;
            addition.paint = k;
            addition.amount = 12 * k;
            addition.unit = "drops";
            addition.ml = 0.6 * k;
            book.additions.push_back(addition);
            KeptPotReading read;
            read.id = 10 * i + k;
            read.pot = i;
            read.addition = 10 * i + k;
            read.lab = target.lab;
            read.de00 = 12.4 / k;
            read.ci_low = 10.2 / k;
            read.ci_high = 14.6 / k;
            read.verdict = "not resolved";
            book.readings.push_back(read);
        }
        Note note;
        note.target = note.id = i;
        note.text = "Thin coats only, it dries darker; the second pot was better than the first, whatever the sheet says.";
        shelf.notes.push_back(note);
    }
    book.targets = shelf.targets;
    shelf.mix = std::make_shared<const MixBook>(std::move(book));
    return shelf;
}

TEST_P(AllScreens, TheWorkbooksPageFits) {
    const Screen screen = GetParam();
    Null null(screen);
    const Work work = full_work();
    const Results results = full_results();
    null.advice.headline = "Add 14 drops Titanium White of the second tube, 12 drops Quinacridone Violet and 4 drops Ultramarine";
    null.advice.now = "2.3 (1.6 to 2.8), within 1.5: under 1 %";
    null.advice.offers.assign(
        3,
        {{{"Titanium White", 4}}, "14 drops Titanium White of the second tube and 4 drops Ultramarine", "0.7 (0.2 to 1.4)", "over 99 %", "44 drops"});
    null.advice.notes = {"Caution: acrylic and enamel are unlike binders. Such mixes may curdle, craze or never harden: test a little of it first."};
    for (const int count : {0, 40}) {
        null.shelf = large_shelf(count);
        for (const List list : {List::targets, List::parts, List::readings, List::photos, List::pots}) {
            for (const bool told : {false, true}) {
                View view;
                view.page = Page::workbook;
                view.book.list = list;
                if (count > 0) view.book.target = view.book.part = view.book.reading = view.book.photo = view.book.pot = 14;
                null.lines = book_lines(null.shelf, view.book, nullptr);
                null.told = told ? JobDone{"Took 3 targets from a_table_with_a_long_name_from_the_instrument.csv",
                                           std::vector<std::string>(9, "Not taken: line 7: Damson 14 has no a*"),
                                           {},
                                           {},
                                           {}}
                                 : JobDone{};
                for (int frame = 0; frame < 4; ++frame) (void)null.frame(work, results, view);
                expect_everything_fits(screen, to_word(list) + " " + std::to_string(count));
                const ImGuiWindow* page = ImGui::FindWindowByName("Workbook");
                ASSERT_NE(page, nullptr);
                EXPECT_LE(page->ContentSize.y, page->InnerRect.GetHeight() + 1) << "what stands under the list is cut";
            }
        }
    }
}

// Only the lines in sight cost anything. Printed; the bar of 30 frames a second is for a real window, where drawing comes on top.
TEST(BookPage, DrawsOnlyWhatIsInSight) {
    Null null({1600, 1000, 1});
    const Work work;
    const Results results;
    std::array<double, 2> ms{};
    std::array<int, 2> corners{};
    for (const int size : {0, 1}) {
        null.shelf = large_shelf(size == 0 ? 100 : 10'000);
        View view;
        view.page = Page::workbook;
        view.book.target = 50;
        null.lines = book_lines(null.shelf, view.book, nullptr);
        const int frames = 60;
        const auto start = std::chrono::steady_clock::now();
        for (int frame = 0; frame < frames; ++frame) {
            view.book.target = 1 + frame * static_cast<int>(null.shelf.targets.size()) / frames;
            view.book.reveal = 3;
            (void)null.frame(work, results, view);
        }
        ms[static_cast<std::size_t>(size)] = std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count() / frames;
        corners[static_cast<std::size_t>(size)] = ImGui::GetDrawData()->TotalVtxCount;
    }
    std::printf("a frame of the workbook's page, scrolling, without drawing: %.2f ms with 100 targets, %.2f ms with 10 000\n", ms[0], ms[1]);
    EXPECT_LT(corners[1], 2 * corners[0]);
}

TEST_P(AllScreens, HelpFits) {
    const Screen screen = GetParam();
    Null null(screen);
    const Work work;
    const Results results;
    View view;
    view.help = true;
    for (int frame = 0; frame < 3; ++frame) (void)null.frame(work, results, view);
    const ImGuiWindow* help = ImGui::FindWindowByName("Keys");
    ASSERT_NE(help, nullptr);
    // with longer words it may be scrolled
    if (screen.letter_gap == 0) {
        EXPECT_LE(help->ContentSize.y, help->InnerRect.GetHeight()) << "the list of keys is cut";
    }
    EXPECT_LE(help->ContentSize.x, help->WorkRect.GetWidth() + 1);
}

TEST(Help, IsSearchedAndEnterDoesTheFirst) {
    EXPECT_EQ(shortcuts_with("").size(), shortcuts_with("  ").size());
    const auto found = shortcuts_with("CHART find");
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found[0]->chord, "shift+h");
    EXPECT_TRUE(shortcuts_with("walrus").empty());
    Desk desk;
    EXPECT_TRUE(press(desk, "f1", false));
    EXPECT_TRUE(desk.view.help);
    EXPECT_EQ(desk.view.focus, "help");
    EXPECT_TRUE(press(desk, "escape", true)) << "also while its field is edited";
    EXPECT_FALSE(desk.view.help);
}

TEST(Font, HoldsWhatWeWrite) {
    Null null({1280, 720, 1});
    if (null.look.base == null.look.large) GTEST_SKIP() << "no TrueType font on this computer";
    for (const int c : {0xB1,   0x394,  0xB0, 0xB2,   0x2264, 0x2013, 0x2212, 0x2192, 0x2194, 0x2713, 0x2717,
                        0x25B8, 0x25BE, 0xD7, 0x2026, 0x25CB, 0x25D0, 0x25A0, 0x25C6, 0x201C, 0x201D}) {
        EXPECT_NE(null.look.base->FindGlyphNoFallback(static_cast<ImWchar>(c)), nullptr) << std::hex << c;
    }
    for (const char c : std::string("0123456789.")) EXPECT_NE(null.look.large->FindGlyphNoFallback(static_cast<ImWchar>(c)), nullptr) << c;
}

class OnThePicture : public testing::Test {
protected:
    Null null{{1280, 720, 1}};
    Work work = [] {
        Work w;
        w.photo = "bench.jpg";
        return w;
    }();
    Results results = some_photo();
    View view = [] {  // one screen pixel for one of the picture: ImGui gives whole mouse positions only
        View v;
        v.fit = false;
        v.camera = {1, {200, 150}};
        return v;
    }();
    std::vector<Command> commits;

    void frame() {
        const Outbox out = null.frame(work, results, view);
        commits.insert(commits.end(), out.commits.begin(), out.commits.end());
    }
    void mouse(Point picture, bool down) {
        const Point s = to_screen(view.camera, view.canvas.area, picture);
        ImGui::GetIO().MousePos = {static_cast<float>(s.x), static_cast<float>(s.y)};
        ImGui::GetIO().MouseDown[0] = down;
        frame();
    }
    void drag(Point from, Point to) {
        frame();
        mouse(from, false);  // hover for a frame before the press
        mouse(from, true);
        for (int i = 1; i <= 5; ++i) mouse({from.x + (to.x - from.x) * i / 5, from.y + (to.y - from.y) * i / 5}, true);
        EXPECT_TRUE(commits.empty()) << "nothing is done while the button is down";
        mouse(to, false);
        mouse(to, false);
    }
};

TEST_F(OnThePicture, ADragOverThePictureIsOneCommand) {
    view.tool = Mark::gray;
    drag({50, 60}, {150, 130});
    ASSERT_EQ(commits.size(), 1U);
    EXPECT_EQ(to_text(commits[0]), "gray 50,60,100,70");
    EXPECT_EQ(view.tool, Mark::none);
    EXPECT_EQ(view.selected, (Marked{Mark::gray, 0}));
}

TEST_F(OnThePicture, AnEllipseAndAChart) {
    view.tool = Mark::chip;
    view.ellipse = true;
    drag({50, 60}, {150, 130});
    ASSERT_EQ(commits.size(), 1U);
    EXPECT_EQ(to_text(commits[0]), "chip ellipse:100,95,50,35");
    commits.clear();
    view.tool = Mark::chart;
    drag({40, 40}, {340, 240});
    ASSERT_EQ(commits.size(), 1U);
    EXPECT_EQ(commits[0].index(), Command(SetChartCorners{}).index());
}

TEST_F(OnThePicture, MovingARegionIsOneCommand) {
    work.chip = Box{100, 100, 80, 60};
    drag({140, 130}, {160, 135});
    ASSERT_EQ(commits.size(), 1U);
    EXPECT_EQ(to_text(commits[0]), "chip 120,105,80,60");
}

TEST_F(OnThePicture, AKnownChipTakesItsNameAndLabFromTheField) {
    view.tool = Mark::known;
    view.edits.known = "Straw 31 71.7,4.6,35.5";
    drag({50, 60}, {150, 130});
    ASSERT_EQ(commits.size(), 1U);
    EXPECT_EQ(to_text(commits[0]), "known \"Straw 31\" 50,60,100,70 71.7,4.6,35.5");
}

TEST_F(OnThePicture, AClickBesideEverythingDeselectsAndDoesNothing) {
    work.chip = Box{100, 100, 80, 60};
    view.selected = {Mark::chip, 0};
    drag({300, 250}, {300, 250});
    EXPECT_TRUE(commits.empty());
    EXPECT_EQ(view.selected.mark, Mark::none);
}

TEST_F(OnThePicture, TheDividerIsDraggedNotTheRegions) {
    view.mode = Mode::split;
    frame();
    const Rect area = view.canvas.area;
    ImGuiIO& io = ImGui::GetIO();
    const float y = area.y + area.h - 64;
    for (const auto& [x, down] : {std::pair{0.5F, false}, {0.5F, true}, {0.4F, true}, {0.3F, true}, {0.3F, false}, {0.3F, false}}) {
        io.MousePos = {area.x + area.w * x, y};
        io.MouseDown[0] = down;
        frame();
    }
    EXPECT_NEAR(view.split, 0.3, 0.01);
    EXPECT_TRUE(commits.empty());
}

TEST_F(OnThePicture, TheWheelZoomsAboutTheCursor) {
    frame();
    mouse({100, 100}, false);
    const double before = view.camera.zoom;
    ImGui::GetIO().MouseWheel = 2;
    mouse({100, 100}, false);
    EXPECT_NEAR(view.camera.zoom, before * 1.25 * 1.25, 1e-9);
    EXPECT_FALSE(view.fit);
    ASSERT_TRUE(view.pointer);
    frame();
    EXPECT_NEAR(view.pointer->x, 100, 0.5 / view.camera.zoom + 1e-6);  // half a screen pixel
}

TEST_F(OnThePicture, TheKeyboardGoesRoundTheThreeColumns) {
    for (const int column : {1, 2, 0, 1}) {
        view.focus_column = column;
        frame();
        frame();
        EXPECT_EQ(view.column, column);
        EXPECT_EQ(view.picture_focused, column == 1);
    }
}

TEST(Shortcuts, AreUniqueAndExplained) {
    std::set<std::string> chords;
    for (const Shortcut& shortcut : shortcuts()) {
        EXPECT_TRUE(chords.insert(shortcut.chord).second) << shortcut.chord << " twice";
        EXPECT_FALSE(shortcut.words.empty()) << shortcut.chord;
    }
    for (const char* needed : {"ctrl+z", "ctrl+shift+z", "ctrl+o", "ctrl+s", "f1", "g", "h", "c", "s", "k", "delete", "escape"})
        EXPECT_TRUE(chord_known(needed)) << needed;
}

/// A child at the keyboard: any key, click, drag, wheel and letters, in any order, on a real desk with a photo and a workbook.
/// SW_LONG_TESTS: two hours' worth of frames; else some hundred.
TEST(RandomInput, DoesNoHarm) {
    const std::filesystem::path folder = std::filesystem::temp_directory_path() / ("sw-random-" + std::to_string(getpid()));
    std::filesystem::create_directories(folder);
    const std::string photo = (folder / "photo.jpg").string();
    {
        Preview picture{320, 240, {}};
        for (int i = 0; i < 320 * 240; ++i) {
            for (const int code : {i % 251, i / 320, 90}) picture.rgb.push_back(static_cast<std::uint8_t>(code));
        }
        const auto bytes =
            written({.format = PictureToWrite::Format::jpeg, .width = 320, .height = 240, .software = {}, .description = {}, .profile = {}},
                    picture.rgb.data());
        std::ofstream(photo, std::ios::binary).write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
    }
    const bool long_run = std::getenv("SW_LONG_TESTS") != nullptr;
    const int frames = long_run ? 432'000 : 3000;
    for (const unsigned seed : {1U, 2U}) {
        Null null({1280, 720, 1});
        Desk desk;
        desk.open_workbook(folder / ("w" + std::to_string(seed) + ".swb"));
        desk.commit(OpenPhoto{photo});
        const auto settle = [&] {
            for (int i = 0; i < 4000 && desk.working(); ++i) {
                desk.pump();
                std::this_thread::sleep_for(std::chrono::milliseconds(1));
            }
        };
        settle();
        const std::string start = to_script(desk.work());
        std::mt19937 random(seed);
        const auto below = [&](int n) { return std::uniform_int_distribution<int>(0, n - 1)(random); };
        ImGuiIO& io = ImGui::GetIO();
        std::size_t done = 0;
        for (int frame = 0; frame < frames; ++frame) {
            if (below(3) == 0) io.MousePos = {static_cast<float>(below(1290)), static_cast<float>(below(730))};
            if (below(3) == 0) io.MouseDown[below(10) == 0 ? 2 : 0] = below(2) == 0;
            if (below(12) == 0) io.MouseWheel = static_cast<float>(below(7) - 3);
            if (below(6) == 0) {
                const Shortcut& shortcut = shortcuts()[static_cast<std::size_t>(below(static_cast<int>(shortcuts().size())))];
                const bool leaves = shortcut.chord == "ctrl+shift+o" || shortcut.chord == "ctrl+v";  // asks the desktop
                if (!leaves) press(desk, shortcut.chord, io.WantTextInput);
            }
            if (io.WantTextInput && below(2) == 0) io.AddInputCharacter(static_cast<unsigned>(below(4) == 0 ? below(0x3000) + 1 : 32 + below(95)));
            io.KeysDown[io.KeyMap[ImGuiKey_Enter]] = io.WantTextInput && below(6) == 0;
            io.KeysDown[io.KeyMap[ImGuiKey_Tab]] = below(15) == 0;
            desk.pump();
            ImGui::NewFrame();
            Outbox out;
            draw_panels(scene_of(desk, null.look, null.texture, "", null.recent), desk.view, out, 1280, 720);
            ImGui::Render();
            // Files beside the workbook are another test's business: here they would only fill the disk.
            std::erase_if(out.view, [](const ViewCommand& command) {
                return std::holds_alternative<FileJob>(command) || std::holds_alternative<SaveScript>(command);
            });
            (void)deliver(desk, out);
            release_arrows(desk);
            if (desk.messages.size() > 20) desk.messages.erase(desk.messages.begin(), desk.messages.end() - 5);
            done = std::max(done, desk.history().done().size());
        }
        EXPECT_GT(done, 3U) << "nothing came of it";
        settle();
        for (int i = 0; i < 100'000 && desk.history().can_undo(); ++i) desk.undo();
        settle();
        // opening the photo was a step too
        EXPECT_EQ(to_script(desk.work()), to_script(Work{})) << "seed " << seed;
        EXPECT_FALSE(start.empty());
        EXPECT_TRUE(desk.shelf().targets.empty() && desk.shelf().readings.empty() && desk.shelf().parts.empty());
    }
    std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace sw::window
