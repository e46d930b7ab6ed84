// A figure inside a sentence. Private to this folder.
#pragma once

#include <array>
#include <cstdio>
#include <string>

namespace sw {

inline std::string figure(double value, int digits) {
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), "%.*f", digits, value);
    return text.data();
}

}  // namespace sw
