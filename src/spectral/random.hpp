// Random numbers that are the same with every compiler and library: the standard fixes its engines, not its distributions.
#pragma once

#include <cmath>
#include <cstdint>
#include <random>

namespace sw {

class Random {
public:
    explicit Random(std::uint64_t seed) : engine_(seed) {}
    double uniform() { return static_cast<double>(engine_() >> 11U) * 0x1.0p-53; }  // 0 <= u < 1
    double uniform(double low, double high) { return low + (high - low) * uniform(); }
    int below(int count) { return static_cast<int>(uniform() * count); }
    double normal() {  // Box & Muller 1958
        const double u = 1 - uniform();
        return std::sqrt(-2 * std::log(u)) * std::cos(6.283185307179586 * uniform());
    }

private:
    std::mt19937_64 engine_;
};

}  // namespace sw
