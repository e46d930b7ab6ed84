#include "color/spectrum.hpp"

#include <algorithm>
#include <cmath>

#include "color/cie_data.hpp"

namespace sw {
namespace {

constexpr double kMinStep = 1, kMaxStep = 20;
// What hand-held instruments cover; visible color is nearly all inside.
constexpr double kMustReachDown = 400, kMustReachUp = 700;
constexpr std::size_t kMaxRows = 5000;

std::string_view trimmed_cell(std::string_view text) {
    constexpr std::string_view blanks = " \t\r\v\f";
    const std::size_t first = text.find_first_not_of(blanks);
    if (first == std::string_view::npos) return {};
    return text.substr(first, text.find_last_not_of(blanks) - first + 1);
}

std::string_view unquoted(std::string_view cell) {
    return cell.size() >= 2 && cell.front() == '"' && cell.back() == '"' ? cell.substr(1, cell.size() - 2) : cell;
}

Error malformed(const std::string& file, std::string place, std::string cause, std::string remedy) {
    return {Fault::table_malformed, file, std::move(place), std::move(cause), std::move(remedy)};
}

Error malformed(const std::string& file, std::size_t line, std::string cause, std::string remedy) {
    return malformed(file, "line " + std::to_string(line), std::move(cause), std::move(remedy));
}

constexpr const char* kFormat = "give two columns, wavelength in nm and value, in even steps of 1 to 20 nm over at least 400 to 700 nm";

/// Cells of a line: by tab, else semicolon, else comma; empty cells at the end dropped.
std::vector<std::string_view> cells_of(std::string_view line, char& separator) {
    separator = line.find('\t') != std::string_view::npos ? '\t' : line.find(';') != std::string_view::npos ? ';' : ',';
    std::vector<std::string_view> cells;
    for (std::size_t start = 0; start <= line.size();) {
        const std::size_t end = std::min(line.find(separator, start), line.size());
        cells.push_back(unquoted(trimmed_cell(line.substr(start, end - start))));
        start = end + 1;
    }
    while (cells.size() > 2 && cells.back().empty()) cells.pop_back();
    return cells;
}

std::optional<double> cell_number(std::string_view cell, char separator) {
    std::string text(cell);
    if (separator != ',') std::replace(text.begin(), text.end(), ',', '.');
    if (!text.empty() && text.front() == '+') text.erase(0, 1);
    return number(text);
}

/// The row whose step from the one before is least like the rest.
std::size_t odd_step(const std::vector<double>& wavelength) {
    std::vector<double> step(wavelength.size() - 1);
    for (std::size_t i = 0; i < step.size(); ++i) step[i] = wavelength[i + 1] - wavelength[i];
    std::vector<double> sorted = step;
    std::nth_element(sorted.begin(), sorted.begin() + std::ssize(sorted) / 2, sorted.end());
    const double usual = sorted[sorted.size() / 2];
    const auto odd = std::max_element(step.begin(), step.end(), [usual](double a, double b) { return std::abs(a - usual) < std::abs(b - usual); });
    return static_cast<std::size_t>(odd - step.begin()) + 1;
}

/// Sum over the grid of a * b.
double dot(const Bands& a, const Bands& b) {
    const double *pa = a.data(), *pb = b.data();
    double sum = 0;
    for (std::size_t i = 0; i < kBands; ++i) sum += pa[i] * pb[i];
    return sum;
}

}  // namespace

Result<SpectrumTable> parse_spectrum(std::string_view text, const std::string& name) {
    if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
    std::vector<double> wavelength;
    std::vector<std::size_t> line_of;
    SpectrumTable table;
    std::size_t line_number = 0;
    bool header_seen = false;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find_first_of("\r\n"), text.size());
        const std::string_view line = trimmed_cell(text.substr(0, end));
        const bool pair = end + 1 < text.size() && text[end] == '\r' && text[end + 1] == '\n';
        text.remove_prefix(std::min(end + (pair ? 2 : 1), text.size()));
        ++line_number;
        if (line.empty() || line.front() == '#') continue;

        char separator = ',';
        const std::vector<std::string_view> cells = cells_of(line, separator);
        const std::optional<double> nm = cell_number(cells[0], separator);
        // A header has words over the values too: a slip in the first wavelength is not one.
        if (!nm && wavelength.empty() && !header_seen && cells.size() <= 2 && (cells.size() < 2 || !cell_number(cells[1], separator))) {
            header_seen = true;
            continue;
        }
        if (cells.size() > 2) {
            return malformed(name, line_number, "has " + std::to_string(cells.size()) + " columns; a spectrum has two, nm and value",
                             "keep one value column in the file; with decimal commas, separate the columns by semicolons");
        }
        if (!nm) return malformed(name, line_number, quoted(cells[0]) + " is not a wavelength", kFormat);
        if (cells.size() < 2) return malformed(name, line_number, "has a wavelength and no value", kFormat);
        const std::optional<double> value = cell_number(cells[1], separator);
        if (!value) return malformed(name, line_number, quoted(cells[1]) + " is not a number", kFormat);
        if (*nm < 1 || *nm > 20000) return malformed(name, line_number, shortest(*nm) + " is not a wavelength in nm", "give the wavelength in nm");
        if (!wavelength.empty() && *nm <= wavelength.back()) {
            return malformed(name, line_number, "the wavelength does not rise (" + shortest(wavelength.back()) + ", then " + shortest(*nm) + " nm)",
                             "sort the rows by wavelength and keep one row for each");
        }
        if (wavelength.size() == kMaxRows) return malformed(name, line_number, "more than " + std::to_string(kMaxRows) + " rows", kFormat);
        wavelength.push_back(*nm);
        line_of.push_back(line_number);
        table.value.push_back(*value);
    }
    if (wavelength.empty()) return malformed(name, "", "holds no figures", kFormat);
    if (wavelength.size() < 2) return malformed(name, line_of.front(), "holds a single row", kFormat);

    const double steps = static_cast<double>(wavelength.size() - 1);
    table.first_nm = wavelength.front();
    table.step_nm = (wavelength.back() - wavelength.front()) / steps;
    for (std::size_t i = 0; i < wavelength.size(); ++i) {
        // Files round wavelengths such as 383.333 to a digit.
        if (std::abs(wavelength[i] - table.first_nm - static_cast<double>(i) * table.step_nm) > 0.051) {
            const std::size_t odd = odd_step(wavelength);
            return malformed(name, line_of[odd],
                             "the steps are uneven (" + shortest(wavelength[odd - 1]) + ", then " + shortest(wavelength[odd]) + " nm)",
                             "give the values in even steps of 1 to 20 nm");
        }
    }
    if (table.step_nm < kMinStep - 1e-3 || table.step_nm > kMaxStep + 1e-3) {
        return malformed(name, line_of.front(), "the step is " + shortest(std::round(table.step_nm * 1000) / 1000) + " nm",
                         "give the values in even steps of 1 to 20 nm");
    }
    if (table.first_nm > kMustReachDown || wavelength.back() < kMustReachUp) {
        return malformed(name, table.first_nm > kMustReachDown ? line_of.front() : line_of.back(),
                         "covers " + shortest(table.first_nm) + " to " + shortest(wavelength.back()) + " nm", "cover at least 400 to 700 nm");
    }
    return table;
}

