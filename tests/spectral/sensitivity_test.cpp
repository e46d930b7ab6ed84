// What a camera under a light may see before any reference is looked at.
#include "spectral/sensitivity.hpp"

#include <Eigen/Dense>
#include <map>

#include "color/adaptation.hpp"
#include "color/light.hpp"
#include "spectral/surfaces.hpp"
#include "spectral/tables.hpp"

namespace sw {
namespace {

using test::Csv;

const Sensitivity& prior_for(const std::string& name) {  // "" = unknown
    static std::map<std::string, Sensitivity> made;
    const auto at = made.find(name);
    if (at != made.end()) return at->second;
    return made.emplace(name, sensitivity_prior(name.empty() ? std::nullopt : std::optional<Light>(*light(name)))).first->second;
}

const std::vector<std::string> kLights{"", "D65", "LED-B3", "LED-B1", "A", "F11", "LED-RGB1"};

// Definition of SensitivityRows: each row's sum is 1 (white = (1, 1, 1)).
TEST(SensitivityPrior, HasRowsOfSumOneAndNoDoubtAboutIt) {
    for (const std::string& name : kLights) {
        const Sensitivity& prior = prior_for(name);
        ASSERT_EQ(prior.covariance.rows(), kSensitivitySize);
        ASSERT_EQ(prior.covariance.cols(), kSensitivitySize);
        for (int c = 0; c < 3; ++c) {
            EXPECT_NEAR(prior.mean.row(c).sum(), 1, 1e-12) << name;
            Eigen::VectorXd ones = Eigen::VectorXd::Zero(kSensitivitySize);
            ones.segment(c * kModelBands, kModelBands).setOnes();
            EXPECT_NEAR((prior.covariance * ones).norm(), 0, 1e-12) << name << " channel " << c;  // the sum's covariance with everything
        }
    }
}

TEST(SensitivityPrior, CovarianceIsSymmetricAndPositive) {
    for (const std::string& name : kLights) {
        const Eigen::MatrixXd& c = prior_for(name).covariance;
        EXPECT_TRUE(c.allFinite());
        EXPECT_LT((c - c.transpose()).cwiseAbs().maxCoeff(), 1e-15) << name;
        const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(c, Eigen::EigenvaluesOnly);
        EXPECT_GT(eigen.eigenvalues().minCoeff(), -1e-12 * eigen.eigenvalues().maxCoeff()) << name;
        EXPECT_GT(eigen.eigenvalues().maxCoeff(), 0);
    }
}

TEST(SensitivityPrior, IsTheSameEachTime) {
    const Sensitivity one = sensitivity_prior(*light("LED-B3")), two = sensitivity_prior(*light("LED-B3"));
    EXPECT_EQ(one.mean, two.mean);
    EXPECT_EQ(one.covariance, two.covariance);
}

// To know the light can only help: what the camera makes of the chart's patches is less open. Each light by itself against the list of lights.
TEST(SensitivityPrior, ANamedLightIsNarrowerThanAnUnknownOne) {
    const auto openness = [](const Sensitivity& s) {
        double sum = 0;
        for (int i = 0; i < 24; ++i) {
            for (int c = 0; c < 3; ++c) {
                const double level = std::abs(s.mean.row(c).dot(chart_reflectances().col(i)));
                const ModelSpectrum r = chart_reflectances().col(i) / (level + 0.1);  // a red channel sees next to nothing of cyan: not divided by 0
                sum += r.dot(s.covariance.block(c * kModelBands, c * kModelBands, kModelBands, kModelBands) * r);
            }
        }
        return std::sqrt(sum / 72);
    };
    const double unknown = openness(prior_for(""));
    std::printf("relative standard deviation (of level + 0.1) of the chart's 72 values: light unknown %.3f\n", unknown);
    for (const std::string& name : kLights) {
        if (name.empty()) continue;
        const double named = openness(prior_for(name));
        std::printf("  %-9s %.3f\n", name.c_str(), named);
        // RGB lamps are not in the list of bench lights, and no camera is made for them: excepted
        if (name != "LED-RGB1") {
            EXPECT_LT(named, unknown) << name;
        }
    }
    // 5 nm traces: the covariance over the bands themselves too
    EXPECT_LT(prior_for("D65").covariance.trace(), prior_for("").covariance.trace());
    EXPECT_LT(prior_for("LED-B3").covariance.trace(), prior_for("").covariance.trace());
}

// Header: white-preserving; and for a camera that is a linear form of the observer the least squares find that form exactly (Luther condition).
TEST(BestMatrix, PreservesWhiteAndUndoesALinearCamera) {
    for (const char* name : {"D50", "D65", "LED-B1"}) {
        const ObserverMatrix observer = observer_matrix(*light(name), Observer::degree2);
        const Eigen::Vector3d white = observer.rowwise().sum();
        EXPECT_LT((best_matrix(prior_for("").mean, observer) * Eigen::Vector3d::Ones() - white).norm(), 1e-12);
        Eigen::Matrix3d mix;
        mix << 1.9, -0.6, -0.1, -0.4, 1.3, 0.2, 0.1, -0.3, 1.2;
        SensitivityRows rows = mix * observer;
        for (int c = 0; c < 3; ++c) rows.row(c) /= rows.row(c).sum();
        const Eigen::Matrix3d m = best_matrix(rows, observer);
        EXPECT_LT((m * rows - observer).cwiseAbs().maxCoeff(), 1e-9) << name;
        EXPECT_LT((m * Eigen::Vector3d::Ones() - white).norm(), 1e-12);
    }
}

Eigen::Matrix3d to_srgb_from(const Light& l) {
    Eigen::Matrix3d m;
    const Xyz white = xyz(l, Observer::degree2);
    for (int j = 0; j < 3; ++j) {
        Xyz unit;
        (j == 0 ? unit.X : j == 1 ? unit.Y : unit.Z) = 100;
        const LinearRgb c = linear_rgb(adapt(unit, white, kWhiteD65));
        m.col(j) << c.r, c.g, c.b;
    }
    return m;
}

// Source: the 23 measured cameras beside the project, of which 21 were learned from (07 and 15 not). Each under four lights, with a matrix made for
// the light or for D65: the squared whitened distance in the prior's 10 largest directions (99 % of chi-square with 10 degrees of freedom: 23.2; mean
// 10). Real cameras are no Gaussian draws; a prior that is too narrow would put many outside, one far too wide would bring the mean near 0.
TEST(SensitivityPrior, HoldsTheRealCameras) {
    const std::string file = test::beside("camera_sensitivities.csv");
    if (!std::filesystem::exists(file)) GTEST_SKIP() << "no table beside the project";
    const Csv csv = test::read_csv(file);
    ASSERT_EQ(csv.header.size(), 1U + 3 * 23);
    constexpr int directions = 10;
    const Light d65 = *light("D65");
    const Eigen::Matrix3d from_d65 = to_srgb_from(d65);
    const ObserverMatrix observer_d65 = observer_matrix(d65, Observer::degree2);
    int inside = 0, count = 0;
    for (const char* name : {"D65", "LED-B3", "LED-B1", "A"}) {
        const Light l = *light(name);
        const Sensitivity& prior = prior_for(name);
        const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(prior.covariance);
        const Eigen::Matrix3d from_here = to_srgb_from(l);
        const ObserverMatrix observer = observer_matrix(l, Observer::degree2);
        std::vector<double> distances, left_out;
        for (std::size_t camera = 0; camera < 23; ++camera) {
            const auto under = [&](const Light& lamp) {
                const ModelSpectrum power = on_model_grid(lamp.power);
                SensitivityRows rows;
                for (int c = 0; c < 3; ++c) {
                    rows.row(c) = test::column_of(csv, 1 + 3 * camera + static_cast<std::size_t>(c)).cwiseProduct(power).transpose();
                    rows.row(c) /= rows.row(c).sum();
                }
                return rows;
            };
            const SensitivityRows raw = under(l);
            for (const bool for_d65 : {true, false}) {
                SensitivityRows rows = (for_d65 ? Eigen::Matrix3d(from_d65 * best_matrix(under(d65), observer_d65))
                                                : Eigen::Matrix3d(from_here * best_matrix(raw, observer))) *
                                       raw;
                Eigen::VectorXd off(kSensitivitySize);
                for (int c = 0; c < 3; ++c) {
                    off.segment(c * kModelBands, kModelBands) = (rows.row(c) / rows.row(c).sum() - prior.mean.row(c)).transpose();
                }
                double z = 0;
                for (int k = 0; k < directions; ++k) {
                    const Eigen::Index i = kSensitivitySize - 1 - k;
                    z += std::pow(eigen.eigenvectors().col(i).dot(off), 2) / eigen.eigenvalues()[i];
                }
                distances.push_back(z);
                if (csv.header[1 + 3 * camera].rfind("camera-07", 0) == 0 || csv.header[1 + 3 * camera].rfind("camera-15", 0) == 0)
                    left_out.push_back(z);
                inside += z < 23.2;
                ++count;
            }
        }
        std::printf(
            "%-7s whitened distance (10 would be the mean): mean %.1f, median %.1f, largest %.1f; the two not learned from: mean %.1f, largest "
            "%.1f\n",
            name, test::mean_of(distances), test::quantile_of(distances, 0.5), test::quantile_of(distances, 1), test::mean_of(left_out),
            test::quantile_of(left_out, 1));
        EXPECT_GT(test::mean_of(distances), 2) << "the prior is far too wide";
    }
    std::printf("inside 99 %%: %d of %d\n", inside, count);
    EXPECT_GE(inside, count * 85 / 100);
}

}  // namespace
}  // namespace sw
