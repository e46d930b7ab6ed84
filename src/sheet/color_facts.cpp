#include "sheet/color_facts.hpp"

#include <algorithm>
#include <cmath>

#include "color/adaptation.hpp"
#include "color/munsell_value.hpp"
#include "spectral/mismatch.hpp"
#include "spectral/posterior.hpp"

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
    const LibraryView view = lab_view(light, observer);
    const std::vector<const LibraryView*> views{&view};
    const std::vector<Eigen::Vector3d> at{{color.L, color.a, color.b}};
    const LocalMap map = local_map(neighborhood(views, at), views, at, Eigen::Matrix3d::Identity() * 1e-4, {&reflectance_view()});
    BelievedReflectance believed;
    for (int band = 0; band < kModelBands; ++band) {
        const auto percent = [](double value) { return 100 * std::clamp(value, 0.0, 1.0); };
        const double mean = map.mean(band), reach = 1.96 * std::sqrt(std::max(0.0, map.residual(band, band)));
        believed.mean.push_back(percent(mean));
        believed.low.push_back(percent(mean - reach));
        believed.high.push_back(percent(mean + reach));
    }
    return believed;
}

}  // namespace sw
