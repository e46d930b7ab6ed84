#include "workbook/workbook.hpp"

#include <fcntl.h>
#include <pwd.h>
#include <sqlite3.h>
#include <unistd.h>

#include <array>
#include <cstdlib>
#include <functional>
#include <system_error>

#include "workbook/database.hpp"
#include "workbook/rows.hpp"
#include "workbook_schema.hpp"

namespace sw {

using store::Database;
using store::Doing;
using store::Statement;
using store::Table;
using store::Value;
using store::Values;

namespace {

constexpr std::int64_t kApplicationId = 0x5357426B;  // "SWBk", as in schema.sql
constexpr std::int64_t kSchemaVersion = 2;
constexpr std::uintmax_t kCheckedSize = 20'000'000;  // bytes; larger files are not read whole at opening (each row's checksum still is checked)

/// What makes version n + 1 of version n; the first makes version 1 of nothing.
const std::array<std::string, kSchemaVersion>& schema_steps() {
    static const std::array<std::string, kSchemaVersion> steps{std::string(workbook_schema::file("schema.sql")),
                                                               std::string(workbook_schema::file("schema_2.sql"))};
    return steps;
}

Result<Done> run_steps(const Database& database, std::int64_t from, std::int64_t to) {
    for (std::int64_t version = from; version < to; ++version) {
        const Result<Done> made = database.run(schema_steps()[static_cast<std::size_t>(version)].c_str(), Doing::writing);
        if (!made) return made;
    }
    return Done{};
}

struct Row {
    std::int64_t id = 0;
    Values values;
};

std::string select_sql(const Table& table, const std::string& tail) {
    std::string sql = "SELECT id, checksum";
    for (const std::string& column : table.columns) sql += ", " + column;
    return sql + " FROM " + table.name + " " + tail;
}

std::string insert_sql(const Table& table) {
    std::string names = "id, checksum", marks = "?, ?";
    for (const std::string& column : table.columns) {
        names += ", " + column;
        marks += ", ?";
    }
    return "INSERT INTO " + table.name + " (" + names + ") VALUES (" + marks + ")";
}

std::string update_sql(const Table& table) {
    std::string sql = "UPDATE " + table.name + " SET checksum = ?";
    for (const std::string& column : table.columns) sql += ", " + column + " = ?";
    return sql + " WHERE id = ?";
}

Result<std::int64_t> number(const Database& database, const char* sql) {
    const Result<Value> value = database.ask(sql);
    if (!value) return value.error();
    const auto* found = std::get_if<std::int64_t>(&*value);
    if (found == nullptr) return database.error(SQLITE_CORRUPT, Doing::reading);
    return *found;
}

// What makes a database a workbook, read in one go.
struct Identity {
    std::int64_t application = 0, version = 0, objects = 0;
    bool empty() const { return application == 0 && version == 0 && objects == 0; }
};

Result<Identity> identity(const Database& database) {
    Identity found;
    for (const auto& [sql, out] : {std::pair{"PRAGMA application_id", &found.application}, std::pair{"PRAGMA user_version", &found.version},
                                   std::pair{"SELECT count(*) FROM sqlite_schema", &found.objects}}) {
        const Result<std::int64_t> value = number(database, sql);
        if (!value) return value.error();
        *out = *value;
    }
    return found;
}

// One transaction around `body`: all of it or nothing.
Result<Done> transaction(const Database& database, Doing doing, const std::function<Result<Done>()>& body) {
    Result<Done> done = database.run(doing == Doing::writing ? "BEGIN IMMEDIATE" : "BEGIN", doing);
    if (done) done = body();
    if (done) done = database.run("COMMIT", doing);
    if (!done && database.in_transaction())
        static_cast<void>(database.run("ROLLBACK", doing));  // if this fails, the journal undoes it at the next opening
    return done;
}

// The tables' definitions must be those of the schema's steps to the letter.
Result<std::vector<Values>> definitions(const Database& database) {
    Statement statement(database, "SELECT type, name, tbl_name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite!_%' ESCAPE '!' ORDER BY name");
    std::vector<Values> found;
    int code = 0;
    while ((code = statement.step()) == SQLITE_ROW) found.push_back(statement.columns());
    if (code != SQLITE_DONE) return database.error(code, Doing::reading);
    return found;
}

Result<Done> check_definitions(const Database& database, std::int64_t version) {
    const Result<std::vector<Values>> found = definitions(database);
    if (!found) return found.error();
    const Result<Database> model = Database::open_in_memory();
    if (!model) return model.error();
    if (const Result<Done> made = run_steps(*model, 0, version); !made) return made.error();
    const Result<std::vector<Values>> expected = definitions(*model);
    if (!expected) return expected.error();
    if (*found != *expected) {
        return database.error(Fault::workbook_unreadable, "its tables are not those of a workbook: it is damaged, or was changed by another program",
                              "use a copy of it from before");
    }
    return Done{};
}

// From an older version to this one: all of it, or the file stays as it was.
Result<Done> bring_up(const Database& database, std::int64_t from) {
    return transaction(database, Doing::writing, [&]() -> Result<Done> {
        const Result<std::int64_t> version = number(database, "PRAGMA user_version");
        if (!version) return version.error();
        if (*version != from) return check_definitions(database, kSchemaVersion);  // another program was faster
        if (const Result<Done> made = run_steps(database, from, kSchemaVersion); !made) return made;
        return check_definitions(database, kSchemaVersion);
    });
}

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

// Why a rollback journal that is deleted (journal_mode DELETE) and not a write-ahead log: the workbook stays one file that can be copied or mailed,
// it works on network folders and can be read from media that cannot be written; and each command here is one small transaction.
// synchronous EXTRA is FULL plus a sync of the folder once the journal is gone: with FULL alone a power cut just after a save could bring the journal
// back, and with it the state before.
struct Workbook::Store {
    std::filesystem::path path;
    Database database;
    bool newer = false;
    bool read_only = false;
    bool first = false;  // of version 1, which could not be brought up: no cards, no set-ups

