// A workbook that version 1 of the schema made (tests/workbook/version_1.swb: six targets and six readings of samples.hpp, saved by the program of
// that time) is brought up to this version, or read as it is; whatever goes wrong on the way, nothing of it is lost.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <thread>

#include "workbook/samples.hpp"

namespace sw {
namespace {

const std::filesystem::path kFirst = std::filesystem::path(SW_TESTS) / "workbook" / "version_1.swb";

int version_of(const std::filesystem::path& file) {
    sqlite3* database = nullptr;
    sqlite3_stmt* statement = nullptr;
    EXPECT_EQ(sqlite3_open_v2(file.c_str(), &database, SQLITE_OPEN_READONLY, nullptr), SQLITE_OK);
    EXPECT_EQ(sqlite3_prepare_v2(database, "PRAGMA user_version", -1, &statement, nullptr), SQLITE_OK);
    EXPECT_EQ(sqlite3_step(statement), SQLITE_ROW);
    const int version = sqlite3_column_int(statement, 0);
    sqlite3_finalize(statement);
    sqlite3_close(database);
    return version;
}

// Numbers 0, 1, 2, 4, 5, 6: the third was removed again; its reading lost the link. Number 6 was cut off before its reading.
void expect_all_there(const Workbook& workbook) {
    const Result<std::vector<Target>> targets = workbook.targets();
    const Result<std::vector<KeptReading>> readings = workbook.readings();
    ASSERT_TRUE(targets && readings);
    ASSERT_EQ(targets->size(), 6U);
    ASSERT_EQ(readings->size(), 6U);
    for (const int number : {0, 1, 2, 4, 5, 6}) EXPECT_TRUE(same_content(*workbook.target(sample_target(number).name), sample_target(number)));
    for (int number = 0; number < 6; ++number) {
        const KeptReading& reading = (*readings)[static_cast<std::size_t>(5 - number)];
        EXPECT_TRUE(same_content(reading, sample_reading(number)));
        EXPECT_EQ(reading.target.has_value(), number != 3);
    }
}

TEST(Version, OneIsBroughtUpWhenOpened) {
    const Folder folder;
    std::filesystem::copy_file(kFirst, folder / "book.swb");
    ASSERT_EQ(version_of(folder / "book.swb"), 1);
    for (const bool again : {false, true}) {
        Workbook workbook = opened(folder / "book.swb", false);
        EXPECT_FALSE(workbook.read_only());
        EXPECT_FALSE(workbook.newer());
        EXPECT_EQ(version_of(folder / "book.swb"), 4);
        expect_all_there(workbook);
        EXPECT_EQ(workbook.cards()->size(), again ? 1U : 0U);
        EXPECT_EQ(workbook.setups()->size(), again ? 1U : 0U);
        if (again) break;
        ASSERT_TRUE(workbook.add(sample_card(1)));
        ASSERT_TRUE(workbook.add(sample_setup(3)));
    }
}

// version_2.swb holds what version 1 does and three cards and two set-ups.
const std::filesystem::path kSecond = std::filesystem::path(SW_TESTS) / "workbook" / "version_2.swb";

void expect_second_there(const Workbook& workbook) {
    expect_all_there(workbook);
    for (int number = 0; number < 3; ++number) EXPECT_TRUE(same_content(*workbook.card(sample_card(number).name), sample_card(number)));
    for (int number = 1; number < 3; ++number) EXPECT_TRUE(same_content(*workbook.setup(sample_setup(number).name), sample_setup(number)));
}

TEST(Version, TwoIsBroughtUpAndACopyStays) {
    const Folder folder;
    std::filesystem::copy_file(kSecond, folder / "book.swb");
    const std::filesystem::path copy = folder / "book.swb.v2.backup";
    {
        Workbook workbook = opened(folder / "book.swb", false);
        EXPECT_FALSE(workbook.read_only());
        expect_second_there(workbook);
        EXPECT_TRUE(workbook.parts()->empty());
        EXPECT_EQ(*workbook.undo(), std::nullopt) << "being brought up is no change of the user's";
        ASSERT_TRUE(
            workbook.add(Part{.id = 0, .name = "body side", .parent = {}, .target = 1, .status = PartStatus::target, .note = {}, .created = {}}));
    }
    EXPECT_EQ(version_of(folder / "book.swb"), 4);
    EXPECT_TRUE(bytes_of(copy) == bytes_of(kSecond));
    // The copy is a workbook of version 2, to be opened as one.
    std::filesystem::copy_file(copy, folder / "again.swb");
    expect_second_there(opened(folder / "again.swb", false));
    // No copy is written over. The same content needs no second one.
    std::filesystem::copy_file(kSecond, folder / "book.swb", std::filesystem::copy_options::overwrite_existing);
    expect_second_there(opened(folder / "book.swb", false));
    EXPECT_FALSE(std::filesystem::exists(copy.string() + ".2"));
    write_bytes(copy, "somebody's");
    std::filesystem::copy_file(kSecond, folder / "book.swb", std::filesystem::copy_options::overwrite_existing);
    expect_second_there(opened(folder / "book.swb", false));
    EXPECT_EQ(bytes_of(copy), "somebody's");
    EXPECT_TRUE(bytes_of(copy.string() + ".2") == bytes_of(kSecond));
    for (const auto& entry : std::filesystem::directory_iterator(folder.path)) EXPECT_FALSE(entry.path().string().ends_with("-part"));
}

// version_3.swb: two targets, two parts and a note, each a change that can be undone.
const std::filesystem::path kThird = std::filesystem::path(SW_TESTS) / "workbook" / "version_3.swb";

TEST(Version, ThreeIsBroughtUpWithItsUndo) {
    const Folder folder;
    std::filesystem::copy_file(kThird, folder / "book.swb");
    ASSERT_EQ(version_of(folder / "book.swb"), 3);
    {
        Workbook workbook = opened(folder / "book.swb", false);
        EXPECT_FALSE(workbook.read_only());
        EXPECT_EQ(workbook.targets()->size(), 2U);
        EXPECT_EQ(workbook.parts()->size(), 2U);
        EXPECT_TRUE(workbook.paints()->empty() && workbook.samples()->empty() && workbook.pots()->empty() && workbook.additions()->empty() &&
                    workbook.pot_readings()->empty());
        EXPECT_EQ(workbook.changes()->size(), 5U);
        ASSERT_TRUE(add_sample_mix(workbook, 1, workbook.target("Damson 14")->id));
        for (int step = 0; step < 8; ++step) EXPECT_TRUE(*workbook.undo()) << step;  // paint, two samples, pot, three additions, reading
        EXPECT_EQ(**workbook.undo(), "Added note \"two coats\"");
        EXPECT_EQ(**workbook.undo(), "Added part \"body side\"");
        EXPECT_EQ(**workbook.redo(), "Added part \"body side\"");
    }
    EXPECT_EQ(version_of(folder / "book.swb"), 4);
    EXPECT_TRUE(bytes_of(folder / "book.swb.v3.backup") == bytes_of(kThird));
    EXPECT_EQ(opened(folder / "book.swb", false).parts()->size(), 2U);
}

TEST(Version, ThreeIsReadAsItIsWhereItCannotBeWritten) {
    const Folder folder;
    std::filesystem::copy_file(kThird, folder / "book.swb");
    ::chmod((folder / "book.swb").c_str(), 0444);
    ::chmod(folder.path.c_str(), 0555);
    const uid_t was = ::geteuid();
    if (was == 0) static_cast<void>(::seteuid(65534));
    {
        Workbook workbook = opened(folder / "book.swb", true);
        EXPECT_TRUE(workbook.read_only());
        EXPECT_EQ(workbook.targets()->size(), 2U);
        EXPECT_TRUE(workbook.paints()->empty() && workbook.samples()->empty() && workbook.pots()->empty() && workbook.additions()->empty() &&
                    workbook.pot_readings()->empty());
        EXPECT_FAULT(workbook.add(sample_paint(0)), Fault::workbook_write);
        EXPECT_FAULT(workbook.paint("Tube 0"), Fault::name_unknown);
    }
    static_cast<void>(::seteuid(was));
    ::chmod(folder.path.c_str(), 0755);
    EXPECT_TRUE(bytes_of(folder / "book.swb") == bytes_of(kThird));
}

TEST(Version, ARowThatWasDamagedBeforeStaysDamaged) {
    const Folder folder;
    std::filesystem::copy_file(kSecond, folder / "book.swb");
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open((folder / "book.swb").c_str(), &database), SQLITE_OK);
    ASSERT_EQ(sqlite3_exec(database, "UPDATE target SET lab_a = lab_a + 1 WHERE name = 'Damson 5'", nullptr, nullptr, nullptr), SQLITE_OK);
    sqlite3_close(database);
    const Workbook workbook = opened(folder / "book.swb", false);
    EXPECT_FAULT(workbook.target("Damson 5"), Fault::workbook_unreadable);
    EXPECT_TRUE(same_content(*workbook.target("Damson 4"), sample_target(4)));
}

TEST(Version, OneIsReadAsItIsWhereItCannotBeWritten) {
    const Folder folder;
    ::chmod(folder.path.c_str(), 0755);
    std::filesystem::copy_file(kFirst, folder / "book.swb");
    ::chmod((folder / "book.swb").c_str(), 0444);
    ::chmod(folder.path.c_str(), 0555);
    const std::string before = bytes_of(folder / "book.swb");
    const uid_t was = ::geteuid();
    if (was == 0) static_cast<void>(::seteuid(65534));
    {
        Workbook workbook = opened(folder / "book.swb", true);
        EXPECT_TRUE(workbook.read_only());
        EXPECT_FALSE(workbook.newer());
        expect_all_there(workbook);
        EXPECT_TRUE(workbook.cards()->empty());
        EXPECT_TRUE(workbook.setups()->empty());
        EXPECT_TRUE(workbook.parts()->empty() && workbook.photos()->empty() && workbook.lamps()->empty() && workbook.notes()->empty());
        EXPECT_TRUE(workbook.changes()->empty());
        EXPECT_FAULT(workbook.undo(), Fault::workbook_write);
        EXPECT_FAULT(workbook.card("gray"), Fault::name_unknown);
        EXPECT_FAULT(workbook.setup("bench"), Fault::name_unknown);
        EXPECT_FAULT(workbook.add(sample_card(0)), Fault::workbook_write);
        EXPECT_FAULT(workbook.add(sample_setup(0)), Fault::workbook_write);
    }
    static_cast<void>(::seteuid(was));
    ::chmod(folder.path.c_str(), 0755);
    EXPECT_TRUE(bytes_of(folder / "book.swb") == before);
}

TEST(Version, AChangedOneIsNotBroughtUp) {
    const Folder folder;
    std::filesystem::copy_file(kFirst, folder / "book.swb");
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open((folder / "book.swb").c_str(), &database), SQLITE_OK);
    ASSERT_EQ(sqlite3_exec(database, "CREATE TABLE card (id INTEGER PRIMARY KEY) STRICT", nullptr, nullptr, nullptr), SQLITE_OK);
    sqlite3_close(database);
    const std::string before = bytes_of(folder / "book.swb");
    EXPECT_FAULT(Workbook::open(folder / "book.swb", false), Fault::workbook_unreadable);
    EXPECT_TRUE(bytes_of(folder / "book.swb") == before);
}

