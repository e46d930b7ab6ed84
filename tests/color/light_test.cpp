#include "color/light.hpp"

#include <random>

#include "color/cie_data.hpp"
#include "color/lights.hpp"
#include "color/reference.hpp"

namespace sw {
namespace {

using test::Csv;
using test::named;
using test::no_files;
using test::Worst;

double sum(const Light& l) {
    double total = 0;
    for (const double p : l.power) total += p;
    return total;
}

TEST(Light, StandardNamesInTheirOrderAndAnyCase) {
    const std::vector<std::string> expected{"A",      "C",      "D50",    "D55",    "D65",    "D75",     "F1",       "F2",     "F3",
                                            "F4",     "F5",     "F6",     "F7",     "F8",     "F9",      "F10",      "F11",    "F12",
                                            "LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "LED-V2"};
    EXPECT_EQ(standard_light_names(), expected);
    EXPECT_EQ(named("d65").name, "D65");
    EXPECT_EQ(named("  led-rgb1 ").name, "LED-RGB1");
    EXPECT_EQ(named("Daylight:5600").name, "daylight:5600");
    EXPECT_EQ(named("planck: 2850.50").name, "planck:2850.5");
    EXPECT_EQ(named("led:6500, RA=80").name, "led:6500,ra=80");
    EXPECT_EQ(named("LED:4000,duv=0.002,ra=90").name, "led:4000,ra=90,duv=0.002");
    EXPECT_EQ(named(" 0.70*led:6500,ra=80 + .3*d65").name, "0.7*led:6500,ra=80+0.3*D65");
}

TEST(Light, CanonicalNamesReadBackAsTheSameLight) {
    for (const char* text : {"A", "F4", "LED-V2", "daylight:5555.5", "planck:1234", "led:3000,ra=90", "led:5000", "led:4000,ra=80,duv=0.001,peak=455",
                             "2*A+3*D65", "1e-3*F2+0.5*planck:3000"}) {
        const Light once = named(text), twice = named(once.name);
        EXPECT_EQ(once.name, twice.name);
        EXPECT_EQ(once.power, twice.power) << text;
    }
}

// Source: the CIE tables themselves. A D light of nominal CCT: 1.4388/1.4380 times the name (CIE 015:2018, 3.1). The tables are made with M1, M2
// rounded to 3 decimals: half of the last digit times S1 (up to 46) and S2 (up to 10) is 0.03 of 100; D50's table is printed to 3 decimals.
TEST(Daylight, GivesTheTablesOfTheDSeries) {
    Worst worst;
    for (const double k : {5000.0, 5500.0, 6500.0, 7500.0}) {
        const Light ours = daylight(k * 1.4388 / 1.4380), table = named("D" + shortest(k / 100));
        for (std::size_t i = 0; i < kBands; ++i)
            worst.see(std::abs(ours.power[i] - table.power[i]), table.name + " " + std::to_string(kFirstNm + static_cast<int>(i)) + " nm");
    }
    worst.report("illuminants.csv, D series by its components", 0.03);
}

TEST(Daylight, HasPowerEverywhereAndItsCct) {
    for (double k = 4000; k <= 25000; k *= 1.1) {
        const Light l = daylight(k);
        for (const double p : l.power) EXPECT_GT(p, 0) << k;
        // Source: the daylight locus was fitted in (x, y); its CCT is good to about 0.2 % (CIE 015:2018 leaves it at that). Own check of the formula:
        // 0.5 %.
        EXPECT_NEAR(light_quality(l).cct / k, 1, 0.005) << k;
    }
}

// Source: Planck's law: Wien's displacement, lambda_max = c2 / 4.965114 / T (root of the law's derivative), here 3600 to 8000 K inside the grid.
TEST(Planck, PeaksWhereWienSays) {
    for (const double k : {3600.0, 5000.0, 6500.0, 8000.0}) {
        const Light l = planck(k);
        const auto top = std::max_element(l.power.begin(), l.power.end());
        EXPECT_NEAR(static_cast<double>(kFirstNm + (top - l.power.begin())), 1.4388e7 / 4.965114 / k, 0.51) << k;
    }
    for (const double k : {500.0, 50000.0}) {
        for (const double p : planck(k).power) EXPECT_TRUE(std::isfinite(p) && p > 0) << k;
    }
    // Source: the table of A (6 digits of values up to 262: 5e-4).
    const Light a = named("A");
    const Csv csv = test::read_csv(std::string(SW_ASSETS) + "/cie/illuminants.csv");
    for (std::size_t i = 0; i < csv.rows.size(); ++i) {
        const int nm = std::stoi(csv.rows[i][0]);
        if (nm >= kFirstNm && nm <= kLastNm) {
            EXPECT_NEAR(a.power[static_cast<std::size_t>(nm - kFirstNm)], csv.number(i, "A"), 5.1e-4) << nm;
        }
    }
}

TEST(Blend, SharesAreOfIlluminance) {
    // The white point of a blend lies between those of its parts: XYZ at Y = 100 add up by share.
    const Xyz a = xyz(named("A"), Observer::degree2), f = xyz(named("F11"), Observer::degree2), mixed = xyz(named("3*A+1*F11"), Observer::degree2);
    EXPECT_NEAR(mixed.X, 0.75 * a.X + 0.25 * f.X, 1e-9);
    EXPECT_NEAR(mixed.Z, 0.75 * a.Z + 0.25 * f.Z, 1e-9);
    const Xyz alone = xyz(named("0.2*A"), Observer::degree2);
    EXPECT_NEAR(alone.X, a.X, 1e-9);
}

TEST(Light, FilesAreRead) {
    std::string text = "nm,W\n";
    for (int nm = 380; nm <= 780; nm += 5) text += std::to_string(nm) + ",1\n";
    const FileReader reader = [&text](const std::string& path) -> Result<std::string> {
        if (path == "lamp" || path == "my+2*lamps.csv" || path == "D65.csv") return text;
        return no_files(path);
    };
    for (const char* path : {"lamp", "D65.csv", "my+2*lamps.csv"}) {
        const Result<Light> l = light(path, reader);
        // A plus sign with a share behind it parts a blend only where the text begins with a share.
        ASSERT_TRUE(l) << describe(l.error());
        EXPECT_EQ(l->name, path);
        EXPECT_NEAR(l->power[100], 100, 1e-9);
    }
    const Result<Light> blend = light("0.5*D65.csv+0.5*A", reader);
    ASSERT_TRUE(blend);
    EXPECT_EQ(blend->name, "0.5*D65.csv+0.5*A");
    const Result<Light> missing = light("no/such.csv", reader);
    ASSERT_FALSE(missing);
    EXPECT_EQ(missing.error().fault, Fault::file_missing);
    text = "nm,W\n400,1\n";
    const Result<Light> broken = light("lamp", reader);
    ASSERT_FALSE(broken);
    EXPECT_EQ(broken.error().fault, Fault::table_malformed);
    EXPECT_EQ(broken.error().file, "lamp");
}

TEST(Light, RefusesWhatIsNoLight) {
    const std::string bad[] = {"",
                               " ",
                               "\t\n",
                               "d",
                               "D",
                               "D5",
                               "D51",
                               "D650",
                               "D65x",
                               "D 65",
                               "F0",
                               "F13",
                               "F-1",
                               "F1.5",
                               "FF",
                               "LED",
                               "LED-",
                               "LED-B6",
                               "LED-B",
                               "LED_B1",
                               "B",
                               "daylight",
                               "daylight:",
                               "daylight:x",
                               "daylight:3999",
                               "daylight:25001",
                               "daylight:nan",
                               "daylight:inf",
                               "daylight:-5600",
                               "daylight:5600K",
                               "daylight:5600,ra=80",
                               "daylight:5,600",
                               "daylight:0x1600",
                               "planck:",
                               "planck:499",
                               "planck:50001",
                               "planck:1e9",
                               "planck:2850:1",
                               "planck:--2850",
                               "planck 2850",
                               "led:",
                               "led:x",
                               "led:2199",
                               "led:8001",
                               "led:6500,",
                               "led:6500,,ra=80",
                               "led:6500,ra",
                               "led:6500,ra=",
                               "led:6500,ra=x",
                               "led:6500,ra=101",
                               "led:6500,ra=49",
                               "led:6500,ra=-80",
                               "led:6500,ra=nan",
                               "led:6500,cri=80",
                               "led:6500,ra=80,ra=80",
                               "led:6500,duv=1",
                               "led:6500,peak=500",
                               "led:6500 ra=80",
                               "led:6500;ra=80",
                               "led:ra=80",
                               "led:80,ra=6500",
                               "0.7*",
                               "*D65",
                               "0.7*+0.3*A",
                               "0*D65",
                               "-1*D65",
                               "0.7*D65+",
                               "0.7*D65+A",
                               "0.7*D65+0.3*",
                               "0.7*D65+0*A",
                               "0.7*D65+-0.3*A",
                               "0.7*0.5*D65",
                               "nan*D65",
                               "inf*D65",
                               "1e300*D65",
                               "1e-300*D65",
                               "D65*0.7",
                               "D65+A",
                               "0.7 D65",
                               "0.7*D65++0.3*A",
                               "0.5*x+0.5*A",
                               "0.5*daylight:1+0.5*A",
                               "lamp",
                               "lamp.csv",
                               "/",
                               ".",
                               "..",
                               std::string("D65\0", 4),
                               std::string("\0", 1),
                               "\xff\xfe",
                               "D65;A",
                               "%n%s",
                               "<D65>",
                               std::string(5000, 'D'),
                               "1*A+1*A+1*A+1*A+1*A+1*A+1*A+1*A+1*A+1*A+1*A+1*A+1*A+1*A+1*A+1*A+1*A"};
    for (const std::string& text : bad) {
        for (const bool with_reader : {false, true}) {
            const Result<Light> l = light(text, with_reader ? FileReader(no_files) : FileReader());
            ASSERT_FALSE(l) << text;
            EXPECT_TRUE(l.error().fault == Fault::light_unknown || (with_reader && l.error().fault == Fault::file_missing)) << text;
            EXPECT_FALSE(l.error().cause.empty()) << text;
            EXPECT_FALSE(l.error().remedy.empty()) << text;
            for (const char c : describe(l.error())) EXPECT_TRUE(static_cast<unsigned char>(c) >= 32 || with_reader) << text;
        }
    }
}

// Beside a reader of files, a slip in a name or blend is still called that: only what looks like a path is answered with the file's own error.
TEST(Light, ASlipIsNotTakenForAFile) {
    for (const char* text : {"0.7*0.5*D65", "D65*0.7", "0.7*D65-0.3*A", "0.7*D65+A", "F1.5", "0.7 D65", "lamp"}) {
        const Result<Light> l = light(text, no_files);
        ASSERT_FALSE(l) << text;
        EXPECT_EQ(l.error().fault, Fault::light_unknown) << text;
    }
    EXPECT_NE(light("0.7*0.5*D65", no_files).error().cause.find("share of a share"), std::string::npos);
    for (const char* text : {"lamp.csv", "lights/lamp", "./lamp", "My Lamp.TXT"}) {
        const Result<Light> l = light(text, no_files);
        ASSERT_FALSE(l) << text;
        EXPECT_EQ(l.error().fault, Fault::file_missing) << text;
    }
}

// Lights of the user's own, by names that hold blanks and signs.
Result<Light> own_light(const std::string& name) {
    Bands flat{};
    flat.fill(100);
    if (name == "bench lamp" || name == "D65" || name == "a+b" || name == "a+2*b" || name == "strip.csv") return Light{name, flat, {}};
    if (name == "window") return light("daylight:5600");
    if (name == "both") return light("1*A+1*D65");
    if (name == "locked") return Error{Fault::workbook_locked, "w.swb", "", "is in use", "wait"};
    return Error{Fault::name_unknown, "w.swb", name, "is not there", "list them"};
}
Light with_own(const std::string& text) {
    const Result<Light> found = light(text, no_files, own_light);
    EXPECT_TRUE(found) << text << ": " << describe(found.error());
    return found ? *found : Light{};
}

TEST(OwnLights, StandWhereALightIsAskedFor) {
    EXPECT_EQ(with_own("bench lamp").power[0], 100);
    EXPECT_EQ(with_own(" bench lamp ").name, "bench lamp");
    EXPECT_EQ(with_own("strip.csv").name, "strip.csv") << "where there is no such file";
    EXPECT_EQ(with_own("window").name, "daylight:5600");
    EXPECT_EQ(with_own("D65").power, light("D65")->power) << "what everybody knows goes first";
    EXPECT_EQ(with_own("\"D65\"").power[0], 100) << "in quotes it is one's own";
    EXPECT_EQ(with_own("a+2*b").power[0], 100);
}

TEST(OwnLights, InBlendsAsThemselves) {
    // By definition a blend of lights of equal illuminance has the mean of their white points, weighted by share.
    const Xyz flat = xyz(with_own("bench lamp"), Observer::degree2), d65 = xyz(*light("D65"), Observer::degree2);
    for (const char* text : {"0.7*bench lamp+0.3*D65", " 0.7 * bench lamp + 0.3 * D65 ", "0.3*D65+0.7*\"bench lamp\"", "7*a+b+3*D65",
                             "0.7*\"a+2*b\"+0.3*D65", "0.7*\"D65\"+0.3*D65"}) {
        const Light mixed = with_own(text);
        const Xyz white = xyz(mixed, Observer::degree2);
        EXPECT_NEAR(white.X, 0.7 * flat.X + 0.3 * d65.X, 1e-9) << text;
        EXPECT_NEAR(white.Z, 0.7 * flat.Z + 0.3 * d65.Z, 1e-9) << text;
        const Light again = with_own(mixed.name);
        EXPECT_EQ(again.power, mixed.power) << mixed.name;
        EXPECT_EQ(again.name, mixed.name);
    }
    EXPECT_EQ(with_own("0.7*bench lamp+0.3*D65").name, "0.7*bench lamp+0.3*D65");
    EXPECT_EQ(with_own("0.7*\"a+2*b\"+0.3*D65").name, "0.7*\"a+2*b\"+0.3*D65");
    EXPECT_EQ(with_own("0.7*\"window\"+0.3*D65").name, "0.7*daylight:5600+0.3*D65") << "what everybody can read";
    const Light nested = with_own("0.5*both+0.5*F11");
    EXPECT_EQ(nested.name, "0.5*\"both\"+0.5*F11") << "no share of a share";
    EXPECT_EQ(with_own(nested.name).power, nested.power);
}

TEST(OwnLights, WhatIsNotThereIsTold) {
    for (const char* text : {"attic", "\"attic\"", "0.5*attic+0.5*A", "0.5*\"attic\"+0.5*A", "\"bench lamp", "0.5*\"bench lamp+0.5*A", "\"\""})
        EXPECT_EQ(light(text, no_files, own_light).error().fault, Fault::light_unknown) << text;
    EXPECT_EQ(light("\"bench lamp\"", no_files).error().fault, Fault::light_unknown) << "there are none of one's own";
    EXPECT_EQ(light("attic.csv", no_files, own_light).error().fault, Fault::file_missing);
    for (const char* text : {"locked", "\"locked\"", "0.5*locked+0.5*A"})
        EXPECT_EQ(light(text, no_files, own_light).error().fault, Fault::workbook_locked) << text;
}

/// A light's text as the list of what it says: words in small letters, signs, numbers by value; blanks left out.
std::vector<std::string> said(const std::string& text) {
    std::vector<std::string> tokens;
    for (std::size_t i = 0; i < text.size();) {
        const char c = text[i];
        const auto digit = [&text](std::size_t k) { return k < text.size() && ((text[k] >= '0' && text[k] <= '9') || text[k] == '.'); };
        if (digit(i)) {
            std::size_t used = 0;
            const double value = std::stod(text.substr(i), &used);
            tokens.push_back(std::to_string(value));
            i += used;
        } else {
            if (c != ' ' && c != '\t' && c != '\n' && c != '\r') tokens.emplace_back(1, static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c));
            ++i;
        }
    }
    std::sort(tokens.begin(), tokens.end());
    return tokens;
}

// Whatever a slip of the finger makes of a name: an error with a remedy, or the light the text says, never another one.
TEST(Light, SurvivesTenThousandMutations) {
    const std::string seeds[] = {"D65", "LED-RGB1",      "daylight:5600",  "planck:2850.5",
                                 "F11", "0.7*A+0.3*D65", "led:6500,ra=80", "1*F2+2*planck:3000+.5*LED-B3"};
    const std::string letters = "0123456789.:*+-=,eEADFLdlkrauv \t\n\\/\"\x80";
    std::mt19937_64 random(20240607);
    std::size_t lights = 0;
    for (int i = 0; i < 10000; ++i) {
        std::string text = seeds[random() % 8];
        for (std::size_t k = random() % 3 + 1; k > 0 && !text.empty(); --k) {
            const std::size_t at = random() % text.size();
            switch (random() % 4) {
                case 0:
                    text[at] = letters[random() % letters.size()];
                    break;
                case 1:
                    text.insert(at, 1, letters[random() % letters.size()]);
                    break;
                case 2:
                    text.erase(at, 1);
                    break;
                default:
                    std::swap(text[at], text[random() % text.size()]);
                    break;
            }
        }
        const Result<Light> l = light(text, no_files);
        if (!l) {
            EXPECT_TRUE(l.error().fault == Fault::light_unknown || l.error().fault == Fault::file_missing) << text;
            EXPECT_FALSE(l.error().remedy.empty()) << text;
            continue;
        }
        ++lights;
        EXPECT_EQ(said(l->name), said(text));
        EXPECT_TRUE(std::isfinite(sum(*l)) && sum(*l) > 0) << text;
    }
    EXPECT_GT(lights, 500U);
    EXPECT_LT(lights, 9000U);
}

}  // namespace
}  // namespace sw
