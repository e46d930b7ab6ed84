// The light ladder read back: order and words of the rungs, colors on the page against Little CMS, the screen's profile, what cannot be drawn. How it
// looks was judged by eye on the demo and the simulated photos.
#include "sheet/light_ladder.hpp"

#include <OpenImageIO/imageio.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <lcms2.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <memory>

#include "color/adaptation.hpp"
#include "color/difference.hpp"
#include "folder_test.hpp"

namespace sw {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

class LightLadder : public test::FolderTest {};

using Profile = std::unique_ptr<void, decltype(&cmsCloseProfile)>;

std::string bytes_of(void* profile) {
    cmsUInt32Number size = 0;
    cmsSaveProfileToMem(profile, nullptr, &size);
    std::string bytes(size, '\0');
    cmsSaveProfileToMem(profile, bytes.data(), &size);
    return bytes;
}
/// A screen of other primaries, white D65; its red is far beyond sRGB's.
std::string wide_screen(double gamma = 2.2) {
    const cmsCIExyY white{0.3127, 0.3290, 1};
    const cmsCIExyYTRIPLE primaries{{0.68, 0.32, 1}, {0.265, 0.69, 1}, {0.15, 0.06, 1}};
    cmsToneCurve* curve = cmsBuildGamma(nullptr, gamma);
    cmsToneCurve* const curves[3] = {curve, curve, curve};
    const Profile profile(cmsCreateRGBProfile(&white, &primaries, curves), &cmsCloseProfile);
    cmsFreeToneCurve(curve);
    return bytes_of(profile.get());
}

PairUnder under(const std::string& light, Kind kind, double de00, Interval ci95, Flag flag, bool sure) {
    PairUnder u;
    u.light = light;
    u.kind = kind;
    u.de00 = de00;
    u.ci95 = ci95;
    u.flag = flag;
    u.flag_sure = sure;
    u.chip = {45, 20, -25};
    u.swatch = {46, 22, -24};
    return u;
}
Comparison comparison() {
    Comparison c;
    c.difference.de00 = 1.14;
    c.difference.ci95 = {0.6, 1.7};
    c.difference.words = "slightly lighter";
    c.difference.verdict = Verdict::within;
    c.chip.lab = {45, 20, -25};
    c.swatch.lab = {46, 21, -25};
    c.lit_by = "LED-B3";
    c.lights = {under("D65", Kind::inferred, 3.14, {0.5, 6}, Flag::breaks, false), under("LED-B3", Kind::seen, 1.14, {0.6, 1.7}, Flag::shifts, false),
                under("A", Kind::computed, 0.4, {0.32, 0.48}, Flag::holds, true), under("D50", Kind::seen, 1.5, {1.2, 1.8}, Flag::shifts, true)};
    return c;
}

TEST_F(LightLadder, SeenFirstThenComputedThenInferredEachInItsWords) {
    std::vector<std::string> lines;
    for (const LightRung& r : light_ladder(comparison())) lines.push_back(r.light + "|" + r.known + "|" + r.figure + "|" + r.flag_words);
    EXPECT_THAT(lines, ElementsAre("LED-B3|seen|1.1 (0.6 to 1.7)|shifts ?", "D50|seen|1.5 (1.2 to 1.8)|shifts",
                                   "A|computed|0.40 (0.32 to 0.48)|holds", "D65|inferred|3.1 (0.5 to 6.0)|breaks ?"));
    Comparison unnamed = comparison();
    unnamed.lit_by = "unknown light";
    const std::vector<LightRung> rungs = light_ladder(unnamed);
    ASSERT_EQ(rungs.size(), 5U);
    EXPECT_EQ(rungs[0].light + "|" + rungs[0].known + "|" + rungs[0].figure, "unknown light|as lit in the photo|1.1 (0.6 to 1.7)");
    EXPECT_FALSE(rungs[0].flag);
}

// Drawn as far apart as the figure says where more was read, as read where less was; about the same middle.
TEST_F(LightLadder, IsDrawnNoFartherApartThanTheFigureSays) {
    for (const LightRung& r : light_ladder(comparison())) {
        const double read = difference_2000({45, 20, -25}, {46, 22, -24});
        EXPECT_NEAR(difference_2000(r.chip, r.swatch), std::min(read, r.de00), 1e-4) << r.light;
        EXPECT_NEAR(r.chip.a + r.swatch.a, 42, 1e-9);
    }
}

// Outside: our own sRGB path for sRGB; for another screen Little CMS in 8 bits, through a Lab profile of its own, at D50.
TEST_F(LightLadder, ScreensShowWhatLittleCmsSays) {
    const Screen srgb;
    EXPECT_EQ(srgb.name(), "sRGB");
    const std::string icc = wide_screen();
    const Result<Screen> wide = Screen::of_profile(icc);
    ASSERT_TRUE(wide);
    const Profile screen(cmsOpenProfileFromMem(icc.data(), static_cast<cmsUInt32Number>(icc.size())), &cmsCloseProfile),
        pcs(cmsCreateLab2Profile(nullptr), &cmsCloseProfile);
    void* const transform = cmsCreateTransform(pcs.get(), TYPE_Lab_DBL, screen.get(), TYPE_RGB_8, INTENT_RELATIVE_COLORIMETRIC, 0);
    int beyond = 0, only_wide = 0;
    double worst_srgb = 0;
    for (double L = 15; L <= 95; L += 10) {
        for (double a = -80; a <= 80; a += 20) {
            for (double b = -80; b <= 80; b += 20) {
                const Lab color{L, a, b, kWhiteD65};
                const ScreenColor ours = screen_color(color);
                const Screen::Shown shown = srgb.show(color);
                if (ours.in_gamut) {
                    EXPECT_TRUE(shown.in_gamut) << L << " " << a << " " << b;
                    for (const double d : {ours.rgb.r - shown.rgb.r, ours.rgb.g - shown.rgb.g, ours.rgb.b - shown.rgb.b})
                        worst_srgb = std::max(worst_srgb, std::abs(d));
                }
                const Screen::Shown there = wide->show(color);
                beyond += shown.in_gamut ? 0 : 1;
                only_wide += !shown.in_gamut && there.in_gamut;
                if (!there.in_gamut) continue;
                const Lab adapted = lab(adapt(xyz(color), kWhiteD65, kWhiteD50), kWhiteD50);
                const cmsCIELab in{adapted.L, adapted.a, adapted.b};
                unsigned char rgb[3];
                cmsDoTransform(transform, &in, rgb, 1);
                EXPECT_NEAR(255 * there.rgb.r, rgb[0], 2.5) << L << " " << a << " " << b;
                EXPECT_NEAR(255 * there.rgb.g, rgb[1], 2.5) << L << " " << a << " " << b;
                EXPECT_NEAR(255 * there.rgb.b, rgb[2], 2.5) << L << " " << a << " " << b;
            }
        }
    }
    cmsDeleteTransform(transform);
    std::printf("of 729 colors %d lie beyond sRGB, %d of these within the wide screen; sRGB off by %.5f\n", beyond, only_wide, worst_srgb);
    EXPECT_LT(worst_srgb, 0.01);  // Little CMS rounds the matrix of its sRGB to s15.16, and near black that is steep
    EXPECT_GT(only_wide, 20);
    EXPECT_LT(only_wide, beyond);
    const Screen::Shown white = wide->show({100, 0, 0, Xyz{110, 100, 35}});  // any light's white is the screen's
    EXPECT_NEAR(white.rgb.r, 1, 2e-3);
    EXPECT_NEAR(white.rgb.b, 1, 2e-3);
}

TEST_F(LightLadder, OtherProfilesAreRefusedWithTheReason) {
    const auto fails = [](const std::string& icc, const std::string& say) {
        const Result<Screen> screen = Screen::of_profile(icc);
        ASSERT_FALSE(screen) << say;
        EXPECT_EQ(screen.error().fault, Fault::profile_broken);
        EXPECT_THAT(describe(screen.error()), HasSubstr(say));
    };
    fails("", "is empty");
    fails("not a profile", "no ICC profile");
    fails(wide_screen().substr(0, 200), "");
    cmsToneCurve* curve = cmsBuildGamma(nullptr, 2.2);
    const Profile gray(cmsCreateGrayProfile(cmsD50_xyY(), curve), &cmsCloseProfile);
    cmsFreeToneCurve(curve);
    fails(bytes_of(gray.get()), "not made for RGB");
    std::string input = wide_screen();
    input.replace(12, 4, "scnr");
    fails(input, "another device");
    for (std::size_t at = 128; at < wide_screen().size(); at += 7) {  // damaged anywhere: an error or a screen, no crash
        std::string damaged = wide_screen();
        damaged[at] = static_cast<char>(damaged[at] ^ 0x5A);
        if (const Result<Screen> screen = Screen::of_profile(damaged)) {
            const EncodedRgb rgb = screen->show({50, 20, 20}).rgb;
            EXPECT_TRUE(rgb.r >= 0 && rgb.r <= 1 && rgb.b >= 0 && rgb.b <= 1);
        }
    }
}

struct Picture {
    int width = 0, height = 0;
    std::vector<unsigned char> rgb, profile;
    [[nodiscard]] int count(const EncodedRgb& color) const {
        int found = 0;
        for (std::size_t i = 0; i < rgb.size(); i += 3)
            found += std::abs(rgb[i] - 255 * color.r) <= 1 && std::abs(rgb[i + 1] - 255 * color.g) <= 1 && std::abs(rgb[i + 2] - 255 * color.b) <= 1;
        return found;
    }
};
Picture read(const std::string& path) {
    const auto in = OIIO::ImageInput::open(path);
    if (!in) return {};
    Picture p{in->spec().width, in->spec().height, {}, {}};
    p.rgb.resize(3UL * static_cast<std::size_t>(p.width) * static_cast<std::size_t>(p.height));
    in->read_image(0, 0, 0, 3, OIIO::TypeDesc::UINT8, p.rgb.data());
    if (const auto* icc = in->spec().find_attribute("ICCProfile")) {
        const auto* data = static_cast<const unsigned char*>(icc->data());
        p.profile.assign(data, data + icc->type().size());
    }
    return p;
}

// Every half is there in its color, for its screen, and the PNG carries the profile.
TEST_F(LightLadder, HalvesStandInTheColorsOfTheScreen) {
    const std::string icc = wide_screen(1.8);
    for (const Screen& screen : {Screen(), *Screen::of_profile(icc)}) {
        ASSERT_TRUE(save_light_ladder(comparison(), {}, screen, "Ladder", "Answer", path("l.png")));
        const Picture p = read(path("l.png"));
        EXPECT_EQ(p.width, 1600);
        EXPECT_EQ(p.height, 1131);
        for (const LightRung& r : light_ladder(comparison())) {
            EXPECT_GT(p.count(screen.show(r.chip).rgb), 200 * 100) << r.light;
            EXPECT_GT(p.count(screen.show(r.swatch).rgb), 200 * 100) << r.light;
        }
        EXPECT_EQ(std::string(p.profile.begin(), p.profile.end()), std::string(screen.profile().begin(), screen.profile().end()));
    }
}

TEST_F(LightLadder, SaysItsWordsAndMarksWhatIsBeyondTheScreen) {
    Comparison c = comparison();
    c.lights[0].chip = {50, 90, 60};  // no sRGB screen has it
    c.lights[0].de00 = 60;
    ASSERT_TRUE(save_light_ladder(c, {}, {}, "Ladder of <x> & \xFF", "The answer.", path("l.pdf")));
    if (std::system(("pdftotext '" + path("l.pdf") + "' '" + path("l.txt") + "' 2> /dev/null").c_str()) != 0)
        GTEST_SKIP() << "pdftotext (package poppler-utils) is not installed";
    std::ifstream file(path("l.txt"));
    std::string text;
    for (std::string word; file >> word;) text += (text.empty() ? "" : " ") + word;
    for (const char* part : {"Ladder of <x>", "The answer.", "LED-B3", "seen", "computed", "inferred; chip beyond sRGB", "1.1 (0.6 to 1.7)",
                             "Breaks ?", "Holds", "a dark corner marks", "adapted to its light's white"})
        EXPECT_THAT(text, HasSubstr(part));
}

TEST_F(LightLadder, AnyNumberOfLightsUpToThePage) {
    Comparison c = comparison();
    for (const std::size_t rungs : {1U, 12U, 13U, 32U, 33U}) {
        c.lights.assign(rungs, comparison().lights[1]);
        const auto saved = save_light_ladder(c, {}, {}, "Ladder", "Answer", path("l.png"));
        EXPECT_EQ(static_cast<bool>(saved), rungs <= kMostRungs) << rungs;
        if (!saved) {
            EXPECT_EQ(saved.error().fault, Fault::bad_usage);
        }
    }
    EXPECT_FALSE(can_save_light_ladder("l.jpg", false));
    EXPECT_TRUE(can_save_light_ladder("l.PDF", false));
    EXPECT_FALSE(can_save_light_ladder("l.PDF", true));
    EXPECT_TRUE(can_save_light_ladder("l.png", true));
}

}  // namespace
}  // namespace sw
