#include "match/pair_posterior.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>

#include "spectral/lamp_doubt.hpp"

namespace sw {

Eigen::Matrix3d nearest_psd(const Eigen::Matrix3d& m) {
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> eigen((m + m.transpose()) / 2);
    return eigen.eigenvectors() * eigen.eigenvalues().cwiseMax(0).asDiagonal() * eigen.eigenvectors().transpose();
}

Eigen::Matrix3d PairColor::covariance(double alike) const {
    Eigen::Matrix3d sum = (1 - alike) * part(Part::unlike);
    for (std::size_t p = 0; p < kParts; ++p) {
        if (p != static_cast<std::size_t>(Part::unlike)) sum += parts[p];
    }
    return sum;
}

std::vector<Scatter> PairColor::scatter() const {
    std::vector<Scatter> all;
    for (const PairKind& kind : kinds) {
        if (elsewhere) {
            all.push_back({kind.share, covariance(1), kind.reach, (1 - kind.alike) * part(Part::unlike)});
        } else {
            all.push_back({kind.share, covariance(kind.alike), kind.reach});
        }
    }
    return all;
}

double Surprise::chi_square(double alike) const { return off.dot(((1 - alike) * unlike + noise).ldlt().solve(off)); }

Surprise surprise(const std::vector<SensedPair>& others, const SensedPair& read) {
    const Eigen::Index readings = 3 * static_cast<Eigen::Index>(others.size());
    std::vector<const LibraryView*> views;
    std::vector<Eigen::Vector3d> middle;
    Eigen::VectorXd step(readings);
    for (std::size_t k = 0; k < others.size(); ++k) {
        views.push_back(&others[k].calibration.sensor->view());
        middle.push_back(others[k].middle());
        step.segment<3>(3 * static_cast<Eigen::Index>(k)) = others[k].step();
    }
    const Neighborhood near = neighborhood(views, middle, std::max(4.0, step.norm() / std::sqrt(static_cast<double>(others.size())) / 2));
    // Noise of a step, of each photo: its own and what its calibration does not know.
    const LocalMap plain = local_map(near, views, middle, 0.25 * Eigen::MatrixXd::Identity(readings, readings), {&reflectance_view()});
    const auto reflectance = [&](double sign) { return ModelSpectrum(plain.mean + sign * 0.5 * (plain.gain * step)); };
    const ModelSpectrum chip = reflectance(-1), swatch = reflectance(1);
    const auto noise_of = [&](const SensedPair& p) {
        const Eigen::MatrixXd slope = by_belief(p.swatch, swatch) - by_belief(p.chip, chip);
        return Eigen::Matrix3d(p.chip.noise + p.swatch.noise + slope * p.calibration.sensor->covariance() * slope.transpose());
    };
    Eigen::MatrixXd noise = Eigen::MatrixXd::Zero(readings, readings);
    for (std::size_t k = 0; k < others.size(); ++k)
        noise.block<3, 3>(3 * static_cast<Eigen::Index>(k), 3 * static_cast<Eigen::Index>(k)) = noise_of(others[k]);
    const LibraryView& goal = read.calibration.sensor->view();
    const LocalMap map = local_map(near, views, middle, noise, {&goal});
    const LocalMap exact = local_map(near, views, middle, Eigen::MatrixXd::Zero(readings, readings), {&goal});
    Surprise s;
    s.off = read.step() - map.gain * step;
    s.unlike = kSpread * 2 * exact.residual;
    s.noise = noise_of(read) + map.gain * noise * map.gain.transpose() + nearest_psd(kSpread * 2 * map.residual - s.unlike);
    return s;
}

namespace {

/// The kinds' shares after what several photos read, each against those before it.
std::vector<PairKind> weighed(std::vector<PairKind> kinds, const std::vector<SensedPair>& photos) {
    if (photos.size() > 1) {
        for (PairKind& kind : kinds) kind.share *= 1 - kUnusualKind.share;
        kinds.push_back(kUnusualKind);
    }
    for (std::size_t k = 1; k < photos.size(); ++k) {
        const Surprise s = surprise({photos.begin(), photos.begin() + static_cast<std::ptrdiff_t>(k)}, photos[k]);
        double total = 0;
        for (PairKind& kind : kinds) {
            const Eigen::Matrix3d c = (1 - kind.alike) * s.unlike + s.noise;
            kind.share *= std::exp(-0.25 * std::min(s.chi_square(kind.alike), 600.0)) / std::pow(c.determinant(), 0.25);
            total += kind.share;
        }
        if (!(total > 0)) {  // beyond all of them: the widest is the nearest to it
            for (PairKind& kind : kinds) kind.share = 0;
            kinds.back().share = total = 1;
        }
        for (PairKind& kind : kinds) kind.share /= total;
    }
    return kinds;
}

}  // namespace

std::vector<PairColor> pair_posterior(const std::vector<SensedPair>& photos, const std::vector<TargetLight>& wanted, bool elsewhere) {
    const std::vector<PairKind> kinds = weighed(elsewhere ? kPairKindsElsewhere : kPairKinds, photos);
    std::vector<const LibraryView*> targets;
    for (const TargetLight& t : wanted) targets.push_back(&t.view);
    const Eigen::Index readings = 3 * static_cast<Eigen::Index>(photos.size());
    std::vector<const LibraryView*> views;
    std::vector<Eigen::Vector3d> middle, chip, swatch;
    Eigen::VectorXd step(readings);
    for (std::size_t k = 0; k < photos.size(); ++k) {
        views.push_back(&photos[k].calibration.sensor->view());
        middle.push_back(photos[k].middle());
        chip.push_back(photos[k].chip.feature);
        swatch.push_back(photos[k].swatch.feature);
        step.segment<3>(3 * static_cast<Eigen::Index>(k)) = photos[k].step();
    }
    const double apart = step.norm() / std::sqrt(static_cast<double>(photos.size()));
    std::vector<const LibraryView*> all = targets;
    all.push_back(&reflectance_view());

    const Neighborhood near = neighborhood(views, middle, std::max(4.0, apart / 2));
    // First pass for the reflectances, with which the doubt about the sensitivity weighs.
    Eigen::MatrixXd doubt = Eigen::MatrixXd::Identity(readings, readings) * 0.25;
    LocalMap map = local_map(near, views, middle, doubt, all);
    const auto reflectance_at = [&](const std::vector<Eigen::Vector3d>& at) {
        Eigen::VectorXd shift(readings);
        for (std::size_t k = 0; k < at.size(); ++k) shift.segment<3>(3 * static_cast<Eigen::Index>(k)) = at[k] - middle[k];
        return ModelSpectrum(map.mean.tail<kModelBands>() + map.gain.bottomRows<kModelBands>() * shift);
    };
    const auto doubts = [&] {
        const ModelSpectrum r = reflectance_at(middle);
        for (std::size_t k = 0; k < photos.size(); ++k) {
            doubt.block<3, 3>(3 * static_cast<Eigen::Index>(k), 3 * static_cast<Eigen::Index>(k)) =
                (photos[k].chip.noise + photos[k].swatch.noise) / 2;
            if (photos.size() > 1)
                doubt.block<3, 3>(3 * static_cast<Eigen::Index>(k), 3 * static_cast<Eigen::Index>(k)) +=
                    feature_doubt(photos[k].calibration, photos[k].chip, r);
        }
    };
    doubts();
    map = local_map(near, views, middle, doubt, all);
    const ModelSpectrum chip_reflectance = reflectance_at(chip), swatch_reflectance = reflectance_at(swatch);

    std::vector<PairColor> result;
    // What both share cancels in the difference: the gain that suits a difference knows only the noise that does not cancel.
    Eigen::MatrixXd own = Eigen::MatrixXd::Zero(readings, readings);
    for (std::size_t k = 0; k < photos.size(); ++k) {
        const auto at = 3 * static_cast<Eigen::Index>(k);
        own.block<3, 3>(at, at) = photos[k].chip.noise + photos[k].swatch.noise;
    }
    const LocalMap sharp = local_map(near, views, middle, own, targets);
    const LocalMap exact = local_map(near, views, middle, Eigen::MatrixXd::Zero(readings, readings), targets);
    Eigen::VectorXd d = sharp.gain * step;
    if (apart > 2) {  // far apart, each color's own surroundings say more than the middle's
        const LocalMap at_chip = local_map(neighborhood(views, chip), views, chip, own, targets);
        const LocalMap at_swatch = local_map(neighborhood(views, swatch), views, swatch, own, targets);
        const double near_share = std::exp(-(apart - 2) * (apart - 2) / (2 * 5.0 * 5.0));
        d = near_share * d + (1 - near_share) * (at_swatch.mean - at_chip.mean);
    }
    for (std::size_t t = 0; t < targets.size(); ++t) {
        const auto row = 3 * static_cast<Eigen::Index>(t);
        PairColor pair;
        pair.kinds = kinds;
        pair.elsewhere = elsewhere;
        const Eigen::Vector3d mean = map.mean.segment<3>(row);
        pair.d = d.segment<3>(row);
        pair.chip = mean - pair.d / 2;
        pair.swatch = mean + pair.d / 2;
        const Eigen::MatrixXd g = sharp.gain.middleRows<3>(row);
        // Noise also blunts the gain, and what a blunt gain leaves unexplained is the noise's doing: it is counted there, so that the advice is
        // right.
        const Eigen::Matrix3d unlike = kSpread * 2 * exact.residual.block<3, 3>(row, row);
        pair.part(Part::unlike) = unlike + 0.05 * 0.05 * Eigen::Matrix3d::Identity();
        pair.part(Part::noise) = nearest_psd(kSpread * 2 * sharp.residual.block<3, 3>(row, row) - unlike);
        Eigen::Matrix3d camera = Eigen::Matrix3d::Zero();
        std::vector<Eigen::MatrixXd> slopes;
        for (std::size_t k = 0; k < photos.size(); ++k) {
            const Eigen::Matrix3d gk = g.middleCols<3>(3 * static_cast<Eigen::Index>(k));
            const SensedPair& p = photos[k];
            pair.part(Part::noise) += gk * (p.chip.noise + p.swatch.noise) * gk.transpose();
            slopes.emplace_back(gk * (by_belief(p.swatch, swatch_reflectance) - by_belief(p.chip, chip_reflectance)));
        }
        // Doubts that several readings share add up before they are squared.
        std::vector<bool> done(photos.size(), false);
        for (std::size_t k = 0; k < photos.size(); ++k) {
            if (done[k]) continue;
            Eigen::MatrixXd slope = slopes[k];
            for (std::size_t j = k + 1; j < photos.size(); ++j) {
                if (photos[k].photo < 0 || photos[j].photo != photos[k].photo) continue;
                slope += slopes[j];
                done[j] = true;
            }
            slopes[k] = slope;
            const Eigen::MatrixXd& c = photos[k].calibration.sensor->covariance();
            const auto part = [&](int first, int last) {
                const int from = kSensitivitySize + first, size = last - first + 1;
                return Eigen::Matrix3d(slope.middleCols(from, size) * c.block(from, from, size, size) * slope.middleCols(from, size).transpose());
            };
            const Eigen::Matrix3d tone = part(contrast, bend_last), field = part(light_x, blue_y), white = part(gain_r, flare);
            pair.part(Part::tone) += tone;
            pair.part(Part::field) += field;
            pair.part(Part::white) += white;
            camera += slope * c * slope.transpose() - tone - field - white;
        }
        for (std::size_t k = 0; k < photos.size(); ++k) {  // of photos under one light: what their common sensitivity adds beyond the sum of squares
            for (std::size_t j = 0; j < photos.size(); ++j) {
                if (j == k || done[j] || done[k] || photos[k].light < 0 || photos[j].light != photos[k].light) continue;
                const auto& c = photos[std::min(j, k)].calibration.sensor->covariance().topLeftCorner<kSensitivitySize, kSensitivitySize>();
                camera += slopes[k].leftCols<kSensitivitySize>() * c * slopes[j].leftCols<kSensitivitySize>().transpose();
            }
        }
        pair.part(Part::camera) = nearest_psd(camera);
        pair.part(Part::lamp) = lamp_covariance(lamp_deviations(wanted[t].light, wanted[t].observer, swatch_reflectance) -
                                                lamp_deviations(wanted[t].light, wanted[t].observer, chip_reflectance));
        result.push_back(pair);
    }
    return result;
}

}  // namespace sw
