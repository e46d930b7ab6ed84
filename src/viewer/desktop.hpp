// What the desktop has to give that GLFW has no call for: the monitor's profile, what was copied. Each call has a connection of its own to the X
// server (under Wayland: to the one that stands in for it), so that it may run on any thread.
#pragma once

#include <cstdint>
#include <optional>
#include <stop_token>
#include <string>
#include <vector>

namespace sw::window {

/// The profile of the first monitor, as desktops hand it out: property _ICC_PROFILE of the root window ("ICC Profiles in X", freedesktop.org).
/// Empty where there is none.
[[nodiscard]] std::vector<std::uint8_t> desktop_profile();

/// What was copied elsewhere: a picture's bytes, or text (a path, a file: URI).
struct Copied {
    enum class Kind { nothing, picture, text } kind = Kind::nothing;
    std::string bytes;
};
/// Waits up to 3 s for the program that holds it (ICCCM 2.0, section 2: selections, also in pieces); at most 512 MB. Not on the thread that answers
/// the window's own events: it may be the one that is asked.
[[nodiscard]] Copied copied(const std::stop_token& stop = {});

/// The first file that text names: an absolute path, or a file: URI (RFC 8089), percent-encoding undone. Nothing for other text.
[[nodiscard]] std::optional<std::string> path_in(const std::string& text);

}  // namespace sw::window