Result<Reflectance> reflectance(const SpectrumTable& table, const std::string& name) {
    if (table.value.size() < 6 || !(table.step_nm > 0)) return malformed(name, "", "holds too few figures", kFormat);
    const bool percent = std::any_of(table.value.begin(), table.value.end(), [](double v) { return v > 1.5; });
    SpectrumTable scaled = table;
    for (std::size_t i = 0; i < table.value.size(); ++i) {
        double& value = scaled.value[i];
        if (percent) value /= 100;
        if (!(value >= -0.01 && value <= 1.5)) {
            return malformed(name, shortest(table.first_nm + static_cast<double>(i) * table.step_nm) + " nm",
                             shortest(table.value[i]) + (percent ? " % is no reflectance (the file is in percent)" : " is no reflectance"),
                             "give reflectance factors of 0 to 1, or percent of 0 to 100");
        }
    }
    return Reflectance{on_grid(scaled, Between::sprague, Outside::held)};
}

Result<Light> light_from_table(const SpectrumTable& table, const std::string& name) {
    if (table.value.size() < 6 || !(table.step_nm > 0)) return malformed(name, "", "holds too few figures", kFormat);
    double largest = 0;
    for (std::size_t i = 0; i < table.value.size(); ++i) {
        if (!(table.value[i] >= 0) || table.value[i] > 1e30) {
            return malformed(name, shortest(table.first_nm + static_cast<double>(i) * table.step_nm) + " nm",
                             "the light's power is " + shortest(table.value[i]),
                             "power must be 0 or more: subtract the dark reading and set what is left below 0 to 0");
        }
        largest = std::max(largest, table.value[i]);
    }
    if (!(largest > 0)) return malformed(name, "", "the light has no power at all", "give the light's power over wavelength");
    SpectrumTable scaled = table;
    for (double& value : scaled.value) value *= 100 / largest;
    Light light{name, on_grid(scaled, Between::sprague, Outside::zero)};
    for (const Observer observer : {Observer::degree2, Observer::degree10}) {
        const std::array<Bands, 3>& cmf = color_matching(observer);
        const double sum = dot(cmf[0], light.power) + dot(cmf[1], light.power) + dot(cmf[2], light.power);
        for (const Bands& function : cmf) {
            if (!(dot(function, light.power) > 1e-6 * sum)) {
                return malformed(name, "", "the light has next to no power in a third of what the eye sees: colors under it cannot be stated",
                                 "give a light that has some blue, green and red");
            }
        }
    }
    return light;
}

const std::array<Bands, 3>& color_matching(Observer observer) {
    static const std::array<std::array<Bands, 3>, 2> both = [] {
        const std::vector<CieColumn> columns = cie_columns("observers.csv");
        std::array<std::array<Bands, 3>, 2> functions{};
        for (std::size_t k = 0; k < 6; ++k) functions[k / 3][k % 3] = on_grid(columns[k].table, Between::linear, Outside::zero);
        return functions;
    }();
    return both[observer == Observer::degree2 ? 0 : 1];
}

Xyz xyz(const Reflectance& surface, const Light& light, Observer observer) {
    const std::array<Bands, 3>& cmf = color_matching(observer);
    const double *x = cmf[0].data(), *y = cmf[1].data(), *z = cmf[2].data(), *power = light.power.data(), *beta = surface.value.data();
    double white = 0;
    Xyz sum;
    for (std::size_t i = 0; i < kBands; ++i) {
        const double reflected = power[i] * beta[i];
        white += power[i] * y[i];
        sum.X += reflected * x[i];
        sum.Y += reflected * y[i];
        sum.Z += reflected * z[i];
    }
    const double k = 100 / white;
    return {k * sum.X, k * sum.Y, k * sum.Z};
}

Xyz xyz(const Light& light, Observer observer) {
    const std::array<Bands, 3>& cmf = color_matching(observer);
    const double k = 100 / dot(cmf[1], light.power);
    return {k * dot(cmf[0], light.power), 100, k * dot(cmf[2], light.power)};
}

}  // namespace sw
