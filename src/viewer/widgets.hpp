// Small pieces that the panels share. Inside an ImGui frame only.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "viewer/look.hpp"
#include "viewer/state.hpp"

namespace sw::window {

/// How a text field was left in this frame.
struct Edited {
    bool entered = false;  // by Enter
    bool left = false;     // by Enter, Tab, click elsewhere, after a change
};
/// One-line text field of the given width (0: what is left); `hint` shows while it is empty. Takes the keyboard if `focus` names it.
Edited text_field(const char* id, std::string& text, const char* hint, float width, View& view);
/// Button, at least 32 px high at scale 1; chosen: inverted. width 0: as wide as its text; without its key (behind two blanks) or cut where there is
/// no room for that.
bool button(const Look&, const std::string& label, bool chosen = false, float width = 0, bool enabled = true);
/// Width that `button` takes for the label, of which what stands behind ## is not shown.
float button_width(const std::string& label);
/// A text field and its button behind it on the rest of the line; true when the button is pressed, or Enter in the field.
bool field_with_button(const Look&, const char* id, std::string& text, const char* hint, const std::string& label, View& view, bool enabled = true);
/// Words before a field, cut where there is no room; on a line with it.
void label(const std::string&);
/// Stays on the line if `width` more still fits there.
void same_line_if_fits(float width);
/// The text with line breaks so that it fits the width in the current font. Breaks between words only (ImGui would break "0.7" behind the
/// point); a word that is too wide by itself is cut where it must be.
[[nodiscard]] std::string wrapped(const std::string&, float width);
/// The text, or as much of its beginning as fits with dots behind it.
[[nodiscard]] std::string fitting(const std::string&, float width);
/// Wrapped to what is left of the line.
void text(const std::string&);
void quiet(const std::string&);
/// Opens a list of texts under the last item when its button, "…" or the label, is pressed; gives the one that was chosen.
std::optional<std::string> choice_button(const Look&, const char* id, const std::vector<std::string>& choices, const std::string& note,
                                         const std::string& label = {});
/// Begins a fixed panel that covers the rectangle; end with ImGui::End().
void begin_panel(const char* name, const Rect&, int extra_flags = 0, Gray ground = Gray::ground);
/// Wrapped text at a place of the draw list; returns its height.
float draw_wrapped(ImFont*, float x, float y, float width, unsigned color, const std::string&);
/// Height of wrapped text in the current font.
[[nodiscard]] float wrapped_height(const std::string&, float width);
/// The color as the screen shows it; in_gamut becomes false where that is only the nearest it has.
[[nodiscard]] unsigned screen_tone(const Lab&, bool& in_gamut);
/// Text at a place of the draw list with a dark halo, readable over any picture.
void haloed_text(const Look&, float x, float y, const std::string&);

}  // namespace sw::window
