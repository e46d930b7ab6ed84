#include "workbook/exchange.hpp"

#include <sqlite3.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "workbook/database.hpp"
#include "workbook/rows.hpp"

namespace sw {
namespace {

constexpr std::size_t kLongestNameKept = 200;  // bytes, as the schema has it

template <class T>
std::optional<std::string> unfit_row(T& item) {
    if (item.created.empty()) item.created = store::now_utc();
    store::tidy(item);
    return store::flaw(item);
}

/// "Damson 14 (2)": the first such name that is free; cut at a character's border where it would become too long.
std::string free_name(const std::string& name, const std::set<std::string>& taken) {
    for (int number = 2;; ++number) {
        const std::string tail = " (" + std::to_string(number) + ")";
        std::string base = name.substr(0, std::min(name.size(), kLongestNameKept - tail.size()));
        while (base.size() < name.size() && !base.empty() && (static_cast<unsigned char>(name[base.size()]) & 0xC0U) == 0x80U) base.pop_back();
        if (std::string free = store::trimmed(base) + tail; !taken.contains(free)) return free;
    }
}

/// The stored columns without the time of making, which is the last.
template <class T>
store::Values content(const T& item) {
    store::Values values = store::values(item);
    values.pop_back();
    return values;
}

/// Targets or cards: those to be added, with what became of the others. placed: (id in the file, id in the result) of each that is there or will be.
template <class T>
std::vector<T> fitted(std::vector<T>& incoming, const std::vector<T>& there, const std::string& what, bool rename, Exchange& result,
                      std::map<std::int64_t, std::int64_t>& placed) {
    std::map<std::string, T> known;
    std::set<std::string> taken;
    for (const T& item : there) {
        known.emplace(item.name, item);
        taken.insert(item.name);
    }
    std::vector<T> added;
    for (T& item : incoming) {
        const auto same_name = known.find(item.name);
        if (same_name != known.end() && content(same_name->second) == content(item)) {
            placed[item.id] = same_name->second.id;
            result.not_taken.push_back({"", item.name, "this " + what + " is there already"});
            continue;
        }
        const std::int64_t id = item.id;
        if (taken.contains(item.name)) {
            if (!rename) {
                result.not_taken.push_back({"", item.name, "another " + what + " has this name"});
                continue;
            }
            std::string name = free_name(item.name, taken);
            result.renamed.push_back({item.name, name});
            item.name = std::move(name);
        }
        taken.insert(item.name);
        item.id = -1 - static_cast<std::int64_t>(added.size());
        known.emplace(item.name, item);
        placed[id] = item.id;
        added.push_back(std::move(item));
    }
    return added;
}

/// A reading's columns without its link.
store::Values unlinked(const KeptReading& reading) {
    store::Values values = store::values(reading);
    values[store::kReadingTargetColumn] = store::Value();
    return values;
}

std::vector<KeptReading> fitted_readings(std::vector<KeptReading>& incoming, const std::vector<KeptReading>& there,
                                         const std::map<std::int64_t, std::int64_t>& placed, Exchange& result) {
    std::set<store::Values> known;
    for (const KeptReading& reading : there) known.insert(unlinked(reading));
    std::vector<KeptReading> added;
    std::size_t repeated = 0, loose = 0;
    for (KeptReading& reading : incoming) {
        if (!known.insert(unlinked(reading)).second) {
            ++repeated;
            continue;
        }
        if (reading.target) {
            const auto found = placed.find(*reading.target);
            if (found == placed.end()) {
                ++loose;
                reading.target.reset();
            } else {
                reading.target = found->second;
            }
        }
        added.push_back(std::move(reading));
    }
    const auto of = [](std::size_t count) { return std::to_string(count) + (count == 1 ? " reading" : " readings"); };
    if (repeated > 0) result.not_taken.push_back({"", of(repeated), "there already"});
    if (loose > 0) result.notes.push_back(of(loose) + " taken without the target they were judged against, which was not taken");
    return added;
}

std::string columns_of(const store::Table& table) {
    std::string names = "id,checksum";
    for (const std::string& column : table.columns) names += "," + column;
    return names;
}

/// One row, the way Workbook writes it: the id is part of the checksum and known only once the row is there.
Result<std::int64_t> insert(const store::Database& database, const store::Table& table, const store::Values& values) {
    std::string marks = "?,?";
    for (std::size_t i = 0; i < table.columns.size(); ++i) marks += ",?";
    store::Statement row(database, "INSERT INTO " + table.name + " (" + columns_of(table) + ") VALUES (" + marks + ")");
    int code = row.bind(store::Values{store::Value(), std::int64_t{0}}).bind(values).step();
    if (code != SQLITE_DONE) {
        Error error = code == SQLITE_CONSTRAINT_UNIQUE  // added by another program since fit_in looked
                          ? database.error(Fault::name_taken, "the name is taken: nothing was saved", "try again")
                          : database.error(code, store::Doing::writing);
        error.place = table.name + " \"" + std::get<std::string>(values[table.name == "reading" ? 1 : 0]) + "\"";
        return error;
    }
    const std::int64_t id = database.last_id();
    store::Statement sum(database, "UPDATE " + table.name + " SET checksum = ? WHERE id = ?");
    code = sum.bind(store::Values{store::checksum(id, values), id}).step();
    if (code != SQLITE_DONE) return database.error(code, store::Doing::writing);
    return id;
}

/// The tables must have the columns we are about to fill: another program may have brought the workbook up meanwhile.
Result<Done> check_columns(const store::Database& database) {
    for (const store::Table* table : {&store::target_table(), &store::reading_table(), &store::card_table()}) {
        const Result<store::Value> found = database.ask(("SELECT group_concat(name) FROM pragma_table_info('" + table->name + "')").c_str());
        if (!found) return found.error();
        if (*found != store::Value(columns_of(*table)))
            return database.error(Fault::workbook_newer, "it was changed to a newer form by another program", "use the newer version");
    }
    return Done{};
}

template <class T>
Result<std::int64_t> add_item(const store::Database& database, const store::Table& table, T item) {
    if (const auto found = unfit_row(item)) {
        Error error = database.error(Fault::bad_usage, *found, "correct it, then try again");
        error.place = table.name + " \"" + item.name + "\"";
        return error;
    }
    return insert(database, table, store::values(item));
}

Result<Done> insert_all(const store::Database& database, Exchange& exchange) {
    if (const Result<Done> checked = check_columns(database); !checked) return checked;
    std::map<std::int64_t, std::int64_t> placed;
    for (Target& target : exchange.targets) {
        const std::int64_t before = target.id;
        const auto id = add_item(database, store::target_table(), std::move(target));
        if (!id) return id.error();
        placed[before] = *id;
    }
    for (KeptReading& reading : exchange.readings) {
        if (reading.target && *reading.target < 0) reading.target = placed.at(*reading.target);
        if (const auto id = add_item(database, store::reading_table(), std::move(reading)); !id) return id.error();
    }
    for (Card& card : exchange.cards) {
        if (const auto id = add_item(database, store::card_table(), std::move(card)); !id) return id.error();
    }
    return Done{};
}

}  // namespace

std::optional<std::string> unfit(Target& target) { return unfit_row(target); }
std::optional<std::string> unfit(KeptReading& reading) { return unfit_row(reading); }
std::optional<std::string> unfit(Card& card) { return unfit_row(card); }

std::optional<std::string> implausible(const Lab& color) {
    if (!(color.L >= -5 && color.L <= 120)) return "no surface has its L*";
    if (!(std::hypot(color.a, color.b) <= 250)) return "no surface is that colorful";
    return std::nullopt;
}

Result<Exchange> everything_in(const Workbook& workbook) {
    auto targets = workbook.targets();
    if (!targets) return targets.error();
    auto readings = workbook.readings();
    if (!readings) return readings.error();
    auto cards = workbook.cards();
    if (!cards) return cards.error();
    Exchange all;
    all.targets = *std::move(targets);
    all.readings = *std::move(readings);
    all.cards = *std::move(cards);
    std::reverse(all.readings.begin(), all.readings.end());  // oldest first, so that they keep their order when they are added
    return all;
}

Result<Exchange> only(Exchange all, const std::vector<std::string>& names) {
    Exchange some;
    std::set<std::int64_t> ids;
    for (const std::string& name : names) {
        const auto found = std::find_if(all.targets.begin(), all.targets.end(), [&](const Target& target) { return target.name == name; });
        if (found == all.targets.end()) {
            return Error{Fault::name_unknown, "", "target \"" + name + "\"", "there is no target of that name", "list what is there, then try again"};
        }
        if (ids.insert(found->id).second) some.targets.push_back(*found);
    }
    for (KeptReading& reading : all.readings) {
        if (reading.target && ids.contains(*reading.target)) some.readings.push_back(std::move(reading));
    }
    return some;
}

Exchange fit_in(Exchange incoming, const Exchange& there, bool rename) {
    Exchange result;
    result.not_taken = std::move(incoming.not_taken);
    result.notes = std::move(incoming.notes);
    std::map<std::int64_t, std::int64_t> placed, cards;
    result.targets = fitted(incoming.targets, there.targets, "target", rename, result, placed);
    result.cards = fitted(incoming.cards, there.cards, "card", rename, result, cards);
    result.readings = fitted_readings(incoming.readings, there.readings, placed, result);
    return result;
}

Result<Done> add_all(const std::filesystem::path& path, Exchange exchange) {
    // Opened as any command does first: made or brought up where needed, and looked over.
    const Result<Workbook> workbook = Workbook::open(path, true);
    if (!workbook) return workbook.error();
    const std::filesystem::path file = std::filesystem::absolute(path);
    const Result<store::Database> opened = store::Database::open(file, path.string(), !workbook->read_only(), false);
    if (!opened) return opened.error();
    const store::Database& database = *opened;
    if (workbook->newer()) {
        return database.error(Fault::workbook_newer, "it was made by a newer version of this program and can be read but not changed",
                              "use the newer version");
    }
    if (workbook->read_only()) return database.error(Fault::workbook_write, "may not be written", "change its permissions or those of its folder");
    using store::Doing;
    Result<Done> done = database.run("PRAGMA synchronous = EXTRA", Doing::writing);
    if (done) done = database.run("BEGIN IMMEDIATE", Doing::writing);
    if (done) done = insert_all(database, exchange);
    if (done) done = database.run("COMMIT", Doing::writing);
    if (!done && database.in_transaction()) static_cast<void>(database.run("ROLLBACK", Doing::writing));
    return done;
}

}  // namespace sw
