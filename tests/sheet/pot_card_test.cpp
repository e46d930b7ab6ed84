// The sheet of a pot, read back by poppler's tools: its words and figures are those of the record. How it looks was judged by eye.
#include "sheet/pot_card.hpp"

#include <gmock/gmock.h>

#include "sheet/book_sheets.hpp"
#include "sheet/file.hpp"
#include "sheet/mix_words.hpp"
#include "sheet/read_back.hpp"

namespace sw {
namespace {

using testing::HasSubstr;
using testing::Not;

class PotCard : public test::ReadBackTest {
protected:
    void SetUp() override {
        test::ReadBackTest::SetUp();
        Workbook workbook = *Workbook::open(path("book.swb"), true);
        Target target;
        target.name = "Damson 14";
        target.lab = {32.5, 20.8, -12.7, xyz(*light("D50"), Observer::degree2)};
        target.lab_covariance = Eigen::Matrix3d::Identity() * 0.04;
        target.kind = TargetKind::chip;
        target.source = "typed";
        const std::int64_t aim = workbook.add(target)->id;
        const std::pair<const char*, Lab> tubes[] = {{"Titanium White", {96, -0.5, 2}}, {"Quinacridone Violet", {30, 35, -5}}};
        std::vector<std::int64_t> paints;
        for (const auto& [name, masstone] : tubes) {
            KeptPaint paint;
            paint.name = name;
            paint.source = "typed";
            paints.push_back(workbook.add(paint)->id);
            KeptSample sample;
            sample.paint = paints.back();
            sample.lab = masstone;
            sample.lab.white = target.lab.white;
            sample.lab_covariance = Eigen::Matrix3d::Identity() * 0.1;
            sample.source = "typed";
            ASSERT_TRUE(workbook.add(sample));
        }
        KeptPot pot;
        pot.name = "body side";
        pot.target = aim;
        pot.tolerance = 1.5;
        pot.note = "first coat";
        const std::int64_t id = workbook.add(pot)->id;
        std::int64_t last = 0;
        for (const std::size_t paint : {0U, 1U}) {
            KeptAddition one;
            one.pot = id;
            one.paint = paints[paint];
            one.amount = paint == 0 ? 6 : 14;
            one.unit = "drops";
            one.ml = *one.amount * 0.05;
            last = workbook.add(one)->id;
        }
        KeptPotReading read;
        read.pot = id;
        read.addition = last;
        read.lab = {33, 22, -12, target.lab.white};
        read.lab_covariance = Eigen::Matrix3d::Identity() * 0.09;
        read.laid.coat = Finish::gloss;
        read.de00 = 0.9;
        read.ci_low = 0.3;
        read.ci_high = 1.4;
        read.tolerance = 1.5;
        read.verdict = "within";
        read.source = "typed";
        ASSERT_TRUE(workbook.add(read));
    }
    std::string card(const std::string& name) {
        const Workbook workbook = *Workbook::open(path("book.swb"), false);
        const auto sheet = book_sheet(workbook, SheetKind::mix, {"body side"}, kA4, path(name));
        EXPECT_TRUE(sheet) << describe(sheet.error());
        if (!sheet) return {};
        EXPECT_EQ(sheet->drawn.pages, 1U);
        EXPECT_EQ(sheet->pots, 1U);
        for (const DrawnFile& file : sheet->drawn.files) EXPECT_TRUE(write_file(file.name, file.bytes));
        return words(name);
    }
};

TEST_F(PotCard, TellsTheRecipeTheResultAndTheCautions) {
    const std::string told_there = card("pot.pdf");
    for (const char* told : {"body side", "to become \"Damson 14\"", "first coat", "0.9 (0.3 to 1.4): within 1.5", "under a gloss clear",
                             "Titanium White", "6", "0.30", "30.0", "Quinacridone Violet", "70.0", "D50", "LED-B3", "inferred",
                             "14 drops of Quinacridone Violet", "respirator", "safety data", "local rules", "unlike binders"})
        EXPECT_THAT(told_there, HasSubstr(told));
    EXPECT_THAT(told_there, Not(HasSubstr("More went in since")));
}

TEST_F(PotCard, SaysWhatItsReadingIsNotOf) {
    {
        Workbook workbook = *Workbook::open(path("book.swb"), false);
        KeptAddition more;
        more.pot = 1;
        more.paint = 1;
        more.amount = 2;
        more.unit = "drops";
        more.ml = 0.1;
        ASSERT_TRUE(workbook.add(more));
    }
    EXPECT_THAT(card("more.pdf"), HasSubstr("More went in since"));
    {
        Workbook workbook = *Workbook::open(path("book.swb"), false);
        KeptAddition unknown;
        unknown.pot = 1;
        unknown.kind = AdditionKind::unknown;
        ASSERT_TRUE(workbook.add(unknown));
        for (const std::int64_t id : {1, 2}) {
            KeptPaint paint = (*workbook.paints())[static_cast<std::size_t>(id - 1)];
            paint.binder = id == 1 ? "acrylic" : "enamel";
            ASSERT_TRUE(workbook.put(paint));
        }
        for (int i = 0; i < 60; ++i) {  // more than a page holds
            KeptAddition one;
            one.pot = 1;
            one.paint = 1;
            one.amount = 1;
            one.unit = "drops";
            one.ml = 0.05;
            ASSERT_TRUE(workbook.add(one));
        }
    }
    const std::string told_there = card("unknown.pdf");
    EXPECT_THAT(told_there, HasSubstr("Something that nobody counted"));
    EXPECT_THAT(told_there, HasSubstr("unlike binders."));
    EXPECT_THAT(told_there, HasSubstr("more: swatchwright mix log"));
}

TEST_F(PotCard, AnEmptyPotHasNoRecipe) {
    Workbook workbook = *Workbook::open(path("book.swb"), false);
    KeptPot empty;
    empty.name = "empty";
    ASSERT_TRUE(workbook.add(empty));
    const auto sheet = book_sheet(workbook, SheetKind::mix, {"empty"}, kA4, path("x.pdf"));
    ASSERT_FALSE(sheet);
    EXPECT_EQ(sheet.error().fault, Fault::name_unknown);
    EXPECT_FALSE(book_sheet(workbook, SheetKind::mix, {"none"}, kA4, path("x.pdf")));
}

}  // namespace
}  // namespace sw
