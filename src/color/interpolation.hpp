// Between the steps of an evenly spaced table.
#pragma once

#include <span>

namespace sw {

/// Sprague's fifth-order polynomial at `position` steps after the first value; position 0..size-1, at least 6 values; passes through the values.
/// Source: CIE 167:2005, 4.1 and the end rule of its table V.
[[nodiscard]] double sprague(std::span<const double> values, double position);

/// Straight lines. Position 0..size-1, at least 2 values.
[[nodiscard]] double linear(std::span<const double> values, double position);

}  // namespace sw
