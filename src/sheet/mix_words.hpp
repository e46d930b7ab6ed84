// What pots and what went into them are called, the same on every page, in the window and on the command line.
#pragma once

#include <string>

#include "workbook/paint_shelf.hpp"

namespace sw {

/// "3 drops", "1 drop", "2.5 drops"; what cannot be counted to a drop has a decimal.
[[nodiscard]] std::string drops_words(double drops);
/// "2 drops of Titanium White", "believed: 4.9 ± 0.6 drops of Ultramarine", "something that nobody counted".
[[nodiscard]] std::string addition_words(const KeptAddition&, const MixBook&);
/// "wet, under a gloss clear coat, not hiding, set aside"; empty: dry and plain.
[[nodiscard]] std::string laid_words(const KeptPotReading&);
/// "0.4 (0.0 to 0.9): within 1.5"; "not judged".
[[nodiscard]] std::string verdict_words(const KeptPotReading&);
/// "2026-11-28 13:05"
[[nodiscard]] std::string minute_words(const std::string& created);

}  // namespace sw
