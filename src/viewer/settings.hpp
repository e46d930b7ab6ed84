// What the window remembers between starts: settings in $XDG_CONFIG_HOME/swatchwright/settings.json (or ~/.config/...), and the session.
#pragma once

#include <filesystem>

#include "viewer/script.hpp"

namespace sw::window {

struct Settings {
    bool hint_done = false;  // the first-start hint was followed or put away
    bool bright = false;     // light panels
    std::string display = "desktop";
    friend bool operator==(const Settings&, const Settings&) = default;
};

[[nodiscard]] std::filesystem::path settings_path();
/// Defaults where there is no file or it cannot be read: settings are never worth an error.
[[nodiscard]] Settings load_settings(const std::filesystem::path&);
/// False if it could not be written.
bool save_settings(const std::filesystem::path&, const Settings&);

/// Where the window keeps what is not worth asking about: $XDG_STATE_HOME/swatchwright (or ~/.local/state/...).
[[nodiscard]] std::filesystem::path state_folder();

/// The script that puts work and view back as they are: paths absolute, so that it does so from any folder.
[[nodiscard]] std::string session_script(const Work&, const View&);
/// Its lines; what cannot be read is left out: a session is never worth an error. Empty where there is none.
[[nodiscard]] std::vector<Line> load_session(const std::filesystem::path&);
/// Photos that were opened, the last one first: lines of absolute paths. Empty where there are none.
inline constexpr std::size_t kMostRecent = 12;
[[nodiscard]] std::vector<std::string> load_recent(const std::filesystem::path&);
/// With this one in front.
[[nodiscard]] std::vector<std::string> with_recent(std::vector<std::string> recent, const std::string& photo);
/// Whole or not at all. False if it could not be written.
bool save_text(const std::filesystem::path&, const std::string& text);

}  // namespace sw::window