    Error bad_value(const std::string& place, const std::string& cause) const {
        return {.fault = Fault::bad_usage, .file = path.string(), .place = place, .cause = cause, .remedy = "correct it, then save again"};
    }
    Error newer_error() const {
        return database.error(Fault::workbook_newer, "it was made by a newer version of this program and can be read but not changed",
                              "use the newer version");
    }
    Error damaged_row(const Table& table, std::int64_t id) const {
        return database.error(Fault::workbook_unreadable,
                              "the file is damaged: " + table.name + " no. " + std::to_string(id) + " is not as it was saved",
                              "use a copy of it from before; keep this one, parts of it may be rescued");
    }
    static std::string word(const Table& table) { return table.name == "setup" ? "set-up" : table.name; }
    Error unknown(const std::string& place, const std::string& cause) const {
        return {.fault = Fault::name_unknown, .file = path.string(), .place = place, .cause = cause, .remedy = "list what is there, then try again"};
    }

    Result<Done> change(const std::function<Result<Done>()>& body) const {
        if (newer) return newer_error();
        if (read_only) return database.error(SQLITE_READONLY, Doing::writing);
        return transaction(database, Doing::writing, [&]() -> Result<Done> {
            const Result<std::int64_t> version = number(database, "PRAGMA user_version");  // another program may have brought it up meanwhile
            if (!version) return version.error();
            if (*version != kSchemaVersion) return newer_error();
            return body();
        });
    }

