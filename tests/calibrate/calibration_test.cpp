// From references to a map: the map's two forms, gray cards good and bad, known chips right and wrong, and what is said about it.
#include "calibrate/calibration.hpp"

#include <Eigen/Dense>
#include <limits>

#include "calibrate/picture_map.hpp"
#include "calibrate/pipeline.hpp"
#include "calibrate/plain_steps.hpp"
#include "calibrate/scene.hpp"
#include "calibrate/sensed.hpp"
#include "calibrate/sensor_model.hpp"
#include "color/difference.hpp"
#include "color/reference.hpp"
#include "slow.hpp"

namespace sw {
namespace {

using test::Bench;
using test::mentions;
using test::Scene;
using test::Worst;

using test::kSlow;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN(), kInfinity = std::numeric_limits<double>::infinity();

double median(std::vector<double> v) {
    std::sort(v.begin(), v.end());
    return v.size() % 2 == 1 ? v[v.size() / 2] : (v[v.size() / 2 - 1] + v[v.size() / 2]) / 2;
}

Calibration from_card(const Scene& s) {
    References r;
    r.grays.push_back(s.card());
    return *calibrate(test::photo_of(s), r);
}
Calibration from_chart(const Scene& s) {
    References r;
    r.chart = s.chart();
    return *calibrate(test::photo_of(s), r);
}

// ---- the two forms of one map

/// The fit's own arithmetic in double against lcms2 in float, through tables of 4097 points: 0.02 is a tenth of what the eye could see at best.
TEST(PlainMap, IsTheLcms2Pipeline) {
    std::vector<Eigen::Vector3d> means;
    for (const Scene& s : test::scenes()) {
        if (kSlow && means.size() >= 6) break;
        for (const char* role : {"card", "chip", "swatch"}) means.push_back(region_statistics(test::photo_of(s), s.box(role), role)->mean);
    }
    const int n = kSlow ? 4 : 9;
    for (const char* name : {"case-02", "case-08"}) {  // sRGB; a Display P3 profile, where the curve acts on other primaries
        const Scene& s = test::scene(name);
        for (const bool chart : {false, true}) {
            const Calibration c = chart ? from_chart(s) : from_card(s);
            Worst grid, photos;
            const auto off = [&](const Eigen::Vector3d& rgb) { return difference_2000(lab(plain_map(c, rgb), kWhiteD50), pipeline_lab(c, rgb)); };
            for (int r = 0; r < n; ++r) {
                for (int g = 0; g < n; ++g) {
                    for (int b = 0; b < n; ++b) {
                        const Eigen::Vector3d code = Eigen::Vector3d(r, g, b) / (n - 1),
                                              rgb(srgb_to_linear(code[0]), srgb_to_linear(code[1]), srgb_to_linear(code[2]));
                        grid.see(off(rgb), std::to_string(r) + " " + std::to_string(g) + " " + std::to_string(b));
                    }
                }
            }
            for (const Eigen::Vector3d& rgb : means) {
                const Eigen::Vector3d native = c.sensor->setup().native * rgb;
                if (native.minCoeff() >= 0 && native.maxCoeff() <= 1) photos.see(off(rgb), "mean of a photo");
            }
            const std::string what = std::string(name) + (chart ? " chart" : " card");
            grid.report(what + ", grid of encoded values", 0.02);
            photos.report(what + ", means of the photos", 0.02);
        }
    }
}

// One code of 255: rounding of 16-bit steps before the 8-bit ones.
TEST(CorrectedPicture, ShowsThePlainMap) {
    for (const char* name : {"case-02", "case-08"}) {
        const Scene& s = test::scene(name);
        const Photo& photo = test::photo_of(s);
        const Photo in_light = as_light(photo);
        for (const bool chart : {false, true}) {
            Calibration c = chart ? from_chart(s) : from_card(s);
            c.light.field_known = false;  // leveling: see below
            float last = 0;
            const CorrectedPicture picture = correct_picture(photo, c, {}, [&](float share) { last = share; });
            ASSERT_EQ(picture.rgb.size(), in_light.rgb.size());
            EXPECT_FALSE(picture.cancelled);
            EXPECT_EQ(last, 1.F);
            Worst worst;
            for (std::size_t i = 0; i < in_light.clipped.size(); i += 997) {
                const Eigen::Vector3d rgb(in_light.rgb[3 * i], in_light.rgb[3 * i + 1], in_light.rgb[3 * i + 2]);
                const EncodedRgb shown = screen_color(lab(plain_map(c, rgb), kWhiteD50)).rgb;
                const std::array<double, 3> expected{shown.r, shown.g, shown.b};
                for (std::size_t k = 0; k < 3; ++k) worst.see(std::abs(255 * expected[k] - picture.rgb[3 * i + k]), "pixel " + std::to_string(i));
            }
            worst.report(std::string(name) + (chart ? " chart" : " card") + ", codes of 255", 1);
        }
    }
}

/// 16 bits: rounding, and curves as straight pieces; 4 codes are 1/64 of a code of 8 bits.
TEST(CorrectedPicture, SixteenBitsAreAsFine) {
    for (const char* name : {"case-02", "case-08"}) {
        const Scene& s = test::scene(name);
        const Photo& photo = test::photo_of(s);
        const Photo in_light = as_light(photo);
        Calibration c = from_chart(s);
        c.light.field_known = false;
        for (const bool lamp : {false, true}) {
            const PictureMap map = lamp ? PictureMap(c, *light("A")) : PictureMap(c);
            std::vector<std::uint16_t> codes(in_light.rgb.size());
            convert_rows(photo, map, 0, photo.height, codes.data());
            Worst fast, exact;
            for (std::size_t i = 0; i < in_light.clipped.size(); i += 997) {
                const Eigen::Vector3d rgb(in_light.rgb[3 * i], in_light.rgb[3 * i + 1], in_light.rgb[3 * i + 2]);
                const EncodedRgb one = map.color(rgb), plain = screen_color(lab(plain_map(c, rgb), kWhiteD50)).rgb;
                const std::array<double, 3> value{one.r, one.g, one.b}, expected{plain.r, plain.g, plain.b};
                for (std::size_t k = 0; k < 3; ++k) {
                    fast.see(std::abs(65535 * value[k] - codes[3 * i + k]), "pixel " + std::to_string(i));
                    if (!lamp) exact.see(std::abs(value[k] - expected[k]), "pixel " + std::to_string(i));
                }
            }
            fast.report(std::string(name) + (lamp ? " under A" : "") + ", codes of 65535", 4);
            if (!lamp) exact.report(std::string(name) + ", one color against plain_map, 0..1", 1e-9);
        }
    }
}

/// A calibration whose best map is a root-polynomial of degree 3, made from the chart.
Calibration bent(const Scene& s, const std::optional<Light>& lit_by = {}) {
    References r;
    r.chart = s.chart();
    Calibration c = *calibrate(test::photo_of(s), r, {.lit_by = lit_by});
    const ObserverMatrix to_xyz = observer_matrix(lit_by ? *lit_by : *light("D50"), Observer::degree2);
    MapReferences seen{Eigen::Matrix3Xd(3, 24), Eigen::Matrix3Xd(3, 24), Eigen::VectorXd::Ones(24)};
    for (int i = 0; i < 24; ++i) {
        const KnownReference patch = s.patch(i);
        seen.scene.col(i) = c.sensor->scene(region_statistics(test::photo_of(s), patch.region, "patch")->mean);
        seen.xyz.col(i) = to_xyz * chart_reflectances().col(i);
    }
    const PlainMap map = fit_map(MapKind::root_polynomial_3, best_matrix(c.sensor->rows(), to_xyz), to_xyz.rowwise().sum(), seen);
    c.map = std::make_shared<const PlainMap>(map);
    c.light.field_known = false;
    return c;
}

/// Where a root-polynomial won, picture, pipeline, plain map and reading are one transform as well. Tolerances as for the 3x3: half a code and the
/// straight pieces of the curves; lcms2 in float.
TEST(CorrectedPicture, ShowsTheRootPolynomialThatWon) {
    for (const bool named : {false, true}) {
        const Scene& s = test::scene("case-02");
        const Photo& photo = test::photo_of(s);
        const Photo in_light = as_light(photo);
        const Calibration c = bent(s, named ? std::optional<Light>(*light("LED-B3")) : std::nullopt);
        const PictureMap map(c);
        std::vector<std::uint16_t> codes(in_light.rgb.size());
        convert_rows(photo, map, 0, photo.height, codes.data());
        Worst fast, pipeline, differs;
        Calibration matrix = c;
        matrix.map = nullptr;
        for (std::size_t i = 0; i < in_light.clipped.size(); i += 997) {
            const Eigen::Vector3d rgb(in_light.rgb[3 * i], in_light.rgb[3 * i + 1], in_light.rgb[3 * i + 2]);
            const Lab plain = lab(plain_map(c, rgb), kWhiteD50);
            const EncodedRgb shown = screen_color(plain).rgb;
            const std::array<double, 3> expected{shown.r, shown.g, shown.b};
            for (std::size_t k = 0; k < 3; ++k) fast.see(std::abs(65535 * expected[k] - codes[3 * i + k]), "pixel " + std::to_string(i));
            const Eigen::Vector3d native = c.sensor->setup().native * rgb;
            if (native.minCoeff() >= 0 && native.maxCoeff() <= 1) pipeline.see(difference_2000(plain, pipeline_lab(c, rgb)), std::to_string(i));
            differs.see(difference_2000(plain, lab(plain_map(matrix, rgb), kWhiteD50)), std::to_string(i));
        }
        fast.report(named ? "light named, codes of 65535" : "light not named, codes of 65535", 8);
        pipeline.report("lcms2 pipeline, dE00", 0.02);
        std::printf("largest distance from the 3x3: %.2f\n", differs.error());
        EXPECT_GT(differs.error(), 0.3) << "the map must matter, or nothing is tested";
        if (!named) {  // readings go the same way: a patch reads what the picture shows, but for what its surroundings in the library say
            Worst readings;
            for (int i = 0; i < 18; ++i) {
                const Reading read = *read_region(photo, c, "patch", s.patch(i).region, *light("D50"));
                const Eigen::Vector3d scene = c.sensor->scene(read.statistics.mean, center(s.patch(i).region));
                const Eigen::Vector3d v = 100 * (*c.map)(scene);
                readings.see(difference_2000(read.lab, lab(Xyz{v[0], v[1], v[2]}, kWhiteD50)), chart_patch_name(i));
            }
            readings.report("readings of the chart's colors, dE00", 1.0);
        }
    }
}

/// Where the course of the light is known the picture is leveled: a plain board, lit to half at one side, comes out even, and as the references'
/// place.
TEST(CorrectedPicture, IsLeveledWhereTheLightIsKnown) {
    Bench bench;
    bench.slope = {0.35, 0.1};
    bench.grain = 0;
    bench.lay({0, 0, 600, 400}, ModelSpectrum::Constant(0.4));
    References r;
    r.grays.push_back({bench.lay_card(), 18});
    const Calibration rough = *calibrate(bench.photo, r);
    r.plain.push_back(Box{0, 0, 600, 400});
    const Calibration c = *calibrate(bench.photo, r);
    ASSERT_TRUE(c.light.field_known);
    EXPECT_FALSE(rough.light.field_known);
    for (const bool level : {false, true}) {
        Calibration one = c;
        one.light.field_known = level;
        const CorrectedPicture picture = correct_picture(bench.photo, one);
        int low = 255, high = 0;
        for (int y = 130; y < 400; y += 3) {
            for (int x = 0; x < 600; x += 3) {
                const int code = picture.rgb[3 * (static_cast<std::size_t>(y) * 600 + static_cast<std::size_t>(x)) + 1];
                low = std::min(low, code);
                high = std::max(high, code);
            }
        }
        std::printf("board of one gray, codes %d to %d%s\n", low, high, level ? ", leveled (goal: 4 codes apart)" : "");
        if (level) {
            EXPECT_LE(high - low, 4);
        } else {
            EXPECT_GT(high - low, 40);
        }
    }
    const PictureMap map(c);
    EXPECT_TRUE(map.levels());
    std::vector<std::uint16_t> codes(bench.photo.rgb.size());
    convert_rows(bench.photo, map, 0, 400, codes.data());
    Worst fast;
    for (std::size_t i = 0; i < bench.photo.clipped.size(); i += 97) {
        const EncodedRgb one = map.color(Eigen::Vector3d(bench.photo.rgb[3 * i], bench.photo.rgb[3 * i + 1], bench.photo.rgb[3 * i + 2]),
                                         Point{static_cast<double>(i % 600) + 0.5, static_cast<double>(i / 600) + 0.5});  // NOLINT
        fast.see(std::abs(65535 * one.g - codes[3 * i + 1]), std::to_string(i));
    }
    fast.report("leveled, codes of 65535", 8);
}

/// Under another light a neutral stays neutral, and the map is the one of that light: an orange chip is lighter under A than under D65.
TEST(CorrectedPicture, UnderAnotherLightWhiteStaysWhite) {
    const Scene& s = test::scene("case-02");
    const Calibration c = from_chart(s);
    const auto mean = [&](int patch) { return region_statistics(test::photo_of(s), s.patch(patch).region, "patch")->mean; };
    for (const char* name : {"A", "D65", "F11"}) {
        const EncodedRgb white = PictureMap(c, *light(name)).color(mean(18));
        EXPECT_NEAR(white.r, white.g, 0.02) << name;
        EXPECT_NEAR(white.b, white.g, 0.02) << name;
    }
    EXPECT_GT(PictureMap(c, *light("A")).color(mean(6)).r, PictureMap(c, *light("D65")).color(mean(6)).r + 0.01);
}

TEST(CorrectedPicture, CanBeStopped) {
    Bench bench;
    bench.lay({0, 0, 600, 400}, ModelSpectrum::Constant(0.4));
    References r;
    r.grays.push_back({bench.lay_card(), 18});
    const Calibration c = *calibrate(bench.photo, r);
    std::stop_source stop;
    stop.request_stop();
    EXPECT_TRUE(correct_picture(bench.photo, c, stop.get_token()).cancelled);
}

// IEC 61966-2-1 by color/: the picture as it came.
TEST(OriginalPicture, IsEncodedAndClipped) {
    Photo photo;
    photo.width = 4;
    photo.height = 1;
    photo.rgb = {0.F, 0.5F, 1.F, -0.2F, 2.F, 0.001F, 0.18F, 0.18F, 0.18F, 0.0005F, 0.9F, 0.25F};
    photo.clipped.assign(4, 0);
    const CorrectedPicture picture = original_picture(photo);
    for (std::size_t i = 0; i < 12; ++i)
        EXPECT_EQ(picture.rgb[i], std::lround(255 * std::clamp(linear_to_srgb(static_cast<double>(photo.rgb[i])), 0.0, 1.0))) << i;
}

// ---- gray card

// The card's own figures come back: its LRV within the 1 % it is trusted to, neutral within 0.6 (cards are taken as neutral to 0.6 % a channel).
TEST(GrayCard, ReadsItselfNeutralWithItsLrv) {
    const Light d50 = *light("D50");
    for (double lrv : {5.0, 18.0, 50.0, 90.0}) {
        Bench bench;
        const Box box = bench.lay_card(1, lrv);
        References r;
        r.grays.push_back({box, lrv});
        const Calibration c = *calibrate(bench.photo, r);
        const Reading reading = *read_region(bench.photo, c, "card", box, d50);
        const Lch shown = lch(lab(plain_map(c, reading.statistics.mean), kWhiteD50));
        std::printf("card of LRV %2.0f: reads %.2f +- %.2f, a* %.2f b* %.2f; plain map L* %.2f C* %.2f\n", lrv, reading.lrv, reading.lrv_sd,
                    reading.lab.a, reading.lab.b, shown.L, shown.C);
        EXPECT_NEAR(reading.lrv, lrv, 0.02 * lrv);
        EXPECT_LT(std::hypot(reading.lab.a, reading.lab.b), 0.6);
        EXPECT_LT(shown.C, 0.3);
        EXPECT_LE(std::abs(reading.lrv - lrv), 2 * reading.lrv_sd);
    }
    Worst neutral, level;
    for (const Scene& s : test::scenes()) {
        const Reading reading = *read_region(test::photo_of(s), from_card(s), "card", s.box("card"), d50);
        neutral.see(std::hypot(reading.lab.a, reading.lab.b), s.name);
        level.see(std::abs(reading.lrv / s.card().lrv - 1), s.name);
    }
    neutral.report("C* of the card, simulated photos", 0.6);
    level.report("LRV of the card, relative, simulated photos", 0.02);
}

// Everything is relative to the card: a stop or two more or less light moves nothing but the noise (16 bits linear, grain the same: 0.05).
TEST(GrayCard, ExposureDoesNotMatter) {
    const Light d50 = *light("D50");
    std::vector<Lab> first;
    for (double exposure : {0.25, 0.5, 1.0, 2.0, 4.0}) {
        Bench bench;
        bench.exposure = 0.25 * exposure;
        References r;
        r.grays.push_back({bench.lay_card(), 18});
        std::vector<Box> chips;
        for (int i = 0; i < 5; ++i) chips.push_back(bench.lay({20.0 + 110 * i, 150, 100, 100}, test::surface(3000 * i + 77)));
        const Calibration c = *calibrate(bench.photo, r);
        Worst worst;
        for (std::size_t i = 0; i < chips.size(); ++i) {
            const Lab now = read_region(bench.photo, c, "chip", chips[i], d50)->lab;
            if (exposure == 0.25)
                first.push_back(now);
            else
                worst.see(difference_2000(first[i], now), "chip " + std::to_string(i));
        }
        if (exposure != 0.25) worst.report("exposure " + std::to_string(exposure) + " against 0.25", 0.05);
    }
}

TEST(GrayCard, AnImpossibleLrvIsRefused) {
    Bench bench;
    const Box box = bench.lay_card();
    for (double lrv : {0.0, -18.0, 100.01, 1e9, kNan, kInfinity, -kInfinity}) {
        References r;
        r.grays.push_back({box, lrv});
        const Result<Calibration> c = calibrate(bench.photo, r);
        ASSERT_FALSE(c) << lrv;
        EXPECT_EQ(c.error().fault, Fault::gray_unusable);
        EXPECT_EQ(c.error().file, "bench.png");
        EXPECT_NE(c.error().place.find("gray card"), std::string::npos);
        EXPECT_NE(c.error().remedy.find("LRV"), std::string::npos);
    }
    References top;
    top.grays.push_back({box, 100});
    EXPECT_TRUE(calibrate(bench.photo, top));
}

TEST(GrayCard, ClippedOrBlackIsRefusedAndALittleClippedIsWarnedOf) {
    const auto with = [](double clipped, double level) {
        Bench bench;
        const Box box = bench.lay_card(level);
        bench.clip(box, clipped);
        References r;
        r.grays.push_back({box, 18});
        return calibrate(bench.photo, r);
    };
    const Result<Calibration> burnt = with(0.6, 1), black = with(0, 0.01), spot = with(0.05, 1), dim = with(0, 0.15), good = with(0, 1);
    ASSERT_FALSE(burnt);
    EXPECT_EQ(burnt.error().fault, Fault::gray_unusable);
    EXPECT_NE(burnt.error().cause.find("clipped"), std::string::npos);
    EXPECT_NE(burnt.error().place.find("gray card 20,20,100,80"), std::string::npos);
    EXPECT_NE(burnt.error().remedy.find("expose less"), std::string::npos);
    ASSERT_FALSE(black);
    EXPECT_EQ(black.error().fault, Fault::gray_unusable);
    EXPECT_NE(black.error().cause.find("black"), std::string::npos);
    ASSERT_TRUE(spot);
    EXPECT_TRUE(mentions(spot->warnings, "clipped; expose less"));
    ASSERT_TRUE(dim);
    EXPECT_TRUE(mentions(dim->warnings, "dark in the picture"));
    ASSERT_TRUE(good);
    EXPECT_TRUE(good->warnings.empty()) << good->warnings.front();
}

TEST(GrayCard, OutsideThePictureIsNamed) {
    Bench bench;
    bench.lay_card();
    References r;
    r.grays.push_back({Box{550, 20, 100, 80}, 18});
    const Result<Calibration> c = calibrate(bench.photo, r);
    ASSERT_FALSE(c);
    EXPECT_EQ(c.error().fault, Fault::region_outside);
    EXPECT_NE(c.error().place.find("gray card"), std::string::npos);
    EXPECT_FALSE(c.error().remedy.empty());
}

// A red cloth marked as the card: 3 to 1 between channels is warned of, a card under a warm lamp that the camera half adapted to is not.
TEST(GrayCard, AStronglyColoredOneIsWarnedOf) {
    for (const bool red : {true, false}) {
        Bench bench;
        References r;
        r.grays.push_back({bench.lay_rgb({20, 20, 100, 80}, red ? Eigen::Vector3d(0.4, 0.1, 0.1) : Eigen::Vector3d(0.3, 0.18, 0.12)), 18});
        const Result<Calibration> c = calibrate(bench.photo, r);
        ASSERT_TRUE(c);
        EXPECT_EQ(mentions(c->warnings, "gray card: reads strongly colored"), red);
    }
}

// The card in half the light of the chart: it cannot be the truth about the chart's light, is left out by name, and does no harm.
TEST(GrayCard, InShadowBesideAChartIsNamedAndLeftOut) {
    std::vector<Lab> read;
    for (double level : {1.0, 0.5}) {
        Bench bench;
        References r;
        r.grays.push_back({bench.lay_card(level), 18});
        r.chart = bench.lay_chart();
        const Box chip = bench.lay({20, 200, 100, 100}, test::surface(4321));
        const Result<Calibration> c = calibrate(bench.photo, r);
        ASSERT_TRUE(c) << describe(c.error());
        ASSERT_EQ(c->uses.front().name, "gray card");
        EXPECT_EQ(c->uses.front().used, level == 1);
        EXPECT_EQ(mentions(c->warnings, "gray card: does not fit the other references"), level != 1);
        if (level != 1) {
            EXPECT_FALSE(c->uses.front().remark.empty());
            EXPECT_GT(c->uses.front().de00, 10);  // a stop: L* falls from 50 to 36
        }
        read.push_back(read_region(bench.photo, *c, "chip", chip, *light("D50"))->lab);
    }
    std::printf("chip with the card in shadow against in the light: dE00 %.2f\n", difference_2000(read[0], read[1]));
    EXPECT_LT(difference_2000(read[0], read[1]), 0.5);
}

TEST(GrayCard, LightThatFallsOffAcrossItIsWarnedOf) {
    Bench bench;
    bench.slope = {1.5, 0};
    References r;
    r.grays.push_back({bench.lay_card(), 18});
    const Result<Calibration> c = calibrate(bench.photo, r);
    ASSERT_TRUE(c);
    EXPECT_TRUE(mentions(c->warnings, "the light changes by"));
}

// ---- known chips

TEST(KnownChip, AnImpossibleColorIsRefused) {
    Bench bench;
    const Box box = bench.lay({20, 200, 100, 100}, test::surface(100));
    for (const Lab& color :
         {Lab{0, 0, 0}, Lab{-5, 0, 0}, Lab{101, 0, 0}, Lab{50, 200, 0}, Lab{50, 0, -150}, Lab{kNan, 0, 0}, Lab{50, kNan, 0}, Lab{50, 0, kInfinity}}) {
        References r;
        r.known.push_back({"Damson 14", box, color});
        const Result<Calibration> c = calibrate(bench.photo, r);
        ASSERT_FALSE(c) << color.L << ' ' << color.a << ' ' << color.b;
        EXPECT_EQ(c.error().fault, Fault::known_unusable);
        EXPECT_EQ(c.error().place, "Damson 14");
        EXPECT_NE(c.error().remedy.find("D50"), std::string::npos);
    }
    bench.clip(box, 0.7);
    References r;
    r.known.push_back({"Damson 14", box, Lab{40, 20, -10}});
    const Result<Calibration> c = calibrate(bench.photo, r);
    ASSERT_FALSE(c);
    EXPECT_EQ(c.error().fault, Fault::known_unusable);
    EXPECT_NE(c.error().place.find("Damson 14"), std::string::npos);
}

/// Patches that are well exposed in a scene, of these in this order.
std::vector<int> usable(const Scene& s, const std::vector<int>& wanted, std::size_t count) {
    std::vector<int> list;
    for (int i : wanted) {
        if (list.size() < count && s.patch_clipped(i) < 0.001) list.push_back(i);
    }
    return list;
}

// Three chips of known color (patches red, green, blue; others where these clip) beside the card: better in the median, and no photo much worse.
// Limits from what is reached (printed).
TEST(KnownChip, ThreeBesideTheCardAreNoWorseThanTheCardAlone) {
    const Light d50 = *light("D50");
    std::vector<double> gray, chips;
    double worst = -1;
    std::string where;
    std::printf("%-11s gray card: chip swatch | with 3 known chips: chip swatch\n", "");
    for (const Scene& s : test::scenes()) {
        if (kSlow && gray.size() >= 6) break;
        const Photo& photo = test::photo_of(s);
        References r;
        r.grays.push_back(s.card());
        const Calibration alone = *calibrate(photo, r);
        for (int i : usable(s, {14, 13, 12, 8, 2, 3}, 3)) r.known.push_back(s.patch(i));
        ASSERT_EQ(r.known.size(), 3U);
        const Result<Calibration> with = calibrate(photo, r);
        ASSERT_TRUE(with) << s.name << describe(with.error());
        std::array<double, 4> de{};
        for (std::size_t k = 0; k < 2; ++k) {
            const char* role = k == 0 ? "chip" : "swatch";
            de[k] = difference_2000(s.lab_d50(role), read_region(photo, alone, role, s.box(role), d50)->lab);
            de[2 + k] = difference_2000(s.lab_d50(role), read_region(photo, *with, role, s.box(role), d50)->lab);
            gray.push_back(de[k]);
            chips.push_back(de[2 + k]);
            if (de[2 + k] - de[k] > worst) {
                worst = de[2 + k] - de[k];
                where = s.name;
            }
        }
        std::printf("%-11s %15.2f %6.2f | %23.2f %6.2f\n", s.name.c_str(), de[0], de[1], de[2], de[3]);
    }
    std::printf("median: gray card %.2f, with 3 known chips %.2f; worst loss %.2f (%s)\n", median(gray), median(chips), worst, where.c_str());
    if (!kSlow) {
        EXPECT_LT(median(chips), median(gray));
    }
    EXPECT_LT(worst, 3);
}

// The fan deck's next page typed by mistake: with 8 references and more the wrong one is named and left out, and the readings hardly move.
TEST(KnownChip, AWrongValueAmongManyIsNamedAndLeftOut) {
    const Light d50 = *light("D50");
    int named = 0, photos = 0;
    for (const char* name : {"case-02", "case-08", "case-24", "case-42"}) {
        const Scene& s = test::scene(name);
        const Photo& photo = test::photo_of(s);
        References right;
        right.grays.push_back(s.card());
        for (int i : usable(s, {14, 13, 12, 8, 2, 3, 0, 1, 4, 9, 16}, 10)) right.known.push_back(s.patch(i));
        ASSERT_GE(right.known.size(), 8U) << name;
        References wrong = right;
        wrong.known[4].lab = right.known[0].lab;  // another chip's value
        const Result<Calibration> a = calibrate(photo, right), b = calibrate(photo, wrong);
        ASSERT_TRUE(a && b);
        const double moved =
            difference_2000(read_region(photo, *a, "chip", s.box("chip"), d50)->lab, read_region(photo, *b, "chip", s.box("chip"), d50)->lab);
        const ReferenceUse& use = b->uses[5];
        std::printf("%s: %s typed wrong: %s, off by %.1f; the chip's reading moves by %.2f\n", name, use.name.c_str(), use.used ? "USED" : "left out",
                    use.de00, moved);
        ++photos;
        named += !use.used && mentions(b->warnings, wrong.known[4].name + ": does not fit") && !use.remark.empty();
        EXPECT_LT(moved, 1.0) << name;
        int others = 0;
        for (std::size_t i = 0; i < b->uses.size(); ++i) others += i != 5 && !b->uses[i].used;
        EXPECT_LE(others, 1) << name;
    }
    EXPECT_EQ(named, photos);
}

// ---- what is said about it

TEST(Calibration, SaysHowItWasMade) {
    Bench bench;
    const Box card = bench.lay_card();
    const ChartReference chart = bench.lay_chart();
    std::vector<KnownReference> known;
    for (int i = 0; i < 3; ++i) {
        const ModelSpectrum r = test::surface(7000 * i + 11);
        known.push_back({"Straw " + std::to_string(31 + i), bench.lay({20.0, 120.0 + 70 * i, 60, 60}, r), test::lab_d50(r)});
    }
    struct Row {
        bool gray, chart;
        std::size_t chips;
        const char *method, *grade;
        int count;  // of references left out in turn
    };
    for (const Row& row :
         {Row{false, false, 0, "none", "not calibrated", 0}, Row{true, false, 0, "neutral", "white and exposure set", 0},
          Row{false, false, 1, "1 known chip", "white and exposure set", 0}, Row{true, false, 1, "neutral and 1 known chip", "", 2},
          Row{true, false, 3, "neutral and 3 known chips", "", 4}, Row{false, true, 0, "24-patch chart", "good: ", 24},
          Row{true, true, 0, "24-patch chart", "good: ", 25}, Row{true, true, 2, "24-patch chart and 2 known chips", "good: ", 27}}) {
        References r;
        if (row.gray) r.grays.push_back({card, 18});
        if (row.chart) r.chart = chart;
        r.known.assign(known.begin(), known.begin() + static_cast<std::ptrdiff_t>(row.chips));
        const Result<Calibration> c = calibrate(bench.photo, r);
        ASSERT_TRUE(c) << describe(c.error());
        std::printf("%-34s leave one out %5.2f / %5.2f of %2d; %s\n", c->method.c_str(), c->loo.mean.value_or(-1), c->loo.p95.value_or(-1),
                    c->loo.count, c->grade.c_str());
        EXPECT_EQ(c->method, row.method);
        EXPECT_EQ(c->grade.rfind(row.grade, 0), 0U) << c->grade;
        EXPECT_EQ(c->loo.count, row.count);
        EXPECT_EQ(c->loo.mean.has_value(), row.count > 0);  // one reference cannot be left out: unknown, not 0
        EXPECT_EQ(c->loo.p95.has_value(), row.count > 0);
        if (row.count > 0) {
            EXPECT_LE(*c->loo.mean, *c->loo.p95);
        }
        EXPECT_EQ(c->chart_corners.has_value(), row.chart);
        EXPECT_EQ(c->references.size(), (row.gray ? 1U : 0U) + (row.chart ? 1U : 0U) + row.chips);
        if (row.gray) {
            EXPECT_EQ(c->references.front(), "gray card 20,20,100,80, LRV 18.0");
        }
        if (row.chips > 0) {
            EXPECT_TRUE(mentions(c->references, "Straw 31 20,120,60,60, Lab "));
        }
        if (row.chart) {
            EXPECT_TRUE(mentions(c->references, "24-patch chart, corners 220,150 571,150 571,381 220,381"));
            EXPECT_EQ(c->uses.back().name, "patch 24 black");
        }
        EXPECT_EQ(c->warnings.empty(), row.method != std::string("none")) << (c->warnings.empty() ? "" : c->warnings.front());
        for (const ReferenceUse& use : c->uses) EXPECT_EQ(use.left_out, row.count > 0) << use.name;
    }
}

// A made-up camera that the prior holds, no curve, 1 % grain: the chart's leave-one-out is under 1, and chips that are not on it come out as well.
TEST(Calibration, AChartMakesUnseenChipsTrue) {
    Bench bench;
    References gray, chart;
    gray.grays.push_back({bench.lay_card(), 18});
    chart.chart = bench.lay_chart();
    std::vector<double> by_gray, by_chart;
    std::vector<Box> boxes;
    std::vector<Lab> truth;
    for (int i = 0; i < 12; ++i) {
        const ModelSpectrum r = test::surface(1999 * i + 5);
        boxes.push_back(bench.lay({130.0 + 35 * i, 20, 30, 80}, r));
        truth.push_back(test::lab_d50(r));
    }
    const Calibration g = *calibrate(bench.photo, gray), c = *calibrate(bench.photo, chart);
    int covered = 0;
    for (std::size_t i = 0; i < boxes.size(); ++i) {
        const Reading a = *read_region(bench.photo, g, "chip", boxes[i], *light("D50")),
                      b = *read_region(bench.photo, c, "chip", boxes[i], *light("D50"));
        by_gray.push_back(difference_2000(truth[i], a.lab));
        by_chart.push_back(difference_2000(truth[i], b.lab));
        const Eigen::Vector3d d(b.lab.L - truth[i].L, b.lab.a - truth[i].a, b.lab.b - truth[i].b);
        covered += d.dot(b.lab_covariance.inverse() * d) <= 7.815;  // chi-square, 3 degrees of freedom, 95 %
    }
    std::printf("12 chips: median dE00 by card %.2f, by chart %.2f; 95 %% ellipsoids cover %d\n", median(by_gray), median(by_chart), covered);
    EXPECT_LT(median(by_chart), 1.0);
    EXPECT_LT(median(by_chart), median(by_gray));
    EXPECT_GE(covered, 10);
    EXPECT_LT(*c.loo.mean, 1.5);
}

// Without a reference nothing is known about white and exposure (a third of a stop, 15 %): said, and far wider in L* than with a card. a* and b* hang
// on the unknown camera either way, at this saturated chip.
TEST(Calibration, WithNoReferenceTheIntervalIsWideAndSaysWhy) {
    Bench bench;
    const Box chip = bench.lay({20, 200, 100, 100}, test::surface(4321));
    References card;
    card.grays.push_back({bench.lay_card(), 18});
    const Calibration none = *calibrate(bench.photo, {}), gray = *calibrate(bench.photo, card);
    EXPECT_TRUE(mentions(none.warnings, "no reference in the picture"));
    EXPECT_TRUE(mentions(none.warnings, "gray card or a chart"));
    const std::array<double, 3> wide = lab_sd(*read_region(bench.photo, none, "chip", chip, *light("D50"))),
                                narrow = lab_sd(*read_region(bench.photo, gray, "chip", chip, *light("D50")));
    std::printf("L* +- %.1f with no reference, +- %.1f with a card; a* %.1f, %.1f; b* %.1f, %.1f\n", wide[0], narrow[0], wide[1], narrow[1], wide[2],
                narrow[2]);
    EXPECT_GT(wide[0], 4);
    EXPECT_GT(wide[0], 2.5 * narrow[0]);
    EXPECT_GT(wide[1], narrow[1]);
    EXPECT_GT(wide[2], narrow[2]);
}

// ...and honestly so, over the simulated photos taken as they are. Reached: 37 of 42, L* 39 (colors of a photo err together, so some 20 independent
// trials). The rest: photos under a warm lamp that the camera did not adapt to, farther off than the 15 % believed; and 600 neighbors bound the
// width.
TEST(Calibration, WithNoReferenceTheIntervalHoldsTheTruth) {
    int covered = 0, light_ok = 0, colors = 0;
    double z = 0;
    for (const Scene& s : test::scenes()) {
        const Calibration c = *calibrate(test::photo_of(s), {});
        for (const char* role : {"chip", "swatch"}) {
            const Reading x = *read_region(test::photo_of(s), c, role, s.box(role), *light("D50"));
            const Lab t = s.lab_d50(role);
            const Eigen::Vector3d d(x.lab.L - t.L, x.lab.a - t.a, x.lab.b - t.b);
            const double here = d.dot(x.lab_covariance.inverse() * d);
            if (here > 7.815)
                std::printf("%-11s %-6s not covered: off L* %6.2f +- %.1f, a* %6.2f +- %.1f, b* %6.2f +- %.1f\n", s.name.c_str(), role, d[0],
                            lab_sd(x)[0], d[1], lab_sd(x)[1], d[2], lab_sd(x)[2]);
            covered += here <= 7.815;
            light_ok += std::abs(d[0]) < 2 * lab_sd(x)[0];
            z += here;
            ++colors;
        }
    }
    std::printf("no reference: 95 %% ellipsoids cover %d of %d, L* within two standard deviations %d; mean squared distance %.1f (3 expected)\n",
                covered, colors, light_ok, z / colors);
}

TEST(Calibration, IsTheSameEachTime) {
    Bench bench;
    References r;
    r.grays.push_back({bench.lay_card(), 18});
    r.chart = bench.lay_chart();
    const Calibration one = *calibrate(bench.photo, r), two = *calibrate(bench.photo, r);
    EXPECT_EQ(one.sensor->rows(), two.sensor->rows());
    EXPECT_EQ(one.sensor->doubts(), two.sensor->doubts());
    EXPECT_EQ(one.sensor->covariance(), two.sensor->covariance());
}

// Belief: symmetric, no negative variances, narrower with every reference (linear-Gaussian: it can only shrink where noise and scale stay as they
// are).
TEST(SensorModel, BeliefIsACovarianceAndShrinks) {
    Bench bench;
    References none, card, chart;
    card.grays.push_back({bench.lay_card(), 18});
    chart.chart = bench.lay_chart();
    double before = 1e9;
    for (const References& r : {none, card, chart}) {
        const Calibration c = *calibrate(bench.photo, r);
        const Eigen::MatrixXd& s = c.sensor->covariance();
        ASSERT_EQ(s.rows(), kBeliefSize);
        EXPECT_LT((s - s.transpose()).cwiseAbs().maxCoeff(), 1e-12);
        const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(s, Eigen::EigenvaluesOnly);
        EXPECT_GT(eigen.eigenvalues().minCoeff(), -1e-9);
        const double gains = s.block<3, 3>(kSensitivitySize, kSensitivitySize).trace();
        EXPECT_LT(gains, before);
        before = gains;
        for (int k = 0; k < 3; ++k) EXPECT_NEAR(c.sensor->rows().row(k).sum(), 1, 1e-9);  // white stays (1, 1, 1)
    }
}

// ---- a region's color

TEST(Reading, ItsFiguresBelongTogether) {
    Bench bench;
    References r;
    r.grays.push_back({bench.lay_card(), 18});
    const Box chip = bench.lay({20, 200, 100, 100}, test::surface(4321));
    const Calibration c = *calibrate(bench.photo, r);
    for (const char* name : {"D50", "D65", "A"}) {
        for (const Observer o : {Observer::degree2, Observer::degree10}) {
            const Reading x = *read_region(bench.photo, c, "Heather 09", chip, *light(name), o);
            EXPECT_EQ(x.name, "Heather 09");
            EXPECT_EQ(x.light, name);
            EXPECT_EQ(x.observer, o);
            const Xyz white = xyz(*light(name), o);
            EXPECT_NEAR(x.lab.white.X, white.X, 1e-9);
            EXPECT_NEAR(x.xyz.Y, xyz(x.lab).Y, 1e-9);
            EXPECT_NEAR(x.lrv, x.xyz.Y, 1e-9);
            EXPECT_NEAR(x.lch.C, std::hypot(x.lab.a, x.lab.b), 1e-9);
            EXPECT_EQ(hex(x.screen.rgb), hex(screen_color(x.lab).rgb));
            EXPECT_EQ(x.statistics.pixels, 10000U);
            EXPECT_LT((x.lab_covariance - x.lab_covariance.transpose()).norm(), 1e-9);
            EXPECT_GT(Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(x.lab_covariance).eigenvalues().minCoeff(), 0);
            // dY = Y'(L*) dL*: LRV's doubt is that of L*
            const double step = xyz(Lab{x.lab.L + 0.01, 0, 0, white}).Y - xyz(Lab{x.lab.L, 0, 0, white}).Y;
            EXPECT_NEAR(x.lrv_sd, lab_sd(x)[0] * step / 0.01, 0.01 * x.lrv_sd);
        }
    }
    const Result<Reading> outside = read_region(bench.photo, c, "Heather 09", Box{-10, 0, 50, 50}, *light("D50"));
    ASSERT_FALSE(outside);
    EXPECT_EQ(outside.error().fault, Fault::region_outside);
    EXPECT_NE(outside.error().place.find("Heather 09"), std::string::npos);
}

TEST(Reading, MoreGrainMeansMoreDoubtAndAnImpossibleColorIsWarnedOf) {
    std::array<double, 2> doubt{};
    for (const bool grainy : {false, true}) {
        Bench bench;
        References r;
        r.grays.push_back({bench.lay_card(), 18});
        bench.grain = grainy ? 0.5 : 0.01;
        const Box chip = bench.lay({300, 200, 12, 12}, ModelSpectrum::Constant(0.3));
        const Calibration c = *calibrate(bench.photo, r);
        doubt[grainy ? 1 : 0] = read_region(bench.photo, c, "chip", chip, *light("D50"))->lab_covariance(0, 0);
        bench.grain = 0.01;
        const Box laser = bench.lay_rgb({400, 200, 60, 60}, {0.9, 0.0, 0.9});
        EXPECT_TRUE(mentions(read_region(bench.photo, c, "laser", laser, *light("D50"))->warnings, "unlike any surface"));
    }
    std::printf("variance of L*: fine grain %.2f, coarse %.2f\n", doubt[0], doubt[1]);
    EXPECT_GT(doubt[1], 1.05 * doubt[0]);
}

// ---- tone curve

// 0 -> 0, 1 -> 1 and rising over the whole range that tone.hpp states, corners included.
TEST(ToneCurve, RisesFromZeroToOneOverItsRange) {
    int curves = 0;
    for (double c = -0.95; c <= 0.951; c += 0.19) {
        for (double l = -0.95; l <= 0.951; l += 0.19) {
            for (double r = -0.95; r <= 0.951; r += 0.19) {
                if (std::abs(c) + std::abs(l) + std::abs(r) > 0.96) continue;
                const ToneCurve curve{c, l, r};
                ++curves;
                EXPECT_NEAR(curve.scene(0), 0, 1e-15);
                EXPECT_NEAR(curve.scene(1), 1, 1e-12);
                double before = -1e-9;
                for (int i = 0; i <= 500; ++i) {
                    const double now = curve.scene(srgb_to_linear(i / 400.0));  // beyond 1 as well
                    EXPECT_GT(now, before) << c << ' ' << l << ' ' << r << " at " << i / 400.0;
                    before = now;
                }
                EXPECT_DOUBLE_EQ(curve.scene(-0.3), -curve.scene(0.3));
            }
        }
    }
    EXPECT_GT(curves, 200);
    const ToneCurve none;
    for (double v : {0.0, 0.01, 0.18, 0.5, 1.0, 1.7}) EXPECT_NEAR(none.scene(v), v, 1e-12);
    // contrast > 0 takes contrast out of the middle: darks lighter, lights darker
    EXPECT_GT((ToneCurve{0.3, 0, 0}.scene(0.05)), 0.05);
    EXPECT_LT((ToneCurve{0.3, 0, 0}.scene(0.6)), 0.6);
}

// ---- light over plain things

struct Ramp {
    Photo photo;
    Box region{20, 30, 120, 100};
};
Ramp ramp(const Eigen::Vector2d& slope, std::uint64_t seed, double noise, double specks, double level = 0.3) {
    Ramp r;
    r.photo.width = 200;
    r.photo.height = 160;
    r.photo.rgb.resize(3UL * 200 * 160);
    r.photo.clipped.assign(200UL * 160, 0);
    Random random(seed);
    const double x0 = r.region.x + r.region.w / 2, y0 = r.region.y + r.region.h / 2;
    for (int y = 0; y < 160; ++y) {
        for (int x = 0; x < 200; ++x) {
            double v = level * std::exp(slope[0] * (x + 0.5 - x0) + slope[1] * (y + 0.5 - y0)) * (1 + noise * random.normal());
            if (random.uniform() < specks) v *= random.uniform() < 0.5 ? 0.3 : 2.5;
            for (std::size_t c = 0; c < 3; ++c)
                r.photo.rgb[3 * (static_cast<std::size_t>(y) * 200 + static_cast<std::size_t>(x)) + c] = static_cast<float>(v);
        }
    }
    return r;
}

// Slopes of up to 30 % over the region, grain 3 %, specks: the 95 % ellipse (chi-square, 2 degrees of freedom: 5.99; some 60 blocks, so all but
// normal) holds the truth 90 times in 100 or more; 200 trials: standard error 2 %.
TEST(LightSlope, IsWithinItsCovariance) {
    const int trials = kSlow ? 40 : 200;
    for (double specks : {0.0, 0.002}) {
        Random random(3);
        int inside = 0;
        double z = 0;
        for (int i = 0; i < trials; ++i) {
            const Eigen::Vector2d truth(random.uniform(-0.0025, 0.0025), random.uniform(-0.0025, 0.0025));
            const Ramp r = ramp(truth, 100 + static_cast<std::uint64_t>(i), 0.03, specks);
            const std::optional<LightSlope> seen = light_slope(r.photo, r.region);
            ASSERT_TRUE(seen);
            const Eigen::Vector2d off = seen->slope - truth;
            const double d = off.dot(seen->covariance.inverse() * off);
            inside += d < 5.99;
            z += d / trials;
            EXPECT_NEAR(seen->level, 0.3, 0.01);
            EXPECT_NEAR(seen->at.x, 80, 0.5);
            EXPECT_NEAR(seen->at.y, 80, 0.5);
        }
        std::printf("specks %.1f %%: inside the 95 %% ellipse %.0f %%, mean squared distance %.2f (2 expected)\n", 100 * specks,
                    100.0 * inside / trials, z);
        EXPECT_GE(inside, trials * (kSlow ? 82 : 89) / 100);
    }
}

TEST(LightSlope, SaysNothingWhereThereIsTooLittle) {
    const Ramp good = ramp({0.001, 0}, 1, 0.01, 0), dark = ramp({0.001, 0}, 1, 0.01, 0, 0.002);
    EXPECT_TRUE(light_slope(good.photo, good.region));
    EXPECT_FALSE(light_slope(good.photo, Box{20, 30, 11, 60}));  // two blocks of 4 wide
    EXPECT_FALSE(light_slope(dark.photo, dark.region));
    EXPECT_TRUE(light_slope(good.photo, Ellipse{80, 80, 50, 40}));
    EXPECT_FALSE(light_slope(good.photo, Polygon{{{20, 30}, {60, 30}, {20, 31}}}));
    EXPECT_FALSE(light_slope(good.photo, Box{-500, -500, 100, 100}));  // outside: nothing, and no crash
}

// The belief moves from 0 toward the slope that a plain thing shows, and is surer then.
TEST(SensorModel, LearnsTheLightFromPlainThings) {
    for (double truth : {-0.2, 0.15, 0.3}) {
        Bench bench;
        bench.slope = {truth, 0};
        const Box chip = bench.lay({300, 100, 200, 200}, ModelSpectrum::Constant(0.4));
        SensorSetup setup;
        setup.width = Bench::kWidth;
        setup.height = Bench::kHeight;
        setup.linear = true;
        setup.prior = sensitivity_prior({});
        const SensorModel before(setup, {});
        const std::optional<LightSlope> seen = light_slope(bench.photo, chip);
        ASSERT_TRUE(seen);
        const SensorModel after = before.after({*seen});
        const Eigen::Index k = kSensitivitySize + light_x;
        std::printf("light_x true %.2f: before %.3f +- %.3f, after %.3f +- %.3f\n", truth, before.doubts()[light_x],
                    std::sqrt(before.covariance()(k, k)), after.doubts()[light_x], std::sqrt(after.covariance()(k, k)));
        EXPECT_LT(std::abs(after.doubts()[light_x] - truth), 0.5 * std::abs(before.doubts()[light_x] - truth));
        EXPECT_LT(after.covariance()(k, k), 0.5 * before.covariance()(k, k));
        EXPECT_LT(std::abs(after.doubts()[light_x] - truth), 2.5 * std::sqrt(after.covariance()(k, k)));
    }
}

// Without reference i as if it had never been there: against a belief really made without it. Exact only where noise and weights are chosen alike,
// which they are below 8 references.
TEST(SensorModel, LeavingOneOutIsMakingItWithout) {
    Bench bench;
    References r;
    r.grays.push_back({bench.lay_card(), 18});
    for (int i = 0; i < 3; ++i) {
        const ModelSpectrum s = test::surface(7000 * i + 11);
        r.known.push_back({"chip", bench.lay({20.0 + 100 * i, 200, 12, 60}, s), test::lab_d50(s)});  // too narrow for a slope of the light
    }
    References less = r;
    less.known.pop_back();
    const Calibration all = *calibrate(bench.photo, r), without = *calibrate(bench.photo, less);
    const SensorModel::LeftOut left = all.sensor->without(3);
    // the start of the gains and the place of origin differ: compare what is read
    Worst worst;
    for (int i = 0; i < 24; ++i) {
        const Eigen::Vector3d rgb = 0.5 * Eigen::Vector3d(0.9, 1, 1.15).cwiseProduct(Bench::camera() * chart_reflectances().col(i));
        const Point at{80, 60};
        const Eigen::Vector3d a = all.sensor->scene(rgb, at, left.doubts), b = without.sensor->scene(rgb, at);
        worst.see((a - b).norm() / b.norm(), chart_patch_name(i));
    }
    worst.report("scene values, relative", 0.01);
}

}  // namespace
}  // namespace sw
