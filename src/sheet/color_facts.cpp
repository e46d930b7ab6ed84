#include "sheet/color_facts.hpp"

#include <algorithm>
#include <cmath>

#include "color/adaptation.hpp"
#include "color/munsell_value.hpp"
#include "spectral/mismatch.hpp"
#include "spectral/smooth_surface.hpp"
#include "spectral/surface_posterior.hpp"

namespace sw {

ColorFacts color_facts(const Lab& color, const Light& light, Observer observer) {
    ColorFacts facts;
    facts.lab = color;
    facts.lch = lch(color);
    facts.xyz = xyz(color);
    facts.luv = luv(facts.xyz, color.white);
    facts.xy = xy(facts.xyz);
    facts.lrv = facts.xyz.Y;
    facts.munsell_value = munsell_value(facts.xyz.Y);
    facts.srgb = screen_color(color);
    const EncodedP3 p3 = encode(linear_p3(adapt(facts.xyz, color.white, xyz(LinearP3{1, 1, 1}))));
    constexpr double kSlack = 0.5 / 255;  // half a code of 8 bits is no difference on the screen, as in screen_color
    const auto inside = [&](double value) { return value >= -kSlack && value <= 1 + kSlack; };
    facts.in_p3 = inside(p3.r) && inside(p3.g) && inside(p3.b);
    const auto clipped = [](double value) { return value > 0 ? std::min(value, 1.0) : 0.0; };
    facts.p3 = {clipped(p3.r), clipped(p3.g), clipped(p3.b)};
    facts.surface = can_be_surface(facts.xyz, light, observer);
    return facts;
}

std::optional<BelievedReflectance> believed_reflectance(const Lab& color, const Light& light, Observer observer) {
    const Xyz seen = xyz(color);
    if (!can_be_surface(seen, light, observer)) return std::nullopt;
    const auto surface = surface_posterior(color, kExact, light, observer);
    if (!surface) return std::nullopt;
    const ModelSpectrum sd = surface->sd();
    BelievedReflectance believed;
    believed.unusual = surface->distance > 8;  // its own measure of being unlike any surface known
    for (int band = 0; band < kModelBands; ++band) {
        const auto percent = [](double value) { return 100 * std::clamp(value, 0.0, 1.0); };
        const double mean = surface->mean(band), reach = 1.96 * sd(band);
        believed.mean.push_back(percent(mean));
        believed.low.push_back(percent(mean - reach));
        believed.high.push_back(percent(mean + reach));
    }
    if (const auto smooth = smooth_surface(seen, light, observer)) {
        for (int band = 0; band < kModelBands; ++band) believed.smooth.push_back(100 * (*smooth)(band));
    }
    return believed;
}

}  // namespace sw
