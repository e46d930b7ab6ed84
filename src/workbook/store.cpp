#include "workbook/store.hpp"

#include <sqlite3.h>

#include <algorithm>

#include "workbook/row_values.hpp"

namespace sw {

using store::Doing;
using store::Row;
using store::Statement;
using store::Table;
using store::Touched;
using store::Value;
using store::Values;

namespace {

constexpr std::int64_t kMostChanges = 200;       // that can be undone
constexpr std::size_t kLargestImage = 32 << 20;  // bytes; a larger change cannot be undone, nor can those before it

std::string select_sql(const Table& table, std::int64_t version, const std::string& tail) {
    std::string sql = "SELECT id, checksum";
    const std::size_t early = version < store::kLaterColumns ? table.columns.size() - table.later : table.columns.size();
    for (std::size_t i = 0; i < table.columns.size(); ++i) sql += i < early ? ", " + table.columns[i] : ", '' AS " + table.columns[i];
    return sql + " FROM " + table.name + " " + tail;
}

std::string update_sql(const Table& table) {
    std::string sql = "UPDATE " + table.name + " SET checksum = ?";
    for (const std::string& column : table.columns) sql += ", " + column + " = ?";
    return sql + " WHERE id = ?";
}

// Of the table `change`, whose checksum is as that of the others.
Values values_of(const Change& change, const store::Blob& image) { return {change.words, std::int64_t{change.undone}, image, change.created}; }

struct KeptChange {
    Change change;
    store::Blob image;
};

// Of "id, checksum, words, undone, image, created". Nothing if it is not as it was saved.
std::optional<KeptChange> change_of(Values all) {
    KeptChange kept;
    std::int64_t sum = 0, undone = 0;
    store::Taker taker(all, 6);
    for (std::int64_t* number : {&kept.change.id, &sum}) taker.take(*number);
    taker.take(kept.change.words);
    taker.take(undone);
    taker.take(kept.image);
    taker.take(kept.change.created);
    kept.change.undone = undone == 1;
    if (!taker.good() || store::checksum(kept.change.id, values_of(kept.change, kept.image)) != sum) return std::nullopt;
    return kept;
}

std::string next_change_sql(bool forward) {
    return std::string("SELECT id, checksum, words, undone, image, created FROM change WHERE ") +
           (forward ? "undone = 1 ORDER BY id LIMIT 1" : "undone = 0 ORDER BY id DESC LIMIT 1");
}

// Ends with its block, however that is left.
template <class T>
class Emplaced {
public:
    explicit Emplaced(std::optional<T>& held) : held_(held) { held_.emplace(); }
    Emplaced(const Emplaced&) = delete;
    Emplaced& operator=(const Emplaced&) = delete;
    ~Emplaced() { held_.reset(); }

private:
    std::optional<T>& held_;
};

}  // namespace

std::string store::insert_sql(const Table& table) {
    std::string names = "id, checksum", marks = "?, ?";
    for (const std::string& column : table.columns) {
        names += ", " + column;
        marks += ", ?";
    }
    return "INSERT INTO " + table.name + " (" + names + ") VALUES (" + marks + ")";
}

Error Workbook::Store::bad_value(const std::string& place, const std::string& cause) const {
    return {.fault = Fault::bad_usage, .file = path.string(), .place = place, .cause = cause, .remedy = "correct it, then save again"};
}

Error Workbook::Store::newer_error() const {
    return database.error(Fault::workbook_newer, "it was made by a newer version of this program and can be read but not changed",
                          "use the newer version");
}

Error Workbook::Store::damaged_row(const Table& table, std::int64_t id) const {
    return database.error(Fault::workbook_unreadable, "the file is damaged: " + table.name + " no. " + std::to_string(id) + " is not as it was saved",
                          store::kRescueRemedy);
}

Error Workbook::Store::unknown(const std::string& place, const std::string& cause) const {
    return {.fault = Fault::name_unknown, .file = path.string(), .place = place, .cause = cause, .remedy = "list what is there, then try again"};
}

Result<Done> Workbook::Store::change(const std::string& words, const std::function<Result<Done>()>& body) {
    if (log_) return body();
    if (newer) return newer_error();
    if (read_only) return database.error(SQLITE_READONLY, Doing::writing);
    const Emplaced log(log_);
    Trace traced;
    const Result<Done> done = database.transaction(Doing::writing, [&]() -> Result<Done> {
        const Result<std::int64_t> now = database.number("PRAGMA user_version");  // another program may have brought it up meanwhile
        if (!now) return now.error();
        if (*now != store::kSchemaVersion) return newer_error();
        if (const Result<Done> changed = body(); !changed) return changed;
        for (const auto& [key, before] : *log_) traced.rows.emplace_back(key.first->name, key.second);
        const Result<std::int64_t> kept = keep_change(words);
        if (!kept) return kept.error();
        traced.change = *kept;
        return Done{};
    });
    if (done) trace = std::move(traced);
    return done;
}

Result<Done> Workbook::Store::each_row(const Table& table, const std::string& tail, const Values& arguments,
                                       const std::function<Result<Done>(Row)>& take) const {
    Statement statement(database, select_sql(table, version, tail));
    statement.bind(arguments);
    const auto unsummed = static_cast<std::ptrdiff_t>(version < store::kLaterColumns ? table.later : 0);
    int code = 0;
    while ((code = statement.step()) == SQLITE_ROW) {
        Values all = statement.columns();
        const auto* id = std::get_if<std::int64_t>(&all[0]);
        const auto* sum = std::get_if<std::int64_t>(&all[1]);
        if (id == nullptr || sum == nullptr) return database.error(SQLITE_CORRUPT, Doing::reading);
        Row row{*id, *sum, {}};
        all.erase(all.begin(), all.begin() + 2);
        all.erase(all.end() - unsummed, all.end());
        row.values = std::move(all);
        if (!newer && store::checksum(row.id, row.values) != row.sum) return damaged_row(table, row.id);
        for (std::ptrdiff_t i = 0; i < unsummed; ++i) row.values.emplace_back(std::string());
        if (const Result<Done> taken = take(std::move(row)); !taken) return taken;
    }
    if (code != SQLITE_DONE) return database.error(code, Doing::reading);
    return Done{};
}

Result<std::vector<Row>> Workbook::Store::rows(const Table& table, const std::string& tail, const Values& arguments) const {
    std::vector<Row> found;
    const Result<Done> all = each_row(table, tail, arguments, [&](Row row) -> Result<Done> {
        found.push_back(std::move(row));
        return Done{};
    });
    if (!all) return all.error();
    return found;
}

bool Workbook::Store::can_read(const Table& table) const {
    const int code = Statement(database, select_sql(table, version, "LIMIT 0")).step();
    return code == SQLITE_DONE;
}

Result<std::optional<Row>> Workbook::Store::row(const Table& table, std::int64_t id) const {
    Statement statement(database, select_sql(table, version, "WHERE id = ?"));
    const int code = statement.bind(id).step();
    if (code == SQLITE_DONE) return std::optional<Row>();
    if (code != SQLITE_ROW) return database.error(code, Doing::reading);
    Values all = statement.columns();
    const auto* sum = std::get_if<std::int64_t>(&all[1]);
    if (sum == nullptr) return database.error(SQLITE_CORRUPT, Doing::reading);
    return std::optional(Row{id, *sum, Values(all.begin() + 2, all.end())});
}

// A constraint that the user can run into, or the error as it is.
Error Workbook::Store::refusal(int code, const Values& values, const Table& table) const {
    if (code == SQLITE_CONSTRAINT_UNIQUE && &table != &store::reading_table()) {
        return {.fault = Fault::name_taken,
                .file = path.string(),
                .place = label(table, values),
                .cause = "a " + word(table) + " of that name exists" + (&table == &store::part_table() ? " in the same place" : ""),
                .remedy = "choose another name, or remove the old one first"};
    }
    if (code == SQLITE_CONSTRAINT_FOREIGNKEY && &table == &store::reading_table())
        return unknown(label(table, values), "the target it was judged against is no longer in the workbook");
    if (code == SQLITE_CONSTRAINT_FOREIGNKEY) return unknown(label(table, values), "what it belongs to is not in the workbook");
    return database.error(code, Doing::writing);
}

Result<Done> Workbook::Store::write_row(const Table& table, const std::string& sql, const Values& before, const Values& values,
                                        const Values& after) const {
    Statement statement(database, sql);
    const int code = statement.bind(before).bind(values).bind(after).step();
    if (code != SQLITE_DONE) return refusal(code, values, table);
    return Done{};
}

// Called before the row is written: what was there goes into the log, once a change.
Result<Done> Workbook::Store::keep_before(const Table& table, std::int64_t id, std::optional<std::int64_t> now) {
    const auto key = std::pair(&table, id);
    const auto known = log_->find(key);
    if (known != log_->end()) {
        known->second.now = now;
        return Done{};
    }
    Result<std::optional<Row>> before = row(table, id);
    if (!before) return before.error();
    log_->emplace(key, Before{*std::move(before), now});
    return Done{};
}

Result<std::int64_t> Workbook::Store::keep_change(const std::string& words) {
    std::vector<Touched> touched;
    for (auto& [key, before] : *log_) {
        if (!before.row && !before.now) continue;  // came and went
        touched.push_back({key.first->name, key.second, before.now, std::move(before.row)});
    }
    if (touched.empty()) return 0;
    const store::Blob image = store::to_image(touched);
    const bool too_large = image.bytes.size() > kLargestImage;
    const Result<Done> forgotten = database.run(too_large ? "DELETE FROM change" : "DELETE FROM change WHERE undone = 1", Doing::writing);
    if (!forgotten) return forgotten.error();
    if (too_large) return 0;
    const Change change{0, words, false, store::now_utc()};
    const Values values = values_of(change, image);
    int code = Statement(database, "INSERT INTO change (checksum, words, undone, image, created) VALUES (0, ?, ?, ?, ?)").bind(values).step();
    if (code != SQLITE_DONE) return database.error(code, Doing::writing);
    const std::int64_t id = database.last_id();
    code = Statement(database, "UPDATE change SET checksum = ? WHERE id = ?").bind({store::checksum(id, values), id}).step();
    if (code != SQLITE_DONE) return database.error(code, Doing::writing);
    code = Statement(database, "DELETE FROM change WHERE id <= ?").bind(id - kMostChanges).step();
    if (code != SQLITE_DONE) return database.error(code, Doing::writing);
    return id;
}

// The id enters the checksum and is known only once the row is there.
Result<std::int64_t> Workbook::Store::insert(const Table& table, const Values& values) {
    if (const Result<Done> done = write_row(table, store::insert_sql(table), {Value(), std::int64_t{0}}, values, {}); !done) return done.error();
    const std::int64_t id = database.last_id(), sum = store::checksum(id, values);
    const int code = Statement(database, "UPDATE " + table.name + " SET checksum = ? WHERE id = ?").bind({sum, id}).step();
    if (code != SQLITE_DONE) return database.error(code, Doing::writing);
    log_->insert_or_assign(std::pair(&table, id), Before{{}, sum});
    return id;
}

Result<Done> Workbook::Store::update(const Table& table, std::int64_t id, const Values& values) {
    const std::int64_t sum = store::checksum(id, values);
    if (const Result<Done> kept = keep_before(table, id, sum); !kept) return kept;
    return write_row(table, update_sql(table), {sum}, values, {id});
}

Result<Done> Workbook::Store::put_values(const Table& table, std::int64_t id, const Values& values) {
    if (const Result<Done> updated = update(table, id, values); !updated || database.changes() > 0) return updated;
    return write_row(table, store::insert_sql(table), {id, store::checksum(id, values)}, values, {});
}

Result<Done> Workbook::Store::erase(const Table& table, std::int64_t id) {
    if (const Result<Done> kept = keep_before(table, id, {}); !kept) return kept;
    Statement statement(database, "DELETE FROM " + table.name + " WHERE id = ?");
    const int code = statement.bind(id).step();
    if (code != SQLITE_DONE) return database.error(code, Doing::writing);
    if (database.changes() == 0) return unknown(word(table) + " no. " + std::to_string(id), "it is not in the workbook");
    return Done{};
}

Result<Done> Workbook::Store::erase_whole(const Table& table, std::int64_t id) {
    for (const store::Link& link : store::links()) {
        if (link.to != &table) continue;
        Result<std::vector<Row>> linked = rows(*link.table, "WHERE " + link.table->columns[link.column] + " = ? ORDER BY id DESC", {id});
        if (!linked) return linked.error();
        for (Row& other : *linked) {
            other.values[link.column] = Value();
            const Result<Done> done = link.clears ? update(*link.table, other.id, other.values) : erase(*link.table, other.id);
            if (!done) return done;
        }
    }
    return erase(table, id);
}

Result<Done> Workbook::Store::remove(const Table& table, std::int64_t id) {
    if (newer) return newer_error();
    if (!has(table)) return database.error(SQLITE_READONLY, Doing::writing);
    const Result<std::optional<Row>> there = row(table, id);
    if (!there) return there.error();
    return change("Removed " + (*there ? label(table, (*there)->values) : word(table)), [&] { return erase_whole(table, id); });
}

// As it stood, checksum and all: a row that was damaged stays one.
Result<Done> Workbook::Store::put_raw(const Table& table, std::int64_t id, const std::optional<Row>& wanted) const {
    const int code = Statement(database, "DELETE FROM " + table.name + " WHERE id = ?").bind(id).step();
    if (code != SQLITE_DONE) return database.error(code, Doing::writing);
    if (!wanted) return Done{};
    return write_row(table, store::insert_sql(table), {id, wanted->sum}, wanted->values, {});
}

Result<std::optional<std::string>> Workbook::Store::step(bool forward) {
    std::optional<std::string> words;
    Trace traced;
    if (newer) return newer_error();
    if (read_only) return database.error(SQLITE_READONLY, Doing::writing);
    const auto damaged = [&](std::int64_t id) { return damaged_row(Table{"change", {}}, id); };
    const auto body = [&]() -> Result<Done> {
        const Result<std::int64_t> now = database.number("PRAGMA user_version");
        if (!now) return now.error();
        if (*now != store::kSchemaVersion) return newer_error();
        if (const Result<Done> deferred = database.run("PRAGMA defer_foreign_keys = ON", Doing::writing); !deferred) return deferred;
        Statement statement(database, next_change_sql(forward));
        const int code = statement.step();
        if (code == SQLITE_DONE) return Done{};
        if (code != SQLITE_ROW) return database.error(code, Doing::reading);
        const Values all = statement.columns();
        const auto* row_id = std::get_if<std::int64_t>(&all[0]);
        const std::int64_t id = row_id == nullptr ? 0 : *row_id;
        std::optional<KeptChange> kept = change_of(all);
        if (!kept) return damaged(id);
        const std::optional<std::vector<Touched>> touched = store::touched_of(kept->image);
        if (!touched) return damaged(id);
        std::vector<Touched> other_side;
        for (const Touched& one : *touched) {
            const Table* table = store::table_named(one.table);
            if (table == nullptr || (one.other && one.other->values.size() != table->columns.size())) return damaged(id);
            Result<std::optional<Row>> stands = row(*table, one.id);
            if (!stands) return stands.error();
            const std::optional<std::int64_t> sum = *stands ? std::optional((*stands)->sum) : std::nullopt;
            if (sum != one.now) {
                return database.error(
                    Fault::name_unknown,
                    word(*table) + " no. " + std::to_string(one.id) + " is no longer as that change left it: another program wrote here",
                    "make the change by hand");
            }
            other_side.push_back({one.table, one.id, one.other ? std::optional(one.other->sum) : std::nullopt, *std::move(stands)});
        }
        // Away first, then back: a name that moved from one row to another is free in between.
        for (const Touched& one : *touched) {
            if (const Result<Done> done = put_raw(*store::table_named(one.table), one.id, {}); !done) return done;
        }
        for (const Touched& one : *touched) {
            if (!one.other) continue;
            if (const Result<Done> done = put_raw(*store::table_named(one.table), one.id, one.other); !done) return done;
        }
        traced.change = id;
        for (const Touched& one : *touched) traced.rows.emplace_back(one.table, one.id);
        kept->change.undone = !forward;
        const Values turned = values_of(kept->change, store::to_image(other_side));
        const int saved = Statement(database, "UPDATE change SET checksum = ?, words = ?, undone = ?, image = ?, created = ? WHERE id = ?")
                              .bind(store::checksum(id, turned))
                              .bind(turned)
                              .bind(id)
                              .step();
        if (saved != SQLITE_DONE) return database.error(saved, Doing::writing);
        words = kept->change.words;
        return Done{};
    };
    if (const Result<Done> done = database.transaction(Doing::writing, body); !done) return done.error();
    trace = std::move(traced);
    return words;
}

Result<std::optional<Change>> Workbook::Store::next(bool forward) const {
    if (version < 3 || newer) return std::optional<Change>();
    Statement statement(database, next_change_sql(forward));
    const int code = statement.step();
    if (code == SQLITE_DONE) return std::optional<Change>();
    if (code != SQLITE_ROW) return database.error(code, Doing::reading);
    const Values all = statement.columns();
    const auto* id = std::get_if<std::int64_t>(&all[0]);
    std::optional<KeptChange> kept = change_of(all);
    if (!kept) return damaged_row(Table{"change", {}}, id == nullptr ? 0 : *id);
    return std::optional(std::move(kept->change));
}

Result<std::vector<Change>> Workbook::Store::changes() const {
    std::vector<Change> found;
    if (version < 3 || newer) return found;
    Statement statement(database, "SELECT id, checksum, words, undone, image, created FROM change ORDER BY id DESC");
    int code = 0;
    while ((code = statement.step()) == SQLITE_ROW) {
        const Values all = statement.columns();
        const auto* id = std::get_if<std::int64_t>(&all[0]);
        std::optional<KeptChange> kept = change_of(all);
        if (!kept) return damaged_row(Table{"change", {}}, id == nullptr ? 0 : *id);
        found.push_back(std::move(kept->change));
    }
    if (code != SQLITE_DONE) return database.error(code, Doing::reading);
    return found;
}

}  // namespace sw
