// Says in a PDF which RGB its colors are. Cairo 1.16 writes bare device RGB and has no call for it.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace sw {

/// The PDF with an output intent of sRGB and its profile, as an incremental update at the end (ISO 32000-1, 7.5.6 and 14.11.5). Takes what Cairo 1.16
/// writes: one table of cross-references, one catalog. Nothing where it is anything else. Test: tests/sheet/target_sheets_test.cpp
[[nodiscard]] std::optional<std::string> with_output_intent(std::string pdf, const std::vector<std::uint8_t>& icc);

}  // namespace sw
