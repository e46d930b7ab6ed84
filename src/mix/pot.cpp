#include "mix/pot.hpp"

#include <Eigen/LU>

#include <algorithm>
#include <cmath>
#include <limits>

#include "color/difference.hpp"
#include "mix/gauss_newton.hpp"
#include "spectral/random.hpp"

namespace sw {
namespace {

constexpr double kCommon = 0.9;         // share of the model's error that is the same all over a pot; our own
constexpr double kQuestioned = 16.27;   // chi square, 3 degrees of freedom, 99.9 %
constexpr double kHardlyCounted = 1e4;  // its covariance times this

/// Where the unknowns stand.
struct Layout {
    Eigen::Index unknowns = 0, readings = 0;
    std::vector<Eigen::Index> dose, error;
};
Layout layout_of(const Eigen::MatrixXd& spread, const std::vector<Pot>& pots) {
    Layout l;
    l.unknowns = spread.cols();
    for (const Pot& pot : pots) {
        l.dose.push_back(l.unknowns);
        l.unknowns += static_cast<Eigen::Index>(pot.additions.size());
        l.error.push_back(l.unknowns);
        l.unknowns += 3;
        l.readings += 3 * static_cast<Eigen::Index>(pot.readings.size());
    }
    return l;
}

/// The paints with the shelf's unknowns at x.
std::vector<Medium> paints_at(const Shelf& shelf, const Eigen::MatrixXd& spread, const Eigen::VectorXd& x) {
    std::vector<Medium> all;
    const Eigen::VectorXd moved = spread * x;
    Eigen::Index row = 0;
    for (const Paint& p : shelf.paints) {
        const Eigen::VectorXd by = (p.doubt * moved.segment(row, p.doubt.cols())).cwiseMax(-8).cwiseMin(8);
        all.push_back({p.k.array() * by.head<kModelBands>().array().exp(), p.s.array() * by.tail<kModelBands>().array().exp()});
        row += p.doubt.cols();
    }
    return all;
}

Predicted predict_pots(const Shelf& shelf, const Eigen::MatrixXd& spread, const std::vector<Pot>& pots, const Layout& l, const Eigen::VectorXd& x) {
    const std::vector<Medium> paints = paints_at(shelf, spread, x.head(spread.cols()));
    Predicted p{Eigen::VectorXd(l.readings), Eigen::MatrixXd::Zero(l.readings, l.unknowns)};
    Eigen::Index at = 0;
    for (std::size_t n = 0; n < pots.size(); ++n) {
        for (const PotReading& reading : pots[n].readings) {
            Medium mix{ModelSpectrum::Zero(), ModelSpectrum::Zero()};
            double total = 0;
            std::vector<double> ml;
            for (int i = 0; i < reading.after; ++i) {
                const Addition& a = pots[n].additions[static_cast<std::size_t>(i)];
                const auto paint = static_cast<std::size_t>(a.paint);
                ml.push_back(a.drops * shelf.paints[paint].drop.ml * std::exp(std::clamp(x[l.dose[n] + i], -3.0, 3.0)));
                mix.k += ml.back() * paints[paint].k;
                mix.s += ml.back() * paints[paint].s;
                total += ml.back();
            }
            mix.k /= total;
            mix.s /= total;
            const Appearance a = appearance(mix, shelf.surface, reading.coat);
            const ObserverMatrix slope = lab_slope(a.reflectance, reading.color.sight);
            const ObserverMatrix by_k = slope * a.by_k.cwiseQuotient(mix.k).asDiagonal(), by_s = slope * a.by_s.cwiseQuotient(mix.s).asDiagonal();
            const Lab lab = seen(a.reflectance, reading.color.sight);
            p.value.segment<3>(at) = Eigen::Vector3d(lab.L, lab.a, lab.b) + x.segment<3>(l.error[n]);
            p.slope.block<3, 3>(at, l.error[n]).setIdentity();
            for (int i = 0; i < reading.after; ++i) {
                const int number = pots[n].additions[static_cast<std::size_t>(i)].paint;
                const Medium& paint = paints[static_cast<std::size_t>(number)];
                const Eigen::MatrixXd& doubt = shelf.paints[static_cast<std::size_t>(number)].doubt;
                const double share = ml[static_cast<std::size_t>(i)] / total;
                p.slope.block<3, 1>(at, l.dose[n] + i) = share * (by_k * (paint.k - mix.k) + by_s * (paint.s - mix.s));
                if (doubt.cols() == 0) continue;
                const Eigen::MatrixXd own = share * (by_k * paint.k.asDiagonal() * doubt.topRows<kModelBands>() +
                                                     by_s * paint.s.asDiagonal() * doubt.bottomRows<kModelBands>());
                p.slope.block(at, 0, 3, spread.cols()) += own * spread.middleRows(first_doubt(shelf, number), doubt.cols());
            }
            at += 3;
        }
    }
    return p;
}

Error not_a_pot(const Pot& pot, std::string cause, std::string remedy) {
    return Error{.fault = Fault::table_malformed, .file = {}, .place = pot.name, .cause = std::move(cause), .remedy = std::move(remedy)};
}

}  // namespace

Result<Learned> learn(const Shelf& start, const std::vector<Pot>& pots, bool learn_model) {
    for (const Pot& pot : pots) {
        for (const Addition& a : pot.additions) {
            if (a.paint < 0 || a.paint >= static_cast<int>(start.paints.size()))
                return not_a_pot(pot, "holds a paint that is not on the shelf", "put it there");
            if (!(a.drops > 0 && a.drops < 1e6)) return not_a_pot(pot, "an addition is not above 0", "say how many drops it was");
        }
        for (const PotReading& r : pot.readings) {
            if (r.after < 1 || r.after > static_cast<int>(pot.additions.size()))
                return not_a_pot(pot, "a reading was made before anything was in the pot", "add first, then read");
            if (!std::isfinite(r.color.lab.L + r.color.lab.a + r.color.lab.b) || !r.color.covariance.allFinite() ||
                r.color.covariance.diagonal().minCoeff() < 0)
                return not_a_pot(pot, "a reading is no color", "read it again");
        }
    }
    const Eigen::MatrixXd spread = spread_of(start);
    const Layout l = layout_of(spread, pots);
    Learned answer;
    answer.start = start;
    answer.pots = pots;
    answer.first_dose = l.dose;
    answer.first_error = l.error;
    std::vector<double> weight(static_cast<std::size_t>(l.readings / 3), 1);  // on the noise

    const auto fit = [&](double model_sd) {
        Eigen::MatrixXd prior = Eigen::MatrixXd::Identity(l.unknowns, l.unknowns), noise = Eigen::MatrixXd::Zero(l.readings, l.readings);
        Eigen::VectorXd readings(l.readings);
        Eigen::Index at = 0;
        for (std::size_t n = 0; n < pots.size(); ++n) {
            for (std::size_t i = 0; i < pots[n].additions.size(); ++i) {
                const Addition& a = pots[n].additions[i];
                const double cv = a.cv > 0 ? a.cv : start.paints[static_cast<std::size_t>(a.paint)].drop.cv;
                prior(l.dose[n] + static_cast<Eigen::Index>(i), l.dose[n] + static_cast<Eigen::Index>(i)) = cv * cv;
            }
            if (!pots[n].readings.empty())
                prior.block<3, 3>(l.error[n], l.error[n]) = kCommon * weighted_covariance(pots[n].readings.back().color.lab, model_sd);
            else
                prior.block<3, 3>(l.error[n], l.error[n]) = kCommon * model_sd * model_sd * Eigen::Matrix3d::Identity();
            for (const PotReading& r : pots[n].readings) {
                readings.segment<3>(at) << r.color.lab.L, r.color.lab.a, r.color.lab.b;
                const Eigen::Matrix3d own =
                    r.color.covariance + 1e-6 * Eigen::Matrix3d::Identity() + (1 - kCommon) * weighted_covariance(r.color.lab, model_sd);
                noise.block<3, 3>(at, at) = weight[static_cast<std::size_t>(at / 3)] * own;
                at += 3;
            }
        }
        return gauss_newton(prior, readings, noise, [&](const Eigen::VectorXd& x) { return predict_pots(start, spread, pots, l, x); });
    };
    const auto with_model_learned = [&](double& model_sd) {
        if (!learn_model || l.readings == 0) {
            model_sd = start.model_sd;
            return fit(model_sd);
        }
        // Usual: the start's, by a factor of two either way (68 %). The answer: the mean of the variance.
        double sum = 0, weights = 0, top = -std::numeric_limits<double>::infinity();
        std::vector<std::pair<double, double>> grid;
        for (const double sd : {0.1, 0.2, 0.35, 0.6, 1.0, 1.5, 2.2}) {
            const double usual = std::log(sd / std::max(start.model_sd, 0.05)) / 0.7;
            grid.emplace_back(sd, fit(sd).log_evidence - 0.5 * usual * usual);
            top = std::max(top, grid.back().second);
        }
        for (const auto& [sd, log_weight] : grid) {
            sum += std::exp(log_weight - top) * sd * sd;
            weights += std::exp(log_weight - top);
        }
        model_sd = std::sqrt(sum / weights);
        return fit(model_sd);
    };
    double model_sd = start.model_sd;
    Updated after = with_model_learned(model_sd);
    std::vector<ReadingJudged> judged(weight.size());
    for (std::size_t excluded = 0;; ++excluded) {  // the worst is questioned first; a quarter at most
        std::size_t worst = weight.size();
        Eigen::Index at = 0;
        for (std::size_t n = 0; n < pots.size(); ++n) {
            for (std::size_t i = 0; i < pots[n].readings.size(); ++i, at += 3) {
                ReadingJudged& j = judged[static_cast<std::size_t>(at / 3)];
                j.pot = static_cast<int>(n);
                j.reading = static_cast<int>(i);
                if (j.questioned) continue;
                const Eigen::Matrix3d covariance = after.precision.block<3, 3>(at, at).inverse();  // of the reading, from all others
                const Eigen::Vector3d off = covariance * after.weighted.segment<3>(at);
                const Lab read = pots[n].readings[i].color.lab, expected{read.L - off[0], read.a - off[1], read.b - off[2], read.white};
                j.de00 = difference_2000(expected, read);
                j.chi_square = off.dot(after.weighted.segment<3>(at));
                if (j.chi_square > kQuestioned && (worst == weight.size() || j.chi_square > judged[worst].chi_square))
                    worst = static_cast<std::size_t>(at / 3);
            }
        }
        if (worst == weight.size() || excluded >= weight.size() / 4) break;
        judged[worst].questioned = true;
        weight[worst] = kHardlyCounted;
        after = with_model_learned(model_sd);
    }
    answer.readings = std::move(judged);
    answer.mean = after.mean;
    answer.covariance = after.covariance;
    answer.shelf = start;
    answer.shelf.model_sd = model_sd;
    const Eigen::VectorXd x = after.mean.head(spread.cols());
    const std::vector<Medium> now = paints_at(start, spread, x);
    answer.shelf.spread = spread * root_of(after.covariance.topLeftCorner(spread.cols(), spread.cols()));
    for (std::size_t p = 0; p < now.size(); ++p) {
        Paint& paint = answer.shelf.paints[p];
        const Eigen::Index row = first_doubt(start, static_cast<int>(p)), columns = paint.doubt.cols();
        const Eigen::RowVectorXd mean = paint.doubt.colwise().mean();
        StrengthLearned strength;
        strength.factor = std::exp(((now[p].k.array() / paint.k.array()).log().mean() + (now[p].s.array() / paint.s.array()).log().mean()) / 2);
        if (columns > 0) {
            strength.sd_before = (mean * spread.middleRows(row, columns)).norm();
            strength.sd = (mean * answer.shelf.spread.middleRows(row, columns)).norm();
        }
        answer.strengths.push_back(strength);
        paint.k = now[p].k;
        paint.s = now[p].s;
    }
    return answer;
}

std::vector<PotDraw> pot_draws(const Learned& learned, int pot, int count, std::uint64_t seed) {
    const Shelf& shelf = learned.start;
    const Eigen::MatrixXd spread = spread_of(shelf), root = root_of(learned.covariance);
    Random random(seed);
    std::vector<PotDraw> draws;
    const auto n = static_cast<std::size_t>(pot);
    for (int d = 0; d <= count; ++d) {
        Eigen::VectorXd x = learned.mean;
        if (d > 0) {
            Eigen::VectorXd normal(x.size());
            for (double& v : normal) v = random.normal();
            x += root * normal;
        }
        PotDraw draw{ModelSpectrum::Zero(), ModelSpectrum::Zero(), 0, x.segment<3>(learned.first_error[n]),
                     paints_at(shelf, spread, x.head(spread.cols()))};
        for (std::size_t i = 0; i < learned.pots[n].additions.size(); ++i) {
            const Addition& a = learned.pots[n].additions[i];
            const auto paint = static_cast<std::size_t>(a.paint);
            const double ml = a.drops * shelf.paints[paint].drop.ml * std::exp(x[learned.first_dose[n] + static_cast<Eigen::Index>(i)]);
            draw.k += ml * draw.paints[paint].k;
            draw.s += ml * draw.paints[paint].s;
            draw.ml += ml;
        }
        draws.push_back(std::move(draw));
    }
    return draws;
}

Lab draw_color(const PotDraw& draw, const Shelf& shelf, const Recipe& more, const std::vector<double>& dose, const Sight& sight, const Coat& coat) {
    Medium mix{draw.k, draw.s};
    double total = draw.ml;
    for (std::size_t i = 0; i < more.size(); ++i) {
        const auto paint = static_cast<std::size_t>(more[i].paint);
        const double ml = more[i].drops * shelf.paints[paint].drop.ml * (dose.empty() ? 1 : dose[i]);
        mix.k += ml * draw.paints[paint].k;
        mix.s += ml * draw.paints[paint].s;
        total += ml;
    }
    Lab lab{0, 0, 0, sight.white};
    if (total > 0) {
        mix.k /= total;
        mix.s /= total;
        if (coat.thickness > 0) {
            lab = seen(appearance(mix, shelf.surface, coat).reflectance, sight);
        } else {  // the same, without slopes
            ModelSpectrum r;
            for (int i = 0; i < kModelBands; ++i)
                r[i] = through_surface(opaque_reflectance(mix.k[i] / std::max(mix.s[i], 1e-12)), shelf.surface, coat.surface_seen);
            lab = seen(r, sight);
        }
    }
    lab.L += draw.error[0];
    lab.a += draw.error[1];
    lab.b += draw.error[2];
    return lab;
}

}  // namespace sw
