// Geometry of marking: drags, handles, nudges, camera.
#include "viewer/marking.hpp"

#include <gtest/gtest.h>

namespace sw::window {
namespace {

const Rect kArea{300, 40, 800, 600};

TEST(Camera, ScreenAndPictureAreInverse) {
    const Camera camera{2.5, {310.25, 120}};
    const Point p = to_picture(camera, kArea, to_screen(camera, kArea, {17.5, 333.25}));
    EXPECT_NEAR(p.x, 17.5, 1e-9);  // rounding of doubles at some hundreds
    EXPECT_NEAR(p.y, 333.25, 1e-9);
}

TEST(Camera, FitShowsAllOfIt) {
    const Camera camera = fit_camera(kArea, 1200, 900);
    const Point from = to_screen(camera, kArea, {0, 0}), to = to_screen(camera, kArea, {1200, 900});
    EXPECT_GE(from.x, 300);
    EXPECT_GE(from.y, 40);
    EXPECT_LE(to.x, 1100);
    EXPECT_LE(to.y, 640);
    EXPECT_NEAR(std::max((to.x - from.x) / 784, (to.y - from.y) / 584), 1, 1e-9);  // touches the 8 px margin
}

TEST(Camera, ZoomKeepsWhatIsUnderTheMouse) {
    const Camera camera{0.5, {600, 450}};
    const Point mouse{420, 333};
    const Point before = to_picture(camera, kArea, mouse);
    const Point after = to_picture(zoomed(camera, kArea, mouse, 3), kArea, mouse);
    EXPECT_NEAR(before.x, after.x, 1e-9);
    EXPECT_NEAR(before.y, after.y, 1e-9);
    EXPECT_EQ(zoomed(camera, kArea, mouse, 1e9).zoom, 64);
}

TEST(Marking, ABoxIsDrawnInAnyDirectionAndStaysInThePicture) {
    const Work work;
    Drag drag = start_new(work, Mark::chip, false, {100.4, 90.2});
    drag = dragged(drag, false, {40.1, -500}, 1200, 900);
    const auto command = finished(work, drag);
    ASSERT_TRUE(command);
    EXPECT_EQ(to_text(*command), "chip 40,0,60,90");
}

TEST(Marking, AClickIsNoBox) {
    const Work work;
    EXPECT_FALSE(finished(work, dragged(start_new(work, Mark::chip, false, {100, 90}), false, {102, 91}, 1200, 900)));
}

TEST(Marking, TheShapeFollowsTheKeyWhileDrawing) {
    const Work work;
    const Drag drag = dragged(start_new(work, Mark::swatch, false, {10, 10}), true, {50, 30}, 1200, 900);
    EXPECT_EQ(to_text(*finished(work, drag)), "swatch ellipse:30,20,20,10");
}

TEST(Marking, HandlesChangeOneSideInsideMovesAll) {
    Work work;
    work.chip = Box{100, 100, 200, 100};
    const Results results;
    const Marked chip{Mark::chip, 0};
    auto edge = grab(work, results, chip, {298, 150}, 6);
    ASSERT_TRUE(edge);
    EXPECT_EQ(edge->kind, Drag::Kind::edges);
    EXPECT_EQ(to_text(*finished(work, dragged(*edge, false, {348, 190}, 1200, 900))), "chip 100,100,250,100");
    auto corner = grab(work, results, chip, {102, 98}, 6);
    ASSERT_TRUE(corner);
    EXPECT_EQ(to_text(*finished(work, dragged(*corner, false, {92, 108}, 1200, 900))), "chip 90,110,210,90");
    auto inside = grab(work, results, chip, {200, 150}, 6);
    ASSERT_TRUE(inside);
    EXPECT_EQ(inside->kind, Drag::Kind::move);
    EXPECT_EQ(to_text(*finished(work, dragged(*inside, false, {2000, 160}, 1200, 900))), "chip 1000,110,200,100") << "stops at the right edge";
    EXPECT_FALSE(grab(work, results, chip, {600, 600}, 6));
}

TEST(Marking, SmallRegionsCanStillBeMoved) {
    Work work;
    work.chip = Box{100, 100, 9, 9};
    const auto drag = grab(work, Results{}, {Mark::chip, 0}, {104.5, 104.5}, 12);
    ASSERT_TRUE(drag);
    EXPECT_EQ(drag->kind, Drag::Kind::move);
}

TEST(Marking, PolygonsStretchWithTheirBox) {
    Work work;
    work.chip = Polygon{{{100, 100}, {200, 100}, {150, 200}}};
    const auto drag = grab(work, Results{}, {Mark::chip, 0}, {199, 150}, 4);
    ASSERT_TRUE(drag);
    EXPECT_EQ(to_text(*finished(work, dragged(*drag, false, {299, 150}, 1200, 900))), "chip poly:100,100,300,100,200,200");
}

TEST(Marking, ChartCornersAreInTheOrderOfPatches1_6_24_19) {
    Work work;
    const Drag drawn = dragged(start_new(work, Mark::chart, false, {50, 60}), false, {650, 460}, 1200, 900);
    EXPECT_EQ(to_text(*finished(work, drawn)), "chart 50,60,650,60,650,460,50,460");
    work.references.chart = {ChartMode::corners, drawn.corners};
    const auto third = grab(work, Results{}, {}, {652, 458}, 8);
    ASSERT_TRUE(third);
    EXPECT_EQ(third->kind, Drag::Kind::corner);
    EXPECT_EQ(third->handle, 2);
    EXPECT_EQ(to_text(*finished(work, dragged(*third, false, {662, 448}, 1200, 900))), "chart 50,60,650,60,660,450,50,460");
}

TEST(Marking, NudgesAddUpAndStayInside) {
    Work work;
    work.references.grays.push_back({Box{3, 5, 20, 20}, 18});
    const Marked gray{Mark::gray, 0};
    std::optional<Drag> drag;
    for (int i = 0; i < 5; ++i) drag = nudged(work, Results{}, drag, gray, -1, 1, 1200, 900);
    ASSERT_TRUE(drag);
    EXPECT_EQ(to_text(*finished(work, *drag)), "gray 0,10,20,20");
    EXPECT_FALSE(nudged(work, Results{}, std::nullopt, {Mark::chip, 0}, 1, 0, 1200, 900));
}

}  // namespace
}  // namespace sw::window
