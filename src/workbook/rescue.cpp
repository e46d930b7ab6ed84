#include "workbook/rescue.hpp"

#include <sqlite3.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <map>
#include <set>

#include "workbook/page_scan.hpp"
#include "workbook/rows.hpp"
#include "workbook/schema.hpp"
#include "workbook/store.hpp"

namespace sw {
namespace {

namespace fs = std::filesystem;
using store::Database;
using store::Doing;
using store::Row;
using store::Statement;
using store::Table;
using store::Value;
using store::Values;

// A column's types, by their place in Value.
using Types = std::vector<std::set<std::size_t>>;

Result<std::map<const Table*, Types>> column_types() {
    const Result<Database> model = Database::open_in_memory();
    if (!model) return model.error();
    if (const Result<Done> made = store::make(*model); !made) return made.error();
    std::map<const Table*, Types> all;
    for (const Table* table : store::tables()) {
        Statement statement(*model, "SELECT type, \"notnull\" FROM pragma_table_info('" + table->name + "')");
        Types types;
        int code = 0;
        while ((code = statement.step()) == SQLITE_ROW) {
            const Values row = statement.columns();
            const std::string type = std::get<std::string>(row[0]);
            std::set<std::size_t> allowed{type == "INTEGER" ? 1U : type == "REAL" ? 2U : type == "TEXT" ? 3U : 4U};
            if (std::get<std::int64_t>(row[1]) == 0) allowed.insert(0);
            types.push_back(std::move(allowed));
        }
        if (code != SQLITE_DONE) return model->error(code, Doing::reading);
        all.emplace(table, Types(types.begin() + 2, types.end()));
    }
    return all;
}

class Collector {
public:
    explicit Collector(std::map<const Table*, Types> types) : types_(std::move(types)) {}

    void take(store::Scanned scanned) {
        const Values& record = scanned.record;
        if (record.size() < 3 || !std::holds_alternative<std::monostate>(record[0])) return;
        const auto* sum = std::get_if<std::int64_t>(&record[1]);
        if (sum == nullptr) return;
        const Table* fits = nullptr;
        for (const auto& [table, types] : types_) {
            Values values(record.begin() + 2, record.end());
            const std::size_t early = table->columns.size() - table->later;
            if ((values.size() != table->columns.size() && values.size() != early) || !typed(types, values)) continue;
            fits = table;
            if (store::checksum(scanned.id, values) != *sum) continue;
            if (values.size() == early && early < table->columns.size()) values.resize(table->columns.size(), std::string());
            add(*table, Row{scanned.id, store::checksum(scanned.id, values), std::move(values)});
            return;
        }
        if (fits != nullptr) bad_.push_back({fits->name, scanned.id, label(*fits, Values(record.begin() + 2, record.end()))});
        const bool change = record.size() == 6 && std::holds_alternative<store::Blob>(record[4]);
        changes += change ? 1 : 0;
    }

