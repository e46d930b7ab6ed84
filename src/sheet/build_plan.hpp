// The plan of a whole build for paper: every part, the color it wears, how far it is. Test: tests/sheet/build_plan_test.cpp
#pragma once

#include <string>
#include <vector>

#include "sheet/target_sheets.hpp"
#include "workbook/workbook.hpp"

namespace sw {

/// Parts in their tree, those of one place by name, each with a patch of its target, figures with their ±, status and note, on as many pages as it
/// takes. of: the parts to show, with all that stands in them; empty: every part. Parts whose parent is not there stand at the outside. Errors: those
/// of draw_pages.
[[nodiscard]] Result<Sheet> build_plan(const std::vector<Part>& parts, const std::vector<Target>& targets, const std::vector<std::int64_t>& of,
                                       const std::string& title, const Paper&, const std::string& path);

/// "missing", "in work" ...: what a status is called on a sheet.
[[nodiscard]] std::string status_words(PartStatus);

}  // namespace sw