// A disk without room for the new tables: what is there can be read, and is brought up once there is room.
TEST(Version, AFullDiskLeavesOneAsItIs) {
    const Folder folder;
    std::filesystem::copy_file(kFirst, folder / "book.swb");
    rlimit before{};
    ASSERT_EQ(::getrlimit(RLIMIT_FSIZE, &before), 0);
    const auto handler = std::signal(SIGXFSZ, SIG_IGN);
    const rlimit small{std::filesystem::file_size(folder / "book.swb"), before.rlim_max};
    ASSERT_EQ(::setrlimit(RLIMIT_FSIZE, &small), 0);
    {
        const Result<Workbook> workbook = Workbook::open(folder / "book.swb", true);
        ::setrlimit(RLIMIT_FSIZE, &before);
        std::signal(SIGXFSZ, handler);
        ASSERT_TRUE(workbook) << describe(workbook.error());
        EXPECT_TRUE(workbook->read_only());
        expect_all_there(*workbook);
        EXPECT_EQ(version_of(folder / "book.swb"), 1);
    }
    expect_all_there(opened(folder / "book.swb", true));
    EXPECT_EQ(version_of(folder / "book.swb"), 4);
}

// Killed at 30 moments of the opening that brings it up; and by six at once.
TEST(Version, KilledOrCrowdedOnTheWayUp) {
    const Folder folder;
    int halfway = 0;
    for (int round = 0; round < 30; ++round) {
        const std::filesystem::path file = folder / ("book " + std::to_string(round) + ".swb");
        std::filesystem::copy_file(kFirst, file);
        const pid_t child = ::fork();
        if (child == 0) {
            const Result<Workbook> workbook = Workbook::open(file, true);
            ::_exit(workbook ? 0 : 1);
        }
        std::this_thread::sleep_for(std::chrono::microseconds(400 * round));
        ::kill(child, SIGKILL);
        ::waitpid(child, nullptr, 0);
        halfway += std::filesystem::exists(file.string() + "-journal");
        const Workbook workbook = opened(file, true);
        EXPECT_FALSE(workbook.read_only());
        expect_all_there(workbook);
        if (HasFailure()) return;
    }
    std::printf("30 kills on the way up: %d left a journal to undo\n", halfway);

    std::filesystem::copy_file(kFirst, folder / "many.swb");
    std::vector<pid_t> children;
    for (int number = 0; number < 6; ++number) {
        const pid_t child = ::fork();
        if (child == 0) {
            Result<Workbook> workbook = Workbook::open(folder / "many.swb", true);
            ::_exit(workbook && workbook->add(sample_setup(number)) ? 0 : 1);
        }
        children.push_back(child);
    }
    for (const pid_t child : children) {
        int status = 0;
        ::waitpid(child, &status, 0);
        EXPECT_EQ(status, 0);
    }
    const Workbook workbook = opened(folder / "many.swb", false);
    expect_all_there(workbook);
    EXPECT_EQ(workbook.setups()->size(), children.size());
}

