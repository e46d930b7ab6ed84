// A disk that fails at its n-th step, and power that goes at the n-th step: reported saves are there, failed ones are reported, nothing is half.
// Both by a layer of our own between SQLite and the real files (SQLite calls such a layer a VFS).
#include <gtest/gtest.h>
#include <sqlite3.h>
#include <unistd.h>

#include <functional>
#include <map>
#include <new>
#include <random>
#include <set>

#include "slow.hpp"
#include "workbook/rows.hpp"
#include "workbook/samples.hpp"

namespace sw {
namespace {

enum class Trouble { none, error, full, torn, power };  // torn: half of a write is done before it fails

// One not yet synced change of a file: bytes at an offset, or a new length.
struct Pending {
    std::size_t offset = 0;
    std::string bytes;
    bool truncate = false;
};

// What of a file is sure to outlive a power cut.
struct Durable {
    std::string synced;
    std::vector<Pending> pending;
    bool name_synced = false;  // the folder was synced since the file was made
    bool removed = false;      // and not since it was removed: it may come back
};

struct Disk {
    Trouble trouble = Trouble::none;
    int strike_at = 0, steps = 0;
    bool lasting = false, struck = false;
    std::map<std::string, Durable> files;

    bool fails() {
        ++steps;
        if (struck && lasting) return true;
        if (trouble == Trouble::none || steps != strike_at) return false;
        struck = true;
        return true;
    }
    void sync_names() {
        for (auto file = files.begin(); file != files.end();) {
            file->second.name_synced = true;
            file = file->second.removed ? files.erase(file) : std::next(file);
        }
    }
};

Disk& disk() {
    static Disk the_disk;
    return the_disk;
}

sqlite3_vfs& real_vfs() {
    static sqlite3_vfs& vfs = *sqlite3_vfs_find(nullptr);
    return vfs;
}

struct File {
    sqlite3_file base;
    sqlite3_file* real;
    char path[1024];
    bool new_journal;  // its first sync also syncs the folder, as SQLite's own layer does it
};

File& as_file(sqlite3_file* file) { return *reinterpret_cast<File*>(file); }
sqlite3_file* real(sqlite3_file* file) { return as_file(file).real; }
int failure(int code) { return disk().trouble == Trouble::full ? SQLITE_FULL : code; }

int write(sqlite3_file* file, const void* bytes, int count, sqlite3_int64 offset) {
    const auto* text = static_cast<const char*>(bytes);
    if (disk().fails()) {
        if (disk().trouble == Trouble::torn && count > 1) real(file)->pMethods->xWrite(real(file), bytes, count / 2, offset);
        return failure(SQLITE_IOERR_WRITE);
    }
    const auto known = disk().files.find(as_file(file).path);
    if (known != disk().files.end())
        known->second.pending.push_back({static_cast<std::size_t>(offset), std::string(text, static_cast<std::size_t>(count)), false});
    return real(file)->pMethods->xWrite(real(file), bytes, count, offset);
}

int truncate(sqlite3_file* file, sqlite3_int64 size) {
    if (disk().fails()) return failure(SQLITE_IOERR_TRUNCATE);
    const auto known = disk().files.find(as_file(file).path);
    if (known != disk().files.end()) known->second.pending.push_back({static_cast<std::size_t>(size), {}, true});
    return real(file)->pMethods->xTruncate(real(file), size);
}

int sync(sqlite3_file* file, int flags) {
    if (disk().fails()) return failure(SQLITE_IOERR_FSYNC);
    const auto known = disk().files.find(as_file(file).path);
    if (known != disk().files.end()) {
        known->second.synced = bytes_of(as_file(file).path);
        known->second.pending.clear();
        if (as_file(file).new_journal) disk().sync_names();
        as_file(file).new_journal = false;
    }
    return real(file)->pMethods->xSync(real(file), flags);
}

int remove_file(sqlite3_vfs*, const char* name, int sync_folder) {
    if (disk().fails()) return failure(SQLITE_IOERR_DELETE);
    const int code = real_vfs().xDelete(&real_vfs(), name, sync_folder);
    const auto known = disk().files.find(name);
    if (known != disk().files.end()) known->second.removed = true;
    if (sync_folder != 0) disk().sync_names();
    return code;
}

const sqlite3_io_methods& methods() {
    static const sqlite3_io_methods table = [] {
        sqlite3_io_methods m{};
        m.iVersion = 1;
        m.xClose = [](sqlite3_file* f) { return real(f)->pMethods == nullptr ? SQLITE_OK : real(f)->pMethods->xClose(real(f)); };
        m.xRead = [](sqlite3_file* f, void* to, int count, sqlite3_int64 at) { return real(f)->pMethods->xRead(real(f), to, count, at); };
        m.xWrite = write;
        m.xTruncate = truncate;
        m.xSync = sync;
        m.xFileSize = [](sqlite3_file* f, sqlite3_int64* size) { return real(f)->pMethods->xFileSize(real(f), size); };
        m.xLock = [](sqlite3_file* f, int level) { return real(f)->pMethods->xLock(real(f), level); };
        m.xUnlock = [](sqlite3_file* f, int level) { return real(f)->pMethods->xUnlock(real(f), level); };
        m.xCheckReservedLock = [](sqlite3_file* f, int* held) { return real(f)->pMethods->xCheckReservedLock(real(f), held); };
        m.xFileControl = [](sqlite3_file* f, int what, void* with) { return real(f)->pMethods->xFileControl(real(f), what, with); };
        m.xSectorSize = [](sqlite3_file* f) { return real(f)->pMethods->xSectorSize(real(f)); };
        m.xDeviceCharacteristics = [](sqlite3_file*) { return 0; };  // a disk that promises nothing
        return m;
    }();
    return table;
}

int open_file(sqlite3_vfs*, sqlite3_filename name, sqlite3_file* file, int flags, int* out_flags) {
    File& ours = *new (file) File{};
    ours.real = reinterpret_cast<sqlite3_file*>(reinterpret_cast<char*>(file) + sizeof(File));
    const bool existed = name != nullptr && ::access(name, F_OK) == 0;
    const int code = real_vfs().xOpen(&real_vfs(), name, ours.real, flags, out_flags);
    if (code != SQLITE_OK) return code;
    ours.base.pMethods = &methods();
    if (name == nullptr) return code;
    std::snprintf(ours.path, sizeof ours.path, "%s", name);
    ours.new_journal = !existed && (flags & SQLITE_OPEN_MAIN_JOURNAL) != 0;
    if (disk().trouble == Trouble::power) {
        const auto [known, is_new] = disk().files.try_emplace(name);
        if (is_new) {
            known->second.name_synced = existed;
            if (existed) known->second.synced = bytes_of(name);
        } else if (known->second.removed) {  // made again before the removal was sure
            known->second.removed = false;
            known->second.pending = {{0, {}, true}};
        }
    }
    return code;
}

// Puts itself between SQLite and the disk while it lives.
class FaultyDisk {
public:
    FaultyDisk(Trouble trouble, int strike_at, bool lasting) {
        disk() = Disk{};
        disk().trouble = trouble;
        disk().strike_at = strike_at;
        disk().lasting = lasting;
        vfs_ = real_vfs();
        vfs_.zName = "faulty";
        vfs_.pNext = nullptr;
        vfs_.szOsFile = static_cast<int>(sizeof(File)) + real_vfs().szOsFile;
        vfs_.xOpen = open_file;
        vfs_.xDelete = remove_file;
        sqlite3_vfs_register(&vfs_, 1);
    }
    FaultyDisk(const FaultyDisk&) = delete;
    FaultyDisk& operator=(const FaultyDisk&) = delete;
    ~FaultyDisk() {
        sqlite3_vfs_unregister(&vfs_);
        sqlite3_vfs_register(&real_vfs(), 1);
    }

private:
    sqlite3_vfs vfs_{};
};

// Lays down what a power cut could have left: all synced bytes, and of the others none (seed 0) or some sectors (512 bytes).
void lay_down(const std::map<std::string, Durable>& files, unsigned seed) {
    std::mt19937 random(seed);
    const auto chance = [&] { return seed != 0 && random() % 2 == 0; };
    for (const auto& [name, file] : files) {
        std::filesystem::remove(name);
        if (!file.name_synced && !chance()) continue;  // its name never reached the disk
        if (file.removed && chance()) continue;        // its removal did
        std::string bytes = file.synced;
        for (const Pending& change : file.pending) {
            if (change.truncate) {
                if (chance()) bytes.resize(change.offset);
                continue;
            }
            for (std::size_t at = 0; at < change.bytes.size(); at += 512) {
                if (!chance()) continue;
                const std::string sector = change.bytes.substr(at, 512);
                if (bytes.size() < change.offset + at + sector.size()) bytes.resize(change.offset + at + sector.size());
                bytes.replace(change.offset + at, sector.size(), sector);
            }
        }
        write_bytes(name, bytes);
    }
}

// What a workbook holds, without ids and times: kind and name of each item -> its content and whose it is.
using Snapshot = std::map<std::string, std::string>;

std::string print_of(Target target) {
    target.created.clear();
    return std::to_string(store::checksum(0, store::values(target)));
}
std::string print_of(KeptReading reading, const std::string& of_target) {
    reading.created.clear();
    reading.target.reset();
    return std::to_string(store::checksum(0, store::values(reading))) + " of " + of_target;
}

template <class T>
std::string print_of_any(T item) {
    item.created.clear();
    return std::to_string(store::checksum(0, store::values(item)));
}

std::optional<Snapshot> snapshot(const Workbook& workbook) {
    const Result<std::vector<Target>> targets = workbook.targets();
    const Result<std::vector<KeptReading>> readings = workbook.readings();
    if (!targets || !readings) return std::nullopt;
    const Result<std::vector<Part>> parts = workbook.parts();
    const Result<std::vector<KeptPhoto>> photos = workbook.photos();
    if (!parts || !photos) return std::nullopt;
    Snapshot seen;
    for (const Part& part : *parts) seen["part " + part.name] = print_of_any(part);
    for (const KeptPhoto& photo : *photos) seen["photo " + photo.path] = print_of_any(photo);
    std::map<std::int64_t, std::string> names;
    for (const Target& target : *targets) {
        names[target.id] = target.name;
        seen["target " + target.name] = print_of(target);
    }
    for (const KeptReading& reading : *readings)
        seen["reading " + reading.name] = print_of(reading, reading.target ? names.at(*reading.target) : "nothing");
    return seen;
}

// A step of work: does it to the workbook, and says what the snapshot must then be. Nothing: it could not even be tried (reading failed).
using Step = std::function<std::optional<Result<Done>>(Workbook&, Snapshot&)>;

Result<Done> done(const auto& result) { return result ? Result<Done>(Done{}) : Result<Done>(result.error()); }

std::vector<Step> steps() {
    return {
        [](Workbook& workbook, Snapshot& after) -> std::optional<Result<Done>> {
            after["target " + sample_target(10).name] = print_of(sample_target(10));
            return done(workbook.add(sample_target(10)));
        },
        [](Workbook& workbook, Snapshot& after) -> std::optional<Result<Done>> {  // number 15: a long text, over several pages
            const Result<Target> target = workbook.target(sample_target(10).name);
            if (!target) return std::nullopt;
            KeptReading reading = sample_reading(15);
            reading.target = target->id;
            after["reading " + reading.name] = print_of(reading, target->name);
            return done(workbook.add(reading));
        },
        [](Workbook& workbook, Snapshot& after) -> std::optional<Result<Done>> {
            Result<Target> target = workbook.target(sample_target(0).name);
            if (!target) return std::nullopt;
            after.erase("target " + target->name);
            target->name = "Straw 31";
            after["target Straw 31"] = print_of(*target);
            return workbook.put(*target);
        },
        [](Workbook& workbook, Snapshot& after) -> std::optional<Result<Done>> {
            const Result<Target> target = workbook.target(sample_target(10).name);
            if (!target) return std::nullopt;
            after.erase("target " + target->name);
            const std::string reading = "reading " + sample_reading(15).name;
            if (after.count(reading) == 1) after[reading] = print_of(sample_reading(15), "nothing");
            return workbook.remove_target(target->id);
        },
        [](Workbook& workbook, Snapshot& after) -> std::optional<Result<Done>> {
            const Result<std::vector<KeptReading>> readings = workbook.readings();
            if (!readings) return std::nullopt;
            after.erase("reading " + readings->back().name);
            return workbook.remove_reading(readings->back().id);
        },
        [](Workbook& workbook, Snapshot& after) -> std::optional<Result<Done>> {  // a part and a photo as one
            after["part " + sample_part(3).name] = print_of_any(sample_part(3));
            after["photo " + sample_photo(3).path] = print_of_any(sample_photo(3));
            return workbook.together("both", [&]() -> Result<Done> {
                if (const auto part = workbook.add(sample_part(3)); !part) return part.error();
                return done(workbook.keep(sample_photo(3)));
            });
        },
        [](Workbook& workbook, Snapshot& after) -> std::optional<Result<Done>> {  // taken back, where it was done
            const Result<std::vector<Change>> changes = workbook.changes();
            if (!changes || changes->empty() || changes->front().words != "both" || changes->front().undone) return std::nullopt;
            after.erase("part " + sample_part(3).name);
            after.erase("photo " + sample_photo(3).path);
            return done(workbook.undo());
        },
    };
}

// Works with a workbook on the faulty disk. Returns what may be on it: one snapshot, or two where the last step failed. Empty: it could not be
// opened.
struct Ending {
    std::vector<Snapshot> possible;
    int reported = 0, refused = 0;
};

Ending work(const std::filesystem::path& file, const Snapshot& start) {
    Ending ending{{start}, 0, 0};
    Result<Workbook> workbook = Workbook::open(file, true);
    if (!workbook) {
        EXPECT_NE(workbook.error().fault, Fault::internal) << describe(workbook.error());
        return ending;
    }
    for (const Step& step : steps()) {
        const std::optional<Snapshot> before = snapshot(*workbook);
        if (!before) continue;
        EXPECT_TRUE(std::find(ending.possible.begin(), ending.possible.end(), *before) != ending.possible.end())
            << "after a failed step: neither before nor after";
        Snapshot after = *before;
        const std::optional<Result<Done>> result = step(*workbook, after);
        if (!result) continue;
        if (*result) {
            ending.possible = {after};
            ++ending.reported;
        } else {
            EXPECT_EQ(result->error().fault, Fault::workbook_write) << describe(result->error());
            ending.possible = {*before, after};
            ++ending.refused;
        }
    }
    return ending;
}

Snapshot prepare(const std::filesystem::path& file) {
    Workbook workbook = opened(file);
    for (int number = 0; number < 3; ++number) {
        EXPECT_TRUE(workbook.add(sample_target(number)));
        EXPECT_TRUE(workbook.add(sample_reading(number)));
    }
    return *snapshot(workbook);
}

void expect_one_of(const std::filesystem::path& file, const std::vector<Snapshot>& possible, const std::string& when) {
    const Result<Workbook> workbook = Workbook::open(file, true);
    ASSERT_TRUE(workbook) << when << ": " << describe(workbook.error());
    const std::optional<Snapshot> seen = snapshot(*workbook);
    ASSERT_TRUE(seen) << when;
    EXPECT_TRUE(std::find(possible.begin(), possible.end(), *seen) != possible.end()) << when;
}

TEST(FailingDisk, EveryStepOnceAndForGood) {
    int reported = 0, refused = 0, rounds = 0;
    for (const Trouble trouble : {Trouble::error, Trouble::full, Trouble::torn}) {
        for (const bool lasting : {false, true}) {
            bool struck = true;
            for (int n = 1; struck; n += test::kSlow ? 4 : 1, ++rounds) {
                ASSERT_LT(n, 500);
                const Folder folder(quick_place());
                const Snapshot start = prepare(folder / "book.swb");
                Ending ending;
                {
                    const FaultyDisk faulty(trouble, n, lasting);
                    ending = work(folder / "book.swb", start);
                    struck = disk().struck;
                }
                expect_one_of(folder / "book.swb", ending.possible,
                              "step " + std::to_string(n) + (lasting ? " and on" : "") + ", trouble " + std::to_string(static_cast<int>(trouble)));
                reported += ending.reported;
                refused += ending.refused;
                if (!struck) {
                    EXPECT_GT(n, 40) << "the work must reach beyond step 40";
                }
            }
        }
    }
    std::printf("%d rounds, %s: %d saves reported, %d refused\n", rounds, failed_words(), reported, refused);
    EXPECT_GT(refused, test::kSlow ? 50 : 200);
}

TEST(FailingDisk, WhileTheFileIsMade) {
    for (const bool lasting : {false, true}) {
        bool struck = true;
        for (int n = 1; struck; ++n) {
            ASSERT_LT(n, 200);
            const Folder folder(quick_place());
            {
                const FaultyDisk faulty(Trouble::error, n, lasting);
                const Result<Workbook> workbook = Workbook::open(folder / "book.swb", true);
                struck = disk().struck;
                if (!workbook) {
                    EXPECT_EQ(workbook.error().fault, Fault::workbook_write) << describe(workbook.error());
                }
                EXPECT_TRUE(workbook || struck);
            }
            Workbook again = opened(folder / "book.swb", true);
            EXPECT_TRUE(again.targets()->empty());
            EXPECT_TRUE(again.add(sample_target(1)));
            if (!struck) {
                EXPECT_GT(n, 5);
            }
        }
    }
}

// A workbook of version 1 on a disk that fails, or loses its power, at the n-th step of being brought up: all it held is there, and it can be brought
// up.
TEST(FailingDisk, WhileAnOldFileIsBroughtUp) {
    const std::filesystem::path first = std::filesystem::path(SW_TESTS) / "workbook" / "version_1.swb";
    int rounds = 0;
    for (const Trouble trouble : {Trouble::error, Trouble::full, Trouble::torn, Trouble::power}) {
        bool struck = true;
        for (int n = 1; struck; ++n, ++rounds) {
            ASSERT_LT(n, 300);
            const Folder folder(quick_place());
            std::filesystem::copy_file(first, folder / "book.swb");
            std::map<std::string, Durable> files;
            {
                const FaultyDisk faulty(trouble, n, true);
                const Result<Workbook> workbook = Workbook::open(folder / "book.swb", true);
                struck = disk().struck;
                files = disk().files;
                if (!workbook) {
                    EXPECT_NE(workbook.error().fault, Fault::internal) << describe(workbook.error());
                }
                EXPECT_TRUE(workbook || struck);
            }
            if (trouble == Trouble::power && struck) lay_down(files, static_cast<unsigned>(n));
            Workbook again = opened(folder / "book.swb", true);
            EXPECT_FALSE(again.read_only());
            const std::optional<Snapshot> seen = snapshot(again);
            ASSERT_TRUE(seen);
            EXPECT_EQ(seen->size(), 12U) << "step " << n;
            for (const int number : {0, 1, 2, 4, 5, 6}) EXPECT_EQ(seen->at("target " + sample_target(number).name), print_of(sample_target(number)));
            EXPECT_TRUE(again.add(sample_setup(1)));
            if (HasFailure()) return;
        }
    }
    std::printf("%d rounds on the way up, %s\n", rounds, failed_words());
    EXPECT_GT(rounds, 40);
}

TEST(PowerCut, AtEveryStep) {
    bool struck = true;
    int n = 0, reported = 0;
    while (struck) {
        ASSERT_LT(++n, 500);
        const Folder folder(quick_place());
        const bool fresh = n % 3 == 0;  // some on a workbook that is only being made
        const Snapshot start = fresh ? Snapshot() : prepare(folder / "book.swb");
        Ending ending;
        std::map<std::string, Durable> files;
        {
            const FaultyDisk faulty(Trouble::power, n, true);
            if (fresh) {
                Result<Workbook> workbook = Workbook::open(folder / "book.swb", true);
                ending.possible = {start};
                if (workbook) {
                    Snapshot after;
                    const Result<Done> saved = *steps().front()(*workbook, after);
                    ending.possible = saved ? std::vector{after} : std::vector{start, after};
                    ending.reported += static_cast<bool>(saved);
                }
            } else {
                ending = work(folder / "book.swb", start);
            }
            struck = disk().struck || fresh;
            files = disk().files;
        }
        reported += ending.reported;
        for (unsigned seed = 0; seed < 6; ++seed) {
            for (const char* name : {"book.swb", "book.swb-journal"}) std::filesystem::remove(folder / name);
            lay_down(files, seed);
            expect_one_of(folder / "book.swb", ending.possible, "power cut at step " + std::to_string(n) + ", seed " + std::to_string(seed));
        }
        if (HasFailure()) return;
    }
    std::printf("power cut at %d moments, 6 outcomes each, %s: %d saves reported\n", n, failed_words(), reported);
    EXPECT_GT(reported, 50);
}

}  // namespace
}  // namespace sw
