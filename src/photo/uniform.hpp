// The flat part of a region drawn too generously: a chip without its edge, label or shadow.
#pragma once

#include "photo/photo.hpp"
#include "photo/region.hpp"

namespace sw {

/// The largest upright box inside the region that shows one color: means over cells of the region (up to 96 x 96), cube roots of linear light as
/// measure of likeness (lightness goes so, CIE 15), the region's median as the color, its median absolute deviation as what counts as alike
/// (1.4826 MAD is a normal distribution's sigma), specks passed over. The color must hold more than half of the region.
/// Whole pixels, one cell of margin to what is not alike. Errors: region_outside, region_too_small; bad_usage where no such box of a tenth of the
/// region is found. role is for the message. Test: tests/photo/uniform_test.cpp
[[nodiscard]] Result<Box> uniform_part(const Photo&, const Region&, const std::string& role);

}  // namespace sw
