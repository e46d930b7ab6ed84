// What is still readable of a damaged or cut workbook.
#pragma once

#include "workbook/verify.hpp"

namespace sw {

struct Rescued {
    std::vector<std::pair<std::string, std::int64_t>> taken;  // rows of each table that stand in the new workbook
    std::vector<BadRow> bad;                                  // found, but not as they were saved: not taken
    std::vector<std::string> mended;                          // what was changed so that the rest fits together, in words
    std::int64_t changes = 0;                                 // that could have been undone: not taken
};
/// Makes the workbook `out` of all rows of `in` whose checksum is right, wherever they lie in it; `in` is only read, and what a broken-off save left
/// beside it is undone in a copy. Errors: workbook_unreadable (nothing of a workbook is in it); bad_usage: `out` is there already; workbook_write.
[[nodiscard]] Result<Rescued> rescue(const std::filesystem::path& in, const std::filesystem::path& out);

}  // namespace sw
