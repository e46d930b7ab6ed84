#include "mix/paint.hpp"

#include <Eigen/LU>

#include <algorithm>
#include <cassert>

namespace sw {
namespace {

constexpr double kLeast = 1e-9;

Error unusable(std::string cause, std::string remedy) {
    return Error{.fault = Fault::table_malformed, .file = {}, .place = {}, .cause = std::move(cause), .remedy = std::move(remedy)};
}

/// K and S of a mix, a unit of volume.
struct Sum {
    ModelSpectrum k = ModelSpectrum::Zero(), s = ModelSpectrum::Zero();
};
Sum sum_of(const Shelf& shelf, const Recipe& recipe) {
    Sum sum;
    double total = 0;
    for (const Part& part : recipe) {
        const Paint& paint = shelf.paints.at(static_cast<std::size_t>(part.paint));
        const double ml = part.drops * paint.drop.ml;
        sum.k += ml * paint.k;
        sum.s += ml * paint.s;
        total += ml;
    }
    assert(total > 0);
    sum.k /= total;
    sum.s /= total;
    return sum;
}

ModelSpectrum opaque(const Sum& sum, const PaintSurface& surface) {
    return sum.k.binaryExpr(sum.s, [&](double k, double s) { return through_surface(opaque_reflectance(k / std::max(s, kLeast)), surface); });
}

/// K/S of a reading, and how it moves with it.
struct Ratio {
    double q = 0, slope = 0;
};
Ratio ratio_of(double reading, const PaintSurface& surface) {
    const auto q = [&](double r) { return absorption_ratio(std::clamp(below_surface(r, surface), 1e-6, 1 - 1e-6)); };
    const double h = 1e-5;
    return {q(reading), (q(reading + h) - q(reading - h)) / (2 * h)};
}

bool seen(const ModelSpectrum& r, const PaintSurface& surface) { return r.allFinite() && r.maxCoeff() <= 1 && r.minCoeff() > surface.k1; }

}  // namespace

PaintSurface fitted_surface(const std::vector<ModelSpectrum>& masstones, PaintSurface start) {
    for (const ModelSpectrum& r : masstones) start.k1 = std::clamp(0.98 * r.minCoeff(), 0.0, start.k1);
    return start;
}

Result<Paint> white_paint(const ModelSpectrum& masstone, double sd, const PaintSurface& surface) {
    if (!seen(masstone, surface) || !(sd > 0)) return unusable("the white's reflectance is not between its surface's light and 1", "read it again");
    Paint white;
    white.doubt = Eigen::MatrixXd::Zero(2 * kModelBands, kModelBands);
    for (int i = 0; i < kModelBands; ++i) {
        const Ratio ratio = ratio_of(masstone[i], surface);
        white.k[i] = std::max(ratio.q, kLeast);
        white.doubt(i, i) = std::min(std::abs(ratio.slope) * sd / white.k[i], 1.0);
    }
    return white;
}

Result<Paint> paint_from_samples(const std::vector<PaintSample>& samples, const Paint& white, const PaintSurface& surface) {
    if (samples.empty()) return unusable("no sample of the paint", "read its masstone");
    for (const PaintSample& sample : samples) {
        if (!(sample.share > 0 && sample.share <= 1))
            return unusable("a share of paint in white is not above 0 up to 1", "give it as a part of 1: 0.1");
        if (!seen(sample.reflectance, surface) || !(sample.sd > 0))
            return unusable("a reflectance is not between its surface's light and 1", "read it again, or lower k1");
    }
    const bool both = std::any_of(samples.begin(), samples.end(), [&](const PaintSample& s) { return std::abs(s.share - samples[0].share) > 1e-3; });
    Paint paint;
    paint.doubt = Eigen::MatrixXd::Zero(2 * kModelBands, both ? 2 * kModelBands : kModelBands + 1);
    for (int i = 0; i < kModelBands; ++i) {
        // Every sample says c K - q c S = (1 - c)(q Sw - Kw). Its error is (c S + (1 - c) Sw) dq, so S is needed for the weights: three rounds.
        double s = 1, k = 0;
        Eigen::Matrix2d covariance = Eigen::Matrix2d::Zero();
        for (int round = 0; round < 3; ++round) {
            Eigen::Matrix2d a = Eigen::Matrix2d::Zero();
            Eigen::Vector2d b = Eigen::Vector2d::Zero();
            for (const PaintSample& sample : samples) {
                const double c = sample.share;
                const Ratio ratio = ratio_of(sample.reflectance[i], surface);
                const double error = (c * s + (1 - c) * white.s[i]) * std::max(std::abs(ratio.slope) * sample.sd, 1e-9);
                const Eigen::Vector2d row(c / error, -ratio.q * c / error);
                a += row * row.transpose();
                b += row * (1 - c) * (ratio.q * white.s[i] - white.k[i]) / error;
            }
            if (!both) {  // S as given
                k = (b[0] - a(0, 1) * s) / a(0, 0);
                covariance(0, 0) = 1 / a(0, 0);
                break;
            }
            const Eigen::Vector2d x = a.inverse() * b;
            covariance = a.inverse();
            k = x[0];
            s = std::max(x[1], 1e-6);
        }
        paint.k[i] = std::max(k, kLeast);
        paint.s[i] = s;
        // Square root of the covariance of (ln K, ln S), its spread held to a factor of e.
        const double sd_k = std::sqrt(std::max(covariance(0, 0), 0.0)), sd_s = std::sqrt(std::max(covariance(1, 1), 0.0));
        const double rho = sd_k > 0 && sd_s > 0 ? std::clamp(covariance(0, 1) / (sd_k * sd_s), -1.0, 1.0) : 0;
        const double ln_k = std::min(sd_k / paint.k[i], 1.0), ln_s = std::min(sd_s / paint.s[i], 1.0);
        paint.doubt(i, i) = ln_k;
        if (both) {
            paint.doubt(kModelBands + i, i) = rho * ln_s;
            paint.doubt(kModelBands + i, kModelBands + i) = std::sqrt(1 - rho * rho) * ln_s;
        }
    }
    if (!both) paint.doubt.col(kModelBands).setConstant(std::log(3.0));
    return paint;
}

ModelSpectrum mix_reflectance(const Shelf& shelf, const Recipe& recipe) { return opaque(sum_of(shelf, recipe), shelf.surface); }

ModelSpectrum mix_film(const Shelf& shelf, const Recipe& recipe, double thickness, const ModelSpectrum& undercoat) {
    const Sum sum = sum_of(shelf, recipe);
    ModelSpectrum r;
    for (int i = 0; i < kModelBands; ++i) {
        const double below = std::clamp(below_surface(undercoat[i], shelf.surface), 0.0, 1.0);
        r[i] = through_surface(film_reflectance(sum.k[i] * thickness, sum.s[i] * thickness, below), shelf.surface);
    }
    return r;
}

MixColor mix_color(const Shelf& shelf, const Recipe& recipe, const Light& light, Observer observer) {
    const ObserverMatrix to_xyz = observer_matrix(light, observer);
    const Xyz white = xyz(light, observer);
    const Sum sum = sum_of(shelf, recipe);
    const auto color = [&](const Sum& s) {
        const Eigen::Vector3d v = 100 * (to_xyz * opaque(s, shelf.surface));
        return lab(Xyz{v[0], v[1], v[2]}, white);
    };
    MixColor answer{color(sum), Eigen::Matrix3d::Zero()};
    const auto add = [&](const ModelSpectrum& dk, const ModelSpectrum& ds) {  // one doubt: a hundredth of it, then to scale
        const double h = 0.01;
        const Lab moved = color({(sum.k + h * dk).cwiseMax(0), (sum.s + h * ds).cwiseMax(kLeast)});
        const Eigen::Vector3d d(moved.L - answer.lab.L, moved.a - answer.lab.a, moved.b - answer.lab.b);
        answer.covariance += d * d.transpose() / (h * h);
    };
    double total = 0;
    for (const Part& part : recipe) total += part.drops * shelf.paints.at(static_cast<std::size_t>(part.paint)).drop.ml;
    for (const Part& part : recipe) {
        const Paint& paint = shelf.paints.at(static_cast<std::size_t>(part.paint));
        if (part.drops == 0) continue;
        const double share = part.drops * paint.drop.ml / total;
        const double dose = share * paint.drop.cv;
        add(dose * (paint.k - sum.k), dose * (paint.s - sum.s));
        for (Eigen::Index c = 0; c < paint.doubt.cols(); ++c) {
            const auto doubt = paint.doubt.col(c);
            add(share * paint.k.cwiseProduct(doubt.head<kModelBands>()), share * paint.s.cwiseProduct(doubt.tail<kModelBands>()));
        }
    }
    return answer;
}

}  // namespace sw
