// SQLite behind a small face, private to this folder: a handle, a prepared statement, and SQLite's codes turned into errors.
#pragma once

#include <compare>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "color/result.hpp"

struct sqlite3;
struct sqlite3_stmt;

namespace sw::store {

/// Bytes that are no text.
struct Blob {
    std::string bytes;
    friend auto operator<=>(const Blob&, const Blob&) = default;
};
/// What a column holds: NULL, INTEGER, REAL, TEXT, BLOB.
using Value = std::variant<std::monostate, std::int64_t, double, std::string, Blob>;
using Values = std::vector<Value>;

enum class Doing { reading, writing };

/// What to do about a damaged file.
inline constexpr const char* kRescueRemedy = "use a copy of it from before, or get out what is readable with swatchwright workbook rescue";

class Database {
public:
    /// `shown` is the name for messages. Waits up to 2 s for a lock in everything it does.
    [[nodiscard]] static Result<Database> open(const std::filesystem::path& file, const std::string& shown, bool writable, bool create);
    [[nodiscard]] static Result<Database> open_in_memory();

    /// SQL without values and without an answer.
    [[nodiscard]] Result<Done> run(const char* sql, Doing) const;
    /// First column of the first row.
    [[nodiscard]] Result<Value> ask(const char* sql, Doing = Doing::reading) const;
    [[nodiscard]] Result<std::int64_t> number(const char* sql) const;
    /// One transaction around `body`: all of it or nothing.
    [[nodiscard]] Result<Done> transaction(Doing, const std::function<Result<Done>()>& body) const;
    /// The file's bytes into another, through this very connection: opening the file once more would drop its locks, as POSIX has it. The caller
    /// holds a lock. Error: workbook_write; `to` is then not there, or not whole.
    [[nodiscard]] Result<Done> copy_to(const std::filesystem::path& to) const;
    [[nodiscard]] Error error(int code, Doing) const;
    [[nodiscard]] Error error(Fault, std::string cause, std::string remedy) const;
    [[nodiscard]] bool read_only() const;
    [[nodiscard]] bool in_transaction() const;
    [[nodiscard]] std::int64_t last_id() const;
    [[nodiscard]] std::int64_t changes() const;
    [[nodiscard]] sqlite3* handle() const { return handle_.get(); }

private:
    struct Close {
        void operator()(sqlite3*) const;
    };
    std::unique_ptr<sqlite3, Close> handle_;
    std::filesystem::path file_;
    std::string shown_;
};

/// A prepared statement. A failure to prepare or bind comes out of the first step().
class Statement {
public:
    Statement(const Database&, const std::string& sql);
    Statement& bind(const Value&);  // the next parameter
    Statement& bind(const Values&);
    Statement& again();                    // from the start, with nothing bound
    [[nodiscard]] int step();              // SQLITE_ROW, SQLITE_DONE or an error code
    [[nodiscard]] Values columns() const;  // of the current row

private:
    struct Finalize {
        void operator()(sqlite3_stmt*) const;
    };
    std::unique_ptr<sqlite3_stmt, Finalize> statement_;
    int code_ = 0, bound_ = 0;
};

}  // namespace sw::store
