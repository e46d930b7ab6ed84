// What the monitor is sent, so that a color looks on it as sRGB defines it: a table from sRGB codes to the monitor's, out of its ICC profile.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "color/result.hpp"

namespace sw::window {

struct DisplayTable {
    static constexpr int kSide = 33;
    std::string name;  // as the profile calls itself
    std::vector<float>
        rgb;  // 3 * kSide^3, codes 0..1, at (step / 32)^2 of each channel: close where curves are steep; red runs fastest, then green, then blue
};

/// Relative colorimetric, no black point compensation (ICC.1, 6.3.2), through Little CMS. from: a file's name, for messages. Untrusted bytes.
/// Errors: profile_broken for what is no RGB profile that can be shown through.
[[nodiscard]] Result<DisplayTable> display_table(std::span<const std::uint8_t> profile, const std::string& from);
/// The same of a file, at most 32 MB. Error: file_missing too.
[[nodiscard]] Result<DisplayTable> display_table_of(const std::string& file);

/// What the table sends for encoded sRGB 0..1, linear between its steps in the square root: the definition that shaders/display.frag is held against
/// (tests/viewer/shade_test.cpp).
[[nodiscard]] std::array<float, 3> displayed(const DisplayTable&, const std::array<float, 3>& srgb);

/// Profiles that lie where the desktop keeps them (color/icc in XDG_DATA_HOME and XDG_DATA_DIRS, XDG Base Directory Specification), by path.
[[nodiscard]] std::vector<std::string> known_profiles();

}  // namespace sw::window
