#include "color/metamerism_index.hpp"

#include "color/difference.hpp"

namespace sw {

PairUnderLight pair_under_light(const Reflectance& a, const Reflectance& b, const Light& reference, const Light& test, Observer observer) {
    const Xyz a_reference = xyz(a, reference, observer), b_reference = xyz(b, reference, observer);
    const Xyz a_test = xyz(a, test, observer), b_test = xyz(b, test, observer), white = xyz(test, observer);
    // A channel in which b is black has no ratio: it stays as it is.
    const auto corrected = [](double value, double of_a, double of_b) { return of_b > 1e-9 ? value * (of_a / of_b) : value; };
    const Xyz b_corrected{corrected(b_test.X, a_reference.X, b_reference.X), corrected(b_test.Y, a_reference.Y, b_reference.Y),
                          corrected(b_test.Z, a_reference.Z, b_reference.Z)};
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
