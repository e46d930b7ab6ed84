// How a reading was taken, as text and back; and what such a text may not make the program do. Expected values are what was put in.
#include "workbook/reading_request.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "workbook/samples.hpp"

namespace sw {
namespace {

ReadingRequest full_request() {
    ReadingRequest request;
    request.references.grays = {{Box{1, 2, 3.5, 4}, 18.33}, {Ellipse{5, 6, 7, 8}, 90}};
    request.references.known = {{"Straw 31", Polygon{{{1, 1}, {9, 1}, {5, 7.25}}}, Lab{80.1, 2.5, 31}}};
    for (int number = 0; number < 3; ++number) request.references.cards.push_back(*card_reference(sample_card(number), Box{1.0 * number, 0, 9, 9}));
    request.references.plain = {Box{0, 0, 100, 50}};
    request.references.chart = {ChartMode::corners, {{{1, 2}, {3, 4}, {5, 6}, {7, 8}}}, ChartEdition::before_2014};
    request.chart_asked = true;
    request.transfer = {TransferKind::gamma, 1.8};
    request.lit_by = *light_of(sample_lamp(1));  // by its spectrum
    request.flat_file = "board.jpg";
    request.flat_hash = "sha1:12";
    request.under = *light("led:6500,ra=80");  // by its name
    request.observer = Observer::degree10;
    request.chip = Box{10, 20, 30, 40};
    request.tolerance = 1.5;
    request.textured = true;
    return request;
}

TEST(ReadingRequest, ComesBackAsItWas) {
    for (const ReadingRequest& request : {full_request(), [] {
                                              ReadingRequest plain;
                                              plain.under = *light("D50");
                                              plain.references.chart.mode = ChartMode::automatic;
                                              plain.setup = "bench lamp";
                                              plain.setup_mark = mark_of("its text");
                                              return plain;
                                          }()}) {
        const std::string text = to_text(request);
        const Result<ReadingRequest> back = reading_request_of(text);
        ASSERT_TRUE(back) << describe(back.error());
        EXPECT_EQ(to_text(*back), text);
        EXPECT_EQ(back->under.power, request.under.power);
        EXPECT_EQ(back->lit_by.has_value(), request.lit_by.has_value());
        if (request.lit_by) {
            EXPECT_EQ(back->lit_by->power, request.lit_by->power);
        }
        EXPECT_EQ(back->references.cards.size(), request.references.cards.size());
        EXPECT_EQ(back->references.grays.size(), request.references.grays.size());
        EXPECT_EQ(back->tolerance, request.tolerance);
        EXPECT_EQ(back->setup_mark, request.setup_mark);
    }
    const ReadingRequest full = full_request();
    const Result<ReadingRequest> back = reading_request_of(to_text(full));
    ASSERT_TRUE(back);
    EXPECT_EQ(std::get<Reflectance>(back->references.cards[2].value).value, std::get<Reflectance>(full.references.cards[2].value).value);
}

TEST(ReadingRequest, StandsBesideWhatElseIsTold) {
    const std::string text = with_request("{\"method\":\"neutral\"}", full_request());
    EXPECT_THAT(text, testing::HasSubstr("\"method\":\"neutral\""));
    ASSERT_TRUE(request_in(text));
    EXPECT_EQ(*request_in(text), to_text(full_request()));
    EXPECT_FALSE(request_in("{\"method\":\"neutral\"}"));
    EXPECT_FALSE(request_in("no JSON"));
    EXPECT_FALSE(request_in("[1]"));
    EXPECT_TRUE(request_in(with_request("no JSON", full_request())));
    EXPECT_NE(mark_of("a"), mark_of("b"));
}

// The text is untrusted: each of its bytes changed, seeded, and it cut anywhere: an error or a request, never a crash.
TEST(ReadingRequest, DamagedTextsAreRefusedOrRead) {
    const std::string text = to_text(full_request());
    std::mt19937 random(51);
    int refused = 0;
    for (int round = 0; round < 400; ++round) {
        std::string damaged = text;
        if (round % 4 == 0) {
            damaged.resize(random() % text.size());
        } else {
            for (int i = 0; i < 3; ++i) damaged[random() % damaged.size()] = static_cast<char>(32 + random() % 95);
        }
        const Result<ReadingRequest> read = reading_request_of(damaged);
        if (read) continue;
        ++refused;
        EXPECT_EQ(read.error().fault, Fault::workbook_unreadable);
        EXPECT_FALSE(read.error().remedy.empty());
    }
    EXPECT_GT(refused, 100);
    for (const char* odd : {"", "null", "[]", "{}", "{\"references\":7}", "\xFF"}) EXPECT_FAULT(reading_request_of(odd), Fault::workbook_unreadable);
    EXPECT_FAULT(reading_request_of(std::string(100'000, '[')), Fault::workbook_unreadable);
}

}  // namespace
}  // namespace sw
