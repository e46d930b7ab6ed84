#include "color/spectrum.hpp"

#include <random>
#include <sstream>

#include "color/cie_data.hpp"
#include "color/difference.hpp"
#include "color/interpolation.hpp"
#include "color/light.hpp"
#include "color/lights.hpp"
#include "color/reference.hpp"

namespace sw {
namespace {

using test::Csv;
using test::named;
using test::Worst;

double far(const Xyz& a, double X, double Y, double Z) { return std::max({std::abs(a.X - X), std::abs(a.Y - Y), std::abs(a.Z - Z)}); }

// Source: CIE 167:2005: the polynomial passes through its points and takes its slope and curvature there from four-point-and-center differences,
// which are exact for the fourth degree; the points it adds beyond the ends are exact for straight lines only. 1e-9 is rounding. That the end rule is
// the standard's own is held by the reflectances of oracle_chart24_under_lights.csv and oracle_metamerism.csv.
TEST(Sprague, IsExactForPolynomialsOfTheFourthDegree) {
    std::vector<double> values, line;
    const auto p = [](double x) { return 3 + x * (0.5 + x * (-0.2 + x * (0.01 + x * 0.003))); };
    for (int i = 0; i < 12; ++i) {
        values.push_back(p(i));
        line.push_back(2 - 0.3 * i);
    }
    for (int i = 0; i <= 220; ++i) {
        const double x = i / 20.0;
        if (x >= 2 && x <= 9) {
            EXPECT_NEAR(sprague(values, x), p(x), 1e-9) << x;
        }
        EXPECT_NEAR(sprague(line, x), 2 - 0.3 * x, 1e-12) << x;
    }
    EXPECT_EQ(sprague(values, 11), values[11]);
    EXPECT_DOUBLE_EQ(linear(values, 2.25), 0.75 * values[2] + 0.25 * values[3]);
}

// Source: chromaticities printed by the CIE for 2 degrees (CIE 15:2004, tables T.3 and T.8; LED: CIE 015:2018), typed in from memory. A, C, D: 5
// decimals, half of the last, and the editions differ by one in the last: 1.5e-5. F and LED: 4 decimals, half of the last.
TEST(WhitePoints, AreThoseTheCiePrints) {
    struct Printed {
        const char* light;
        double x, y;
    };
    const Printed fine[] = {{"A", 0.44758, 0.40745},   {"C", 0.31006, 0.31616},   {"D50", 0.34567, 0.35851},
                            {"D55", 0.33243, 0.34744}, {"D65", 0.31272, 0.32903}, {"D75", 0.29903, 0.31488}};
    const Printed lamps[] = {{"F1", 0.3131, 0.3371},     {"F2", 0.3721, 0.3751},      {"F3", 0.4091, 0.3941},       {"F4", 0.4402, 0.4031},
                             {"F5", 0.3138, 0.3452},     {"F6", 0.3779, 0.3882},      {"F7", 0.3129, 0.3292},       {"F8", 0.3458, 0.3586},
                             {"F9", 0.3741, 0.3727},     {"F10", 0.3458, 0.3588},     {"F11", 0.3805, 0.3769},      {"F12", 0.4370, 0.4042},
                             {"LED-B1", 0.4560, 0.4078}, {"LED-B2", 0.4357, 0.4012},  {"LED-B3", 0.3756, 0.3723},   {"LED-B4", 0.3422, 0.3502},
                             {"LED-B5", 0.3118, 0.3236}, {"LED-BH1", 0.4474, 0.4066}, {"LED-RGB1", 0.4557, 0.4211}, {"LED-V1", 0.4548, 0.4044},
                             {"LED-V2", 0.3781, 0.3775}};
    const auto see = [](Worst& worst, const Printed& printed) {
        const Xy ours = xy(xyz(named(printed.light), Observer::degree2));
        worst.see(std::max(std::abs(ours.x - printed.x), std::abs(ours.y - printed.y)), printed.light);
    };
    Worst worst, coarse;
    for (const Printed& printed : fine) see(worst, printed);
    for (const Printed& printed : lamps) see(coarse, printed);
    worst.report("the CIE's printed x, y (from memory), A C D", 1.5e-5);
    coarse.report("the CIE's printed x, y (from memory), F and LED", 5e-5 + 1e-9);
}

TEST(WhitePoints, TheConstantsOfColorHppAreTheSums) {
    EXPECT_LE(far(xyz(named("D50"), Observer::degree2), kWhiteD50.X, kWhiteD50.Y, kWhiteD50.Z), 5e-6);
    EXPECT_LE(far(xyz(named("D65"), Observer::degree2), kWhiteD65.X, kWhiteD65.Y, kWhiteD65.Z), 5e-6);
}

TEST(Reflectance, ThePerfectDiffuserIsWhite) {
    Reflectance diffuser;
    diffuser.value.fill(1);
    for (const char* name : {"A", "D65", "F11", "LED-V1"}) {
        const Light l = named(name);
        const Xyz surface = xyz(diffuser, l, Observer::degree10), white = xyz(l, Observer::degree10);
        EXPECT_LE(far(surface, white.X, 100, white.Z), 1e-10) << name;
    }
}

std::string made_csv(double first, double step, std::size_t count, const char* separator, const char* header = "nm,value\n") {
    std::string text = header;
    for (std::size_t i = 0; i < count; ++i) {
        text += shortest(first + step * static_cast<double>(i)) + separator + shortest(0.25 + 0.001 * static_cast<double>(i)) + "\n";
    }
    return text;
}

TEST(ParseSpectrum, ReadsTheFormsPeopleHave) {
    const auto check = [](const std::string& text, const char* what) {
        const Result<SpectrumTable> table = parse_spectrum(text, "chip.csv");
        ASSERT_TRUE(table) << what << ": " << describe(table.error());
        EXPECT_EQ(table->first_nm, 380) << what;
        EXPECT_EQ(table->step_nm, 10) << what;
        ASSERT_EQ(table->value.size(), 36U) << what;
        EXPECT_EQ(table->value[1], 0.251) << what;
    };
    const std::string plain = made_csv(380, 10, 36, ",");
    check(plain, "comma");
    check(made_csv(380, 10, 36, ",", ""), "no header");
    check(made_csv(380, 10, 36, ";", "nm;value\n"), "semicolon");
    check(made_csv(380, 10, 36, "\t", "# measured\n\nWavelength (nm)\tR, specular in\n"), "tab, comment, empty line");
    check("\xEF\xBB\xBF" + plain, "byte order mark");
    const auto replaced = [](std::string text, const std::string& from, const std::string& to) {
        for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size())) text.replace(at, from.size(), to);
        return text;
    };
    check(replaced(plain, "\n", "\r\n"), "line ends of two characters");
    check(replaced(plain, "\n", "\r"), "line ends of old");
    check(replaced(replaced(made_csv(380, 10, 36, ";", ""), ".", ","), "\n", ";\n"), "decimal comma, empty cell at the end");
    check(replaced(replaced(made_csv(380, 10, 36, ";", ""), "0,", "+0,"), ";", " ; "), "blanks");
    const std::string bare = made_csv(380, 10, 36, "\",\"", "");
    check("\"" + replaced(bare, "\n", "\"\n\"").erase(bare.size() + 2 * 36 - 1), "quotes");
}

