#include "workbook/verify.hpp"

#include <sqlite3.h>

#include <algorithm>
#include <cmath>

#include "color/difference.hpp"
#include "workbook/nearest.hpp"
#include "workbook/reading_request.hpp"
#include "workbook/rows.hpp"
#include "workbook/schema.hpp"

namespace sw {
namespace {

using store::Database;
using store::Doing;
using store::Statement;
using store::Table;
using store::Values;

constexpr double kSame = 0.005;

// Lines of a check that should tell nothing.
Result<Done> check(const Database& database, const char* sql, std::vector<std::string>& lines) {
    constexpr std::size_t kMostLines = 20;
    Statement statement(database, sql);
    int code = 0;
    while ((code = statement.step()) == SQLITE_ROW) {
        std::string line;
        for (const store::Value& value : statement.columns()) {
            if (const auto* text = std::get_if<std::string>(&value)) line += (line.empty() ? "" : " ") + *text;
            if (const auto* number = std::get_if<std::int64_t>(&value)) line += (line.empty() ? "" : " ") + std::to_string(*number);
        }
        if (line != "ok" && lines.size() < kMostLines) lines.push_back(line);
    }
    if (code != SQLITE_DONE) lines.push_back(database.error(code, Doing::reading).cause);
    return Done{};
}

void check_rows(const Database& database, const Table& table, const std::vector<std::string>& columns, Soundness& found) {
    std::string sql = "SELECT id, checksum";
    for (const std::string& column : columns) sql += ", " + column;
    Statement statement(database, sql + " FROM " + table.name);
    std::int64_t count = 0;
    int code = 0;
    while ((code = statement.step()) == SQLITE_ROW) {
        ++count;
        const Values all = statement.columns();
        const Values values(all.begin() + 2, all.end());
        const auto* id = std::get_if<std::int64_t>(&all[0]);
        const auto* sum = std::get_if<std::int64_t>(&all[1]);
        if (id == nullptr || sum == nullptr || store::checksum(*id, values) != *sum)
            found.bad.push_back({table.name, id == nullptr ? 0 : *id, label(table, values)});
    }
    found.rows.emplace_back(table.name, count);
    if (code != SQLITE_DONE) found.structure.push_back(table.name + ": " + database.error(code, Doing::reading).cause);
}

// One reading, as far as it can be taken again.
RereadReading again(const KeptReading& kept, const Workbook& workbook, const std::vector<KeptPhoto>& photos, const std::vector<KeptSetup>& setups) {
    RereadReading told{kept.id, kept.name, kept.photo_file, Reread::not_possible, {}, kept.de00, {}, {}};
    const auto stop = [&](Reread outcome, std::string why) {
        told.outcome = outcome;
        told.why = std::move(why);
        return told;
    };
    const std::optional<std::string> found = whereabouts(kept.photo_file, kept.photo_hash, workbook, photos);
    if (!found) return stop(Reread::photo_missing, "its photo is not there");
    told.photo = *found;
    const std::optional<std::string> text = request_in(kept.calibration_json);
    if (!text) return stop(Reread::not_possible, "an older version kept it, without how it was read");
    const Result<ReadingRequest> request = reading_request_of(*text);
    if (!request) return stop(Reread::not_possible, describe(request.error()));
    const Result<Region> region = parse_region(kept.region, "region");
    if (!region) return stop(Reread::not_possible, describe(region.error()));
    std::string flat;
    if (!request->flat_file.empty()) {
        const auto board = whereabouts(request->flat_file, request->flat_hash, workbook, photos);
        if (!board) return stop(Reread::photo_missing, "the photo of the plain board is not there");
        flat = *board;
    }
    const Result<TakenAgain> now = take_again(*found, flat, *region, *request, setups);
    if (!now) return stop(Reread::not_possible, describe(now.error()));
    told.de00 = difference_2000(kept.lab, now->lab);
    told.judged_now = now->de00;
    const auto apart = [](const std::optional<double>& a, const std::optional<double>& b) { return a && b ? std::abs(*a - *b) : 0.0; };
    double largest = std::max({std::abs(kept.lab.L - now->lab.L), std::abs(kept.lab.a - now->lab.a), std::abs(kept.lab.b - now->lab.b),
                               apart(kept.de00, now->de00), apart(kept.ci_low, now->ci_low), apart(kept.ci_high, now->ci_high)});
    const auto sd = lab_sd(kept.lab_covariance), sd_now = lab_sd(now->lab_covariance);
    for (std::size_t i = 0; i < 3; ++i) largest = std::max(largest, std::abs(sd[i] - sd_now[i]));
    if (largest <= kSame) return stop(Reread::same, "");
    return stop(Reread::differs, "the photo says another color, or another doubt of it");
}

}  // namespace

Result<Soundness> look_over(const std::filesystem::path& path) {
    std::error_code error;
    const std::filesystem::path file = std::filesystem::weakly_canonical(std::filesystem::absolute(path, error), error);
    if (error || !std::filesystem::is_regular_file(file, error))
        return Error{Fault::workbook_unreadable, path.string(), {}, "there is no such file", "check the name"};
    const Result<Database> database = Database::open(file, path.string(), false, false);
    if (!database) return database.error();
    Soundness found;
    found.bytes = std::filesystem::file_size(file, error);
    const Result<Done> looked = database->transaction(Doing::reading, [&]() -> Result<Done> {
        const Result<store::Identity> identity = store::identity(*database);
        if (!identity) return identity.error();
        if (identity->application != store::kApplicationId || identity->version < 1)
            return database->error(Fault::workbook_unreadable, "this is not a workbook", "choose a workbook file");
        if (identity->version > store::kSchemaVersion)
            return database->error(Fault::workbook_newer, "it was made by a newer version of this program", "use the newer version");
        found.version = identity->version;
        if (const Result<Done> good = store::check_definitions(*database, found.version); !good) found.structure.push_back(good.error().cause);
        if (const Result<Done> done = check(*database, "PRAGMA integrity_check(20)", found.structure); !done) return done;
        if (const Result<Done> done = check(*database, "PRAGMA foreign_key_check", found.structure); !done) return done;
        for (const Table* table : store::tables()) {
            if (table->since > found.version) continue;
            const auto early = static_cast<std::ptrdiff_t>(found.version < store::kLaterColumns ? table->later : 0);
            check_rows(*database, *table, {table->columns.begin(), table->columns.end() - early}, found);
        }
        if (found.version >= 3) check_rows(*database, Table{"change", {"words"}, 3, 0, 0}, {"words", "undone", "image", "created"}, found);
        return Done{};
    });
    if (!looked) return looked.error();
    return found;
}

std::optional<std::string> whereabouts(const std::string& path, const std::string& hash, const Workbook& workbook,
                                       const std::vector<KeptPhoto>& photos) {
    std::vector<std::filesystem::path> places;
    if (!path.empty()) places = {path, workbook.path().parent_path() / path};
    for (const KeptPhoto& photo : photos) {
        if (photo.hash == hash) places.emplace_back(photo.path);
    }
    for (const std::filesystem::path& place : places) {
        std::error_code error;
        if (!std::filesystem::is_regular_file(place, error)) continue;
        const Result<std::string> seen = file_hash(place);
        if (seen && *seen == hash) return place.string();
    }
    return std::nullopt;
}

Result<std::vector<RereadReading>> reread(const Workbook& workbook, const std::function<void(std::size_t, std::size_t)>& step) {
    const auto readings = workbook.readings();
    const auto photos = workbook.photos();
    const auto setups = workbook.setups();
    if (!readings) return readings.error();
    if (!photos) return photos.error();
    if (!setups) return setups.error();
    std::vector<RereadReading> told;
    for (auto kept = readings->rbegin(); kept != readings->rend(); ++kept) {
        if (step) step(told.size(), readings->size());
        told.push_back(again(*kept, workbook, *photos, *setups));
    }
    return told;
}

}  // namespace sw
