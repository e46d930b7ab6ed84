// Adaptation works on XYZ.
#include "color/adaptation.hpp"

sw::Xyz use(const sw::Lab& color) {
#ifdef SW_WRONG
    return sw::adapt(color, color.white, sw::kWhiteD65);
#else
    return sw::adapt(sw::xyz(color), color.white, sw::kWhiteD65);
#endif
}
