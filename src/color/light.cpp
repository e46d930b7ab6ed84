#include "color/light.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>
#include <random>

#include "color/cie_data.hpp"
#include "color/planck.hpp"
#include "color/shop_led.hpp"

namespace sw {
namespace {

constexpr double kMinDaylight = 4000, kMaxDaylight = 25000, kMinPlanck = 500, kMaxPlanck = 50000;
constexpr std::size_t kLongestText = 4096, kMostParts = 16;
constexpr double kMinShare = 1e-6, kMaxShare = 1e6;

constexpr const char* kLightNames =
    "A, C, D50, D55, D65, D75, F1 to F12, LED-B1 to LED-B5, LED-BH1, LED-RGB1, LED-V1, LED-V2, daylight:5600, planck:2850, led:6500,ra=80, "
    "a blend such as 0.7*led:6500,ra=80+0.3*D65, or a CSV file";

Error unknown(std::string place, std::string cause, std::string remedy) {
    return {Fault::light_unknown, "", std::move(place), std::move(cause), std::move(remedy)};
}

/// CIE 015:2018 table 6: S0, S1, S2 of CIE daylight, 360..830 nm, step 10.
constexpr std::array<std::array<double, 3>, 48> kDaylightComponents{{
    {61.5, 38.0, 5.3},   {68.8, 42.4, 6.1},   {63.4, 38.5, 3.0},   {65.8, 35.0, 1.2},   {94.8, 43.4, -1.1},  {104.8, 46.3, -0.5}, {105.9, 43.9, -0.7},
    {96.8, 37.1, -1.2},  {113.9, 36.7, -2.6}, {125.6, 35.9, -2.9}, {125.5, 32.6, -2.8}, {121.3, 27.9, -2.6}, {121.3, 24.3, -2.6}, {113.5, 20.1, -1.8},
    {113.1, 16.2, -1.5}, {110.8, 13.2, -1.3}, {106.5, 8.6, -1.2},  {108.8, 6.1, -1.0},  {105.3, 4.2, -0.5},  {104.4, 1.9, -0.3},  {100.0, 0.0, 0.0},
    {96.0, -1.6, 0.2},   {95.1, -3.5, 0.5},   {89.1, -3.5, 2.1},   {90.5, -5.8, 3.2},   {90.3, -7.2, 4.1},   {88.4, -8.6, 4.7},   {84.0, -9.5, 5.1},
    {85.1, -10.9, 6.7},  {81.9, -10.7, 7.3},  {82.6, -12.0, 8.6},  {84.9, -14.0, 9.8},  {81.3, -13.6, 10.2}, {71.9, -12.0, 8.3},  {74.3, -13.3, 9.6},
    {76.4, -12.9, 8.5},  {63.3, -10.6, 7.0},  {71.7, -11.6, 7.6},  {77.0, -12.2, 8.0},  {65.2, -10.2, 6.7},  {47.7, -7.8, 5.2},   {68.6, -11.2, 7.4},
    {65.0, -10.4, 6.8},  {66.0, -10.6, 7.0},  {61.0, -9.7, 6.4},   {53.3, -8.3, 5.5},   {58.9, -9.3, 6.1},   {61.9, -9.8, 6.5},
}};

/// The named lights, in the order of standard_light_names(). Between the steps: ISO/CIE 11664-2 for A and D, CIE 167:2005 for the rest.
const std::vector<Light>& standard_lights() {
    static const std::vector<Light> lights = [] {
        std::vector<Light> result;
        for (const char* file : {"illuminants.csv", "led_illuminants.csv"}) {
            for (const CieColumn& column : cie_columns(file)) {
                Light light{column.name, {}};
                if (column.name == "A") {
                    for (std::size_t i = 0; i < kBands; ++i) light.power[i] = planck_power(kFirstNm + static_cast<double>(i), 2848 * 1.4388 / 1.435);
                } else {
                    // The table of C ends at 780 nm: its last value is held, as the D series goes on to 830.
                    light.power = on_grid(column.table, column.name.front() == 'D' ? Between::linear : Between::sprague,
                                          column.name == "C" ? Outside::held : Outside::zero);
                }
                result.push_back(std::move(light));
            }
        }
        return result;
    }();
    return lights;
}

bool same_letters(std::string_view a, std::string_view b) {
    const auto lower = [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; };
    return a.size() == b.size() && std::equal(a.begin(), a.end(), b.begin(), [lower](char x, char y) { return lower(x) == lower(y); });
}

std::string_view trimmed(std::string_view text) {
    constexpr std::string_view blanks = " \t\r\n";
    const std::size_t first = text.find_first_not_of(blanks);
    return first == std::string_view::npos ? std::string_view{} : text.substr(first, text.find_last_not_of(blanks) - first + 1);
}

/// "kind:rest" with kind in any case: the rest.
std::optional<std::string_view> after_kind(std::string_view text, std::string_view kind) {
    if (text.size() <= kind.size() || text[kind.size()] != ':' || !same_letters(text.substr(0, kind.size()), kind)) return {};
    return text.substr(kind.size() + 1);
}

Result<double> kelvin(std::string_view text, const char* kind, double least, double most) {
    const std::optional<double> value = number(trimmed(text));
    const std::string range = std::string("write ") + kind + ":K with K from " + shortest(least) + " to " + shortest(most);
    if (!value) return unknown(quoted(text), "is not a color temperature", range);
    if (*value < least || *value > most) return unknown(shortest(*value) + " K", std::string("is outside what ") + kind + ": covers", range);
    return *value;
}

Result<Light> shop_led_light(std::string_view text, std::string_view rest) {
    const auto piece = [&rest] {
        const std::size_t end = std::min(rest.find(','), rest.size());
        const std::string_view result = rest.substr(0, end);
        rest.remove_prefix(std::min(end + 1, rest.size()));
        return trimmed(result);
    };
    const bool trailing_comma = rest.ends_with(',');
    ShopLed led;
    const Result<double> cct = kelvin(piece(), "led", ShopLed::kMinCct, ShopLed::kMaxCct);
    if (!cct) return cct.error();
    led.cct = *cct;
    constexpr const char* how = "write led:K[,ra=R][,duv=D][,peak=NM], for example led:6500,ra=80";
    if (trailing_comma) return unknown(quoted(text), "ends with a comma", how);
    while (!rest.empty()) {
        const std::string_view part = piece();
        const std::size_t equals = part.find('=');
        if (equals == std::string_view::npos) return unknown(quoted(part), "is not a figure of an LED", how);
        const std::string_view key = trimmed(part.substr(0, equals));
        const std::optional<double> value = number(trimmed(part.substr(equals + 1)));
        if (!value) return unknown(quoted(part), "has no number", how);
        struct Figure {
            const char* key;
            std::optional<double>* figure;
            double least, most;
        };
        const std::array<Figure, 3> figures{{{"ra", &led.ra, ShopLed::kMinRa, 100},
                                             {"duv", &led.duv, -ShopLed::kMaxDuv, ShopLed::kMaxDuv},
                                             {"peak", &led.peak_nm, ShopLed::kMinPeak, ShopLed::kMaxPeak}}};
        const auto* found = std::find_if(figures.begin(), figures.end(), [key](const Figure& f) { return same_letters(key, f.key); });
        if (found == figures.end()) return unknown(quoted(key), "is not a figure of an LED", how);
        if (found->figure->has_value()) return unknown(quoted(key), "stands there twice", how);
        if (*value < found->least || *value > found->most) {
            return unknown(quoted(part), "is outside what the LED model covers",
                           std::string(found->key) + " from " + shortest(found->least) + " to " + shortest(found->most));
        }
        *found->figure = *value;
    }
    return shop_led(led);
}

/// Ends like "lamp.csv": a point and two to four letters.
bool has_extension(std::string_view text) {
    const std::size_t point = text.rfind('.');
    if (point == std::string_view::npos) return false;
    const std::string_view rest = text.substr(point + 1);
    return rest.size() >= 2 && rest.size() <= 4 &&
           std::all_of(rest.begin(), rest.end(), [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); });
}

/// Where a share of a blend begins: "0.7*" at the front of the text. The share and what follows the star.
std::optional<std::pair<double, std::string_view>> share(std::string_view text) {
    const std::size_t star = text.find('*');
    if (star == std::string_view::npos) return {};
    const std::optional<double> value = number(trimmed(text.substr(0, star)));
    if (!value) return {};
    return std::pair{*value, text.substr(star + 1)};
}

/// What stands in double quotes, where all of the text does.
std::optional<std::string> in_quotes(std::string_view text) {
    if (text.size() < 3 || text.front() != '"' || text.find('"', 1) != text.size() - 1) return {};
    return std::string(text.substr(1, text.size() - 2));
}

Result<Light> single_light(std::string_view text, const FileReader& read_file, const OwnLights& own) {
    if (text.empty()) return unknown("", "no light is named", std::string("name one of ") + kLightNames);
    if (const auto name = in_quotes(text)) {
        if (own) {
            Result<Light> found = own(*name);
            if (found || found.error().fault != Fault::name_unknown) return found;
        }
        return unknown(quoted(*name), "is no lamp of your own that is known here", "leave out the quotes for a light that everybody knows");
    }
    for (const Light& candidate : standard_lights()) {
        if (same_letters(text, candidate.name)) return candidate;
    }
    if (const auto rest = after_kind(text, "daylight")) {
        const Result<double> cct = kelvin(*rest, "daylight", kMinDaylight, kMaxDaylight);
        if (!cct) return cct.error();
        return daylight(*cct);
    }
    if (const auto rest = after_kind(text, "planck")) {
        const Result<double> cct = kelvin(*rest, "planck", kMinPlanck, kMaxPlanck);
        if (!cct) return cct.error();
        return planck(*cct);
    }
    if (const auto rest = after_kind(text, "led")) return shop_led_light(text, *rest);
    // What is left can only be a file, or a lamp of the user's.
    const bool looks_like_file = text.find_first_of("/\\") != std::string_view::npos || has_extension(text);
    const std::string path(text);
    std::optional<Error> unreadable;
    if (read_file && path.find('\0') == std::string::npos) {
        const Result<std::string> content = read_file(path);
        if (content) {
            const Result<SpectrumTable> table = parse_spectrum(*content, path);
            if (!table) return table.error();
            return light_from_table(*table, path);
        }
        unreadable = content.error();
    }
    if (own) {
        Result<Light> found = own(path);
        if (found || found.error().fault != Fault::name_unknown) return found;
    }
    if (unreadable && looks_like_file) return *unreadable;
    return unknown(quoted(text), "is no light we know" + std::string(read_file ? ", and no file of that name can be read" : ""),
                   std::string("name one of ") + kLightNames);
}

/// 0 .. count - 1 in an order that depends on `seed` alone; as they are for seed 0. Fisher-Yates: std::shuffle differs between libraries.
std::vector<std::size_t> shuffled(std::size_t count, std::size_t seed) {
    std::vector<std::size_t> order(count);
    std::iota(order.begin(), order.end(), std::size_t{0});
    if (seed == 0) return order;
    std::mt19937_64 random(seed);
    for (std::size_t k = count; k > 1; --k) std::swap(order[k - 1], order[random() % k]);
    return order;
}

/// How a blend names one of its lights, so that it can be read again.
std::string word_of(std::string_view typed, const Light& part) {
    const auto name = in_quotes(typed);
    if (!name && !share(part.name)) return part.name;
    if (!share(part.name)) {
        const Result<Light> plain = single_light(part.name, {}, {});
        if (plain && plain->power == part.power) return part.name;
    }
    return '"' + name.value_or(std::string(typed)) + '"';
}

Result<Light> blend(std::string_view text, const FileReader& read_file, const OwnLights& own) {
    constexpr const char* how = "write a blend as 0.7*led:6500,ra=80+0.3*D65, each light with its share of the illuminance, more than 0";
    Light mixed;
    struct Part {
        Light light;
        double factor = 0;
    };
    std::vector<Part> parts;
    while (true) {
        const auto head = share(text);
        if (!head) return unknown(quoted(text), "has no share", how);
        if (head->first < kMinShare || head->first > kMaxShare) return unknown(quoted(text), "has a share of " + shortest(head->first), how);
        // The part ends at a plus sign after which another share stands; file names may hold plus signs of their own.
        std::string_view name = head->second, rest;
        bool more = false;
        name = trimmed(name);
        const std::size_t quote = !name.empty() && name.front() == '"' ? name.find('"', 1) : 0;  // what stands in quotes is one name
        const std::size_t from = quote == std::string_view::npos ? 0 : quote;
        for (std::size_t plus = name.find('+', from); plus != std::string_view::npos; plus = name.find('+', plus + 1)) {
            const std::string_view follows = name.substr(plus + 1);
            if (trimmed(follows).empty() || share(follows)) {
                rest = follows;
                name = name.substr(0, plus);
                more = true;
                break;
            }
        }
        name = trimmed(name);
        if (name.empty()) return unknown(quoted(text), "names no light", how);
        if (share(name)) return unknown(quoted(name), "is a share of a share", how);
        if (parts.size() == kMostParts) return unknown("", "more than " + std::to_string(kMostParts) + " lights in one blend", how);
        const Result<Light> part = single_light(name, read_file, own);
        if (!part) return part.error();
        const Bands& y_bar = color_matching(Observer::degree2)[1];
        const double illuminance = std::inner_product(y_bar.begin(), y_bar.end(), part->power.begin(), 0.0);
        parts.push_back({*part, head->first / illuminance});
        for (std::size_t i = 0; i < kBands; ++i) mixed.power[i] += parts.back().factor * part->power[i];
        mixed.name += (mixed.name.empty() ? "" : "+") + shortest(head->first) + "*" + word_of(name, *part);
        if (!more) break;
        text = rest;
    }
    const double scale = 100 / *std::max_element(mixed.power.begin(), mixed.power.end());
    for (double& power : mixed.power) power *= scale;

    // What is not known: draw k of the blend takes one draw of each lamp, in another order for each lamp but the first.
    std::vector<std::string> lamps;
    std::vector<Bands> draws;
    for (const Part& part : parts) {
        if (!part.light.may_be) continue;
        if (std::find(lamps.begin(), lamps.end(), part.light.name) == lamps.end()) lamps.push_back(part.light.name);
        draws.resize(std::max(draws.size(), part.light.may_be->size()));
    }
    if (draws.empty()) return mixed;
    for (const Part& part : parts) {
        const bool known = !part.light.may_be;
        const auto lamp = static_cast<std::size_t>(std::find(lamps.begin(), lamps.end(), part.light.name) - lamps.begin());
        const std::vector<std::size_t> order = known ? std::vector<std::size_t>{} : shuffled(part.light.may_be->size(), lamp);
        for (std::size_t k = 0; k < draws.size(); ++k) {
            const Bands& power = known ? part.light.power : (*part.light.may_be)[order[k % order.size()]];
            for (std::size_t i = 0; i < kBands; ++i) draws[k][i] += scale * part.factor * power[i];
        }
    }
    mixed.may_be = std::make_shared<const std::vector<Bands>>(std::move(draws));
    return mixed;
}

}  // namespace

