// Opening what is missing, foreign, newer, locked, read-only or on a full disk: a clear error, nothing lost.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>

#include "workbook/samples.hpp"

namespace sw {
namespace {

using testing::HasSubstr;

void run_sql(const std::filesystem::path& file, const std::string& sql) {
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open(file.c_str(), &database), SQLITE_OK);
    EXPECT_EQ(sqlite3_exec(database, sql.c_str(), nullptr, nullptr, nullptr), SQLITE_OK) << sqlite3_errmsg(database);
    sqlite3_close(database);
}

// A workbook with three targets and readings.
void make_workbook(const std::filesystem::path& file) {
    Workbook workbook = opened(file);
    for (int number = 0; number < 3; ++number) {
        ASSERT_TRUE(workbook.add(sample_target(number)));
        ASSERT_TRUE(workbook.add(sample_reading(number)));
    }
}

TEST(Open, MissingFolderEmptyAndForeignFiles) {
    const Folder folder;
    EXPECT_FAULT(Workbook::open(folder / "missing.swb", false), Fault::workbook_unreadable);
    EXPECT_FALSE(std::filesystem::exists(folder / "missing.swb")) << "looking must not make a file";
    EXPECT_FAULT(Workbook::open(folder / "no/such/folder.swb", false), Fault::workbook_unreadable);
    EXPECT_FAULT(Workbook::open("", true), Fault::workbook_unreadable);
    for (const bool create : {false, true}) {
        EXPECT_FAULT(Workbook::open(folder.path, create), Fault::workbook_unreadable);
        EXPECT_FAULT(Workbook::open("/dev/null", create), Fault::workbook_unreadable);
        ::mkfifo((folder / "pipe").c_str(), 0600);
        EXPECT_FAULT(Workbook::open(folder / "pipe", create), Fault::workbook_unreadable);  // and does not wait for a writer

        for (const std::string& text :
             {std::string("x"), std::string("not a database"), std::string(5000, 'x'), std::string("SQLite format 3\0", 16)}) {
            write_bytes(folder / "text.swb", text);
            EXPECT_FAULT(Workbook::open(folder / "text.swb", create), Fault::workbook_unreadable);
            EXPECT_TRUE(bytes_of(folder / "text.swb") == text) << "a file that is not ours must not change";
        }
        std::filesystem::remove(folder / "foreign.db");
        run_sql(folder / "foreign.db", "CREATE TABLE songs (title TEXT); INSERT INTO songs VALUES ('x');");
        for (const char* also : {"", "PRAGMA application_id = 12345;", "PRAGMA user_version = 1;"}) {
            run_sql(folder / "foreign.db", std::string("SELECT 1;") + also);
            const std::string before = bytes_of(folder / "foreign.db");
            const Result<Workbook> refused = Workbook::open(folder / "foreign.db", create);
            EXPECT_FAULT(refused, Fault::workbook_unreadable);
            EXPECT_THAT(describe(refused.error()), HasSubstr("another program"));
            EXPECT_TRUE(bytes_of(folder / "foreign.db") == before);
        }
    }
    // A table more, or one changed: not ours to guess at.
    make_workbook(folder / "changed.swb");
    run_sql(folder / "changed.swb", "CREATE TRIGGER spoil AFTER INSERT ON target BEGIN DELETE FROM reading; END;");
    EXPECT_FAULT(Workbook::open(folder / "changed.swb", false), Fault::workbook_unreadable);
    // A file in the way of a folder.
    EXPECT_FAULT(Workbook::open(folder / "text.swb/inside.swb", true), Fault::workbook_write);
}

TEST(Open, AnEmptyFileIsNew) {
    const Folder folder;
    write_bytes(folder / "empty.swb", "");
    EXPECT_FAULT(Workbook::open(folder / "empty.swb", false), Fault::workbook_unreadable);
    EXPECT_TRUE(opened(folder / "empty.swb").add(sample_target(1)));
    EXPECT_EQ(opened(folder / "empty.swb", false).targets()->size(), 1U);
}

TEST(Open, StrangeNamesAreNames) {
    const Folder folder;
    const std::filesystem::path before = std::filesystem::current_path();
    std::filesystem::current_path(folder.path);
    for (const char* name : {":memory:", "file:x?mode=memory", " ", "a'b\"c;.swb", "D\xC3\xA4mmerung", "not utf-8 \xFF"}) {
        EXPECT_TRUE(opened(name).add(sample_target(1))) << name;
        EXPECT_TRUE(std::filesystem::is_regular_file(folder / name)) << name;
        EXPECT_EQ(opened(name, false).targets()->size(), 1U) << name;
    }
    std::filesystem::create_symlink("a'b\"c;.swb", "link.swb");
    EXPECT_EQ(opened("link.swb", false).targets()->size(), 1U);
    std::filesystem::current_path(before);
}

TEST(Open, ANewerWorkbookIsReadAndNotChanged) {
    const Folder folder;
    make_workbook(folder / "newer.swb");
    run_sql(folder / "newer.swb",
            "PRAGMA user_version = 5; ALTER TABLE target ADD COLUMN gloss REAL; CREATE TABLE kettle (id INTEGER PRIMARY KEY) STRICT;");
    const std::string before = bytes_of(folder / "newer.swb");
    {
        Workbook workbook = opened(folder / "newer.swb", true);
        EXPECT_TRUE(workbook.newer());
        EXPECT_TRUE(workbook.read_only());
        ASSERT_EQ(workbook.targets()->size(), 3U);
        EXPECT_TRUE(same_content(*workbook.target("Damson 1"), sample_target(1)));
        EXPECT_EQ(workbook.readings()->size(), 3U);
        EXPECT_FAULT(workbook.add(sample_target(9)), Fault::workbook_newer);
        EXPECT_FAULT(workbook.put(*workbook.target("Damson 1")), Fault::workbook_newer);
        EXPECT_FAULT(workbook.remove_target(1), Fault::workbook_newer);
        EXPECT_FAULT(workbook.remove_reading(1), Fault::workbook_newer);
        EXPECT_FAULT(workbook.add(sample_reading(9)), Fault::workbook_newer);
    }
    EXPECT_TRUE(bytes_of(folder / "newer.swb") == before);
    run_sql(folder / "newer.swb", "ALTER TABLE target RENAME TO wanted;");
    EXPECT_FAULT(Workbook::open(folder / "newer.swb", false), Fault::workbook_newer);

    make_workbook(folder / "meanwhile.swb");  // brought up by another program while it is open here
    Workbook workbook = opened(folder / "meanwhile.swb");
    run_sql(folder / "meanwhile.swb", "PRAGMA user_version = 5");
    EXPECT_FAULT(workbook.add(sample_target(9)), Fault::workbook_newer);
}

// Acts as nobody for a while where the test runs as root, whom permissions do not bind.
class AsNobody {
public:
    AsNobody() : was_(::geteuid()) {
        if (was_ == 0) static_cast<void>(::seteuid(65534));
    }
    AsNobody(const AsNobody&) = delete;
    AsNobody& operator=(const AsNobody&) = delete;
    ~AsNobody() { static_cast<void>(::seteuid(was_)); }

private:
    uid_t was_;
};

TEST(Open, ReadOnlyFileOrFolder) {
    const Folder folder;
    ::chmod(folder.path.c_str(), 0755);
    for (const bool lock_folder : {false, true}) {
        const std::filesystem::path inside = folder / (lock_folder ? "locked" : "open");
        std::filesystem::create_directory(inside);
        make_workbook(inside / "book.swb");
        ::chmod((inside / "book.swb").c_str(), lock_folder ? 0666 : 0444);
        ::chmod(inside.c_str(), lock_folder ? 0555 : 0777);
        const AsNobody nobody;
        Workbook workbook = opened(inside / "book.swb", true);
        EXPECT_TRUE(workbook.read_only());
        EXPECT_FALSE(workbook.newer());
        EXPECT_EQ(workbook.targets()->size(), 3U);
        EXPECT_FAULT(workbook.add(sample_target(9)), Fault::workbook_write);
        EXPECT_FAULT(workbook.remove_target(1), Fault::workbook_write);
        if (lock_folder) {
            EXPECT_FAULT(Workbook::open(inside / "new.swb", true), Fault::workbook_write);
            EXPECT_FAULT(Workbook::open(inside / "deeper/new.swb", true), Fault::workbook_write);
        }
    }
    make_workbook(folder / "secret.swb");
    ::chmod((folder / "secret.swb").c_str(), 0000);
    {
        const AsNobody nobody;
        EXPECT_FAULT(Workbook::open(folder / "secret.swb", false), Fault::workbook_unreadable);
    }
    ::chmod((folder / "locked").c_str(), 0755);  // so that it can be removed
}

// A save was broken off, and its journal lies beside a workbook that cannot be written here: half a save must not be shown as data.
TEST(Open, BrokenOffSaveInAReadOnlyFolder) {
    const Folder folder;
    ::chmod(folder.path.c_str(), 0755);
    const std::filesystem::path inside = folder / "locked", file = inside / "book.swb", journal = inside / "book.swb-journal";
    std::filesystem::create_directory(inside);
    make_workbook(file);
    const pid_t child = ::fork();  // dies in the middle of a save that has already reached the file (a cache of one page spills)
    if (child == 0) {
        sqlite3* database = nullptr;
        sqlite3_open(file.c_str(), &database);
        sqlite3_exec(database,
                     "PRAGMA cache_size = 1; BEGIN; UPDATE reading SET calibration_json = hex(randomblob(20000)); UPDATE target SET lab_l = 0;",
                     nullptr, nullptr, nullptr);
        ::_exit(0);
    }
    ::waitpid(child, nullptr, 0);
    ASSERT_TRUE(std::filesystem::exists(journal) && std::filesystem::file_size(journal) > 512);
    ::chmod(inside.c_str(), 0555);
    {
        const AsNobody nobody;
        const Result<Workbook> refused = Workbook::open(file, true);
        EXPECT_FAULT(refused, Fault::workbook_unreadable);
        EXPECT_THAT(describe(refused.error()), HasSubstr("-journal"));
    }
    ::chmod(inside.c_str(), 0755);
    const Workbook workbook = opened(file, false);  // where it can be written, the half save is undone
    ASSERT_EQ(workbook.readings()->size(), 3U);
    EXPECT_TRUE(same_content(workbook.readings()->back(), sample_reading(0)));
    EXPECT_TRUE(same_content(*workbook.target("Damson 1"), sample_target(1)));
}

TEST(Open, MovedOrRemovedWhileOpen) {
    const Folder folder;
    make_workbook(folder / "book.swb");
    Workbook workbook = opened(folder / "book.swb");
    std::filesystem::rename(folder / "book.swb", folder / "moved.swb");
    EXPECT_FAULT(workbook.add(sample_target(9)), Fault::workbook_write);  // else it would be saved into a file that is gone
    std::filesystem::rename(folder / "moved.swb", folder / "book.swb");
    EXPECT_TRUE(workbook.add(sample_target(9)));
}

// A child process that holds a lock until it is told to go.
class Locker {
public:
    Locker(const std::filesystem::path& file, const char* begin) {
        int ready[2], go[2];
        if (::pipe(ready) != 0 || ::pipe(go) != 0) throw std::runtime_error("pipe");
        child_ = ::fork();
        if (child_ == 0) {
            ::close(go[1]);
            sqlite3* database = nullptr;
            char byte = sqlite3_open(file.c_str(), &database) == SQLITE_OK && sqlite3_exec(database, begin, nullptr, nullptr, nullptr) == SQLITE_OK
                            ? 'y'
                            : 'n';
            static_cast<void>(!::write(ready[1], &byte, 1));
            static_cast<void>(!::read(go[0], &byte, 1));  // until the parent closes it
            ::_exit(0);
        }
        ::close(ready[1]);
        ::close(go[0]);
        char byte = 0;
        if (::read(ready[0], &byte, 1) != 1 || byte != 'y') throw std::runtime_error("no lock");
        ::close(ready[0]);
        go_ = go[1];
    }
    Locker(const Locker&) = delete;
    Locker& operator=(const Locker&) = delete;
    ~Locker() {
        ::close(go_);
        ::waitpid(child_, nullptr, 0);
    }
    pid_t child() const { return child_; }

private:
    pid_t child_ = 0;
    int go_ = -1;
};

TEST(Open, LockedByAnotherProcess) {
    const Folder folder;
    make_workbook(folder / "book.swb");
    Workbook workbook = opened(folder / "book.swb");
    const bool locks_are_listed = std::ifstream("/proc/locks").good();
    {
        const Locker locker(folder / "book.swb", "BEGIN IMMEDIATE");
        EXPECT_EQ(workbook.targets()->size(), 3U) << "others may read meanwhile";
        const auto start = std::chrono::steady_clock::now();
        const Result<Target> refused = workbook.add(sample_target(9));
        const double seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
        EXPECT_FAULT(refused, Fault::workbook_locked);
        EXPECT_GT(seconds, 1.5);  // 2 s of patience, less SQLite's steps of 0.1 s
        EXPECT_LT(seconds, 10);   // a loaded machine may be slow; for ever it is not
        if (locks_are_listed) {
            EXPECT_THAT(describe(refused.error()), HasSubstr("process " + std::to_string(locker.child()) + ") is writing"));
        }
    }
    {
        const Locker locker(folder / "book.swb", "BEGIN EXCLUSIVE");
        EXPECT_FAULT(workbook.targets(), Fault::workbook_locked);
        EXPECT_FAULT(Workbook::open(folder / "book.swb", true), Fault::workbook_locked);
    }
    {
        const Locker locker(folder / "book.swb", "BEGIN; SELECT count(*) FROM target");  // a reader keeps a save from ending
        const Result<Target> refused = workbook.add(sample_target(9));
        EXPECT_FAULT(refused, Fault::workbook_locked);
        if (locks_are_listed) {
            EXPECT_THAT(describe(refused.error()), HasSubstr("is reading"));
        }
    }
    EXPECT_EQ(workbook.targets()->size(), 3U);
    EXPECT_TRUE(workbook.add(sample_target(9)));
}

TEST(Open, ManyMayMakeItAtOnce) {
    const Folder folder;
    std::vector<pid_t> children;
    for (int number = 0; number < 6; ++number) {
        const pid_t child = ::fork();
        if (child == 0) {
            // On a slow machine the others may hold the lock for longer than is waited; that is said, and then one tries again.
            for (int tries = 0; tries < 20; ++tries) {
                Result<Workbook> workbook = Workbook::open(folder / "book.swb", true);
                const auto added = workbook ? workbook->add(sample_target(number)) : Result<Target>(workbook.error());
                if (added) ::_exit(0);
                if (added.error().fault != Fault::workbook_locked) ::_exit(1);
            }
            ::_exit(2);
        }
        children.push_back(child);
    }
    for (const pid_t child : children) {
        int status = 0;
        ::waitpid(child, &status, 0);
        EXPECT_EQ(status, 0);
    }
    EXPECT_EQ(opened(folder / "book.swb", false).targets()->size(), children.size());
}

// Saves until the disk is full; then all that was reported must be there, and saving must work again once there is space.
template <class MakeSpace>
void fill(const std::filesystem::path& file, MakeSpace make_space) {
    Workbook workbook = opened(file);
    std::vector<KeptReading> kept;
    std::optional<Error> refused;
    for (int number = 0; number < 2000 && !refused; ++number) {
        KeptReading reading = sample_reading(number);
        reading.calibration_json.append(20000, 'x');
        const Result<KeptReading> added = workbook.add(reading);
        if (added) {
            kept.push_back(*added);
        } else {
            refused = added.error();
        }
    }
    ASSERT_TRUE(refused) << "the disk never filled";
    EXPECT_EQ(refused->fault, Fault::workbook_write) << describe(*refused);
    EXPECT_THAT(describe(*refused), HasSubstr("nothing was saved"));
    ASSERT_GT(kept.size(), 5U);
    const auto check = [&](const Workbook& seen) {
        const Result<std::vector<KeptReading>> readings = seen.readings();
        ASSERT_TRUE(readings) << describe(readings.error());
        ASSERT_EQ(readings->size(), kept.size());
        for (std::size_t i = 0; i < kept.size(); ++i) EXPECT_TRUE(same((*readings)[kept.size() - 1 - i], kept[i])) << i;
    };
    check(workbook);
    make_space();
    check(opened(file, false));
    const Result<KeptReading> added = workbook.add(sample_reading(3000));
    ASSERT_TRUE(added) << describe(added.error());
    kept.push_back(*added);
    check(opened(file, false));
}

TEST(FullDisk, FileSizeLimit) {
    const Folder folder;
    rlimit before{};
    ASSERT_EQ(::getrlimit(RLIMIT_FSIZE, &before), 0);
    const auto handler = std::signal(SIGXFSZ, SIG_IGN);
    const rlimit small{500'000, before.rlim_max};
    ASSERT_EQ(::setrlimit(RLIMIT_FSIZE, &small), 0);
    const auto lift = [&] { ::setrlimit(RLIMIT_FSIZE, &before); };
    fill(folder / "book.swb", lift);
    lift();
    std::signal(SIGXFSZ, handler);
}

TEST(FullDisk, SmallMount) {
    const Folder folder;
    if (::mount("tmpfs", folder.path.c_str(), "tmpfs", 0, "size=1m") != 0) GTEST_SKIP() << "a small disk can be mounted by root only";
    write_bytes(folder / "ballast", std::string(200'000, 'x'));
    fill(folder / "book.swb", [&] { std::filesystem::remove(folder / "ballast"); });

    // Too full to even make one.
    std::ofstream(folder / "ballast", std::ios::binary) << std::string(2'000'000, 'x');
    const Result<Workbook> refused = Workbook::open(folder / "new.swb", true);
    EXPECT_FAULT(refused, Fault::workbook_write);
    std::filesystem::remove(folder / "ballast");
    EXPECT_TRUE(opened(folder / "new.swb").add(sample_target(1))) << "the attempt must leave nothing in the way";
    EXPECT_EQ(::umount(folder.path.c_str()), 0);
}

}  // namespace
}  // namespace sw
