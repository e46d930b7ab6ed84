// Ten thousand spectra files and ten thousand light strings, valid and invalid, made so that we know which and what they say: never a crash, never a
// silent wrong light. (Blind mutations of good texts: spectrum_test.cpp and light_test.cpp.)
#include <gtest/gtest.h>

#include <map>
#include <random>

#include "color/cie_data.hpp"
#include "color/light.hpp"
#include "color/lights.hpp"
#include "color/reference.hpp"

namespace sw {
namespace {

using test::no_files;

#ifdef SW_SLOW_BUILD
constexpr int kTrials = 1000;
#else
constexpr int kTrials = 10000;
#endif

/// Random choices, the same on every machine.
class Random {
public:
    explicit Random(std::uint64_t seed) : engine_(seed) {}
    std::size_t below(std::size_t n) { return engine_() % n; }
    bool chance(double p) { return uniform(0, 1) < p; }
    double uniform(double low, double high) { return low + (high - low) * (static_cast<double>(engine_() >> 11) * 0x1.0p-53); }
    template <class T, std::size_t n>
    const T& of(const T (&list)[n]) {
        return list[below(n)];
    }
    std::string of(std::initializer_list<std::string> list) { return *(list.begin() + below(list.size())); }

private:
    std::mt19937_64 engine_;
};

std::string fixed(double value, int decimals) {
    char text[64];
    std::snprintf(text, sizeof text, "%.*f", decimals, value);
    return text;
}

std::string replaced(std::string text, char from, char to) {
    std::replace(text.begin(), text.end(), from, to);
    return text;
}

// ---------------------------------------------------------------- files

/// A spectrum file as written: its lines, which of them are rows of figures, and what a reader must find.
struct File {
    std::vector<std::string> lines;
    std::vector<std::size_t> row_line;  // index into lines of each row
    std::string separator, end = "\n", start;
    bool decimal_comma = false;
    SpectrumTable table;

