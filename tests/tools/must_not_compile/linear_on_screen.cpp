// What a screen is sent is encoded.
#include <string>

#include "color/color.hpp"

std::string use(const sw::LinearRgb& color) {
#ifdef SW_WRONG
    return sw::hex(color);
#else
    return sw::hex(sw::encode(color));
#endif
}
