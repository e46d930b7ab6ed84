// SQLite behind a small face, private to this folder: a handle, a prepared statement, and SQLite's codes turned into errors.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "color/result.hpp"

struct sqlite3;
struct sqlite3_stmt;

namespace sw::store {

/// What a column holds: NULL, INTEGER, REAL, TEXT.
using Value = std::variant<std::monostate, std::int64_t, double, std::string>;
using Values = std::vector<Value>;

enum class Doing { reading, writing };

class Database {
public:
    /// `shown` is the name for messages. Waits up to 2 s for a lock in everything it does.
    [[nodiscard]] static Result<Database> open(const std::filesystem::path& file, const std::string& shown, bool writable, bool create);
    [[nodiscard]] static Result<Database> open_in_memory();

    /// SQL without values and without an answer.
    [[nodiscard]] Result<Done> run(const char* sql, Doing) const;
    /// First column of the first row.
    [[nodiscard]] Result<Value> ask(const char* sql, Doing = Doing::reading) const;
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
