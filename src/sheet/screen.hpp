// Colors for one screen: through its own ICC profile, or through sRGB where it has none.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "color/color.hpp"
#include "color/result.hpp"

namespace sw {

/// By Little CMS, colorimetric relative to the screen's white: a light's white becomes it, by Bradford, as the eye adapts to a light. A value; may be
/// shared by threads. Test: tests/sheet/light_ladder_test.cpp
class Screen {
public:
    /// sRGB (IEC 61966-2-1).
    Screen();
    /// icc: the bytes of a profile of a screen that shows RGB; untrusted. Error: profile_broken.
    [[nodiscard]] static Result<Screen> of_profile(std::string_view icc);

    struct Shown {
        EncodedRgb rgb;        // 0..1
        bool in_gamut = true;  // false: the nearest that the screen has is more than kBeyond away
    };
    /// A surface's color, relative to its light's white.
    [[nodiscard]] Shown show(const Lab& color) const;

    [[nodiscard]] const std::string& name() const;                   // "sRGB", or what the profile calls itself; printable
    [[nodiscard]] const std::vector<std::uint8_t>& profile() const;  // ICC, to go with a picture

    static constexpr double kBeyond = 0.5;  // CIEDE2000; half of what can just be seen side by side

private:
    struct Transforms;
    explicit Screen(std::shared_ptr<const Transforms> transforms) : transforms_(std::move(transforms)) {}
    std::shared_ptr<const Transforms> transforms_;
};

}  // namespace sw
