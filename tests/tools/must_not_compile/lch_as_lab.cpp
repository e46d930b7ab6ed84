// Chroma and hue are not a* and b*; and polar Lab has to be told its white.
#include "color/difference.hpp"

double use(const sw::Lch& a, const sw::Lch& b) {
#ifdef SW_WRONG
    return sw::difference_1976(a, b);
#else
    return sw::difference_1976(sw::lab(a, sw::kWhiteD65), sw::lab(b, sw::kWhiteD65));
#endif
}
