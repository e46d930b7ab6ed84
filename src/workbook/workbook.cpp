#include "workbook/workbook.hpp"

#include <fcntl.h>
#include <pwd.h>
#include <sqlite3.h>
#include <unistd.h>

#include <array>
#include <cstdlib>
#include <functional>
#include <system_error>

#include "workbook/store.hpp"

namespace sw {

using store::Database;
using store::Doing;
using store::Identity;
using store::Statement;
using store::Table;
using store::Value;

namespace {

constexpr std::uintmax_t kCheckedSize = 20'000'000;  // bytes; larger files are not read whole at opening (each row's checksum still is checked)

// Makes a file that was not there durable: its name lives in the folder, the folder's name in the folder above.
void sync_folder(const std::filesystem::path& folder) {
    const int descriptor = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (descriptor < 0) return;
    ::fsync(descriptor);
    ::close(descriptor);
}

std::error_code make_folders(const std::filesystem::path& folder) {
    std::error_code error;
    if (folder.empty() || std::filesystem::is_directory(folder, error)) return error;
    if (const std::error_code above = make_folders(folder.parent_path())) return above;
    std::filesystem::create_directory(folder, error);
    if (!error) sync_folder(folder.parent_path());
    return error;
}

bool may_write(const std::filesystem::path& path) { return ::faccessat(AT_FDCWD, path.c_str(), W_OK, AT_EACCESS) == 0; }

}  // namespace

Workbook::Workbook(std::unique_ptr<Store> store) : store_(std::move(store)) {}
Workbook::Workbook(Workbook&&) noexcept = default;
Workbook& Workbook::operator=(Workbook&&) noexcept = default;
Workbook::~Workbook() = default;

Result<Workbook> Workbook::open(const std::filesystem::path& path, bool create) {
    namespace fs = std::filesystem;
    const std::string shown = path.string();
    const auto refuse = [&](Fault fault, std::string cause, std::string remedy) {
        return Error{.fault = fault, .file = shown, .place = {}, .cause = std::move(cause), .remedy = std::move(remedy)};
    };
    if (path.empty()) return refuse(Fault::workbook_unreadable, "no file name was given", "name a workbook file");

    std::error_code error;
    const fs::path file = fs::weakly_canonical(fs::absolute(path, error), error);  // absolute, so that SQLite takes no name for something special
    if (error) return refuse(Fault::workbook_unreadable, "the path cannot be followed (" + error.message() + ")", "check the path");
    const fs::file_status status = fs::status(file, error);
    const bool exists = fs::exists(status);
    if (status.type() == fs::file_type::none)
        return refuse(Fault::workbook_unreadable, "it cannot be looked at (" + error.message() + ")", "check the path and its permissions");
    if (!exists && !create) return refuse(Fault::workbook_unreadable, "there is no such file", "check the name");
    if (fs::is_directory(status)) return refuse(Fault::workbook_unreadable, "this is a folder", "name a workbook file");
    if (exists && !fs::is_regular_file(status))
        return refuse(Fault::workbook_unreadable, "this is not a file that can hold a workbook", "choose a workbook file");

    const fs::path folder = file.parent_path();
    if (create && !exists) {
        if (const std::error_code failed = make_folders(folder))
            return refuse(Fault::workbook_write, "its folder cannot be made (" + failed.message() + ")", "check the path and its permissions");
    }
    const bool writable = may_write(folder) && (!exists || may_write(file));
    if (!exists && !writable) return refuse(Fault::workbook_write, "its folder is read-only", "choose another folder, or make this one writable");

    Result<Database> opened = Database::open(file, shown, writable, create);
    if (!opened) return opened.error();
    auto store = std::make_unique<Store>();
    store->path = path;
    store->database = std::move(*opened);
    const Database& database = store->database;

    // Whose is it? One transaction, so that a workbook being made or brought up at this moment is seen whole or not at all: its version and its
    // tables belong together.
    Identity found;
    const auto look = [&]() -> Result<Done> {
        const Result<Identity> seen = store::identity(database);
        if (!seen) return seen.error();
        found = *seen;
        if (found.application != store::kApplicationId || found.version < 1 || found.version > store::kSchemaVersion) return Done{};
        return store::check_definitions(database, found.version);
    };
    if (const Result<Done> looked = database.transaction(Doing::reading, look); !looked) return looked.error();
    store->read_only = !writable || database.read_only();
    const auto settle = [&]() -> Result<Done> {  // only now: setting the journal mode may write to the file
        if (store->read_only) return Done{};
        if (const Result<Done> set = database.run("PRAGMA synchronous = EXTRA", Doing::writing); !set) return set.error();
        const Result<Value> mode = database.ask("PRAGMA journal_mode = DELETE", Doing::writing);
        if (!mode) return mode.error();
        return Done{};
    };
    if (found.empty()) {
        if (!create)
            return refuse(Fault::workbook_unreadable, "the file is empty: it was cut off, or its making was broken off",
                          "use a copy of it from before, or remove it and start a new one");
        if (store->read_only) return database.error(SQLITE_READONLY, Doing::writing);
        if (const Result<Done> settled = settle(); !settled) return settled.error();
        const Result<Done> made = database.transaction(Doing::writing, [&]() -> Result<Done> {
            if (const Result<Done> looked = look(); !looked || !found.empty()) return looked;  // somebody else may have been faster
            // SQLite takes a file shorter than a page for empty and would write over it. Asked here, under the lock, and after a broken-off making
            // was undone.
            if (fs::file_size(file, error) != 0 || error) return database.error(SQLITE_NOTADB, Doing::reading);
            if (const Result<Done> run = store::make(database); !run) return run;
            return look();
        });
        if (!made) return made.error();
    }
    if (found.application != store::kApplicationId)
        return refuse(Fault::workbook_unreadable, "this is a database of another program, not a workbook", "choose a workbook file");
    if (found.version < 1) return database.error(SQLITE_CORRUPT, Doing::reading);
    store->newer = found.version > store::kSchemaVersion;
    store->read_only = store->read_only || store->newer;
    if (const Result<Done> settled = settle(); !settled) return settled.error();

    if (store->newer) {
        for (const Table* table : store::tables()) {
            if (!store->can_read(*table))
                return refuse(Fault::workbook_newer, "it was made by a newer version of this program, in a form this one cannot read",
                              "use the newer version");
        }
    }
    if (fs::file_size(file, error) <= kCheckedSize && !error) {
        const Result<Value> verdict = database.ask("PRAGMA integrity_check(1)");  // quick_check and whether the indexes agree with the tables
        if (!verdict) return verdict.error();
        if (*verdict != Value(std::string("ok"))) return database.error(SQLITE_CORRUPT, Doing::reading);
    }
    if (found.version < store::kSchemaVersion) {
        if (!store->read_only) {
            const Result<Done> brought = store::bring_up(database, file, found.version);
            if (!brought && brought.error().fault != Fault::workbook_write) return brought.error();
            store->read_only = !brought;  // a full disk: what is there can be read
        }
        if (store->read_only) store->version = found.version;
    }
    return Workbook(std::move(store));
}

const std::filesystem::path& Workbook::path() const { return store_->path; }
bool Workbook::read_only() const { return store_->read_only; }
std::int64_t Workbook::version() const { return store_->version; }
bool Workbook::newer() const { return store_->newer; }

std::filesystem::path default_workbook_path() {
    const std::filesystem::path inside = std::filesystem::path("swatchwright") / "workbook.swb";
    const auto absolute_from = [](const char* name) {
        const char* value = std::getenv(name);
        const std::filesystem::path path = value == nullptr ? "" : value;
        return path.is_absolute() ? path : std::filesystem::path();  // XDG: a relative path is to be ignored
    };
    if (const std::filesystem::path data = absolute_from("XDG_DATA_HOME"); !data.empty()) return data / inside;
    std::filesystem::path home = absolute_from("HOME");
    if (home.empty()) {
        passwd entry{};
        passwd* found = nullptr;
        std::array<char, 16384> buffer{};
        if (::getpwuid_r(::getuid(), &entry, buffer.data(), buffer.size(), &found) == 0 && found != nullptr && found->pw_dir != nullptr)
            home = found->pw_dir;
    }
    if (!home.is_absolute()) return "workbook.swb";  // a user without a home: the current folder
    return home / ".local" / "share" / inside;
}

}  // namespace sw
