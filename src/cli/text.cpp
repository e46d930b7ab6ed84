#include "cli/text.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

namespace sw {
namespace {

// Characters, not bytes; all we print are one column wide.
std::size_t columns(std::string_view text) {
    return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

// Length of the well-formed UTF-8 sequence at the start of text, 0 if there is none (Unicode 15, table 3-7).
std::size_t utf8_length(std::string_view text) {
    const auto byte = [&](std::size_t i) { return i < text.size() ? static_cast<unsigned char>(text[i]) : 0U; };
    const auto tail = [&](std::size_t i) { return byte(i) >= 0x80U && byte(i) <= 0xBFU; };
    const unsigned first = byte(0);
    if (first < 0x80U) return 1;
    if (first >= 0xC2U && first <= 0xDFU) return tail(1) ? 2 : 0;
    if (first >= 0xE0U && first <= 0xEFU) {
        const bool second = tail(1) && !(first == 0xE0U && byte(1) < 0xA0U) && !(first == 0xEDU && byte(1) > 0x9FU);
        return second && tail(2) ? 3 : 0;
    }
    if (first >= 0xF0U && first <= 0xF4U) {
        const bool second = tail(1) && !(first == 0xF0U && byte(1) < 0x90U) && !(first == 0xF4U && byte(1) > 0x8FU);
        return second && tail(2) && tail(3) ? 4 : 0;
    }
    return 0;
}

}  // namespace

std::string_view trimmed(std::string_view text) {
    const auto first = text.find_first_not_of(" \t");
    if (first == std::string_view::npos) return {};
    return text.substr(first, text.find_last_not_of(" \t") - first + 1);
}

std::optional<double> parse_number(std::string_view text) {
    text = trimmed(text);
    if (text.size() > 1 && text.front() == '+' && text[1] != '-') text.remove_prefix(1);
    double value = 0;
    const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (problem != std::errc{} || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
    return value;
}

std::optional<std::vector<double>> parse_numbers(std::string_view text) {
    std::vector<double> values;
    while (true) {
        const auto comma = text.find(',');
        const auto value = parse_number(text.substr(0, comma));
        if (!value) return std::nullopt;
        values.push_back(*value);
        if (comma == std::string_view::npos) return values;
        text.remove_prefix(comma + 1);
    }
}

std::string printable(std::string_view text, bool keep_line_ends) {
    std::string clean;
    while (!text.empty()) {
        const std::size_t length = utf8_length(text);
        const auto first = static_cast<unsigned char>(text[0]);
        const bool line_end = keep_line_ends && first == '\n';
        // C0 and DEL; C1 controls are 0xC2 0x80..0x9F
        const bool control =
            (length == 1 && (first < 0x20U || first == 0x7FU)) || (length == 2 && first == 0xC2U && static_cast<unsigned char>(text[1]) < 0xA0U);
        if (length == 0 || (control && !line_end)) {
            clean += '?';
        } else {
            clean += text.substr(0, length);
        }
        text.remove_prefix(std::max<std::size_t>(1, length));
    }
    return clean;
}

std::string counted(std::size_t count, const std::string& what) { return std::to_string(count) + " " + what + (count == 1 ? "" : "s"); }

std::string wrapped(std::string_view raw, std::string_view first, std::size_t width) {
    const std::string clean = printable(raw);
    std::string_view text = clean;
    std::string result(first), line;
    const std::size_t indent = columns(first);
    bool any = false;
    const auto flush = [&] {
        result += (any ? std::string(indent, ' ') : std::string()) + line + "\n";
        any = true;
        line.clear();
    };
    while (!text.empty()) {
        const auto blank = text.find(' ');
        const std::string_view word = text.substr(0, blank);
        if (!word.empty()) {
            if (!line.empty() && indent + columns(line) + 1 + columns(word) > width) flush();
            if (!line.empty()) line += ' ';
            line += word;
        }
        text.remove_prefix(blank == std::string_view::npos ? text.size() : blank + 1);
    }
    flush();
    return result;
}

Table::Table(std::vector<std::string> head, std::vector<std::size_t> left) : rows_{std::move(head)}, left_(std::move(left)) { left_.push_back(0); }

void Table::row(std::vector<std::string> cells) {
    cells.resize(rows_.front().size());
    rows_.push_back(std::move(cells));
}

std::string Table::text() const {
    std::vector<std::size_t> widths(rows_.front().size(), 0);
    for (const auto& row : rows_) {
        for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], columns(row[i]));
    }
    std::string text;
    for (const auto& row : rows_) {
        std::string line = "  ";
        for (std::size_t i = 0; i < row.size(); ++i) {
            const std::string blanks(widths[i] - columns(row[i]), ' ');
            const bool left = std::find(left_.begin(), left_.end(), i) != left_.end();
            line += (i > 0 ? "   " : "") + (left ? row[i] + blanks : blanks + row[i]);
        }
        line.erase(line.find_last_not_of(' ') + 1);
        text += line + "\n";
    }
    return text;
}

}  // namespace sw
