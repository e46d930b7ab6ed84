#include "mix/belief.hpp"

#include <Eigen/Eigenvalues>

#include <algorithm>
#include <cmath>
#include <map>

#include "mix/gauss_newton.hpp"

namespace sw {
namespace {

constexpr int kUnknown = 2 * kModelBands;  // ln K, ln S of the new paint
constexpr int kMembers = 3000;
constexpr double kFilms = 1.35;  // chosen on simulated drawdowns (tests/mix/paints_study.cpp)

Error not_a_sample(std::string cause, std::string remedy) {
    return Error{.fault = Fault::table_malformed, .file = {}, .place = {}, .cause = std::move(cause), .remedy = std::move(remedy)};
}

std::optional<Error> check(const std::vector<PaintSample>& samples, bool white) {
    for (const PaintSample& s : samples) {
        if (!(s.share > 0 && s.share <= 1)) return not_a_sample("a share of paint in white is not above 0 up to 1", "give it as a part of 1: 0.1");
        if (white && s.share < 1) return not_a_sample("the white of the shelf cannot be a tint of itself", "give its masstone");
        if (s.color.has_value() == s.spectrum.has_value()) return not_a_sample("a sample has no reading, or two", "give a color or a spectrum");
        if (s.spectrum && !(s.spectrum->reflectance.allFinite() && s.spectrum->reflectance.minCoeff() > 0 &&
                            s.spectrum->reflectance.maxCoeff() <= 1.02 && s.spectrum->sd > 0))
            return not_a_sample("a reflectance is not above 0 up to 1", "read it again");
        if (s.color && !(std::isfinite(s.color->lab.L + s.color->lab.a + s.color->lab.b) && s.color->lab.L >= 0 && s.color->lab.L <= 105 &&
                         s.color->covariance.allFinite() && s.color->covariance.diagonal().minCoeff() > 0))
            return not_a_sample("a color is none that a surface can have, or has no spread", "read it again");
    }
    return std::nullopt;
}

Lab color_of(const PaintSample& s, const Sight& sight) { return s.color ? s.color->lab : seen(s.spectrum->reflectance, sight); }

/// How like the masstone the members look: weights, with at least some 60 of them counting.
Eigen::VectorXd likeness(const Eigen::MatrixXd& members, const std::vector<PaintSample>& samples, const Shelf& shelf) {
    Eigen::VectorXd weights = Eigen::VectorXd::Ones(members.cols());
    const auto masstone = std::find_if(samples.begin(), samples.end(), [](const PaintSample& s) { return s.share > 0.999 && s.coat.thickness == 0; });
    if (masstone == samples.end()) return weights;
    const Sight sight = masstone->color ? masstone->color->sight : sw::sight(*light("D65"), Observer::degree2);
    const Lab read = color_of(*masstone, sight);
    Eigen::VectorXd far(members.cols());
    for (Eigen::Index i = 0; i < members.cols(); ++i) {
        const Medium m{members.col(i).head<kModelBands>().array().exp(), members.col(i).tail<kModelBands>().array().exp()};
        const Lab lab = seen(appearance(m, shelf.surface, masstone->coat).reflectance, sight);
        far[i] = std::pow(lab.L - read.L, 2) + std::pow(lab.a - read.a, 2) + std::pow(lab.b - read.b, 2);
    }
    for (double h = 2 + (masstone->color ? masstone->color->covariance.trace() / 3 : 0);; h *= 2) {  // variance
        weights = (-0.5 / h * (far.array() - far.minCoeff())).exp();
        if (weights.sum() * weights.sum() / weights.squaredNorm() >= 60) return weights;
    }
}

}  // namespace

Result<Shelf> with_paint(const Shelf& shelf, const PaintStart& start, const std::vector<PaintSample>& samples) {
    const bool white = shelf.paints.empty();
    if (const std::optional<Error> error = check(samples, white)) return *error;
    const Eigen::MatrixXd members = pigment_members(white ? PigmentClass::white : start.pigment, kMembers, 11);
    PigmentBelief belief = pigment_belief(members, likeness(members, samples, shelf));
    if (white) {
        belief.mean.tail<kModelBands>().setZero();
        belief.covariance.rightCols<kModelBands>().setZero();
        belief.covariance.bottomRows<kModelBands>().setZero();
    }

    // Unknowns: the paint; what moves the rest of the shelf; the thickness of each film.
    const Eigen::MatrixXd spread = spread_of(shelf);
    const Eigen::Index others = spread.cols();
    std::map<int, Eigen::Index> films;
    for (const PaintSample& s : samples) {
        if (s.film >= 0) films.emplace(s.film, 0);
    }
    Eigen::Index unknowns = kUnknown + others;
    for (auto& [film, at] : films) at = unknowns++;
    Eigen::MatrixXd prior = Eigen::MatrixXd::Zero(unknowns, unknowns);
    prior.topLeftCorner<kUnknown, kUnknown>() = belief.covariance;
    prior.diagonal().segment(kUnknown, others).setOnes();
    Eigen::Index count = 0;
    for (const PaintSample& s : samples) {
        if (s.film >= 0) prior(films[s.film], films[s.film]) = s.film_sd * s.film_sd;
        count += s.color ? 3 : kModelBands;
    }
    Eigen::VectorXd readings(count);
    Eigen::MatrixXd noise = Eigen::MatrixXd::Zero(count, count);
    Eigen::Index row = 0;
    for (const PaintSample& s : samples) {
        if (s.color) {
            readings.segment<3>(row) << s.color->lab.L, s.color->lab.a, s.color->lab.b;
            noise.block<3, 3>(row, row) = s.color->covariance + weighted_covariance(s.color->lab, shelf.model_sd);
            row += 3;
            continue;
        }
        readings.segment<kModelBands>(row) = s.spectrum->reflectance;
        for (int i = 0; i < kModelBands; ++i) {  // the model's own error: smooth, some 0.7 % of the reading for 0.3 CIEDE2000
            for (int j = 0; j < kModelBands; ++j) {
                const double apart = (model_nm(i) - model_nm(j)) / 60.0;
                noise(row + i, row + j) =
                    std::pow(0.023 * shelf.model_sd, 2) * s.spectrum->reflectance[i] * s.spectrum->reflectance[j] * std::exp(-0.5 * apart * apart);
            }
            noise(row + i, row + i) += s.spectrum->sd * s.spectrum->sd;
        }
        row += kModelBands;
    }

    const auto predict = [&](const Eigen::VectorXd& x) {
        Predicted p{Eigen::VectorXd(count), Eigen::MatrixXd::Zero(count, unknowns)};
        const Eigen::VectorXd own = (belief.mean + x.head<kUnknown>()).cwiseMax(-25).cwiseMin(10);
        const ModelSpectrum k = own.head<kModelBands>().array().exp(), s = own.tail<kModelBands>().array().exp();
        ModelSpectrum white_k = ModelSpectrum::Zero(), white_s = ModelSpectrum::Ones();
        Eigen::MatrixXd white_moves(kUnknown, others);  // ln K, ln S of the white by the shelf's unknowns
        if (!white) {
            const Paint& w = shelf.paints[0];
            white_moves = w.doubt * spread.topRows(w.doubt.cols());
            const Eigen::VectorXd moved = white_moves * x.segment(kUnknown, others);
            white_k = w.k.array() * moved.head<kModelBands>().array().exp();
            white_s = w.s.array() * moved.tail<kModelBands>().array().exp();
        }
        Eigen::Index at = 0;
        for (const PaintSample& sample : samples) {
            const double c = sample.share;
            const Medium m{c * k + (1 - c) * white_k, c * s + (1 - c) * white_s};
            Coat coat = sample.coat;
            if (sample.film >= 0) coat.thickness *= std::exp(std::clamp(x[films[sample.film]], -3.0, 3.0));
            const Appearance a = appearance(m, shelf.surface, coat);
            const ModelSpectrum share_k = c * k.cwiseQuotient(m.k), share_s = c * s.cwiseQuotient(m.s);
            const Eigen::Index rows = sample.color ? 3 : kModelBands;
            Eigen::MatrixXd by_k = a.by_k.asDiagonal(), by_s = a.by_s.asDiagonal();
            if (sample.color) {
                const ObserverMatrix slope = lab_slope(a.reflectance, sample.color->sight);
                const Lab lab = seen(a.reflectance, sample.color->sight);
                p.value.segment<3>(at) << lab.L, lab.a, lab.b;
                by_k = slope * a.by_k.asDiagonal();
                by_s = slope * a.by_s.asDiagonal();
            } else {
                p.value.segment<kModelBands>(at) = a.reflectance;
            }
            p.slope.block(at, 0, rows, kModelBands) = by_k * share_k.asDiagonal();
            p.slope.block(at, kModelBands, rows, kModelBands) = by_s * share_s.asDiagonal();
            if (!white && c < 1)
                p.slope.block(at, kUnknown, rows, others) =
                    by_k * (ModelSpectrum::Ones() - share_k).asDiagonal() * white_moves.topRows<kModelBands>() +
                    by_s * (ModelSpectrum::Ones() - share_s).asDiagonal() * white_moves.bottomRows<kModelBands>();
            if (sample.film >= 0) p.slope.block(at, films[sample.film], rows, 1) = by_k.rowwise().sum() + by_s.rowwise().sum();
            at += rows;
        }
        return p;
    };
    Updated after;
    if (samples.empty()) {
        after.mean = Eigen::VectorXd::Zero(unknowns);
        after.covariance = prior;
    } else {
        after = gauss_newton(prior, readings, noise, predict, {1e4, 1e2, 1.0});
    }

    // Doubts worth keeping, as seen: bands weighted by what an observer sees of them.
    const Sight daylight = sight(*light("D65"), Observer::degree2);
    ModelSpectrum weight = daylight.to_xyz.colwise().sum().transpose().cwiseSqrt();
    weight.array() += 0.05 * weight.maxCoeff();
    Eigen::VectorXd weights(kUnknown);
    weights << weight, weight;
    const Eigen::MatrixXd own = after.covariance.topLeftCorner<kUnknown, kUnknown>();
    const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> ways(weights.asDiagonal() * own * weights.asDiagonal());
    const Eigen::VectorXd sizes = ways.eigenvalues();
    Eigen::Index kept = 0;
    for (double sum = 0; kept < 30 && sum < 0.9995 * sizes.sum(); ++kept) sum += sizes[kUnknown - 1 - kept];
    const Eigen::VectorXd root = sizes.tail(kept).cwiseMax(1e-14).cwiseSqrt();
    const Eigen::MatrixXd vectors = ways.eigenvectors().rightCols(kept);

    Shelf answer = shelf;
    Paint paint = start.paint;
    const Eigen::VectorXd mean = (belief.mean + after.mean.head<kUnknown>()).cwiseMax(-25).cwiseMin(10);
    paint.k = mean.head<kModelBands>().array().exp();
    paint.s = mean.tail<kModelBands>().array().exp();
    paint.doubt = weights.cwiseInverse().asDiagonal() * vectors * root.asDiagonal();
    // Films bend the belief more than a Gaussian at its top can say (83 % held of 95 % in simulation): widened.
    if (!films.empty()) paint.doubt *= kFilms;
    const Eigen::MatrixXd to_doubt = root.cwiseInverse().asDiagonal() * vectors.transpose() * weights.asDiagonal();
    const Eigen::Index before = spread.rows();
    Eigen::MatrixXd joint(before + kept, before + kept);
    joint.topLeftCorner(before, before) = spread * after.covariance.block(kUnknown, kUnknown, others, others) * spread.transpose();
    joint.bottomLeftCorner(kept, before) = to_doubt * after.covariance.block(0, kUnknown, kUnknown, others) * spread.transpose();
    joint.topRightCorner(before, kept) = joint.bottomLeftCorner(kept, before).transpose();
    joint.bottomRightCorner(kept, kept).setIdentity();
    const Eigen::VectorXd moved = spread * after.mean.segment(kUnknown, others);
    for (std::size_t i = 0; i < answer.paints.size(); ++i) {
        Paint& p = answer.paints[i];
        const Eigen::VectorXd by = p.doubt * moved.segment(first_doubt(shelf, static_cast<int>(i)), p.doubt.cols());
        p.k.array() *= by.head<kModelBands>().array().exp();
        p.s.array() *= by.tail<kModelBands>().array().exp();
    }
    answer.paints.push_back(std::move(paint));
    answer.spread = root_of(joint);
    return answer;
}

PaintSurface fitted_surface(const std::vector<ModelSpectrum>& masstones, PaintSurface start) {
    for (const ModelSpectrum& r : masstones) start.k1 = std::clamp(0.98 * r.minCoeff(), 0.0, start.k1);
    return start;
}

void doubt_strength(Paint& paint, double sd) {
    paint.doubt.conservativeResize(2 * kModelBands, paint.doubt.cols() + 1);
    paint.doubt.rightCols<1>().setConstant(sd);
}

}  // namespace sw
