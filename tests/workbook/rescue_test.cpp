// What is rescued from cut and changed files: true rows only, the damaged file untouched. Expected values are what was put in.
#include "workbook/rescue.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>
#include <sys/wait.h>
#include <unistd.h>

#include <random>

#include "slow.hpp"
#include "workbook/samples.hpp"

namespace sw {
namespace {

using testing::HasSubstr;

// All rows but the changes, each as one text under its table and id, as the sqlite3 library tells them.
using Rows = std::map<std::pair<std::string, std::int64_t>, std::string>;

Rows rows_in(const std::filesystem::path& file) {
    Rows rows;
    sqlite3* database = nullptr;
    EXPECT_EQ(sqlite3_open_v2(file.c_str(), &database, SQLITE_OPEN_READONLY, nullptr), SQLITE_OK);
    for (const char* table :
         {"target", "reading", "card", "setup", "part", "photo", "lamp", "note", "mapping", "paint", "sample", "pot", "addition", "pot_reading"}) {
        sqlite3_stmt* statement = nullptr;
        EXPECT_EQ(sqlite3_prepare_v2(database, ("SELECT * FROM " + std::string(table)).c_str(), -1, &statement, nullptr), SQLITE_OK);
        while (sqlite3_step(statement) == SQLITE_ROW) {
            std::string& text = rows[{table, sqlite3_column_int64(statement, 0)}];
            for (int i = 2; i < sqlite3_column_count(statement); ++i) {  // the checksum differs where a link was cleared
                const auto* bytes = static_cast<const char*>(sqlite3_column_blob(statement, i));
                text += "|" + std::string(bytes == nullptr ? "" : bytes, static_cast<std::size_t>(sqlite3_column_bytes(statement, i)));
            }
        }
        sqlite3_finalize(statement);
    }
    sqlite3_close(database);
    return rows;
}

class Rescue : public testing::Test {
protected:
    void SetUp() override {
        Workbook workbook = opened(folder_ / "book.swb");
        for (int number = 0; number < 20; ++number) {
            const Result<Target> target = workbook.add(sample_target(number));
            KeptReading reading = sample_reading(number);
            if (number % 2 == 0) reading.target = target->id;
            const Result<KeptReading> kept = workbook.add(reading);
            const Result<Part> part = workbook.add(sample_part(number, target->id, number / 2));
            ASSERT_TRUE(kept && part && workbook.keep(sample_photo(number)) && workbook.add(sample_lamp(number)) &&
                        workbook.add(sample_card(number)));
            ASSERT_TRUE(
                workbook.add(sample_note(number, number % 3 == 0 ? target->id : 0, number % 3 == 1 ? part->id : 0, number % 3 == 2 ? kept->id : 0)));
            if (number % 4 == 0) {
                ASSERT_TRUE(workbook.add(sample_setup(number)));
            }
            ASSERT_TRUE(add_sample_mix(workbook, number, target->id, kept->id));
        }
        ASSERT_TRUE(workbook.remove_target(5));  // what was removed stays removed
        ASSERT_TRUE(workbook.remove_reading(7));
        truth_ = rows_in(folder_ / "book.swb");
        bytes_ = bytes_of(folder_ / "book.swb");
    }
    // Rescues from these bytes. All that comes out is true, but for a cleared link or a name made unique, which is told; returns how many rows did.
    std::size_t rescued(const std::string& bytes, const std::string& when) {
        write_bytes(folder_ / "damaged.swb", bytes);
        std::filesystem::remove(folder_ / "out.swb");
        const Result<Rescued> result = rescue(folder_ / "damaged.swb", folder_ / "out.swb");
        EXPECT_TRUE(bytes_of(folder_ / "damaged.swb") == bytes) << when;
        if (!result) {
            EXPECT_EQ(result.error().fault, Fault::workbook_unreadable) << when << ": " << describe(result.error());
            EXPECT_FALSE(std::filesystem::exists(folder_ / "out.swb"));
            return 0;
        }
        const Result<Soundness> sound = look_over(folder_ / "out.swb");
        EXPECT_TRUE(sound && sound->sound()) << when;
        const Rows rows = rows_in(folder_ / "out.swb");
        std::size_t counted = 0, other = 0;
        for (const auto& [name, count] : result->taken) counted += static_cast<std::size_t>(count);
        EXPECT_EQ(counted, rows.size()) << when;
        for (const auto& [key, text] : rows) {
            const auto found = truth_.find(key);
            if (found == truth_.end()) {
                ADD_FAILURE() << when << ": " << key.first << " " << key.second << " was never there, or removed";
            } else if (found->second != text) {
                ++other;
            }
        }
        EXPECT_LE(other, result->mended.size()) << when << ": other figures than were kept";
        EXPECT_TRUE(opened(folder_ / "out.swb", false).targets()) << when;
        return rows.size();
    }
    Folder folder_{quick_place()};
    Rows truth_;
    std::string bytes_;
};

TEST_F(Rescue, ASoundFileComesOutWhole) {
    EXPECT_EQ(rescued(bytes_, "sound"), truth_.size());
    EXPECT_TRUE(rows_in(folder_ / "out.swb") == truth_);
    Workbook workbook = opened(folder_ / "out.swb", false);
    ASSERT_TRUE(workbook.add(sample_target(50)));  // and goes on
    EXPECT_FAULT(rescue(folder_ / "book.swb", folder_ / "out.swb"), Fault::bad_usage);
    EXPECT_FAULT(rescue(folder_ / "none.swb", folder_ / "new.swb"), Fault::workbook_unreadable);
    EXPECT_FAULT(rescue(folder_ / "book.swb", folder_ / "no/such/folder.swb"), Fault::workbook_write);
    write_bytes(folder_ / "text.swb", std::string(9000, 'x'));
    EXPECT_FAULT(rescue(folder_ / "text.swb", folder_ / "new.swb"), Fault::workbook_unreadable);
    EXPECT_FALSE(std::filesystem::exists(folder_ / "new.swb"));
}

TEST_F(Rescue, FilesOfOlderVersions) {
    for (const char* name : {"version_1.swb", "version_2.swb"}) {
        std::filesystem::remove(folder_ / "out.swb");
        const Result<Rescued> result = rescue(std::filesystem::path(SW_TESTS) / "workbook" / name, folder_ / "out.swb");
        ASSERT_TRUE(result) << describe(result.error());
        const Workbook workbook = opened(folder_ / "out.swb", false);
        for (const int number : {0, 1, 2, 4, 5, 6}) EXPECT_TRUE(same_content(*workbook.target(sample_target(number).name), sample_target(number)));
        EXPECT_EQ(workbook.readings()->size(), 6U);
        EXPECT_TRUE(result->bad.empty() && result->mended.empty());
    }
}

TEST_F(Rescue, NeitherHeaderNorTreesAreNeeded) {
    std::string headless = bytes_;
    std::fill_n(headless.begin(), 100, '\xAB');
    EXPECT_EQ(rescued(headless, "no header"), truth_.size());
    std::string rootless = bytes_;
    std::fill_n(rootless.begin(), 4096, '\0');
    EXPECT_EQ(rescued(rootless, "no first page"), truth_.size());
    // Each page in turn: at most what lay on it, or flowed over onto it, is lost.
    std::size_t worst = truth_.size();
    for (std::size_t page = 0; page * 4096 < bytes_.size(); ++page) {
        std::string holed = bytes_;
        std::fill_n(holed.begin() + static_cast<std::ptrdiff_t>(page * 4096), 4096, '\0');
        worst = std::min(worst, rescued(holed, "page " + std::to_string(page)));
    }
    EXPECT_GT(worst, truth_.size() / 2);
}

TEST_F(Rescue, FlippedBytes) {
    std::mt19937 random(41);
    const int flips = test::long_form() ? 2000 : test::kSlow ? 60 : 250;
    std::size_t least = truth_.size();
    for (int round = 0; round < flips; ++round) {
        std::string damaged = bytes_;
        const std::size_t at = random() % damaged.size();
        damaged[at] = static_cast<char>(damaged[at] ^ static_cast<char>(1 + random() % 255));
        least = std::min(least, rescued(damaged, "byte " + std::to_string(at)));
    }
    std::printf("%d flips, %s: at least %zu of %zu rows came out\n", flips, failed_words(), least, truth_.size());
    EXPECT_GT(least, truth_.size() / 2);
}

TEST_F(Rescue, Truncations) {
    const int cuts = test::long_form() ? 500 : test::kSlow ? 20 : 60;
    std::size_t half = 0;
    for (int round = 0; round < cuts; ++round) {
        const std::size_t length = bytes_.size() * static_cast<std::size_t>(round) / static_cast<std::size_t>(cuts);
        const std::size_t rows = rescued(bytes_.substr(0, length), "cut to " + std::to_string(length));
        if (round == cuts / 2) half = rows;
    }
    std::printf("%d cuts, %s: half of the file gives %zu of %zu rows\n", cuts, failed_words(), half, truth_.size());
    EXPECT_GT(half, truth_.size() / 5);
}

// A row that is not as it was saved is told by name, and not taken.
TEST_F(Rescue, DamagedRowsAreListedAndNotTaken) {
    std::filesystem::copy_file(folder_ / "book.swb", folder_ / "spoiled.swb");
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open((folder_ / "spoiled.swb").c_str(), &database), SQLITE_OK);
    ASSERT_EQ(sqlite3_exec(database, "UPDATE target SET lab_a = lab_a + 1 WHERE name = 'Damson 8'; UPDATE lamp SET source = 'x' WHERE id = 3",
                           nullptr, nullptr, nullptr),
              SQLITE_OK);
    sqlite3_close(database);
    const Result<Soundness> sound = look_over(folder_ / "spoiled.swb");
    ASSERT_TRUE(sound);
    ASSERT_EQ(sound->bad.size(), 2U);
    EXPECT_EQ(sound->bad[0].label, "target \"Damson 8\"");
    EXPECT_TRUE(sound->structure.empty());
    const Result<Rescued> result = rescue(folder_ / "spoiled.swb", folder_ / "out.swb");
    ASSERT_TRUE(result);
    std::vector<std::string> bad;
    for (const BadRow& row : result->bad) bad.push_back(row.label);
    EXPECT_THAT(bad, testing::UnorderedElementsAre("target \"Damson 8\"", "lamp \"bench lamp 2\""));
    EXPECT_THAT(result->mended, testing::Contains(HasSubstr("reading \"swatch, mix 8 pot B\" lost its target")));
    EXPECT_THAT(result->mended, testing::Contains(HasSubstr("part \"brake wheel 8\" lost its target")));
    const Workbook workbook = opened(folder_ / "out.swb", false);
    EXPECT_FAULT(workbook.target("Damson 8"), Fault::name_unknown);
    EXPECT_TRUE(same_content(*workbook.target("Damson 9"), sample_target(9)));
}

// A save was broken off, and its journal lies beside the file: what comes out is the state before it.
TEST_F(Rescue, ABrokenOffSaveIsUndoneInACopy) {
    const std::filesystem::path file = folder_ / "book.swb", journal = folder_ / "book.swb-journal";
    const pid_t child = ::fork();
    if (child == 0) {
        sqlite3* database = nullptr;
        sqlite3_open(file.c_str(), &database);
        sqlite3_exec(database, "PRAGMA cache_size = 1; BEGIN; DELETE FROM reading WHERE id > 3; UPDATE target SET lab_l = 0;", nullptr, nullptr,
                     nullptr);
        ::_exit(0);
    }
    ::waitpid(child, nullptr, 0);
    ASSERT_TRUE(std::filesystem::exists(journal) && std::filesystem::file_size(journal) > 512);
    const std::string before = bytes_of(file), journal_before = bytes_of(journal);
    const Result<Rescued> result = rescue(file, folder_ / "out.swb");
    ASSERT_TRUE(result) << describe(result.error());
    EXPECT_TRUE(bytes_of(file) == before && bytes_of(journal) == journal_before);
    EXPECT_TRUE(rows_in(folder_ / "out.swb") == truth_);
    for (const auto& entry : std::filesystem::directory_iterator(folder_.path))
        EXPECT_THAT(entry.path().string(), testing::Not(HasSubstr("rescue-part")));
}

// Pages that lie: cells that point anywhere, chains that go round. Random bytes behind an honest head, seeded; only that it ends and takes nothing.
TEST_F(Rescue, PagesThatLie) {
    std::mt19937 random(42);
    for (int round = 0; round < (test::kSlow ? 20 : 200); ++round) {
        std::string bytes = bytes_.substr(0, 100);
        while (bytes.size() < 16 * 4096) bytes += static_cast<char>(random());
        for (std::size_t page = 0; page < 16; ++page) {
            const std::size_t head = page * 4096 + (page == 0 ? 100 : 0);
            bytes[head] = 0x0D;
            bytes[head + 3] = static_cast<char>(random() % 8);
        }
        EXPECT_EQ(rescued(bytes, "round " + std::to_string(round)), 0U);
    }
}

// Rows are told apart by their number of columns and the types of these: no two tables may look alike.
TEST(Rescue4, EveryRowFitsOneTableOnly) {
    const Folder folder(quick_place());
    {
        Workbook workbook = opened(folder / "book.swb");
        for (int number = 0; number < 20; ++number) ASSERT_TRUE(add_sample_mix(workbook, number));
    }
    const Rows before = rows_in(folder / "book.swb");
    const Result<Rescued> result = rescue(folder / "book.swb", folder / "out.swb");
    ASSERT_TRUE(result);
    EXPECT_TRUE(rows_in(folder / "out.swb") == before);
    EXPECT_TRUE(result->bad.empty() && result->mended.empty());
}

// A pot of which an addition was lost shows the gap: the numbers go on.
TEST(Rescue4, ALostAdditionLeavesAGap) {
    const Folder folder(quick_place());
    {
        Workbook workbook = opened(folder / "book.swb");
        ASSERT_TRUE(add_sample_mix(workbook, 0));
    }
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open((folder / "book.swb").c_str(), &database), SQLITE_OK);
    ASSERT_EQ(sqlite3_exec(database, "UPDATE addition SET ml = 99 WHERE number = 2", nullptr, nullptr, nullptr), SQLITE_OK);
    sqlite3_close(database);
    EXPECT_FAULT(opened(folder / "book.swb", false).additions(), Fault::workbook_unreadable);
    const Result<Rescued> result = rescue(folder / "book.swb", folder / "out.swb");
    ASSERT_TRUE(result);
    ASSERT_EQ(result->bad.size(), 1U);
    EXPECT_THAT(result->mended, testing::ElementsAre(HasSubstr("reading of a pot")));  // it was of what was in the pot then
    const Workbook workbook = opened(folder / "out.swb", false);
    ASSERT_EQ(workbook.additions()->size(), 2U);
    EXPECT_EQ(workbook.additions()->back().number, 3);
}

