// Targets as an ICC named-color profile, for other programs' palettes.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "workbook/exchange.hpp"

namespace sw {

struct NamedColors {
    std::vector<std::uint8_t> profile;  // ICC.1:2010 (4.3), class nmcl, PCS Lab; device side sRGB
    std::vector<Renamed> renamed;       // the profile has room for 31 characters of ASCII a name
    std::vector<std::string> clipped;   // names whose a* or b* lies beyond -128..127.99
};
/// Lab under D50, 2 degrees; what is relative to another white is adapted by Bradford. Lab in 16 bits (steps of 0.0015 in L*, 0.0039 in a* and b*).
/// Errors: bad_usage (no targets, more than 65 535), internal.
[[nodiscard]] Result<NamedColors> named_color_profile(const std::vector<Target>&, const std::string& title);

}  // namespace sw
