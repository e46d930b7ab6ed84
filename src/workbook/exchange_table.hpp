// Comma separated values as RFC 4180 has them, and what programs make of them elsewhere: semicolons, tabs, decimal commas.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "color/result.hpp"

namespace sw {

struct TextRow {
    std::size_t line = 0;  // on which it begins, from 1
    std::vector<std::string> cells;
};

/// The rows of a table, blank lines left out. A cell in double quotes may hold delimiters, line ends and, doubled, quotes. Blanks around other cells
/// are taken off. A byte order mark is passed over.
/// Errors (table_malformed, with the line): a quote that never ends, more than 2000 cells in a row, a zero byte.
[[nodiscard]] Result<std::vector<TextRow>> parse_rows(std::string_view text, char delimiter);

/// One row with commas and the line end of RFC 4180, quoted where needed.
[[nodiscard]] std::string comma_row(const std::vector<std::string>& cells);

}  // namespace sw
