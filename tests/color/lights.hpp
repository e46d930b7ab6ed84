// Lights by name and evenly spread numbers, for tests.
#pragma once

#include <random>
#include <stdexcept>
#include <string>

#include "color/light.hpp"

namespace sw::test {

inline Light named(const std::string& name) {
    const Result<Light> result = light(name);
    if (!result) throw std::runtime_error(describe(result.error()));
    return *result;
}

/// A reader that finds no file.
inline Result<std::string> no_files(const std::string& path) {
    return Error{Fault::file_missing, path, "", "there is no such file", "check the path"};
}

/// The same on every machine, unlike the standard library's own distribution.
inline double uniform(std::mt19937_64& random, double low, double high) {
    return low + (high - low) * (static_cast<double>(random() >> 11) * 0x1.0p-53);
}

}  // namespace sw::test
