#include "match/pair_posterior.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>

#include "spectral/lamp_doubt.hpp"

namespace sw {

Eigen::Matrix3d nearest_psd(const Eigen::Matrix3d& m) {
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> eigen((m + m.transpose()) / 2);
    return eigen.eigenvectors() * eigen.eigenvalues().cwiseMax(0).asDiagonal() * eigen.eigenvectors().transpose();
}

PairPosterior pair_posterior(const std::vector<SensedPair>& photos, const std::vector<TargetLight>& wanted) {
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

    PairPosterior result;
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
        const Eigen::Vector3d mean = map.mean.segment<3>(row), delta = d.segment<3>(row);
        result.d.push_back(delta);
        result.chip.emplace_back(mean - delta / 2);
        result.swatch.emplace_back(mean + delta / 2);
        const Eigen::MatrixXd g = sharp.gain.middleRows<3>(row);
        // Noise also blunts the gain, and what a blunt gain leaves unexplained is the noise's doing: it is counted there, so that the advice is
        // right.
        const Eigen::Matrix3d unlike = kSpread * 2 * exact.residual.block<3, 3>(row, row);
        result.residual.emplace_back(unlike + 0.05 * 0.05 * Eigen::Matrix3d::Identity());
        Eigen::Matrix3d noise = nearest_psd(kSpread * 2 * sharp.residual.block<3, 3>(row, row) - unlike);
        Eigen::Matrix3d belief = Eigen::Matrix3d::Zero(), tone = belief, field = belief, white = belief;
        for (std::size_t k = 0; k < photos.size(); ++k) {
            const Eigen::Matrix3d gk = g.middleCols<3>(3 * static_cast<Eigen::Index>(k));
            const SensedPair& p = photos[k];
            noise += gk * (p.chip.noise + p.swatch.noise) * gk.transpose();
            const Eigen::MatrixXd slope = gk * (by_belief(p.swatch, swatch_reflectance) - by_belief(p.chip, chip_reflectance));
            const Eigen::MatrixXd& c = p.calibration.sensor->covariance();
            belief += slope * c * slope.transpose();
            const auto part = [&](int first, int last) {
                const int from = kSensitivitySize + first, size = last - first + 1;
                return Eigen::Matrix3d(slope.middleCols(from, size) * c.block(from, from, size, size) * slope.middleCols(from, size).transpose());
            };
            tone += part(contrast, bend_last);
            field += part(light_x, blue_y);
            white += part(gain_r, flare);
        }
        result.lamp.push_back(lamp_covariance(lamp_deviations(wanted[t].light, wanted[t].observer, swatch_reflectance) -
                                              lamp_deviations(wanted[t].light, wanted[t].observer, chip_reflectance)));
        result.noise.push_back(noise);
        result.belief.push_back(nearest_psd(belief));
        result.tone.push_back(tone);
        result.field.push_back(field);
        result.white.push_back(white);
    }
    return result;
}

}  // namespace sw
