// Paints, what was seen of them, pots and what went into them: kept and found again, refused where they cannot be, exchanged, shared by two programs.
// Expected values are what was put in.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmath>

#include "workbook/exchange_json.hpp"
#include "workbook/exchange_share.hpp"
#include "workbook/rows.hpp"
#include "workbook/samples.hpp"

namespace sw {
namespace {

using testing::HasSubstr;

TEST(Mix, AllComesBackAsItWasKept) {
    const Folder folder(quick_place());
    std::vector<KeptAddition> additions;
    std::vector<KeptSample> samples;
    std::vector<KeptPotReading> readings;
    {
        Workbook workbook = opened(folder / "book.swb");
        const std::int64_t target = workbook.add(sample_target(1))->id, reading = workbook.add(sample_reading(1))->id;
        const std::int64_t white = workbook.add(sample_paint(0))->id;
        for (int number = 1; number < 20; ++number) {
            const auto paint = workbook.add(sample_paint(number));
            ASSERT_TRUE(paint) << describe(paint.error());
            KeptSample sample = sample_sample(number, paint->id, white);
            if (number % 2 == 0) sample.reading = reading;
            const auto seen = workbook.add(sample);
            ASSERT_TRUE(seen) << describe(seen.error());
            samples.push_back(*seen);
            KeptPot pot = sample_pot(number, number % 2 == 0 ? target : 0);
            if (number > 3) pot.batch_of = workbook.pot("mix 3")->id;
            const auto made = workbook.add(pot);
            ASSERT_TRUE(made) << describe(made.error());
            for (int step = 0; step < 5; ++step) {
                const auto added = workbook.add(sample_addition(number + step, made->id, paint->id));
                ASSERT_TRUE(added) << describe(added.error());
                EXPECT_EQ(added->number, step + 1);
                additions.push_back(*added);
            }
            KeptPotReading look = sample_pot_reading(number, made->id, additions.back().id);
            if (number % 2 == 0) look.reading = reading;
            const auto kept = workbook.add(look);
            ASSERT_TRUE(kept) << describe(kept.error());
            readings.push_back(*kept);
        }
    }
    Workbook workbook = opened(folder / "book.swb", false);
    EXPECT_EQ(workbook.paints()->size(), 20U);
    for (int number = 0; number < 20; ++number) EXPECT_TRUE(same_content(*workbook.paint(sample_paint(number).name), sample_paint(number))) << number;
    for (int number = 1; number < 20; ++number) {
        KeptPot pot = *workbook.pot("mix " + std::to_string(number));
        EXPECT_EQ(pot.batch_of.has_value(), number > 3);
        pot.batch_of.reset();
        EXPECT_TRUE(same_content(pot, sample_pot(number, number % 2 == 0 ? 1 : 0))) << number;
    }
    const auto alike = [](const auto& one, const auto& two) { return same_content(one, two) && one.id == two.id && one.created == two.created; };
    const auto all_alike = [&](const auto& one, const auto& two) { return std::equal(one.begin(), one.end(), two.begin(), two.end(), alike); };
    EXPECT_TRUE(all_alike(samples, *workbook.samples()));
    EXPECT_TRUE(all_alike(additions, *workbook.additions()));
    EXPECT_TRUE(all_alike(readings, *workbook.pot_readings()));
    EXPECT_EQ(workbook.pots()->front().name, "mix 19");

    KeptPaint paint = *workbook.paint("Tube 3");
    EXPECT_FAULT(workbook.remove_paint(paint.id), Fault::bad_usage);                      // it is in pots
    EXPECT_FAULT(workbook.remove_paint(workbook.paint("Tube 0")->id), Fault::bad_usage);  // tints were let down with it
    paint.on_shelf = false;
    ASSERT_TRUE(workbook.put(paint));
    EXPECT_FALSE(workbook.paint("Tube 3")->on_shelf);
    EXPECT_FAULT(workbook.add(sample_paint(3)), Fault::name_taken);
    EXPECT_FAULT(workbook.add(sample_pot(3)), Fault::name_taken);
    EXPECT_FAULT(workbook.paint("Tube 99"), Fault::name_unknown);
    EXPECT_FAULT(workbook.pot("mix 99"), Fault::name_unknown);
    EXPECT_FAULT(workbook.add(sample_sample(0, 99)), Fault::name_unknown);
    EXPECT_FAULT(workbook.add(sample_addition(0, 99, paint.id)), Fault::name_unknown);
    EXPECT_FAULT(workbook.add(sample_addition(0, 1, 99)), Fault::name_unknown);
    EXPECT_FAULT(workbook.add(sample_pot_reading(0, 1, 99)), Fault::name_unknown);
    EXPECT_FAULT(workbook.add(sample_pot_reading(0, workbook.pot("mix 5")->id, additions[0].id)), Fault::bad_usage);  // of another pot
    EXPECT_EQ(workbook.changes()->front().words, "Changed paint \"Tube 3\"");
    ASSERT_TRUE(workbook.add(sample_addition(1, workbook.pot("mix 5")->id, paint.id)));
    EXPECT_EQ(workbook.changes()->front().words, "Added 2 ml of Tube 3 to pot \"mix 5\"");
}

TEST(Mix, WhatExplainsAnUnknownAdditionStandsBehindIt) {
    std::vector<KeptAddition> all;
    for (const auto& [id, number, explains] : {std::tuple{11, 1, 0}, {12, 2, 0}, {13, 3, 0}, {14, 4, 12}, {15, 5, 12}, {16, 6, 0}}) {
        KeptAddition one;
        one.id = id;
        one.pot = 7;
        one.number = number;
        if (explains > 0) one.explains = explains;
        all.push_back(one);
    }
    all.push_back(all[0]);
    all.back().pot = 8;
    std::swap(all[0], all[5]);
    std::vector<std::int64_t> order;
    for (const KeptAddition& one : additions_of(all, 7)) order.push_back(one.id);
    EXPECT_THAT(order, testing::ElementsAre(11, 12, 14, 15, 13, 16));
}

TEST(Mix, RefusesWhatCannotBe) {
    const double nan = std::nan("");
    const auto paint_flaw = [](auto change) {
        KeptPaint paint = sample_paint(1);
        paint.created = "2031-05-06T07:08:09.123Z";
        change(paint);
        store::tidy(paint);
        return store::flaw(paint).value_or("");
    };
    EXPECT_EQ(paint_flaw([](KeptPaint&) {}), "");
    EXPECT_THAT(paint_flaw([](KeptPaint& p) { p.name = " "; }), HasSubstr("empty"));
    EXPECT_THAT(paint_flaw([](KeptPaint& p) { p.pigments = "PW6 XX9"; }), HasSubstr("XX9"));
    EXPECT_THAT(paint_flaw([](KeptPaint& p) { p.drop_ml = 0; }), HasSubstr("drop"));
    EXPECT_THAT(paint_flaw([&](KeptPaint& p) { p.drop_ml = nan; }), HasSubstr("drop"));
    EXPECT_THAT(paint_flaw([](KeptPaint& p) { p.density = 20; }), HasSubstr("density"));
    EXPECT_THAT(paint_flaw([](KeptPaint& p) { p.stock_said.clear(); }), HasSubstr("time"));
    EXPECT_THAT(paint_flaw([](KeptPaint& p) { p.stock_said = "yesterday"; }), HasSubstr("ISO 8601"));
    EXPECT_THAT(paint_flaw([](KeptPaint& p) { p.binder = "\xFF"; }), HasSubstr("UTF-8"));
    const auto sample_flaw = [](auto change) {
        KeptSample sample = sample_sample(2, 1);
        sample.created = "2031-05-06T07:08:09.123Z";
        change(sample);
        store::tidy(sample);
        return store::flaw(sample).value_or("");
    };
    EXPECT_EQ(sample_flaw([](KeptSample&) {}), "");
    EXPECT_THAT(sample_flaw([](KeptSample& s) { s.share = 0; }), HasSubstr("share"));
    EXPECT_THAT(sample_flaw([](KeptSample& s) { s.share = 1.01; }), HasSubstr("share"));
    EXPECT_THAT(sample_flaw([&](KeptSample& s) { s.share = nan; }), HasSubstr("share"));
    EXPECT_THAT(sample_flaw([](KeptSample& s) { s.white = 5; }), HasSubstr("masstone"));
    EXPECT_THAT(sample_flaw([](KeptSample& s) { s.white = s.paint; }), HasSubstr("itself"));
    EXPECT_THAT(sample_flaw([](KeptSample& s) { s.spectrum_sd.reset(); }), HasSubstr("together"));
    EXPECT_THAT(sample_flaw([](KeptSample& s) { s.spectrum = "not,a\nspectrum,here"; }), testing::Ne(""));
    EXPECT_THAT(sample_flaw([&](KeptSample& s) { s.lab.a = nan; }), HasSubstr("Lab"));
    EXPECT_THAT(sample_flaw([](KeptSample& s) { s.laid.film_um = -1; }), HasSubstr("film"));
    EXPECT_THAT(sample_flaw([](KeptSample& s) { s.laid.under = Lab{200, 0, 0}; }), HasSubstr("under"));
    const auto addition_flaw = [](auto change) {
        KeptAddition addition = sample_addition(0, 1, 1);
        addition.created = "2031-05-06T07:08:09.123Z";
        change(addition);
        return store::flaw(addition).value_or("");
    };
    EXPECT_EQ(addition_flaw([](KeptAddition&) {}), "");
    EXPECT_THAT(addition_flaw([](KeptAddition& a) { a.amount = -2; }), HasSubstr("amount"));
    EXPECT_THAT(addition_flaw([&](KeptAddition& a) { a.amount = nan; }), HasSubstr("amount"));
    EXPECT_THAT(addition_flaw([](KeptAddition& a) { a.amount.reset(); }), HasSubstr("together"));
    EXPECT_THAT(addition_flaw([](KeptAddition& a) { a.paint.reset(); }), HasSubstr("which paint"));
    EXPECT_THAT(addition_flaw([](KeptAddition& a) { a.unit = "spoons"; }), HasSubstr("unit"));
    EXPECT_THAT(addition_flaw([](KeptAddition& a) { a.kind = AdditionKind::taken; }), HasSubstr("mix"));
    EXPECT_THAT(addition_flaw([](KeptAddition& a) { a.kind = AdditionKind::unknown; }), HasSubstr("no amount"));
    KeptPot pot = sample_pot(1);
    pot.created = "2031-05-06T07:08:09.123Z";
    pot.lights = {"D50\nA"};
    EXPECT_THAT(store::flaw(pot).value_or(""), HasSubstr("light"));
    pot.lights.clear();
    pot.tolerance = 0;
    EXPECT_THAT(store::flaw(pot).value_or(""), HasSubstr("tolerance"));
    KeptPotReading reading = sample_pot_reading(2, 1, 1);
    reading.created = "2031-05-06T07:08:09.123Z";
    reading.ci_low = 99;
    EXPECT_THAT(store::flaw(reading).value_or(""), HasSubstr("upside down"));
}

// What the schema itself forbids, whoever writes: the sqlite3 library is asked.
TEST(Mix, TheSchemaRefusesToo) {
    const Folder folder(quick_place());
    {
        Workbook workbook = opened(folder / "book.swb");
        ASSERT_TRUE(add_sample_mix(workbook, 0));
    }
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open((folder / "book.swb").c_str(), &database), SQLITE_OK);
    ASSERT_EQ(sqlite3_exec(database, "PRAGMA foreign_keys = ON", nullptr, nullptr, nullptr), SQLITE_OK);
    for (const char* sql :
         {"UPDATE addition SET amount = NULL", "UPDATE addition SET paint = NULL WHERE kind = 'paint'", "UPDATE addition SET number = 1",
          "UPDATE addition SET amount = -1 WHERE amount > 0", "UPDATE addition SET paint = 99 WHERE kind = 'paint'", "UPDATE sample SET share = 2",
          "UPDATE paint SET finish = 'shiny'", "UPDATE pot_reading SET state = 'damp'", "DELETE FROM paint", "DELETE FROM pot",
          "DELETE FROM addition WHERE number = 2", "UPDATE pot SET teaches = 2", "UPDATE addition SET unit = '' WHERE kind = 'paint'"})
        EXPECT_EQ(sqlite3_exec(database, sql, nullptr, nullptr, nullptr), SQLITE_CONSTRAINT) << sql;
    sqlite3_close(database);
}

// Two programs fill one pot at once: every addition has a number of its own, and none is lost.
TEST(Mix, TwoProgramsFillOnePot) {
    const Folder folder(quick_place());
    std::int64_t pot = 0, paint = 0;
    {
        Workbook workbook = opened(folder / "book.swb");
        paint = workbook.add(sample_paint(0))->id;
        pot = workbook.add(sample_pot(0))->id;
    }
    constexpr int kEach = 40;
    std::vector<pid_t> children;
    for (int program = 0; program < 2; ++program) {
        const pid_t child = ::fork();
        if (child == 0) {
            Workbook workbook = opened(folder / "book.swb", false);
            bool good = true;
            for (int drop = 0; drop < kEach; ++drop) good = good && workbook.add(sample_addition(0, pot, paint));
            ::_exit(good ? 0 : 1);
        }
        children.push_back(child);
    }
    for (const pid_t child : children) {
        int status = 0;
        ::waitpid(child, &status, 0);
        EXPECT_EQ(status, 0);
    }
    const auto additions = opened(folder / "book.swb", false).additions();
    ASSERT_TRUE(additions);
    std::vector<std::int64_t> numbers;
    for (const KeptAddition& one : *additions) numbers.push_back(one.number);
    std::sort(numbers.begin(), numbers.end());
    ASSERT_EQ(numbers.size(), 2U * kEach);
    for (std::size_t i = 0; i < numbers.size(); ++i) EXPECT_EQ(numbers[i], static_cast<std::int64_t>(i) + 1);
}

Exchange all_of(const Workbook& workbook) {
    Result<Exchange> all = everything_in(workbook);
    if (!all) throw std::runtime_error(describe(all.error()));
    return *std::move(all);
}

TEST(Mix, ExchangeThereAndBackToTheLastDigit) {
    const Folder folder(quick_place());
    Exchange all;
    {
        Workbook workbook = opened(folder / "one.swb");
        for (int number = 0; number < 25; ++number) ASSERT_TRUE(workbook.add(sample_target(100 + number)));  // so that ids differ
        const std::int64_t reading = workbook.add(sample_reading(1))->id;
        for (int number = 0; number < 12; ++number) ASSERT_TRUE(add_sample_mix(workbook, number, 5 + number, reading));
        KeptSample tint = sample_sample(1, workbook.paint("Tube 3")->id, workbook.paint("Tube 0")->id);
        ASSERT_TRUE(workbook.add(tint));
        KeptPot early = *workbook.pot("mix 2");
        early.batch_of = workbook.pot("mix 9")->id;  // a pot that comes later
        ASSERT_TRUE(workbook.put(early));
        const auto unknown = workbook.additions();
        const auto found = std::find_if(unknown->begin(), unknown->end(), [](const KeptAddition& one) { return one.kind == AdditionKind::unknown; });
        ASSERT_NE(found, unknown->end());
        KeptAddition explained = sample_addition(0, found->pot, workbook.paint("Tube 1")->id);
        explained.explains = found->id;
        explained.spread = 0.25;
        ASSERT_TRUE(workbook.add(explained));
        all = all_of(workbook);
    }
    const Result<Exchange> read = exchange_of_json(exchange_json(all), "o.json");
    ASSERT_TRUE(read);
    EXPECT_TRUE(read->not_taken.empty()) << read->not_taken.front().reason;
    Workbook other = opened(folder / "two.swb");
    ASSERT_TRUE(other.add(sample_pot(77)) && other.add(sample_paint(77)));
    const auto taken_over = add_all(other, fit_in(*read, all_of(other), false), "Imported");
    ASSERT_TRUE(taken_over) << describe(taken_over.error());
    const Exchange kept = all_of(other);
    const auto name_of = [](const auto& list, const std::optional<std::int64_t>& id) {
        const auto found = std::find_if(list.begin(), list.end(), [&](const auto& one) { return id && one.id == *id; });
        return found == list.end() ? std::string("-") : found->name;
    };
    // Each row as text, links by names.
    const auto words = [&](const Exchange& from) {
        std::vector<std::string> lines;
        const auto line = [&](const std::string& links, store::Values row) {
            std::string text = links;
            for (const store::Value& value : row) {
                text += "|";
                if (const auto* number = std::get_if<std::int64_t>(&value)) text += std::to_string(*number);
                if (const auto* figure = std::get_if<double>(&value)) text += std::to_string(*figure * 1e9);
                if (const auto* string = std::get_if<std::string>(&value)) text += *string;
            }
            lines.push_back(text);
        };
        for (const KeptPaint& paint : from.paints) {
            if (paint.name != "Tube 77") line("paint", store::values(paint));
        }
        for (KeptSample one : from.samples) {
            const std::string links = name_of(from.paints, one.paint) + name_of(from.paints, one.white) + name_of(from.readings, one.reading);
            one.paint = 0;
            one.white.reset();
            one.reading.reset();
            line(links, store::values(one));
        }
        for (KeptPot one : from.pots) {
            if (one.name == "mix 77") continue;
            const std::string links = name_of(from.targets, one.target) + name_of(from.pots, one.batch_of);
            one.target.reset();
            one.batch_of.reset();
            line(links, store::values(one));
        }
        const auto number_of = [&](const std::optional<std::int64_t>& id) {
            const auto found = std::find_if(from.additions.begin(), from.additions.end(), [&](const KeptAddition& one) { return id == one.id; });
            return found == from.additions.end() ? std::string("-") : std::to_string(found->number);
        };
        for (KeptAddition one : from.additions) {
            const std::string links = name_of(from.pots, one.pot) + name_of(from.paints, one.paint) + number_of(one.explains);
            one.pot = 0;
            one.paint.reset();
            one.explains.reset();
            line(links, store::values(one));
        }
        for (KeptPotReading one : from.pot_readings) {
            const std::string links = name_of(from.pots, one.pot) + number_of(one.addition) + name_of(from.readings, one.reading);
            one.pot = one.addition = 0;
            one.reading.reset();
            line(links, store::values(one));
        }
        return lines;
    };
    EXPECT_THAT(words(kept), testing::UnorderedElementsAreArray(words(all)));
    const Exchange again = fit_in(*read, kept, false);  // a second time nothing is new
    EXPECT_EQ(again.paints.size() + again.samples.size() + again.pots.size() + again.additions.size() + again.pot_readings.size(), 0U);
    EXPECT_EQ(**other.undo(), "Imported");
    EXPECT_EQ(other.pots()->size(), 1U) << "undone as one";
    EXPECT_EQ(other.paints()->size(), 1U);
}

TEST(Mix, ExchangeTakesAPotWholeOrNotAtAll) {
    const Folder folder(quick_place());
    Workbook from = opened(folder / "from.swb"), to = opened(folder / "to.swb");
    ASSERT_TRUE(add_sample_mix(from, 1));
    KeptPaint other = sample_paint(1);
    other.binder = "enamel";
    ASSERT_TRUE(to.add(other));
    const Exchange incoming = all_of(from), there = all_of(to);
    const Exchange refused = fit_in(incoming, there, false);
    EXPECT_TRUE(refused.paints.empty() && refused.pots.empty() && refused.additions.empty() && refused.samples.empty());
    ASSERT_EQ(refused.not_taken.size(), 2U);
    EXPECT_THAT(refused.not_taken[0].reason, HasSubstr("another paint has this name"));
    EXPECT_THAT(refused.not_taken[1].reason, HasSubstr("a paint in this pot was not taken"));
    const Exchange renamed = fit_in(incoming, there, true);
    EXPECT_EQ(renamed.renamed.size(), 1U);
    EXPECT_EQ(renamed.additions.size(), 3U);
    ASSERT_TRUE(add_all(to, renamed, "Imported"));
    EXPECT_EQ(to.additions()->size(), 3U);
    // Files that lie: two additions in one place, a reading of another pot's addition. What is left can be kept.
    Exchange lying = incoming;
    lying.additions[1].number = 1;
    lying.pot_readings.push_back(lying.pot_readings[0]);
    lying.pot_readings.back().addition = 99;
    Workbook empty = opened(folder / "empty.swb");
    ASSERT_TRUE(add_all(empty, fit_in(lying, {}, false), "Imported"));
    EXPECT_EQ(empty.additions()->size(), 2U);
    // Shared: no folders.
    Exchange shared = incoming;
    shared.samples[0].source = shared.pot_readings[0].source = shared.paints[0].source = "/media/ada lovelace/bench.jpg 1,2,3,4";
    shared.pots[0].lights = {"/media/ada lovelace/lamp.csv"};
    EXPECT_EQ(exchange_json(fit_to_share(shared)).find("lovelace"), std::string::npos);
}

}  // namespace
}  // namespace sw
