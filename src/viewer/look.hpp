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

/// Grays of the theme, encoded 0..255. Every pairing of text and ground that is used has a contrast of at least 7:1 (tests/viewer/look_test.cpp).
namespace gray {
inline constexpr int ground = 0x24, raised = 0x2E, field = 0x18, button = 0x3A, hovered = 0x46, active = 0x4C, line = 0x70;
inline constexpr int text = 0xF0, quiet = 0xC4;
inline constexpr int chosen = 0xDC, chosen_text = 0x10;      // selected tool, current step
inline constexpr int surround = 0xA0, surround_text = 0x00;  // Munsell N6.5 around the patches
inline constexpr int picture_ground = 0x7A;                  // Munsell N5 around the picture
}  // namespace gray

/// The gray as ImGui packs it.
[[nodiscard]] unsigned tone(int gray, int alpha = 255);

/// Loads DejaVu Sans, found by fontconfig (any sans serif if it is missing), into the current context's atlas, and sets the style.
[[nodiscard]] Look make_look(float scale);

}  // namespace sw::window
