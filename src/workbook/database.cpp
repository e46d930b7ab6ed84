#include "workbook/database.hpp"

#include <fcntl.h>
#include <sqlite3.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <fstream>

namespace sw::store {
namespace {

constexpr int kPatience = 2000;  // ms to wait for another program's lock

// Who holds SQLite's lock bytes of this file, in words; empty if that cannot be told (network folder, other system). Read from /proc/locks: opening
// the file to ask would drop the locks this very process holds on it, as POSIX has it.
std::string lock_holder(const std::filesystem::path& file) {
    constexpr unsigned long long first = 0x40000000, last = first + 511;  // SQLite's pending, reserved and shared bytes
    struct stat status {};
    if (::stat(file.c_str(), &status) != 0) return {};
    std::ifstream locks("/proc/locks");
    std::string line, holder;
    int best = 0;  // this program itself 1, a reader 2, a writer 3
    while (std::getline(locks, line)) {
        char access[16] = {};
        int process = 0;
        unsigned major_number = 0, minor_number = 0;
        unsigned long long inode = 0, start = 0;
        if (std::sscanf(line.c_str(), "%*d: POSIX %*s %15s %d %x:%x:%llu %llu", access, &process, &major_number, &minor_number, &inode, &start) != 6)
            continue;
        if (inode != status.st_ino || major_number != major(status.st_dev) || minor_number != minor(status.st_dev)) continue;
        if (start < first || start > last || process <= 0) continue;
        const bool own = process == ::getpid(), writes = std::strcmp(access, "WRITE") == 0;
        const int rank = own ? 1 : writes ? 3 : 2;
        if (rank <= best) continue;
        best = rank;
        std::string name = "a program";
        std::ifstream command("/proc/" + std::to_string(process) + "/comm");
        std::getline(command, name);
        holder = own ? "this program has it open elsewhere"
                     : name + " (process " + std::to_string(process) + ")" + (writes ? " is writing to it" : " is reading it");
    }
    return holder;
}

}  // namespace

void Database::Close::operator()(sqlite3* handle) const { sqlite3_close_v2(handle); }

Result<Database> Database::open(const std::filesystem::path& file, const std::string& shown, bool writable, bool create) {
    Database database;
    database.file_ = file;
    database.shown_ = shown;
    sqlite3* handle = nullptr;
    // Without locks of its own: a workbook is for one thread at a time, and taking them is a tenth of the time of reading one.
    const int flags = (writable ? SQLITE_OPEN_READWRITE : SQLITE_OPEN_READONLY) | (writable && create ? SQLITE_OPEN_CREATE : 0) |
                      SQLITE_OPEN_EXRESCODE | SQLITE_OPEN_NOMUTEX;
    const int code = sqlite3_open_v2(file.c_str(), &handle, flags, nullptr);
    database.handle_.reset(handle);
    if (code != SQLITE_OK) return database.error(code, create ? Doing::writing : Doing::reading);
    sqlite3_busy_timeout(handle, kPatience);
    // The file may come from anybody: no schema tricks, no checkpoint of a foreign write-ahead log, no absurd sizes.
    sqlite3_db_config(handle, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
    sqlite3_db_config(handle, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
    sqlite3_db_config(handle, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
    sqlite3_limit(handle, SQLITE_LIMIT_LENGTH, 64 << 20);
    // What is removed is overwritten: it is gone for others who get the file, and a rescue cannot take it for something that was kept.
    for (const char* setting : {"PRAGMA cell_size_check = ON", "PRAGMA mmap_size = 0", "PRAGMA foreign_keys = ON", "PRAGMA secure_delete = ON"}) {
        if (const Result<Done> set = database.run(setting, Doing::reading); !set) return set.error();
    }
    return database;
}

Result<Database> Database::open_in_memory() { return open(":memory:", "", true, true); }

Result<Done> Database::run(const char* sql, Doing doing) const {
    const int code = sqlite3_exec(handle(), sql, nullptr, nullptr, nullptr);
    if (code != SQLITE_OK) return error(code, doing);
    return Done{};
}

Result<Value> Database::ask(const char* sql, Doing doing) const {
    Statement statement(*this, sql);
    const int code = statement.step();
    if (code != SQLITE_ROW) return error(code == SQLITE_DONE ? SQLITE_CORRUPT : code, doing);
    return statement.columns().front();
}

Result<std::int64_t> Database::number(const char* sql) const {
    const Result<Value> value = ask(sql);
    if (!value) return value.error();
    const auto* found = std::get_if<std::int64_t>(&*value);
    if (found == nullptr) return error(SQLITE_CORRUPT, Doing::reading);
    return *found;
}

Result<Done> Database::transaction(Doing doing, const std::function<Result<Done>()>& body) const {
    Result<Done> done = run(doing == Doing::writing ? "BEGIN IMMEDIATE" : "BEGIN", doing);
    if (done) done = body();
    if (done) done = run("COMMIT", doing);
    if (!done && in_transaction()) static_cast<void>(run("ROLLBACK", doing));  // if this fails, the journal undoes it at the next opening
    return done;
}

Result<Done> Database::copy_to(const std::filesystem::path& to) const {
    const auto failed = [&](const std::string& what) {
        return Error{.fault = Fault::workbook_write,
                     .file = to.string(),
                     .place = {},
                     .cause = "the copy cannot be written (" + what + ")",
                     .remedy = "free some space and see that the folder can be written"};
    };
    sqlite3_file* from = nullptr;
    if (sqlite3_file_control(handle(), "main", SQLITE_FCNTL_FILE_POINTER, &from) != SQLITE_OK || from == nullptr || from->pMethods == nullptr)
        return error(SQLITE_IOERR, Doing::reading);
    sqlite3_int64 size = 0;
    if (const int code = from->pMethods->xFileSize(from, &size); code != SQLITE_OK) return error(code, Doing::reading);
    const int out = ::open(to.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    if (out < 0) return failed(std::strerror(errno));
    std::vector<char> block(1 << 20);
    Result<Done> done = Done{};
    for (sqlite3_int64 at = 0; done && at < size;) {
        const auto count = static_cast<int>(std::min<sqlite3_int64>(size - at, static_cast<sqlite3_int64>(block.size())));
        if (const int code = from->pMethods->xRead(from, block.data(), count, at); code != SQLITE_OK) {
            done = error(code, Doing::reading);
        } else if (errno = 0; ::write(out, block.data(), static_cast<std::size_t>(count)) != count) {
            done = failed(errno == 0 ? "the disk is full" : std::strerror(errno));
        }
        at += count;
    }
    if (done && ::fsync(out) != 0) done = failed(std::strerror(errno));
    ::close(out);
    return done;
}

bool Database::read_only() const { return sqlite3_db_readonly(handle(), "main") == 1; }
bool Database::in_transaction() const { return sqlite3_get_autocommit(handle()) == 0; }
std::int64_t Database::last_id() const { return sqlite3_last_insert_rowid(handle()); }
std::int64_t Database::changes() const { return sqlite3_changes64(handle()); }

Error Database::error(Fault fault, std::string cause, std::string remedy) const {
    return {.fault = fault, .file = shown_, .place = {}, .cause = std::move(cause), .remedy = std::move(remedy)};
}

Error Database::error(int code, Doing doing) const {
    const bool writing = doing == Doing::writing;
    const int system_code = handle() == nullptr ? 0 : sqlite3_system_errno(handle());
    const std::string system = system_code == 0 ? "" : std::string(" (") + std::strerror(system_code) + ")";
    const std::string unsaved = writing ? "nothing was saved: " : "";
    switch (code) {  // extended codes first
        case SQLITE_READONLY_ROLLBACK:
        case SQLITE_READONLY_RECOVERY:
        case SQLITE_READONLY_CANTINIT:
            return error(writing ? Fault::workbook_write : Fault::workbook_unreadable,
                         "a save was broken off, and undoing it needs leave to write here",
                         "make the file and its folder writable, or copy it together with its -journal file to a place that is");
        case SQLITE_READONLY_DBMOVED:
            return error(Fault::workbook_write, unsaved + "the file was moved, renamed or removed while it was open",
                         "put it back, or open it where it is now, then save again");
        default:
            break;
    }
    switch (code & 0xff) {
        case SQLITE_BUSY:
        case SQLITE_LOCKED: {
            const std::string holder = lock_holder(file_);
            return error(Fault::workbook_locked, unsaved + (holder.empty() ? "another program has it locked" : holder),
                         "wait until the other has finished or close it, then try again");
        }
        case SQLITE_NOTADB:
            return error(Fault::workbook_unreadable, "this is not a workbook", "choose a workbook file");
        case SQLITE_CORRUPT:
            return error(Fault::workbook_unreadable, "the file is damaged", kRescueRemedy);
        case SQLITE_FULL:
            return error(Fault::workbook_write, unsaved + "the disk is full", "free some space, then save again");
        case SQLITE_READONLY:
            return error(Fault::workbook_write, unsaved + "the file or its folder is read-only",
                         "make both writable, or copy the workbook to a place that is");
        case SQLITE_CANTOPEN:
        case SQLITE_PERM:
        case SQLITE_AUTH:
            if (writing)
                return error(Fault::workbook_write, unsaved + "the file or its folder cannot be written" + system,
                             "check the permissions, or choose another place");
            return error(Fault::workbook_unreadable, "the file cannot be opened" + system, "check its name and permissions");
        case SQLITE_IOERR:
            if (writing)
                return error(Fault::workbook_write, unsaved + "the disk reported an error" + system,
                             "check the disk and its free space, then save again");
            return error(Fault::workbook_unreadable, "the disk reported an error" + system, "check the disk, or use a copy of the workbook");
        case SQLITE_TOOBIG:
            return error(writing ? Fault::workbook_write : Fault::workbook_unreadable, unsaved + "a text in it is too long",
                         "shorten it to under 16 MB");
        case SQLITE_ERROR:  // our statements are fixed and the tables are known, so while reading this speaks of the file
            if (!writing)
                return error(Fault::workbook_unreadable, std::string("the file is damaged or of an unknown form (") + sqlite3_errmsg(handle()) + ")",
                             kRescueRemedy);
            [[fallthrough]];
        default:
            return error(Fault::internal,
                         std::string("the workbook store failed: ") + (handle() == nullptr ? sqlite3_errstr(code) : sqlite3_errmsg(handle())),
                         "please report this");
    }
}

void Statement::Finalize::operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }

Statement::Statement(const Database& database, const std::string& sql) {
    sqlite3_stmt* statement = nullptr;
    code_ = sqlite3_prepare_v2(database.handle(), sql.c_str(), static_cast<int>(sql.size()), &statement, nullptr);
    statement_.reset(statement);
}

Statement& Statement::bind(const Value& value) {
    if (code_ != SQLITE_OK) return *this;
    ++bound_;
    if (const auto* number = std::get_if<std::int64_t>(&value)) {
        code_ = sqlite3_bind_int64(statement_.get(), bound_, *number);
    } else if (const auto* real = std::get_if<double>(&value)) {
        code_ = sqlite3_bind_double(statement_.get(), bound_, *real);
    } else if (const auto* text = std::get_if<std::string>(&value)) {
        code_ = sqlite3_bind_text64(statement_.get(), bound_, text->data(), text->size(), SQLITE_TRANSIENT, SQLITE_UTF8);
    } else if (const auto* blob = std::get_if<Blob>(&value)) {
        code_ = sqlite3_bind_blob64(statement_.get(), bound_, blob->bytes.data(), blob->bytes.size(), SQLITE_TRANSIENT);
    } else {
        code_ = sqlite3_bind_null(statement_.get(), bound_);
    }
    return *this;
}

Statement& Statement::bind(const Values& values) {
    for (const Value& value : values) bind(value);
    return *this;
}

Statement& Statement::again() {
    if (code_ == SQLITE_OK) sqlite3_reset(statement_.get());
    bound_ = 0;
    return *this;
}

int Statement::step() { return code_ == SQLITE_OK ? sqlite3_step(statement_.get()) : code_; }

Values Statement::columns() const {
    const int columns = sqlite3_column_count(statement_.get());
    Values values;
    values.reserve(static_cast<std::size_t>(columns));
    for (int column = 0; column < columns; ++column) {
        switch (sqlite3_column_type(statement_.get(), column)) {
            case SQLITE_INTEGER:
                values.emplace_back(std::int64_t{sqlite3_column_int64(statement_.get(), column)});
                break;
            case SQLITE_FLOAT:
                values.emplace_back(sqlite3_column_double(statement_.get(), column));
                break;
            case SQLITE_TEXT: {
                const auto* text = reinterpret_cast<const char*>(sqlite3_column_text(statement_.get(), column));
                const int bytes = sqlite3_column_bytes(statement_.get(), column);
                values.emplace_back(text == nullptr ? std::string() : std::string(text, static_cast<std::size_t>(bytes)));
                break;
            }
            case SQLITE_BLOB: {
                const auto* bytes = static_cast<const char*>(sqlite3_column_blob(statement_.get(), column));
                const int count = sqlite3_column_bytes(statement_.get(), column);
                values.emplace_back(Blob{bytes == nullptr ? std::string() : std::string(bytes, static_cast<std::size_t>(count))});
                break;
            }
            default:  // NULL
                values.emplace_back(std::monostate{});
        }
    }
    return values;
}

}  // namespace sw::store
