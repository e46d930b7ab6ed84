// Pieces that the right column of the workbook's page is made of. Inside an ImGui frame only.
#pragma once

#include "viewer/panels.hpp"

namespace sw::window {

void book_heading(const Scene&, const std::string& words);

struct ApproachStep {
    double de00 = 0, low = 0, high = 0;  // CIEDE2000 with its 95 % range
};
/// Oldest left: the way towards the target can be seen. Fewer than two: nothing.
void approach_plot(const Scene&, const std::vector<ApproachStep>&);

}  // namespace sw::window
