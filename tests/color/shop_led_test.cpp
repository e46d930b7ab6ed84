#include "color/shop_led.hpp"

#include <numeric>
#include <random>

#include "color/cie_data.hpp"
#include "color/difference.hpp"
#include "color/lights.hpp"
#include "color/reference.hpp"

namespace sw {
namespace {

using test::Csv;
using test::named;
using test::Worst;

double luminance(const Bands& power) { return std::inner_product(power.begin(), power.end(), color_matching(Observer::degree2)[1].begin(), 0.0); }

double highest(const Bands& power) { return *std::max_element(power.begin(), power.end()); }

#if defined(SW_SLOW_BUILD)
constexpr bool kSlow = true;
#else
constexpr bool kSlow = false;
#endif

/// What every light with may_be promises: equally many, finite, >= 0, each of the Y of `power`, their mean `power`.
void expect_sound(const Light& l, Worst& mean, Worst& bright) {
    ASSERT_TRUE(l.may_be) << l.name;
    const std::vector<Bands>& draws = *l.may_be;
    ASSERT_GE(draws.size(), 2U) << l.name;
    Bands middle{};
    for (const Bands& draw : draws) {
        for (std::size_t i = 0; i < kBands; ++i) {
            ASSERT_TRUE(std::isfinite(draw[i]) && draw[i] >= 0) << l.name;
            middle[i] += draw[i] / static_cast<double>(draws.size());
        }
        bright.see(std::abs(luminance(draw) / luminance(l.power) - 1), l.name);
    }
    for (std::size_t i = 0; i < kBands; ++i) mean.see(std::abs(middle[i] - l.power[i]) / highest(l.power), l.name);
}

TEST(ShopLed, HasTheFiguresOnItsBox) {
    Worst mired, ra, duv;
    const auto check = [&](const std::string& text, double k, double r, double d) {
        const Result<Light> l = light(text);
        ASSERT_TRUE(l) << describe(l.error());
        for (const double p : l->power) EXPECT_TRUE(p >= 0 && std::isfinite(p)) << text;
        const LightQuality q = light_quality(*l);
        mired.see(std::abs(1e6 / q.cct - 1e6 / k), text);
        if (r > 0) ra.see(std::abs(q.ra - r), text);
        if (d > -1) duv.see(std::abs(q.duv - d), text);
    };
    for (const double k : {2200.0, 2700.0, 3000.0, 3500.0, 4000.0, 5000.0, 5700.0, 6500.0, 8000.0}) {
        check("led:" + shortest(k), k, 0, -2);
        for (const double r : {70.0, 80.0, 90.0, 95.0}) check("led:" + shortest(k) + ",ra=" + shortest(r), k, r, -2);
    }
    check("led:4000,ra=80,duv=0.002", 4000, 80, 0.002);
    check("led:6500,ra=80,duv=-0.005", 6500, 80, -0.005);
    check("led:3000,ra=82,peak=455", 3000, 82, -2);
    mired.report("shop LEDs, CCT against the box, mired", 0.5);  // promised in shop_led.hpp
    ra.report("shop LEDs, Ra against the box", 0.5);             // likewise
    duv.report("shop LEDs, Duv against the box", 0.00025);       // likewise
}

TEST(ShopLed, IsBlueUnderPhosphorAndPeaksWhereAsked) {
    const auto blue_peak = [](const Light& l) {
        return kFirstNm + static_cast<int>(std::max_element(l.power.begin() + 60, l.power.begin() + 130) - l.power.begin());
    };
    EXPECT_NEAR(blue_peak(named("led:6500,ra=80")), 450, 7);  // mean and sd of the population
    EXPECT_NEAR(blue_peak(named("led:5000,ra=80,peak=460")), 460, 2);
    EXPECT_NEAR(blue_peak(named("led:5000,ra=80,peak=440")), 440, 2);
}

TEST(ShopLed, TheSameTextIsTheSameLight) {
    for (const char* text : {"led:6500,ra=80", "led:3000", "led:4000,ra=90,duv=0.001,peak=455", "0.7*led:6500,ra=80+0.3*led:3000"}) {
        const Light a = named(text), b = named(text);
        EXPECT_EQ(a.power, b.power) << text;
        EXPECT_EQ(*a.may_be, *b.may_be) << text;
    }
    EXPECT_FALSE(named("D65").may_be);
    EXPECT_FALSE(named("LED-B3").may_be);
    EXPECT_FALSE(named("0.5*D65+0.5*A").may_be);
}

// Tolerances: rounding. Where draws were cut at 0 (most lamps of a CCT alone: by up to 0.6 % of the highest), scaling them to the mean and to Y in
// turn undoes it to the last digits.
TEST(ShopLed, DrawsAreSpectraWhoseMeanIsTheLight) {
    Worst mean, bright;
    for (const char* text :
         {"led:6500,ra=80", "led:6500", "led:2200", "led:8000", "led:2700,ra=97", "led:6500,ra=70", "led:4000,ra=80,duv=0.001", "led:4000,peak=470",
          "led:3000,ra=90,duv=-0.01,peak=440", "0.7*led:6500,ra=80+0.3*D65", "1*led:6500,ra=80+2*led:3000,ra=90+0.5*F4", "5*led:4000+2*led:4000"}) {
        expect_sound(named(text), mean, bright);
    }
    mean.report("mean of the draws against the light, of its highest", 1e-9);
    bright.report("Y of the draws against the light's, relative", 1e-9);
}

// Kernels: 3 mired and Ra 1 (shop_led.hpp), widened where lamps are few. Mixing unlike spectra raises Ra, so draws whose mean has the Ra asked for
// sit below it: by 1 to 2 at Ra 80, by up to 8 where lamps with and without a red emitter mix (seen: 6.7 at 3000 K, Ra 90).
TEST(ShopLed, DrawsScatterAboutTheFigures) {
    std::printf("%-28s %12s %12s %12s %12s\n", "light", "CCT mean", "CCT sd", "Ra mean", "Ra sd");
    for (const auto& [text, k, r] : {std::tuple{"led:6500,ra=80", 6500.0, 80.0}, std::tuple{"led:4000,ra=80,duv=0.001", 4000.0, 80.0},
                                     std::tuple{"led:3000,ra=90", 3000.0, 90.0}, std::tuple{"led:5000,ra=70", 5000.0, 70.0}}) {
        const Light l = named(text);
        double cct = 0, ra = 0;
        for (const Bands& draw : *l.may_be) {
            const LightQuality q = light_quality({"", draw});
            ASSERT_TRUE(q.cct_valid);
            cct += q.cct / static_cast<double>(l.may_be->size());
            ra += q.ra / static_cast<double>(l.may_be->size());
        }
        const LightQuality sd = light_quality_sd(l);
        std::printf("%-28s %12.0f %12.0f %12.1f %12.2f\n", text, cct, sd.cct, ra, sd.ra);
        EXPECT_NEAR(1e6 / cct, 1e6 / k, 1.5) << text;  // 3 mired over the root of 60 is 0.4
        EXPECT_NEAR(ra, r - (r < 85 ? 1 : 4), r < 85 ? 2 : 4) << text;
        const double sd_mired = 1e6 * sd.cct / k / k;
        EXPECT_TRUE(sd_mired > 0.5 && sd_mired < 6) << text << ' ' << sd_mired;
        EXPECT_TRUE(sd.ra > 0.1 && sd.ra < 6) << text << ' ' << sd.ra;
    }
}

/// Root of the mean variance of the draws, of the light's highest.
double spread(const Light& l) {
    double squares = 0;
    for (const Bands& draw : *l.may_be) {
        for (std::size_t i = 0; i < kBands; ++i) squares += (draw[i] - l.power[i]) * (draw[i] - l.power[i]);
    }
    return std::sqrt(squares / static_cast<double>(l.may_be->size() * kBands)) / highest(l.power);
}

TEST(ShopLed, MoreKnowledgeNeverWidensTheMeanSpread) {
    double cct = 0, ra = 0, duv = 0, peak = 0;
    for (const double k : {2700.0, 3000.0, 4000.0, 5000.0, 6500.0}) {
        for (const double r : {75.0, 82.0, 90.0}) {
            const std::string text = "led:" + shortest(k);
            const std::string with_ra = text + ",ra=" + shortest(r), with_duv = with_ra + ",duv=0.001";
            cct += spread(named(text)) / 15;
            ra += spread(named(with_ra)) / 15;
            duv += spread(named(with_duv)) / 15;
            peak += spread(named(with_duv + ",peak=450")) / 15;
        }
    }
    std::printf("mean spread of the draws, of the highest: CCT %.3f, + Ra %.3f, + Duv %.3f, + peak %.3f\n", cct, ra, duv, peak);
    EXPECT_GT(cct, ra);
    EXPECT_GT(ra, duv);
    EXPECT_GT(duv, peak);
    EXPECT_GT(peak, 0.001);
}

TEST(ShopLed, BlendsCarryTheDoubt) {
    // Half daylight, half the spread; a lamp with itself is the same lamp; two lamps are independent: their variances add.
    const Light a = named("led:6500,ra=80"), b = named("led:6500,ra=81");
    const auto absolute = [](const Light& l, Observer observer) {  // sd of X of the white, Y = 100
        double mean = 0, squares = 0;
        for (const Bands& draw : *l.may_be) mean += xyz(Light{"", draw}, observer).X / static_cast<double>(l.may_be->size());
        for (const Bands& draw : *l.may_be) squares += std::pow(xyz(Light{"", draw}, observer).X - mean, 2);
        return std::sqrt(squares / static_cast<double>(l.may_be->size()));
    };
    const double own = absolute(a, Observer::degree10), other = absolute(b, Observer::degree10);
    ASSERT_GT(own, 0);
    // The white's X is linear in the shares, as all draws are of the same 2-degree Y and the 10-degree Y hardly differs: 2 %.
    EXPECT_NEAR(absolute(named("0.5*led:6500,ra=80+0.5*D65"), Observer::degree10) / own, 0.5, 0.02);
    EXPECT_NEAR(absolute(named("0.5*led:6500,ra=80+0.5*led:6500, RA=80.0"), Observer::degree10) / own, 1, 1e-9);
    // 60 pairs of independent draws: their correlation is 0 give or take 0.13; two of these move the spread of the sum by 13 %.
    const double both = absolute(named("1*led:6500,ra=80+1*led:6500,ra=81"), Observer::degree10);
    EXPECT_NEAR(both / (std::hypot(own, other) / 2), 1, 0.15);
    const Light blend = named("0.7*led:6500,ra=80+0.3*D65");
    EXPECT_EQ(blend.name, "0.7*led:6500,ra=80+0.3*D65");
    EXPECT_EQ(blend.may_be->size(), a.may_be->size());
}

TEST(ShopLed, QualityHasStandardDeviations) {
    const LightQuality none = light_quality_sd(named("LED-B3"));
    EXPECT_TRUE(none.cct_valid);
    EXPECT_EQ(none.cct, 0);
    EXPECT_EQ(none.rf, 0);
    // Two spectra, worked by hand: the sample deviation of two values is their distance over the root of 2.
    const Light a = named("A"), d = named("D65");
    Light either{"either", a.power};
    either.may_be = std::make_shared<const std::vector<Bands>>(std::vector<Bands>{a.power, d.power});
    const LightQuality sd = light_quality_sd(either), qa = light_quality(a), qd = light_quality(d);
    EXPECT_TRUE(sd.cct_valid);
    for (const auto figure : {&LightQuality::cct, &LightQuality::duv, &LightQuality::ra, &LightQuality::r9, &LightQuality::rf, &LightQuality::rg}) {
        EXPECT_NEAR(sd.*figure, std::abs(qa.*figure - qd.*figure) / std::sqrt(2.0), 1e-9);
    }
    EXPECT_NEAR(sd.ri[8], sd.r9, 1e-12);
    Bands line{};
    line[170] = 1;  // 530 nm alone: no CCT
    either.may_be = std::make_shared<const std::vector<Bands>>(std::vector<Bands>{a.power, line});
    EXPECT_FALSE(light_quality_sd(either).cct_valid);
    EXPECT_FALSE(light_quality_sd({"line", line}).cct_valid);
}

TEST(ShopLed, SaysWhatCanBeReached) {
    struct Case {
        const char *text, *says;
    };
    for (const Case& c : {Case{"led:6500,ra=99", "reach Ra "}, Case{"led:6500,ra=52", "reach Ra "}, Case{"led:2200,duv=0.02", "have Duv "},
                          Case{"led:2200,ra=95,duv=0.02", "have Duv "}, Case{"led:8000,peak=480", "blue peak at 470 nm or nearer to 450"},
                          Case{"led:8000,ra=90,duv=0.001,peak=480", "blue peak at 470 nm or nearer to 450"},
                          Case{"led:4000,ra=99,duv=0.001", "and Duv 0.001 reach Ra "},
                          Case{"led:8000,duv=-0.02,peak=470", "with the blue peak at 470 nm have Duv "}}) {
        const Result<Light> l = light(c.text);
        ASSERT_FALSE(l) << c.text;
        EXPECT_EQ(l.error().fault, Fault::light_unknown);
        EXPECT_EQ(l.error().place, c.text);
        EXPECT_NE(l.error().remedy.find(c.says), std::string::npos) << c.text << ": " << l.error().remedy;
        EXPECT_NE(l.error().remedy.find("violet-pumped and three-color lamps are something else"), std::string::npos);
        EXPECT_NE(l.error().remedy.find("CSV"), std::string::npos);
        EXPECT_FALSE(light("0.5*" + std::string(c.text) + "+0.5*D65")) << c.text;
    }
    // What it says can be reached, can.
    const std::string remedy = light("led:6500,ra=52").error().remedy;
    const std::string reach = remedy.substr(remedy.find("reach Ra ") + 9);
    const int least = std::stoi(reach), most = std::stoi(reach.substr(reach.find(" to ") + 4));
    EXPECT_LT(least, 75);
    EXPECT_GT(most, 90);
    for (const int r : {least, least + 1, 80, most - 1, most}) EXPECT_TRUE(light("led:6500,ra=" + std::to_string(r))) << r;
}

TEST(ShopLed, AThousandTextsNeverGiveAnotherLight) {
    std::mt19937_64 random(20261125);
    const auto from = [&random](double least, double most, double step) {
        return least + step * static_cast<double>(random() % static_cast<std::uint64_t>(std::round((most - least) / step) + 1));
    };
    const int trials = kSlow ? 30 : 250;
    Worst off, mean, bright;
    int refused = 0;
    for (int i = 0; i < trials; ++i) {
        const double k = from(2100, 8100, 10);
        std::string text = "led:" + shortest(k);
        if (random() % 4 != 0) text += ",ra=" + shortest(std::round(from(48, 101, 0.5) * 10) / 10);
        if (random() % 3 == 0) text += ",duv=" + shortest(std::round(from(-0.021, 0.021, 0.0005) * 1e4) / 1e4);
        if (random() % 8 == 0) text += ",peak=" + shortest(from(418, 482, 1));
        const Result<Light> l = light(text);
        if (!l) {
            ++refused;
            EXPECT_EQ(l.error().fault, Fault::light_unknown) << text;
            EXPECT_FALSE(l.error().remedy.empty()) << text;
            continue;
        }
        EXPECT_EQ(l->name, text);
        off.see(std::abs(light_quality(*l).cct / k - 1), text);
        expect_sound(*l, mean, bright);
    }
    off.report("CCT of random shop LEDs, relative", 0.02);
    mean.report("mean of their draws, of the highest", 1e-9);
    bright.report("Y of their draws, relative", 1e-9);
    std::printf("refused %d of %d\n", refused, trials);
    EXPECT_LT(refused, trials * 6 / 10);
    EXPECT_GT(refused, 0);
}

struct Surfaces {
    std::string name;
    std::vector<Reflectance> all;
};

/// Surfaces no part of the lamp's population was made with: 99 samples of CIE 224:2017, and 190 beside the project where they are.
std::vector<Surfaces> surfaces() {
    std::vector<Surfaces> result;
    if (test::is_beside("training_reflectance_190.csv")) {
        const Csv csv = test::read_csv(test::beside_file("training_reflectance_190.csv"));
        result.push_back({"190 reflectances", {}});
        for (std::size_t column = 1; column < csv.header.size(); ++column) {
            SpectrumTable table{std::stod(csv.rows[0][0]), std::stod(csv.rows[1][0]) - std::stod(csv.rows[0][0]), {}};
            for (const std::vector<std::string>& row : csv.rows) table.value.push_back(std::stod(row[column]));
            result.back().all.push_back({on_grid(table, Between::sprague, Outside::held)});
        }
    }
    result.push_back({"99 of CIE 224", {}});
    for (const CieColumn& column : cie_columns("color_evaluation_samples_224.csv")) {
        result.back().all.push_back({on_grid(column.table, Between::sprague, Outside::held)});
    }
    return result;
}

using Row = std::array<double, 3>;

Lab under(const Reflectance& surface, const Light& l) { return lab(xyz(surface, l, Observer::degree2), xyz(l, Observer::degree2)); }

/// Squared Mahalanobis distance of a color from where the draws put it: their covariance, and 0.05 an axis.
double distance_squared(const Lab& truth, const Lab& guess, const std::vector<Row>& draws) {
    Row mean{};
    for (const Row& draw : draws) {
        for (std::size_t i = 0; i < 3; ++i) mean[i] += draw[i] / static_cast<double>(draws.size());
    }
    std::array<std::array<double, 4>, 3> m{};
    for (std::size_t r = 0; r < 3; ++r) {
        for (std::size_t c = 0; c < 3; ++c) {
            for (const Row& draw : draws) m[r][c] += (draw[r] - mean[r]) * (draw[c] - mean[c]) / static_cast<double>(draws.size() - 1);
        }
        m[r][r] += 0.05 * 0.05;
    }
    const Row off{truth.L - guess.L, truth.a - guess.a, truth.b - guess.b};
    for (std::size_t r = 0; r < 3; ++r) m[r][3] = off[r];
    for (std::size_t r = 0; r < 3; ++r) {
        for (std::size_t other = 0; other < 3; ++other) {
            if (other == r) continue;
            const double factor = m[other][r] / m[r][r];
            for (std::size_t c = r; c < 4; ++c) m[other][c] -= factor * m[r][c];
        }
    }
    double d2 = 0;
    for (std::size_t r = 0; r < 3; ++r) d2 += off[r] * m[r][3] / m[r][r];
    return d2;
}

// Source of the goals: the issue; a prototype over 129 measured lamps had 0.66 / 1.37 and 0.44 / 0.88 (mean / 95 %). The lamps are the CIE's six with
// blue emitter and phosphor (CIE 015:2018), of which the population knows nothing. Each color relative to its own lamp's white, 2 degrees; CIEDE2000.
// Coverage: the true color within the 95 % region of the ensemble (chi squared, 3 degrees of freedom: 7.815).
TEST(ShopLed, IsNearTheTrueLamps) {
    struct Level {
        const char* name;
        bool ra, duv;
        double mean, worst;
    };
    constexpr double kNoGoal = 1e9, kCovered = 0.93;
    const std::array<Level, 3> levels{
        {{"CCT + Ra", true, false, 0.70, 1.45}, {"CCT + Duv + Ra", true, true, 0.45, 0.95}, {"CCT", false, false, kNoGoal, kNoGoal}}};
    const std::vector<const char*> lamps{"LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1"};
    std::printf("%-17s %-15s %-22s %-22s %-16s", "surfaces", "known", "mean (goal)", "worst lamp (goal)", "covered (goal)");
    for (const char* lamp : lamps) std::printf(" %8s", lamp);
    std::printf("\n");
    bool held = false;  // the bars are for the first set of surfaces; the others are shown
    for (const Surfaces& set : surfaces()) {
        for (const Level& level : levels) {
            std::vector<double> means;
            double covered = 0;
            for (const char* lamp : lamps) {
                const Light truth = named(lamp);
                const LightQuality q = light_quality(truth);
                ShopLed known{.cct = q.cct, .ra = {}, .duv = {}, .peak_nm = {}};
                if (level.ra) known.ra = q.ra;
                if (level.duv) known.duv = q.duv;
                const Result<Light> guess = shop_led(known);
                ASSERT_TRUE(guess) << describe(guess.error());
                std::vector<Light> drawn;
                for (const Bands& draw : *guess->may_be) drawn.push_back({"", draw});
                double sum = 0;
                for (std::size_t s = 0; s < set.all.size(); s += kSlow ? 10 : 1) {
                    const Reflectance& surface = set.all[s];
                    const Lab t = under(surface, truth), g = under(surface, *guess);
                    sum += difference_2000(t, g);
                    std::vector<Row> rows;
                    for (const Light& l : drawn) {
                        const Lab x = under(surface, l);
                        rows.push_back({x.L, x.a, x.b});
                    }
                    covered += distance_squared(t, g, rows) < 7.815 ? 1 : 0;
                }
                means.push_back(sum * (kSlow ? 10 : 1) / static_cast<double>(set.all.size()));
            }
            covered *= (kSlow ? 10.0 : 1.0) / static_cast<double>(set.all.size() * lamps.size());
            const double mean = std::accumulate(means.begin(), means.end(), 0.0) / static_cast<double>(means.size());
            const double worst = *std::max_element(means.begin(), means.end());
            const auto figure = [](double value, double goal) {
                char buffer[64];
                std::snprintf(buffer, sizeof buffer, goal < kNoGoal ? "%.3f (%.2f)" : "%.3f (none)", value, goal);
                return std::string(buffer);
            };
            std::printf("%-17s %-15s %-22s %-22s %5.1f %% (%.0f %%) ", set.name.c_str(), level.name, figure(mean, level.mean).c_str(),
                        figure(worst, level.worst).c_str(), 100 * covered, 100 * kCovered);
            for (const double m : means) std::printf(" %8.2f", m);
            std::printf("\n");
            if (!held && !kSlow && set.all.size() > 100) {
                EXPECT_LE(mean, level.mean) << level.name;
                EXPECT_LE(worst, level.worst) << level.name;
                EXPECT_GE(covered, kCovered) << level.name;
            }
        }
        held = true;
    }
}

}  // namespace
}  // namespace sw
