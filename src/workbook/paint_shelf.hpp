// The paints of a workbook as a shelf to mix from, and its pots as what they teach.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "mix/pot.hpp"
#include "workbook/workbook.hpp"

namespace sw {

/// A shelf and where its paints are kept. The white is the first.
struct PaintShelf {
    Shelf shelf;
    std::vector<std::int64_t> ids;      // of each paint of the shelf
    std::vector<double> density;        // g/ml, 0: unknown
    std::vector<std::string> messages;  // what was assumed: the white, paints of which only a pigment is known ...
    [[nodiscard]] int place_of(std::int64_t id) const;  // -1: not on the shelf
};

/// What is believed of the paints before any pot is looked at. The shelf's white is what most tints are let down with, else the lightest masstone;
/// tints let down with another one are left out, and told. only: names of paints to take, with the white; none: all. Errors: bad_usage (no paints; no
/// paint that could be the white), name_unknown (of `only`), light faults of a sample's light.
[[nodiscard]] Result<PaintShelf> paint_shelf(const std::vector<KeptPaint>&, const std::vector<std::string>& only = {});

/// The workbook's pots with numbers of this shelf. Pots with a paint that is not on it are left out.
struct ShelfPots {
    std::vector<Pot> pots;
    std::vector<std::int64_t> ids;
};
/// teaching: only those that teach, and the pot of this id in any case (0: none); its own readings are left out where it does not teach.
[[nodiscard]] Result<ShelfPots> shelf_pots(const PaintShelf&, const std::vector<KeptPot>&, const std::vector<KeptAddition>&,
                                           const std::vector<PotColor>&, std::int64_t with = 0);

}  // namespace sw
