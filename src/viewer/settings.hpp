// What the window remembers between starts: $XDG_CONFIG_HOME/swatchwright/settings.json (or ~/.config/...).
#pragma once

#include <filesystem>

namespace sw::window {

struct Settings {
    bool hint_done = false;  // the first-start hint was followed or put away
};

[[nodiscard]] std::filesystem::path settings_path();
/// Defaults where there is no file or it cannot be read: settings are never worth an error.
[[nodiscard]] Settings load_settings(const std::filesystem::path&);
/// False if it could not be written.
bool save_settings(const std::filesystem::path&, const Settings&);

}  // namespace sw::window
