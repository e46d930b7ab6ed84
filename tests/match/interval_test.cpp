// The interval of a color difference: how often it holds the truth, and against closed forms where there are some.
#include "match/interval.hpp"

#include <Eigen/Dense>
#include <cmath>

#include "color/difference.hpp"
#include "color/reference.hpp"
#include "spectral/random.hpp"

namespace sw {
namespace {

#ifdef SW_SLOW_BUILD
constexpr int kManyTrials = 10;  // the path, not the figures
#else
constexpr int kManyTrials = 120;
#endif

constexpr double kChiSquare95 = 7.815;  // 3 degrees of freedom; any table of chi-square

const std::vector<Lab>& colors() {
    static const std::vector<Lab> list{{50, 0, 0}, {40, 25, 15}, {70, -20, 45}, {35, 10, -40}, {85, 3, 12}};
    return list;
}

/// Per axis 0.15..0.9: noise alone, more in lightness, more in blue-yellow, and tilted.
const std::vector<Eigen::Matrix3d>& covariances() {
    static const std::vector<Eigen::Matrix3d> list = [] {
        std::vector<Eigen::Matrix3d> all;
        all.emplace_back(Eigen::Vector3d(0.3, 0.3, 0.3).cwiseAbs2().asDiagonal());
        all.emplace_back(Eigen::Vector3d(0.9, 0.2, 0.2).cwiseAbs2().asDiagonal());
        all.emplace_back(Eigen::Vector3d(0.15, 0.4, 0.9).cwiseAbs2().asDiagonal());
        Eigen::Matrix3d root;
        root << 0.4, 0, 0, 0.2, 0.5, 0, -0.1, 0.3, 0.4;
        all.emplace_back(root * root.transpose());
        return all;
    }();
    return list;
}

Eigen::Vector3d normal3(Random& r) {
    Eigen::Vector3d v;
    for (double& x : v) x = r.normal();
    return v;
}

/// A vector along `direction` with the CIEDE2000 asked for, by bisection.
Eigen::Vector3d with_difference(const Lab& middle, const Eigen::Vector3d& direction, double de) {
    double low = 0, high = 60;
    for (int i = 0; i < 60; ++i) {
        const double half = (low + high) / 2;
        (difference_about(middle, half * direction) < de ? low : high) = half;
    }
    return low * direction;
}

struct Share {
    double covered = 0, not_distinct = 0;
};
Share share_at(double de, const Lab& middle, const Eigen::Matrix3d& s, int trials, std::uint64_t seed) {
    Random random(seed);
    const Eigen::Matrix3d root = s.llt().matrixL();
    int covered = 0, same = 0;
    for (int i = 0; i < trials; ++i) {
        const Eigen::Vector3d truth = de > 0 ? with_difference(middle, normal3(random).normalized(), de) : Eigen::Vector3d(Eigen::Vector3d::Zero());
        const DifferenceDistribution d(middle, truth + root * normal3(random), s);
        const Interval ci = d.ci95();
        covered += ci.low <= de + 1e-9 && de <= ci.high;
        same += !d.distinct();
    }
    return {covered / static_cast<double>(trials), same / static_cast<double>(trials)};
}

// Source of method and expectation: the prototype's table for the flat-in-length prior with the zero rule at the 96 % level: 94.5 (worst cell 86),
// 98, 97, 96, 95 (84), 95 (91) % at true differences of 0, 0.25, 0.5, 1, 2, 5. Bars of the project: 90..99.5 % in the mean of each column. 120 trials
// a cell have a standard error of 2 %, a column's mean of 20 cells one of 0.5 %.
TEST(DifferenceDistribution, CoversTheTruth) {
    std::printf("true dE   mean coverage   worst cell   not distinct   (%d trials a cell, 5 colors x 4 covariances)\n", kManyTrials);
    for (double de : {0.0, 0.25, 0.5, 1.0, 2.0, 5.0}) {
        double sum = 0, same = 0, worst = 1;
        std::string where;
        for (std::size_t i = 0; i < colors().size(); ++i) {
            for (std::size_t j = 0; j < covariances().size(); ++j) {
                const Share s =
                    share_at(de, colors()[i], covariances()[j], kManyTrials, 1000 + 100 * i + 10 * j + static_cast<std::uint64_t>(4 * de));
                sum += s.covered / 20;
                same += s.not_distinct / 20;
                if (s.covered < worst) {
                    worst = s.covered;
                    where = "color " + std::to_string(i + 1) + ", covariance " + std::to_string(j + 1);
                }
            }
        }
        std::printf("%7.2f   %10.1f %%   %8.1f %%   %10.1f %%   (%s)\n", de, 100 * sum, 100 * worst, 100 * same, where.c_str());
        if (kManyTrials < 100) continue;
        EXPECT_GE(sum, 0.90) << de;
        EXPECT_LE(sum, 0.995) << de;
        EXPECT_GE(worst, 0.82) << de << ": " << where;
        if (de == 0) {
            // by the definition of chi-square; 2400 trials: standard error 0.45 %, hence 1.8
            EXPECT_NEAR(same, 0.95, 0.018);
        }
    }
}

/// Chi-square with 3 degrees of freedom below x, noncentral by `lambda`: Poisson mixture of central ones with 3 + 2 j (Johnson, Kotz & Balakrishnan,
/// Continuous Univariate Distributions 2, chapter 29; from memory).
double noncentral_chi_square(double x, double lambda) {
    const double half = x / 2;
    double term = std::exp(-half) * std::pow(half, 1.5) / std::tgamma(2.5);  // central 3 less central 5
    double central = std::erf(std::sqrt(half)) - std::exp(-half) * std::sqrt(half) / std::tgamma(1.5);
    double poisson = std::exp(-lambda / 2), sum = 0;
    for (int j = 0; j < 200; ++j) {
        sum += poisson * central;
        central -= term;
        term *= half / (2.5 + j);
        poisson *= lambda / 2 / (j + 1);
    }
    return sum;
}

TEST(DifferenceDistribution, ItsOwnYardstickIsChiSquare) {
    EXPECT_NEAR(noncentral_chi_square(kChiSquare95, 0), 0.95, 1e-4);  // tables of chi-square
    EXPECT_NEAR(noncentral_chi_square(0.352, 0), 0.05, 1e-3);
}

// How often a true difference is seen as one: exactly the noncentral chi-square with lambda = d' S^-1 d, whatever color and covariance.
TEST(DifferenceDistribution, IsDistinctAsOftenAsTheNoncentralChiSquareSays) {
    const int trials = 2 * kManyTrials;
    for (double lambda : {0.0, 1.0, 4.0, 9.0, 16.0}) {
        Random random(77);
        const Eigen::Matrix3d& s = covariances()[3];
        const Eigen::Matrix3d root = s.llt().matrixL();
        int same = 0;
        for (int i = 0; i < trials; ++i) {
            const Eigen::Vector3d truth = std::sqrt(lambda) * (root * normal3(random).normalized());
            same += !DifferenceDistribution(colors()[1], truth + root * normal3(random), s).distinct();
        }
        const double expected = noncentral_chi_square(kChiSquare95, lambda), share = same / static_cast<double>(trials);
        std::printf("lambda %4.1f: not distinct %.3f, noncentral chi-square %.3f\n", lambda, share, expected);
        EXPECT_NEAR(share, expected, 4 * std::sqrt(expected * (1 - expected) / trials) + 1e-3) << lambda;  // 4 standard errors
    }
}

/// Distribution of the length r given that the reading is at distance r0 with an isotropic standard deviation of 1, prior flat in length:
/// density r^2 / (r^2 + soft) exp(-(r^2 + r0^2) / 2) sinh(r r0) / (r r0), integrated numerically. Without the first factor's divisor it is the
/// noncentral chi.
double length_quantile(double r0, double soft, double q) {
    constexpr int steps = 40000;
    const double top = r0 + 8, h = top / steps;
    std::vector<double> cumulated(steps + 1, 0);
    const auto density = [&](double r) {
        const double x = r * r0, angular = x < 1e-6 ? std::exp(-(r * r + r0 * r0) / 2)
                                                    : (std::exp(-(r - r0) * (r - r0) / 2) - std::exp(-(r + r0) * (r + r0) / 2)) / (2 * x);
        return r * r / (r * r + soft) * angular;
    };
    for (int i = 1; i <= steps; ++i) cumulated[static_cast<std::size_t>(i)] = cumulated[static_cast<std::size_t>(i - 1)] + h * density((i - 0.5) * h);
    const double goal = q * cumulated.back();
    const auto at = std::lower_bound(cumulated.begin(), cumulated.end(), goal);
    return static_cast<double>(at - cumulated.begin()) * h;
}

// Where CIEDE2000 is a plain length: about gray at L* 50, where its weights are 1 and a* counts 1.5 fold (1 + G, G = 0.5 at C* = 0; ISO/CIE 11664-6).
// A covariance that is isotropic in (L*, 1.5 a*, b*) makes the distribution the closed form above. Approximation: the weights are 1 for small C* only
// (S_C = 1 + 0.045 C*), so all is kept below 0.15. Tolerance: the unevenness of 2048 draws, 5 % of the standard deviation and 2 % of the value.
TEST(DifferenceDistribution, IsTheClosedFormAboutGray) {
    const double sd = 0.02;
    const Eigen::Vector3d scale(1, 1 / 1.5, 1);
    const Eigen::Matrix3d s = (sd * scale).cwiseAbs2().asDiagonal();
    test::Worst worst;
    for (double r0 : {0.0, 1.0, 2.0, 4.0}) {
        for (const Eigen::Vector3d& direction :
             {Eigen::Vector3d(1, 0, 0), Eigen::Vector3d(0, 1, 0), Eigen::Vector3d(0, 0, 1), Eigen::Vector3d(0.577, 0.577, -0.577)}) {
            const DifferenceDistribution d({50, 0, 0}, sd * r0 * scale.cwiseProduct(direction), s);
            for (double q : {0.1, 0.5, 0.9, 0.98}) {
                const double expected = sd * length_quantile(r0, 0.01 * 3, q);  // soft: 0.01 of the mean square, 3 for three axes
                worst.see(std::abs(d.quantile(q) - expected) / (0.05 * sd + 0.02 * expected), "r0 " + std::to_string(r0) + " q " + std::to_string(q));
            }
        }
    }
    worst.report("quantiles against the closed form, in tolerances", 1);
    EXPECT_NEAR(size_in_de00({50, 0, 0}, s), sd * std::sqrt(3.0), 0.01 * sd);
}

// JCGM 100:2008 (GUM), 5.2.2: u2(y) = sum of dy/dx_i dy/dx_j u(x_i, x_j), and with a coverage factor of 1.96 an interval of 95 %. Valid where the
// difference is large beside its doubt, as JCGM 101:2008, clause 8, has it checked: ends of both intervals apart by no more than 0.15 of the
// doubt's size (across the difference it enters in second order, which the propagation leaves out). Near zero it is not valid: a length is never
// negative.
TEST(DifferenceDistribution, IsThePropagationOfUncertaintyFarFromZero) {
    Random random(11);
    double worst = 0;
    for (const Lab& middle : colors()) {
        for (const Eigen::Matrix3d& wide : covariances()) {
            const Eigen::Matrix3d s = wide / 9;  // a length's prior alone moves the ends by 2 u2 / 12
            const auto propagated = [&](const Eigen::Vector3d& d) {
                Eigen::Vector3d gradient;
                for (int i = 0; i < 3; ++i) {
                    const Eigen::Vector3d step = 1e-4 * Eigen::Vector3d::Unit(i);
                    gradient[i] = (difference_about(middle, d + step) - difference_about(middle, d - step)) / 2e-4;
                }
                return std::sqrt(gradient.dot(s * gradient));
            };
            const Eigen::Vector3d direction = normal3(random).normalized();
            const Eigen::Vector3d far = with_difference(middle, direction, 12), near = with_difference(middle, direction, 0.03);
            const double u = propagated(far), size = size_in_de00(middle, s);
            const Interval ci = DifferenceDistribution(middle, far, s).ci95();
            worst = std::max({worst, std::abs(ci.low - (12 - 1.96 * u)) / size, std::abs(ci.high - (12 + 1.96 * u)) / size});
            EXPECT_LT(0.03 - 1.96 * propagated(near), 0);
            EXPECT_EQ(DifferenceDistribution(middle, near, s).ci95().low, 0);
        }
    }
    std::printf("interval at a difference of 12 against the propagated one: ends apart by %.2f of the doubt's size at most\n", worst);
    EXPECT_LT(worst, 0.15);
}

// A doubt along one axis only, small: its size is the derivative of CIEDE2000 along it.
TEST(SizeInDe00, IsTheFirstOrderOfTheDifference) {
    for (const Lab& c : colors()) {
        for (int axis = 0; axis < 3; ++axis) {
            Eigen::Matrix3d s = Eigen::Matrix3d::Zero();
            s(axis, axis) = 0.05 * 0.05;
            const double expected = difference_about(c, 0.05 * Eigen::Vector3d::Unit(axis));
            EXPECT_NEAR(size_in_de00(c, s), expected, 0.02 * expected) << c.L << " axis " << axis;
        }
    }
    EXPECT_EQ(size_in_de00({50, 10, 10}, Eigen::Matrix3d::Zero()), 0);
}

TEST(DifferenceDistribution, SaysTheSameEachTimeAndKeepsItsOrder) {
    Random random(5);
    for (const Lab& c : colors()) {
        for (const Eigen::Matrix3d& s : covariances()) {
            const Eigen::Vector3d d = 1.5 * normal3(random);
            const DifferenceDistribution one(c, d, s), two(c, d, s);
            double before = -1;
            for (double q = 0.01; q < 1; q += 0.01) {
                EXPECT_EQ(one.quantile(q), two.quantile(q));
                EXPECT_GE(one.quantile(q), before);
                before = one.quantile(q);
            }
            const Interval ci = one.ci95();
            EXPECT_LE(0, ci.low);
            EXPECT_LT(ci.low, one.median());
            EXPECT_GT(ci.high, one.median());
            EXPECT_EQ(ci.low == 0, !one.distinct());
            EXPECT_EQ(one.distinct(), d.dot(s.inverse() * d) >= kChiSquare95);
            EXPECT_NEAR(one.exceeds(one.median()), 0.5, 0.01);
            EXPECT_EQ(one.exceeds(1e6), 0);
            EXPECT_NEAR(one.exceeds(-1), 1, 1e-9);
        }
    }
}

// Chip and swatch exchanged: the same difference, to rounding (the draws come in mirrored twos).
TEST(DifferenceDistribution, IsTheSameWithTheTwoExchanged) {
    Random random(6);
    test::Worst worst;
    for (const Lab& c : colors()) {
        for (const Eigen::Matrix3d& s : covariances()) {
            const Eigen::Vector3d d = normal3(random);
            const DifferenceDistribution one(c, d, s), other(c, -d, s);
            const double spread = size_in_de00(c, s);
            EXPECT_EQ(one.distinct(), other.distinct());
            for (double q : {0.05, 0.5, 0.95}) worst.see(std::abs(one.quantile(q) - other.quantile(q)) / spread, "q " + std::to_string(q));
        }
    }
    worst.report("exchanged, quantiles, of the spread", 1e-9);
}

// Known exactly: the difference itself. A doubt that fills the room: finite, and nothing claimed.
TEST(DifferenceDistribution, StandsNoDoubtAndHugeDoubt) {
    const Lab c{50, 20, 10};
    const Eigen::Vector3d d(1, 0.5, -0.5);
    const DifferenceDistribution sure(c, d, Eigen::Matrix3d::Zero());
    EXPECT_NEAR(sure.median(), difference_about(c, d), 2e-3);
    EXPECT_NEAR(sure.ci95().high - sure.ci95().low, 0, 2e-3);
    EXPECT_TRUE(sure.distinct());
    const DifferenceDistribution lost(c, d, 900 * Eigen::Matrix3d::Identity());
    EXPECT_FALSE(lost.distinct());
    EXPECT_EQ(lost.ci95().low, 0);
    EXPECT_TRUE(std::isfinite(lost.ci95().high));
    EXPECT_GT(lost.ci95().high, 20);
}

TEST(DifferenceAbout, IsTheDifferenceOfTheTwoColors) {
    const Lab middle{50, 20, 10};
    EXPECT_DOUBLE_EQ(difference_about(middle, {2, -1, 3}), difference_2000({49, 20.5, 8.5}, {51, 19.5, 11.5}));
    EXPECT_EQ(difference_about(middle, Eigen::Vector3d::Zero()), 0);
}

}  // namespace
}  // namespace sw
