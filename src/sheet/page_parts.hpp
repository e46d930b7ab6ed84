// What the pages of a sheet have in common.
#pragma once

#include <string>
#include <vector>

#include "sheet/pen.hpp"
#include "sheet/target_words.hpp"

namespace sw {

inline constexpr double kSheetMargin = 42;  // points

/// `how` in the first of `sizes` (falling) in which the whole text fits the box's width and height, else in the last, shortened. Its width and lines
/// are set.
[[nodiscard]] Writing fitted_writing(Pen&, const std::string& text, Writing how, const PageBox& box, const std::vector<double>& sizes);

/// Small words in the upper corners with a rule below; returns where the page's own content begins.
double draw_page_head(Pen&, const Paper&, const std::string& left, const std::string& right);
/// Small words at the foot, bottom up from the margin; returns the height that is left above them.
double draw_page_foot(Pen&, const Paper&, const std::string& note, const std::string& right);
/// Height of what draw_page_foot draws, its gap included.
[[nodiscard]] double page_foot_height(Pen&, const Paper&, const std::string& note);

/// A patch of the color; where sRGB does not have it, with a corner cut off.
void draw_patch(Pen&, const PageBox&, const TargetWords&);

}  // namespace sw
