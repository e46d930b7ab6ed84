// Rows out of the bytes of an SQLite file, page by page, without its tables' trees: what a damaged or cut file still holds. Private to this folder.
// Source: the SQLite file format, sqlite.org/fileformat2.html.
#pragma once

#include <functional>
#include <string_view>

#include "workbook/database.hpp"

namespace sw::store {

struct Scanned {
    std::int64_t id = 0;  // rowid
    Values record;        // as stored: the column of the id NULL, whole numbers of REAL columns perhaps INTEGER
};

/// Every row in a leaf of a table whose bytes are all there; perhaps more than once. Untrusted input: whatever the bytes say it ends, and reads
/// within them.
void scan_pages(std::string_view bytes, const std::function<void(Scanned)>& found);

}  // namespace sw::store
