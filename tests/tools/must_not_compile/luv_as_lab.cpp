// u* and v* are not a* and b*.
#include "color/difference.hpp"

double use(const sw::Luv& a, const sw::Luv& b) {
#ifdef SW_WRONG
    return sw::difference_2000(a, b);
#else
    return sw::difference_2000(sw::lab(sw::xyz(a), a.white), sw::lab(sw::xyz(b), b.white));
#endif
}
