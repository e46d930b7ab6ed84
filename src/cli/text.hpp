// Figures and tables as text for people. Locale plays no part: the decimal sign is always a point.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sheet/figures.hpp"

namespace sw {

/// The whole text as a finite number; nothing if it is anything else. Blanks around it are allowed.
[[nodiscard]] std::optional<double> parse_number(std::string_view text);
/// Numbers with commas between; nothing if one cannot be read.
[[nodiscard]] std::optional<std::vector<double>> parse_numbers(std::string_view text);
[[nodiscard]] std::string_view trimmed(std::string_view text);

/// Control characters and broken UTF-8 replaced by '?', so that nothing in a file's name can move the cursor. Line ends are kept if asked.
[[nodiscard]] std::string printable(std::string_view text, bool keep_line_ends = false);

/// "1 target", "3 targets"
[[nodiscard]] std::string counted(std::size_t count, const std::string& what);

/// Made printable and broken into lines of at most `width` characters at blanks; `first` before the first line, blanks of the same width before the
/// others.
[[nodiscard]] std::string wrapped(std::string_view text, std::string_view first = "", std::size_t width = 110);

/// Columns wide enough for what is in them. The first column is set left, the others right, except those named in `left`.
class Table {
public:
    explicit Table(std::vector<std::string> head, std::vector<std::size_t> left = {});
    void row(std::vector<std::string> cells);
    /// Lines with two blanks before and a line end after each.
    [[nodiscard]] std::string text() const;

private:
    std::vector<std::vector<std::string>> rows_;
    std::vector<std::size_t> left_;
};

}  // namespace sw
