#include "color/shop_led.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <random>
#include <span>
#include <tuple>

#include "color/cie_data.hpp"
#include "color/locus.hpp"
#include "color/rendering.hpp"

namespace sw {
namespace {

// Lamps are drawn and judged at 5 nm over 380..780: enough for Ra to 0.1.
constexpr std::size_t kStep = 5, kFirst = 380 - kFirstNm, kCoarse = 81;

constexpr std::size_t grid_index(std::size_t band) { return kFirst + band * kStep; }

/// Normal numbers that are the same on every machine: std::normal_distribution is not.
class Normals {
public:
    explicit Normals(std::uint64_t seed) : engine_(seed) {}

    /// Box-Muller.
    double operator()() {
        if (spare_) {
            const double value = *spare_;
            spare_.reset();
            return value;
        }
        const double radius = std::sqrt(-2 * std::log(1 - uniform())), angle = 2 * std::numbers::pi * uniform();
        spare_ = radius * std::sin(angle);
        return radius * std::cos(angle);
    }

private:
    double uniform() { return static_cast<double>(engine_() >> 11) * 0x1.0p-53; }

    std::mt19937_64 engine_;
    std::optional<double> spare_;
};

/// A two-sided Gaussian.
struct Hump {
    double peak = 0, left = 1, right = 1, height = 1;