    Result<std::vector<Row>> rows(const Table& table, const std::string& tail, const Values& arguments = {}) const {
        Statement statement(database, select_sql(table, tail));
        statement.bind(arguments);
        std::vector<Row> found;
        int code = 0;
        while ((code = statement.step()) == SQLITE_ROW) {
            Values all = statement.columns();
            const auto* id = std::get_if<std::int64_t>(&all[0]);
            const auto* sum = std::get_if<std::int64_t>(&all[1]);
            if (id == nullptr || sum == nullptr) return database.error(SQLITE_CORRUPT, Doing::reading);
            Row row{*id, Values(all.begin() + 2, all.end())};
            if (!newer && store::checksum(row.id, row.values) != *sum) return damaged_row(table, row.id);
            found.push_back(std::move(row));
        }
        if (code != SQLITE_DONE) return database.error(code, Doing::reading);
        return found;
    }

    template <class T, class Convert>
    Result<std::vector<T>> items(const Table& table, Convert convert, const std::string& tail, const Values& arguments = {}) const {
        const Result<std::vector<Row>> found = rows(table, tail, arguments);
        if (!found) return found.error();
        std::vector<T> items;
        for (const Row& row : *found) {
            std::optional<T> item = convert(row.id, row.values);
            if (!item || store::flaw(*item)) return damaged_row(table, row.id);
            items.push_back(std::move(*item));
        }
        return items;
    }

    // A constraint that the user can run into, or the error as it is.
    Error refusal(int code, const Values& values, const Table& table) const {
        const auto text = [&](std::size_t column) { return std::get<std::string>(values[column]); };
        if (code == SQLITE_CONSTRAINT_UNIQUE && table.name != "reading") {
            return {.fault = Fault::name_taken,
                    .file = path.string(),
                    .place = word(table) + " \"" + text(0) + "\"",
                    .cause = "a " + word(table) + " of that name exists",
                    .remedy = "choose another name, or remove the old one first"};
        }
        if (code == SQLITE_CONSTRAINT_FOREIGNKEY && table.name == "reading")
            return unknown("reading \"" + text(1) + "\"", "the target it was judged against is no longer in the workbook");
        return database.error(code, Doing::writing);
    }

    Result<Done> write_row(const Table& table, const std::string& sql, const Values& before, const Values& values, const Values& after) const {
        Statement statement(database, sql);
        const int code = statement.bind(before).bind(values).bind(after).step();
        if (code != SQLITE_DONE) return refusal(code, values, table);
        return Done{};
    }

    Result<Done> update(const Table& table, std::int64_t id, const Values& values) const {
        return write_row(table, update_sql(table), {store::checksum(id, values)}, values, {id});
    }

    // Inside change(). The id enters the checksum and is known only once the row is there.
    Result<std::int64_t> insert(const Table& table, const Values& values) const {
        const Result<Done> done = write_row(table, insert_sql(table), {Value(), std::int64_t{0}}, values, {});
        if (!done) return done.error();
        const std::int64_t id = database.last_id();
        if (const Result<Done> summed = update(table, id, values); !summed) return summed.error();
        return id;
    }

    // By its name, which is the table's first column.
    template <class T, class Convert>
    Result<T> named(const Table& table, Convert convert, const std::string& name) const {
        Result<std::vector<T>> found = items<T>(table, convert, "WHERE name = ?", {store::trimmed(name)});
        if (!found) return found.error();
        if (found->empty()) return unknown(word(table) + " \"" + name + "\"", "there is no " + word(table) + " of that name");
        return std::move(found->front());
    }

    template <class T>
    Result<T> add(const Table& table, T item) const {
        item.created = store::now_utc();
        store::tidy(item);
        if (const auto found = store::flaw(item)) return bad_value(word(table) + " \"" + item.name + "\"", *found);
        const Result<Done> done = change([&]() -> Result<Done> {
            const Result<std::int64_t> id = insert(table, store::values(item));
            if (!id) return id.error();
            item.id = *id;
            return Done{};
        });
        if (!done) return done.error();
        return item;
    }

