// Theme: neutral grays only, fonts, sizes. Nothing colored stands near colors that are being judged (ISO 3664, ASTM D1729).
#pragma once

#include <string>

struct ImFont;

namespace sw::window {

struct Look {
    float scale = 1;
    ImFont* base = nullptr;    // 17 px
    ImFont* medium = nullptr;  // 24 px
    ImFont* large = nullptr;   // 52 px, figures only
    [[nodiscard]] float px(float at_scale_1) const { return at_scale_1 * scale; }
};

/// How bright the panels are: dark for a dim bench, light for daylight. What lies around judged colors is the same in both.
enum class Theme { dark, light };

/// The theme's grays, by what they are for. Every pairing of text and ground that is used has a contrast of at least 7:1 in both themes
/// (tests/viewer/look_test.cpp).
enum class Gray { ground, raised, field, button, hovered, active, line, text, quiet, chosen, chosen_text };
/// Encoded, 0..255.
[[nodiscard]] int code(Theme, Gray);

/// Grays that are the same in every theme, encoded.
namespace gray {
inline constexpr int surround = 0xA0, surround_text = 0x00;  // Munsell N6.5 around the patches
inline constexpr int picture_ground = 0x7A;                  // Munsell N5 around the picture
}  // namespace gray

/// The gray as ImGui packs it.
[[nodiscard]] unsigned tone(int gray, int alpha = 255);
/// Of the theme that the current context was dressed in.
[[nodiscard]] unsigned tone(Gray, int alpha = 255);

/// Loads DejaVu Sans, found by fontconfig (any sans serif if it is missing), into the current context's atlas, and sets the style.
/// letter_gap: extra px at scale 1 behind each letter, to try how longer words would fit.
[[nodiscard]] Look make_look(float scale, float letter_gap = 0);
/// Sets the current context's style: sizes and the theme's grays.
void dress(float scale, Theme);

}  // namespace sw::window