    [[nodiscard]] std::string text(bool last_end = true) const {
        std::string all = start;
        for (std::size_t i = 0; i < lines.size(); ++i) all += lines[i] + (i + 1 < lines.size() || last_end ? end : "");
        return all;
    }
    [[nodiscard]] std::string row(double nm, const std::string& value) const {
        const std::string line = shortest(nm) + "\n" + value;
        std::string written = decimal_comma ? replaced(line, '.', ',') : line;
        return written.replace(written.find('\n'), 1, separator);
    }
    /// "line N" of a row, counted as people do.
    [[nodiscard]] std::string place(std::size_t row) const { return "line " + std::to_string(row_line.at(row) + 1); }
};

File make_file(Random& random) {
    File file;
    const std::string separators[] = {",", ";", "\t"}, ends[] = {"\n", "\r\n", "\r"};
    file.separator = random.of(separators);
    file.end = random.of(ends);
    file.decimal_comma = file.separator != "," && random.chance(0.5);
    if (random.chance(0.2)) file.start = "\xEF\xBB\xBF";
    const double steps[] = {1, 2, 2.5, 4, 5, 5, 10, 10, 10, 20, 20, 20};
    const double step = random.of(steps);
    file.table.step_nm = step;
    file.table.first_nm = 400 - step * static_cast<double>(random.below(static_cast<std::size_t>(60 / step) + 1));
    const std::size_t rows = static_cast<std::size_t>(std::ceil((700 - file.table.first_nm) / step)) + 1 + random.below(5);

    if (random.chance(0.3)) file.lines.emplace_back("# bench lamp, 12,5 W");
    if (random.chance(0.2)) file.lines.emplace_back("");
    const std::string headers[] = {"nm", "wavelength", "Wavelength (nm)", "\"nm\"", "lambda"},
                      names[] = {"value", "W/m2", "R, specular in", "\"SPD\"", ""};
    if (random.chance(0.6)) {
        std::string name = random.of(names);
        if (file.separator == ",") std::erase(name, ',');
        file.lines.push_back(random.of(headers) + file.separator + name);
    }
    for (std::size_t i = 0; i < rows; ++i) {
        if (random.chance(0.02)) file.lines.emplace_back(random.chance(0.5) ? "" : "# note");
        const double nm = file.table.first_nm + step * static_cast<double>(i);
        const double value = random.chance(0.05) ? 0 : random.uniform(0, 1) * std::pow(10, static_cast<double>(random.below(4)) - 2);
        std::string text = random.chance(0.3) ? fixed(value, 5) : shortest(value);
        file.table.value.push_back(std::stod(text));
        if (random.chance(0.05)) text.insert(0, "+");
        std::string line = file.row(nm, text);
        if (random.chance(0.05)) line = " " + line + "  ";
        if (random.chance(0.05)) line.insert(line.find(file.separator) + 1, "  ");
        if (random.chance(0.05)) line += file.separator;
        file.row_line.push_back(file.lines.size());
        file.lines.push_back(line);
    }
    return file;
}

TEST(Fuzz, ValidFilesAreReadToTheLastDigit) {
    Random random(20240620);
    int lights = 0;
    for (int i = 0; i < kTrials / 2; ++i) {
        const File file = make_file(random);
        const std::string text = file.text(random.chance(0.7));
        const Result<SpectrumTable> table = parse_spectrum(text, "lamp.csv");
        ASSERT_TRUE(table) << describe(table.error()) << '\n' << text;
        ASSERT_EQ(table->first_nm, file.table.first_nm) << text;
        ASSERT_NEAR(table->step_nm, file.table.step_nm, 1e-12) << text;
        ASSERT_EQ(table->value, file.table.value) << text;
        if (i % 4 != 0) continue;  // for time's sake
        const Result<Light> lamp = light_from_table(*table, "lamp.csv");
        if (!lamp) continue;  // one-sided by chance
        ++lights;
        // At the table's own steps the light is the table, to one scale.
        const double largest = *std::max_element(table->value.begin(), table->value.end());
        for (std::size_t k = 0; k < table->value.size(); ++k) {
            const double nm = table->first_nm + table->step_nm * static_cast<double>(k);
            if (nm > kLastNm || nm < kFirstNm || nm != std::floor(nm)) continue;
            EXPECT_NEAR(lamp->power[static_cast<std::size_t>(nm) - kFirstNm], 100 * table->value[k] / largest, 1e-9) << nm << '\n' << text;
        }
    }
    EXPECT_GT(lights, kTrials / 8 * 9 / 10);
}

/// Breaks a good file; gives the places ("line 7") of which the error must name one, none where there is no line to name.
std::vector<std::string> break_file(Random& random, File& file) {
    const std::size_t rows = file.row_line.size(), at = random.below(rows);
    const double nm = file.table.first_nm + file.table.step_nm * static_cast<double>(at);
    std::string& line = file.lines[file.row_line[at]];
    const std::string no_numbers[] = {"abc", "nan",     "NaN", "inf",          "-inf",  "1e999",   "1e-999x",          "0x1p3", "1.2.3", "--1",
                                      "1e",  "0.5 0.6", "",    "\xEF\xBC\x91", "#REF!", "0.5\x01", "\xF0\x9F\x92\xA1", "1'000", ".",     "-"};
    switch (random.below(11)) {
        case 0:
            line = file.row(nm, random.of(no_numbers));
            return {file.place(at)};
        case 1: {
            std::string word = random.of(no_numbers);
            if (word.empty()) word = "?";
            if (word.front() == '#') word.insert(0, "x");  // else a comment
            line = word + file.separator + "1";
            return {file.place(at)};
        }
        case 2:
            line = file.row(nm, "1") + file.separator + "2";
            return {file.place(at)};
        case 3:  // a row twice
            file.lines.insert(file.lines.begin() + static_cast<std::ptrdiff_t>(file.row_line[at]) + 1, file.row(nm, "1"));
            return {"line " + std::to_string(file.row_line[at] + 2)};
        case 4: {  // two rows exchanged
            const std::size_t first = random.below(rows - 1);
            std::swap(file.lines[file.row_line[first]], file.lines[file.row_line[first + 1]]);
            return {file.place(first + 1)};
        }
        case 5: {  // a row lost inside
            const std::size_t lost = 1 + random.below(rows - 2);
            file.lines[file.row_line[lost]] = "";
            return {file.place(lost + 1)};
        }
        case 6:  // a wavelength off
            line = file.row(nm + file.table.step_nm * 0.25, "1");
            return {file.place(at), file.place(std::min(at + 1, rows - 1))};
        case 7:  // NUL inside
            line = file.row(nm, std::string("0.\0", 3) + "5");
            return {file.place(at)};
        case 8: {  // starts late or ends early
            if (random.chance(0.5)) {
                while (file.table.first_nm <= 400) {
                    file.lines[file.row_line.front()] = "";
                    file.row_line.erase(file.row_line.begin());
                    file.table.first_nm += file.table.step_nm;
                }
                return {file.place(0)};
            }
            while (file.table.first_nm + file.table.step_nm * static_cast<double>(file.row_line.size() - 1) >= 700) {
                file.lines[file.row_line.back()] = "";
                file.row_line.pop_back();
            }
            return {file.place(file.row_line.size() - 1)};
        }
        case 9:  // a decimal comma between commas, or a thousands' point beside a decimal comma
            line = file.separator == "," ? shortest(nm) + ",0,5" : shortest(nm) + file.separator + "1.234,5";
            return {file.place(at)};
        default:  // no figures
            for (const std::size_t row : file.row_line) file.lines[row] = "";
            return {};
    }
}

TEST(Fuzz, InvalidFilesAreErrorsThatNameTheLine) {
    Random random(20240621);
    for (int i = 0; i < kTrials / 2; ++i) {
        File file = make_file(random);
        const std::vector<std::string> places = break_file(random, file);
        const std::string text = file.text();
        const Result<SpectrumTable> table = parse_spectrum(text, "lamp.csv");
        ASSERT_FALSE(table) << text;
        const Error& e = table.error();
        EXPECT_EQ(e.fault, Fault::table_malformed);
        EXPECT_EQ(e.file, "lamp.csv");
        EXPECT_FALSE(e.cause.empty());
        EXPECT_FALSE(e.remedy.empty());
        EXPECT_TRUE(places.empty() ? e.place.empty() : std::find(places.begin(), places.end(), e.place) != places.end())
            << describe(e) << " instead of " << (places.empty() ? "none" : places.front()) << '\n'
            << text;
        for (const char c : describe(e)) EXPECT_TRUE(static_cast<unsigned char>(c) >= 32) << describe(e);
    }
}

// A figure that no light can have is refused by its wavelength, wherever it stands.
TEST(Fuzz, NegativeOrHugePowerIsRefused) {
    Random random(20240622);
    for (int i = 0; i < kTrials / 10; ++i) {
        const File file = make_file(random);
        SpectrumTable table = file.table;
        const double bad[] = {-1e-9, -1, -1e308, 1e31, 1e308};
        const std::size_t at = random.below(table.value.size());
        table.value[at] = random.of(bad);
        const Result<Light> lamp = light_from_table(table, "lamp.csv");
        ASSERT_FALSE(lamp);
        EXPECT_EQ(lamp.error().place, shortest(table.first_nm + table.step_nm * static_cast<double>(at)) + " nm");
        EXPECT_FALSE(lamp.error().remedy.empty());
    }
}

// ---------------------------------------------------------------- strings

/// A text and the light that it must give.
struct Said {
    std::string text, canonical;
    Bands power{};
};

std::string any_case(Random& random, std::string text) {
    for (char& c : text) {
        if (c >= 'A' && c <= 'Z' && random.chance(0.3)) c = static_cast<char>(c - 'A' + 'a');
        if (c >= 'a' && c <= 'z' && random.chance(0.3)) c = static_cast<char>(c - 'a' + 'A');
    }
    return text;
}

/// A number in one of the ways people write it; its value is what that text says.
std::pair<std::string, double> any_number(Random& random, double low, double high) {
    const double value = random.uniform(low, high);
    char exponent[64];
    std::snprintf(exponent, sizeof exponent, "%.12e", value);
    const std::string forms[] = {fixed(value, 0), fixed(value, 1), fixed(value, 6), shortest(value), exponent};
    for (;;) {
        const std::string text = random.of(forms);
        const double read = std::stod(text);
        if (read >= low && read <= high) return {text, read};
    }
}

std::string blanks(Random& random) {
    const std::string some[] = {"", "", "", " ", "\t", "  "};
    return random.of(some);
}

Said single(Random& random) {
    static const std::map<std::string, Bands> known = [] {
        std::map<std::string, Bands> lights;
        std::vector<std::string> names = standard_light_names();
        for (const char* led : {"led:6500,ra=80", "led:3000,ra=90", "led:4000"}) names.emplace_back(led);
        for (const std::string& name : names) lights[name] = light(name)->power;
        return lights;
    }();
    const std::size_t kind = random.below(10);
    if (kind < 4) {
        auto any = known.begin();
        std::advance(any, static_cast<std::ptrdiff_t>(random.below(standard_light_names().size())));
        if (any->first.starts_with("led:") && !random.chance(0.1)) any = known.find("D65");  // slow: seldom
        return {any_case(random, any->first), any->first, any->second};
    }
    if (kind < 7) {
        const auto [text, value] = any_number(random, 4000, 25000);
        return {any_case(random, "daylight") + ":" + blanks(random) + text, "daylight:" + shortest(value), daylight(value).power};
    }
    const auto [text, value] = any_number(random, 500, 50000);
    return {any_case(random, "planck") + ":" + text + blanks(random), "planck:" + shortest(value), planck(value).power};
}

Said valid(Random& random) {
    if (random.chance(0.5)) {
        Said one = single(random);
        one.text = blanks(random) + one.text + blanks(random) + (random.chance(0.1) ? "\r\n" : "");
        return one;
    }
    Said mixed;
    const std::size_t parts = 1 + random.below(random.chance(0.05) ? 16 : 4);
    for (std::size_t k = 0; k < parts; ++k) {
        const Said part = single(random);
        const double scales[] = {1e-3, 0.1, 1, 100, 1e5};
        const double scale = random.of(scales);
        const auto [share, value] = any_number(random, 0.1 * scale, scale);
        mixed.text += (k > 0 ? blanks(random) + "+" + blanks(random) : "") + share + blanks(random) + "*" + blanks(random) + part.text;
        mixed.canonical += (k > 0 ? "+" : "") + shortest(value) + "*" + part.canonical;
        double illuminance = 0;
        for (std::size_t i = 0; i < kBands; ++i) illuminance += color_matching(Observer::degree2)[1][i] * part.power[i];
        for (std::size_t i = 0; i < kBands; ++i) mixed.power[i] += value * part.power[i] / illuminance;
    }
    const double largest = *std::max_element(mixed.power.begin(), mixed.power.end());
    for (double& power : mixed.power) power *= 100 / largest;
    return mixed;
}

// 1e-11 of the highest power: sums of 16 parts in another order.
TEST(Fuzz, ValidLightsAreTheLightTheTextSays) {
    Random random(20240623);
    for (int i = 0; i < kTrials / 2; ++i) {
        const Said said = valid(random);
        const Result<Light> l = light(said.text, random.chance(0.5) ? FileReader(no_files) : FileReader());
        ASSERT_TRUE(l) << said.text << ": " << describe(l.error());
        ASSERT_EQ(l->name, said.canonical) << said.text;
        const double largest = *std::max_element(said.power.begin(), said.power.end());
        for (std::size_t k = 0; k < kBands; ++k)
            ASSERT_NEAR(l->power[k], said.power[k], 1e-11 * largest) << said.text << ' ' << kFirstNm + static_cast<int>(k);
    }
}

std::string invalid(Random& random) {
    const std::string numbers[] = {
        "nan",         "inf",   "-inf",  "1e308",        "1e309", "-1e308", "1e-320", "0",
        "-5600",       "",      " ",     "5,6",          "5600K", "5600 K", "0x15e0", "+5600",
        "5600,",       "5.6.0", "5'600", "5600\xC2\xB0", "1e",    "e3",     "1e3e3",  "99999999999999999999999999999999999999",
        "3999.999999", "-0"};
    const std::string good = single(random).text;
    switch (random.below(14)) {
        case 0: {  // no word of ours: no a, d, f, l, p
            std::string word;
            for (std::size_t k = 1 + random.below(12); k > 0; --k) word += "bghjkqxyz0123456789-_"[random.below(21)];
            return word;
        }
        case 1:
            return "daylight:" + random.of(numbers);
        case 2: {
            const std::string text = random.of(numbers);
            return "planck:" + (text == "3999.999999" ? "50000.0001" : text);
        }
        case 3: {
            const std::string text = random.of(numbers);
            return "led:" + (text == "3999.999999" ? "8000.0001" : text) + (random.chance(0.5) ? ",ra=80" : "");
        }
        case 4: {
            const std::string text = random.of(numbers), keys[] = {"ra", "duv", "peak", "cri", ""};
            const std::string key = random.of(keys);
            if (key == "duv" && (text == "0" || text == "-0" || text == "1e-320")) return "led:6500,duv=9";
            return "led:6500," + key + "=" + (text == "3999.999999" ? "101" : text);
        }
        case 5: {  // a byte that belongs nowhere, anywhere
            const std::string bytes[] = {std::string(1, '\0'), "\xEF\xBB\xBF", "\x80", "\xF0\x9F\x92\xA1", "\x7F", "\x1B[2J", "%n", "$", "\""};
            std::string text = valid(random).text;
            text.insert(random.below(text.size() + 1), random.of(bytes));
            return text;
        }
        case 6: {  // a line end inside a name
            std::string text = random.of({"D65", "LED-B3", "F11", "LED-RGB1", "daylight:5600", "planck:2850"});
            text.insert(1 + random.below(2), random.of({"\r", "\n", "\r\n", "\t"}));
            return text;
        }
        case 7:  // shares that are none
            return std::string(random.of(
                       {"0", "-1", "nan", "inf", "1e308", "-1e308", "1e309", "1e-308", "1e-320", "0x1p3", "1e7", "1e-7", "0,5", "50%", "1/2"})) +
                   "*" + good;
        case 8:  // nested blends
            return random.of({"0.5*0.5*", "0.5*(0.5*A+0.5*", "(0.5*A)+0.5*", "0.5*A+0.5*0.5*", "((", "0.5*A+(0.5*D65)+1*2*",
                              "1*1*1*1*1*1*1*1*1*1*1*1*1*1*1*1*1*1*"}) +
                   good + random.of({"", ")", "))"});
        case 9:  // hanging signs
            return random.of({"0.5*" + good + "+", "+0.5*" + good, "0.5*" + good + "++0.5*A", "*" + good, "0.5*", "0.5*" + good + "+0.5*",
                              "0.5*+" + good, good + "*0.5", "0.5*" + good + "*", "0.5**" + good, "0.5*" + good + "-0.5*A", "+", "*",
                              "0.5*" + good + "+A", good + "+0.5*A"});
        case 10: {  // too many, too long
            std::string text = "1*A";
            for (std::size_t k = 16 + random.below(40); k > 0; --k) text += "+1*D65";
            return random.chance(0.5) ? text : std::string(4097 + random.below(100000), "D(1*+"[random.below(5)]);
        }
        case 11:  // locale commas
            return "0,7*" + good + "+0,3*A";
        case 12:  // a good part and a bad one
            return "0.5*" + good + "+0.5*" +
                   random.of({"daylight:1e308", "planck:nan", "led:6500,ra=inf", "D66", "LED-B9", "F13", "", " ", "daylight:5600,5"});
        default:  // near misses
            return random.of({"",
                              " ",
                              "D",
                              "D651",
                              "D-65",
                              "D6 5",
                              "E",
                              "B",
                              "F0",
                              "F13",
                              "F-1",
                              "F1e1",
                              "F1.0",
                              "F01",
                              "LED-B6",
                              "LED B1",
                              "LEDB1",
                              "daylight",
                              "daylight5600",
                              "daylight=5600",
                              "planck::2850",
                              "planck:2850:",
                              "led",
                              "led:",
                              "led:6500,",
                              "led:6500,,",
                              "led:6500,ra=80,ra=90",
                              "led:6500;ra=80",
                              "led:6500,ra:80",
                              "A,D65",
                              "A D65",
                              "A;",
                              "A+D65",
                              "NaN",
                              "inf",
                              "1e308",
                              "0",
                              "-1"});
    }
}

TEST(Fuzz, InvalidLightsAreErrorsThatSayWhatToDo) {
    Random random(20240624);
    for (int i = 0; i < kTrials / 2; ++i) {
        const std::string text = invalid(random);
        const bool files = random.chance(0.5);
        const Result<Light> l = light(text, files ? FileReader(no_files) : FileReader());
        ASSERT_FALSE(l) << text.substr(0, 200) << " gave " << l->name;
        const Error& e = l.error();
        EXPECT_TRUE(e.fault == Fault::light_unknown || (files && e.fault == Fault::file_missing)) << text;
        EXPECT_FALSE(e.cause.empty()) << text;
        EXPECT_FALSE(e.remedy.empty()) << text;
        EXPECT_LT(describe(e).size(), 600U + (e.fault == Fault::file_missing ? text.size() : 0)) << "messages stay short";
        if (e.fault == Fault::light_unknown) {
            // There is a piece to point at unless there is nothing, or too much.
            EXPECT_TRUE(!e.place.empty() || e.cause.find("no light") != std::string::npos || e.cause.find("too long") != std::string::npos ||
                        e.cause.find("more than") != std::string::npos)
                << text << ": " << describe(e);
            for (const char c : describe(e)) EXPECT_TRUE(static_cast<unsigned char>(c) >= 32) << describe(e);
        }
    }
}

}  // namespace
}  // namespace sw
