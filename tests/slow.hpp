// Under the sanitizers everything takes some ten times longer: long tests do fewer trials there.
#pragma once

#include <cstdlib>

namespace sw::test {

#ifdef SW_SLOW_BUILD
inline constexpr bool kSlow = true;
#else
inline constexpr bool kSlow = false;
#endif

/// SW_LONG_TESTS=1 asks for every trial of the workbook's tests: 200 kills, 10 000 flipped bytes, 500 truncations.
inline bool long_form() { return std::getenv("SW_LONG_TESTS") != nullptr; }

}  // namespace sw::test