    template <class T>
    Result<Done> put(const Table& table, T item) const {
        if (item.created.empty()) item.created = store::now_utc();
        store::tidy(item);
        const std::string place = table.name + " \"" + item.name + "\"";
        if (item.id <= 0) return bad_value(place, "it was never stored, so it cannot be put back");
        if (const auto found = store::flaw(item)) return bad_value(place, *found);
        const Values values = store::values(item);
        return change([&]() -> Result<Done> {
            if (const Result<Done> updated = update(table, item.id, values); !updated || database.changes() > 0) return updated;
            return write_row(table, insert_sql(table), {item.id, store::checksum(item.id, values)}, values, {});
        });
    }

    // Inside change().
    Result<Done> remove(const Table& table, std::int64_t id) const {
        Statement statement(database, "DELETE FROM " + table.name + " WHERE id = ?");
        const int code = statement.bind(id).step();
        if (code != SQLITE_DONE) return database.error(code, Doing::writing);
        if (database.changes() == 0) return unknown(table.name + " no. " + std::to_string(id), "it is not in the workbook");
        return Done{};
    }
};

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
        const Result<Identity> seen = identity(database);
        if (!seen) return seen.error();
        found = *seen;
        if (found.application != kApplicationId || found.version < 1 || found.version > kSchemaVersion) return Done{};
        return check_definitions(database, found.version);
    };
    if (const Result<Done> looked = transaction(database, Doing::reading, look); !looked) return looked.error();
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
        const Result<Done> made = transaction(database, Doing::writing, [&]() -> Result<Done> {
            if (const Result<Done> looked = look(); !looked || !found.empty()) return looked;  // somebody else may have been faster
            // SQLite takes a file shorter than a page for empty and would write over it. Asked here, under the lock, and after a broken-off making
            // was undone.
            if (fs::file_size(file, error) != 0 || error) return database.error(SQLITE_NOTADB, Doing::reading);
            if (const Result<Done> run = run_steps(database, 0, kSchemaVersion); !run) return run;
            return look();
        });
        if (!made) return made.error();
    }
    if (found.application != kApplicationId)
        return refuse(Fault::workbook_unreadable, "this is a database of another program, not a workbook", "choose a workbook file");
    if (found.version < 1) return database.error(SQLITE_CORRUPT, Doing::reading);
    store->newer = found.version > kSchemaVersion;
    store->read_only = store->read_only || store->newer;
    if (const Result<Done> settled = settle(); !settled) return settled.error();

    if (store->newer) {
        for (const Table* table : {&store::target_table(), &store::reading_table(), &store::card_table(), &store::setup_table()}) {
            if (Statement(database, select_sql(*table, "LIMIT 0")).step() != SQLITE_DONE)
                return refuse(Fault::workbook_newer, "it was made by a newer version of this program, in a form this one cannot read",
                              "use the newer version");
        }
    }
    if (fs::file_size(file, error) <= kCheckedSize && !error) {
        const Result<Value> verdict = database.ask("PRAGMA integrity_check(1)");  // quick_check and whether the indexes agree with the tables
        if (!verdict) return verdict.error();
        if (*verdict != Value(std::string("ok"))) return database.error(SQLITE_CORRUPT, Doing::reading);
    }
    if (found.version < kSchemaVersion) {
        if (!store->read_only) {
            const Result<Done> brought = bring_up(database, found.version);
            if (!brought && brought.error().fault != Fault::workbook_write) return brought.error();
            store->read_only = !brought;  // a full disk: what is there can be read
        }
        store->first = store->read_only;
    }
    return Workbook(std::move(store));
}

const std::filesystem::path& Workbook::path() const { return store_->path; }
bool Workbook::read_only() const { return store_->read_only; }
bool Workbook::newer() const { return store_->newer; }

Result<std::vector<Target>> Workbook::targets() const {
    return store_->items<Target>(store::target_table(), store::target_of, "ORDER BY name COLLATE NOCASE, name");
}

Result<Target> Workbook::target(const std::string& name) const { return store_->named<Target>(store::target_table(), store::target_of, name); }

Result<Target> Workbook::add(Target target) { return store_->add(store::target_table(), std::move(target)); }
Result<Done> Workbook::put(const Target& target) { return store_->put(store::target_table(), target); }

