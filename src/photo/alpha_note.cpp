// By itself: the module with the picture formats needs it too.
#include "photo/decoder.hpp"

namespace sw {

void note_alpha(std::size_t transparent, std::size_t pixels, std::vector<std::string>& notes) {
    notes.emplace_back("the picture's transparency was ignored: colors are read as if opaque");
    if (transparent == 0 || pixels == 0) return;
    const auto percent = static_cast<int>(100.0 * static_cast<double>(transparent) / static_cast<double>(pixels) + 0.5);
    notes.push_back((percent == 0 ? "less than 1" : std::to_string(percent)) +
                    " % of the picture is wholly transparent: there is nothing to be measured there");
}

}  // namespace sw
