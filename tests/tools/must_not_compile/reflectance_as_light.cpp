// A surface has no white point.
#include "color/spectrum.hpp"

sw::Xyz use(const sw::Reflectance& surface, const sw::Light& light) {
    static_cast<void>(surface);
    static_cast<void>(light);
#ifdef SW_WRONG
    return sw::xyz(surface, sw::Observer::degree2);
#else
    return sw::xyz(light, sw::Observer::degree2);
#endif
}
