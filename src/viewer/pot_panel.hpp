// A pot in the right column of the workbook's page.
#pragma once

#include "viewer/panels.hpp"

namespace sw::window {

/// The shelf must hold it.
void draw_pot(const Scene&, Outbox&, const KeptPot&);

}  // namespace sw::window
