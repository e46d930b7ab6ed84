// What physics allows: extremes against a closed form, against the constraint, and around surfaces that exist.
#include "match/bounds.hpp"

#include <cmath>
#include <limits>
#include <numeric>

#include "color/light.hpp"
#include "color/reference.hpp"
#include "spectral/sensitivity.hpp"
#include "spectral/surfaces.hpp"

namespace sw {
namespace {

/// The 14 directions in the order of the extremes: faces and corners of a cube.
const std::vector<Eigen::Vector3d>& directions() {
    static const std::vector<Eigen::Vector3d> list = [] {
        std::vector<Eigen::Vector3d> all;
        for (int x = -1; x <= 1; ++x) {
            for (int y = -1; y <= 1; ++y) {
                for (int z = -1; z <= 1; ++z) {
                    const int parts = std::abs(x) + std::abs(y) + std::abs(z);
                    if (parts == 1 || parts == 3) all.emplace_back(x, y, z);
                }
            }
        }
        return all;
    }();
    return list;
}

const SensitivityRows& camera() {
    static const SensitivityRows rows = sensitivity_prior(*light("LED-B3")).mean;
    return rows;
}

/// A camera of three plain bands that do not overlap: 24, 24 and 23 of the model's bands.
SensitivityRows block_camera() {
    SensitivityRows rows = SensitivityRows::Zero();
    rows.row(0).tail(23).setConstant(1.0 / 23);
    rows.row(1).segment(24, 24).setConstant(1.0 / 24);
    rows.row(2).head(24).setConstant(1.0 / 24);
    return rows;
}

// With bands that do not overlap, the extreme is known: in each band fill the wavelengths of highest price first, until the reading is reached
// (fractional knapsack). The smoothing may lose up to its last width (a hundredth of the highest price) times the number of undecided wavelengths:
// some 1e-3 of Y = 1.
TEST(MismatchExtremes, ReachTheClosedFormOfABlockCamera) {
    const SensitivityRows rows = block_camera();
    const ObserverMatrix target = observer_matrix(*light("D65"), Observer::degree2);
    test::Worst below, above;
    for (const Eigen::Vector3d& seen :
         {Eigen::Vector3d(0.5, 0.5, 0.5), Eigen::Vector3d(0.2, 0.4, 0.7), Eigen::Vector3d(0.8, 0.1, 0.05), Eigen::Vector3d(0.05, 0.06, 0.07)}) {
        const std::vector<Eigen::Vector3d> found = mismatch_extremes(rows, seen, target);
        ASSERT_EQ(found.size(), 14U);
        for (std::size_t k = 0; k < 14; ++k) {
            const ModelSpectrum price = target.transpose() * directions()[k];
            double best = 0;
            for (int c = 0; c < 3; ++c) {
                std::vector<double> prices;
                for (int i = 0; i < kModelBands; ++i) {
                    if (rows(c, i) > 0) prices.push_back(price[i]);
                }
                std::sort(prices.rbegin(), prices.rend());
                double left = seen[c] * static_cast<double>(prices.size());
                for (double p : prices) {
                    const double part = std::min(1.0, left);
                    best += part * p;
                    left -= part;
                    if (left <= 0) break;
                }
            }
            const double reached = directions()[k].dot(found[k]);
            below.see(best - reached, "direction " + std::to_string(k));
            above.see(reached - best, "direction " + std::to_string(k));
        }
    }
    below.report("short of the closed form", 5e-3);
    above.report("beyond the closed form (constraint given way)", 1e-4);
}

// Looked at by the camera itself, every extreme is the reading: the constraint holds (the search accepts 2e-3, reaches 1e-6 where it converges).
TEST(MismatchExtremes, ReadLikeTheReading) {
    test::Worst worst;
    for (int i = 5; i < 24000; i += 1999) {
        const Eigen::Vector3d seen = camera() * surface_library().col(i).cast<double>();
        const std::vector<Eigen::Vector3d> found = mismatch_extremes(camera(), seen, camera());
        EXPECT_FALSE(found.empty());
        for (const Eigen::Vector3d& v : found) worst.see((v - seen).cwiseAbs().maxCoeff(), "surface " + std::to_string(i));
    }
    worst.report("extremes seen by the camera itself", 2e-3);
}

// A surface that exists reads like the reading, so it lies within what physics allows, in each of the 14 directions. 4e-3: what the smoothing may
// fall short.
TEST(MismatchExtremes, HoldTheSurfaceThatWasRead) {
    for (const char* name : {"D65", "A"}) {
        const ObserverMatrix target = observer_matrix(*light(name), Observer::degree2);
        test::Worst worst, order;
        int complete = 0, all = 0;
        double width = 0;
        for (int i = 5; i < 24000; i += 499) {
            const ModelSpectrum r = surface_library().col(i).cast<double>();
            const std::vector<Eigen::Vector3d> found = mismatch_extremes(camera(), camera() * r, target);
            ++all;
            if (found.size() != 14) continue;  // the lightest and darkest leave hardly any room; counted below
            ++complete;
            for (std::size_t k = 0; k < 14; ++k) {
                const Eigen::Vector3d& d = directions()[k];
                worst.see(d.dot(target * r) - d.dot(found[k]), "surface " + std::to_string(i));
                for (const Eigen::Vector3d& other : found) order.see(d.dot(other) - d.dot(found[k]), "surface " + std::to_string(i));
            }
            width += found[13][1] - found[0][1];
        }
        std::printf("%s: %d of %d surfaces with all 14 directions; mean width along Y of the outer corners %.3f\n", name, complete, all,
                    width / complete);
        EXPECT_GE(complete, all * 9 / 10);
        worst.report(std::string("surface beyond the extremes, ") + name, 4e-3);
        order.report(std::string("an extreme beyond that of its direction, ") + name, 4e-3);
    }
}

// No reflectance of 0..1 reads above the diffuser, below nothing, or bright in one channel and black in its neighbors.
TEST(MismatchExtremes, AreEmptyWhereNoSurfaceCanReadLikeThat) {
    const ObserverMatrix target = observer_matrix(*light("D65"), Observer::degree2);
    for (const Eigen::Vector3d& seen : {Eigen::Vector3d(1.2, 1.2, 1.2), Eigen::Vector3d(-0.2, -0.2, -0.2), Eigen::Vector3d(0.5, 1.3, 0.5)}) {
        EXPECT_TRUE(mismatch_extremes(block_camera(), seen, target).empty()) << seen.transpose();
    }
    EXPECT_TRUE(mismatch_extremes(camera(), {1.3, 1.3, 1.3}, target).empty());
    EXPECT_TRUE(mismatch_extremes(camera(), {-3, 3, -3}, target).empty());
    constexpr double nan = std::numeric_limits<double>::quiet_NaN();
    EXPECT_TRUE(mismatch_extremes(camera(), {nan, 0.5, 0.5}, target).empty());
    EXPECT_TRUE(mismatch_extremes(camera(), {nan, nan, nan}, target).empty());
}

TEST(MismatchExtremes, AreTheSameEachTime) {
    const ObserverMatrix target = observer_matrix(*light("A"), Observer::degree2);
    EXPECT_EQ(mismatch_extremes(camera(), {0.3, 0.4, 0.2}, target), mismatch_extremes(camera(), {0.3, 0.4, 0.2}, target));
}

}  // namespace
}  // namespace sw