// Spectrometers with steps of 10/3 nm write 383.3 or 383.33: to a digit, 0.05 nm, the steps are even. A step that is really off by more is not.
TEST(ParseSpectrum, RoundedWavelengthsAreEvenSteps) {
    for (const int decimals : {1, 2, 3}) {
        std::string text;
        for (int i = 0; i <= 96; ++i) {
            char row[64];
            std::snprintf(row, sizeof row, "%.*f,%d\n", decimals, 380 + i * 10.0 / 3, i);
            text += row;
        }
        const Result<SpectrumTable> table = parse_spectrum(text, "lamp.csv");
        ASSERT_TRUE(table) << describe(table.error());
        EXPECT_NEAR(table->step_nm, 10.0 / 3, 0.001) << decimals;
        EXPECT_EQ(table->value.size(), 97U);
        const std::size_t at = text.find("\n400") + 1;
        text.replace(at, 3, "399");
        EXPECT_FALSE(parse_spectrum(text, "lamp.csv"));
    }
}

TEST(ParseSpectrum, PercentIsRecognized) {
    SpectrumTable table{380, 10, std::vector<double>(36, 45.0)};
    const Result<Reflectance> r = reflectance(table, "chip.csv");
    ASSERT_TRUE(r);
    EXPECT_DOUBLE_EQ(r->value[0], 0.45);
    EXPECT_DOUBLE_EQ(r->value[kBands - 1], 0.45);
    table.value[3] = 151;
    const Result<Reflectance> bad = reflectance(table, "chip.csv");
    ASSERT_FALSE(bad);
    EXPECT_EQ(bad.error().place, "410 nm");
    table.value.assign(36, 0.4);
    table.value[0] = -0.02;
    EXPECT_FALSE(reflectance(table, "chip.csv"));
}

