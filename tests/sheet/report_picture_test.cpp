// The report picture read back: what is drawn and said, and that nothing breaks it. How it looks was judged by eye on the simulated photos.
#include "sheet/report_picture.hpp"

#include <OpenImageIO/imageio.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "calibrate/coverage.hpp"
#include "calibrate/scene.hpp"
#include "folder_test.hpp"

namespace sw {
namespace {

namespace fs = std::filesystem;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

class ReportPicture : public test::FolderTest {
protected:
    /// The words of a page; empty where pdftotext (package poppler-utils) is missing.
    [[nodiscard]] std::string words(const Photo& photo, const Calibration& calibration) const {
        const auto saved = save_report_picture(photo, calibration, path("r.pdf"));
        EXPECT_TRUE(saved);
        if (std::system(("pdftotext '" + path("r.pdf") + "' '" + path("r.txt") + "' 2> /dev/null").c_str()) != 0) return {};
        std::ifstream file(path("r.txt"));
        std::string text;  // without its line breaks
        for (std::string word; file >> word;) text += (text.empty() ? "" : " ") + word;
        return text;
    }
};

TEST_F(ReportPicture, SaysWhatTheCalibrationSays) {
    const test::Scene& s = test::scene("case-22");
    const Photo& photo = test::photo_of(s);
    References r;
    r.grays.push_back(s.card());
    r.chart = s.chart();
    const Calibration c = *calibrate(photo, r);
    const std::string text = words(photo, c);
    if (text.empty()) GTEST_SKIP() << "pdftotext (package poppler-utils) is not installed";
    const ReferenceUse* worst = nullptr;
    for (const ReferenceUse& use : c.uses) {
        if (use.used && (worst == nullptr || use.de00 > worst->de00)) worst = &use;
    }
    char mean[16], p95[16], most[16];
    std::snprintf(mean, sizeof mean, "%.1f", *c.loo.mean);
    std::snprintf(p95, sizeof p95, "%.1f", *c.loo.p95);
    std::snprintf(most, sizeof most, "%.1f", worst->de00);
    for (const std::string& part : {std::string("Calibration of photo.jpg"), c.method, std::string("\u0394E00 ") + mean, std::string(p95),
                                    worst->name + ", " + most, std::string("What it does not cover"), std::string("not named")})
        EXPECT_THAT(text, HasSubstr(part));
    for (int patch = 1; patch <= 24; ++patch) EXPECT_THAT(text, HasSubstr(std::to_string(patch)));
}

/// Glare over a fifth of the orange patch: its share is told, and orange squares mark where it lies; the course of the light has its map.
TEST_F(ReportPicture, MarksDustGlareAndLight) {
    for (const bool glare : {false, true}) {
        test::Bench bench;
        bench.slope = {0.25, 0};
        References r;
        r.chart = bench.lay_chart();
        if (glare) bench.lay_rgb({225, 215, 41, 9}, {1.4, 1.4, 1.4});  // over patch 7, at (220, 210), 51 pixels wide
        const Calibration c = *calibrate(bench.photo, r);
        ASSERT_TRUE(c.light.field_known);
        ASSERT_TRUE(save_report_picture(bench.photo, c, path("r.png")));
        const auto in = OIIO::ImageInput::open(path("r.png"));
        ASSERT_TRUE(in);
        std::vector<unsigned char> rgb(3UL * 1600 * 1131);
        in->read_image(0, 0, 0, 3, OIIO::TypeDesc::UINT8, rgb.data());
        int marked = 0;
        for (std::size_t i = 0; i < rgb.size(); i += 3) marked += rgb[i] == 255 && std::abs(rgb[i + 1] - 115) <= 1 && rgb[i + 2] == 0;
        EXPECT_EQ(marked > 20, glare) << marked;  // the patch is sampled in its inner part
        const std::string text = words(bench.photo, c);
        if (text.empty()) continue;  // pdftotext is missing
        EXPECT_THAT(text, HasSubstr("The light over the photo"));
        EXPECT_EQ(text.find("Left out as dust or glare (orange): patch 7 orange") != std::string::npos, glare) << text;
    }
}

TEST_F(ReportPicture, IsOnePictureOfItsSize) {
    const test::Scene& s = test::scene("case-02");
    const Photo& photo = test::photo_of(s);
    References chart;
    chart.chart = s.chart();
    const Calibration c = *calibrate(photo, chart);
    ASSERT_TRUE(save_report_picture(photo, c, path("r.PNG")));
    const auto in = OIIO::ImageInput::open(path("r.PNG"));
    ASSERT_TRUE(in);
    EXPECT_EQ(in->spec().width, 1600);
    EXPECT_EQ(in->spec().height, 1131);
    // the known orange of patch 7 is on the page, as the dot of the a*b* plane
    std::vector<unsigned char> rgb(3UL * 1600 * 1131);
    in->read_image(0, 0, 0, 3, OIIO::TypeDesc::UINT8, rgb.data());
    const EncodedRgb orange = screen_color(c.uses[6].value).rgb;
    int found = 0;
    for (std::size_t i = 0; i < rgb.size(); i += 3)
        found += std::abs(rgb[i] - 255 * orange.r) <= 1 && std::abs(rgb[i + 1] - 255 * orange.g) <= 1 && std::abs(rgb[i + 2] - 255 * orange.b) <= 1;
    EXPECT_GT(found, 60);
}

/// No reference, one, few, all over the picture, at its very edge, in a tiny picture, one that could not be read: a page each time.
TEST_F(ReportPicture, EveryKindOfCalibrationHasAPage) {
    test::Bench bench;
    const GrayReference card{bench.lay_card(), 18};
    const KnownReference chip{"Straw <31> & \"co\" \xFF", bench.lay({560, 360, 40, 40}, test::surface(40)), test::lab_d50(test::surface(40))};
    for (int kind = 0; kind < 3; ++kind) {
        References r;
        if (kind > 0) r.grays.push_back(card);
        if (kind > 1) r.known.push_back(chip);
        Calibration c = *calibrate(bench.photo, r);
        EXPECT_TRUE(save_report_picture(bench.photo, c, path("r.pdf"))) << kind;
        EXPECT_TRUE(save_report_picture(bench.photo, c, path("r.png"))) << kind;
        for (ReferenceUse& use : c.uses) {
            use.read.reset();
            use.used = false;
        }
        c.warnings.assign(30, "a warning as long as warnings are, so that thirty of them are more than the page has room for");
        EXPECT_TRUE(save_report_picture(bench.photo, c, path("r.png"))) << kind;
    }
    Photo tiny = bench.photo;
    tiny.width = 5;
    tiny.height = 1;
    EXPECT_TRUE(save_report_picture(tiny, *calibrate(tiny, {}), path("r.png")));
}

TEST_F(ReportPicture, AnotherEndingIsRefused) {
    EXPECT_TRUE(can_save_report_picture("a.pdf"));
    const auto no = can_save_report_picture("a.jpg");
    ASSERT_FALSE(no);
    EXPECT_EQ(no.error().fault, Fault::bad_usage);
    EXPECT_THAT(no.error().remedy, HasSubstr("report.png"));
}

ReferenceUse of(const char* name, double L, double a, double b, bool used = true) {
    ReferenceUse use;
    use.name = name;
    use.used = used;
    use.value = {L, a, b};
    return use;
}

TEST(NotCovered, FollowsTheReferences) {
    EXPECT_THAT(not_covered({}), ElementsAre(HasSubstr("every color")));
    EXPECT_THAT(not_covered({of("gray", 50, 0, 0)}),
                ElementsAre("all colors but grays: no colored reference", "colors darker than L* 50", "colors lighter than L* 50"));
    EXPECT_THAT(not_covered({of("red", 40, 50, 20), of("white", 97, 0, 0), of("black", 4, 0, 0)}),
                ElementsAre("oranges and yellows, greens, blue-greens, blues and purples: no reference of such a hue", "reds stronger than C* 54"));
    const std::vector<ReferenceUse> ring{of("r", 50, 63, 29),   of("y", 80, 12, 69), of("g", 50, -54, 45),
                                         of("c", 60, -66, -24), of("b", 30, 0, -70), of("p", 40, 57, -40)};
    EXPECT_THAT(not_covered(ring), Contains("very saturated colors, beyond C* 70"));
    EXPECT_THAT(not_covered(ring), Not(Contains(HasSubstr("stronger"))));
    std::vector<ReferenceUse> without = ring;
    without[2].used = false;  // a reference that was not used covers nothing
    EXPECT_THAT(not_covered(without), Contains("greens: no reference of such a hue"));
}

}  // namespace
}  // namespace sw
