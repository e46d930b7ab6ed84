// Finding by color, words, part, verdict and date. Sources: CIEDE2000 as in src/color (34 published pairs there); nearest() against doing all without
// its bound; words by FTS5 of SQLite.
#include "workbook/find.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>

#include <ctime>
#include <random>

#include "color/difference.hpp"
#include "slow.hpp"
#include "workbook/exchange_cxf.hpp"
#include "workbook/exchange_json.hpp"
#include "workbook/nearest.hpp"
#include "workbook/samples.hpp"

namespace sw {
namespace {

using testing::ElementsAre;

TEST(Nearest, IsWhatGoingThroughAllGives) {
    std::mt19937 random(31);
    std::uniform_real_distribution<double> lightness(-5, 130), hue(-110, 110);  // beyond white and black too: the bound must hold there as well
    std::vector<Lab> colors(4000);
    for (Lab& color : colors) color = {lightness(random), hue(random), hue(random)};
    for (int round = 0; round < 60; ++round) {
        const Lab wanted{lightness(random), hue(random), hue(random)};
        const double within = 1 + round % 12;
        std::vector<std::pair<double, std::size_t>> all;
        for (std::size_t i = 0; i < colors.size(); ++i) {
            const double de00 = difference_2000(wanted, colors[i]);
            if (de00 <= within) all.emplace_back(de00, i);
        }
        std::sort(all.begin(), all.end());
        const std::vector<Near> found = nearest(colors, wanted, within);
        ASSERT_EQ(found.size(), all.size());
        for (std::size_t i = 0; i < all.size(); ++i) EXPECT_TRUE(found[i].index == all[i].second && found[i].de00 == all[i].first);
    }
}

// Where the difference goes straight with the color the spread is the gradient's; simulated, seeded draws as the outside.
TEST(Nearest, TheSpreadOfADifferenceIsThatOfDraws) {
    std::mt19937 random(32);
    std::normal_distribution<double> normal;
    const Lab wanted{50, 10, 20};
    for (const Lab& color : {Lab{56, 14, 25}, Lab{44, 2, 30}, Lab{50, 10, 20}}) {
        Eigen::Matrix3d half;
        half << 0.3, 0, 0, 0.05, 0.2, 0, -0.05, 0.1, 0.25;
        const double told = difference_sd(wanted, color, half * half.transpose());
        double sum = 0, squares = 0;
        constexpr int kDraws = 20000;
        for (int i = 0; i < kDraws; ++i) {
            const Eigen::Vector3d off = half * Eigen::Vector3d(normal(random), normal(random), normal(random));
            const double de00 = difference_2000(wanted, {color.L + off[0], color.a + off[1], color.b + off[2]});
            sum += de00;
            squares += de00 * de00;
        }
        const bool apart = difference_2000(wanted, color) > 1;  // at 0 the spread is about 0, not about the mean
        const double drawn = std::sqrt(squares / kDraws - (apart ? sum / kDraws * sum / kDraws : 0));
        EXPECT_NEAR(told, drawn, 0.03 * drawn + 0.003);
    }
}

// L* of the same surface under another white stays, as the perfect white does; the round trip by hand is color/adaptation's test.
TEST(Nearest, ColorsOfOtherLightsAreAdapted) {
    const Lab d65_gray{50, 0, 0, xyz(*light("D65"), Observer::degree2)};
    const Lab adapted = under_d50(d65_gray);
    EXPECT_NEAR(adapted.L, 50, 1e-9);
    EXPECT_NEAR(adapted.a, 0, 1e-6);
    EXPECT_NEAR(adapted.b, 0, 1e-6);
    const Lab own{50, 1, 2};
    EXPECT_EQ(under_d50(own).a, 1);
}

Target plain(const std::string& name, Lab lab, double sd) {
    Target target;
    target.name = name;
    target.lab = lab;
    target.lab_covariance = Eigen::Matrix3d::Identity() * sd * sd;
    target.source = "typed";
    return target;
}

TEST(Duplicates, AreNearOrNotClearOfTheirDoubt) {
    const std::vector<Target> targets{plain("Damson 14", {32, 20, -12}, 0.1), plain("Damson", {32.4, 20, -12}, 0.1),  // 0.3 apart: hardly seen
                                      plain("plum", {34.4, 20, -12}, 0.1),        // 1.5 and 1.8 apart, and sure of it
                                      plain("dark thing", {34.6, 20, -12}, 1.5),  // as far, but may be any of them
                                      plain("Straw 31", {80, 2, 31}, 5)};         // far from all
    std::vector<std::string> pairs;
    for (const Twins& pair : twins(targets)) pairs.push_back(targets[pair.one].name + "+" + targets[pair.two].name);
    EXPECT_THAT(pairs, testing::UnorderedElementsAre("Damson 14+Damson", "Damson 14+dark thing", "Damson+dark thing", "plum+dark thing"));
    std::vector<std::string> alike;
    for (const Twins& pair : twins_of(plain("new", {32, 20, -12}, 0.1), targets)) alike.push_back(targets[pair.one].name);
    EXPECT_THAT(alike, testing::ElementsAre("Damson 14", "Damson", "dark thing"));
}

class Finding : public testing::Test {
protected:
    void SetUp() override {
        const auto add = [&](const std::string& name, Lab lab) { return workbook_.add(plain(name, lab, 0.2))->id; };
        const std::int64_t damson = add("Damson 14", {32, 20, -12});
        add("Straw 31", {80, 2, 31});
        add("D\xC3\xA4mmerung", {33, 20, -12});
        Part car = sample_part(0);
        car.name = "Car no. 2";
        car_ = *workbook_.add(car);
        Part side = sample_part(0, damson, car_.id);
        side.name = "body side";
        side_ = *workbook_.add(side);
        KeptReading reading = sample_reading(2);
        reading.name = "swatch 3 of Damson";
        reading.target = damson;
        reading.lab = {32.5, 20, -12};
        reading.verdict = "within";
        ASSERT_TRUE(workbook_.add(reading));
        Note note = sample_note(1, 0, side_.id);
        note.text = "Two coats over the \"gray\" primer; D\xC3\xA4mmer light";
        ASSERT_TRUE(workbook_.add(note));
    }
    // The names found, in order; notes by their number.
    std::vector<std::string> found(const Question& question) {
        const Result<Found> all = find(workbook_, question);
        EXPECT_TRUE(all) << describe(all.error());
        std::vector<std::string> names;
        for (const auto& hit : all->targets) names.push_back(hit.item.name);
        for (const auto& hit : all->readings) names.push_back(hit.item.name);
        for (const Part& part : all->parts) names.push_back(part.name);
        for (const Note& note : all->notes) names.push_back("note " + std::to_string(note.id));
        for (const Card& card : all->cards) names.push_back(card.name);
        for (const Lamp& lamp : all->lamps) names.push_back(lamp.name);
        for (const KeptSetup& setup : all->setups) names.push_back(setup.name);
        return names;
    }
    std::vector<std::string> words(const std::string& text) {
        Question question;
        question.text = text;
        return found(question);
    }
    Folder folder_{quick_place()};
    Workbook workbook_ = opened(folder_ / "book.swb");
    Part car_, side_;
};

TEST_F(Finding, Words) {
    EXPECT_THAT(words("damson"), ElementsAre("Damson 14", "swatch 3 of Damson"));
    EXPECT_THAT(words("dams 14"), ElementsAre("Damson 14"));
    EXPECT_THAT(words("dammer"), ElementsAre("D\xC3\xA4mmerung", "note 1"));
    EXPECT_THAT(words("PRIMER coats"), ElementsAre("note 1"));
    EXPECT_THAT(words("\"gray\""), ElementsAre("note 1"));
    for (const char* odd : {"AND", "NEAR(", "text:x", "* ^", "' OR 1=1", "-14"}) static_cast<void>(words(odd));  // no operator, no error
    EXPECT_THAT(words("nothing"), ElementsAre());
    Question blank;
    blank.text = " \t";
    EXPECT_FAULT(find(workbook_, blank), Fault::bad_usage);
    // After undo and redo the words are those of the rows: nothing is kept apart from them.
    ASSERT_TRUE(*workbook_.undo());
    EXPECT_THAT(words("primer"), ElementsAre());
    ASSERT_TRUE(*workbook_.redo());
    EXPECT_THAT(words("primer"), ElementsAre("note 1"));
}

TEST_F(Finding, ColorsPartsVerdictsAndDates) {
    Question near;
    near.near = Lab{33, 20, -12};
    near.within = 1;
    EXPECT_THAT(found(near), ElementsAre("D\xC3\xA4mmerung", "Damson 14", "swatch 3 of Damson"));
    const Result<Found> all = find(workbook_, near);
    EXPECT_EQ(all->targets[0].distance->de00, 0);
    EXPECT_GT(all->targets[0].distance->sd, 0.1);
    EXPECT_NEAR(all->targets[1].distance->de00, difference_2000({33, 20, -12}, {32, 20, -12}), 1e-12);
    Question part;
    part.part = car_.id;
    EXPECT_THAT(found(part), ElementsAre("Damson 14", "swatch 3 of Damson", "body side", "Car no. 2", "note 1"));
    part.text = "swatch";
    EXPECT_THAT(found(part), ElementsAre("swatch 3 of Damson"));
    Question verdict;
    verdict.verdict = "within";
    EXPECT_THAT(found(verdict), ElementsAre("swatch 3 of Damson"));
    verdict.verdict = "outside";
    EXPECT_THAT(found(verdict), ElementsAre());
    Question since;
    since.since = "2999-01-01";
    EXPECT_THAT(found(since), ElementsAre());
    since.since = "2001-01-01";
    EXPECT_EQ(found(since).size(), 7U);
}

TEST_F(Finding, CardsLampsAndSetupsByName) {
    Card card = sample_card(0);
    card.name = "gray card of the bench";
    KeptSetup setup = sample_setup(1);
    setup.name = "bench, evening";
    ASSERT_TRUE(workbook_.add(card) && workbook_.add(sample_lamp(0)) && workbook_.add(setup));
    EXPECT_THAT(words("bench"), ElementsAre("gray card of the bench", "bench lamp 0", "bench, evening"));
    EXPECT_THAT(words("eve"), ElementsAre("bench, evening"));
    Question question;
    question.text = "bench";
    question.since = "2999-01-01";
    EXPECT_TRUE(found(question).empty());
    for (const bool near : {true, false}) {  // none of them has a color that was looked for, a verdict or a part
        Question other;
        other.text = "bench";
        if (near) other.near = Lab{50, 0, 0};
        if (!near) other.verdict = "within";
        EXPECT_TRUE(found(other).empty());
    }
    Question in_part;
    in_part.text = "bench";
    in_part.part = car_.id;
    EXPECT_TRUE(found(in_part).empty());
}

TEST_F(Finding, ATargetWhosePhotoIsGoneIsKnown) {
    const std::vector<Target> targets = *workbook_.targets();
    KeptReading made = sample_reading(1);  // not judged: the target was made of it
    made.target = targets[1].id;
    ASSERT_TRUE(workbook_.add(made));
    KeptPhoto photo = sample_photo(1);
    photo.hash = made.photo_hash;
    EXPECT_THAT(targets_off_record(*workbook_.readings(), *workbook_.photos()), ElementsAre(targets[1].id))
        << "not the one that a swatch was held against";
    const std::int64_t kept = workbook_.keep(photo)->id;
    EXPECT_TRUE(targets_off_record(*workbook_.readings(), *workbook_.photos()).empty());
    ASSERT_TRUE(workbook_.remove_photo(kept));
    EXPECT_FAULT(workbook_.remove_photo(kept), Fault::name_unknown);
    EXPECT_EQ(targets_off_record(*workbook_.readings(), *workbook_.photos()).size(), 1U);
    ASSERT_TRUE(*workbook_.undo());
    EXPECT_TRUE(same_content(*workbook_.photo(photo.hash), photo));
}

// 10 000 targets and 50 000 readings: times are printed beside their bars, not asserted; round trips are. Smaller under the sanitizers.
TEST(Large, OpenAndFind) {
    const int targets = test::kSlow ? 500 : 10'000, readings = 5 * targets;
    const Folder folder(quick_place());
    const auto now = [] { return std::clock(); };  // the processor's time: what else runs at the moment does not count
    const auto ms = [](std::clock_t from, std::clock_t to) { return 1e3 * static_cast<double>(to - from) / CLOCKS_PER_SEC; };
    std::mt19937 random(33);
    std::uniform_real_distribution<double> lightness(5, 95), hue(-60, 60);
    const auto start = now();
    {
        Workbook workbook = opened(folder / "book.swb");
        const Result<Done> filled = workbook.together("all of it", [&]() -> Result<Done> {
            for (int number = 0; number < targets; ++number) {
                const Result<Target> added =
                    workbook.add(plain("color " + std::to_string(number), {lightness(random), hue(random), hue(random)}, 0.4));
                if (!added) return added.error();
            }
            for (int number = 0; number < readings; ++number) {
                KeptReading reading = sample_reading(2 * number + 1);
                reading.calibration_json = "{\"note\":\"" + std::string(600, 'x') + "\"}";  // as long as that of a photo with a gray card
                reading.target = number % targets + 1;
                reading.lab = {lightness(random), hue(random), hue(random)};
                if (const Result<KeptReading> added = workbook.add(reading); !added) return added.error();
            }
            return Done{};
        });
        ASSERT_TRUE(filled) << describe(filled.error());
    }
    const auto made = now();
    const Workbook workbook = opened(folder / "book.swb", false);
    const auto opened_at = now();
    const std::vector<Target> all = *workbook.targets();
    const auto targets_at = now();
    const std::size_t reading_count = workbook.readings()->size();
    const auto readings_at = now();
    std::vector<Lab> colors;
    for (const Target& target : all) colors.push_back(under_d50(target.lab));
    const auto colors_at = now();
    const std::size_t near = nearest(colors, all[0].lab, 3).size();
    const auto near_at = now();
    const std::size_t pairs = twins(all).size();
    const auto twins_at = now();
    Question question;
    question.text = "color 77";
    const std::size_t words = find(workbook, question)->targets.size();
    const auto words_at = now();
    Exchange exchange;
    exchange.targets = all;
    const auto json_from = now();
    const Result<Exchange> by_json = exchange_of_json(exchange_json(exchange), "o.json");
    const auto json_at = now();
    const Result<Exchange> by_cxf = exchange_of_cxf(cxf_text(exchange, "2031-05-06T07:08:09Z").text, {.file = "o.cxf"});
    const auto cxf_at = now();
    ASSERT_TRUE(by_json && by_cxf);
    for (const Result<Exchange>* read : {&by_json, &by_cxf}) {
        EXPECT_TRUE((*read)->not_taken.empty());
        EXPECT_TRUE(std::equal((*read)->targets.begin(), (*read)->targets.end(), all.begin(), all.end(), [](const Target& one, const Target& two) {
            return same_content(one, two);
        })) << "equal to the last stored digit";
    }
    EXPECT_EQ(all.size(), static_cast<std::size_t>(targets));
    EXPECT_EQ(reading_count, static_cast<std::size_t>(readings));
    EXPECT_GT(words, 0U);
    std::printf("%d targets, %d readings, %.0f MB, made in %.1f s; the bars are for 10 000 and 50 000\n", targets, readings,
                static_cast<double>(std::filesystem::file_size(folder / "book.swb")) / 1e6, ms(start, made) / 1e3);
    const double near_ms = ms(colors_at, near_at), open_ms = ms(made, readings_at);
    std::printf("  open and read all       %7.1f ms, bar 500 (open %.1f, targets %.1f, readings %.1f)\n", open_ms, ms(made, opened_at),
                ms(opened_at, targets_at), ms(targets_at, readings_at));
    std::printf("  nearest color           %7.1f ms, bar 20 (%zu found; once %.1f more to adapt the colors)\n", near_ms, near,
                ms(readings_at, colors_at));
    std::printf("  all duplicates          %7.1f ms (%zu)\n", ms(near_at, twins_at), pairs);
    std::printf("  words in all of it      %7.1f ms\n", ms(twins_at, words_at));
    std::printf("  targets as JSON, back   %7.1f ms, equal to the last digit\n", ms(json_from, json_at));
    std::printf("  targets as CxF, back    %7.1f ms, equal to the last digit\n", ms(json_at, cxf_at));
}

}  // namespace
}  // namespace sw
