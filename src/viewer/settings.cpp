#include "viewer/settings.hpp"

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "sheet/file.hpp"

namespace sw::window {

namespace {

/// The folder that the variable names, if it is absolute (XDG: others are to be ignored), else `inside` the home.
std::filesystem::path xdg_folder(const char* variable, const char* inside) {
    const char* value = std::getenv(variable);
    const char* home = std::getenv("HOME");
    const std::filesystem::path base =
        value != nullptr && *value == '/' ? std::filesystem::path(value) : std::filesystem::path(home != nullptr ? home : ".") / inside;
    return base / "swatchwright";
}

}  // namespace

std::filesystem::path settings_path() { return xdg_folder("XDG_CONFIG_HOME", ".config") / "settings.json"; }

std::filesystem::path state_folder() { return xdg_folder("XDG_STATE_HOME", ".local/state"); }

Settings load_settings(const std::filesystem::path& path) {
    Settings settings;
    std::ifstream in(path);
    const nlohmann::json json = nlohmann::json::parse(in, nullptr, false);
    const auto take = [&](const char* name, bool& flag) {
        if (json.is_object() && json.contains(name) && json[name].is_boolean()) flag = json[name].get<bool>();
    };
    take("hint_done", settings.hint_done);
    take("bright", settings.bright);
    if (json.is_object() && json.contains("display") && json["display"].is_string()) settings.display = json["display"].get<std::string>();
    return settings;
}

bool save_settings(const std::filesystem::path& path, const Settings& settings) {
    return save_text(
        path,
        nlohmann::json{{"version", 1}, {"hint_done", settings.hint_done}, {"bright", settings.bright}, {"display", settings.display}}.dump(2) + "\n");
}

bool save_text(const std::filesystem::path& path, const std::string& text) {
    std::error_code error;
    std::filesystem::create_directories(path.parent_path(), error);
    return static_cast<bool>(write_file(path.string(), text));
}

std::string session_script(const Work& work, const View& view) {
    Work placed = work;
    std::error_code error;
    if (!placed.photo.empty()) placed.photo = std::filesystem::absolute(placed.photo, error).string();
    std::string text = placed.photo.empty() ? "" : to_script(placed);
    const auto line = [&](const ViewCommand& command) { text += to_text(Line{command, false}) + "\n"; };
    for (const std::string& light : Work{}.lights) {
        const bool judged = std::find(work.lights.begin(), work.lights.end(), light) != work.lights.end();
        if (!judged && !placed.photo.empty()) text += to_text(Command(RemoveLight{light})) + "\n";
    }
    line(SetMode{view.mode});
    line(OpenStep{view.open_step});
    line(SetOrder{view.book.order});
    if (view.book.letter) line(Toggle{"letter", true});
    if (view.show_plots) line(Toggle{"plots", true});
    if (view.show_strip) line(Toggle{"strip", true});
    if (view.page == Page::workbook) line(ShowList{view.book.list});
    return text;
}

std::vector<std::string> load_recent(const std::filesystem::path& path) {
    std::vector<std::string> recent;
    const Result<std::string> text = read_whole_file(path.string(), 1U << 20U);
    if (!text) return recent;
    std::istringstream in(*text);
    for (std::string one; recent.size() < kMostRecent && std::getline(in, one);) {
        if (one.starts_with("/")) recent.push_back(one);
    }
    return recent;
}

std::vector<std::string> with_recent(std::vector<std::string> recent, const std::string& photo) {
    std::error_code error;
    const std::string path = std::filesystem::absolute(photo, error).lexically_normal().string();
    if (error || path.find('\n') != std::string::npos) return recent;
    std::erase(recent, path);
    recent.insert(recent.begin(), path);
    if (recent.size() > kMostRecent) recent.resize(kMostRecent);
    return recent;
}

std::vector<Line> load_session(const std::filesystem::path& path) {
    std::vector<Line> lines;
    const Result<std::string> text = read_whole_file(path.string(), 1U << 20U);
    if (!text) return lines;
    std::istringstream in(*text);
    for (std::string one; std::getline(in, one);) {
        const Result<std::optional<Line>> line = parse_line(one);
        if (line && *line) lines.push_back(**line);
    }
    return lines;
}

}  // namespace sw::window
