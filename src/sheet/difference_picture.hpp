// A difference map on one page, and in words.
#pragma once

#include <string>
#include <vector>

#include "match/difference_map.hpp"

namespace sw {

/// "71 % (52 to 88 %)"
[[nodiscard]] std::string share_with_range(const MapFigure& share);
/// What the map comes to, a sentence each: how much is within, even or blotchy and where, gloss, grain. target: "the chip", "Damson 14".
[[nodiscard]] std::vector<std::string> map_words(const DifferenceMap& map, const std::string& target);

/// Lightness of one hue from light (0) to dark (1), even in L*: read the same by every kind of color vision, and in print.
[[nodiscard]] Lab map_ramp(double share);

/// Draws the page: path ends in .png (1600 x 1131 pixels) or .pdf (A4 landscape), in any case of letters. Left the map (dark: far from the target;
/// contour and hatching where it is beyond the tolerance; rings: gloss), right the same place as corrected, the scale with how much of the part lies
/// where; below the words.
/// Errors: bad_usage (another ending), and those of write_file. What is on disk is whole or as it was.
/// Test: tests/sheet/difference_picture_test.cpp
[[nodiscard]] Result<Done> save_difference_picture(const Photo&, const Calibration&, const DifferenceMap&, const std::string& title,
                                                   const std::vector<std::string>& words, const std::string& path);
[[nodiscard]] Result<Done> can_save_difference_picture(const std::string& path);

}  // namespace sw
