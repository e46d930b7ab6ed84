// The published tables of assets/cie, embedded in the library.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "color/spectrum.hpp"

namespace sw {

/// A column of a table, cut to the rows that have a figure.
struct CieColumn {
    std::string name;
    SpectrumTable table;
};

/// All columns of an embedded file ("observers.csv" ...). A name that is not embedded is our mistake.
[[nodiscard]] std::vector<CieColumn> cie_columns(std::string_view file);

/// A column on the grid: Sprague or straight lines between its steps; outside it, 0 or the end values.
enum class Between { sprague, linear };
enum class Outside { zero, held };
[[nodiscard]] Bands on_grid(const SpectrumTable& table, Between between, Outside outside);

/// The number a text is, whole text only: no spaces, no plus sign, finite.
[[nodiscard]] std::optional<double> number(std::string_view text);
/// The shortest text that reads back as the same number.
[[nodiscard]] std::string shortest(double value);
/// A piece of foreign text fit for a message: printable, short, quoted.
[[nodiscard]] std::string quoted(std::string_view text);

}  // namespace sw
