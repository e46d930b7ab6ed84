// A command run in this process, and the simulated photo that most of these tests ask about.
#pragma once

#include <sstream>
#include <string>
#include <vector>

#include "cli/cli.hpp"

namespace sw::test {

using Words = std::vector<std::string>;

struct Ran {
    int code = -1;
    std::string out, err;
};

inline Ran run_words(const Words& words) {
    std::ostringstream out, err;
    Ran ran;
    ran.code = run_command(words, out, err);
    ran.out = out.str();
    ran.err = err.str();
    return ran;
}

/// Simulated photo with known truth; boxes from its truth.json, LRV of the gray card.
inline const std::string kPhotos = SW_TESTS "/photos/";
inline const std::string kBench = kPhotos + "case-02/photo.jpg";
inline const std::string kCardBox = "840,97,219,162", kCard = kCardBox + "=18.33", kChip = "179,138,173,183", kSwatch = "405,130,175,185";

}  // namespace sw::test
