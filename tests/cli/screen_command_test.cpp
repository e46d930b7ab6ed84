// The command `screen` on the demo's film frame, whose shown color is known (assets/demo/truth.json).
#include <cmath>

#include "cli/command_test.hpp"

namespace sw {
namespace {

using test::Ran;
using test::refused;
using test::run_words;
using test::Words;
using testing::HasSubstr;

const std::string kGrab = SW_ASSETS "/demo/screen_grab.png";

class ScreenCommand : public test::CommandTest {};

TEST_F(ScreenCommand, ReadsAndKeeps) {
    const Words words{"screen", kGrab + "=277,224,30,14", kGrab + "=280,225,12,12", "--keep", "Wet Slate on film", "--workbook", path("b.swb"),
                      "--json"};
    const Ran ran = run_words(words);
    ASSERT_EQ(ran.code, 0) << ran.err;
    EXPECT_EQ(test::misfits(ran.out, "screen.json"), "");
    const auto json = nlohmann::json::parse(ran.out);
    const double shown[3] = {23.98, -3.0922, -6.1421};  // lab_d50_on_screen
    for (std::size_t i = 0; i < 3; ++i) EXPECT_NEAR(json["lab"][i], shown[i], 0.6) << i;
    EXPECT_EQ(json["kept"], "Wet Slate on film");
    EXPECT_EQ(json["frames"].size(), 2U);
    const Ran list = run_words({"target", "show", "Wet Slate on film", "--workbook", path("b.swb"), "--json"});
    ASSERT_EQ(list.code, 0) << list.err;
    EXPECT_EQ(test::misfits(list.out, "target.json"), "");
    EXPECT_THAT(list.out, HasSubstr("\"caution\": \"appearance on screen, not a measurement\""));
    EXPECT_THAT(run_words({"target", "list", "--workbook", path("b.swb")}).out, HasSubstr("appearance on screen, not a measurement"));
    refused(words, 3, "a target of that name exists");
    const Ran told = run_words({"screen", kGrab + "=277,224,30,14"});
    EXPECT_THAT(told.out, HasSubstr("appearance on screen"));
    EXPECT_THAT(told.out, HasSubstr("±"));
    EXPECT_THAT(told.out, HasSubstr("as displayed"));
}

TEST_F(ScreenCommand, RefusesWhatCannotBe) {
    refused({"screen"}, 2, "names no frame");
    refused({"screen", kGrab}, 2, "does not say where in the frame");
    refused({"screen", kGrab + "=1,2"}, 2, "frame");
    refused({"screen", "none.png=1,2,30,40"}, 3, "there is no such file");
    refused({"screen", kGrab + "=277,40,30,30"}, 3, "black bar at the top; the picture begins at row 54");
    refused({"screen", kGrab + "=900,40,30,30"}, 3, "region");
    refused({"screen", kGrab + "=277,224,30,14", "--neutral", "1,2,3,4", "--known", "1,2,3,4=50,0,0"}, 2, "two things of known color");
    refused({"screen", kGrab + "=277,224,30,14", "--neutral", "400,200,20,20=140"}, 2, "140");
    refused({"screen", kGrab + "=277,224,30,14", "--known", "400,200,20,20"}, 2, "REGION=L,a,b");
    refused({"screen", kGrab + "=277,224,30,14", "--still", SW_ASSETS "/demo/warm_lamp_upright.jpg"}, 3, "of another size");
    refused({"screen", kGrab + "=277,224,30,14", "--keep", " "}, 2, "no name");
    refused({"screen", kGrab + "=277,224,30,14", "--transfer", "film"}, 2, "film");
}

}  // namespace
}  // namespace sw
