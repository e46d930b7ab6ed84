// The camera's curve, fitted as four neutrals or more tell it: against the three-figure curve alone, on made-up curves and on the simulated photos.
#include <Eigen/Cholesky>
#include <functional>

#include "calibrate/calibration.hpp"
#include "calibrate/evidence.hpp"
#include "calibrate/scene.hpp"
#include "color/difference.hpp"

namespace sw {
namespace {

using test::Bench;

constexpr int kEvery = 3;
constexpr double kLeastCovered = 0.9;

double mean_of(const std::vector<double>& v) {
    double sum = 0;
    for (double x : v) sum += x / static_cast<double>(v.size());
    return sum;
}
double quantile_of(std::vector<double> v, double q) {
    std::sort(v.begin(), v.end());
    return v[static_cast<std::size_t>(std::lround(q * static_cast<double>(v.size() - 1)))];
}

/// A camera's rendering: linear scene light -> encoded value, 0..1.
struct Rendering {
    const char* name;
    std::function<double(double)> encoded;
};
const std::vector<Rendering>& renderings() {
    static const std::vector<Rendering> list{
        {"sRGB alone", [](double x) { return linear_to_srgb(x); }},
        {"S, mild",
         [](double x) {
             const double e = linear_to_srgb(x);
             return e + 0.2 * 2 * e * (1 - e) * (2 * e - 1);
         }},
        {"S, strong",
         [](double x) {
             const double e = linear_to_srgb(x);
             return e + 0.45 * 2 * e * (1 - e) * (2 * e - 1);
         }},
        {"filmic: toe and shoulder", [](double x) { return linear_to_srgb(x * (2.4 * x + 0.06) / (x * (2.2 * x + 0.5) + 0.1)); }},
        {"log-like, flat", [](double x) { return std::log1p(60 * x) / std::log1p(60.0); }},
        {"knee at 0.6", [](double x) {
             const double e = linear_to_srgb(x);
             return e < 0.6 ? 1.12 * e : 0.672 + (e - 0.6) * 0.82;
         }}};
    return list;
}

void render(Photo& photo, const Rendering& rendering) {
    photo.linear = false;
    photo.bits = 8;
    for (float& v : photo.rgb) {
        const double e = std::clamp(rendering.encoded(std::clamp(static_cast<double>(v), 0.0, 1.0)), 0.0, 1.0);
        v = static_cast<float>(srgb_to_linear(std::round(255 * e) / 255));
    }
}

/// Errors of surfaces with the free curve and without.
struct Trial {
    std::vector<double> free, plain;
    double covered = 0;  // share of truths inside the 95 % ellipsoid, free curve
};
Trial trial(const Rendering& rendering, bool chart, int cards) {
    Bench bench;
    bench.exposure = 0.75;
    References r;
    constexpr std::array<double, 4> lrvs{18, 5, 45, 88};
    for (int i = 0; i < cards; ++i) {
        const double lrv = lrvs[static_cast<std::size_t>(i)];
        r.grays.push_back({bench.lay({10, 10 + 62.0 * i, 110, 55}, ModelSpectrum::Constant(lrv / 100)), lrv});
    }
    if (chart) r.chart = bench.lay_chart();
    std::vector<std::pair<Box, Lab>> chips;
    for (int i = 0; i < 68; i += kEvery) {
        const ModelSpectrum s = test::surface(701 * i + 37);
        chips.emplace_back(bench.lay({140 + 26.0 * (i % 17), 10 + 30.0 * (i / 17), 24, 28}, s),
                           test::lab_d50(s));  // NOLINT(bugprone-integer-division)
    }
    render(bench.photo, rendering);
    Result<Evidence> evidence = gather(bench.photo, r, {});
    EXPECT_TRUE(evidence) << describe(evidence.error());
    Trial result;
    for (const bool free : {true, false}) {
        Evidence one = *evidence;
        EXPECT_TRUE(one.setup.free_curve);
        one.setup.free_curve = free;
        const Calibration c = fit(std::move(one));
        for (const auto& [box, truth] : chips) {
            const Reading reading = *read_region(bench.photo, c, "chip", box, *light("D50"));
            (free ? result.free : result.plain).push_back(difference_2000(truth, reading.lab));
            const Eigen::Vector3d off(reading.lab.L - truth.L, reading.lab.a - truth.a, reading.lab.b - truth.b);
            if (free && off.dot(reading.lab_covariance.ldlt().solve(off)) < 7.815) result.covered += 1.0 / static_cast<double>(chips.size());
        }
    }
    return result;
}

// No outside figures: the curves are made up, the goal is that freedom helps where the curve is odd, and costs next to nothing where it is not.
TEST(FreeCurve, HelpsWhereTheCurveIsOddAndCostsLittleElsewhere) {
    std::printf("%-26s %-10s | three figures: mean, 95 %% | free curve: mean, 95 %% | covered (goal 90 %%)\n", "rendering", "references");
    double before = 0, after = 0;
    for (const Rendering& rendering : renderings()) {
        for (const auto& [chart, cards] : {std::pair{true, 0}, {false, 4}}) {
            const Trial t = trial(rendering, chart, cards);
            std::printf("%-26s %-10s |        %5.2f  %5.2f          |     %5.2f  %5.2f        | %3.0f %%\n", rendering.name,
                        chart ? "chart" : "4 cards", mean_of(t.plain), quantile_of(t.plain, 0.95), mean_of(t.free), quantile_of(t.free, 0.95),
                        100 * t.covered);
            before += mean_of(t.plain) / 12;
            after += mean_of(t.free) / 12;
            EXPECT_LT(mean_of(t.free), mean_of(t.plain) + 0.1) << rendering.name;  // evidence may err a little
            EXPECT_GT(t.covered, kLeastCovered) << rendering.name;
        }
    }
    std::printf("all: %.3f -> %.3f, goal: less than 0.85 of it\n", before, after);
    EXPECT_LT(after, 0.85 * before);
}

// Those photos have curves that three figures nearly hold: freedom must not cost there (0.05: a tenth of the standard error of the mean).
TEST(FreeCurve, OnTheSimulatedPhotos) {
    std::vector<double> free, plain;
    for (const test::Scene& s : test::scenes()) {
        References r;
        r.chart = s.chart();
        const Photo& photo = test::photo_of(s);
        Result<Evidence> evidence = gather(photo, r, {});
        ASSERT_TRUE(evidence);
        for (const bool bends : {true, false}) {
            Evidence one = *evidence;
            one.setup.free_curve = bends;
            const Calibration c = fit(std::move(one));
            for (const char* role : {"chip", "swatch"}) {
                const Reading reading = *read_region(photo, c, role, s.box(role), *light("D50"));
                (bends ? free : plain).push_back(difference_2000(s.lab_d50(role), reading.lab));
            }
        }
    }
    std::printf("simulated photos, chart: three figures mean %.3f median %.3f 95 %% %.2f; free curve %.3f %.3f %.2f\n", mean_of(plain),
                quantile_of(plain, 0.5), quantile_of(plain, 0.95), mean_of(free), quantile_of(free, 0.5), quantile_of(free, 0.95));
    EXPECT_LT(mean_of(free), mean_of(plain) + 0.05);
}

}  // namespace
}  // namespace sw
