#include "calibrate/sensor_model.hpp"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>

#include "color/light.hpp"
#include "spectral/surfaces.hpp"

namespace sw {
namespace {

// Relative misfit of the references, even steps of its logarithm, and what is usual before they are looked at: glare, dust, a card's own lacquer;
// common practice, no source.
constexpr std::array<double, 9> kSigmas{0.001, 0.0018, 0.0032, 0.0058, 0.0105, 0.019, 0.034, 0.061, 0.11};
constexpr double kUsualSigma = 0.008, kUsualSpread = 0.9;  // median, and standard deviation of the logarithm
constexpr std::array<double, 3> kScales{1, 4, 16};
constexpr std::array<double, 4> kCurveScales{0, 1, 4, 16};  // of the curve's variance, where neutrals are enough to tell; 0: no bends
constexpr std::array<double, 3> kTintScales{1, 16, 64};     // of the variance of the light's color over the picture: up to 10 % a half picture
constexpr double kTintMustGain = 3;                         // as below; many patches of color can feign a course, four cards hardly
constexpr double kBendsMustGain = 3;                        // logarithm of the evidence: bends that explain less than this much more stay out
constexpr double kLeastSlope = 0.05;                        // of the curve undone, against encoded values

Eigen::VectorXd stacked(const SensitivityRows& rows) {
    Eigen::VectorXd v(kSensitivitySize);
    for (int c = 0; c < 3; ++c) v.segment(c * kModelBands, kModelBands) = rows.row(c).transpose();
    return v;
}

SensitivityRows unstacked(const Eigen::VectorXd& v) {
    SensitivityRows rows;
    for (int c = 0; c < 3; ++c) rows.row(c) = v.segment(c * kModelBands, kModelBands).transpose();
    return rows;
}

}  // namespace

ToneCurve tone_of(const Doubts& d) {
    ToneCurve curve{d[contrast], d[lift], d[roll], {}};
    for (int k = 0; k < ToneCurve::kBends; ++k) curve.bend[static_cast<std::size_t>(k)] = d[bend_first + k];
    return curve;
}

SensorModel::SensorModel(const SensorSetup& setup, const std::vector<ReferenceColor>& references, const std::vector<LightSlope>& slopes,
                         const std::vector<PlainArea>& plain, Effort effort)
    : setup_(setup), references_(references), native_inverse_(setup.native.inverse()), weights_(references.size(), 1.0) {
    // Doubts before any reference is looked at. Gains: where a picture stands without a reference (a third of a stop in exposure, white balance 15
    // %). Flare, curve and light field: a population of cameras and benches; common practice, no source.
    prior_doubts_.setZero();
    prior_doubt_covariance_.setZero();
    Eigen::Matrix3d gains = Eigen::Matrix3d::Constant(0.3 * 0.3);
    gains.diagonal().array() += 0.15 * 0.15;
    prior_doubt_covariance_.topLeftCorner<3, 3>() = gains;
    const auto believe = [&](Doubt d, double mean, double sd) {
        prior_doubts_[d] = mean;
        prior_doubt_covariance_(d, d) = sd * sd;
    };
    believe(flare, setup.flare, setup.black_and_white ? 0.008 : setup.flare > 0 ? 0.004 : 0.002);
    believe(contrast, setup.linear ? 0 : 0.12, setup.linear ? 0.005 : 0.08);
    believe(lift, 0, setup.linear ? 0.005 : 0.08);
    believe(roll, 0, setup.linear ? 0.005 : 0.08);
    if (setup.free_curve && !setup.linear) {  // finer bends are smaller, as those of a smooth random curve; common practice, no source
        for (int k = 0; k < ToneCurve::kBends; ++k) believe(static_cast<Doubt>(bend_first + k), 0, 0.12 / (k + 3));
    }
    const double uneven = setup.evened ? 0.2 : 1;  // the board lay a little otherwise than the parts
    const bool shown = !plain.empty();             // a plain surrounding tells: what it may find is not narrowed beforehand
    believe(light_x, 0, uneven * (shown ? 0.4 : 0.12));
    believe(light_y, 0, uneven * (shown ? 0.4 : 0.12));
    believe(light_r, 0, uneven * (shown ? 0.2 : 0.08));
    believe(light_d, 0, shown ? 0.1 : 0);
    believe(light_s, 0, shown ? 0.1 : 0);
    for (Doubt d : {red_x, red_y, blue_x, blue_y})
        believe(d, 0, uneven * (shown ? 0.08 : 0.012));  // two lights: the color changes across the picture

    origin_ = {setup.width / 2.0, setup.height / 2.0};
    white_ = setup.white.value_or(Eigen::Vector3d::Ones());
    if (!references_.empty()) {
        origin_ = {0, 0};
        Eigen::Vector3d log_white = Eigen::Vector3d::Zero();
        double weight = 0;
        Doubts start = prior_doubts_;
        start[flare] = 0;
        for (const ReferenceColor& r : references_) {
            origin_.x += r.at.x / static_cast<double>(references_.size());
            origin_.y += r.at.y / static_cast<double>(references_.size());
            const Eigen::Vector3d seen = scene(r.rgb, r.at, start), expected = setup_.prior.mean * r.reflectance;
            const double w = 1 / (1e-4 + std::pow((expected.maxCoeff() - expected.minCoeff()) / expected.mean(), 2));  // neutrals lead
            log_white += w * (seen.cwiseMax(1e-5).cwiseQuotient(expected.cwiseMax(1e-3))).array().log().matrix();
            weight += w;
        }
        white_ = (log_white / weight).array().exp();
    }
    if (!slopes.empty()) {
        Eigen::VectorXd mean = prior_doubts_;
        Eigen::MatrixXd covariance = prior_doubt_covariance_;
        learn_slopes(slopes, mean, covariance, 0);
        prior_doubts_ = mean;
        prior_doubt_covariance_ = covariance;
    }
    const Doubts start = prior_doubts_;
    const auto start_covariance = prior_doubt_covariance_;
    learn_plain(plain, prior_doubts_);
    solve(!shown && !setup.evened && references_.size() >= 3, effort);
    if (!plain.empty()) {  // once more, with the curve that was found
        const Doubts found = doubts_;
        prior_doubts_ = start;
        prior_doubt_covariance_ = start_covariance;
        learn_plain(plain, found);
        solve(false, effort);
    }
    static const Light d50 = *light("D50");
    matrix_ = best_matrix(rows_, observer_matrix(d50, Observer::degree2));
    if (effort == Effort::rough) return;
    view_ = sensor_view(rows_, matrix_);
}

Eigen::Matrix<double, 5, 1> SensorModel::place(Point at) const {
    const double unit = std::max(setup_.width, setup_.height) / 2.0;
    const auto x = (at.x - setup_.width / 2.0) / unit, y = (at.y - setup_.height / 2.0) / unit;
    const auto x0 = (origin_.x - setup_.width / 2.0) / unit, y0 = (origin_.y - setup_.height / 2.0) / unit;
    return (Eigen::Matrix<double, 5, 1>() << x - x0, y - y0, x * x + y * y - x0 * x0 - y0 * y0, x * x - y * y - x0 * x0 + y0 * y0, x * y - x0 * y0)
        .finished();
}

Eigen::Matrix<double, 3, doubt_count> SensorModel::field_by_doubts(Point at) const {
    const Eigen::Matrix<double, 5, 1> p = place(at);
    Eigen::Matrix<double, 3, doubt_count> slope = Eigen::Matrix<double, 3, doubt_count>::Zero();
    for (int c = 0; c < 3; ++c) slope.row(c).segment<5>(light_x) = p.transpose();
    slope.row(0).segment<2>(red_x) = p.head<2>().transpose();
    slope.row(2).segment<2>(blue_x) = p.head<2>().transpose();
    return slope;
}

Eigen::Vector3d SensorModel::unleveled(const Eigen::Vector3d& rgb, const Doubts& d) const {
    const ToneCurve curve = tone_of(d);
    Eigen::Vector3d v = setup_.native * rgb;
    for (double& x : v) x = curve.scene(x);
    v = native_inverse_ * v;
    for (int c = 0; c < 3; ++c) v[c] = v[c] / (white_[c] * std::exp(d[c])) - d[flare];
    return v;
}

Eigen::Vector3d SensorModel::scene(const Eigen::Vector3d& rgb, Point at, const Doubts& d) const {
    const Eigen::Matrix<double, 5, 1> p = place(at);
    const double light = d.segment<5>(light_x).dot(p);
    const Eigen::Array3d field(light + d[red_x] * p[0] + d[red_y] * p[1], light, light + d[blue_x] * p[0] + d[blue_y] * p[1]);
    return unleveled(rgb, d).array() / field.exp();
}

void SensorModel::learn_plain(const std::vector<PlainArea>& areas, const Doubts& curve) {
    using Square = Eigen::Matrix<double, doubt_count, doubt_count>;
    Square information = Square::Zero();
    Doubts pull = Doubts::Zero();
    for (const PlainArea& area : areas) {
        // What the area's own color is does not matter: only how it changes from its mean.
        double total = 0;
        Eigen::Vector3d mean = Eigen::Vector3d::Zero();
        Eigen::Matrix<double, 3, doubt_count> mean_look = Eigen::Matrix<double, 3, doubt_count>::Zero();
        std::vector<Eigen::Vector3d> seen;
        for (const PlainArea::Block& block : area.blocks) {
            seen.emplace_back(unleveled(block.rgb, curve).cwiseMax(1e-4).array().log());
            mean += block.weight * seen.back();
            mean_look += block.weight * field_by_doubts(block.at);
            total += block.weight;
        }
        mean /= total;
        mean_look /= total;
        // 0.01: boards are not quite of one color and not quite flat. Blocks err together: they count as 20 at most. Common practice, no source.
        const double variance = (area.grain * area.grain + 0.01 * 0.01) * std::max(1.0, total / 20);
        for (std::size_t k = 0; k < seen.size(); ++k) {
            const Eigen::Matrix<double, 3, doubt_count> look = field_by_doubts(area.blocks[k].at) - mean_look;
            const double w = area.blocks[k].weight / variance;
            information += w * look.transpose() * look;
            pull += w * look.transpose() * (seen[k] - mean);
        }
    }
    if (areas.empty()) return;
    const Square gain = (Square::Identity() + prior_doubt_covariance_ * information).partialPivLu().solve(prior_doubt_covariance_);
    prior_doubts_ += gain * (pull - information * prior_doubts_);
    prior_doubt_covariance_ = (gain + gain.transpose()) / 2;
    // The curve scales every slope that is seen, and is known to some percent: so are the slopes.
    if (!setup_.linear) {
        for (int i = light_x; i <= blue_y; ++i) prior_doubt_covariance_(i, i) += std::pow(0.05 * prior_doubts_[i], 2);
    }
}

void SensorModel::learn_slopes(const std::vector<LightSlope>& slopes, Eigen::VectorXd& mean, Eigen::MatrixXd& covariance, Eigen::Index first) const {
    const double unit = std::max(setup_.width, setup_.height) / 2.0;
    for (const LightSlope& s : slopes) {
        // The camera's curve steepens slopes; divided by its own steepness they are the scene's.
        const ToneCurve curve = tone_of(mean.segment<doubt_count>(first));
        const double steep = std::log(curve.scene(1.05 * s.level) / curve.scene(s.level / 1.05)) / std::log(1.05 * 1.05);
        const double x = (s.at.x - setup_.width / 2.0) / unit, y = (s.at.y - setup_.height / 2.0) / unit;
        Eigen::MatrixXd look = Eigen::MatrixXd::Zero(2, mean.size());
        look(0, first + light_x) = 1;
        look(1, first + light_y) = 1;
        look(0, first + light_r) = 2 * x;
        look(1, first + light_r) = 2 * y;
        look(0, first + light_d) = 2 * x;
        look(1, first + light_d) = -2 * y;
        look(0, first + light_s) = y;
        look(1, first + light_s) = x;
        // 0.03: things are not quite flat, and the light field is not quite a plane; common practice, no source
        const Eigen::Matrix2d noise = unit * unit * steep * steep * s.covariance + 0.03 * 0.03 * Eigen::Matrix2d::Identity();
        const Eigen::Vector2d seen = unit * steep * s.slope;
        const Eigen::MatrixXd cross = covariance * look.transpose();
        const Eigen::Matrix2d inverse = (look * cross + noise).inverse();
        mean += cross * inverse * (seen - look * mean);
        covariance -= cross * inverse * cross.transpose();
    }
}

SensorModel SensorModel::after(const std::vector<LightSlope>& slopes) const {
    SensorModel updated = *this;
    Eigen::VectorXd mean = Eigen::VectorXd::Zero(kBeliefSize);
    mean.head(kSensitivitySize) = stacked(rows_);
    mean.tail<doubt_count>() = doubts_;
    learn_slopes(slopes, mean, updated.covariance_, kSensitivitySize);
    updated.doubts_ = mean.tail<doubt_count>();  // the sensitivity hardly moves: it and view stay, so that views can be shared
    return updated;
}

SensorModel SensorModel::drifted(const Eigen::Vector3d& log_gain, const Eigen::Matrix<double, 3, doubt_count>& by_doubts,
                                 const Eigen::Matrix3d& doubt) const {
    SensorModel updated = *this;
    updated.doubts_.segment<3>(gain_r) += log_gain;
    constexpr Eigen::Index first = kSensitivitySize + gain_r;
    Eigen::MatrixXd& c = updated.covariance_;  // J C J', J = 1 but for the gains' rows
    c.middleRows<3>(first) += by_doubts * covariance_.bottomRows<doubt_count>();
    const Eigen::MatrixXd across = c.rightCols<doubt_count>() * by_doubts.transpose();
    c.middleCols<3>(first) += across;
    c.block<3, 3>(first, first) += doubt;
    return updated;
}

Eigen::Matrix<double, 3, doubt_count> SensorModel::by_doubts(const Eigen::Vector3d& rgb, Point at, const Doubts& d) const {
    Eigen::Matrix<double, 3, doubt_count> slope;
    for (int i = 0; i < doubt_count; ++i) {
        constexpr double h = 1e-4;
        Doubts up = d, down = d;
        up[i] += h;
        down[i] -= h;
        slope.col(i) = (scene(rgb, at, up) - scene(rgb, at, down)) / (2 * h);
    }
    return slope;
}

Eigen::Matrix3d SensorModel::scene_by_rgb(const Eigen::Vector3d& rgb, Point at) const {
    Eigen::Matrix3d slope;
    for (int i = 0; i < 3; ++i) {
        const double h = 1e-4 * std::max(0.01, std::abs(rgb[i]));
        slope.col(i) = (scene(rgb + h * Eigen::Vector3d::Unit(i), at) - scene(rgb - h * Eigen::Vector3d::Unit(i), at)) / (2 * h);
    }
    return slope;
}

void SensorModel::solve(bool tint_by_evidence, Effort effort) {
    const Eigen::Index n = static_cast<Eigen::Index>(references_.size());
    rows_ = setup_.prior.mean;
    doubts_ = prior_doubts_;
    covariance_ = Eigen::MatrixXd::Zero(kBeliefSize, kBeliefSize);
    covariance_.topLeftCorner(kSensitivitySize, kSensitivitySize) = setup_.prior.covariance;
    covariance_.bottomRightCorner(doubt_count, doubt_count) = prior_doubt_covariance_;
    if (n == 0) return;

    Eigen::MatrixXd by_sensitivity = Eigen::MatrixXd::Zero(3 * n, kSensitivitySize);  // reference i, channel c -> row 3 i + c
    for (Eigen::Index i = 0; i < n; ++i) {
        for (int c = 0; c < 3; ++c)
            by_sensitivity.row(3 * i + c).segment(c * kModelBands, kModelBands) = references_[static_cast<std::size_t>(i)].reflectance.transpose();
    }
    const Eigen::VectorXd e0 = stacked(setup_.prior.mean), expected = by_sensitivity * e0;
    const Eigen::MatrixXd half = by_sensitivity * setup_.prior.covariance, from_sensitivity = half * by_sensitivity.transpose();

    Eigen::VectorXd e = e0;
    const bool many = references_.size() >= kEnoughForScale;
    sigma_ = sigma_doubt_ = kUsualSigma;
    scale_ = 1;
    const Eigen::Matrix<double, doubt_count, doubt_count> usual = prior_doubt_covariance_;
    double curve_scale = 0;
    double tint_scale = 1;
    const auto scaled = [&](double curve, double tint) {
        Doubts factor = Doubts::Ones();
        factor.segment<roll - contrast + 1>(contrast).setConstant(std::sqrt(std::max(curve, 1.0)));
        factor.segment<ToneCurve::kBends>(bend_first).setConstant(std::sqrt(curve));
        factor.segment<blue_y - red_x + 1>(red_x).setConstant(std::sqrt(tint));
        return Eigen::Matrix<double, doubt_count, doubt_count>(factor.asDiagonal() * usual * factor.asDiagonal());
    };
    for (int round = 0; round < (effort == Effort::rough ? 3 : 12); ++round) {
        Eigen::VectorXd y(3 * n);
        Eigen::MatrixXd by_doubts(3 * n, static_cast<int>(doubt_count));
        Eigen::MatrixXd measured = Eigen::MatrixXd::Zero(3 * n, 3 * n);
        for (Eigen::Index i = 0; i < n; ++i) {
            const ReferenceColor& r = references_[static_cast<std::size_t>(i)];
            y.segment<3>(3 * i) = scene(r.rgb, r.at);
            by_doubts.middleRows<3>(3 * i) = this->by_doubts(r.rgb, r.at, doubts_);
            const Eigen::Matrix3d j = scene_by_rgb(r.rgb, r.at);
            Eigen::Matrix3d block = j * r.rgb_covariance * j.transpose();
            const Eigen::Vector3d level = unstacked(e) * r.reflectance;
            block += r.tolerance * r.tolerance * level * level.transpose();
            if (r.reflectance_covariance.size() > 0) block += unstacked(e) * r.reflectance_covariance * unstacked(e).transpose();
            measured.block<3, 3>(3 * i, 3 * i) = block;
        }
        // y(doubts) ~ y + J (doubts - now) = E R + noise, hence E R - J doubts = y - J now
        misfit_ = y - by_doubts * doubts_ - expected + by_doubts * prior_doubts_;
        Eigen::MatrixXd from_doubts = by_doubts * prior_doubt_covariance_ * by_doubts.transpose();
        const Eigen::VectorXd level = expected.cwiseAbs();
        const auto spread_for = [&](double sigma, double scale, bool weighted) {
            Eigen::MatrixXd s = scale * from_sensitivity + from_doubts + measured;
            for (Eigen::Index k = 0; k < 3 * n; ++k) {
                const double own = sigma * (level[k] + 0.1);
                s(k, k) += own * own / (weighted ? weights_[static_cast<std::size_t>(k / 3)] : 1.0);
            }
            return s;
        };
        const auto evidence_of = [&](double sigma, double scale) {
            const Eigen::LLT<Eigen::MatrixXd> llt(spread_for(sigma, scale, true));
            const Eigen::VectorXd r = llt.matrixL().solve(misfit_);
            const double unusual = std::log(sigma / kUsualSigma) / kUsualSpread;
            return -0.5 * (r.squaredNorm() + unusual * unusual) - llt.matrixLLT().diagonal().array().log().sum();
        };
        if (setup_.free_curve && !setup_.linear && round < 8) {
            double best = -1e300;
            for (double curve : kCurveScales) {
                from_doubts = by_doubts * scaled(curve, tint_scale) * by_doubts.transpose();
                const double value = evidence_of(sigma_, scale_) - (curve > 0 ? (many ? kBendsMustGain : 2) : 0);
                if (value > best) {
                    best = value;
                    curve_scale = curve;
                }
            }
            prior_doubt_covariance_ = scaled(curve_scale, tint_scale);
            from_doubts = by_doubts * prior_doubt_covariance_ * by_doubts.transpose();
        }
        if (tint_by_evidence && round < 8) {
            double best = -1e300;
            for (double tint : kTintScales) {
                from_doubts = by_doubts * scaled(curve_scale, tint) * by_doubts.transpose();
                const double value = evidence_of(sigma_, scale_) - (tint > 1 ? (many ? kTintMustGain : 1) : 0);
                if (value > best) {
                    best = value;
                    tint_scale = tint;
                }
            }
            prior_doubt_covariance_ = scaled(curve_scale, tint_scale);
            from_doubts = by_doubts * prior_doubt_covariance_ * by_doubts.transpose();
        }
        if (round < 8) {
            double best = -1e300, total = 0, square = 0;
            const double sigma_before = sigma_, scale_before = scale_;
            const auto near = [&](double a, double b) { return std::abs(std::log(a / b)) < 1.5; };
            for (double scale : kScales) {
                if (!many && scale != 1) continue;
                for (double sigma : kSigmas) {
                    // many references leave little else possible than what the last round found, and a few steps about it
                    if (many && round > 0 && !(near(sigma, sigma_before) && near(scale, scale_before))) continue;
                    const double value = evidence_of(sigma, scale);
                    if (value > best) {
                        total *= std::exp(best - value);
                        square *= std::exp(best - value);
                        best = value;
                        sigma_ = sigma;
                        scale_ = scale;
                    }
                    total += std::exp(value - best);
                    square += std::exp(value - best) * sigma * sigma;
                }
            }
            sigma_doubt_ = std::sqrt(square / total);
        }
        spread_ = spread_for(sigma_, scale_, true);
        gain_source_.resize(kBeliefSize, 3 * n);  // prior covariance times the observation's transpose
        gain_source_.topRows(kSensitivitySize) = scale_ * half.transpose();
        gain_source_.bottomRows(static_cast<int>(doubt_count)) = -prior_doubt_covariance_ * by_doubts.transpose();
        const Eigen::LLT<Eigen::MatrixXd> llt(spread_);
        const Eigen::VectorXd step = gain_source_ * llt.solve(misfit_);
        e = e0 + step.head(kSensitivitySize);
        const Doubts next = prior_doubts_ + step.tail<doubt_count>();
        const double moved = (next - doubts_).cwiseAbs().maxCoeff();
        doubts_ = next;
        if (const double least = tone().least_slope(); least < kLeastSlope) {  // a curve must rise: tone.hpp
            doubts_.segment<bend_last - contrast + 1>(contrast) *= (1 - kLeastSlope) / (1 - least);
        }
        rows_ = unstacked(e);

        double changed = 0;
        if (many) {  // robust weights from exact leave-one-out residuals
            const Eigen::MatrixXd inverse = llt.solve(Eigen::MatrixXd::Identity(3 * n, 3 * n));
            const Eigen::VectorXd alpha = inverse * misfit_;
            std::vector<double> next_weights(weights_.size());
            for (Eigen::Index i = 0; i < n; ++i) {
                const Eigen::Matrix3d block = inverse.block<3, 3>(3 * i, 3 * i).inverse();
                const Eigen::Vector3d left_out = block * alpha.segment<3>(3 * i);
                Eigen::Matrix3d expected_spread = block;
                for (int c = 0; c < 3; ++c) {
                    const double own = sigma_ * (level[3 * i + c] + 0.1);
                    expected_spread(c, c) += own * own * (1 - 1 / weights_[static_cast<std::size_t>(i)]);
                }
                const double z = left_out.dot(expected_spread.ldlt().solve(left_out));
                next_weights[static_cast<std::size_t>(i)] = z > 25 ? 1e-3 : std::min(1.0, 7 / (4 + z));
            }
            const auto bad = static_cast<std::size_t>(std::count_if(next_weights.begin(), next_weights.end(), [](double w) { return w < 0.3; }));
            if (bad > 4) {  // an unusual camera or light, not bad references: keep only the worst out
                const double worst = *std::min_element(next_weights.begin(), next_weights.end());
                for (double& w : next_weights) w = w > worst ? 1 : w;
            }
            for (std::size_t i = 0; i < weights_.size(); ++i) changed = std::max(changed, std::abs(next_weights[i] - weights_[i]));
            if (round < 8) weights_ = next_weights;
        }
        if (round >= 3 && moved < 1e-5 && (changed < 0.02 || round > 8)) break;
    }
    if (effort == Effort::rough) return;
    observation_ = by_sensitivity;
    covariance_.topLeftCorner(kSensitivitySize, kSensitivitySize) *= scale_;
    covariance_.bottomRightCorner(doubt_count, doubt_count) = prior_doubt_covariance_;
    const Eigen::LLT<Eigen::MatrixXd> llt(spread_);
    const Eigen::MatrixXd root = llt.matrixL().solve(gain_source_.transpose());
    covariance_ -= root.transpose() * root;
}

SensorModel::LeftOut SensorModel::without(std::size_t i) const {
    const Eigen::Index n = static_cast<Eigen::Index>(references_.size()), out = static_cast<Eigen::Index>(i);
    Eigen::VectorXd keep_misfit(3 * n - 3);
    Eigen::MatrixXd keep_spread(3 * n - 3, 3 * n - 3), keep_gain(kBeliefSize, 3 * n - 3);
    const auto from = [&](Eigen::Index k) { return k < 3 * out ? k : k + 3; };
    for (Eigen::Index a = 0; a < 3 * n - 3; ++a) {
        keep_misfit[a] = misfit_[from(a)];
        keep_gain.col(a) = gain_source_.col(from(a));
        for (Eigen::Index b = 0; b < 3 * n - 3; ++b) keep_spread(a, b) = spread_(from(a), from(b));
    }
    const Eigen::VectorXd step = keep_gain * keep_spread.llt().solve(keep_misfit);
    return {unstacked(stacked(setup_.prior.mean) + step.head(kSensitivitySize)), prior_doubts_ + step.tail<doubt_count>()};
}

Eigen::Vector3d SensorModel::feature(const Eigen::Vector3d& scene_rgb) const {
    const Eigen::Vector3d xyz_value = 100 * (matrix_ * scene_rgb);
    const Lab value = lab(Xyz{xyz_value[0], xyz_value[1], xyz_value[2]}, kWhiteD50);
    return {value.L, value.a, value.b};
}

Eigen::Matrix3d SensorModel::feature_by_scene(const Eigen::Vector3d& scene_rgb) const {
    Eigen::Matrix3d slope;
    for (int i = 0; i < 3; ++i) {
        constexpr double h = 1e-5;
        slope.col(i) = (feature(scene_rgb + h * Eigen::Vector3d::Unit(i)) - feature(scene_rgb - h * Eigen::Vector3d::Unit(i))) / (2 * h);
    }
    return slope;
}

}  // namespace sw
