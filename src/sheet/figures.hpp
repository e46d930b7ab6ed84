// Figures as text for people, the same on every page, in the window and on the command line. The decimal sign is always a point.
#pragma once

#include <string>
#include <vector>

namespace sw {

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

}  // namespace sw
