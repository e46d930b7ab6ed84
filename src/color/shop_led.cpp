#include "color/shop_led.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

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

struct Hump {
    double peak = 0, left = 1, right = 1, height = 1;

    [[nodiscard]] double at(double nm) const {
        const double z = (nm - peak) / (nm < peak ? left : right);
        return std::abs(z) > 6 ? 0 : height * std::exp(-z * z / 2);
    }
};

/// One made-up lamp, with what a box could say of it.
struct Lamp {
    std::array<Hump, 3> hump;  // blue emitter, phosphor, red part of the phosphor
    Xyz sum;                   // at kStep
    double mired = 0, duv = 0;

    [[nodiscard]] double at(double nm) const { return hump[0].at(nm) + hump[1].at(nm) + hump[2].at(nm); }
};

using Coarse = std::array<double, kCoarse>;

Coarse coarse(const Bands& bands) {
    Coarse result{};
    for (std::size_t k = 0; k < kCoarse; ++k) result[k] = bands[grid_index(k)];
    return result;
}

Coarse coarse(const Lamp& lamp) {
    Coarse result{};
    for (std::size_t k = 0; k < kCoarse; ++k) result[k] = lamp.at(kFirstNm + static_cast<double>(grid_index(k)));
    return result;
}

/// Color matching functions, and each times each of the eight samples of Ra.
struct Weights5nm {
    std::array<Coarse, 3> plain{};
    std::array<std::array<Coarse, 3>, kGeneralSamples> sample{};
};

const Weights5nm& weights_5nm() {
    static const Weights5nm weights = [] {
        Weights5nm result;
        const std::vector<CieColumn> samples = cie_columns("test_color_samples_13_3.csv");
        for (std::size_t c = 0; c < 3; ++c) {
            result.plain[c] = coarse(color_matching(Observer::degree2)[c]);
            for (std::size_t s = 0; s < kGeneralSamples; ++s) {
                const Coarse reflectance = coarse(on_grid(samples[s].table, Between::sprague, Outside::held));
                for (std::size_t k = 0; k < kCoarse; ++k) result.sample[s][c][k] = result.plain[c][k] * reflectance[k];
            }
        }
        return result;
    }();
    return weights;
}

double dot(const Coarse& a, const Coarse& b) {
    double sum = 0;
    const double *pa = a.data(), *pb = b.data();
    for (std::size_t k = 0; k < kCoarse; ++k) sum += pa[k] * pb[k];
    return sum;
}

Xyz sum_5nm(const Coarse& power, const std::array<Coarse, 3>& weight) {
    return {dot(power, weight[0]), dot(power, weight[1]), dot(power, weight[2])};
}

double general_index_5nm(const Coarse& power, double cct) {
    const Weights5nm& weights = weights_5nm();
    const auto samples = [&weights](const Coarse& light) {
        SamplesUnderLight result;
        result.white = sum_5nm(light, weights.plain);
        const double scale = 100 / result.white.Y;
        for (std::size_t s = 0; s < kGeneralSamples; ++s) {
            const Xyz sum = sum_5nm(light, weights.sample[s]);
            result.sample[s] = {scale * sum.X, scale * sum.Y, scale * sum.Z};
        }
        return result;
    };
    return general_index(special_indices(samples(power), samples(coarse(reference_light_13_3(cct).power)), kGeneralSamples));
}

/// Lamps of the stated population that are white: 2000..10000 K and within 0.02 of the locus.
std::vector<Lamp> make_lamps(const std::optional<double>& peak_nm) {
    constexpr std::size_t kDraws = 24000;
    Normals normal(20240504);
    std::vector<Lamp> lamps;
    for (std::size_t draw = 0; draw < kDraws; ++draw) {
        const auto with = [&normal](double mean, double sd) { return mean + sd * normal(); };
        const auto log_with = [&with](double median, double sd) { return std::exp(with(std::log(median), sd)); };
        Lamp lamp;
        Hump &blue = lamp.hump[0], &phosphor = lamp.hump[1], &red = lamp.hump[2];
        const double drawn_peak = with(450, 7);
        blue = {peak_nm.value_or(drawn_peak), log_with(11, 0.25), log_with(13, 0.3), 1};
        phosphor.height = log_with(1, 0.7);
        phosphor.peak = with(548, 12);
        phosphor.left = log_with(36, 0.3);
        phosphor.right = log_with(82, 0.25);
        red.height = std::exp(with(-0.6, 1.2));
        red.peak = with(618, 20);
        red.left = log_with(40, 0.3);
        red.right = 1.15 * red.left;
        lamp.sum = sum_5nm(coarse(lamp), weights_5nm().plain);
        const OnLocus nearest = nearest_on_locus_fast(uv_1960(lamp.sum));
        if (!nearest.found || nearest.cct < 2000 || nearest.cct > 10000 || std::abs(nearest.duv) > 0.02) continue;
        lamp.mired = 1e6 / nearest.cct;
        lamp.duv = nearest.duv;
        lamps.push_back(lamp);
    }
    return lamps;
}

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

/// A lamp near the figures: how far off, as (mired, Duv, Ra), and its weight.
struct Near {
    const Lamp* lamp;
    std::array<double, 3> off{};
    double weight = 0;
};

/// Weights that take the mean of `off` to 0 (local linear regression): each weight times 1 - (off - m)' C^-1 m, over the first `count` figures.
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
Bands spectrum(const Lamp& lamp) {
    Bands power{};
    for (std::size_t i = 0; i < kBands; ++i) power[i] = lamp.at(kFirstNm + static_cast<double>(i)) / lamp.sum.Y;
    return power;
}

