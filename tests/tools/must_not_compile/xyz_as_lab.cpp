// A difference is taken between Lab, each of which knows its white; XYZ does not.
#include "color/difference.hpp"

double use(const sw::Xyz& a, const sw::Xyz& b) {
#ifdef SW_WRONG
    return sw::difference_2000(a, b);
#else
    return sw::difference_2000(sw::lab(a, sw::kWhiteD50), sw::lab(b, sw::kWhiteD50));
#endif
}