TEST(Reflectance, EndsAreHeldAndPointsKept) {
    const SpectrumTable table{400, 10, {0.1, 0.2, 0.15, 0.3, 0.4, 0.35, 0.5, 0.6, 0.55, 0.7, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3,
                                        0.2, 0.3, 0.4,  0.5, 0.6, 0.7,  0.6, 0.5, 0.4,  0.3, 0.2, 0.1, 0.2, 0.3, 0.4}};
    const Result<Reflectance> r = reflectance(table, "");
    ASSERT_TRUE(r);
    EXPECT_EQ(r->value[0], 0.1);
    EXPECT_EQ(r->value[kBands - 1], 0.4);
    for (std::size_t i = 0; i < table.value.size(); ++i) EXPECT_EQ(r->value[40 + 10 * i], table.value[i]);
}

// A published lamp written to a file and read back is the same lamp.
TEST(LightFromTable, GivesBackAPublishedLamp) {
    const Csv csv = test::read_csv(std::string(SW_ASSETS) + "/cie/illuminants.csv");
    SpectrumTable table{380, 5, {}};
    for (std::size_t i = 0; i < csv.rows.size(); ++i) {
        const double nm = std::stod(csv.rows[i][0]);
        if (nm >= 380 && nm <= 780) table.value.push_back(csv.number(i, "F11"));
    }
    const Result<Light> l = light_from_table(table, "lamp.csv");
    ASSERT_TRUE(l);
    EXPECT_EQ(l->name, "lamp.csv");
    const Xyz theirs = xyz(named("F11"), Observer::degree2);
    EXPECT_LE(far(xyz(*l, Observer::degree2), theirs.X, theirs.Y, theirs.Z), 1e-9);
}

TEST(LightFromTable, RefusesWhatIsNoLight) {
    SpectrumTable table{380, 10, std::vector<double>(36, 0.0)};
    EXPECT_FALSE(light_from_table(table, ""));  // none at all
    table.value[10] = -1e-3;
    EXPECT_FALSE(light_from_table(table, ""));
    table.value[10] = 1e300;
    EXPECT_FALSE(light_from_table(table, ""));
    table.value[10] = std::nan("");
    EXPECT_FALSE(light_from_table(table, ""));
    table.value.assign(36, 0.0);
    table.value[30] = 1;  // deep red alone: no blue to see by
    const Result<Light> red = light_from_table(table, "red.csv");
    ASSERT_FALSE(red);
    EXPECT_FALSE(red.error().remedy.empty());
    EXPECT_FALSE(light_from_table({380, 0, {1, 2, 3, 4, 5, 6, 7}}, ""));
    EXPECT_FALSE(light_from_table({380, 10, {}}, ""));
}

struct BadCsv {
    const char* what;
    std::string text;
    const char* says;   // part of the message
    const char* place;  // where, "" = the whole file
};