TEST(Cards, ComeBackAsTheyWereKept) {
    const Folder folder;
    Workbook workbook = opened(folder / "book.swb");
    for (int number = 0; number < 9; ++number) {
        const Result<Card> added = workbook.add(sample_card(number));
        ASSERT_TRUE(added) << describe(added.error());
        EXPECT_GT(added->id, 0);
        const Result<Card> found = opened(folder / "book.swb", false).card(" card " + std::to_string(number));
        ASSERT_TRUE(found);
        EXPECT_TRUE(same_content(*found, sample_card(number)));
        EXPECT_EQ(found->created, added->created);
        EXPECT_TRUE(card_reference(*found, Box{1, 2, 3, 4}));
    }
    EXPECT_EQ(workbook.cards()->size(), 9U);
    EXPECT_FAULT(workbook.add(sample_card(4)), Fault::name_taken);
    EXPECT_TRUE(workbook.remove_card(workbook.card("card 4")->id));
    EXPECT_FAULT(workbook.card("card 4"), Fault::name_unknown);
    EXPECT_FAULT(workbook.remove_card(77), Fault::name_unknown);
    const CardReference spectrum = *card_reference(sample_card(2), Box{});
    EXPECT_NEAR(std::get<Reflectance>(spectrum.value).value[480 - kFirstNm], 0.25, 1e-6);  // of samples.hpp: 0.2 + 0.0005 x 100
}

