#include "viewer/settings.hpp"

#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>

namespace sw::window {

std::filesystem::path settings_path() {
    const char* config = std::getenv("XDG_CONFIG_HOME");
    const char* home = std::getenv("HOME");
    const std::filesystem::path base =
        config != nullptr && *config == '/' ? std::filesystem::path(config) : std::filesystem::path(home != nullptr ? home : ".") / ".config";
    return base / "swatchwright" / "settings.json";
}

Settings load_settings(const std::filesystem::path& path) {
    Settings settings;
    std::ifstream in(path);
    const nlohmann::json json = nlohmann::json::parse(in, nullptr, false);
    if (json.is_object() && json.contains("hint_done") && json["hint_done"].is_boolean()) settings.hint_done = json["hint_done"].get<bool>();
    return settings;
}

bool save_settings(const std::filesystem::path& path, const Settings& settings) {
    std::error_code error;
    std::filesystem::create_directories(path.parent_path(), error);
    const std::filesystem::path draft = path.string() + ".new";
    {
        std::ofstream out(draft);
        out << nlohmann::json{{"version", 1}, {"hint_done", settings.hint_done}}.dump(2) << "\n";
        if (!out.flush()) return false;
    }
    std::filesystem::rename(draft, path, error);
    return !error;
}

}  // namespace sw::window