TEST(LookOver, SaysWhatIsWrong) {
    const Folder folder(quick_place());
    EXPECT_FAULT(look_over(folder / "none.swb"), Fault::workbook_unreadable);
    write_bytes(folder / "text.swb", "no workbook");
    EXPECT_FAULT(look_over(folder / "text.swb"), Fault::workbook_unreadable);
    std::filesystem::copy_file(std::filesystem::path(SW_TESTS) / "workbook" / "version_2.swb", folder / "old.swb");
    const Result<Soundness> old = look_over(folder / "old.swb");
    ASSERT_TRUE(old);
    EXPECT_TRUE(old->sound());
    EXPECT_EQ(old->version, 2);
    {
        Workbook workbook = opened(folder / "book.swb");
        ASSERT_TRUE(workbook.add(sample_target(1)) && workbook.add(sample_part(1, 1)));
    }
    EXPECT_TRUE(look_over(folder / "book.swb")->sound());
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open((folder / "book.swb").c_str(), &database), SQLITE_OK);
    ASSERT_EQ(
        sqlite3_exec(database, "PRAGMA foreign_keys = OFF; DELETE FROM target; UPDATE change SET words = 'x' WHERE id = 1; CREATE TABLE more (x)",
                     nullptr, nullptr, nullptr),
        SQLITE_OK);
    sqlite3_close(database);
    const Result<Soundness> spoiled = look_over(folder / "book.swb");
    ASSERT_TRUE(spoiled);
    EXPECT_EQ(spoiled->structure.size(), 2U);  // a table more, a part that wears what is gone
    ASSERT_EQ(spoiled->bad.size(), 1U);
    EXPECT_EQ(spoiled->bad[0].table, "change");
}

}  // namespace
}  // namespace sw