TEST(Cards, RefuseWhatCannotBe) {
    const Folder folder;
    Workbook workbook = opened(folder / "book.swb");
    const auto refused = [&](auto value, double sd, const std::string& words) {
        Card card = sample_card(0);
        card.value = value;
        card.sd = sd;
        const Result<Card> added = workbook.add(card);
        EXPECT_FAULT(added, Fault::bad_usage);
        if (!added) {
            EXPECT_THAT(describe(added.error()), testing::HasSubstr(words));
        }
    };
    const double nan = std::nan("");
    refused(Lrv{0}, 0.5, "LRV");
    refused(Lrv{101}, 0.5, "LRV");
    refused(Lrv{nan}, 0.5, "LRV");
    refused(Lrv{18}, 0, "spread");
    refused(Lrv{18}, nan, "spread");
    refused(Lab{50, 140, 140}, 0.5, "no surface");
    refused(Lab{nan, 0, 0}, 0.5, "no surface");
    refused(SpectrumText{"not,a\nspectrum,here"}, 0.5, "spectrum");
    refused(SpectrumText{std::string(2 << 20, '1')}, 0.5, "1 MB");
    refused(SpectrumText{"\xFF"}, 0.5, "UTF-8");
    KeptSetup setup = sample_setup(1);
    setup.json.clear();
    EXPECT_FAULT(workbook.add(setup), Fault::bad_usage);
    setup = sample_setup(1);
    setup.json = "\xFF";
    EXPECT_FAULT(workbook.add(setup), Fault::bad_usage);
    EXPECT_TRUE(workbook.cards()->empty());
    EXPECT_TRUE(workbook.setups()->empty());
}

TEST(Setups, ComeBackAsTheyWereKeptAndShowDamage) {
    const Folder folder;
    {
        Workbook workbook = opened(folder / "book.swb");
        for (int number = 0; number < 7; ++number) ASSERT_TRUE(workbook.add(sample_setup(number)));
        EXPECT_FAULT(workbook.add(sample_setup(4)), Fault::name_taken);
        EXPECT_TRUE(workbook.remove_setup(workbook.setup("bench 4")->id));
        EXPECT_EQ(workbook.setups()->size(), 6U);
        EXPECT_TRUE(same_content(*workbook.setup("bench 3"), sample_setup(3)));
        ASSERT_TRUE(workbook.add(sample_card(1)));
    }
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open((folder / "book.swb").c_str(), &database), SQLITE_OK);
    const char* spoil = "UPDATE setup SET setup_json = replace(setup_json, 'd', 'e') WHERE name = 'bench 3'; UPDATE card SET lab_a = lab_a + 1";
    ASSERT_EQ(sqlite3_exec(database, spoil, nullptr, nullptr, nullptr), SQLITE_OK);
    sqlite3_close(database);
    const Workbook workbook = opened(folder / "book.swb", false);
    EXPECT_FAULT(workbook.setup("bench 3"), Fault::workbook_unreadable);
    EXPECT_FAULT(workbook.card("card 1"), Fault::workbook_unreadable);
    EXPECT_TRUE(same_content(*workbook.setup("bench 6"), sample_setup(6)));
}

}  // namespace
}  // namespace sw
