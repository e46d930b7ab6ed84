#include "color/metamerism_index.hpp"

#include "color/difference.hpp"

namespace sw {
namespace {

double corrected(Correction correction, double b_test, double a_reference, double b_reference) {
    if (correction == Correction::additive) return b_test + (a_reference - b_reference);
    // A channel in which b is black has no ratio: it stays as it is.
    return b_reference > 1e-9 ? b_test * (a_reference / b_reference) : b_test;
}

}  // namespace

std::string_view correction_warning(Correction correction) {
    if (correction == Correction::multiplicative) return {};
    return "additive correction carries a difference over as an amount of light, not as a share: it calls pairs metameric that only differ in "
           "lightness when the two lights differ in color, and it can reach below black; read it only where the pair nearly matches under the first "
           "light";
}

PairUnderLight pair_under_light(const Reflectance& a, const Reflectance& b, const Light& reference, const Light& test, Observer observer,
                                Correction correction) {
    const Xyz a_reference = xyz(a, reference, observer), b_reference = xyz(b, reference, observer);
    const Xyz a_test = xyz(a, test, observer), b_test = xyz(b, test, observer), white = xyz(test, observer);
    const Xyz b_corrected{corrected(correction, b_test.X, a_reference.X, b_reference.X),
                          corrected(correction, b_test.Y, a_reference.Y, b_reference.Y),
                          corrected(correction, b_test.Z, a_reference.Z, b_reference.Z)};
    PairUnderLight pair;
    pair.a = lab(a_test, white);
    pair.b = lab(b_test, white);
    const Lab moved = lab(b_corrected, white);
    pair.de00 = difference_2000(pair.a, pair.b);
    pair.index_1976 = difference_1976(pair.a, moved);
    pair.index_2000 = difference_2000(pair.a, moved);
    return pair;
}

}  // namespace sw
