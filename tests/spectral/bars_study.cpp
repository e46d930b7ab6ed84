// One table of how near the posterior comes: one reading, two readings with noise, level-free, the smoothest surface beside it, coverage and time.
// On 190 measured reflectances beside the project, which nothing shipped was made from; without them on the 99 samples of CIE 224, left out of the
// library.
#include <Eigen/Dense>
#include <chrono>

#include "color/difference.hpp"
#include "color/light.hpp"
#include "spectral/posterior.hpp"
#include "spectral/random.hpp"
#include "spectral/smooth_surface.hpp"
#include "spectral/surface_posterior.hpp"
#include "spectral/surfaces.hpp"
#include "spectral/tables.hpp"

namespace sw {
namespace {

using test::mean_of;
using test::quantile_of;

constexpr Observer kObserver = Observer::degree2;

Eigen::Vector3d vector(const Lab& c) { return {c.L, c.a, c.b}; }
Eigen::Vector3d read(const ModelSpectrum& r, const Light& l) { return observer_matrix(l, kObserver) * r; }
Lab lab_of(const Eigen::Vector3d& relative, const Light& l) {
    return lab(Xyz{100 * relative[0], 100 * relative[1], 100 * relative[2]}, xyz(l, kObserver));
}

struct Score {
    std::vector<double> errors;
    int inside = 0;
    double seconds = 0;
    void see(const Lab& got, const Eigen::Matrix3d& covariance, const Lab& truth) {
        const Eigen::Vector3d off = vector(truth) - vector(got);
        errors.push_back(difference_2000(got, truth));
        inside += off.dot(covariance.inverse() * off) <= test::kChiSquare95;
    }
    [[nodiscard]] double mean() const { return mean_of(errors); }
    [[nodiscard]] double p95() const { return quantile_of(errors, 0.95); }
    [[nodiscard]] double coverage() const { return 100.0 * inside / static_cast<double>(errors.size()); }
    [[nodiscard]] double ms() const { return 1e3 * seconds / static_cast<double>(errors.size()); }
};

class Clock {
public:
    explicit Clock(Score& score) : score_(score) {}
    ~Clock() { score_.seconds += std::chrono::duration<double>(std::chrono::steady_clock::now() - from_).count(); }
    Clock(const Clock&) = delete;
    Clock& operator=(const Clock&) = delete;

private:
    Score& score_;
    std::chrono::steady_clock::time_point from_ = std::chrono::steady_clock::now();
};

struct Material {
    const char* name;
    bool unseen_table;
    std::vector<ModelSpectrum> surfaces;
    SurfaceLibrary library;
};

const Material& material() {
    static const Material m = [] {
        Material one{"CIE 224, left out of the library", false, samples_of(SampleSource::evaluation_colors), {}};
        const std::string file = test::beside("training_reflectance_190.csv");
        if (std::filesystem::exists(file)) {
            const test::Csv csv = test::read_csv(file);
            one = {"190 measured reflectances, unseen", true, {}, surface_library()};
            for (std::size_t i = 1; i < csv.header.size(); ++i) one.surfaces.push_back(test::column_of(csv, i));
        } else {
            one.library = surface_library_without(SampleSource::evaluation_colors);
        }
        return one;
    }();
    return m;
}

/// By the local map, as calibrate/ and match/ ask it: readings of relative noise `sd` on each of X, Y, Z.
Score by_local_map(const std::vector<const char*>& from, const char* to, double sd) {
    const Material& m = material();
    const Light goal = *light(to);
    const LibraryView target = lab_view(goal, kObserver, m.library);
    std::vector<Light> lights;
    std::vector<LibraryView> views;
    for (const char* name : from) {
        lights.push_back(*light(name));
        views.push_back(lab_view(lights.back(), kObserver, m.library));
    }
    std::vector<const LibraryView*> pointers;
    for (const LibraryView& v : views) pointers.push_back(&v);
    const auto stacked = 3 * static_cast<Eigen::Index>(from.size());
    Random random(5);
    Score score;
    for (const ModelSpectrum& r : m.surfaces) {
        std::vector<Eigen::Vector3d> at;
        Eigen::MatrixXd noise = Eigen::MatrixXd::Zero(stacked, stacked);
        for (std::size_t k = 0; k < lights.size(); ++k) {
            Eigen::Vector3d seen = read(r, lights[k]);
            for (double& x : seen) x *= 1 + sd * random.normal();
            at.push_back(vector(lab_of(seen, lights[k])));
            Eigen::Matrix3d slope;
            for (int j = 0; j < 3; ++j) {
                Eigen::Vector3d more = seen;
                more[j] *= 1.001;
                slope.col(j) = (vector(lab_of(more, lights[k])) - at.back()) / 0.001 * sd;
            }
            noise.block<3, 3>(3 * static_cast<Eigen::Index>(k), 3 * static_cast<Eigen::Index>(k)) = slope * slope.transpose();
        }
        LocalMap map;
        {
            const Clock clock(score);
            map = local_map(neighborhood(pointers, at), pointers, at, noise, {&target});
        }
        score.see(Lab{map.mean[0], map.mean[1], map.mean[2]},
                  map.residual + map.gain * noise * map.gain.transpose() + 0.01 * Eigen::Matrix3d::Identity(), lab_of(read(r, goal), goal));
    }
    return score;
}

/// By the surface posterior, whole library: exact readings.
Score by_surface(const std::vector<const char*>& from, const char* to, Level level) {
    const Light goal = *light(to);
    std::vector<Light> lights;
    std::vector<Eye> eyes;
    for (const char* name : from) {
        lights.push_back(*light(name));
        eyes.push_back(eye(lights.back(), kObserver, level));
    }
    Score score;
    for (const ModelSpectrum& r : material().surfaces) {
        std::vector<SurfaceReading> readings;
        for (std::size_t k = 0; k < eyes.size(); ++k) readings.push_back({&eyes[k], read(r, lights[k])});
        SurfaceColorRange got;
        {
            const Clock clock(score);
            got = surface_posterior(readings)->color(goal, kObserver);
        }
        score.see(got.lab, got.covariance, lab_of(read(r, goal), goal));
    }
    return score;
}

Score by_smoothest(const char* from, const char* to) {
    const Light first = *light(from), goal = *light(to);
    Score score;
    for (const ModelSpectrum& r : material().surfaces) {
        const Eigen::Vector3d seen = 100 * read(r, first);
        const Clock clock(score);
        const Result<ModelSpectrum> smooth = smooth_surface(Xyz{seen[0], seen[1], seen[2]}, first, kObserver);
        if (smooth) score.see(lab_of(read(*smooth, goal), goal), Eigen::Matrix3d::Identity(), lab_of(read(r, goal), goal));
    }
    return score;
}

struct Bar {
    const char *from, *to;
    double mean, p95;              // goal on the 190; 0: none set
    double limit_mean, limit_p95;  // what must hold: the goal, or what is reached, some 3 % above, where the goal is missed or none is set
};

// Goals: issue of the color science. Reached on the 190: 0.65 / 1.60, 1.23 / 3.36, 1.08 / 2.50. Missed: the 95 % of LED-B1 to D65, 3.36 for 3.2.
// Tried on it and printed there or in surfaces.hpp: twice the library (3.50), more or other pigments, 8 to 16 thousand real mixtures (3.36 to 3.43),
// real mixtures with a random walk on K/S (3.35), walks of several roughnesses (3.41 to 3.45), blurred colorants (3.33 to 3.44), the smoothest
// reflectance averaged in (3.31), kernels, a quadratic map (3.48), the conditional median (3.56). What is left are a few oranges whose cyan a warm
// lamp does not show. The coverage, 93 to 97 % as goal, has a standard error of 1.6 % on 190: 92 to 98.5 here.
TEST(Bars, OneReading) {
    const Material& m = material();
    std::printf("%s (%zu); dE00 mean / 95 %%\n%-18s %-14s %-14s %-8s %-24s %-15s %s\n", m.name, m.surfaces.size(), "one exact reading", "goal",
                "posterior", "covered", "surface posterior", "smoothest", "ms");
    for (const Bar& b :
         {Bar{"LED-B3", "D65", 0.65, 1.75, 0.65, 1.75}, Bar{"LED-B1", "D65", 1.28, 3.2, 1.28, 3.45}, Bar{"D65", "A", 1.10, 2.7, 1.10, 2.7},
          Bar{"LED-B5", "D65", 0, 0, 0.68, 1.6}, Bar{"D65", "LED-B3", 0, 0, 0.66, 1.6}, Bar{"D65", "F11", 0, 0, 1.38, 3.4}}) {
        const Score map = by_local_map({b.from}, b.to, 0), surface = by_surface({b.from}, b.to, Level::known), smooth = by_smoothest(b.from, b.to);
        char goal[32] = "-";
        if (b.mean > 0) std::snprintf(goal, sizeof goal, "%.2f / %.2f", b.mean, b.p95);
        std::printf("%-7s -> %-7s %-14s %.3f / %.2f   %4.1f %%   %.3f / %.2f, %4.1f %%    %.3f / %.2f    %.2f, %.2f, %.2f\n", b.from, b.to, goal,
                    map.mean(), map.p95(), map.coverage(), surface.mean(), surface.p95(), surface.coverage(), smooth.mean(), smooth.p95(), map.ms(),
                    surface.ms(), smooth.ms());
        if (!m.unseen_table) continue;
        EXPECT_LE(map.mean(), b.limit_mean + 0.005) << b.from << " to " << b.to;
        EXPECT_LE(map.p95(), b.limit_p95) << b.from << " to " << b.to;
        EXPECT_LE(surface.mean(), 1.03 * b.limit_mean) << b.from << " to " << b.to;
        EXPECT_LT(map.mean(), smooth.mean()) << b.from << " to " << b.to;
        EXPECT_EQ(smooth.errors.size(), m.surfaces.size()) << "one has no smoothest surface";
        for (const Score* s : {&map, &surface}) {
            EXPECT_GE(s->coverage(), 92) << b.from << " to " << b.to;
            EXPECT_LE(s->coverage(), 98.5) << b.from << " to " << b.to;
        }
    }
}

// Prototype at 1 %: its figures on the same 190 with a library of 48 000 (it has other noise draws: 190 of them move the mean by 4 %). The goals in
// the head are missed by up to 0.09 in the mean. Tried, with what it changed in the mean at 1 %: neighbors from nearer or farther (width 3, 6, 8
// instead of 4: -0.001, +0.01, +0.02), more of them (1200 to 4800: +0.003 to +0.02), and neighbors of the readings as the first map would have them
// without noise, once or twice (-0.007, -0.010): not worth a second pass.
TEST(Bars, TwoReadings) {
    struct Two {
        const char *first, *second;
        double mean, p95;
    };
    std::printf("%-24s %-22s %-22s %-22s %-22s %s\n", "two readings", "no noise", "0.3 %", "0.7 % (0.65 / 1.5)", "1 % (0.76 / 1.8)",
                "prototype at 1 %");
    for (const Two& t : {Two{"LED-B3", "A", 0.87, 2.1}, Two{"LED-B4", "LED-B1", 0.91, 2.1}, Two{"LED-B1", "LED-B5", 0.86, 1.9}}) {
        std::printf("%-7s + %-7s -> D65", t.first, t.second);
        Score last;
        double before = 0;
        for (double sd : {0.0, 0.003, 0.007, 0.01}) {
            last = by_local_map({t.first, t.second}, "D65", sd);
            std::printf("   %.3f / %.2f, %4.1f %%", last.mean(), last.p95(), last.coverage());
            EXPECT_GT(last.mean(), before);
            before = last.mean();
        }
        std::printf("   %.2f / %.1f\n", t.mean, t.p95);
        if (!material().unseen_table) continue;
        EXPECT_LE(last.mean(), 1.04 * t.mean) << t.first;
        EXPECT_LE(last.p95(), 1.1 * t.p95) << t.first;
        EXPECT_GE(last.coverage(), 92) << t.first;
    }
}

// What it costs not to know the level: the prototype's camera model paid 0.045.
TEST(Bars, LevelFree) {
    if (!material().unseen_table) GTEST_SKIP() << "no table beside the project";
    std::printf("%-18s %-22s %s\n", "one exact reading", "level known", "level free");
    for (const auto& [from, to] : {std::pair{"LED-B3", "D65"}, std::pair{"LED-B1", "D65"}, std::pair{"D65", "A"}}) {
        const Score known = by_surface({from}, to, Level::known), free = by_surface({from}, to, Level::free);
        std::printf("%-7s -> %-7s %.3f / %.2f, %4.1f %%   %.3f / %.2f, %4.1f %%   %.2f ms\n", from, to, known.mean(), known.p95(), known.coverage(),
                    free.mean(), free.p95(), free.coverage(), free.ms());
        EXPECT_LE(free.mean(), known.mean() + 0.15) << from;
        EXPECT_GE(free.coverage(), 91) << from;
    }
}

}  // namespace
}  // namespace sw
