// A small picture of a file, quickly: to find a photo by its looks. Colors as stored, no profile is applied: not for measuring.
#pragma once

#include <cstdint>
#include <stop_token>
#include <string>
#include <vector>

#include "color/result.hpp"

namespace sw {

struct Preview {
    int width = 0, height = 0;
    std::vector<std::uint8_t> rgb;  // row by row from the top left, 8 bits
};

/// Upright, longer side at most `longest` (8..1000). JPEG is decoded at an eighth where that is enough (ITU-T T.81: the first coefficients of a
/// block), all else in full. Untrusted files. Errors: as load_photo. Test: tests/photo/preview_test.cpp
[[nodiscard]] Result<Preview> preview(const std::string& file, int longest, const std::stop_token& stop = {});

}  // namespace sw
