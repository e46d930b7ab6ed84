// The sheet of one pot: a recipe that others can mix again. Tests: tests/sheet/pot_card_test.cpp
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "sheet/target_sheets.hpp"
#include "workbook/mix_desk.hpp"

namespace sw {

/// What goes on it.
struct PotSheet {
    struct Line {
        std::string paint;
        double drops = 0, drop_ml = 0, drop_cv = 0, ml = 0, parts = 0;  // parts of 100
    };
    struct UnderLight {
        std::string light;
        bool inferred = false;
        ExpectedDifference expected;
    };
    KeptPot pot;
    std::string to_become;      // "Damson 14"; empty: not said
    std::optional<Lab> target;  // for its patch
    std::vector<Line> lines;    // largest first
    double ml = 0;
    std::vector<KeptAddition> additions;  // in order
    std::vector<KeptPotReading> readings;
    std::vector<UnderLight> lights;
    bool unknown = false;   // something that nobody counted is in it besides
    std::string no_lights;  // why there are none
    std::string unlike;     // binders that are; empty: none
};
/// Error name_unknown: nothing that is known is in the pot.
[[nodiscard]] Result<PotSheet> pot_sheet(const MixBook&, const KeptPot&);
/// One page. Errors: those of draw_pages.
[[nodiscard]] Result<Sheet> pot_card(const PotSheet&, const MixBook&, const Paper&, const std::string& path);

}  // namespace sw
