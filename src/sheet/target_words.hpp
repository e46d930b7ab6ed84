// What sheets say of a target, figures ready to be printed.
#pragma once

#include <string>

#include "workbook/workbook.hpp"

namespace sw {

struct TargetWords {
    std::string L, a, b, C, h, lrv;  // each with its ±
    std::string conditions;          // "D50, 2°"
    std::string kind;                // "chip", "published value", "instrument reading", "appearance on screen"
    std::string day;                 // "2031-05-06"
    std::string hex;                 // of the patch
    EncodedRgb patch;
    bool in_gamut = true;  // false: the patch is only the nearest that sRGB has
};
[[nodiscard]] TargetWords target_words(const Target&);

inline constexpr char kPrintNote[] = "A print, or a screen, is not the color: go by the figures and the chip.";

}  // namespace sw
