// What a change did to the rows, in the bytes that the table `change` keeps. Private to this folder.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "workbook/database.hpp"

namespace sw::store {

/// A row as it stands in its table.
struct Row {
    std::int64_t id = 0, sum = 0;  // sum: the checksum as stored, right or wrong
    Values values;
};

/// One row that a change touched: what it is now, by its checksum, and what it was on the other side. Nothing: not there.
struct Touched {
    std::string table;
    std::int64_t id = 0;
    std::optional<std::int64_t> now;
    std::optional<Row> other;
};

/// Form: for each row the table's name, the id, `now`, `other`'s checksum and its number of values, and these; all written as the checksum reads
/// them.
[[nodiscard]] Blob to_image(const std::vector<Touched>&);
/// Untrusted: nothing if it is of another form.
[[nodiscard]] std::optional<std::vector<Touched>> touched_of(const Blob&);

}  // namespace sw::store
