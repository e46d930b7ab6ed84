#include "workbook/schema.hpp"

#include <fcntl.h>
#include <sqlite3.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <iterator>
#include <system_error>

#include "workbook/rows.hpp"
#include "workbook_schema.hpp"

namespace sw::store {
namespace {

/// What makes version n + 1 of version n; the first makes version 1 of nothing.
const std::array<std::string, kSchemaVersion>& schema_steps() {
    static const std::array<std::string, kSchemaVersion> steps{
        std::string(workbook_schema::file("schema.sql")), std::string(workbook_schema::file("schema_2.sql")),
        std::string(workbook_schema::file("schema_3.sql")), std::string(workbook_schema::file("schema_4.sql"))};
    return steps;
}

// Version 3 gave targets two columns, which their checksum covers too. A row that is not as it was saved stays one.
Result<Done> sum_targets_anew(const Database& database) {
    const Table& table = target_table();
    std::string columns = "id, checksum";
    for (const std::string& column : table.columns) columns += ", " + column;
    Statement rows(database, "SELECT " + columns + " FROM target");
    int code = 0;
    while ((code = rows.step()) == SQLITE_ROW) {
        const Values all = rows.columns();
        const auto* id = std::get_if<std::int64_t>(&all[0]);
        const auto* sum = std::get_if<std::int64_t>(&all[1]);
        if (id == nullptr || sum == nullptr) return database.error(SQLITE_CORRUPT, Doing::reading);
        const Values now(all.begin() + 2, all.end());
        const Values before(now.begin(), now.end() - static_cast<std::ptrdiff_t>(table.later));
        if (checksum(*id, before) != *sum) continue;
        const int updated = Statement(database, "UPDATE target SET checksum = ? WHERE id = ?").bind({checksum(*id, now), *id}).step();
        if (updated != SQLITE_DONE) return database.error(updated, Doing::writing);
    }
    if (code != SQLITE_DONE) return database.error(code, Doing::reading);
    return Done{};
}

Result<Done> run_steps(const Database& database, std::int64_t from, std::int64_t to) {
    for (std::int64_t version = from; version < to; ++version) {
        const Result<Done> made = database.run(schema_steps()[static_cast<std::size_t>(version)].c_str(), Doing::writing);
        if (!made) return made;
        if (version + 1 != kLaterColumns) continue;
        if (const Result<Done> summed = sum_targets_anew(database); !summed) return summed;
    }
    return Done{};
}

Result<std::vector<Values>> definitions(const Database& database) {
    Statement statement(database, "SELECT type, name, tbl_name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite!_%' ESCAPE '!' ORDER BY name");
    std::vector<Values> found;
    int code = 0;
    while ((code = statement.step()) == SQLITE_ROW) found.push_back(statement.columns());
    if (code != SQLITE_DONE) return database.error(code, Doing::reading);
    return found;
}

bool same_bytes(const std::filesystem::path& one, const std::filesystem::path& two) {
    std::error_code error;
    if (std::filesystem::file_size(one, error) != std::filesystem::file_size(two, error) || error) return false;
    std::ifstream a(one, std::ios::binary), b(two, std::ios::binary);
    return a && b && std::equal(std::istreambuf_iterator<char>(a), {}, std::istreambuf_iterator<char>(b));
}

// The caller holds the lock, so nobody else makes one meanwhile.
Result<Done> back_up(const Database& database, const std::filesystem::path& file, std::int64_t version) {
    const std::string name = file.string() + ".v" + std::to_string(version) + ".backup", part = name + "-part";
    if (const Result<Done> copied = database.copy_to(part); !copied) {
        ::unlink(part.c_str());
        return copied;
    }
    constexpr int kMost = 100;
    for (int number = 1; number <= kMost; ++number) {
        const std::string to = number == 1 ? name : name + "." + std::to_string(number);
        std::error_code error;
        if (std::filesystem::exists(to, error)) {
            if (!same_bytes(part, to)) continue;
            ::unlink(part.c_str());  // made already, by an opening that was broken off
            return Done{};
        }
        if (::rename(part.c_str(), to.c_str()) != 0) break;
        const int folder = ::open(file.parent_path().c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
        if (folder >= 0) {
            ::fsync(folder);
            ::close(folder);
        }
        return Done{};
    }
    ::unlink(part.c_str());
    return database.error(Fault::workbook_write, "the copy of it as it was cannot be made",
                          "see that its folder can be written, and move old copies away");
}

}  // namespace

Result<Identity> identity(const Database& database) {
    Identity found;
    for (const auto& [sql, out] : {std::pair{"PRAGMA application_id", &found.application}, std::pair{"PRAGMA user_version", &found.version},
                                   std::pair{"SELECT count(*) FROM sqlite_schema", &found.objects}}) {
        const Result<std::int64_t> value = database.number(sql);
        if (!value) return value.error();
        *out = *value;
    }
    return found;
}

Result<Done> make(const Database& database) { return run_steps(database, 0, kSchemaVersion); }

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
                              kRescueRemedy);
    }
    return Done{};
}

Result<Done> bring_up(const Database& database, const std::filesystem::path& file, std::int64_t from) {
    return database.transaction(Doing::writing, [&]() -> Result<Done> {
        const Result<std::int64_t> version = database.number("PRAGMA user_version");
        if (!version) return version.error();
        if (*version != from) return check_definitions(database, kSchemaVersion);  // another program was faster
        if (const Result<Done> copied = back_up(database, file, from); !copied) return copied;
        if (const Result<Done> made = run_steps(database, from, kSchemaVersion); !made) return made;
        return check_definitions(database, kSchemaVersion);
    });
}

}  // namespace sw::store
