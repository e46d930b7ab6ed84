// What is wrong with the light: uneven, of two colors, hazy, toned from place to place; found, told in words and figures, and carried by readings.
#include "calibrate/light_report.hpp"

#include <Eigen/Cholesky>
#include <functional>

#include "calibrate/calibration.hpp"
#include "calibrate/scene.hpp"
#include "color/difference.hpp"

namespace sw {
namespace {

using test::Bench;
using test::mentions;

/// Changes every pixel by where it lies: x and y from -1 to 1 over the picture's width (y as far as it goes).
void change(Bench& bench, const std::function<Eigen::Vector3d(double x, double y, const Eigen::Vector3d&)>& by) {
    constexpr double half = Bench::kWidth / 2.0;
    for (int y = 0; y < Bench::kHeight; ++y) {
        for (int x = 0; x < Bench::kWidth; ++x) {
            float* p = &bench.photo.rgb[3 * (static_cast<std::size_t>(y) * Bench::kWidth + static_cast<std::size_t>(x))];
            const Eigen::Vector3d v = by((x - half) / half, (y - Bench::kHeight / 2.0) / half, Eigen::Vector3d(p[0], p[1], p[2]));
            for (int c = 0; c < 3; ++c) p[c] = static_cast<float>(v[c]);
        }
    }
}
/// A lamp from one side and a window from the other: red rises to the right by `tint` over the picture, blue falls.
void mix_light(Bench& bench, double tint) {
    change(bench, [&](double x, double, const Eigen::Vector3d& v) {
        const double step = std::log1p(tint) / 4 * x;  // red + step, blue - step, from -1 to 1: log(1 + tint) altogether
        return Eigen::Vector3d(v[0] * std::exp(step), v[1], v[2] * std::exp(-step));
    });
}

struct Chip {
    Box box;
    Lab truth;
};
std::vector<Chip> lay_chips(Bench& bench, double left, double top, int columns, int rows, int seed) {
    std::vector<Chip> chips;
    for (int i = 0; i < columns * rows; ++i) {
        const ModelSpectrum s = test::surface(811 * i + seed);
        chips.push_back({bench.lay({left + 45.0 * (i % columns), top + 45.0 * (i / columns), 36, 36}, s), test::lab_d50(s)});  // NOLINT
    }
    return chips;
}
struct Score {
    double mean = 0, covered = 0;
};
Score score(const Bench& bench, const Calibration& c, const std::vector<Chip>& chips) {
    Score s;
    for (const Chip& chip : chips) {
        const Reading r = *read_region(bench.photo, c, "chip", chip.box, *light("D50"));
        const Eigen::Vector3d off(r.lab.L - chip.truth.L, r.lab.a - chip.truth.a, r.lab.b - chip.truth.b);
        s.mean += difference_2000(chip.truth, r.lab) / static_cast<double>(chips.size());
        s.covered += (off.dot(r.lab_covariance.ldlt().solve(off)) < 7.815 ? 1.0 : 0.0) / static_cast<double>(chips.size());
    }
    return s;
}
Calibration calibrated(const Bench& bench, const References& r) {
    const Result<Calibration> c = calibrate(bench.photo, r);
    EXPECT_TRUE(c) << describe(c.error());
    return *c;
}

// ---- plain surroundings

// A card at the left, chips near it and far off on a plain board; the light falls off and turns warmer. Marking the board must bring the far chips
// near the error of the near ones, and cost nothing where the light is even.
TEST(PlainSurrounding, BringsFarReadingsBack) {
    std::printf("%-34s | near: card alone, with plain | far: card alone, with plain | covered far (goal 90 %%)\n", "light");
    struct Case {
        const char* name;
        Eigen::Vector2d slope;
        double tint;
    };
    for (const Case& light : {Case{"even", {0, 0}, 0},
                              {"falls off to 50 % over the picture", {-0.35, -0.1}, 0},
                              {"the same, and 20 % warmer at the right", {-0.35, -0.1}, 0.2}}) {
        Bench bench;
        bench.slope = light.slope;
        bench.lay({0, 0, 600, 400}, ModelSpectrum::Constant(0.4));
        References r;
        r.grays.push_back({bench.lay({20, 160, 80, 80}, ModelSpectrum::Constant(0.18)), 18});
        const std::vector<Chip> near = lay_chips(bench, 120, 160, 2, 2, 5), far = lay_chips(bench, 440, 20, 3, 8, 77);
        if (light.tint > 0) mix_light(bench, light.tint);
        const Calibration without = calibrated(bench, r);
        r.plain.push_back(Box{0, 0, 600, 400});  // with everything that lies on it
        const Calibration with = calibrated(bench, r);
        EXPECT_TRUE(mentions(with.references, "plain surrounding 0,0,600,400"));
        const Score n0 = score(bench, without, near), n1 = score(bench, with, near), f0 = score(bench, without, far), f1 = score(bench, with, far);
        std::printf("%-34s |        %5.2f   %5.2f          |       %5.2f   %5.2f          | %3.0f %%\n", light.name, n0.mean, n1.mean, f0.mean,
                    f1.mean, 100 * f1.covered);
        EXPECT_LT(f1.mean, light.slope[0] == 0 ? f0.mean + 0.15 : 0.5 * f0.mean);
        EXPECT_LT(n1.mean, n0.mean + 0.15);
        EXPECT_GE(f1.covered, 0.9);
        if (light.slope[0] != 0) {
            EXPECT_TRUE(with.light.field_known);
            EXPECT_EQ(with.light.brightest.find("left") != std::string::npos, true) << with.light.brightest;
            const double truth = std::exp(2 * 0.35 * 8 / 9.0 + 2 * 0.1 * 8 / 9.0 * 400 / 600.0) - 1;  // between the outermost places looked at
            EXPECT_NEAR(with.light.uneven.value, truth, std::max(3 * with.light.uneven.sd, 0.05));
        }
    }
}

TEST(PlainSurrounding, ThatIsNotPlainIsNamedAndNotUsed) {
    Bench bench;
    bench.lay({0, 0, 600, 400}, ModelSpectrum::Constant(0.4));
    for (int i = 0; i < 10; ++i) bench.lay({60.0 * i, 120, 60, 280}, ModelSpectrum::Constant(0.22 + 0.05 * (7 * i % 10)));  // planks
    References r;
    r.grays.push_back({bench.lay_card(), 18});
    r.plain.push_back(Box{0, 120, 600, 280});
    const Calibration c = calibrated(bench, r);
    EXPECT_TRUE(mentions(c.warnings, "plain surrounding: is not plain")) << c.warnings.size();
    EXPECT_TRUE(mentions(c.warnings, "mark a part of one color"));
    r.plain = {Box{580, 380, 100, 100}};
    const Result<Calibration> outside = calibrate(bench.photo, r);
    ASSERT_FALSE(outside);
    EXPECT_EQ(outside.error().fault, Fault::region_outside);
    EXPECT_NE(outside.error().place.find("plain surrounding"), std::string::npos);
    r.plain = {Box{580, 380, 8, 8}};
    EXPECT_TRUE(mentions(calibrated(bench, r).warnings, "plain surrounding: too small"));
}

// ---- two lights

// The share by which red over blue changes over the whole picture must come back within three of its standard deviations; an even light is not
// blamed. 8/9 of it lies between the outermost places that are looked at.
TEST(MixedLight, IsFoundAndTold) {
    std::printf("%-10s %-14s | told (goal: truth within 3 sd), warning | far chips: mean, covered\n", "truth", "from");
    for (const double tint : {0.0, 0.1, 0.2, 0.35}) {
        for (const char* from : {"chart", "four cards", "card and plain"}) {
            Bench bench;
            bench.lay({0, 0, 600, 400}, ModelSpectrum::Constant(0.4));
            References r;
            const std::string kind = from;
            if (kind == "chart") {
                r.chart = bench.lay_chart();
            } else if (kind == "four cards") {
                for (const Box& box : {Box{10, 300, 90, 70}, {200, 20, 90, 70}, {350, 310, 90, 70}, {500, 200, 90, 70}})
                    r.grays.push_back({bench.lay(box, ModelSpectrum::Constant(0.18)), 18});
            } else {
                r.grays.push_back({bench.lay({120, 160, 80, 80}, ModelSpectrum::Constant(0.18)), 18});
                r.plain.push_back(Box{0, 0, 600, 400});
            }
            const std::vector<Chip> chips = lay_chips(bench, 10, 100, 2, 4, 99);
            mix_light(bench, tint);
            const Calibration c = calibrated(bench, r);
            const double truth = std::exp(std::log1p(tint) * 8 / 9.0) - 1;
            const bool told = mentions(c.warnings, "two lights in one picture");
            const Score s = score(bench, c, chips);
            std::printf("%4.0f %%     %-14s | %5.1f %% +- %4.1f %%, %-3s %-12s | %5.2f  %3.0f %%\n", 100 * truth, from, 100 * c.light.tint.value,
                        100 * c.light.tint.sd, told ? "yes" : "no", c.light.warmest.c_str(), s.mean, 100 * s.covered);
            if (tint == 0) {
                EXPECT_FALSE(told) << from;
            } else {
                EXPECT_NEAR(c.light.tint.value, truth, 3 * c.light.tint.sd + 0.01) << from;
            }
            if (tint >= 0.2) {
                EXPECT_TRUE(told) << from;
                EXPECT_NE(c.light.warmest.find("right"), std::string::npos) << c.light.warmest;
            }
            EXPECT_GE(s.covered, 0.85) << from;
        }
    }
}

// ---- veiling light

// Added to every pixel as a share of white: it must come back within three of its standard deviations, and be told above 2 %.
TEST(VeilingLight, IsEstimatedFromBlackAndWhite) {
    for (const double veil : {0.003, 0.01, 0.03}) {
        Bench bench;
        References r;
        r.chart = bench.lay_chart();
        const std::vector<Chip> chips = lay_chips(bench, 10, 20, 4, 8, 31);
        change(bench, [&](double, double, const Eigen::Vector3d& v) {
            return Eigen::Vector3d(v + (veil - 0.003) * bench.exposure * Eigen::Vector3d(0.9, 1, 1.15));  // the bench has 0.3 % of its own
        });
        const Calibration c = calibrated(bench, r);
        ASSERT_TRUE(c.light.veil);
        const Score s = score(bench, c, chips);
        std::printf("veiling light %.1f %%: told %.2f %% +- %.2f %%; chips %.2f, covered %.0f %%\n", 100 * veil, 100 * c.light.veil->value,
                    100 * c.light.veil->sd, s.mean, 100 * s.covered);
        EXPECT_NEAR(c.light.veil->value, veil, 3 * c.light.veil->sd);
        EXPECT_LT(c.light.veil->sd, 0.005);
        EXPECT_EQ(mentions(c.warnings, "veiling light lies over the picture"), veil > 0.02);
        EXPECT_TRUE(mentions(c.light.lines, "veiling light"));
    }
    Bench bench;
    References card;
    card.grays.push_back({bench.lay_card(), 18});
    EXPECT_FALSE(calibrated(bench, card).light.veil) << "one card cannot tell";
}

// ---- local tone mapping

/// Cards of four levels at the upper left, the chart at the lower right; tones at the left are bent by a power, as programs lift shadows.
Bench toned(double power, References& r, std::vector<Box>& pair) {
    Bench bench;
    bench.lay({0, 0, 600, 400}, ModelSpectrum::Constant(0.4));
    int i = 0;
    for (const double lrv : {8.0, 18.0, 45.0, 80.0}) {
        r.grays.push_back({bench.lay({10.0 + 52 * (i % 2), 10.0 + 60 * (i / 2), 48, 54}, ModelSpectrum::Constant(lrv / 100)), lrv});  // NOLINT
        ++i;
    }
    r.chart = bench.lay_chart();
    pair = {bench.lay({20, 280, 50, 50}, test::surface(4321)), bench.lay({80, 280, 50, 50}, test::surface(4325))};
    change(bench, [&](double x, double, const Eigen::Vector3d& v) {
        const double here = x < -0.5 ? power : x > -0.3 ? 1 : 1 + (power - 1) * (-0.3 - x) / 0.2;
        const double level = std::max(1e-4, v.dot(Eigen::Vector3d(0.2126, 0.7152, 0.0722)));
        return Eigen::Vector3d(v * std::pow(level / 0.1, here - 1));
    });
    return bench;
}
TEST(LocalToneMapping, IsNoticedAndAbsoluteColorsAreRefused) {
    for (const double power : {1.0, 0.9, 0.8, 0.7}) {
        References r;
        std::vector<Box> pair;
        const Bench bench = toned(power, r, pair);
        const Calibration c = calibrated(bench, r);
        const bool noticed = c.light.local_tone.has_value();
        std::printf("left bent by a power of %.1f: %s", power, noticed ? "noticed, " : "not noticed\n");
        if (noticed) std::printf("%.3f +- %.3f\n", c.light.local_tone->apart.value, c.light.local_tone->apart.sd);
        EXPECT_EQ(noticed, power < 0.95);
        EXPECT_EQ(c.absolute_ok, !noticed);
        EXPECT_EQ(mentions(c.warnings, "the picture was toned differently from place to place"), noticed);
        const Reading reading = *read_region(bench.photo, c, "chip", pair[0], *light("D50"));
        EXPECT_EQ(reading.absolute_ok, !noticed);
        EXPECT_EQ(mentions(reading.warnings, "its color by itself is unknown"), noticed);
    }
}
// Two like cards on one plain board, the left one's surroundings darkened by a program: no course of light does that.
TEST(LocalToneMapping, IsNoticedByCardsAgainstOneSurrounding) {
    for (const double lifted : {1.0, 1.35}) {
        Bench bench;
        bench.slope = {0.15, 0};
        bench.lay({0, 0, 600, 400}, ModelSpectrum::Constant(0.4));
        References r;
        r.grays.push_back({bench.lay({60, 160, 80, 80}, ModelSpectrum::Constant(0.18), lifted), 18});
        r.grays.push_back({bench.lay({460, 160, 80, 80}, ModelSpectrum::Constant(0.18)), 18});
        r.plain.push_back(Box{0, 0, 600, 400});
        const Calibration c = calibrated(bench, r);
        EXPECT_EQ(c.absolute_ok, lifted == 1.0);
        EXPECT_EQ(mentions(c.warnings, "like cards at the"), lifted != 1.0);
    }
}

// ---- single references

// Three cards, one in shadow: too few for weights, but its own left-out reading tells.
TEST(CardInShadow, IsNamedAmongThree) {
    for (const double level : {1.0, 0.55}) {
        Bench bench;
        References r;
        r.grays.push_back({bench.lay({20, 20, 80, 70}, ModelSpectrum::Constant(0.18)), 18});
        r.grays.push_back({bench.lay({260, 160, 80, 70}, ModelSpectrum::Constant(0.18), level), 18});
        r.grays.push_back({bench.lay({480, 300, 80, 70}, ModelSpectrum::Constant(0.5)), 50});
        const Calibration c = calibrated(bench, r);
        EXPECT_EQ(mentions(c.warnings, "gray card 2: much darker than the other references say"), level != 1.0);
        EXPECT_FALSE(mentions(c.warnings, "gray card 1: much"));
        EXPECT_FALSE(mentions(c.warnings, "gray card 3: much"));
        EXPECT_EQ(c.uses[1].remark.empty(), level == 1.0);
    }
}

// A green cloth for a card: no usual light makes that of a neutral. Half adapted lamps and windows are not blamed.
TEST(CardNotNeutral, IsNamed) {
    struct Case {
        Eigen::Vector3d rgb;
        bool blamed;
    };
    for (const Case& c : {Case{{0.10, 0.18, 0.11}, true}, {{0.20, 0.11, 0.19}, true}, {{0.26, 0.18, 0.12}, false}, {{0.15, 0.18, 0.22}, false}}) {
        Bench bench;
        bench.photo.linear = false;
        References r;
        r.grays.push_back({bench.lay_rgb({20, 20, 100, 80}, c.rgb), 18});
        const Calibration one = calibrated(bench, r);
        EXPECT_EQ(mentions(one.warnings, "which no usual light makes of a neutral card"), c.blamed) << c.rgb.transpose();
    }
}

TEST(UnevenLight, TooMuchOfItIsTold) {
    for (const double slope : {0.05, 0.5}) {
        Bench bench;
        bench.slope = {slope, 0};
        References r;
        r.chart = bench.lay_chart();
        EXPECT_EQ(mentions(calibrated(bench, r).warnings, "the light is too uneven"), slope > 0.3);
    }
}

TEST(PlaceWord, NamesThirds) {
    SensorSetup setup;
    setup.width = 300;
    setup.height = 300;
    EXPECT_EQ(place_word(setup, {10, 10}), "upper left");
    EXPECT_EQ(place_word(setup, {150, 150}), "middle");
    EXPECT_EQ(place_word(setup, {150, 10}), "top");
    EXPECT_EQ(place_word(setup, {150, 290}), "bottom");
    EXPECT_EQ(place_word(setup, {290, 150}), "right");
    EXPECT_EQ(place_word(setup, {290, 290}), "lower right");
}

}  // namespace
}  // namespace sw
