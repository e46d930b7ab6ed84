// The rows of an open workbook: read with their checksums, changed in transactions that can be undone. Private to this folder.
#pragma once

#include <algorithm>
#include <functional>
#include <map>
#include <utility>

#include "workbook/image.hpp"
#include "workbook/rows.hpp"
#include "workbook/schema.hpp"

namespace sw::store {

/// With marks for id, checksum and all columns.
[[nodiscard]] std::string insert_sql(const Table&);

}  // namespace sw::store

namespace sw {

// Why a rollback journal that is deleted (journal_mode DELETE) and not a write-ahead log: the workbook stays one file that can be copied or mailed,
// it works on network folders and can be read from media that cannot be written; and each command here is one small transaction.
// synchronous EXTRA is FULL plus a sync of the folder once the journal is gone: with FULL alone a power cut just after a save could bring the journal
// back, and with it the state before.
struct Workbook::Store {
    std::filesystem::path path;
    store::Database database;
    bool newer = false;
    bool read_only = false;
    std::int64_t version = store::kSchemaVersion;  // of the tables as they are read; lower where an old file could not be brought up

    [[nodiscard]] Error bad_value(const std::string& place, const std::string& cause) const;
    [[nodiscard]] Error newer_error() const;
    [[nodiscard]] Error damaged_row(const store::Table&, std::int64_t id) const;
    [[nodiscard]] Error unknown(const std::string& place, const std::string& cause) const;

    /// One transaction, and one entry that undoes it; within another change, a part of that. words: for that entry.
    [[nodiscard]] Result<Done> change(const std::string& words, const std::function<Result<Done>()>& body);
    /// Takes the last change back, or what was taken back last forward. Its words; nothing where there is none.
    [[nodiscard]] Result<std::optional<std::string>> step(bool forward);
    [[nodiscard]] Result<std::vector<Change>> changes() const;  // newest first
    /// The one that step(forward) would turn.
    [[nodiscard]] Result<std::optional<Change>> next(bool forward) const;
    Trace trace;  // of the last change or step

    [[nodiscard]] bool has(const store::Table& table) const { return table.since <= version; }
    /// Each row in turn. Error workbook_unreadable for one that is not as it was saved. tail: "WHERE ...", "ORDER BY ...".
    [[nodiscard]] Result<Done> each_row(const store::Table&, const std::string& tail, const store::Values& arguments,
                                        const std::function<Result<Done>(store::Row)>& take) const;
    [[nodiscard]] Result<std::vector<store::Row>> rows(const store::Table&, const std::string& tail, const store::Values& arguments = {}) const;
    /// Whether the columns are there.
    [[nodiscard]] bool can_read(const store::Table&) const;
    /// The row as it stands, checksum right or wrong.
    [[nodiscard]] Result<std::optional<store::Row>> row(const store::Table&, std::int64_t id) const;

    // These inside change().
    [[nodiscard]] Result<std::int64_t> insert(const store::Table&, const store::Values&);
    [[nodiscard]] Result<Done> update(const store::Table&, std::int64_t id, const store::Values&);
    [[nodiscard]] Result<Done> put_values(const store::Table&, std::int64_t id, const store::Values&);  // updates or inserts
    [[nodiscard]] Result<Done> erase(const store::Table&, std::int64_t id);                             // name_unknown
    /// With what belongs to it: links to it are cleared, notes on it go.
    [[nodiscard]] Result<Done> erase_whole(const store::Table&, std::int64_t id);

    template <class T, class Convert>
    [[nodiscard]] Result<std::vector<T>> items(const store::Table& table, Convert convert, const std::string& tail,
                                               const store::Values& arguments = {}) const {
        if (!has(table)) return std::vector<T>();
        std::vector<T> items;
        if (arguments.empty()) {  // all of them: the room is made once
            constexpr std::int64_t kMost = 200'000;
            const Result<std::int64_t> count = database.number(("SELECT count(*) FROM " + table.name).c_str());
            if (count) items.reserve(static_cast<std::size_t>(std::clamp(*count, std::int64_t{0}, kMost)));
        }
        const Result<Done> all = each_row(table, tail, arguments, [&](store::Row row) -> Result<Done> {
            std::optional<T> item = convert(row.id, std::move(row.values));
            if (!item || store::flaw(*item)) return damaged_row(table, row.id);
            items.push_back(std::move(*item));
            return Done{};
        });
        if (!all) return all.error();
        return items;
    }

    template <class T, class Convert>
    [[nodiscard]] Result<std::optional<T>> with_id(const store::Table& table, Convert convert, std::int64_t id) const {
        Result<std::vector<T>> found = items<T>(table, convert, "WHERE id = ?", {id});
        if (!found) return found.error();
        return found->empty() ? std::optional<T>() : std::optional<T>(std::move(found->front()));
    }

    // By its name, which is the table's first column.
    template <class T, class Convert>
    [[nodiscard]] Result<T> named(const store::Table& table, Convert convert, const std::string& name) const {
        Result<std::vector<T>> found = items<T>(table, convert, "WHERE name = ?", {store::trimmed(name)});
        if (!found) return found.error();
        if (found->empty()) return unknown(word(table) + " \"" + name + "\"", "there is no " + word(table) + " of that name");
        return std::move(found->front());
    }

    template <class T>
    [[nodiscard]] Result<T> add(const store::Table& table, T item) {
        if (item.created.empty()) item.created = store::now_utc();  // what came from elsewhere keeps its own
        store::tidy(item);
        const std::string place = label(table, store::values(item));
        if (const auto found = store::flaw(item)) return bad_value(place, *found);
        const Result<Done> done = change("Added " + place, [&]() -> Result<Done> {
            const Result<std::int64_t> id = insert(table, store::values(item));
            if (!id) return id.error();
            item.id = *id;
            return Done{};
        });
        if (!done) return done.error();
        return item;
    }

    template <class T>
    [[nodiscard]] Result<Done> put(const store::Table& table, T item) {
        if (item.created.empty()) item.created = store::now_utc();
        store::tidy(item);
        const store::Values values = store::values(item);
        const std::string place = label(table, values);
        if (item.id <= 0) return bad_value(place, "it was never stored, so it cannot be put back");
        if (const auto found = store::flaw(item)) return bad_value(place, *found);
        return change("Changed " + place, [&] { return put_values(table, item.id, values); });
    }

    [[nodiscard]] Result<Done> remove(const store::Table& table, std::int64_t id);

private:
    struct Before {
        std::optional<store::Row> row;
        std::optional<std::int64_t> now;
    };
    using Log = std::map<std::pair<const store::Table*, std::int64_t>, Before>;
    std::optional<Log> log_;  // of the change that is under way

    [[nodiscard]] Error refusal(int code, const store::Values&, const store::Table&) const;
    [[nodiscard]] Result<Done> write_row(const store::Table&, const std::string& sql, const store::Values& before, const store::Values& values,
                                         const store::Values& after) const;
    [[nodiscard]] Result<Done> keep_before(const store::Table&, std::int64_t id, std::optional<std::int64_t> now);
    [[nodiscard]] Result<std::int64_t> keep_change(const std::string& words);  // its id; 0: none is kept
    [[nodiscard]] Result<Done> put_raw(const store::Table&, std::int64_t id, const std::optional<store::Row>&) const;
};

}  // namespace sw
