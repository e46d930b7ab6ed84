// Set-ups: a calibration kept from one photo and used for a later one. Simulated benches (scene.hpp), whose truth is known, and a photo of the demo.
#include "calibrate/setup.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <functional>

#include "calibrate/scene.hpp"
#include "calibrate/setup_text.hpp"
#include "color/difference.hpp"

namespace sw {
namespace {

using test::Bench;
using testing::HasSubstr;

constexpr int kSurfaces = 12;
ModelSpectrum painted(int i) { return test::surface(137 + 3571 * i); }
Box place(int i) { return {20.0 + 50 * (i % 4), 150.0 + 60 * (i / 4), 40, 45}; }  // NOLINT(bugprone-integer-division)

struct Frame {
    Bench bench;
    ChartReference chart;
};

// Gray backdrop, twelve paints, and the chart where it is asked for.
Frame frame(bool chart, double light = 1, double red = 1) {
    Frame made;
    made.bench.exposure = 0.5 * light;
    made.bench.lay({0, 0, Bench::kWidth, Bench::kHeight}, ModelSpectrum::Constant(0.4));
    if (chart) made.chart = made.bench.lay_chart();
    for (int i = 0; i < kSurfaces; ++i) made.bench.lay(place(i), painted(i));
    for (std::size_t i = 0; i < made.bench.photo.rgb.size(); i += 3) made.bench.photo.rgb[i] *= static_cast<float>(red);
    Shot& shot = made.bench.photo.shot;
    shot.make = "Example";
    shot.model = "Box 1";
    shot.lens = "50 mm";
    shot.white_balance = "set by hand";
    shot.iso = 100;
    shot.exposure_s = 0.01;
    shot.f_number = 8;
    shot.focal_mm = 50;
    return made;
}

struct Judged {
    double mean = 0;
    int inside = 0;
};

Judged judge(const Photo& photo, const Calibration& calibration) {
    Judged judged;
    for (int i = 0; i < kSurfaces; ++i) {
        const Reading r = *read_region(photo, calibration, "paint", place(i), *light("D50"));
        const Lab truth = test::lab_d50(painted(i));
        const Eigen::Vector3d off(r.lab.L - truth.L, r.lab.a - truth.a, r.lab.b - truth.b);
        judged.mean += difference_2000(truth, r.lab) / kSurfaces;
        judged.inside += off.dot(r.lab_covariance.ldlt().solve(off)) < 7.815;  // chi-square, 3 degrees of freedom, 95 %
    }
    return judged;
}

Calibration by_chart(const Frame& made) {
    References references;
    references.chart = made.chart;
    return *calibrate(made.bench.photo, references, {light("D50").value()});
}

const Setup& chart_setup() {
    static const Setup setup = [] {
        const Frame made = frame(true);
        return *make_setup(made.bench.photo, by_chart(made));
    }();
    return setup;
}

// The chart is gone, the grain is another, the light 5 % down and 1 % redder: as good as with the chart, to a tenth of a CIEDE2000 (the drift's mean
// over some hundred blocks is known to 0.1 %).
TEST(Setup, ALaterPhotoIsReadAsIfTheChartWereThere) {
    const Frame first = frame(true);
    const Judged with_chart = judge(first.bench.photo, by_chart(first));
    const Frame later = frame(false, 0.95, 1.01);
    const Result<Calibration> borrowed = calibrate_by(later.bench.photo, chart_setup(), "bench", {});
    ASSERT_TRUE(borrowed) << describe(borrowed.error());
    const Judged without = judge(later.bench.photo, *borrowed);
    std::printf("mean CIEDE2000 of %d paints: with the chart %.2f, by the set-up %.2f; inside the 95 %%: %d and %d\n", kSurfaces, with_chart.mean,
                without.mean, with_chart.inside, without.inside);
    EXPECT_LT(without.mean, with_chart.mean + 0.1);
    EXPECT_GE(without.inside, with_chart.inside - 1);
    EXPECT_GE(without.inside, kSurfaces - 2);
    EXPECT_EQ(borrowed->method, "set-up bench: 24-patch chart");
    ASSERT_TRUE(borrowed->setup && borrowed->setup->drift);
    EXPECT_NEAR((*borrowed->setup->drift)[1], std::log(0.95), 0.004);  // grain of 1 % over blocks of 441 pixels, clusters within 4 %
    EXPECT_NEAR((*borrowed->setup->drift)[0] - (*borrowed->setup->drift)[1], std::log(1.01), 0.003);
    EXPECT_TRUE(test::mentions(borrowed->warnings, "has drifted"));
    EXPECT_TRUE(test::mentions(borrowed->setup->compared, "camera: Example Box 1"));
    EXPECT_TRUE(test::mentions(borrowed->setup->compared, "exposure: the same"));
    EXPECT_FALSE(borrowed->chart_corners);
    for (const ReferenceUse& use : borrowed->uses) EXPECT_TRUE(use.elsewhere);

    // Not looking at the backdrop would miss by the drift: the test would see it.
    const Judged plain = judge(later.bench.photo, by_chart(first));
    EXPECT_GT(plain.mean, without.mean + 0.3);
}

// Half of the view changed since (a sheet was laid on it): the other half still tells.
TEST(Setup, ThingsLaidOnTheBackdropDoNotMoveTheLight) {
    Frame later = frame(false, 0.97);
    later.bench.lay({300, 0, 300, 250}, ModelSpectrum::Constant(0.36));
    const Result<Calibration> borrowed = calibrate_by(later.bench.photo, chart_setup(), "bench", {});
    ASSERT_TRUE(borrowed) << describe(borrowed.error());
    ASSERT_TRUE(borrowed->setup->drift);
    EXPECT_NEAR((*borrowed->setup->drift)[1], std::log(0.97), 0.004);
}

TEST(Setup, AnotherExposureIsTakenOutWhereTheBackdropAgrees) {
    Frame later = frame(false, 1.5);
    later.bench.photo.shot.exposure_s = 0.015;
    const Result<Calibration> borrowed = calibrate_by(later.bench.photo, chart_setup(), "bench", {});
    ASSERT_TRUE(borrowed) << describe(borrowed.error());
    EXPECT_LT(judge(later.bench.photo, *borrowed).mean, judge(frame(true).bench.photo, by_chart(frame(true))).mean + 0.1);
    EXPECT_TRUE(test::mentions(borrowed->warnings, "exposed otherwise"));
}

// What cannot be compared costs doubt.
TEST(Setup, WhatIsNotToldWidensTheSpread) {
    const auto spread = [](const Frame& later) {
        const Result<Calibration> borrowed = calibrate_by(later.bench.photo, chart_setup(), "bench", {});
        EXPECT_TRUE(borrowed);
        return borrowed->setup->drift_sd[1];
    };
    const double known = spread(frame(false));
    Frame no_exif = frame(false);
    no_exif.bench.photo.shot = {};
    EXPECT_GT(spread(no_exif), known + 0.005);
    const auto covered = [](const std::string& white_balance) {
        Frame later = frame(false);
        for (int i = 0; i < 33; ++i) later.bench.lay({0, 12.0 * i, 600, 12}, ModelSpectrum::Constant(i % 2 == 0 ? 0.6 : 0.1));  // stripes all over
        later.bench.photo.shot.white_balance = white_balance;
        return later;
    };
    const double unseen = spread(covered("set by hand"));
    EXPECT_GT(unseen, 0.04);
    const Result<Calibration> striped = calibrate_by(covered("set by hand").bench.photo, chart_setup(), "bench", {});
    EXPECT_FALSE(striped->setup->drift);
    EXPECT_TRUE(test::mentions(striped->warnings, "no backdrop tells"));
    sw::Setup automatic = chart_setup();
    automatic.shot.white_balance = "auto";
    const Result<Calibration> wandering = calibrate_by(covered("auto").bench.photo, automatic, "bench", {});
    ASSERT_TRUE(wandering);
    EXPECT_GT(wandering->setup->drift_sd[1], unseen);
    EXPECT_TRUE(test::mentions(wandering->warnings, "automatic"));
}

TEST(Setup, AnotherCameraOrLightIsRefusedWithTheReason) {
    const auto refused = [](const std::string& words, const std::function<void(Photo&)>& spoil, double brightness = 1, double red = 1,
                            const std::optional<Light>& lit_by = {}) {
        Frame later = frame(false, brightness, red);
        spoil(later.bench.photo);
        const Result<Calibration> borrowed = calibrate_by(later.bench.photo, chart_setup(), "bench", lit_by);
        if (borrowed) {
            ADD_FAILURE() << words << " was let through";
            return;
        }
        EXPECT_EQ(borrowed.error().fault, Fault::setup_mismatch);
        EXPECT_THAT(describe(borrowed.error()), HasSubstr(words));
        EXPECT_THAT(describe(borrowed.error()), HasSubstr("set-up bench"));
        EXPECT_FALSE(borrowed.error().remedy.empty());
    };
    refused("taken with Example Box 2", [](Photo& p) { p.shot.model = "Box 2"; });
    refused("through 35 mm", [](Photo& p) { p.shot.lens = "35 mm"; });
    refused("focal length is 70.0 mm", [](Photo& p) { p.shot.focal_mm = 70; });
    refused("white balance is auto", [](Photo& p) { p.shot.white_balance = "auto"; });
    refused("599 x 400 pixels", [](Photo& p) { p.width = 599; });
    refused("encoded otherwise", [](Photo& p) { p.encoding = "profile: Display P3"; });
    refused("encoded otherwise", [](Photo& p) { p.linear = false; });
    refused("leave out --flat", [](Photo& p) { p.evened = true; });
    refused("expected by the exposure +100.0 %", [](Photo& p) { p.shot.exposure_s = 0.02; });
    refused(
        "lighter or darker", [](Photo&) {}, 0.7);
    refused(
        "another color", [](Photo&) {}, 1, 1.2);
    refused(
        "lit by A", [](Photo&) {}, 1, 1, *light("A"));
    refused("no backdrop is there to confirm", [](Photo& p) {
        p.shot.iso = 200;
        std::fill(p.clipped.begin(), p.clipped.end(), std::uint8_t{1});
    });
    EXPECT_TRUE(calibrate_by(frame(false).bench.photo, chart_setup(), "bench", *light("D50")));
    const Result<sw::Setup> nothing = make_setup(frame(false).bench.photo, *calibrate(frame(false).bench.photo, {}));
    ASSERT_FALSE(nothing);
    EXPECT_EQ(nothing.error().fault, Fault::setup_mismatch);
}

// Text and back: the same calibration to the last digits of a double.
TEST(SetupText, ComesBackAsItWas) {
    Frame made = frame(true);
    References references;
    references.chart = made.chart;
    const Box damson{460, 20, 60, 60};
    made.bench.lay(damson, painted(3));
    CardReference card{"damson", damson, test::lab_d50(painted(3)), 0.4};
    references.cards.push_back(card);
    Light lamp = *light("A");
    lamp.name = "lamp.csv";  // as from a file: kept by its spectrum
    for (const std::optional<Light>& lit_by : {std::optional<Light>(), std::optional<Light>(*light("led:4000,ra=80")), std::optional<Light>(lamp)}) {
        const Calibration calibration = *calibrate(made.bench.photo, references, {lit_by});
        const sw::Setup setup = *make_setup(made.bench.photo, calibration);
        const Result<sw::Setup> back = setup_of_text(to_text(setup));
        ASSERT_TRUE(back) << describe(back.error());
        const Calibration again = fit(back->evidence);
        EXPECT_EQ(again.method, calibration.method);
        EXPECT_EQ(again.uses.size(), calibration.uses.size());
        EXPECT_EQ(again.warnings, calibration.warnings);
        EXPECT_NEAR((again.sensor->doubts() - calibration.sensor->doubts()).cwiseAbs().maxCoeff(), 0, 1e-9);
        EXPECT_NEAR((again.sensor->rows() - calibration.sensor->rows()).cwiseAbs().maxCoeff(), 0, 1e-9);
        EXPECT_EQ(back->shot.model, "Box 1");
        EXPECT_EQ(back->shot.iso, 100.0);
        EXPECT_EQ(back->backdrop.plain, setup.backdrop.plain);
        EXPECT_EQ(back->evidence.setup.lit_by.has_value(), lit_by.has_value());
        if (lit_by) {
            EXPECT_EQ(back->evidence.setup.lit_by->name, lit_by->name);
        }
        EXPECT_LT(to_text(setup).size(), 1'000'000U);
    }
}

// A raw file's own matrix is an observation of its camera: said so, kept in the set-up, and not believed where no camera has such a one.
TEST(SetupText, KeepsTheRawFilesMatrix) {
    static const Light d65 = *light("D65");
    const Eigen::Matrix3d matrix = best_matrix(sensitivity_prior(d65, Rendering::raw).mean, observer_matrix(d65, Observer::degree2)).inverse();
    const auto with = [](const Eigen::Matrix3d& m) {
        test::Bench bench;
        SensorColor sensor;
        sensor.from_xyz_d65.emplace();
        for (int i = 0; i < 9; ++i) (*sensor.from_xyz_d65)[static_cast<std::size_t>(i)] = m(i / 3, i % 3);
        bench.photo.sensor = sensor;
        References card;
        card.grays.push_back({bench.lay_card(), 18});
        const Result<Calibration> calibration = calibrate(bench.photo, card, {.lit_by = d65});
        EXPECT_TRUE(calibration);
        return std::pair(bench.photo, *calibration);
    };
    const auto [photo, calibration] = with(matrix);
    EXPECT_TRUE(test::mentions(calibration.references, "own color matrix tells what kind of camera it is"));
    const Sensitivity plain = sensitivity_prior(d65, Rendering::raw);
    EXPECT_LT(calibration.sensor->setup().prior.covariance.trace(), 0.9 * plain.covariance.trace());
    const std::string text = to_text(*make_setup(photo, calibration));
    const Result<sw::Setup> back = setup_of_text(text);
    ASSERT_TRUE(back) << describe(back.error());
    EXPECT_LT((back->evidence.setup.prior.mean - calibration.sensor->setup().prior.mean).norm(), 1e-9);
    for (const Eigen::Matrix3d& wrong :
         {Eigen::Matrix3d(Eigen::Matrix3d::Zero()), Eigen::Matrix3d(-matrix), Eigen::Matrix3d(matrix.colwise().reverse()),
          Eigen::Matrix3d(Eigen::Matrix3d::Ones()), Eigen::Matrix3d(Eigen::Matrix3d::Constant(std::nan("")))}) {
        const auto [ignored, doubted] = with(wrong);
        EXPECT_TRUE(test::mentions(doubted.references, "like no camera's and was not used"));
        EXPECT_EQ(doubted.sensor->setup().prior.mean, plain.mean);
    }
    std::string hostile = text;
    const std::size_t at = hostile.find("\"raw_matrix\":[") + 14;
    hostile.replace(at, hostile.find(']', at) - at, "1,1,1,1,1,1,1,1,1");
    EXPECT_FALSE(setup_of_text(hostile));
}

TEST(SetupText, HostileTextIsRefused) {
    const std::string good = to_text(chart_setup());
    const auto refused = [](const std::string& text, const std::string& words) {
        const Result<sw::Setup> read = setup_of_text(text);
        if (read) {
            ADD_FAILURE() << words << " was let through";
            return;
        }
        EXPECT_EQ(read.error().fault, Fault::workbook_unreadable);
        EXPECT_THAT(describe(read.error()), HasSubstr(words));
    };
    refused("", "no JSON");
    refused("{}", "\"form\"");
    refused("[1]", "\"form\"");
    refused(std::string(100'000, '['), "no JSON");
    refused(good.substr(0, good.size() / 2), "no JSON");
    const auto spoilt = [&](const std::function<void(nlohmann::json&)>& spoil) {
        nlohmann::json json = nlohmann::json::parse(good);
        spoil(json);
        return json.dump();
    };
    refused(spoilt([](auto& j) { j["form"] = 2; }), "newer version");
    refused(spoilt([](auto& j) { j["evidence"]["references"] = nlohmann::json::array(); }), "references");
    refused(spoilt([](auto& j) { j["evidence"]["sensor"]["width"] = 0; }), "width");
    refused(spoilt([](auto& j) { j["evidence"]["sensor"]["width"] = 1e300; }), "width");
    refused(spoilt([](auto& j) { j["evidence"]["sensor"]["native"] = std::vector<double>(9, 1.0); }), "primaries");
    refused(spoilt([](auto& j) { j["evidence"]["sensor"]["lit_by"] = {{"name", "moon"}}; }), "moon");
    refused(spoilt([](auto& j) { j["evidence"]["references"][3]["rgb"][0] = nullptr; }), "rgb");
    refused(spoilt([](auto& j) { j["evidence"]["references"][3]["rgb"][0] = 1e9; }), "range");
    refused(spoilt([](auto& j) { j["evidence"]["references"][3]["rgb_covariance"] = {1, 2, 1, 0, 0, 1}; }), "possible covariance");
    refused(spoilt([](auto& j) { j["evidence"]["references"][3]["reflectance"].erase(0); }), "number of figures");
    refused(spoilt([](auto& j) { j["evidence"]["references"][3]["region"] = "1,2,3"; }), "region");
    refused(spoilt([](auto& j) { j["evidence"]["slopes"] = 7; }), "slopes");
    refused(spoilt([](auto& j) { j["backdrop"]["columns"] = 63; }), "backdrop");
    refused(spoilt([](auto& j) { j["shot"]["iso"] = -5; }), "iso");

    // Any byte changed: an error or a set-up whose figures can be worked with, never a crash.
    Random random(4);
    int errors = 0;
    for (int round = 0; round < 120; ++round) {
        std::string text = good;
        for (int k = 0; k < 3; ++k)
            text[static_cast<std::size_t>(random.uniform() * static_cast<double>(text.size()))] = static_cast<char>(32 + 90 * random.uniform());
        const Result<sw::Setup> read = setup_of_text(text);
        errors += !read;
        if (read && round % 8 == 0) {
            EXPECT_TRUE(fit(read->evidence).sensor->doubts().allFinite());
        }
    }
    EXPECT_GT(errors, 20);
}

// A photo of the demo, chart painted over with the bench beside it, grain redrawn, light 5 % down and 1 % redder (in picture values).
TEST(Setup, DemoPhotoWithoutItsChart) {
    std::ifstream in(std::string(SW_ASSETS) + "/demo/truth.json");
    if (!in) GTEST_SKIP() << "no demo photos";
    const nlohmann::json truth = nlohmann::json::parse(in)["photos"][0];
    const Photo photo = as_light(*load_photo(std::string(SW_ASSETS) + "/demo/" + truth["file"].get<std::string>()));
    References references;
    references.chart.mode = ChartMode::corners;
    for (std::size_t i = 0; i < 4; ++i) references.chart.corners[i] = {truth["chart"]["corners"][2 * i], truth["chart"]["corners"][2 * i + 1]};
    const Calibration calibration = *calibrate(photo, references, {light("led:6500,ra=80").value()});
    const sw::Setup setup = *make_setup(photo, calibration);
    Photo later = photo;
    Random random(8);
    const auto pixel = [&](int x, int y) {
        return 3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(photo.width) + static_cast<std::size_t>(x));
    };
    for (int y = 0; y < photo.height; ++y) {
        for (int x = 0; x < photo.width; ++x) {
            const bool chart = x > 40 && x < 730 && y > 40 && y < 520;
            const std::size_t from = chart ? pixel(x, 530 + y % 30) : pixel(x, y), to = pixel(x, y);
            for (std::size_t c = 0; c < 3; ++c)
                later.rgb[to + c] =
                    static_cast<float>((c == 0 ? 0.9595 : 0.95) * (1 + 0.01 * random.normal()) * static_cast<double>(photo.rgb[from + c]));
        }
    }
    const Result<Calibration> borrowed = calibrate_by(later, setup, "bench", {});
    ASSERT_TRUE(borrowed) << describe(borrowed.error());
    ASSERT_TRUE(borrowed->setup->drift);
    for (const char* role : {"chip", "swatch"}) {
        const nlohmann::json& r = truth["regions"][role];
        const Box box{r["rect"][0], r["rect"][1], r["rect"][2], r["rect"][3]};
        const Lab known{r["lab_d50"][0], r["lab_d50"][1], r["lab_d50"][2]};
        const Reading with_chart = *read_region(photo, calibration, role, box, *light("D50"));
        const Reading without = *read_region(later, *borrowed, role, box, *light("D50"));
        const double a = difference_2000(known, with_chart.lab), b = difference_2000(known, without.lab);
        const Eigen::Vector3d off(without.lab.L - known.L, without.lab.a - known.a, without.lab.b - known.b);
        std::printf("%s: with the chart %.2f, by the set-up %.2f from the truth\n", role, a, b);
        EXPECT_LT(b, a + 0.5);  // dark colors: the curve turns 5 % of light into a little less or more
        EXPECT_LT(off.dot(without.lab_covariance.ldlt().solve(off)), 7.815);
    }
}

}  // namespace
}  // namespace sw
