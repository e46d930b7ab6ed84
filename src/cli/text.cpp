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

std::string fixed(double value, int decimals) {
    if (!std::isfinite(value)) return "unknown";
    if (std::abs(value) > 1e15) return value < 0 ? "below -1e15" : "above 1e15";  // nothing we measure; keeps the buffer small
    char buffer[64];
    const auto end = std::to_chars(buffer, buffer + sizeof buffer, value, std::chars_format::fixed, decimals).ptr;
    std::string text(buffer, end);
    if (text.front() == '-' && text.find_first_of("123456789") == std::string::npos) text.erase(0, 1);
    return text;
}

std::string brief(double value) {
    std::string text = fixed(value, 4);
    if (text.find('.') == std::string::npos) return text;
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
    return text;
}

int decimals_beside(double sd) { return !std::isfinite(sd) ? 1 : sd < 0.05 ? 2 : sd < 10 ? 1 : 0; }

std::string measured(double value, double sd) {
    if (!std::isfinite(value)) return "unknown";
    if (!std::isfinite(sd) || sd < 0) return fixed(value, 1) + " ± unknown";
    const int decimals = decimals_beside(sd);
    return fixed(value, decimals) + " ± " + (sd < 0.005 ? "<0.01" : fixed(sd, decimals));
}

std::string spread(double value, double sd, int most) {
    if (!std::isfinite(value)) return "unknown";
    if (!std::isfinite(sd)) return fixed(value, most) + " ± unknown";
    if (sd == 0) return fixed(value, most);
    const double least = std::pow(10.0, -most);
    if (sd < 0.5 * least) return fixed(value, most) + " ± <" + fixed(least, most);
    const double power = std::floor(std::log10(sd));
    const int digits = sd / std::pow(10.0, power) < 2.95 ? 2 : 1;  // 1.4 and 26, but 4 and 70
    const int decimals = std::min(most, digits - 1 - static_cast<int>(power));
    if (decimals >= 0) return fixed(value, decimals) + " ± " + fixed(sd, decimals);
    const double step = std::pow(10.0, -decimals);
    return fixed(std::round(value / step) * step, 0) + " ± " + fixed(std::round(sd / step) * step, 0);
}

std::string range(double low, double high) {
    if (!std::isfinite(low) || !std::isfinite(high)) return "unknown";
    const int decimals = decimals_beside((high - low) / 4);  // a 95 % range is about four standard deviations wide
    return fixed(low, decimals) + " to " + fixed(high, decimals);
}

std::string percent(double share) {
    if (!std::isfinite(share)) return "unknown";
    if (share < 0.01) return "under 1 %";
    if (share > 0.99) return "over 99 %";
    return fixed(100 * share, 0) + " %";
}

std::string listed(const std::vector<std::string>& items) {
    std::string text;
    for (std::size_t i = 0; i < items.size(); ++i) text += (i == 0 ? "" : i + 1 == items.size() ? " and " : ", ") + items[i];
    return text;
}

std::string capitalized(std::string text) {
    if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
    return text;
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