Light mean_light(const std::vector<Near>& lamps, const std::vector<Bands>& spectra, std::string name) {
    Light light{std::move(name), {}};
    for (std::size_t k = 0; k < lamps.size(); ++k) {
        for (std::size_t i = 0; i < kBands; ++i) light.power[i] += lamps[k].weight * spectra[k][i];
    }
    const double largest = *std::max_element(light.power.begin(), light.power.end());
    for (double& power : light.power) power = std::max(power * 100 / largest, 0.0);
    return light;
}

}  // namespace

Result<Light> shop_led(const ShopLed& known) {
    static const std::vector<Lamp> usual_lamps = make_lamps({});
    const std::vector<Lamp> own_lamps = known.peak_nm ? make_lamps(known.peak_nm) : std::vector<Lamp>{};
    const std::vector<Lamp>& lamps = known.peak_nm ? own_lamps : usual_lamps;

    const double mired = 1e6 / known.cct, duv = known.duv.value_or(usual_duv(known.cct));
    // Spread of the kernel: 3 mired, Duv 0.0008 (0.0025 where it is only the usual one), Ra 1; widened until 40 lamps count; 12 must.
    constexpr double kEnough = 40, kLeast = 12, kWidest = 6, kMired = 3, kRa = 1, kReach = 3;
    const double duv_spread = known.duv ? 0.0008 : 0.0025;
    struct Candidate {
        const Lamp* lamp;
        std::optional<double> ra;  // worked out when needed
    };
    std::vector<Candidate> candidates;
    for (const Lamp& lamp : lamps) {
        if (std::abs(lamp.mired - mired) < kReach * kWidest * kMired) candidates.push_back({&lamp, {}});
    }
    const auto ra_of = [](Candidate& candidate) {
        if (!candidate.ra) candidate.ra = general_index_5nm(coarse(*candidate.lamp), 1e6 / candidate.lamp->mired);
        return *candidate.ra;
    };
    constexpr const char* other = "give the light's spectrum as a CSV file";
    const auto out_of_reach = [&](const std::string& cause) {
        std::string remedy = other;
        std::vector<double> reachable;  // Ra of lamps of about this CCT and Duv
        for (Candidate& candidate : candidates) {
            const Lamp& lamp = *candidate.lamp;
            if (std::abs(lamp.mired - mired) < 4 * kMired && std::abs(lamp.duv - duv) < 2 * duv_spread) reachable.push_back(ra_of(candidate));
        }
        if (known.ra && reachable.size() >= 20) {
            std::sort(reachable.begin(), reachable.end());
            const std::size_t skip = reachable.size() / 40;
            remedy = "of this color temperature, lamps of blue emitter and phosphor reach Ra " + shortest(std::round(reachable[skip])) + " to " +
                     shortest(std::round(reachable[reachable.size() - 1 - skip])) + ": use a figure inside, or " + other;
        } else if (known.duv || known.peak_nm) {
            remedy = "leave out duv and peak, or " + remedy;
        }
        return Error{Fault::light_unknown, "", name_of(known), cause, remedy};
    };

    std::vector<Near> near;
    double effective = 0;
    for (double widen = 1; widen <= kWidest; widen *= 1.25) {
        near.clear();
        double sum = 0, sum_of_squares = 0;
        for (Candidate& candidate : candidates) {
            Near n{candidate.lamp, {candidate.lamp->mired - mired, candidate.lamp->duv - duv, 0}, 0};
            double d2 = square(n.off[0] / (widen * kMired)) + square(n.off[1] / (known.duv ? widen * duv_spread : duv_spread));
            if (known.ra && d2 < square(kReach)) {
                n.off[2] = ra_of(candidate) - *known.ra;
                d2 += square(n.off[2] / (widen * kRa));
            }
            if (d2 >= square(kReach)) continue;
            n.weight = std::exp(-d2 / 2);
            sum += n.weight;
            sum_of_squares += square(n.weight);
            near.push_back(n);
        }
        effective = near.empty() ? 0 : square(sum) / sum_of_squares;
        if (effective >= kEnough) break;
    }
    if (effective < kLeast) return out_of_reach("no lamp of blue emitter and phosphor has these figures");

    // The figures of a mean are not quite the mean of the figures: aim beside the target until the mean itself is on it.
    std::vector<Bands> spectra;
    for (const Near& n : near) spectra.push_back(spectrum(*n.lamp));
    Light light;
    LightQuality got;
    for (int round = 0; round < 4; ++round) {
        std::vector<Near> weighted = near;
        make_exact(weighted, {true, known.duv.has_value(), known.ra.has_value()});
        light = mean_light(weighted, spectra, name_of(known));
        got = light_quality(light);
        if (!got.cct_valid) break;
        for (Near& n : near) {
            n.off[0] += 1e6 / got.cct - mired;
            if (known.duv) n.off[1] += got.duv - duv;
            if (known.ra) n.off[2] += got.ra - *known.ra;
        }
    }
    if (!got.cct_valid || std::abs(got.cct / known.cct - 1) > 0.02 || (known.ra && std::abs(got.ra - *known.ra) > 4)) {
        return out_of_reach("lamps of blue emitter and phosphor do not quite reach these figures");
    }
    return light;
}

}  // namespace sw