    /// Adds it to bands that begin at `first` nm, `step` apart. Along a side the ratio of neighbors falls by a constant factor: three exponentials in
    /// all.
    void add_to(std::span<double> bands, double first, double step) const {
        const auto count = static_cast<std::ptrdiff_t>(bands.size());
        const auto above = static_cast<std::ptrdiff_t>(std::clamp(std::ceil((peak - first) / step), 0.0, static_cast<double>(count)));
        const auto side = [&](std::ptrdiff_t start, std::ptrdiff_t direction, double width) {
            const double z = std::abs(first + step * static_cast<double>(start) - peak) / width, dz = step / width;
            double value = height * std::exp(-z * z / 2), ratio = std::exp(-dz * (z + dz / 2));
            const double fall = std::exp(-dz * dz), least = 1e-8 * height;
            for (std::ptrdiff_t k = start; k >= 0 && k < count && value > least; k += direction) {
                bands[static_cast<std::size_t>(k)] += value;
                value *= ratio;
                ratio *= fall;
            }
        };
        side(above, 1, right);
        side(above - 1, -1, left);
    }
};

using Coarse = std::array<double, kCoarse>;

Coarse coarse(const Bands& bands) {
    Coarse result{};
    for (std::size_t k = 0; k < kCoarse; ++k) result[k] = bands[grid_index(k)];
    return result;
}

/// XYZ of the bare light, then of the first nine samples of CIE 13.3 under it (eight for Ra, the ninth for R9); linear in the light's power, at
/// kStep.
constexpr std::size_t kSamples = kGeneralSamples + 1, kSums = 3 * (1 + kSamples);
using Sums = std::array<float, kSums>;

/// For each band, what a unit of power adds to each of the sums.
const std::array<Sums, kCoarse>& sum_weights() {
    static const std::array<Sums, kCoarse> weights = [] {
        std::array<Sums, kCoarse> result{};
        const std::vector<CieColumn> samples = cie_columns("test_color_samples_13_3.csv");
        for (std::size_t c = 0; c < 3; ++c) {
            const Coarse plain = coarse(color_matching(Observer::degree2)[c]);
            for (std::size_t k = 0; k < kCoarse; ++k) result[k][c] = static_cast<float>(plain[k]);
            for (std::size_t s = 0; s < kSamples; ++s) {
                const Coarse reflectance = coarse(on_grid(samples[s].table, Between::sprague, Outside::held));
                for (std::size_t k = 0; k < kCoarse; ++k) result[k][3 + 3 * s + c] = static_cast<float>(plain[k] * reflectance[k]);
            }
        }
        return result;
    }();
    return weights;
}

Sums sums(const Coarse& power) {
    static const std::array<Sums, kCoarse>& weights = sum_weights();
    Sums result{};
    for (std::size_t k = 0; k < kCoarse; ++k) {
        if (power[k] == 0) continue;
        const auto p = static_cast<float>(power[k]);
        for (std::size_t j = 0; j < kSums; ++j) result[j] += p * weights[k][j];
    }
    return result;
}

Sums sums(const Hump& hump) {
    Coarse power{};
    hump.add_to(power, kFirstNm + static_cast<double>(grid_index(0)), kStep);
    return sums(power);
}

SamplesUnderLight samples_under(const Sums& sum) {
    const double scale = 100 / sum[1];
    SamplesUnderLight result;
    result.white = {scale * sum[0], 100, scale * sum[2]};
    for (std::size_t s = 0; s < kSamples; ++s) result.sample[s] = {scale * sum[3 + 3 * s], scale * sum[4 + 3 * s], scale * sum[5 + 3 * s]};
    return result;
}

constexpr double kFirstMired = 100, kLastMired = 480;

/// The sums of the reference lights of CIE 13.3 at Y = 1, a mired apart, straight lines between.
Sums reference_sums(double mired) {
    static const std::vector<Sums> table = [] {
        std::vector<Sums> result;
        for (double m = kFirstMired; m <= kLastMired + 1; ++m) {
            Sums sum = sums(coarse(reference_light_13_3(1e6 / m).power));
            const float Y = sum[1];
            for (float& v : sum) v /= Y;
            result.push_back(sum);
        }
        return result;
    }();
    const double position = std::clamp(mired, kFirstMired, kLastMired) - kFirstMired;
    const auto below = static_cast<std::size_t>(position);
    const auto t = static_cast<float>(position - static_cast<double>(below));
    Sums result{};
    for (std::size_t j = 0; j < kSums; ++j) result[j] = (1 - t) * table[below][j] + t * table[below + 1][j];
    return result;
}

std::array<double, kTestSamples> indices_5nm(const Sums& light, double mired) {
    return special_indices(samples_under(light), samples_under(reference_sums(mired)), kSamples);
}

/// A made-up lamp but for the height of its phosphor: that is what its CCT decides.
struct Shape {
    Hump blue, phosphor, red;  // phosphor.height is 1
    bool red_emitter = false;  // red is narrow: an emitter of its own or a phosphor like one
    Sums blue_sum{}, phosphor_sum{}, red_sum{};
    double slip = 0;  // standard normal: how far its CCT is off the box
};

/// The stated population: see shop_led.hpp. Height of the phosphor: ln, mean and sd.
constexpr double kLnPhosphor = 0, kLnPhosphorSd = 0.7;

std::vector<Shape> make_shapes() {
    constexpr std::size_t kShapes = 60000, kOneInHasRedEmitter = 3;
    Normals normal(1);
    const auto with = [&normal](double mean, double sd) { return mean + sd * normal(); };
    const auto log_with = [&with](double median, double sd) { return std::exp(with(std::log(median), sd)); };
    std::vector<Shape> shapes(kShapes);
    for (std::size_t k = 0; k < kShapes; ++k) {
        Shape& shape = shapes[k];
        shape.blue = {with(450, 7), log_with(11, 0.25), log_with(13, 0.3), 1};
        shape.phosphor = {with(548, 12), log_with(36, 0.3), log_with(82, 0.25), 1};
        shape.red_emitter = k % kOneInHasRedEmitter == 0;
        if (shape.red_emitter) {
            shape.red = {with(630, 8), log_with(8, 0.2), 0, std::exp(with(0.7, 1.0))};
            shape.red.right = shape.red.left;
        } else {
            shape.red = {with(618, 20), log_with(40, 0.3), 0, std::exp(with(-0.6, 1.2))};
            shape.red.right = 1.15 * shape.red.left;
        }
        shape.slip = normal();
        shape.blue_sum = sums(shape.blue);
        shape.phosphor_sum = sums(shape.phosphor);
        shape.red_sum = sums(shape.red);
    }
    return shapes;
}

/// The Planckian locus about a temperature, as a parabola in mired: foot and unit tangent (towards warmer light), CIE 1960 (u, v).
class LocusNear {
public:
    explicit LocusNear(double mired) : middle_(mired) {
        for (std::size_t k = 0; k < 3; ++k) {
            points_[k] = uv_1960(xyz(planck(1e6 / (mired + kStride * (static_cast<double>(k) - 1))), Observer::degree2));
        }
    }
    [[nodiscard]] std::pair<Uv, Uv> at(double mired) const {
        const double t = (mired - middle_) / kStride;
        const auto foot = [t](double below, double here, double above) {
            return std::pair{here + t * (above - below) / 2 + t * t * (above - 2 * here + below) / 2,
                             (above - below) / 2 + t * (above - 2 * here + below)};
        };
        const auto [u, du] = foot(points_[0].u, points_[1].u, points_[2].u);
        const auto [v, dv] = foot(points_[0].v, points_[1].v, points_[2].v);
        const double length = std::hypot(du, dv);
        return {{u, v}, {du / length, dv / length}};
    }

private:
    static constexpr double kStride = 5;
    double middle_;
    std::array<Uv, 3> points_{};
};

/// What is usual for a lamp of this CCT: medians of measured lamps, straight lines between.
double usual_duv(double cct) {
    constexpr std::array<std::pair<double, double>, 5> points{{{2700, -0.0001}, {3000, 0.0001}, {4000, 0.0010}, {5000, 0.0020}, {6500, 0.0031}}};
    if (cct <= points.front().first) return points.front().second;
    for (std::size_t k = 1; k < points.size(); ++k) {
        const auto& [c0, d0] = points[k - 1];
        const auto& [c1, d1] = points[k];
        if (cct <= c1) return d0 + (d1 - d0) * (cct - c0) / (c1 - c0);
    }
    return points.back().second;
}

/// What is usual of R9 for a lamp of this Ra: the classes of data sheets.
double usual_r9(double ra) {
    constexpr std::array<std::pair<double, double>, 4> points{{{72, -35}, {82, 12}, {92, 57}, {97, 90}}};
    std::size_t k = 1;
    while (k + 1 < points.size() && ra > points[k].first) ++k;
    const auto& [a0, r0] = points[k - 1];
    const auto& [a1, r1] = points[k];
    return r0 + (r1 - r0) * (ra - a0) / (a1 - a0);
}

/// A lamp that may be the one asked for.
struct Near {
    const Shape* shape;
    Hump blue;
    double phosphor = 0;  // height
    double Y = 0, mired = 0, duv = 0, ra = 0;
    double prior = 0;             // weight by the population and its CCT
    std::array<double, 3> off{};  // mired, Duv, Ra: how far beside what is aimed at
    double weight = 0;
};

/// Weights that take the mean of `off` to 0 (local linear regression): each weight times 1 - (off - m)' C^-1 m, over the figures used.
void make_exact(std::vector<Near>& lamps, const std::array<bool, 3>& used) {
    double total = 0;
    std::array<double, 3> mean{};
    for (const Near& near : lamps) {
        total += near.weight;
        for (std::size_t k = 0; k < 3; ++k) mean[k] += near.weight * near.off[k];
    }
    for (double& m : mean) m /= total;
    std::array<std::array<double, 4>, 3> rows{};  // C | m; a figure not used gets the row 1 | 0
    for (std::size_t r = 0; r < 3; ++r) {
        if (!used[r]) {
            rows[r][r] = 1;
            continue;
        }
        for (const Near& near : lamps) {
            for (std::size_t c = 0; c < 3; ++c) {
                if (used[c]) rows[r][c] += near.weight / total * (near.off[r] - mean[r]) * (near.off[c] - mean[c]);
            }
        }
        rows[r][r] *= 1 + 1e-9;
        rows[r][3] = mean[r];
    }
    for (std::size_t r = 0; r < 3; ++r) {  // Gauss-Jordan; C is symmetric and positive
        for (std::size_t other = 0; other < 3; ++other) {
            if (other == r) continue;
            const double factor = rows[other][r] / rows[r][r];
            for (std::size_t c = r; c < 4; ++c) rows[other][c] -= factor * rows[r][c];
        }
    }
    for (Near& near : lamps) {
        double tilt = 0;
        for (std::size_t k = 0; k < 3; ++k) {
            if (used[k]) tilt += (near.off[k] - mean[k]) * rows[k][3] / rows[k][k];
        }
        near.weight *= 1 - tilt;
    }
}

double square(double x) { return x * x; }

std::string name_of(const ShopLed& known) {
    std::string name = "led:" + shortest(known.cct);
    if (known.ra) name += ",ra=" + shortest(*known.ra);
    if (known.duv) name += ",duv=" + shortest(*known.duv);
    if (known.peak_nm) name += ",peak=" + shortest(*known.peak_nm);
    return name;
}

/// Power of a lamp on the grid, at Y = 1.
Bands spectrum(const Near& lamp) {
    Hump phosphor = lamp.shape->phosphor;
    phosphor.height = lamp.phosphor;
    Bands power{};
    for (const Hump& hump : {lamp.blue, phosphor, lamp.shape->red}) hump.add_to(power, kFirstNm, 1);
    const double scale = 1 / lamp.Y;
    for (double& p : power) p *= scale;
    return power;
}

/// The weighted mean of spectra, at Y = 1.
Light mean_light(const std::vector<Near>& lamps, const std::vector<Bands>& spectra, std::string name) {
    Light light{std::move(name), {}};
    double total = 0;
    for (std::size_t k = 0; k < lamps.size(); ++k) {
        total += lamps[k].weight;
        for (std::size_t i = 0; i < kBands; ++i) light.power[i] += lamps[k].weight * spectra[k][i];
    }
    for (double& power : light.power) power = std::max(power / total, 0.0);
    return light;
}

/// Systematic resampling: `count` places in `weight`, each as often as its share says, to within one. Weights below 0 count as 0.
std::vector<std::size_t> resampled(const std::vector<double>& weight, std::size_t count) {
    double total = 0;
    for (const double w : weight) total += std::max(w, 0.0);
    std::vector<std::size_t> places;
    double reached = 0;
    std::size_t at = 0;
    for (std::size_t k = 0; k < count; ++k) {
        const double wanted = total * (static_cast<double>(k) + 0.5) / static_cast<double>(count);
        while (at + 1 < weight.size() && reached + std::max(weight[at], 0.0) < wanted) reached += std::max(weight[at++], 0.0);
        places.push_back(at);
    }
    return places;
}

double luminance(const Bands& power) {
    const Bands& y_bar = color_matching(Observer::degree2)[1];
    return std::inner_product(power.begin(), power.end(), y_bar.begin(), 0.0);
}

/// Equally likely spectra about a mean: mean + spread (lamp - mean of the lamps). What would fall below 0 is cut, and the others share the cut,
/// until the mean and every Y are those of `mean` again.
std::vector<Bands> spread_about(const Bands& mean, std::vector<Bands> draws, double spread) {
    const auto mean_of_draws = [&draws] {
        Bands result{};
        for (const Bands& draw : draws) {
            for (std::size_t i = 0; i < kBands; ++i) result[i] += draw[i];
        }
        for (double& power : result) power /= static_cast<double>(draws.size());
        return result;
    };
    const double Y = luminance(mean);
    const auto to_same_Y = [Y](Bands& draw) {
        const double scale = Y / luminance(draw);
        for (double& power : draw) power *= scale;
    };
    for (Bands& draw : draws) to_same_Y(draw);
    const Bands middle = mean_of_draws();
    for (Bands& draw : draws) {
        for (std::size_t i = 0; i < kBands; ++i) draw[i] = mean[i] + spread * (draw[i] - middle[i]);
    }
    constexpr int kRounds = 12;
    for (int round = 0; round < kRounds; ++round) {
        bool cut = false;
        for (Bands& draw : draws) {
            for (double& power : draw) {
                cut = cut || power < 0;
                power = std::max(power, 0.0);
            }
            to_same_Y(draw);
        }
        if (round == 0 && !cut) break;
        const Bands now = mean_of_draws();
        for (std::size_t i = 0; i < kBands; ++i) {
            const double factor = now[i] > 0 ? mean[i] / now[i] : 1;
            for (Bands& draw : draws) draw[i] *= factor;
        }
    }
    for (Bands& draw : draws) to_same_Y(draw);
    return draws;
}

/// The range that holds all but `left_out` of the weight at each end.
std::pair<double, double> range(std::vector<std::pair<double, double>> value_weight, double left_out) {
    std::sort(value_weight.begin(), value_weight.end());
    double total = 0;
    for (const auto& [value, weight] : value_weight) total += weight;
    const auto at = [&](double share) {
        double sum = 0;
        for (const auto& [value, weight] : value_weight) {
            sum += weight;
            if (sum >= share * total) return value;
        }
        return value_weight.back().first;
    };
    return {at(left_out), at(1 - left_out)};
}

/// How many equally likely lamps the weights are worth.
double effective_count(const std::vector<double>& weight) {
    const double sum = std::accumulate(weight.begin(), weight.end(), 0.0);
    return sum > 0 ? square(sum) / std::inner_product(weight.begin(), weight.end(), weight.begin(), 0.0) : 0;
}

/// Spread of the kernels: what a figure on a box, rounded and measured on another lamp of its kind, says of this one.
constexpr double kMiredSd = 3, kDuvSd = 0.0008, kUsualDuvSd = 0.0025, kRaSd = 1;
/// What is usual where nothing is said.
constexpr double kUsualRa = 82, kUsualRaSd = 6, kUsualR9Sd = 15, kRedEmitterRa = 92, kRedEmitterRaSd = 5;
constexpr double kLeastRa = 45;  // of the population
constexpr double kLeast = 20;    // so many equally likely lamps make a light
/// Kernels widen at most so many times, and end at so many standard deviations.
constexpr double kWidest = 4, kReach = 4;

double duv_or_usual(const ShopLed& known) { return known.duv.value_or(usual_duv(known.cct)); }

/// The lamps of the population that have about the CCT and Duv, weighted; and Duv and weight of all that have about the CCT, whatever their Ra.
struct Lamps {
    std::vector<Near> near;
    std::vector<std::pair<double, double>> duvs;
};

/// One shape, one lamp: the height of its phosphor that gives its CCT is linear to find, as an isotherm is a straight line in (u, v); its weight is
/// the population's density of that height over mired.
Lamps lamps_of(const ShopLed& known) {
    static const std::vector<Shape> shapes = make_shapes();
    const double mired = 1e6 / known.cct;
    const LocusNear locus(mired);
    const double duv = duv_or_usual(known), reach = kReach * (known.duv ? kWidest * kDuvSd : kUsualDuvSd);
    Lamps lamps;
    for (const Shape& shape : shapes) {
        Near lamp{&shape, shape.blue};
        Sums with_own_peak;
        const Sums* blue = &shape.blue_sum;
        if (known.peak_nm) {
            lamp.blue.peak = *known.peak_nm;
            with_own_peak = sums(lamp.blue);
            blue = &with_own_peak;
        }
        lamp.mired = mired + kMiredSd * shape.slip;
        const auto [foot, along] = locus.at(lamp.mired);
        const auto D = [](double X, double Y, double Z) { return X + 15 * Y + 3 * Z; };      // u = 4X / D, v = 6Y / D
        const auto beside = [&, foot = foot, along = along](double X, double Y, double Z) {  // 0 on the isotherm; linear
            return along.u * (4 * X - foot.u * D(X, Y, Z)) + along.v * (6 * Y - foot.v * D(X, Y, Z));
        };
        const Sums &p = shape.phosphor_sum, &r = shape.red_sum;
        const double of_phosphor = beside(p[0], p[1], p[2]);
        lamp.phosphor = -beside((*blue)[0] + r[0], (*blue)[1] + r[1], (*blue)[2] + r[2]) / of_phosphor;
        if (!(lamp.phosphor > 0)) continue;
        const double unlikely = (std::log(lamp.phosphor) - kLnPhosphor) / kLnPhosphorSd;
        if (std::abs(unlikely) > 4) continue;
        Sums sum;
        for (std::size_t j = 0; j < kSums; ++j) sum[j] = (*blue)[j] + static_cast<float>(lamp.phosphor) * p[j] + r[j];
        lamp.Y = sum[1];
        const Uv uv = uv_1960({sum[0], sum[1], sum[2]});
        lamp.duv = along.u * (uv.v - foot.v) - along.v * (uv.u - foot.u);
        if (std::abs(lamp.duv) > ShopLed::kMaxDuv) continue;
        lamp.prior = std::exp(-unlikely * unlikely / 2) * D(sum[0], sum[1], sum[2]) / (lamp.phosphor * std::abs(of_phosphor));
        lamps.duvs.emplace_back(lamp.duv, lamp.prior);
        if (std::abs(lamp.duv - duv) > reach) continue;
        const auto special = indices_5nm(sum, lamp.mired);
        lamp.ra = general_index(special);
        if (!(lamp.ra >= kLeastRa)) continue;
        // Lamps with a red emitter are made for their Ra; of the others R9 follows Ra.
        const double unusual = shape.red_emitter ? (lamp.ra - kRedEmitterRa) / kRedEmitterRaSd : (special[8] - usual_r9(lamp.ra)) / kUsualR9Sd;
        lamp.prior *= std::exp(-square(unusual) / 2);
        lamps.near.push_back(lamp);
    }
    return lamps;
}

/// Weight by population, CCT and a Duv aimed at.
double weight_by_duv(const ShopLed& known, const Near& lamp, double aim, double widen) {
    return lamp.prior * std::exp(-square((lamp.duv - aim) / (known.duv ? widen * kDuvSd : kUsualDuvSd)) / 2);
}

/// Whether there are lamps of the CCT, Duv and peak, whatever their Ra.
bool exist(const ShopLed& known, const Lamps& lamps) {
    std::vector<double> weight;
    for (const Near& lamp : lamps.near) weight.push_back(weight_by_duv(known, lamp, duv_or_usual(known), 2));
    return effective_count(weight) >= kLeast;
}

/// What to do about figures that no lamp has: which ones can be reached, all but 1 % at each end.
std::string what_is_reachable(const ShopLed& known, const Lamps& lamps) {
    constexpr double kLeftOut = 0.01, kUsualPeak = 450, kPeakStep = 5;
    std::string which = "lamps of blue emitter and phosphor of " + shortest(std::round(known.cct)) + " K", remedy;
    ShopLed any_duv = known;
    any_duv.duv.reset();
    if (known.peak_nm && !exist(any_duv, lamps_of(any_duv))) {
        ShopLed nearer = any_duv;
        do {
            const double to_go = kUsualPeak - *nearer.peak_nm;
            nearer.peak_nm = *nearer.peak_nm + std::clamp(to_go, -kPeakStep, kPeakStep);
        } while (*nearer.peak_nm != kUsualPeak && !exist(nearer, lamps_of(nearer)));
        remedy = which + " have their blue peak at " + shortest(*nearer.peak_nm) + " nm or nearer to " + shortest(kUsualPeak) +
                 ": use such a figure or leave peak out";
    } else {
        if (known.peak_nm) which += " with the blue peak at " + shortest(*known.peak_nm) + " nm";
        std::vector<std::pair<double, double>> ras;
        for (const Near& lamp : lamps.near) ras.emplace_back(lamp.ra, weight_by_duv(known, lamp, duv_or_usual(known), 2));
        if (known.duv && !exist(known, lamps) && !lamps.duvs.empty()) {
            const auto [least, most] = range(lamps.duvs, kLeftOut);
            const auto rounded = [](double d) { return shortest(std::round(d * 1000) / 1000); };
            remedy = which + " have Duv " + rounded(least) + " to " + rounded(most) + ": use a figure inside or leave duv out";
        } else if (known.ra && !ras.empty()) {
            if (known.duv) which += " and Duv " + shortest(*known.duv);
            const auto [low, high] = range(ras, kLeftOut);
            remedy = which + " reach Ra " + shortest(std::ceil(low)) + " to " + shortest(std::floor(high)) + ": use a figure inside";
        } else {
            remedy = "leave out some of the figures";
        }
    }
    return remedy +
           "; violet-pumped and three-color lamps are something else, and CCT and Ra cannot tell them apart: give their spectrum as a CSV file";
}

}  // namespace

Result<Light> shop_led(const ShopLed& known) {
    const double mired = 1e6 / known.cct, duv = duv_or_usual(known);
    const Lamps lamps = lamps_of(known);
    const auto out_of_reach = [&](const char* cause) {
        return Error{Fault::light_unknown, "", name_of(known), cause, what_is_reachable(known, lamps)};
    };

    // The figures of a mean are not quite the mean of the figures (mixing fills gaps, so Ra rises): aim beside them until the mean itself is on them.
    constexpr double kEnough = 250;
    constexpr std::size_t kKept = 400;
    constexpr int kAnew = 4, kRounds = 10;  // lamps chosen anew in the first rounds, then only weighted
    std::array<double, 3> aim{mired, duv, known.ra.value_or(kUsualRa)};
    std::vector<Near> candidates;
    std::copy_if(lamps.near.begin(), lamps.near.end(), std::back_inserter(candidates),
                 [&known](const Near& lamp) { return !known.ra || std::abs(lamp.ra - *known.ra) < kReach * kWidest * kRaSd; });
    // By kind, then Ra: resampling keeps the share of each.
    std::sort(candidates.begin(), candidates.end(),
              [](const Near& a, const Near& b) { return std::tuple(a.shape->red_emitter, a.ra) < std::tuple(b.shape->red_emitter, b.ra); });
    std::vector<double> weight(candidates.size());
    std::optional<double> red_emitters;  // share of them among lamps with the figures
    std::vector<Near> kept;
    std::vector<Bands> spectra;
    Light light;
    bool on_target = false;
    for (int round = 0; round < kRounds && !on_target; ++round) {
        if (round < kAnew) {
            // Weights by all the figures; the kernels widen until enough lamps count.
            double effective = 0;
            std::array<double, 2> of_kind{};
            for (double widen = 1; widen <= kWidest && effective < kEnough; widen *= 1.25) {
                double sum_of_squares = 0;
                of_kind = {};
                for (std::size_t k = 0; k < candidates.size(); ++k) {
                    const double off = (candidates[k].ra - aim[2]) / (known.ra ? widen * kRaSd : kUsualRaSd);
                    weight[k] = weight_by_duv(known, candidates[k], aim[1], widen) * std::exp(-off * off / 2);
                    of_kind[candidates[k].shape->red_emitter ? 1 : 0] += weight[k];
                    sum_of_squares += square(weight[k]);
                }
                effective = sum_of_squares > 0 ? square(of_kind[0] + of_kind[1]) / sum_of_squares : 0;
            }
            if (effective < kLeast) {
                if (round == 0) return out_of_reach("no lamp of blue emitter and phosphor has these figures");
                break;
            }
            if (!red_emitters) red_emitters = of_kind[1] / (of_kind[0] + of_kind[1]);
            for (std::size_t k = 0; k < candidates.size(); ++k) {
                const bool red = candidates[k].shape->red_emitter;
                if (of_kind[red ? 1 : 0] > 0) weight[k] *= (red ? *red_emitters : 1 - *red_emitters) / of_kind[red ? 1 : 0];
            }
            kept.clear();
            spectra.clear();
            for (const std::size_t place : resampled(weight, kKept)) {  // as many as are worth their spectrum, equally likely
                kept.push_back(candidates[place]);
                spectra.push_back(spectrum(candidates[place]));
            }
        }
        for (Near& lamp : kept) {
            lamp.off = {lamp.mired - aim[0], lamp.duv - aim[1], lamp.ra - aim[2]};
            lamp.weight = 1;
        }
        make_exact(kept, {true, known.duv.has_value(), known.ra.has_value()});
        light = mean_light(kept, spectra, name_of(known));
        const LightQuality got = light_quality(light);
        if (!got.cct_valid) break;
        const double off_mired = 1e6 / got.cct - mired, off_duv = known.duv ? got.duv - duv : 0;
        const double off_ra = known.ra ? got.ra - *known.ra : 0;
        const auto within = [&](double times) {
            return std::abs(off_mired) < 0.1 * times && std::abs(off_duv) < 5e-5 * times && std::abs(off_ra) < 0.1 * times;
        };
        on_target = within(round + 1 < kRounds ? 1 : 5);
        const double step = round < kAnew ? 1 : 0.6;
        aim = {aim[0] - step * off_mired, aim[1] - step * off_duv, aim[2] - step * off_ra};
    }
    if (!on_target) return out_of_reach("lamps of blue emitter and phosphor do not quite reach these figures");

    constexpr std::size_t kDraws = 60;
    weight.clear();
    for (const Near& lamp : kept) weight.push_back(lamp.weight);
    std::vector<Bands> drawn;
    for (const std::size_t place : resampled(weight, kDraws)) drawn.push_back(spectra[place]);
    // How far the draws spread about the mean, so that they cover 95 %: see shop_led.hpp.
    const double spread = known.ra ? known.duv ? 0.6 : 1.0 : 1.15;
    const double scale = 100 / *std::max_element(light.power.begin(), light.power.end());
    for (double& power : light.power) power *= scale;
    light.may_be = std::make_shared<const std::vector<Bands>>(spread_about(light.power, std::move(drawn), spread));
    return light;
}

}  // namespace sw