    std::map<const Table*, std::map<std::int64_t, Row>> rows;
    std::vector<std::string> twice;
    std::int64_t changes = 0;
    /// Those of which no good row was found.
    [[nodiscard]] std::vector<BadRow> bad() const {
        std::vector<BadRow> left;
        for (const BadRow& row : bad_) {
            const auto found = rows.find(store::table_named(row.table));
            if (found == rows.end() || !found->second.contains(row.id)) left.push_back(row);
        }
        return left;
    }

private:
    // REAL columns hold whole numbers as INTEGER, to save space.
    static bool typed(const Types& types, Values& values) {
        for (std::size_t i = 0; i < values.size(); ++i) {
            if (types[i].contains(2) && values[i].index() == 1) values[i] = static_cast<double>(std::get<std::int64_t>(values[i]));
            if (!types[i].contains(values[i].index())) return false;
        }
        return true;
    }
    void add(const Table& table, Row row) {
        const auto [known, is_new] = rows[&table].try_emplace(row.id, row);
        if (!is_new && known->second.sum != row.sum)
            twice.push_back(label(table, row.values) + " (no. " + std::to_string(row.id) + ") is there twice, differently: the first was taken");
    }
    std::map<const Table*, Types> types_;
    std::vector<BadRow> bad_;
};

// So that the rows found fit together: links to what is lost are cleared, notes on it are told, names are unique.
std::vector<std::string> mend(std::map<const Table*, std::map<std::int64_t, Row>>& rows) {
    std::vector<std::string> told;
    for (const store::Link& link : store::links()) {
        auto& linked = rows[link.table];
        const auto& to = rows[link.to];
        for (auto row = linked.begin(); row != linked.end();) {
            const auto* id = std::get_if<std::int64_t>(&row->second.values[link.column]);
            if (id == nullptr || to.contains(*id)) {
                ++row;
                continue;
            }
            const std::string what = label(*link.table, row->second.values);
            if (link.clears) {
                told.push_back(what + " lost its " + link.table->columns[link.column] + ", which could not be read");
                row->second.values[link.column] = Value();
                row->second.sum = store::checksum(row->first, row->second.values);
                ++row;
            } else {
                told.push_back(what + " is not taken: what it is about could not be read");
                row = linked.erase(row);
            }
        }
    }
    if (const auto found = rows.find(&store::addition_table());
        found != rows.end()) {  // two of one number in a pot: both states of an undone one were found
        std::set<std::pair<std::int64_t, std::int64_t>> numbers;
        for (auto& [id, row] : found->second) {
            const auto* pot = std::get_if<std::int64_t>(&row.values[0]);
            auto* number = std::get_if<std::int64_t>(&row.values[1]);
            if (pot == nullptr || number == nullptr || numbers.emplace(*pot, *number).second) continue;
            const std::int64_t before = *number;
            do ++*number;
            while (!numbers.emplace(*pot, *number).second);
            told.push_back("Two things went into one pot as number " + std::to_string(before) + ": one is now number " + std::to_string(*number));
            row.sum = store::checksum(id, row.values);
        }
    }
    for (auto& [table, all] : rows) {  // two rows of one name: one of them was renamed, and both states were found
        const std::size_t unique = table == &store::photo_table() ? 1 : 0;
        std::set<std::pair<std::int64_t, std::string>> names;
        for (auto& [id, row] : all) {
            if (!std::holds_alternative<std::string>(row.values[unique])) break;  // a table whose rows have no names of their own
            const auto* parent = table == &store::part_table() ? std::get_if<std::int64_t>(&row.values[1]) : nullptr;
            const std::string before = std::get<std::string>(row.values[unique]);
            std::string name = before;
            for (int number = 2; !names.emplace(parent == nullptr ? 0 : *parent, name).second; ++number)
                name = before + " (" + std::to_string(number) + ")";
            if (name == before) continue;
            row.values[unique] = name;
            row.sum = store::checksum(id, row.values);
            told.push_back(word(*table) + " \"" + before + "\" is there twice: one is now \"" + name + "\"");
        }
    }
    return told;
}

// The bytes, as they are once a broken-off save is undone.
Result<std::string> bytes_of_workbook(const fs::path& in, const fs::path& beside) {
    const auto unreadable = [&](const std::string& cause) { return Error{Fault::workbook_unreadable, in.string(), {}, cause, "check the name"}; };
    std::error_code error;
    if (!fs::is_regular_file(in, error)) return unreadable("there is no such file");
    constexpr std::uintmax_t kLargest = 4'000'000'000;
    if (fs::file_size(in, error) > kLargest) return unreadable("it is larger than 4 gigabytes");
    fs::path file = in;
    const fs::path journal = in.string() + "-journal", copy = beside.string() + ".rescue-part", copied_journal = copy.string() + "-journal";
    const bool broken_off = fs::is_regular_file(journal, error) && fs::file_size(journal, error) > 0;
    if (broken_off) {
        fs::copy_file(in, copy, fs::copy_options::overwrite_existing, error);
        if (!error) fs::copy_file(journal, copied_journal, fs::copy_options::overwrite_existing, error);
        if (error)
            return Error{Fault::workbook_write, beside.string(), {}, "no copy can be made beside it (" + error.message() + ")", "free some space"};
        if (const Result<Database> database = Database::open(fs::absolute(copy), copy.string(), true, false))
            static_cast<void>(database->ask("SELECT count(*) FROM sqlite_schema"));  // reading undoes; where that fails, what is there is taken
        file = copy;
    }
    std::ifstream stream(file, std::ios::binary);
    std::string bytes((std::istreambuf_iterator<char>(stream)), {});
    const bool read = !stream.bad() && stream.is_open();
    if (broken_off) {
        fs::remove(copy, error);
        fs::remove(copied_journal, error);
    }
    if (!read) return unreadable("it cannot be read");
    return bytes;
}

Result<Done> lay_down(const fs::path& out, const std::map<const Table*, std::map<std::int64_t, Row>>& rows) {
    const Result<Database> database = Database::open(fs::absolute(out), out.string(), true, true);
    if (!database) return database.error();
    if (const Result<Done> set = database->run("PRAGMA synchronous = EXTRA", Doing::writing); !set) return set;
    return database->transaction(Doing::writing, [&]() -> Result<Done> {
        if (const Result<Done> made = store::make(*database); !made) return made;
        if (const Result<Done> deferred = database->run("PRAGMA defer_foreign_keys = ON", Doing::writing); !deferred) return deferred;
        for (const auto& [table, all] : rows) {
            Statement statement(*database, store::insert_sql(*table));
            for (const auto& [id, row] : all) {
                const int code = statement.again().bind({id, row.sum}).bind(row.values).step();
                if (code != SQLITE_DONE) return database->error(code, Doing::writing);
            }
        }
        return Done{};
    });
}

}  // namespace

Result<Rescued> rescue(const fs::path& in, const fs::path& out) {
    std::error_code error;
    if (out.empty() || fs::exists(fs::symlink_status(out, error)))
        return Error{
            Fault::bad_usage, out.string(), {}, out.empty() ? "no file name was given" : "it is there already", "name a file that is to be made"};
    const Result<std::string> bytes = bytes_of_workbook(in, out);
    if (!bytes) return bytes.error();
    auto types = column_types();
    if (!types) return types.error();
    Collector collector(*std::move(types));
    store::scan_pages(*bytes, [&](store::Scanned row) { collector.take(std::move(row)); });
    Rescued rescued{{}, collector.bad(), std::move(collector.twice), collector.changes};
    std::size_t good = 0;
    for (const auto& [table, all] : collector.rows) good += all.size();
    if (good == 0 && rescued.bad.empty() && rescued.changes == 0)
        return Error{Fault::workbook_unreadable, in.string(), {}, "nothing of a workbook is left in it", "use a copy of it from before"};
    const std::vector<std::string> mended = mend(collector.rows);
    rescued.mended.insert(rescued.mended.end(), mended.begin(), mended.end());
    if (const Result<Done> done = lay_down(out, collector.rows); !done) {
        fs::remove(out, error);
        return done.error();
    }
    for (const Table* table : store::tables()) rescued.taken.emplace_back(table->name, static_cast<std::int64_t>(collector.rows[table].size()));
    return rescued;
}

}  // namespace sw
