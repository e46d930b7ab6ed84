// The light ladder on one page: chip and swatch edge to edge under every light of a comparison.
#pragma once

#include <string>

#include "sheet/pair_words.hpp"
#include "sheet/screen.hpp"

namespace sw {

inline constexpr std::size_t kMostRungs = 32;  // more do not fit a page

/// Draws the page: path ends in .png (1600 x 1131 pixels, tagged with the screen's profile) or .pdf (A4 landscape, sRGB), in any case of letters.
/// Chip and swatch butt-joined on neutral gray, each pair adapted to its own light's white; beside them light, kind, figure, flag as word and shape,
/// and the range on a scale with the thresholds of the flags. title, answer: what stands at the head. What the screen cannot show is marked on its
/// half. Errors: bad_usage (another ending, more than kMostRungs lights), and those of write_file. What is on disk is whole or as it was. Test:
/// tests/sheet/light_ladder_test.cpp
[[nodiscard]] Result<Done> save_light_ladder(const Comparison& comparison, const CompareOptions& options, const Screen& screen,
                                             const std::string& title, const std::string& answer, const std::string& path);

/// bad_usage unless path ends in .png or .pdf; and for .pdf with a screen's own profile, which a PDF of ours cannot carry.
[[nodiscard]] Result<Done> can_save_light_ladder(const std::string& path, bool own_profile);

}  // namespace sw
