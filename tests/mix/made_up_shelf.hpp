// A made-up shelf: a white, a black, and colors with edges and bands at random places. Not anybody's paints.
#pragma once

#include <cmath>

#include "mix/paint.hpp"
#include "spectral/random.hpp"

namespace sw {

inline Shelf made_up_shelf(int paints, std::uint64_t seed) {
    Random r(seed);
    Shelf shelf;
    for (int p = 0; p < paints; ++p) {
        Paint paint;
        const double kind = r.uniform(), at = r.uniform(430, 650), width = r.uniform(5, 50), strength = std::pow(10, r.uniform(-0.5, 1.2));
        const double rest = std::pow(10, r.uniform(-2.5, -1)), scatter = std::pow(10, r.uniform(-1.5, 0)), slope = r.uniform(-1.5, 0.5);
        for (int i = 0; i < kModelBands; ++i) {
            const double nm = model_nm(i);
            const double shape = kind < 0.5 ? 1 / (1 + std::exp((nm - at) / (width / 3))) : std::exp(-0.5 * std::pow((nm - at) / (2 * width), 2));
            paint.k[i] = strength * (shape + rest);
            paint.s[i] = scatter * std::pow(nm / 555, slope);
        }
        if (p == 0) {
            for (int i = 0; i < kModelBands; ++i) paint.k[i] = 0.002 + 2 / (1 + std::exp((model_nm(i) - 390) / 6.0));
            paint.s.setOnes();
        } else if (p == 1) {
            paint.k.setConstant(8);
            paint.s.setConstant(0.1);
        }
        paint.name = "made up " + std::to_string(p);
        shelf.paints.push_back(std::move(paint));
    }
    return shelf;
}

}  // namespace sw
