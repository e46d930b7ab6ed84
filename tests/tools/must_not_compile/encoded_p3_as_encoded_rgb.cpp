// Display P3 looks like sRGB and means another color.
#include <string>

#include "color/color.hpp"

std::string use(const sw::EncodedP3& color) {
#ifdef SW_WRONG
    return sw::hex(color);
#else
    return sw::hex(sw::encode(sw::linear_rgb(sw::xyz(sw::decode(color)))));
#endif
}
