// Words from files, made fit for messages.
#pragma once

#include <algorithm>
#include <string>
#include <string_view>

namespace sw {

/// Untrusted text for a message or a record: printable ASCII only (others become '?'), ends trimmed, cut after `longest` characters.
[[nodiscard]] inline std::string printable(std::string_view text, std::size_t longest = 100) {
    const std::size_t nul = text.find('\0');
    if (nul != std::string_view::npos) text = text.substr(0, nul);
    const std::size_t first = text.find_first_not_of(" \t\r\n");
    if (first == std::string_view::npos) return {};
    text = text.substr(first, text.find_last_not_of(" \t\r\n") + 1 - first);
    std::string result(text.substr(0, longest));
    std::replace_if(
        result.begin(), result.end(), [](char c) { return c < ' ' || c > '~'; }, '?');
    return text.size() > longest ? result + "..." : result;
}

}  // namespace sw