double planck_power(double wavelength_nm, double kelvin_) {
    constexpr double c2 = 1.4388e7;  // nm K
    const double ratio = 560 / wavelength_nm;
    const double power = 100 * ratio * ratio * ratio * ratio * ratio;
    return power * std::expm1(c2 / (560 * kelvin_)) / std::expm1(c2 / (wavelength_nm * kelvin_));
}

Result<Light> light(std::string_view text, const FileReader& read_file, const OwnLights& own) {
    text = trimmed(text);
    if (text.size() > kLongestText) return unknown("", "the name of the light is too long", std::string("name one of ") + kLightNames);
    return share(text) ? blend(text, read_file, own) : single_light(text, read_file, own);
}

const std::vector<std::string>& standard_light_names() {
    static const std::vector<std::string> names = [] {
        std::vector<std::string> result;
        for (const Light& light : standard_lights()) result.push_back(light.name);
        return result;
    }();
    return names;
}

Light daylight(double cct) {
    assert(cct >= kMinDaylight && cct <= kMaxDaylight);
    // CIE 015:2018, 4.1.2. M1 and M2 stay unrounded, so that the light moves smoothly with its temperature.
    const double t = 1000 / cct;
    const double x = cct <= 7000 ? ((-4.6070 * t + 2.9678) * t + 0.09911) * t + 0.244063 : ((-2.0064 * t + 1.9018) * t + 0.24748) * t + 0.237040;
    const double y = (-3.000 * x + 2.870) * x - 0.275;
    const double divisor = 0.0241 + 0.2562 * x - 0.7341 * y;
    const double M1 = (-1.3515 - 1.7703 * x + 5.9114 * y) / divisor, M2 = (0.0300 - 31.4424 * x + 30.0717 * y) / divisor;
    SpectrumTable table{kFirstNm, 10, {}};
    for (const auto& [S0, S1, S2] : kDaylightComponents) table.value.push_back(S0 + M1 * S1 + M2 * S2);
    return {"daylight:" + shortest(cct), on_grid(table, Between::linear, Outside::zero)};
}

Light planck(double cct) {
    assert(cct >= kMinPlanck && cct <= kMaxPlanck);
    Light light{"planck:" + shortest(cct), {}};
    for (std::size_t i = 0; i < kBands; ++i) light.power[i] = planck_power(kFirstNm + static_cast<double>(i), cct);
    return light;
}

}  // namespace sw
