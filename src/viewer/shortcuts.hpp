// Every command by keyboard. The table is also what the help shows.
#pragma once

#include "viewer/desk.hpp"

namespace sw::window {

struct Shortcut {
    std::string chord;  // "ctrl+shift+z": modifiers in the order ctrl, alt, shift
    std::string keys;   // as shown: "Ctrl+Shift+Z"
    std::string words;  // what it does
    std::string group;
    std::function<void(Desk&)> act;
};
[[nodiscard]] const std::vector<Shortcut>& shortcuts();

/// Those that are shown and hold all of the words, in any case of letters; in the table's order.
[[nodiscard]] std::vector<const Shortcut*> shortcuts_with(const std::string& words);

/// Does what a chord stands for; false if it stands for nothing. While text is edited only chords that cannot be text are taken.
bool press(Desk&, const std::string& chord, bool editing_text);
/// Arrow keys let go: what was nudged becomes one command.
void release_arrows(Desk&);
/// Text names a known chord (also arrows and such that are not in the table).
[[nodiscard]] bool chord_known(const std::string& chord);

}  // namespace sw::window
