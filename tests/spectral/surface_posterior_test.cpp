// The surface behind a color: properties that hold whatever the library is. How near it comes is printed by bars_study.cpp.
#include "spectral/surface_posterior.hpp"

#include <Eigen/Dense>
#include <Eigen/Eigenvalues>

#include "color/difference.hpp"
#include "color/light.hpp"
#include "spectral/random.hpp"
#include "spectral/sensitivity.hpp"
#include "spectral/surfaces.hpp"
#include "spectral/tables.hpp"

namespace sw {
namespace {

constexpr Observer kObserver = Observer::degree2;
const Eye& bench() {
    static const Eye e = eye(*light("LED-B3"), kObserver);
    return e;
}
const Eye& warm() {
    static const Eye e = eye(*light("A"), kObserver);
    return e;
}
std::vector<ModelSpectrum> some_surfaces() {
    std::vector<ModelSpectrum> some;
    const std::vector<ModelSpectrum> all = test::smooth_reflectances();
    for (std::size_t i = 0; i < all.size(); i += test::kSlow ? 40 : 10) some.push_back(all[i]);
    return some;
}

// Three lines, as the header says: Lab in, reflectance with its range out. The true reflectance stands within 4 sd everywhere but for 1 % of bands.
TEST(SurfacePosterior, OfOneLabIsAReflectanceWithItsRange) {
    const Light b3 = *light("LED-B3");
    int outside = 0, bands = 0;
    for (const ModelSpectrum& r : some_surfaces()) {
        const Eigen::Vector3d v = 100 * (observer_matrix(b3, kObserver) * r);
        const Lab seen = lab(Xyz{v[0], v[1], v[2]}, xyz(b3, kObserver));
        const Result<SurfacePosterior> surface = surface_posterior(seen, kExact, b3, kObserver);
        ASSERT_TRUE(surface);
        const ModelSpectrum sd = surface->sd();
        outside += static_cast<int>(((surface->mean - r).array().abs() > 4 * sd.array() + 0.002).count());
        bands += kModelBands;
        EXPECT_LT(difference_2000(surface->color(b3, kObserver).lab, seen), 1e-3);
        EXPECT_LT(sd.maxCoeff(), 0.35);
    }
    std::printf("%d of %d bands beyond 4 sd\n", outside, bands);
    EXPECT_LE(outside, bands / 100);
}

// Exact readings come back: the regression is on XYZ, of which the reflectance is a linear cause; its ridge leaves 1e-4 of the white at most.
TEST(SurfacePosterior, ReadsAsWasRead) {
    test::Worst one, two;
    for (const ModelSpectrum& r : some_surfaces()) {
        const Eigen::Vector3d a = bench().rows * r, b = warm().rows * r;
        const std::string where = "Y " + std::to_string(a[1]);
        const SurfacePosterior single = *surface_posterior({{&bench(), a}}), both = *surface_posterior({{&bench(), a}, {&warm(), b}});
        one.see((bench().rows * single.mean - a).norm(), where);
        two.see((bench().rows * both.mean - a).norm() + (warm().rows * both.mean - b).norm(), where);
        EXPECT_LT((bench().rows * single.covariance * bench().rows.transpose()).trace(), 1e-6);
    }
    one.report("XYZ of one reading, white = 1", 1e-4);
    two.report("XYZ of two readings", 1e-3);
}

// A second reading narrows: on surfaces made otherwise than the library, the variance of the color in daylight falls in at least 19 of 20, and on the
// average to less than half (bars_study.cpp: the error falls to 0.6).
TEST(SurfacePosterior, MoreReadingsNarrow) {
    const Light d65 = *light("D65");
    int wider = 0, all = 0;
    double before = 0, after = 0;
    for (const ModelSpectrum& r : some_surfaces()) {
        const Eigen::Vector3d a = bench().rows * r, b = warm().rows * r;
        const double one = surface_posterior({{&bench(), a}})->color(d65, kObserver).covariance.trace(),
                     two = surface_posterior({{&bench(), a}, {&warm(), b}})->color(d65, kObserver).covariance.trace();
        wider += two > one;
        ++all;
        before += one;
        after += two;
    }
    EXPECT_LE(wider, all / 20);
    EXPECT_LT(after, before / 2);
}

// With one neighborhood it is algebra: C - C A' (A C A' + N)^-1 A C never exceeds C, so a second reading with any noise widens no band.
TEST(SurfacePosterior, NoReadingWidensAnythingAmongTheSameNeighbors) {
    const Neighborhood near = neighborhood({&bench().view}, {Eigen::Vector3d(55, 8, 12)});
    Eigen::MatrixXd surfaces(kModelBands, 600);
    for (int i = 0; i < 600; ++i) surfaces.col(i) = surface_library().col(near.index[static_cast<std::size_t>(i)]).cast<double>();
    Eigen::MatrixXd both(6, 600);
    both << 100 * (bench().rows * surfaces), 100 * (warm().rows * surfaces);
    const Eigen::VectorXd at = both.rowwise().mean();
    const auto posterior = [&](int rows, double sd) {
        Eigen::MatrixXd noise = Eigen::MatrixXd::Identity(rows, rows);
        if (rows == 6) noise.bottomRightCorner<3, 3>() *= sd * sd;
        const LocalMap map = local_map(near, both.topRows(rows), surfaces, at.head(rows), noise);
        // the range factor is of unlike sources and no part of the algebra
        return Eigen::MatrixXd(map.residual / near.range_factor + map.gain * noise * map.gain.transpose());
    };
    const Eigen::MatrixXd one = posterior(3, 0);
    for (double sd : {0.1, 1.0, 10.0, 1e4}) {
        const Eigen::MatrixXd less = one - posterior(6, sd);
        EXPECT_GT(Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd>(less).eigenvalues().minCoeff(), -1e-6) << sd;
    }
}

// Noise without end: the prior, mean and covariance of the whole library (times the range factor), whatever was read. Noise of 1e4 times the color
// leaves a gain of 1e-8.
TEST(SurfacePosterior, WithoutAnyReadingIsThePrior) {
    if (test::kSlow) GTEST_SKIP() << "a second in release, too long under the sanitizers";
    const Eigen::Vector3d color(0.3, 0.35, 0.1);
    const SurfacePosterior p = *surface_posterior({{&bench(), color, 1e8 * Eigen::Matrix3d::Identity()}});
    const Eigen::MatrixXd all = surface_library().cast<double>();
    const ModelSpectrum mean = all.rowwise().mean();
    EXPECT_LT((p.mean - mean).cwiseAbs().maxCoeff(), 1e-4);
    const ModelSpectrum sd = (all.colwise() - mean).cwiseAbs2().rowwise().mean().cwiseSqrt();
    const double ratio = p.sd()[35] / sd[35];
    EXPECT_NEAR((p.sd().array() / sd.array() / ratio - 1).abs().maxCoeff(), 0, 1e-3);
    EXPECT_GE(ratio, 0.999);
    EXPECT_LT(ratio, 1.6);  // the root of the largest range factor, 2.24, and some
}

// Noise widens, and a noisy second reading counts for less and less: with an sd of 1e4 whites the answer is that of the first alone.
TEST(SurfacePosterior, ADoubtedReadingCountsForNothing) {
    const ModelSpectrum r = test::smooth_reflectances()[44];
    const Eigen::Vector3d a = bench().rows * r, b = warm().rows * r;
    const SurfacePosterior alone = *surface_posterior({{&bench(), a}}),
                           with = *surface_posterior({{&bench(), a}, {&warm(), 0.5 * b, 1e8 * Eigen::Matrix3d::Identity()}});
    EXPECT_LT((alone.mean - with.mean).norm(), 1e-3);
    double before = 0;
    for (double sd : {0.0, 0.002, 0.01, 0.03}) {
        const double trace = surface_posterior({{&bench(), a, sd * sd * Eigen::Matrix3d::Identity()}})->covariance.trace();
        EXPECT_GT(trace, before);
        before = trace;
    }
}

// Free level: times k in, times k out. Rounding only: what differs is the order of a division (1e-12 relative, through a solve of condition 1e4).
TEST(SurfacePosterior, OfFreeLevelIsHomogeneous) {
    const Eye free = eye(*light("LED-B3"), kObserver, Level::free), free_warm = eye(*light("A"), kObserver, Level::free);
    for (const ModelSpectrum& r : some_surfaces()) {
        const Eigen::Vector3d a = free.rows * r, b = free_warm.rows * r;
        const SurfacePosterior one = *surface_posterior({{&free, a}}), two = *surface_posterior({{&free, a}, {&free_warm, 3 * b}});
        EXPECT_LT((free.rows * one.mean - a).norm(), 1e-4);
        for (double k : {0.037, 0.5, 4.0}) {
            const SurfacePosterior more = *surface_posterior({{&free, k * a}});
            EXPECT_LT((more.mean - k * one.mean).norm(), 1e-9 * k * one.mean.norm());
            EXPECT_LT((more.covariance - k * k * one.covariance).norm(), 1e-8 * k * k * one.covariance.norm());
            // each reading's own level is free: only the first gives the unit
            const SurfacePosterior other = *surface_posterior({{&free, a}, {&free_warm, k * b}});
            EXPECT_LT((other.mean - two.mean).norm(), 1e-7 * two.mean.norm());
        }
    }
}

// A known level among free ones fixes the scale.
TEST(SurfacePosterior, AKnownLevelFixesTheScale) {
    const Eye free = eye(*light("A"), kObserver, Level::free);
    const ModelSpectrum r = test::smooth_reflectances()[44];
    const Eigen::Vector3d a = bench().rows * r, b = free.rows * r;
    const SurfacePosterior p = *surface_posterior({{&free, 7 * b}, {&bench(), a}});
    EXPECT_LT((bench().rows * p.mean - a).norm(), 1e-3);
}

// Draws have the mean and covariance they are drawn from (4 standard errors of the whole, 20 000 draws) and are the same each time.
TEST(SurfacePosterior, SamplesAreOfItsMeanAndCovariance) {
    const SurfacePosterior p = *surface_posterior(Lab{52, 10, 20}, kExact, *light("LED-B3"), kObserver);
    constexpr int count = 20000;
    const Eigen::MatrixXd draws = p.samples(count, 3);
    ASSERT_EQ(draws.rows(), kModelBands);
    ASSERT_EQ(draws.cols(), count);
    EXPECT_EQ(draws, p.samples(count, 3));
    EXPECT_NE(draws, p.samples(count, 4));
    const ModelSpectrum mean = draws.rowwise().mean();
    EXPECT_LT(((mean - p.mean).array() / (p.sd().array() + 1e-9)).abs().maxCoeff(), 4 / std::sqrt(count));
    const Eigen::MatrixXd spread = (draws.colwise() - mean) * (draws.colwise() - mean).transpose() / count;
    EXPECT_LT((spread - p.covariance).norm(), 0.05 * p.covariance.norm());
}

// A camera that is the observer: scene RGB in, the same surface out as from XYZ (views are floats and judged under D50's white: 0.5).
TEST(SurfacePosterior, ReadsACamera) {
    const Light d50 = *light("D50");
    const ObserverMatrix observer = observer_matrix(d50, kObserver);
    const Eigen::Vector3d white = observer.rowwise().sum();
    const SensitivityRows rows = white.cwiseInverse().asDiagonal() * observer;
    const Eye camera = eye(rows, Eigen::Matrix3d(white.asDiagonal())), human = eye(d50, kObserver);
    const ModelSpectrum r = test::smooth_reflectances()[44];
    const SurfacePosterior a = *surface_posterior({{&camera, rows * r}}), b = *surface_posterior({{&human, observer * r}});
    const Light d65 = *light("D65");
    EXPECT_LT(difference_2000(a.color(d65, kObserver).lab, b.color(d65, kObserver).lab), 0.02);
}

TEST(SurfacePosterior, SaysWhenAColorTellsNothing) {
    const double nan = std::nan("");
    for (const Eigen::Vector3d& c : {Eigen::Vector3d(0, 0, 0), Eigen::Vector3d(nan, 0.2, 0.2), Eigen::Vector3d(-1, -1, -1)}) {
        const Result<SurfacePosterior> p = surface_posterior({{&bench(), c}});
        ASSERT_FALSE(p);
        EXPECT_EQ(p.error().fault, Fault::known_unusable);
        EXPECT_FALSE(p.error().remedy.empty());
    }
    EXPECT_FALSE(surface_posterior({{&bench(), Eigen::Vector3d(0.2, 0.2, 0.2), nan * Eigen::Matrix3d::Identity()}}));
    EXPECT_TRUE(surface_posterior(Lab{30, 120, 100}, kExact, *light("D65"), kObserver));  // no surface, but an answer
    EXPECT_GT(surface_posterior(Lab{30, 120, 100}, kExact, *light("D65"), kObserver)->distance, 8);
}

}  // namespace
}  // namespace sw
