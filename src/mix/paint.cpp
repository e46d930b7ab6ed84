#include "mix/paint.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <utility>

namespace sw {

Eigen::MatrixXd spread_of(const Shelf& shelf) {
    if (shelf.spread.rows() > 0) return shelf.spread;
    const Eigen::Index rows = first_doubt(shelf, static_cast<int>(shelf.paints.size()));
    return Eigen::MatrixXd::Identity(rows, rows);
}

Eigen::Index first_doubt(const Shelf& shelf, int paint) {
    Eigen::Index rows = 0;
    for (int p = 0; p < paint; ++p) rows += shelf.paints[static_cast<std::size_t>(p)].doubt.cols();
    return rows;
}

Sight sight(const Light& light, Observer observer) { return {observer_matrix(light, observer), xyz(light, observer)}; }

Lab seen(const ModelSpectrum& reflectance, const Sight& sight) {
    const Eigen::Vector3d v = 100 * (sight.to_xyz * reflectance);
    return lab(Xyz{v[0], v[1], v[2]}, sight.white);
}

ObserverMatrix lab_slope(const ModelSpectrum& reflectance, const Sight& sight) {
    const Eigen::Vector3d v = sight.to_xyz * reflectance;
    const Eigen::Vector3d white(sight.white.X / 100, sight.white.Y / 100, sight.white.Z / 100);
    Eigen::Vector3d f;  // slope of the cube root or of the line below it, ISO/CIE 11664-4
    for (int i = 0; i < 3; ++i) {
        const double t = v[i] / white[i], d = 6.0 / 29;
        f[i] = (t > d * d * d ? std::pow(t, -2.0 / 3) / 3 : 1 / (3 * d * d)) / white[i];
    }
    Eigen::Matrix3d m;
    m << 0, 116 * f[1], 0, 500 * f[0], -500 * f[1], 0, 0, 200 * f[1], -200 * f[2];
    return m * sight.to_xyz;
}

Eigen::Matrix3d weighted_covariance(const Lab& color, double sd) {
    const double chroma = std::hypot(color.a, color.b), off = (color.L - 50) * (color.L - 50);
    const double s_l = 1 + 0.015 * off / std::sqrt(20 + off), s_c = 1 + 0.045 * chroma, s_h = 1 + 0.015 * chroma;
    const Eigen::Vector2d along = chroma > 1e-9 ? Eigen::Vector2d(color.a / chroma, color.b / chroma) : Eigen::Vector2d(1, 0);
    const Eigen::Vector2d across(-along[1], along[0]);
    Eigen::Matrix3d c = Eigen::Matrix3d::Zero();
    c(0, 0) = s_l * s_l;
    c.bottomRightCorner<2, 2>() = s_c * s_c * along * along.transpose() + s_h * s_h * across * across.transpose();
    return sd * sd * c;
}

std::vector<Volume> volumes(const Shelf& shelf, const Recipe& recipe) {
    std::vector<Volume> v;
    for (const RecipePart& part : recipe) v.push_back({part.paint, part.drops * shelf.paints.at(static_cast<std::size_t>(part.paint)).drop.ml});
    return v;
}

Medium medium(const Shelf& shelf, const std::vector<Volume>& parts) {
    Medium mix{ModelSpectrum::Zero(), ModelSpectrum::Zero()};
    double total = 0;
    for (const Volume& part : parts) {
        const Paint& paint = shelf.paints.at(static_cast<std::size_t>(part.paint));
        mix.k += part.ml * paint.k;
        mix.s += part.ml * paint.s;
        total += part.ml;
    }
    assert(total > 0);
    mix.k /= total;
    mix.s /= total;
    return mix;
}

Appearance appearance(const Medium& mix, const PaintSurface& surface, const Coat& coat) {
    Appearance a;
    for (int i = 0; i < kModelBands; ++i) {
        const double k = std::max(mix.k[i], 1e-12), s = std::max(mix.s[i], 1e-12);
        double inside = 0, by_k = 0, by_s = 0;
        if (coat.thickness > 0) {
            const double under = std::clamp(below_surface(coat.undercoat[i], surface, coat.surface_seen), 0.0, 1.0), h = 1e-4;
            const auto film = [&](double fk, double fs) { return film_reflectance(k * coat.thickness * fk, s * coat.thickness * fs, under); };
            inside = film(1, 1);
            by_k = (film(1 + h, 1) - film(1 - h, 1)) / (2 * h);
            by_s = (film(1, 1 + h) - film(1, 1 - h)) / (2 * h);
        } else {
            const double q = k / s;
            inside = opaque_reflectance(q);
            by_k = -inside * std::sqrt(q / (q + 2));  // dR/dq = -R / sqrt(q^2 + 2q), times q
            by_s = -by_k;
        }
        const double open = 1 - surface.k2 * inside, slope = (1 - surface.k1) * (1 - surface.k2) / (open * open);
        a.reflectance[i] = through_surface(inside, surface, coat.surface_seen);
        a.by_k[i] = slope * by_k;
        a.by_s[i] = slope * by_s;
    }
    return a;
}

ModelSpectrum mix_reflectance(const Shelf& shelf, const Recipe& recipe) {
    return appearance(medium(shelf, volumes(shelf, recipe)), shelf.surface).reflectance;
}

ModelSpectrum mix_film(const Shelf& shelf, const Recipe& recipe, double thickness, const ModelSpectrum& undercoat) {
    return appearance(medium(shelf, volumes(shelf, recipe)), shelf.surface, Coat{thickness, undercoat, 1}).reflectance;
}

ModelSpectrum under_clear_coat(const ModelSpectrum& bare, const PaintSurface& bare_surface, const PaintSurface& coat, Finish finish) {
    const double seen = finish == Finish::gloss ? 0 : finish == Finish::satin ? 0.5 : 1;
    ModelSpectrum r;
    for (int i = 0; i < kModelBands; ++i) r[i] = through_surface(std::clamp(below_surface(bare[i], bare_surface), 0.0, 1.0), coat, seen);
    return r;
}

MixColor mix_color(const Shelf& shelf, const Recipe& recipe, const Sight& sight, const Coat& coat) {
    const std::vector<Volume> parts = volumes(shelf, recipe);
    const Medium mix = medium(shelf, parts);
    const Appearance a = appearance(mix, shelf.surface, coat);
    const ObserverMatrix slope = lab_slope(a.reflectance, sight);
    // By K and S themselves.
    const ObserverMatrix by_k = slope * a.by_k.cwiseQuotient(mix.k).asDiagonal(), by_s = slope * a.by_s.cwiseQuotient(mix.s).asDiagonal();
    MixColor answer{seen(a.reflectance, sight), Eigen::Matrix3d::Zero()};
    answer.covariance = weighted_covariance(answer.lab, shelf.model_sd);
    double total = 0;
    for (const Volume& part : parts) total += part.ml;
    const Eigen::MatrixXd spread = spread_of(shelf);
    Eigen::Matrix<double, 3, Eigen::Dynamic> by_doubt = Eigen::Matrix<double, 3, Eigen::Dynamic>::Zero(3, spread.cols());
    for (const Volume& part : parts) {
        if (!(part.ml > 0)) continue;
        const Paint& paint = shelf.paints[static_cast<std::size_t>(part.paint)];
        const double share = part.ml / total;
        const Eigen::Vector3d dose = share * paint.drop.cv * (by_k * (paint.k - mix.k) + by_s * (paint.s - mix.s));
        answer.covariance += dose * dose.transpose();
        if (paint.doubt.cols() == 0) continue;
        const Eigen::MatrixXd own = share * (by_k * paint.k.asDiagonal() * paint.doubt.topRows<kModelBands>() +
                                             by_s * paint.s.asDiagonal() * paint.doubt.bottomRows<kModelBands>());
        by_doubt += own * spread.middleRows(first_doubt(shelf, part.paint), paint.doubt.cols());
    }
    answer.covariance += by_doubt * by_doubt.transpose();
    return answer;
}

Result<Shelf> with_let_down(const Shelf& shelf, int paint, double white_parts) {
    if (paint < 1 || paint >= static_cast<int>(shelf.paints.size()) || !(white_parts > 0 && white_parts < 1e4))
        return Error{.fault = Fault::bad_usage,
                     .file = {},
                     .place = {},
                     .cause = "no paint to let down, or no parts of white",
                     .remedy = "name a paint that is not the white, and how many parts of white"};
    const Paint &strong = shelf.paints[static_cast<std::size_t>(paint)], &white = shelf.paints[0];
    const double share = 1 / (1 + white_parts);
    Paint p = strong;
    p.name += " let down 1:" + std::to_string(static_cast<int>(std::lround(white_parts)));
    p.k = share * strong.k + (1 - share) * white.k;
    p.s = share * strong.s + (1 - share) * white.s;
    const ModelSpectrum of_k = share * strong.k.cwiseQuotient(p.k), of_s = share * strong.s.cwiseQuotient(p.s);
    Eigen::VectorXd own(2 * kModelBands);
    own << of_k, of_s;
    p.doubt.resize(2 * kModelBands, strong.doubt.cols() + white.doubt.cols());
    p.doubt << own.asDiagonal() * strong.doubt, (Eigen::VectorXd::Ones(2 * kModelBands) - own).asDiagonal() * white.doubt;
    const Eigen::MatrixXd spread = spread_of(shelf);
    Shelf answer = shelf;
    answer.spread.resize(spread.rows() + p.doubt.cols(), spread.cols());
    answer.spread << spread, spread.middleRows(first_doubt(shelf, paint), strong.doubt.cols()), spread.topRows(white.doubt.cols());
    answer.paints.push_back(std::move(p));
    return answer;
}

Shelf some_of(const Shelf& shelf, const std::vector<int>& paints) {
    const Eigen::MatrixXd spread = spread_of(shelf);
    Shelf some = shelf;
    some.paints.clear();
    Eigen::Index rows = 0;
    for (const int p : paints) rows += shelf.paints.at(static_cast<std::size_t>(p)).doubt.cols();
    some.spread.resize(rows, spread.cols());
    Eigen::Index at = 0;
    for (const int p : paints) {
        const Paint& paint = shelf.paints[static_cast<std::size_t>(p)];
        some.spread.middleRows(at, paint.doubt.cols()) = spread.middleRows(first_doubt(shelf, p), paint.doubt.cols());
        at += paint.doubt.cols();
        some.paints.push_back(paint);
    }
    return some;
}

MixColor coated_color(const ModelSpectrum& bare, const PaintSurface& bare_surface, const PaintSurface& coat, Finish finish, double k1_sd,
                      const Sight& sight) {
    const Lab lab = seen(under_clear_coat(bare, bare_surface, coat, finish), sight);
    // Three points of the normal distribution, exact to its fourth moment: dark colors bend.
    const auto with = [&](double by) {
        const PaintSurface other{std::max(bare_surface.k1 + by * std::sqrt(3.0) * k1_sd, 0.0), bare_surface.k2};
        const Lab c = seen(under_clear_coat(bare, other, coat, finish), sight);
        return Eigen::Vector3d(c.L, c.a, c.b);
    };
    const Eigen::Vector3d less = with(-1), is(lab.L, lab.a, lab.b), more = with(1), mean = (less + 4 * is + more) / 6;
    Eigen::Matrix3d covariance = weighted_covariance(lab, 0.3);
    for (const auto& [at, weight] : {std::pair{less, 1.0 / 6}, std::pair{is, 4.0 / 6}, std::pair{more, 1.0 / 6}})
        covariance += weight * (at - mean) * (at - mean).transpose();
    return {{mean[0], mean[1], mean[2], lab.white}, covariance};
}

}  // namespace sw
