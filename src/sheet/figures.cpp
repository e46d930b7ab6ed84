#include "sheet/figures.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

namespace sw {

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

}  // namespace sw
