// Undo and redo: what was is there again to the last byte, after a restart too. Expected values are what was put in.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>

#include "workbook/samples.hpp"

namespace sw {
namespace {

using testing::HasSubstr;

// All rows of all tables but the changes, as the sqlite3 library tells them: a witness that is not ours.
std::string dump(const std::filesystem::path& file) {
    sqlite3* database = nullptr;
    EXPECT_EQ(sqlite3_open_v2(file.c_str(), &database, SQLITE_OPEN_READONLY, nullptr), SQLITE_OK);
    std::string text;
    for (const char* table :
         {"target", "reading", "card", "setup", "part", "photo", "lamp", "note", "mapping", "paint", "sample", "pot", "addition", "pot_reading"}) {
        sqlite3_stmt* statement = nullptr;
        EXPECT_EQ(sqlite3_prepare_v2(database, ("SELECT * FROM " + std::string(table) + " ORDER BY id").c_str(), -1, &statement, nullptr), SQLITE_OK);
        while (sqlite3_step(statement) == SQLITE_ROW) {
            text += std::string("\n") + table;
            for (int i = 0; i < sqlite3_column_count(statement); ++i) {
                const auto* bytes = static_cast<const char*>(sqlite3_column_blob(statement, i));
                text += "|" + std::string(bytes == nullptr ? "" : bytes, static_cast<std::size_t>(sqlite3_column_bytes(statement, i)));
            }
        }
        sqlite3_finalize(statement);
    }
    sqlite3_close(database);
    return text;
}

TEST(Undo, EveryKindOfChangeThereAndBackAcrossRestarts) {
    const Folder folder(quick_place());
    const std::filesystem::path file = folder / "book.swb";
    std::vector<std::string> states;
    {
        Workbook workbook = opened(file);
        states.push_back(dump(file));
        const auto saved = [&](const auto& result) {
            ASSERT_TRUE(result) << describe(result.error());
            states.push_back(dump(file));
        };
        Target target;
        Part part;
        saved([&] {
            auto r = workbook.add(sample_target(1));
            target = *r;
            return r;
        }());
        KeptReading reading = sample_reading(5);
        reading.target = target.id;
        saved([&] {
            auto r = workbook.add(reading);
            reading = *r;
            return r;
        }());
        saved([&] {
            auto r = workbook.add(sample_part(2, target.id));
            part = *r;
            return r;
        }());
        saved(workbook.add(sample_part(3, 0, part.id)));
        saved(workbook.keep(sample_photo(3)));
        KeptPhoto moved = sample_photo(3);
        moved.path = "/elsewhere.jpg";
        saved(workbook.keep(moved));
        saved(workbook.add(sample_lamp(1)));
        saved(workbook.add(sample_card(2)));
        saved(workbook.add(sample_setup(3)));
        saved(workbook.add(sample_note(1, target.id)));
        saved(workbook.add(sample_note(2, 0, part.id)));
        saved(workbook.add(sample_note(3, 0, 0, reading.id)));
        KeptPaint paint, white;
        KeptPot pot;
        KeptAddition drops;
        saved([&] {
            auto r = workbook.add(sample_paint(0));
            white = *r;
            return r;
        }());
        saved([&] {
            auto r = workbook.add(sample_paint(1));
            paint = *r;
            return r;
        }());
        saved(workbook.add(sample_sample(1, paint.id, white.id)));
        KeptSample seen = sample_sample(2, paint.id);
        seen.reading = reading.id;
        saved(workbook.add(seen));
        saved(workbook.add(sample_paint(2)));
        saved(workbook.remove_paint(workbook.paint("Tube 2")->id));
        saved([&] {
            auto r = workbook.add(sample_pot(1, target.id));
            pot = *r;
            return r;
        }());
        saved([&] {
            auto r = workbook.add(sample_addition(2, pot.id, paint.id));
            drops = *r;
            return r;
        }());
        saved(workbook.add(sample_addition(3, pot.id, paint.id)));
        KeptAddition explained = sample_addition(0, pot.id, white.id);
        explained.explains = drops.id + 1;
        saved(workbook.add(explained));
        KeptPotReading pot_seen = sample_pot_reading(2, pot.id, drops.id);
        pot_seen.reading = reading.id;
        saved(workbook.add(pot_seen));
        pot_seen = workbook.pot_readings()->front();
        pot_seen.set_aside = true;
        saved(workbook.put(pot_seen));
        paint.on_shelf = false;
        saved(workbook.put(paint));
        pot.teaches = false;
        saved(workbook.put(pot));
        KeptPot again = sample_pot(2);
        again.batch_of = pot.id;
        saved(workbook.add(again));
        part.status = PartStatus::painted;
        saved(workbook.put(part));
        target.name = "Straw 31";
        saved(workbook.put(target));
        saved(workbook.remove_target(target.id));  // a reading and a part lose their link, a note goes
        EXPECT_EQ(workbook.notes()->size(), 2U);
        saved(workbook.remove_reading(reading.id));  // a sample and a pot's reading lose their link
        saved(workbook.remove_pot(pot.id));          // with all that went into it; a batch of it loses its link
        EXPECT_TRUE(workbook.additions()->empty() && workbook.pot_readings()->empty());
        saved(workbook.together("three at once", [&]() -> Result<Done> {
            if (const auto added = workbook.add(sample_target(7)); !added) return added.error();
            if (const auto added = workbook.add(sample_target(8)); !added) return added.error();
            return workbook.remove_lamp(workbook.lamp("bench lamp 1")->id);
        }));
    }
    const std::size_t last = states.size() - 1;
    for (const int round : {1, 2}) {
        SCOPED_TRACE(round);
        for (std::size_t at = last; at > 0; --at) {
            const auto words = opened(file, false).undo();
            ASSERT_TRUE(words) << describe(words.error());
            ASSERT_TRUE(*words) << at;
            EXPECT_TRUE(dump(file) == states[at - 1]) << **words << " was not taken back whole";
        }
        EXPECT_EQ(*opened(file, false).undo(), std::nullopt);
        for (std::size_t at = 1; at <= last; ++at) {
            const auto words = opened(file, false).redo();
            ASSERT_TRUE(words && *words) << at;
            EXPECT_TRUE(dump(file) == states[at]) << **words << " was not brought again";
        }
        EXPECT_EQ(*opened(file, false).redo(), std::nullopt);
    }
    EXPECT_EQ(**opened(file, false).undo(), "three at once");
    EXPECT_EQ(**opened(file, false).undo(), "Removed pot \"mix 1\"");
    EXPECT_EQ(**opened(file, false).undo(), "Removed reading \"swatch, mix 5 pot B\"");
    // Another change forgets what was taken back.
    Workbook workbook = opened(file, false);
    EXPECT_EQ(workbook.changes()->front().words, "three at once");
    EXPECT_TRUE(workbook.changes()->front().undone);
    ASSERT_TRUE(workbook.add(sample_card(0)));
    EXPECT_EQ(*workbook.redo(), std::nullopt);
    EXPECT_EQ(workbook.changes()->front().words, "Added card \"card 0\"");
}

TEST(Undo, ARefusedChangeLeavesNoTrace) {
    const Folder folder(quick_place());
    Workbook workbook = opened(folder / "book.swb");
    ASSERT_TRUE(workbook.add(sample_target(1)));
    EXPECT_FAULT(workbook.add(sample_target(1)), Fault::name_taken);
    const Result<Done> half = workbook.together("half", [&]() -> Result<Done> {
        EXPECT_TRUE(workbook.add(sample_target(2)));
        return workbook.remove_lamp(99);
    });
    EXPECT_FAULT(half, Fault::name_unknown);
    EXPECT_EQ(workbook.targets()->size(), 1U);
    EXPECT_EQ(workbook.changes()->size(), 1U);
    ASSERT_TRUE(workbook.together("nothing", [] { return Result<Done>(Done{}); }));
    EXPECT_EQ(workbook.changes()->size(), 1U);
}

TEST(Undo, TheLastTwoHundredAreKept) {
    const Folder folder(quick_place());
    Workbook workbook = opened(folder / "book.swb");
    for (int number = 0; number < 230; ++number) ASSERT_TRUE(workbook.add(sample_target(number)));
    EXPECT_EQ(workbook.changes()->size(), 200U);
    int undone = 0;
    while (*workbook.undo()) ++undone;
    EXPECT_EQ(undone, 200);
    EXPECT_EQ(workbook.targets()->size(), 30U);
}

// A program that knows nothing of changes wrote in between: its row is not thrown away.
TEST(Undo, DoesNotTakeBackWhatAnotherProgramWrote) {
    const Folder folder(quick_place());
    Workbook workbook = opened(folder / "book.swb");
    ASSERT_TRUE(workbook.add(sample_target(1)));
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open((folder / "book.swb").c_str(), &database), SQLITE_OK);
    ASSERT_EQ(sqlite3_exec(database, "UPDATE target SET checksum = checksum + 1", nullptr, nullptr, nullptr), SQLITE_OK);
    const Result<std::optional<std::string>> refused = workbook.undo();
    EXPECT_FAULT(refused, Fault::name_unknown);
    EXPECT_THAT(describe(refused.error()), HasSubstr("another program wrote here"));
    ASSERT_EQ(sqlite3_exec(database, "UPDATE target SET checksum = checksum - 1; UPDATE change SET words = 'x'", nullptr, nullptr, nullptr),
              SQLITE_OK);
    EXPECT_FAULT(workbook.undo(), Fault::workbook_unreadable);
    EXPECT_FAULT(workbook.changes(), Fault::workbook_unreadable);
    EXPECT_EQ(workbook.targets()->size(), 1U);
    sqlite3_close(database);
}

TEST(Parts, StandInATree) {
    const Folder folder(quick_place());
    Workbook workbook = opened(folder / "book.swb");
    Part car = sample_part(0), other = sample_part(0);
    car.name = "Car no. 2";
    other.name = "Car no. 3";
    car = *workbook.add(car);
    other = *workbook.add(other);
    Part side = sample_part(0, 0, car.id);
    side.name = "body side";
    side = *workbook.add(side);
    EXPECT_EQ(workbook.part("body side")->id, side.id);
    EXPECT_EQ(workbook.part(" Car no. 2/body side ")->id, side.id);
    EXPECT_FAULT(workbook.part("Car no. 3/body side"), Fault::name_unknown);
    Part twin = side;
    twin.id = 0;
    EXPECT_FAULT(workbook.add(twin), Fault::name_taken);
    twin.parent = other.id;
    ASSERT_TRUE(workbook.add(twin));
    const Result<Part> unclear = workbook.part("body side");
    EXPECT_FAULT(unclear, Fault::bad_usage);
    EXPECT_THAT(describe(unclear.error()), HasSubstr("Car no. 2/body side"));
    Part within = car;
    within.parent = side.id;
    EXPECT_FAULT(workbook.put(within), Fault::bad_usage);
    within.parent = car.id;
    EXPECT_FAULT(workbook.put(within), Fault::bad_usage);
    EXPECT_FAULT(workbook.remove_part(car.id), Fault::bad_usage);
    twin.parent = 99;
    EXPECT_FAULT(workbook.add(twin), Fault::name_unknown);
    twin.parent.reset();
    twin.target = 99;
    EXPECT_FAULT(workbook.add(twin), Fault::name_unknown);
    for (const PartStatus status :
         {PartStatus::missing, PartStatus::target, PartStatus::mixing, PartStatus::within, PartStatus::painted, PartStatus::coated})
        EXPECT_EQ(part_status(to_word(status)), status);
}

TEST(Parts, RefuseWhatCannotBe) {
    const Folder folder(quick_place());
    Workbook workbook = opened(folder / "book.swb");
    const Target target = *workbook.add(sample_target(1));
    Note note = sample_note(1, target.id);
    note.part = 1;
    EXPECT_FAULT(workbook.add(note), Fault::bad_usage);
    EXPECT_FAULT(workbook.add(sample_note(1, 0)), Fault::bad_usage);
    EXPECT_FAULT(workbook.add(sample_note(1, 99)), Fault::name_unknown);
    note = sample_note(1, target.id);
    note.text = " \n ";
    EXPECT_FAULT(workbook.add(note), Fault::bad_usage);
    Lamp lamp = sample_lamp(0);
    lamp.light = "led:650000";
    EXPECT_FAULT(workbook.add(lamp), Fault::bad_usage);
    lamp.light.clear();
    EXPECT_FAULT(workbook.add(lamp), Fault::bad_usage);
    lamp.spectrum = "nm,power\n400,x\n";
    EXPECT_FAULT(workbook.add(lamp), Fault::bad_usage);
    KeptPhoto photo = sample_photo(1);
    photo.iso = -1;
    EXPECT_FAULT(workbook.keep(photo), Fault::bad_usage);
    photo = sample_photo(1);
    photo.hash.clear();
    EXPECT_FAULT(workbook.keep(photo), Fault::bad_usage);
    Target screen = sample_target(3);
    screen.spectrum = "no spectrum";
    EXPECT_FAULT(workbook.add(screen), Fault::bad_usage);
    screen.spectrum = std::get<SpectrumText>(sample_card(2).value).csv;
    screen.caution = "appearance on screen";
    ASSERT_TRUE(workbook.add(screen));
    EXPECT_TRUE(same_content(*workbook.target(screen.name), screen));
    EXPECT_EQ(light_of(*workbook.add(sample_lamp(1)))->name, "bench lamp 1");
}

}  // namespace
}  // namespace sw
