// CIE 1960 u, v and CIE 1976 u', v' differ by the factor 3/2 in v.
#include "color/locus.hpp"

sw::OnLocus use(const sw::Xyz& color) {
#ifdef SW_WRONG
    return sw::nearest_on_locus(sw::uv_prime(color));
#else
    return sw::nearest_on_locus(sw::uv_1960(color));
#endif
}