TEST(ParseSpectrum, RefusesWhatIsNoSpectrumAndSaysWhere) {
    const std::string good = made_csv(380, 10, 36, ",");
    const auto with_line = [&good](std::size_t number, const std::string& line) {  // 1 = header
        std::string text;
        std::size_t n = 0;
        std::stringstream stream(good);
        for (std::string l; std::getline(stream, l);) text += (++n == number ? line : l) + "\n";
        return text;
    };
    const BadCsv cases[] = {
        {"empty", "", "holds no figures", ""},
        {"blank", "\n\n \n", "holds no figures", ""},
        {"comments only", "# a\n# b\n", "holds no figures", ""},
        {"header only", "nm,R\n", "holds no figures", ""},
        {"one row", "nm,R\n400,0.5\n", "single row", "line 2"},
        {"binary", std::string("\x89PNG\r\n\x1a\n\0\0", 10), "", ""},
        {"prose", "Dear painter\nthis is no table\n", "is not a wavelength", "line 2"},
        {"word for value", with_line(5, "410,dark"), "\"dark\" is not a number", "line 5"},
        {"empty value", with_line(5, "410,"), "is not a number", "line 5"},
        {"no value", with_line(5, "410"), "no value", "line 5"},
        {"nan", with_line(5, "410,nan"), "is not a number", "line 5"},
        {"infinity", with_line(5, "410,inf"), "is not a number", "line 5"},
        {"too large for a number", with_line(5, "410,1e999"), "is not a number", "line 5"},
        {"hexadecimal", with_line(5, "410,0x1p3"), "is not a number", "line 5"},
        {"two numbers in one", with_line(5, "410,0.5 0.6"), "is not a number", "line 5"},
        {"third column", with_line(5, "410,0.5,0.6"), "3 columns", "line 5"},
        {"many columns", "nm,a,b,c\n400,1,2,3\n", "4 columns", "line 1"},
        {"decimal comma between commas", "380,0,5\n390,0,6\n", "3 columns", "line 1"},
        {"thousand points", "380;1.234,5\n", "is not a number", "line 1"},
        {"wavelength twice", with_line(5, "400,0.5"), "does not rise", "line 5"},
        {"falling", "400,1\n390,1\n", "does not rise", "line 2"},
        {"micrometers", "0.38,0.5\n0.39,0.5\n", "not a wavelength in nm", "line 1"},
        {"negative wavelength", "-380,0.5\n", "not a wavelength in nm", "line 1"},
        {"wavenumbers", "25000,0.5\n26000,0.5\n", "not a wavelength in nm", "line 1"},
        {"gap", with_line(5, ""), "uneven (400, then 420 nm)", "line 6"},
        {"uneven", with_line(5, "412,0.5"), "uneven (400, then 412 nm)", "line 5"},
        {"too fine", made_csv(380, 0.5, 800, ","), "step is 0.5 nm", "line 2"},
        {"too coarse", made_csv(380, 25, 15, ","), "step is 25 nm", "line 2"},
        {"starts late", made_csv(420, 10, 36, ","), "covers 420 to 770 nm", "line 2"},
        {"ends early", made_csv(380, 10, 30, ","), "covers 380 to 670 nm", "line 31"},
        {"two headers", "nm,R\nwavelength,reflectance\n380,0.5\n", "is not a wavelength", "line 2"},
        {"rows without end", made_csv(1, 1, 6000, ","), "more than 5000 rows", "line 5002"},
        {"slip in the first wavelength", "38O,0.5\n" + made_csv(390, 10, 35, ",", ""), "\"38O\" is not a wavelength", "line 1"},
        {"decimal comma between quotes", "380,\"0,5\"\n", "3 columns", "line 1"},
        {"blanks between", "nm value\n380 0.5\n", "not a wavelength", "line 2"},
        {"sixteen bits a letter", std::string("\xFF\xFEn\0m\0,\0R\0\n\0003\0008\0000\0,\0001\0\n\0", 25), "not a wavelength", "line 2"},
        {"text after the table", good + "end of file\n", "is not a wavelength", "line 38"},
    };
    for (const BadCsv& c : cases) {
        const Result<SpectrumTable> table = parse_spectrum(c.text, "bad.csv");
        ASSERT_FALSE(table) << c.what;
        const Error& e = table.error();
        EXPECT_EQ(e.fault, Fault::table_malformed) << c.what;
        EXPECT_EQ(e.file, "bad.csv") << c.what;
        EXPECT_NE(e.cause.find(c.says), std::string::npos) << c.what << ": " << e.cause;
        EXPECT_FALSE(e.remedy.empty()) << c.what;
        if (*c.place != '\0') {
            EXPECT_EQ(e.place, c.place) << c.what;
        }
    }
}

// Whatever happens to a file: an error with a remedy, or a table that is what it says: finite, even steps, the range covered.
TEST(ParseSpectrum, SurvivesTenThousandMutations) {
    const std::string seeds[] = {made_csv(380, 10, 36, ","), made_csv(400, 20, 16, ";", ""), "# lamp\r\nnm\tW\r\n" + made_csv(380, 5, 81, "\t", "")};
    const std::string letters = "0123456789.,;\t\n\r+-eE# nm\"x\xEF\x80";
    std::mt19937_64 random(20240606);
    std::size_t read = 0;
    for (int i = 0; i < 10000; ++i) {
        std::string text = seeds[random() % 3];
        for (std::size_t k = random() % 4 + 1; k > 0 && !text.empty(); --k) {
            const std::size_t at = random() % text.size();
            switch (random() % 4) {
                case 0:
                    text[at] = letters[random() % letters.size()];
                    break;
                case 1:
                    text.insert(at, 1, letters[random() % letters.size()]);
                    break;
                case 2:
                    text.erase(at, random() % 8 + 1);
                    break;
                default:
                    text.resize(std::max<std::size_t>(at, 1));
                    break;
            }
        }
        const Result<SpectrumTable> table = parse_spectrum(text, "mutant.csv");
        if (!table) {
            EXPECT_EQ(table.error().fault, Fault::table_malformed);
            EXPECT_FALSE(table.error().remedy.empty());
            continue;
        }
        ++read;
        const double last = table->first_nm + table->step_nm * static_cast<double>(table->value.size() - 1);
        EXPECT_TRUE(table->first_nm <= 400 && last >= 700 && table->step_nm >= 0.99 && table->step_nm <= 20.01) << text;
        for (const double v : table->value) EXPECT_TRUE(std::isfinite(v)) << text;
        if (const Result<Reflectance> r = reflectance(*table, "")) {
            for (const double v : r->value) EXPECT_TRUE(std::isfinite(v)) << text;
        }
        if (const Result<Light> l = light_from_table(*table, "")) {
            for (const double v : l->power) EXPECT_TRUE(std::isfinite(v)) << text;
        }
    }
    EXPECT_GT(read, 100U);  // mutations of a single digit are still tables
    EXPECT_LT(read, 9000U);
}

}  // namespace
}  // namespace sw