Result<Done> Workbook::remove_target(std::int64_t id) {
    return store_->change([&]() -> Result<Done> {
        Result<std::vector<Row>> linked = store_->rows(store::reading_table(), "WHERE target = ?", {id});
        if (!linked) return linked.error();
        for (Row& row : *linked) {
            row.values[store::kReadingTargetColumn] = Value();
            if (const Result<Done> updated = store_->update(store::reading_table(), row.id, row.values); !updated) return updated;
        }
        return store_->remove(store::target_table(), id);
    });
}

Result<std::vector<KeptReading>> Workbook::readings() const {
    return store_->items<KeptReading>(store::reading_table(), store::reading_of, "ORDER BY id DESC");
}

Result<KeptReading> Workbook::add(KeptReading reading) { return store_->add(store::reading_table(), std::move(reading)); }
Result<Done> Workbook::put(const KeptReading& reading) { return store_->put(store::reading_table(), reading); }

Result<Done> Workbook::remove_reading(std::int64_t id) {
    return store_->change([&] { return store_->remove(store::reading_table(), id); });
}

Result<std::vector<Card>> Workbook::cards() const {
    if (store_->first) return std::vector<Card>();
    return store_->items<Card>(store::card_table(), store::card_of, "ORDER BY name COLLATE NOCASE, name");
}

Result<Card> Workbook::card(const std::string& name) const {
    if (store_->first) return store_->unknown("card \"" + name + "\"", "there is no card of that name");
    return store_->named<Card>(store::card_table(), store::card_of, name);
}

Result<Card> Workbook::add(Card card) { return store_->add(store::card_table(), std::move(card)); }

Result<Done> Workbook::remove_card(std::int64_t id) {
    return store_->change([&] { return store_->remove(store::card_table(), id); });
}

Result<std::vector<KeptSetup>> Workbook::setups() const {
    if (store_->first) return std::vector<KeptSetup>();
    return store_->items<KeptSetup>(store::setup_table(), store::setup_of, "ORDER BY name COLLATE NOCASE, name");
}

Result<KeptSetup> Workbook::setup(const std::string& name) const {
    if (store_->first) return store_->unknown("set-up \"" + name + "\"", "there is no set-up of that name");
    return store_->named<KeptSetup>(store::setup_table(), store::setup_of, name);
}

Result<KeptSetup> Workbook::add(KeptSetup setup) { return store_->add(store::setup_table(), std::move(setup)); }

Result<Done> Workbook::remove_setup(std::int64_t id) {
    return store_->change([&] { return store_->remove(store::setup_table(), id); });
}

Result<CardReference> card_reference(const Card& card, const Region& region) {
    CardReference reference{card.name, region, Lrv{}, card.sd};
    if (const auto* lrv = std::get_if<Lrv>(&card.value)) reference.value = *lrv;
    if (const auto* color = std::get_if<Lab>(&card.value)) reference.value = *color;
    if (const auto* spectrum = std::get_if<SpectrumText>(&card.value)) {
        const std::string place = "card " + card.name;
        const Result<SpectrumTable> table = parse_spectrum(spectrum->csv, place);
        if (!table) return table.error();
        const Result<Reflectance> surface = reflectance(*table, place);
        if (!surface) return surface.error();
        reference.value = *surface;
    }
    return reference;
}

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

std::string to_word(TargetKind kind) {
    switch (kind) {
        case TargetKind::chip:
            return "chip";
        case TargetKind::published:
            return "published";
        case TargetKind::instrument:
            return "instrument";
        case TargetKind::screen:
            return "screen";
    }
    return {};
}

std::optional<TargetKind> target_kind(const std::string& word) {
    for (const TargetKind kind : {TargetKind::chip, TargetKind::published, TargetKind::instrument, TargetKind::screen}) {
        if (to_word(kind) == word) return kind;
    }
    return std::nullopt;
}

}  // namespace sw
