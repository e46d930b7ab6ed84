// Targets, readings and cards as CSV; targets from the CSV of this program, or of an instrument. Columns: DEVELOPERS.md.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "color/spectrum.hpp"
#include "workbook/exchange.hpp"

namespace sw {

[[nodiscard]] std::string targets_csv(const std::vector<Target>&);
/// targets: for the name of the one that each was judged against.
[[nodiscard]] std::string readings_csv(const std::vector<KeptReading>&, const std::vector<Target>& targets);
[[nodiscard]] std::string cards_csv(const std::vector<Card>&);

/// What a column can mean, for --map: name, l, a, b, c, h, x, y, z, sd, kind, light, observer, source, created, white_x .. white_z,
/// cov_ll .. cov_bb, nm (of a reflectance: nm400), none.
[[nodiscard]] bool is_column_meaning(std::string_view word);

/// How a table from outside is to be read.
struct CsvReading {
    std::string file;                                        // its name without folders, for messages and sources
    std::vector<std::pair<std::string, std::string>> map{};  // column (its heading, or #3 for the third) and what it means
    std::optional<Light> under{};                            // where the table names no light; nothing: D50
    Observer observer = Observer::degree2;                   // likewise
    std::optional<double> sd{};                              // of each of L*, a*, b* where the table has none
    TargetKind kind = TargetKind::instrument;                // likewise
    std::vector<ColumnMapping> known{};                      // with an empty map: for tables of these headings; said in the notes
};
inline constexpr double kAssumedSd = 0.5;  // as of a typed color; common practice, no source

/// Reads it. Delimiter (tab, semicolon, comma) and decimal sign are found out; the heading is the first of the first 50 rows that names a color's
/// columns. Rows that cannot be taken are in not_taken. Lights that are files are not looked for.
/// Errors (table_malformed): those of parse_rows; no heading found; a mapped column that is not there; more than 100 000 rows.
[[nodiscard]] Result<Exchange> targets_of_csv(std::string_view text, const CsvReading&);

}  // namespace sw
