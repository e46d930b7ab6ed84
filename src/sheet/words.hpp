// A light and a color in plain words. Every threshold here is our own judgment, with the standard it leans on where there is one.
#pragma once

#include <string>

#include "color/light.hpp"

namespace sw {

/// "Cool white, a bit greenish. Colors look fairly right under it (Ra 80); reds look dull (R9 12)."
///   Tint by CCT: orange below 2000 K, warm white below 3300, neutral white up to 5300, cool white above (3300 and 5300 as in EN 12464-1, from
///   memory), bluish white above 8000.
///   Side by Duv: "a bit greenish" or "a bit pinkish" beyond 0.006 (the width of the quadrangles of ANSI C78.377, from memory), without "a bit" from
///   0.012 on.
///   Colors by Ra: "right" from 90, "fairly right" from 80, "wrong" below 60, "not quite right" between. Reds by R9: nothing said from 50 on, "dull"
///   below, "very dull" below 0; where Rg is above 102, "off" and "far off", as such a light strengthens colors. Nothing of this below 2000 K.
///   sd: of the same figures, shown after ±; 0 where known. "perhaps" is put before what lies within 1.64 of it from its threshold (less than 95 %
///   sure).
/// A light whose CCT means nothing: "Not a white light: its CCT means nothing."
[[nodiscard]] std::string light_words(const LightQuality& quality, const LightQuality& sd = {});

/// "Dark, muted orange (brown)": lightness by L* (very dark below 20, dark, medium 40 to 60, light, very light from 80), strength by C* (grayish
/// below 12, muted, clear from 35, vivid from 60), hue by the CIELAB hue angle, light reds being pink; gray below C* 4, black and white at the ends.
[[nodiscard]] std::string color_words(const Lab& color);

}  // namespace sw
