// Under the sanitizers everything takes some ten times longer: long tests do fewer trials there.
#pragma once

namespace sw::test {

#ifdef SW_SLOW_BUILD
inline constexpr bool kSlow = true;
#else
inline constexpr bool kSlow = false;
#endif

}  // namespace sw::test
