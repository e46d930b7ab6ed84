// Numbers over wavelengths are not a light until they are said to be one.
#include "color/spectrum.hpp"

sw::Xyz use(const sw::Bands& bands) {
#ifdef SW_WRONG
    return sw::xyz(bands, sw::Observer::degree2);
#else
    return sw::xyz(sw::Light{"measured", bands}, sw::Observer::degree2);
#endif
}
