// Figures and tables as text for people. Locale plays no part: the decimal sign is always a point.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace sw {

/// The whole text as a finite number; nothing if it is anything else. Blanks around it are allowed.
[[nodiscard]] std::optional<double> parse_number(std::string_view text);
/// Numbers with commas between; nothing if one cannot be read.
[[nodiscard]] std::optional<std::vector<double>> parse_numbers(std::string_view text);
[[nodiscard]] std::string_view trimmed(std::string_view text);

/// "-21.2"; "unknown" if not finite. Never "-0.0".
[[nodiscard]] std::string fixed(double value, int decimals);
/// As few digits as say it: "2", "1.5", "18.25"; at most four decimals.
[[nodiscard]] std::string brief(double value);
/// Decimals worth showing beside a standard deviation: 2 below 0.05, 1 below 10, else 0.
[[nodiscard]] int decimals_beside(double sd);
/// "40.7 ± 0.4", "40.7 ± unknown", "unknown".
[[nodiscard]] std::string measured(double value, double sd);
/// The same for figures that are worth more digits than readings of color: one or two digits of the deviation, at most `most` decimals:
/// "6490 ± 110", "0.0031 ± 0.0012". A deviation of 0 means exact: the value alone, with `most` decimals.
[[nodiscard]] std::string spread(double value, double sd, int most);
/// "1.4 to 2.5", with the digits that its width allows.
[[nodiscard]] std::string range(double low, double high);
/// "61 %", "under 1 %", "over 99 %", "unknown".
[[nodiscard]] std::string percent(double share);
/// "chip, swatch and lid".
[[nodiscard]] std::string listed(const std::vector<std::string>& items);
/// "Slightly darker": first letter, ASCII only.
[[nodiscard]] std::string capitalized(std::string text);

/// Control characters and broken UTF-8 replaced by '?', so that nothing in a file's name can move the cursor. Line ends are kept if asked.
[[nodiscard]] std::string printable(std::string_view text, bool keep_line_ends = false);

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
