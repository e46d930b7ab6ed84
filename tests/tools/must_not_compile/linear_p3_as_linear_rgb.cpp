// One linear RGB is not the other: they meet in XYZ.
#include "color/color.hpp"

sw::EncodedRgb use(const sw::LinearP3& color) {
#ifdef SW_WRONG
    const sw::LinearRgb linear = color;
#else
    const sw::LinearRgb linear = sw::linear_rgb(sw::xyz(color));
#endif
    return sw::encode(linear);
}
