#include "match/coat.hpp"

#include <cmath>

#include "color/difference.hpp"
#include "match/component_sd.hpp"
#include "match/difference_map.hpp"

namespace sw {
namespace {

/// What a coat usually does: a gloss one takes the haze of scattered light off the surface, so that colors get darker and more chromatic; a matt one
/// puts it on. Common practice, no source.
std::vector<std::string> meaning(const CoatChange& c) {
    std::vector<std::string> means;
    if (!c.distinct) return {"Nothing that these photos could show: judge again where the light is stronger, or compare side by side."};
    const double sure = 2;
    const bool darker = c.dL<-sure * c.dL_sd, lighter = c.dL> sure * c.dL_sd, cleaner = c.dC > sure * c.dC_sd, duller = c.dC < -sure * c.dC_sd;
    if ((darker && !duller) || (cleaner && !lighter))
        means.emplace_back("Darker, and mostly cleaner as well, is what a gloss coat does: less white light is scattered at the surface.");
    else if ((lighter && !cleaner) || (duller && !darker))
        means.emplace_back("Lighter, and mostly duller as well, is what a matt coat does, and also dust, bloom and a coat sprayed too dry.");
    else
        means.emplace_back(
            "That is not the usual shift of a clear coat: look for a glare on it, for paint that it dissolved, or for light that changed.");
    const Lch before = lch(c.before), after = lch(c.after);
    if (after.C > 4 && before.C > 4 && std::abs(c.dH) > sure * c.dH_sd && c.after.b > c.before.b + 0.5)
        means.emplace_back("It also went yellower: some coats are yellow, and yellow further with age.");
    return means;
}

CoatChange change(const Lab& before, const Lab& after, const Eigen::Matrix3d& s) {
    const Eigen::Vector3d a = vector_of(before), b = vector_of(after);
    const Lab middle = lab_of((a + b) / 2, before.white);
    const DifferenceDistribution known(middle, b - a, s);
    CoatChange c;
    c.before = before;
    c.after = after;
    c.de00 = known.median();
    c.ci95 = known.ci95();
    c.distinct = known.distinct();
    const Components steps = components(before, after);
    c.dL = steps.dL;
    c.dC = steps.dC;
    c.dH = steps.dH;
    const auto sd = component_sd(middle, s);
    c.dL_sd = sd[0];
    c.dC_sd = sd[1];
    c.dH_sd = sd[2];
    c.words = c.distinct ? difference_words(before, after) : "no difference that these photos could show";
    c.means = meaning(c);
    return c;
}

}  // namespace

CoatChange coat_change(const Comparison& both) {
    const MapAnchor anchor = map_anchor(both);
    CoatChange c = change(anchor.target, anchor.part, anchor.covariance);
    const Difference& d = both.difference;  // figures and words as compare has them
    c.de00 = d.de00;
    c.ci95 = d.ci95;
    c.words = d.words;
    return c;
}

CoatChange coat_change(const Comparison& before, const Comparison& after) {
    const MapAnchor one = map_anchor(before), two = map_anchor(after);
    const Eigen::Vector3d step = (vector_of(two.part) - vector_of(two.target)) - (vector_of(one.part) - vector_of(one.target));
    return change(one.part, lab_of(vector_of(one.part) + step, one.part.white), one.covariance + two.covariance);
}

CoatChange coat_change(const Reading& before, const Reading& after) {
    return change(before.lab, after.lab, before.lab_covariance + after.lab_covariance);
}

}  // namespace sw
