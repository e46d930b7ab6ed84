#include "color/munsell_value.hpp"

namespace sw {

double luminance_of_munsell_value(double value) {
    // ASTM D1535-08 on: the quintic of 1943 scaled from magnesium oxide to the perfect diffuser; 100 at value 10.
    return ((((0.00081939 * value - 0.020484) * value + 0.23352) * value - 0.22533) * value + 1.1914) * value;
}

double munsell_value(double luminance) {
    if (luminance <= 0) return 0;
    if (luminance >= 100) return 10;
    if (luminance != luminance) return luminance;
    // The quintic rises all the way: halving 10 forty times leaves 1e-11.
    double low = 0, high = 10;
    for (int i = 0; i < 40; ++i) {
        const double middle = (low + high) / 2;
        (luminance_of_munsell_value(middle) < luminance ? low : high) = middle;
    }
    return (low + high) / 2;
}

}  // namespace sw
