// The simulated bench photos of tests/photos: scenes rendered from spectra by other code, with the truth beside them. Prints the table of errors and
// coverage.
#include <gtest/gtest.h>
#include <Eigen/Dense>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "calibrate/calibration.hpp"
#include "calibrate/sensor_model.hpp"
#include "color/difference.hpp"
#include "match/compare.hpp"
#include "photo/photo.hpp"

namespace sw {
namespace {

using nlohmann::json;
namespace fs = std::filesystem;

struct Scene {
    std::string name, file;
    json photo, truth;
};

/// Both photos of every case; a file that is not in the clone is looked for beside the project.
std::vector<Scene> scenes() {
    std::vector<Scene> all;
    std::vector<fs::path> folders;
    for (const auto& entry : fs::directory_iterator(fs::path(SW_TESTS) / "photos")) {
        if (entry.is_directory()) folders.push_back(entry.path());
    }
    std::sort(folders.begin(), folders.end());
    for (const fs::path& folder : folders) {
        std::ifstream in(folder / "truth.json");
        const json truth = json::parse(in);
        for (const json& photo : truth["photos"]) {
            const std::string file = photo["file"];
            fs::path path = folder / file;
            if (!fs::exists(path)) path = fs::path(SW_BESIDE) / "photos" / folder.filename() / file;
            if (!fs::exists(path)) continue;
            all.push_back({folder.filename().string() + (photo == truth["photos"][0] ? "" : " (2)"), path.string(), photo, truth});
        }
    }
    return all;
}

Region box(const json& r) { return Box{r[0], r[1], r[2], r[3]}; }
Lab lab_from(const json& v, const Xyz& white = kWhiteD50) { return Lab{v[0], v[1], v[2], white}; }

double quantile(std::vector<double> v, double q) {
    std::sort(v.begin(), v.end());
    const double at = q * static_cast<double>(v.size() - 1);
    const auto i = static_cast<std::size_t>(at);
    return v[i] + (at - static_cast<double>(i)) * (v[std::min(i + 1, v.size() - 1)] - v[i]);
}

/// Chi square of a reading's truth, 3 degrees of freedom.
double chi_square(const Reading& r, const Lab& truth) {
    const Eigen::Vector3d d(r.lab.L - truth.L, r.lab.a - truth.a, r.lab.b - truth.b);
    return d.dot(r.lab_covariance.inverse() * d);
}

struct Outcome {
    std::vector<double> absolute, pair_limit, plain_limit, pair_true, width;  // plain: of the two colors, not the middle of the range
    int covered_lab = 0, colors = 0, covered_pair = 0, pairs = 0, first_pairs = 0, first_covered = 0;
};

Outcome run(bool chart, bool lit_by) {
    Outcome o;
    const Light d50 = *light("D50");
    std::printf("%-11s %-18s | chip  swatch | dE pair [95 %%]          true   seen by camera | %s\n", chart ? "chart" : "gray card", "light",
                "leave one out");
    for (const Scene& s : scenes()) {
        const Result<Photo> photo = load_photo(s.file);
        EXPECT_TRUE(photo) << describe(photo.error());
        if (!photo) continue;
        const json& regions = s.photo["regions"];
        References references;
        references.grays.push_back({box(regions["card"]["rect"]), regions["card"]["lrv_d50_2"]});
        if (chart) {
            const json& c = s.photo["chart"]["corners_of_outer_patches"];
            references.chart.mode = ChartMode::corners;
            for (std::size_t i = 0; i < 4; ++i) references.chart.corners[i] = {c[2 * i], c[2 * i + 1]};
        }
        CalibrationOptions options;
        if (lit_by) {
            const Result<Light> l = light(s.photo["light"].get<std::string>());
            EXPECT_TRUE(l);
            if (l) options.lit_by = *l;
        }
        const Result<Calibration> calibration = calibrate(*photo, references, options);
        EXPECT_TRUE(calibration) << s.name << ": " << (calibration ? "" : describe(calibration.error()));
        if (!calibration) continue;
        std::array<double, 2> error{};
        for (int i = 0; i < 2; ++i) {
            const json& region = regions[i == 0 ? "chip" : "swatch"];
            const Result<Reading> reading = read_region(*photo, *calibration, "color", box(region["rect"]), d50);
            EXPECT_TRUE(reading);
            if (!reading) continue;
            const Lab truth = lab_from(region["lab_d50"]);
            error[static_cast<std::size_t>(i)] = difference_2000(truth, reading->lab);
            o.absolute.push_back(error[static_cast<std::size_t>(i)]);
            o.covered_lab += chi_square(*reading, truth) <= 7.815;
            ++o.colors;
        }
        if (std::getenv("SW_SHOW") != nullptr) {
            for (const char* r : {"chip", "swatch"}) {
                const Reading x = *read_region(*photo, *calibration, r, box(regions[r]["rect"]), d50);
                const Lab t = lab_from(regions[r]["lab_d50"]);
                std::printf("   %s got %.2f %.2f %.2f true %.2f %.2f %.2f sd %.2f %.2f %.2f\n", r, x.lab.L, x.lab.a, x.lab.b, t.L, t.a, t.b,
                            lab_sd(x)[0], lab_sd(x)[1], lab_sd(x)[2]);
            }
            for (double v : calibration->sensor->doubts()) std::printf(" %.4f", v);
            std::printf("\n");
        }
        PairInPhoto pair{&*photo, &*calibration, box(regions["chip"]["rect"]), box(regions["swatch"]["rect"]), options.lit_by};
        const Result<Comparison> comparison = compare({pair});
        EXPECT_TRUE(comparison);
        if (!comparison) continue;
        const Difference& d = comparison->difference;
        const bool second = s.name.find("(2)") != std::string::npos;
        const std::string light_name = s.photo["light"];
        // truth.json's "bench" is the first photo's light
        const double truth = !second ? s.truth["pair"]["bench"]["de2000"].get<double>()
                                     : difference_2000(lab_from(regions["chip"]["lab_bench"]), lab_from(regions["swatch"]["lab_bench"]));
        const double limit = s.photo["camera_limit"]["pair_de2000_seen"];
        o.pair_limit.push_back(std::abs(d.de00 - limit));
        const PairUnder& own = comparison->lights.front();
        o.plain_limit.push_back(std::abs(difference_2000(own.chip, own.swatch) - limit));
        o.pair_true.push_back(std::abs(d.de00 - truth));
        o.width.push_back(d.ci95.high - d.ci95.low);
        const bool covered = d.ci95.low <= truth && truth <= d.ci95.high;
        o.covered_pair += covered;
        ++o.pairs;
        if (!second) {
            ++o.first_pairs;
            o.first_covered += covered;
        }
        std::printf("%-11s %-18s | %4.2f  %4.2f  | %5.2f [%5.2f, %5.2f] %s %5.2f  %5.2f | %4.2f noise %.3f  %s\n", s.name.c_str(), light_name.c_str(),
                    error[0], error[1], d.de00, d.ci95.low, d.ci95.high, covered ? "  " : "! ", truth, limit, calibration->loo.mean.value_or(-1),
                    calibration->sensor->noise(), d.largest_error.c_str());
    }
    std::printf("  absolute (Lab D50): median %.2f, 95 %% %.2f; 95 %% ellipsoids cover %d of %d\n", quantile(o.absolute, 0.5),
                quantile(o.absolute, 0.95), o.covered_lab, o.colors);
    std::printf("  pair against what the camera could see: median %.2f, 95 %% %.2f; against the truth: median %.2f, 95 %% %.2f\n",
                quantile(o.pair_limit, 0.5), quantile(o.pair_limit, 0.95), quantile(o.pair_true, 0.5), quantile(o.pair_true, 0.95));
    std::printf("  two colors' plain distance against what the camera could see (bars 0.15, 0.6): median %.2f, 95 %% %.2f\n",
                quantile(o.plain_limit, 0.5), quantile(o.plain_limit, 0.95));
    std::printf("  intervals cover the truth in %d of %d (first photos: %d of %d), median width %.2f\n", o.covered_pair, o.pairs, o.first_covered,
                o.first_pairs, quantile(o.width, 0.5));
    return o;
}

// Limits: bars of the project for its first calibration; the figures printed are what it reaches. What a perfect camera would see is held to the
// plain distance of the two colors: the figure shown is the middle of a range that never goes below 0, so that of equal colors it is above 0.
void expect_first_bars(const Outcome& o, double absolute) {
    EXPECT_LE(quantile(o.absolute, 0.5), absolute);
    EXPECT_LE(quantile(o.plain_limit, 0.5), 0.25);
    EXPECT_LE(quantile(o.plain_limit, 0.95), 1.0);
    EXPECT_GE(o.first_covered, o.first_pairs - 2);
}
TEST(SimulatedPhotos, GrayCardOnly) { expect_first_bars(run(false, false), 3.5); }
TEST(SimulatedPhotos, Chart) { expect_first_bars(run(true, false), 1.8); }
TEST(SimulatedPhotos, ChartAndNamedLight) {
    const Outcome o = run(true, true);
    EXPECT_LE(quantile(o.absolute, 0.5), 1.8);
    EXPECT_GE(o.first_covered, o.first_pairs - 2);
}

}  // namespace
}  // namespace sw
