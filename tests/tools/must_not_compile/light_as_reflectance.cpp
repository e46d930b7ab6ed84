// A light is no surface: its power is not a share of anything.
#include "color/spectrum.hpp"

sw::Xyz use(const sw::Reflectance& surface, const sw::Light& light) {
    const auto& first =
#ifdef SW_WRONG
        light;
    static_cast<void>(surface);
#else
        surface;
#endif
    return sw::xyz(first, light, sw::Observer::degree2);
}
