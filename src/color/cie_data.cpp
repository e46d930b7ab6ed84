#include "color/cie_data.hpp"

#include <cassert>
#include <charconv>
#include <cmath>

#include "cie_tables.hpp"
#include "color/interpolation.hpp"

namespace sw {
namespace {

/// Cuts what stands before `separator` off the front of `rest`.
std::string_view next(std::string_view& rest, char separator) {
    const std::size_t end = rest.find(separator);
    const std::string_view piece = rest.substr(0, end);
    rest = end == std::string_view::npos ? std::string_view{} : rest.substr(end + 1);
    return piece;
}

}  // namespace

std::vector<CieColumn> cie_columns(std::string_view file) {
    std::string_view text = cie_tables::file(file);
    assert(!text.empty());
    std::vector<CieColumn> columns;
    double previous_nm = 0;
    while (!text.empty()) {
        std::string_view line = next(text, '\n');
        if (line.empty() || line.front() == '#') continue;
        const std::string_view first = next(line, ',');
        const std::optional<double> nm = number(first);
        for (std::size_t k = 0; !line.empty() || (nm && k < columns.size()); ++k) {
            const std::string_view cell = next(line, ',');
            if (!nm) {
                columns.push_back({std::string(cell), {}});
                continue;
            }
            const std::optional<double> value = number(cell);
            if (!value) continue;  // no figure
            SpectrumTable& table = columns[k].table;
            if (table.value.empty()) {
                table.first_nm = *nm;
            } else if (table.value.size() == 1) {
                table.step_nm = *nm - previous_nm;
            }
            table.value.push_back(*value);
        }
        if (nm) previous_nm = *nm;
    }
    return columns;
}

Bands on_grid(const SpectrumTable& table, Between between, Outside outside) {
    Bands bands{};
    const double last = static_cast<double>(table.value.size() - 1);
    for (std::size_t i = 0; i < kBands; ++i) {
        double position = (kFirstNm + static_cast<double>(i) - table.first_nm) / table.step_nm;
        const double nearest = std::round(position);
        if (std::abs(position - nearest) < 1e-9) position = nearest;  // steps such as 10/3 nm
        if (position < 0 || position > last) {
            bands[i] = outside == Outside::zero ? 0 : position < 0 ? table.value.front() : table.value.back();
        } else {
            bands[i] = between == Between::sprague ? sprague(table.value, position) : linear(table.value, position);
        }
    }
    return bands;
}

std::optional<double> number(std::string_view text) {
    double value = 0;
    const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (fault != std::errc{} || end != text.data() + text.size() || !std::isfinite(value)) return {};
    return value;
}

std::string shortest(double value) {
    char buffer[32];
    const auto [end, fault] = std::to_chars(buffer, buffer + sizeof buffer, value);
    assert(fault == std::errc{});
    return {buffer, end};
}

std::string quoted(std::string_view text) {
    constexpr std::size_t kLongest = 40;
    std::string result = "\"";
    for (const char c : text.substr(0, kLongest)) result += static_cast<unsigned char>(c) < 32 || c == 127 ? '?' : c;
    if (text.size() > kLongest) result += "...";
    return result + "\"";
}

}  // namespace sw
