// Sheets about targets, read back by poppler's tools: pages, paper, words, figures, and the patch's color on the page. How they look was judged by
// eye with short, long and non-Latin names.
#include "sheet/target_sheets.hpp"

#include "sheet/book_sheets.hpp"

#include <gmock/gmock.h>

#include <array>
#include <cmath>

#include "calibrate/screen.hpp"
#include "folder_test.hpp"
#include "sheet/file.hpp"
#include "sheet/page_parts.hpp"
#include "sheet/read_back.hpp"

namespace sw {
namespace {

using testing::ContainsRegex;
using testing::HasSubstr;

class TargetSheets : public test::ReadBackTest {};

Result<Sheet> saved(Result<Sheet> sheet) {
    if (!sheet) return sheet;
    for (const DrawnFile& file : sheet->files) {
        if (const auto written = write_file(file.name, file.bytes); !written) return written.error();
    }
    return sheet;
}
Result<Sheet> saved_card(const Target& target, const Paper& paper, const std::string& path, const std::optional<TargetPlace>& place = {}) {
    return saved(target_card(target, paper, path, place));
}
Result<Sheet> saved_list(const std::vector<Target>& targets, const std::string& title, const Paper& paper, const std::string& path) {
    return saved(target_list(targets, title, paper, path));
}
Result<Sheet> saved_labels(const std::vector<Target>& targets, const Paper& paper, const std::string& path) {
    return saved(target_labels(targets, paper, path));
}

Target damson() {
    Target target;
    target.name = "Damson 14";
    target.lab = {32.5, 20.8, -12.7};
    target.lab_covariance = Eigen::Matrix3d::Identity() * 0.09;
    target.kind = TargetKind::chip;
    target.source = "bench.jpg 323,591,172,156";
    target.created = "2031-05-06T07:08:09.100Z";
    return target;
}

std::vector<std::string> awkward_names() {
    std::string umlauts;
    for (int i = 0; i < 100; ++i) umlauts += "Ä";
    return {"Damson 14",
            std::string(200, 'x'),
            umlauts,
            "Σκούρο πράσινο",
            "Тёмно-зелёный вагон",
            "שזיף כהה 14",
            "أرجواني داكن",
            "暗紫色 李子",
            "गहरा बैंगनी",
            "Body side of car no. 2 of the Marrowdale Funicular, upper half, as repainted after the winter in which the shed's roof came down"};
}

std::vector<Target> many(std::size_t count) {
    std::vector<Target> targets;
    for (std::size_t i = 0; i < count; ++i) {
        Target target = damson();
        target.name = awkward_names()[i % 10].substr(0, i < 10 ? 200 : 100) + " " + std::to_string(i);
        target.lab = {10 + static_cast<double>(i % 80), 20.0 - static_cast<double>(i % 41), static_cast<double>(i % 37) - 18};
        target.kind = static_cast<TargetKind>(i % 4);
        if (i % 7 == 0) target.light = "0.7*led:6500,ra=80+0.3*D65";
        targets.push_back(target);
    }
    return targets;
}

TEST_F(TargetSheets, TheCardTellsTheColorAndWhereItComesFrom) {
    ASSERT_TRUE(saved_card(damson(), kA4, path("card.pdf")));
    const std::string info = said("pdfinfo " + path("card.pdf"));
    EXPECT_THAT(info, ContainsRegex("Pages: +1\n"));
    EXPECT_THAT(info, HasSubstr("595.276 x 841.89 pts (A4)"));
    EXPECT_THAT(info, ContainsRegex("Title: +Damson 14\n"));
    const std::string text = words("card.pdf");
    for (const char* word :
         {"Damson 14", "32.5 ± 0.3", "20.8 ± 0.3", "-12.7 ± 0.3", "24.4 ± 0.3", "328.6 ± 0.7°", "7.3 ± 0.1", "D50", "CIE 2°", "chip",
          "bench.jpg 323,591,172,156", "2031-05-06", "is not the color", "one standard deviation", "unglossed paint", "#654061"})
        EXPECT_THAT(text, HasSubstr(word));
    EXPECT_THAT(text, testing::Not(HasSubstr(kAppearance)));
}

// The middle of the card's patch. Source: screen_color, which other tests hold to Little CMS; rendered by poppler.
TEST_F(TargetSheets, ThePatchHasTheColorOnThePage) {
    ASSERT_TRUE(saved_card(damson(), kA4, path("card.pdf")));
    const auto rgb = screen_color(damson().lab).rgb;
    const auto pixel = drawn("card.pdf").at(300, 300);
    int channel = 0;
    for (const double value : {rgb.r, rgb.g, rgb.b})
        EXPECT_NEAR(pixel[static_cast<std::size_t>(channel++)], 255 * value, 1.01);  // PDF's decimals, rounding
    const auto png = saved_card(damson(), kLetter, path("card.png"));
    ASSERT_TRUE(png);
    const Seen picture = seen(path("card.png"));
    EXPECT_EQ(picture.width, 1700);  // 8.5 x 11 inches at 200 dpi
    EXPECT_EQ(picture.height, 2200);
    EXPECT_NEAR(picture.at(850, 830)[0], 255 * rgb.r, 0.51);
    EXPECT_THAT(said("identify -verbose " + path("card.png")), HasSubstr("sRGB"));
}

TEST_F(TargetSheets, ScreenAndGamutAreSaid) {
    Target target = damson();
    target.kind = TargetKind::screen;
    target.lab = {60, 90, 60};
    ASSERT_TRUE(saved_card(target, kLetter, path("card.pdf")));
    const std::string text = words("card.pdf");
    EXPECT_THAT(text, HasSubstr("Appearance on screen, not a measurement"));
    EXPECT_THAT(text, HasSubstr("the nearest that sRGB has"));
    EXPECT_THAT(said("pdfinfo " + path("card.pdf")), HasSubstr("612 x 792 pts (letter)"));
}

// Cairo 1.16 writes bare device RGB; the output intent is ours. Source: ISO 32000-1, 14.11.5. poppler and ImageMagick rebuild a damaged file
// silently, so the offsets are followed here.
TEST_F(TargetSheets, ThePdfSaysThatItsRgbIsSrgb) {
    ASSERT_TRUE(saved_card(damson(), kA4, path("card.pdf")));
    std::string pdf(std::filesystem::file_size(path("card.pdf")), '\0');
    std::FILE* file = fopen(path("card.pdf").c_str(), "rb");
    ASSERT_EQ(fread(pdf.data(), 1, pdf.size(), file), pdf.size());
    fclose(file);
    const auto number = [&](std::size_t at) { return static_cast<std::size_t>(std::stoul(pdf.substr(at, 12))); };
    const std::size_t last = pdf.rfind("startxref\n");
    const std::size_t table = number(last + 10);
    ASSERT_EQ(pdf.compare(table, 5, "xref\n"), 0);
    const std::size_t first_line = table + 5, root = number(first_line), root_at = number(pdf.find('\n', first_line) + 1);
    EXPECT_EQ(pdf.compare(root_at, std::to_string(root).size() + 7, std::to_string(root) + " 0 obj\n"), 0);
    const std::string catalog = pdf.substr(root_at, pdf.find("endobj", root_at) - root_at);
    EXPECT_THAT(catalog, HasSubstr("/Type /Catalog"));
    EXPECT_THAT(catalog, HasSubstr("/Pages"));
    EXPECT_THAT(catalog, HasSubstr("/DestOutputProfile"));
    const std::size_t trailer = pdf.rfind("trailer");
    EXPECT_EQ(pdf.compare(number(pdf.find("/Prev ", trailer) + 6), 4, "xref"), 0);
    const std::size_t profile = pdf.find("acsp", root_at > pdf.find("acsp") ? 0 : root_at);
    ASSERT_NE(profile, std::string::npos);
    EXPECT_EQ(pdf.substr(profile - 36 + 16, 4), "RGB ");  // ICC.1:2010, 7.2: color space in bytes 16..19, signature in 36..39
}

TEST_F(TargetSheets, TwoHundredTargetsPaginateAndNoneIsLost) {
    const auto targets = many(200);
    const auto list = saved_list(targets, "Targets of funicular.swb", kA4, path("list.pdf"));
    ASSERT_TRUE(list);
    EXPECT_THAT(list->pages, testing::AllOf(testing::Ge(10U), testing::Le(25U)));
    EXPECT_THAT(said("pdfinfo " + path("list.pdf")), ContainsRegex("Pages: +" + std::to_string(list->pages) + "\n"));
    const std::string text = words("list.pdf", "-raw");
    EXPECT_THAT(text, HasSubstr("200 targets"));
    EXPECT_THAT(text, HasSubstr("page " + std::to_string(list->pages) + " of " + std::to_string(list->pages)));
    std::size_t figures = 0;
    for (std::size_t at = 0; (at = text.find("LRV ", at)) != std::string::npos; ++at) ++figures;
    EXPECT_EQ(figures, 200U);
    EXPECT_THAT(text, HasSubstr("Тёмно-зелёный вагон 4"));
    EXPECT_THAT(text, HasSubstr("Σκούρο πράσινο 13"));

    const auto labels = saved_labels(targets, kLetter, path("labels.pdf"));
    ASSERT_TRUE(labels);
    EXPECT_EQ(labels->pages, 9U);  // 8 rows of 3 on Letter
    const std::string small = words("labels.pdf", "-raw");
    figures = 0;
    for (std::size_t at = 0; (at = small.find("LRV ", at)) != std::string::npos; ++at) ++figures;
    EXPECT_EQ(figures, 200U);
}

// No word ends beyond the margins: every one as poppler found it.
TEST_F(TargetSheets, NothingFallsOffThePage) {
    for (const Paper& paper : {kA4, kLetter}) {
        ASSERT_TRUE(saved_list(many(200), std::string(200, 'W') + ".swb", paper, path("sheet1.pdf")));
        ASSERT_TRUE(saved_labels(many(40), paper, path("sheet2.pdf")));
        Target longest = damson();
        longest.kind = TargetKind::screen;
        longest.lab = {60, 90, 60};
        longest.light = "0.7*led:6500,ra=80,duv=0.003+0.2*daylight:5600+0.1*planck:2850";
        longest.source = std::string(3000, 's') + " end";
        int number = 3;
        std::vector<std::string> files{"sheet1.pdf", "sheet2.pdf"};
        for (const std::string& name : awkward_names()) {
            longest.name = name;
            files.push_back("sheet" + std::to_string(number++) + ".pdf");
            ASSERT_TRUE(saved_card(longest, paper, path(files.back())));
        }
        for (const std::string& name : files) {
            const std::string boxes = said("pdftotext -bbox " + path(name) + " -");
            std::size_t count = 0;
            for (std::size_t at = 0; (at = boxes.find("<word ", at)) != std::string::npos; ++at, ++count) {
                double x0 = 0, y0 = 0, x1 = 0, y1 = 0;
                ASSERT_EQ(std::sscanf(boxes.c_str() + at, "<word xMin=\"%lf\" yMin=\"%lf\" xMax=\"%lf\" yMax=\"%lf\"", &x0, &y0, &x1, &y1), 4);
                EXPECT_GE(x0, kSheetMargin - 23) << name;  // the scissors stand outside
                EXPECT_LE(x1, paper.width - kSheetMargin + 2) << name << boxes.substr(at, 100);
                EXPECT_GE(y0, kSheetMargin - 4) << name;
                EXPECT_LE(y1, paper.height - kSheetMargin + 4) << name;
            }
            EXPECT_GT(count, 20U);
        }
    }
}

TEST_F(TargetSheets, SourcesNamePhotosAndPlaces) {
    const auto one = photo_place("My Photos/bench 2.jpg 323,591,172,156");
    ASSERT_TRUE(one);
    EXPECT_EQ(one->file, "My Photos/bench 2.jpg");
    EXPECT_EQ(to_text(one->region), "323,591,172,156");
    const auto several = photo_place("a.png ellipse:20,20,5,5; b.png 1,2,3,4 (" + std::string(kAppearance) + ")");
    ASSERT_TRUE(several);
    EXPECT_EQ(several->file, "a.png");
    EXPECT_EQ(photo_place("a.png 1,2,3,4 (" + std::string(kAppearance) + ")")->file, "a.png");
    for (const char* words : {"typed", "typed; \u00B1 0.5 assumed", "", " 1,2,3,4", "probe.csv line 7", "1,2,3,4"})
        EXPECT_FALSE(photo_place(words)) << words;
}

// A photo of two halves: the picture on the page shows both, the frame lies where the region is.
TEST_F(TargetSheets, TheCardShowsThePlaceInThePhoto) {
    Photo photo;
    photo.width = 400;
    photo.height = 300;
    photo.rgb.assign(400UL * 300 * 3, 0.F);
    for (std::size_t i = 0; i < 400UL * 300; ++i) photo.rgb[3 * i + (i % 400 < 200 ? 0 : 2)] = 1;
    const auto place = target_place(photo, Box{100, 75, 50, 60});
    ASSERT_TRUE(place);
    EXPECT_DOUBLE_EQ(place->box.x, 0.25);
    EXPECT_DOUBLE_EQ(place->box.height, 0.2);
    EXPECT_FALSE(target_place(photo, Box{100, 75, 50, 260}));
    for (const Paper& paper : {kA4, kLetter}) {
        ASSERT_TRUE(saved_card(damson(), paper, path("card.pdf"), place));
        const Seen page = drawn("card.pdf");
        const auto red = [](const std::array<int, 3>& p) { return p[0] > 250 && p[1] < 5 && p[2] < 5; };  // poppler smooths: 254 in places
        const auto blue = [](const std::array<int, 3>& p) { return p[0] < 5 && p[1] < 5 && p[2] > 250; };
        int left = page.width, right = 0, top = page.height, bottom = 0;  // of what is red or blue
        for (int y = 0; y < page.height; ++y) {
            for (int x = 0; x < page.width; ++x) {
                if (!red(page.at(x, y)) && !blue(page.at(x, y))) continue;
                left = std::min(left, x);
                right = std::max(right, x + 1);
                top = std::min(top, y);
                bottom = std::max(bottom, y + 1);
            }
        }
        const double width = right - left, height = bottom - top;
        ASSERT_GT(height, 50);
        EXPECT_NEAR(width / height, 4.0 / 3, 0.05);
        const auto at = [&](double x, double y) { return page.at(left + x * width, top + y * height); };
        EXPECT_TRUE(red(at(0.4, 0.1)));
        EXPECT_TRUE(blue(at(0.6, 0.1)));
        EXPECT_TRUE(red(at(0.3125, 0.35))) << "inside the frame";
        EXPECT_FALSE(red(at(0.25, 0.35))) << "the frame's left side";
        EXPECT_FALSE(red(at(0.375, 0.35))) << "its right side";
        EXPECT_THAT(words("card.pdf"), HasSubstr("The place in the photo"));
    }
}

TEST_F(TargetSheets, PicturesAreNumberedAndBadNamesRefused) {
    const auto list = saved_list(many(40), "Targets", kA4, path("list.png"));
    ASSERT_TRUE(list);
    EXPECT_EQ(list->files.size(), list->pages);
    EXPECT_EQ(list->files.front().name, path("list-1.png"));
    EXPECT_EQ(files().size(), list->pages);
    EXPECT_FALSE(saved_card(damson(), kA4, path("card.jpg")));
    EXPECT_FALSE(saved_card(damson(), kA4, path("nowhere/card.pdf")));
}

TEST_F(TargetSheets, LettersWithoutAFontAreSaid) {
    EXPECT_EQ(letters_without_font("Damson 14, \xC3\xA9t\xC3\xA9"), 0);
    const std::string odd = "Damson \xF4\x8F\xBF\xBD";  // U+10FFFD, for private use: no font has it
    EXPECT_GT(letters_without_font(odd), 0);
    auto workbook = Workbook::open(path("book.swb"), true);
    ASSERT_TRUE(workbook);
    Target target = damson();
    ASSERT_TRUE(workbook->add(target));
    const auto plain = book_sheet(*workbook, SheetKind::targets, {}, kA4, path("list.pdf"));
    ASSERT_TRUE(plain);
    EXPECT_THAT(plain->messages, testing::IsEmpty());
    target.name = odd;
    ASSERT_TRUE(workbook->add(target));
    const auto boxes = book_sheet(*workbook, SheetKind::labels, {}, kA4, path("labels.pdf"));
    ASSERT_TRUE(boxes);
    EXPECT_THAT(boxes->messages, testing::ElementsAre(HasSubstr("no font")));
}

}  // namespace
}  // namespace sw
