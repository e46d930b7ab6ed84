// A damaged workbook gives a clear error or the true data: never other data, never a crash.
#include <gtest/gtest.h>
#include <sqlite3.h>
#include <unistd.h>

#include <random>

#include "slow.hpp"
#include "workbook/rows.hpp"
#include "workbook/samples.hpp"

namespace sw {
namespace {

struct Content {
    std::vector<Target> targets;
    std::vector<KeptReading> readings;
    std::vector<Part> parts;
    std::vector<KeptPhoto> photos;
    std::vector<Lamp> lamps;
    std::vector<Note> notes;
    std::vector<KeptPaint> paints;
    std::vector<KeptSample> samples;
    std::vector<KeptPot> pots;
    std::vector<KeptAddition> additions;
    std::vector<KeptPotReading> pot_readings;
    std::vector<Change> changes;
};

// Nothing if any of it gives an error.
std::optional<Content> content(const Workbook& workbook) {
    const auto targets = workbook.targets();
    const auto readings = workbook.readings();
    const auto parts = workbook.parts();
    const auto photos = workbook.photos();
    const auto lamps = workbook.lamps();
    const auto notes = workbook.notes();
    const auto paints = workbook.paints();
    const auto samples = workbook.samples();
    const auto pots = workbook.pots();
    const auto additions = workbook.additions();
    const auto pot_readings = workbook.pot_readings();
    const auto changes = workbook.changes();
    if (!targets || !readings || !parts || !photos || !lamps || !notes || !changes || !paints || !samples || !pots || !additions || !pot_readings)
        return std::nullopt;
    return Content{*targets, *readings, *parts, *photos, *lamps, *notes, *paints, *samples, *pots, *additions, *pot_readings, *changes};
}

Content make(const std::filesystem::path& file) {
    Workbook workbook = opened(file);
    for (int number = 0; number < 24; ++number) {
        const Result<Target> target = workbook.add(sample_target(number));
        KeptReading reading = sample_reading(number);
        if (number % 2 == 0) reading.target = target->id;
        EXPECT_TRUE(workbook.add(reading));
    }
    for (int number = 0; number < 12; ++number) {
        const Result<Part> part = workbook.add(sample_part(number, number + 1, number / 2));
        EXPECT_TRUE(part && workbook.keep(sample_photo(number)) && workbook.add(sample_lamp(number)));
        EXPECT_TRUE(workbook.add(sample_note(number, number % 2 == 0 ? number + 1 : 0, number % 2 == 0 ? 0 : part->id)));
        EXPECT_TRUE(add_sample_mix(workbook, number, number + 1));
    }
    // Removals leave free pages and gaps, as a file in use has them.
    for (const std::int64_t id : {3, 8, 11}) EXPECT_TRUE(workbook.remove_target(id));
    for (const std::int64_t id : {6, 11, 20}) EXPECT_TRUE(workbook.remove_reading(id));
    EXPECT_TRUE(workbook.remove_lamp(5));
    EXPECT_TRUE(*workbook.undo());
    return *content(workbook);
}

enum class Outcome { error, true_data, other_data };

bool equal(const Content& truth, const Content& seen) {
    const auto alike = [](const auto& one, const auto& two) { return same_content(one, two) && one.id == two.id && one.created == two.created; };
    const auto all = [&](const auto& one, const auto& two) { return std::equal(one.begin(), one.end(), two.begin(), two.end(), alike); };
    return std::equal(truth.targets.begin(), truth.targets.end(), seen.targets.begin(), seen.targets.end(),
                      [](const Target& one, const Target& two) { return same(one, two); }) &&
           std::equal(truth.readings.begin(), truth.readings.end(), seen.readings.begin(), seen.readings.end(),
                      [](const KeptReading& one, const KeptReading& two) { return same(one, two); }) &&
           all(truth.parts, seen.parts) && all(truth.photos, seen.photos) && all(truth.lamps, seen.lamps) && all(truth.notes, seen.notes) &&
           all(truth.paints, seen.paints) && all(truth.samples, seen.samples) && all(truth.pots, seen.pots) && all(truth.additions, seen.additions) &&
           all(truth.pot_readings, seen.pot_readings);
}

bool equal_changes(const Content& truth, const Content& seen) {
    return std::equal(truth.changes.begin(), truth.changes.end(), seen.changes.begin(), seen.changes.end(), [](const Change& one, const Change& two) {
        return one.id == two.id && one.words == two.words && one.undone == two.undone && one.created == two.created;
    });
}

Outcome outcome(const std::filesystem::path& file, const Content& truth) {
    Result<Workbook> workbook = Workbook::open(file, false);
    if (!workbook) {
        EXPECT_FALSE(workbook.error().cause.empty());
        EXPECT_NE(workbook.error().fault, Fault::internal) << describe(workbook.error());
        return Outcome::error;
    }
    const std::optional<Content> seen = content(*workbook);
    if (!seen) return Outcome::error;
    if (!equal(truth, *seen) || !(workbook->newer() || equal_changes(truth, *seen))) return Outcome::other_data;
    for (const Target& target : truth.targets) {
        const Result<Target> found = workbook->target(target.name);
        if (!found && found.error().fault == Fault::name_unknown) return Outcome::other_data;
        if (found && !same(*found, target)) return Outcome::other_data;
    }
    // What can be read can be saved to, and that spoils nothing.
    const Result<Target> added = workbook->add(sample_target(5000));
    if (added) {
        EXPECT_TRUE(workbook->remove_target(added->id));
        std::optional<Content> after = content(*workbook);
        if (!after || !equal(truth, *after)) return Outcome::other_data;
        // Both can be taken back, and brought again.
        if (*workbook->undo() && *workbook->undo()) {
            after = content(*workbook);
            if (!after || !equal(truth, *after)) return Outcome::other_data;
        }
    }
    return Outcome::true_data;
}

// Thousands of files that need not outlive the power: in memory where there is such a place.
class Damage : public testing::Test {
protected:
    void SetUp() override {
        truth_ = make(folder_ / "book.swb");
        bytes_ = bytes_of(folder_ / "book.swb");
        ASSERT_EQ(outcome(folder_ / "book.swb", truth_), Outcome::true_data);
        ASSERT_GT(bytes_.size(), 10 * 4096U);
    }
    Outcome with(const std::string& bytes) {
        write_bytes(folder_ / "damaged.swb", bytes);
        const Outcome result = outcome(folder_ / "damaged.swb", truth_);
        std::filesystem::remove(folder_ / "damaged.swb-journal");
        ++counts_[static_cast<std::size_t>(result)];
        return result;
    }
    void TearDown() override {
        std::printf("%s: %d damaged files, %d failed (gave other data); %d gave a clear error, %d the true data\n",
                    testing::UnitTest::GetInstance()->current_test_info()->name(), counts_[0] + counts_[1] + counts_[2], counts_[2], counts_[0],
                    counts_[1]);
    }
    Folder folder_{quick_place()};
    Content truth_;
    std::string bytes_;
    int counts_[3] = {};
};

const int kFlips = test::long_form() ? 10'000 : test::kSlow ? 300 : 1000, kCuts = test::long_form() ? 500 : test::kSlow ? 100 : 200;

TEST_F(Damage, ManyFlippedBytes) {
    std::mt19937 random(20261125);
    for (int round = 0; round < kFlips; ++round) {
        std::string damaged = bytes_;
        const std::size_t at = random() % damaged.size();
        const char flip = static_cast<char>(1 + random() % 255);
        damaged[at] = static_cast<char>(damaged[at] ^ flip);
        EXPECT_NE(with(damaged), Outcome::other_data) << "byte " << at << " changed by " << int{flip};
    }
    EXPECT_GT(counts_[0], 3 * kFlips / 10) << "much of the file is data: a flip there must be seen";
}

TEST_F(Damage, EveryBitOfTheHeader) {
    for (std::size_t bit = 0; bit < 100 * 8; ++bit) {
        std::string damaged = bytes_;
        damaged[bit / 8] = static_cast<char>(damaged[bit / 8] ^ 1 << bit % 8);
        EXPECT_NE(with(damaged), Outcome::other_data) << "bit " << bit;
    }
}

TEST_F(Damage, ManyTruncations) {
    std::mt19937 random(7);
    for (int round = 0; round < kCuts; ++round) {
        std::size_t length = random() % bytes_.size();
        if (round % 4 == 0) length -= length % 4096;  // whole pages: the hardest to notice
        EXPECT_NE(with(bytes_.substr(0, length)), Outcome::other_data) << "cut to " << length;
    }
    EXPECT_GT(counts_[0], 3 * kCuts / 4) << "only a cut within unused pages at the end can leave all data";
}

TEST_F(Damage, AddedBytesAndZeroedPages) {
    EXPECT_NE(with(bytes_ + std::string(4096, 'x')), Outcome::other_data);
    EXPECT_NE(with(bytes_ + "x"), Outcome::other_data);
    for (std::size_t page = 0; page * 4096 < bytes_.size(); ++page) {
        std::string damaged = bytes_;
        std::fill_n(damaged.begin() + static_cast<std::ptrdiff_t>(page * 4096), 4096, '\0');
        EXPECT_NE(with(damaged), Outcome::other_data) << "page " << page;
    }
}

// One row damaged: the others can still be had one by one.
TEST_F(Damage, OtherTargetsSurviveADamagedOne) {
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open((folder_ / "book.swb").c_str(), &database), SQLITE_OK);
    ASSERT_EQ(sqlite3_exec(database, "UPDATE target SET lab_a = lab_a + 1 WHERE name = 'Damson 5'", nullptr, nullptr, nullptr), SQLITE_OK);
    sqlite3_close(database);
    const Workbook workbook = opened(folder_ / "book.swb", false);
    EXPECT_FAULT(workbook.target("Damson 5"), Fault::workbook_unreadable);
    EXPECT_FAULT(workbook.targets(), Fault::workbook_unreadable);
    EXPECT_TRUE(workbook.target("Damson 6"));
}

// A definition of our own, laid down here so that old files stay readable: the id as 8 bytes, then each value's type (0 NULL, 1 INTEGER, 2 REAL,
// 3 TEXT), then 8 bytes of it (low byte first), for text its length and its bytes. FNV-1a itself by an independent few lines.
TEST(Checksum, IsFnv1aOfTheWrittenForm) {
    const std::string form = std::string("\x05\0\0\0\0\0\0\0", 8) + std::string("\0", 1) + std::string("\x01\xFE\xFF\xFF\xFF\xFF\xFF\xFF\xFF", 9) +
                             std::string("\x02\0\0\0\0\0\0\xF0\x3F", 9) + std::string("\x03\x02\0\0\0\0\0\0\0ab", 11);
    const auto fnv = [](const std::string& text) {
        std::uint64_t hash = 14695981039346656037ULL;
        for (const char character : text) {
            hash ^= static_cast<unsigned char>(character);
            hash *= 1099511628211ULL;
        }
        return hash;
    };
    EXPECT_EQ(fnv("a"), 0xaf63dc4c8601ec8cULL);  // test vectors of the FNV draft, from memory
    EXPECT_EQ(fnv("foobar"), 0x85944171f73967e8ULL);
    EXPECT_EQ(store::checksum(5, {store::Value(), std::int64_t{-2}, 1.0, std::string("ab")}), static_cast<std::int64_t>(fnv(form)));
}

}  // namespace
}  // namespace sw
