#include "viewer/folder.hpp"

#include <algorithm>
#include <array>
#include <string_view>

namespace sw::window {
namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// Runs of digits by their value, all else by its bytes.
bool natural_less(std::string_view a, std::string_view b) {
    std::size_t i = 0, k = 0;
    while (i < a.size() && k < b.size()) {
        if (is_digit(a[i]) && is_digit(b[k])) {
            const auto run = [](std::string_view text, std::size_t& at) {
                while (at < text.size() && text[at] == '0') ++at;
                const std::size_t start = at;
                while (at < text.size() && is_digit(text[at])) ++at;
                return text.substr(start, at - start);
            };
            const std::string_view x = run(a, i), y = run(b, k);
            if (x.size() != y.size()) return x.size() < y.size();
            if (x != y) return x < y;
            continue;
        }
        if (a[i] != b[k]) return a[i] < b[k];
        ++i;
        ++k;
    }
    if (a.size() - i != b.size() - k) return a.size() - i < b.size() - k;
    return a < b;
}

bool named_as_picture(const std::filesystem::path& path) {
    std::string ending = path.extension().string();
    for (char& c : ending) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    static constexpr std::array<std::string_view, 19> endings{".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif", ".avif", ".exr",
                                                              ".dng", ".cr2",  ".cr3", ".nef", ".arw",  ".raf",  ".orf",  ".rw2",  ".pef"};
    return std::find(endings.begin(), endings.end(), ending) != endings.end();
}

}  // namespace

std::vector<std::string> pictures_in(const std::filesystem::path& folder) {
    std::vector<std::string> names;
    std::error_code error;
    for (std::filesystem::directory_iterator entry(folder.empty() ? "." : folder, error), end; !error && entry != end; entry.increment(error)) {
        std::error_code ignored;
        if (named_as_picture(entry->path()) && entry->is_regular_file(ignored)) names.push_back(entry->path().filename().string());
    }
    std::sort(names.begin(), names.end(), natural_less);
    if (names.size() > kMostPictures) names.resize(kMostPictures);
    std::vector<std::string> paths;
    paths.reserve(names.size());
    for (const std::string& name : names) paths.push_back((folder / name).string());
    return paths;
}

std::string picture_beside(const std::string& path, int steps) {
    const std::vector<std::string> all = pictures_in(std::filesystem::path(path).parent_path());
    const auto here = std::find(all.begin(), all.end(), path);
    const std::ptrdiff_t at = here - all.begin() + steps;
    if (here == all.end() || at < 0 || at >= static_cast<std::ptrdiff_t>(all.size())) return {};
    return all[static_cast<std::size_t>(at)];
}

}  // namespace sw::window
