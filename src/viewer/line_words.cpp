#include "viewer/line_words.hpp"

#include <charconv>
#include <cmath>

namespace sw::window {

Error bad_line(std::string cause, std::string remedy, std::string place) {
    return Error{.fault = Fault::bad_usage, .file = {}, .place = std::move(place), .cause = std::move(cause), .remedy = std::move(remedy)};
}

std::string quoted(const std::string& text) {
    std::string result = "\"";
    for (const char c : text) {
        if (c == '\n') {
            result += "\\n";
            continue;
        }
        if (c == '"' || c == '\\') result += '\\';
        result += c;
    }
    return result + '"';
}

namespace {
bool blank(char c) { return c == ' ' || c == '\t' || c == '\r'; }
}  // namespace

Result<std::vector<std::string>> words_of(std::string_view line) {
    std::vector<std::string> words;
    std::size_t i = 0;
    while (true) {
        while (i < line.size() && blank(line[i])) ++i;
        if (i >= line.size()) return words;
        std::string word;
        if (line[i] == '"') {
            ++i;
            bool closed = false;
            while (i < line.size() && !closed) {
                if (line[i] == '"') {
                    closed = true;
                } else if (line[i] == '\\' && i + 1 < line.size()) {
                    ++i;
                    word += line[i] == 'n' ? '\n' : line[i];
                } else {
                    word += line[i];
                }
                ++i;
            }
            if (!closed) return bad_line("the quotation mark is not closed", "end the name with \"", std::string(line));
        } else {
            while (i < line.size() && !blank(line[i])) word += line[i++];
        }
        words.push_back(std::move(word));
    }
}

std::optional<double> number(std::string_view text) {
    double value = 0;
    const auto end = std::from_chars(text.data(), text.data() + text.size(), value);
    if (end.ec != std::errc() || end.ptr != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
    return value;
}

std::optional<std::vector<double>> numbers(std::string_view text, std::size_t count) {
    std::vector<double> values;
    while (true) {
        const std::size_t comma = text.find(',');
        const auto value = number(text.substr(0, comma));
        if (!value) return std::nullopt;
        values.push_back(*value);
        if (comma == std::string_view::npos) break;
        text.remove_prefix(comma + 1);
    }
    if (values.size() != count) return std::nullopt;
    return values;
}

}  // namespace sw::window
