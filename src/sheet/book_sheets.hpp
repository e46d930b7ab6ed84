// Sheets about what a workbook holds, and that workbook's content as files in open formats. Tests: tests/cli/exchange_command_test.cpp
#pragma once

#include <string>
#include <vector>

#include "sheet/target_sheets.hpp"
#include "workbook/workbook.hpp"

namespace sw {

enum class SheetKind { target, targets, labels, build, mix };
struct BookSheet {
    Sheet drawn;
    std::size_t targets = 0, parts = 0, pots = 0;
    std::vector<std::string> messages;  // what is not as it could be: a photo that is gone
};
/// names: of targets, of parts for a build, of a pot; none: all. `target` and `mix` take one. Errors: of reading the workbook, of draw_pages;
/// name_unknown: not there, or nothing to draw.
[[nodiscard]] Result<BookSheet> book_sheet(const Workbook&, SheetKind, const std::vector<std::string>& names, const Paper&, const std::string& path);

}  // namespace sw
