// Encoded values must be decoded before they are light.
#include "color/color.hpp"

sw::Xyz use(const sw::EncodedRgb& color) {
#ifdef SW_WRONG
    return sw::xyz(color);
#else
    return sw::xyz(sw::decode(color));
#endif
}
