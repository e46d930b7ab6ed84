// Sheets about targets, for paper: vectors and text, colors as sRGB. Errors: those of draw_pages. Tests: tests/sheet/target_sheets_test.cpp
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "sheet/pen.hpp"
#include "sheet/target_place.hpp"
#include "workbook/workbook.hpp"

namespace sw {

struct Sheet {
    std::vector<DrawnFile> files;     // named by `path`, which is not written
    std::size_t pages = 0, rows = 0;  // rows: of a plan
};

/// One page about one target: a large patch, every figure with its ±, where it comes from (with `place`, the photo), cautions.
[[nodiscard]] Result<Sheet> target_card(const Target&, const Paper&, const std::string& path, const std::optional<TargetPlace>& place = {});

/// All of them in their order, three beside each other, on as many pages as it takes. title: at the head, "Targets of funicular.swb".
[[nodiscard]] Result<Sheet> target_list(const std::vector<Target>&, const std::string& title, const Paper&, const std::string& path);

/// Labels to cut out and stick to swatches and pots, 26 mm high, three beside each other, with cut lines.
[[nodiscard]] Result<Sheet> target_labels(const std::vector<Target>&, const Paper&, const std::string& path);

}  // namespace sw
