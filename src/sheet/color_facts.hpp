// One color in every notation, and what can show it.
#pragma once

#include <optional>

#include "color/light.hpp"
#include "sheet/pages.hpp"

namespace sw {

/// All relative to the white of one light and observer, but the screens: those are adapted to D65 by Bradford and clipped to 0..1.
struct ColorFacts {
    Lab lab;
    Lch lch;
    Luv luv;
    Xyz xyz;
    Xy xy;
    double lrv = 0;            // Y
    double munsell_value = 0;  // of a gray of this Y
    ScreenColor srgb;
    EncodedP3 p3;
    bool in_p3 = true;
    bool surface = true;  // within what surfaces can have under the light
};
/// color: relative to the white of light and observer. Conversions only: exact to rounding.
[[nodiscard]] ColorFacts color_facts(const Lab& color, const Light& light, Observer observer);

/// What the reflectance of a surface of this color may be, from what surfaces are like (spectral/): mean and 95 % range in percent at each of the 71
/// wavelengths, and the smoothest one. nullopt where no surface can have the color, and for black.
[[nodiscard]] std::optional<BelievedReflectance> believed_reflectance(const Lab& color, const Light& light, Observer observer);

}  // namespace sw
