// Paints known from samples: how near their mixes are told, and whether the truth lies where it is said to lie.
#include <gtest/gtest.h>

#include <Eigen/Cholesky>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iostream>

#include "color/difference.hpp"
#include "mix/belief.hpp"
#include "mix/made_up_shelf.hpp"

namespace sw {
namespace {

enum class Known { spectra, colors, masstones, drawdowns };
struct Trial {
    const char* name;
    Known known;
    double sd;      // of reflectance, or of L*, a*, b*
    double k1_off;  // how much more surface light the true paints have than the shelf is told
};

/// A color as the model of paint gets it wrong, by the shelf's spread.
Lab gone_wrong(Lab lab, double sd, Random& r) {
    const Eigen::Matrix3d root = weighted_covariance(lab, sd).llt().matrixL();
    Eigen::Vector3d n;
    for (double& v : n) v = r.normal();
    const Eigen::Vector3d by = root * n;
    return {lab.L + by[0], lab.a + by[1], lab.b + by[2], lab.white};
}

/// The shelf as known from what was read of the true one.
Shelf known_shelf(const Shelf& truth, const Trial& trial, Random& r) {
    const Sight d50 = sight(*light("D50"), Observer::degree2);
    Shelf shelf;
    shelf.surface = truth.surface;
    shelf.surface.k1 -= trial.k1_off;
    const auto sample = [&](int paint, double share, const Coat& coat, int film) {
        std::vector<Volume> parts{{paint, share}};
        if (share < 1) parts.push_back({0, 1 - share});
        const ModelSpectrum exact = appearance(medium(truth, parts), truth.surface, coat).reflectance;
        PaintSample s{share, {}, {}, film, 0.3, coat};
        if (trial.known == Known::spectra) {
            ModelSpectrum read = exact;
            const double cosine = 0.007 * r.normal(), sine = 0.007 * r.normal(), at = trial.sd > 0 ? 1 : 0;  // what the model gets wrong
            for (int i = 0; i < kModelBands; ++i) read[i] *= 1 + at * (cosine * std::cos(model_nm(i) / 35.0) + sine * std::sin(model_nm(i) / 35.0));
            for (double& v : read) v = std::clamp(v + trial.sd * r.normal(), 1e-4, 1.0);
            s.spectrum = SpectrumRead{read, std::max(trial.sd, 2e-4)};
        } else {
            Lab lab = gone_wrong(seen(exact, d50), shelf.model_sd, r);
            lab.L += trial.sd * r.normal();
            lab.a += trial.sd * r.normal();
            lab.b += trial.sd * r.normal();
            lab.L = std::max(lab.L, 0.0);
            s.color = ColorRead{d50, lab, std::max(trial.sd * trial.sd, 1e-3) * Eigen::Matrix3d::Identity()};
        }
        return s;
    };
    for (int p = 0; p < static_cast<int>(truth.paints.size()); ++p) {
        std::vector<PaintSample> samples{sample(p, 1, {}, -1)};
        if (p > 0 && (trial.known == Known::spectra || trial.known == Known::colors)) {
            samples.push_back(sample(p, 0.5, {}, -1));
            samples.push_back(sample(p, 0.1, {}, -1));
        }
        if (p > 0 && trial.known == Known::drawdowns) {
            const double thickness = std::exp(0.3 * r.normal());
            for (const double under : {0.03, 0.85}) {
                PaintSample s = sample(p, 1, Coat{thickness, ModelSpectrum::Constant(under), 1}, 1);
                s.coat.thickness = 1;
                samples.push_back(s);
            }
        }
        const Result<Shelf> next = with_paint(shelf, {truth.paints[static_cast<std::size_t>(p)], PigmentClass::any}, samples);
        EXPECT_TRUE(next);
        if (next) shelf = *next;
    }
    return shelf;
}

Recipe a_mix(int paints, Random& r) {
    Recipe mix{{0, r.below(40)}};
    const int first = 1 + r.below(paints - 1), second = 1 + r.below(paints - 1);
    mix.push_back({first, 1 + r.below(20)});
    if (second != first) mix.push_back({second, 1 + r.below(20)});
    return mix;
}

class Paints : public testing::TestWithParam<Trial> {};
// clang-format off
INSTANTIATE_TEST_SUITE_P(Known, Paints, testing::Values(
    Trial{"spectra_exact", Known::spectra, 0, 0}, Trial{"spectra_0_002", Known::spectra, 0.002, 0}, Trial{"spectra_0_002_other_k1", Known::spectra, 0.002, 0.005},
    Trial{"colors_0_4", Known::colors, 0.4, 0}, Trial{"colors_0_4_other_k1", Known::colors, 0.4, 0.005}, Trial{"masstones_0_5", Known::masstones, 0.5, 0},
    Trial{"drawdowns_0_4", Known::drawdowns, 0.4, 0}), [](const auto& of) { return std::string(of.param.name); });
// clang-format on

TEST_P(Paints, MixesAreToldWithAnHonestRange) {
    const bool full = std::getenv("SW_FULL_BARS") != nullptr;
    const int shelves = full ? 100 : 16;
    Random r(3);
    const Sight d65 = sight(*light("D65"), Observer::degree2);
    int held = 0, all = 0, one = 0;
    std::vector<double> off;
    double said_size = 0;
    for (int n = 0; n < shelves; ++n) {
        const Shelf truth = made_up_shelf(5, 50 + static_cast<std::uint64_t>(n)), known = known_shelf(truth, GetParam(), r);
        for (int i = 0; i < 6; ++i, ++all) {
            const Recipe mix = a_mix(5, r);
            const Lab undosed = mix_color(truth, mix, d65).lab;
            Shelf dosed = truth;
            for (Paint& paint : dosed.paints) paint.drop.ml *= std::exp(paint.drop.cv * r.normal());
            const Lab was = gone_wrong(mix_color(dosed, mix, d65).lab, known.model_sd, r);
            const MixColor said = mix_color(known, mix, d65);
            const Eigen::Vector3d d(was.L - said.lab.L, was.a - said.lab.a, was.b - said.lab.b);
            held += d.dot(said.covariance.ldlt().solve(d)) < 7.815 ? 1 : 0;
            one += std::abs(d[0]) < 1.96 * std::sqrt(said.covariance(0, 0)) ? 1 : 0;
            off.push_back(difference_2000(undosed, said.lab));
            said_size += std::sqrt(said.covariance.trace());
        }
    }
    double sum = 0;
    for (const double v : off) sum += v;
    std::sort(off.begin(), off.end());
    std::cout << GetParam().name << ": mean " << sum / all << ", p95 " << off[off.size() * 95 / 100] << "; held " << 100.0 * held / all << " %, L* "
              << 100.0 * one / all << " %, sd said " << said_size / all << std::endl;
    EXPECT_GE(held, 0.90 * all);
}

}  // namespace
}  // namespace sw
