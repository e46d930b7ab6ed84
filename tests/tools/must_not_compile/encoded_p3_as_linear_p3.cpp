// Encoded values must be decoded before they are light, those of Display P3 too.
#include "color/color.hpp"

sw::Xyz use(const sw::EncodedP3& color) {
#ifdef SW_WRONG
    return sw::xyz(color);
#else
    return sw::xyz(sw::decode(color));
#endif
}
