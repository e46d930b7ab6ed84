#include <algorithm>
#include <cmath>
#include <numbers>
#include <tuple>

#include "color/cie_data.hpp"
#include "color/light.hpp"
#include "color/locus.hpp"
#include "color/rendering.hpp"

namespace sw {
namespace {

const std::vector<Reflectance>& test_samples_13_3() {
    static const std::vector<Reflectance> samples = [] {
        std::vector<Reflectance> result;
        for (const CieColumn& column : cie_columns("test_color_samples_13_3.csv")) {
            result.push_back({on_grid(column.table, Between::sprague, Outside::held)});
        }
        return result;
    }();
    return samples;
}

SamplesUnderLight samples_under(const Light& light) {
    SamplesUnderLight result;
    result.white = xyz(light, Observer::degree2);
    for (std::size_t k = 0; k < kTestSamples; ++k) result.sample[k] = xyz(test_samples_13_3()[k], light, Observer::degree2);
    return result;
}

constexpr double kFarthestDuv = 0.05;  // CIE 015:2018, 9.5: farther off the locus a CCT means nothing

// CIE 224 sums at 5 nm over 380..780.
constexpr int kFidelityFirst = 380, kFidelityStep = 5;
constexpr std::size_t kFidelityBands = 81, kFidelitySamples = 99;

std::size_t grid_index(std::size_t band) {
    return static_cast<std::size_t>(kFidelityFirst - kFirstNm) + band * static_cast<std::size_t>(kFidelityStep);
}

const std::vector<CieColumn>& fidelity_samples() {
    static const std::vector<CieColumn> columns = cie_columns("color_evaluation_samples_224.csv");
    return columns;
}

/// CIE 224: Planckian up to 4000 K, daylight from 5000 K, in between a blend of the two at equal Y.
Light reference_light_224(double cct) {
    const double d = std::clamp((cct - 4000) / 1000, 0.0, 1.0);
    Light mixed{"", {}};
    const auto add = [&mixed](const Light& part, double share) {
        const std::array<Bands, 3>& cmf = color_matching(Observer::degree10);
        double Y = 0;
        for (std::size_t k = 0; k < kFidelityBands; ++k) Y += cmf[1][grid_index(k)] * part.power[grid_index(k)];
        for (std::size_t i = 0; i < kBands; ++i) mixed.power[i] += share / Y * part.power[i];
    };
    if (d < 1) add(planck(std::clamp(cct, 500.0, 50000.0)), 1 - d);
    if (d > 0) add(daylight(std::clamp(cct, 4000.0, 25000.0)), d);
    return mixed;
}

using Row = std::array<double, 3>;

/// CAM02-UCS J', a', b'. CIECAM02 (CIE 159:2004), viewing conditions of CIE 224: LA 100 cd/m2, Yb 20, average surround, D = 1.
struct Ucs {
    double J = 0, a = 0, b = 0;
};

class Cam02 {
public:
    explicit Cam02(const Xyz& white) {
        const Row sharp = cat02(white);
        for (std::size_t i = 0; i < 3; ++i) gain_[i] = 100 / sharp[i];
        A_white_ = achromatic(response(white));
    }

    [[nodiscard]] Ucs ucs(const Xyz& color) const {
        const Row p = response(color);
        const double a = p[0] - 12 * p[1] / 11 + p[2] / 11, b = (p[0] + p[1] - 2 * p[2]) / 9;
        const double h = std::atan2(b, a);
        const double e = (std::cos(h + 2) + 3.8) / 4;
        const double t = std::max(0.0, 50000.0 / 13 * kNc * kNcb * e * std::hypot(a, b) / (p[0] + p[1] + 21 * p[2] / 20));
        const double J = 100 * std::pow(std::max(0.0, achromatic(p) / A_white_), kC * (1.48 + std::sqrt(kN)));
        const double C = std::pow(t, 0.9) * std::sqrt(J / 100) * std::pow(1.64 - std::pow(0.29, kN), 0.73);
        const double M = C * std::pow(kFl, 0.25);
        // Luo, Cui & Li 2006: CAM02-UCS.
        const double M_ucs = std::log1p(0.0228 * M) / 0.0228;
        return {1.7 * J / (1 + 0.007 * J), M_ucs * std::cos(h), M_ucs * std::sin(h)};
    }

private:
    static constexpr double kNc = 1, kC = 0.69, kN = 0.2, kLa = 100;
    static constexpr double kK = 1 / (5 * kLa + 1);
    inline static const double kFl = 0.2 * kK * kK * kK * kK * 5 * kLa + 0.1 * (1 - kK * kK * kK * kK) * (1 - kK * kK * kK * kK) * std::cbrt(5 * kLa);
    inline static const double kNcb = 0.725 * std::pow(1 / kN, 0.2);

    static Row cat02(const Xyz& c) {
        return {0.7328 * c.X + 0.4296 * c.Y - 0.1624 * c.Z, -0.7036 * c.X + 1.6975 * c.Y + 0.0061 * c.Z, 0.0030 * c.X + 0.0136 * c.Y + 0.9834 * c.Z};
    }

    [[nodiscard]] Row response(const Xyz& color) const {
        Row s = cat02(color);
        for (std::size_t i = 0; i < 3; ++i) s[i] *= gain_[i];
        // Back from CAT02 to XYZ, then to Hunt-Pointer-Estevez.
        const double X = 1.096124 * s[0] - 0.278869 * s[1] + 0.182745 * s[2];
        const double Y = 0.454369 * s[0] + 0.473533 * s[1] + 0.072098 * s[2];
        const double Z = -0.009628 * s[0] - 0.005698 * s[1] + 1.015326 * s[2];
        Row p{0.38971 * X + 0.68898 * Y - 0.07868 * Z, -0.22981 * X + 1.18340 * Y + 0.04641 * Z, Z};
        for (double& v : p) {
            const double f = std::pow(kFl * std::abs(v) / 100, 0.42);
            v = std::copysign(400 * f / (f + 27.13), v) + 0.1;
        }
        return p;
    }

    static double achromatic(const Row& p) { return (2 * p[0] + p[1] + p[2] / 20 - 0.305) * kNcb; }

    Row gain_{};
    double A_white_ = 0;
};

std::vector<Ucs> fidelity_colors(const Light& light) {
    const std::array<Bands, 3>& cmf = color_matching(Observer::degree10);
    std::array<std::array<double, kFidelityBands>, 3> weight{};
    Xyz white;
    for (std::size_t k = 0; k < kFidelityBands; ++k) {
        const std::size_t i = grid_index(k);
        for (std::size_t c = 0; c < 3; ++c) weight[c][k] = cmf[c][i] * light.power[i];
        white.X += weight[0][k];
        white.Y += weight[1][k];
        white.Z += weight[2][k];
    }
    const double scale = 100 / white.Y;
    const Cam02 cam({scale * white.X, 100, scale * white.Z});
    std::vector<Ucs> colors;
    for (const CieColumn& sample : fidelity_samples()) {
        Xyz sum;
        for (std::size_t k = 0; k < kFidelityBands; ++k) {
            sum.X += weight[0][k] * sample.table.value[k];
            sum.Y += weight[1][k] * sample.table.value[k];
            sum.Z += weight[2][k] * sample.table.value[k];
        }
        colors.push_back(cam.ucs({scale * sum.X, scale * sum.Y, scale * sum.Z}));
    }
    return colors;
}

/// Rf and Rg. CIE 224:2017 and ANSI/IES TM-30-18.
std::pair<double, double> fidelity_and_gamut(const Light& light, double cct) {
    const std::vector<Ucs> test = fidelity_colors(light), reference = fidelity_colors(reference_light_224(cct));
    constexpr std::size_t kBins = 16;
    struct Bin {
        Ucs test, reference;
        double count = 0;
    };
    std::array<Bin, kBins> bins{};
    double sum = 0;
    for (std::size_t k = 0; k < kFidelitySamples; ++k) {
        const Ucs &t = test[k], &r = reference[k];
        sum += std::hypot(t.J - r.J, t.a - r.a, t.b - r.b);
        double turn = std::atan2(r.b, r.a) / (2 * std::numbers::pi);
        if (turn < 0) turn += 1;
        Bin& bin = bins[std::min(static_cast<std::size_t>(turn * kBins), kBins - 1)];
        bin.test.a += t.a;
        bin.test.b += t.b;
        bin.reference.a += r.a;
        bin.reference.b += r.b;
        bin.count += 1;
    }
    const double raw = 100 - 6.73 * sum / kFidelitySamples;
    const double fidelity = 10 * std::log1p(std::exp(raw / 10));

    std::vector<Bin> filled;
    for (Bin& bin : bins) {
        if (bin.count == 0) continue;  // a bin may be empty under a strange light: its neighbors join
        for (double* v : {&bin.test.a, &bin.test.b, &bin.reference.a, &bin.reference.b}) *v /= bin.count;
        filled.push_back(bin);
    }
    double area_test = 0, area_reference = 0;
    for (std::size_t k = 0; k < filled.size(); ++k) {
        const Bin &p = filled[k], &q = filled[(k + 1) % filled.size()];
        area_test += p.test.a * q.test.b - p.test.b * q.test.a;
        area_reference += p.reference.a * q.reference.b - p.reference.b * q.reference.a;
    }
    return {fidelity, 100 * area_test / area_reference};
}

}  // namespace

std::array<double, kTestSamples> special_indices(const SamplesUnderLight& test, const SamplesUnderLight& reference, std::size_t count) {
    struct Cd {
        double c, d;
    };
    const auto cd = [](const Uv& w) { return Cd{(4 - w.u - 10 * w.v) / w.v, (1.708 * w.v + 0.404 - 1.481 * w.u) / w.v}; };
    const Uv white = uv_1960(reference.white);
    const Cd k = cd(uv_1960(test.white)), r = cd(white);
    struct Uvw {
        double U, V, W;
    };
    // CIE 1964 U*V*W*, relative to the reference light.
    const auto uvw = [&white](const Uv& color, double Y) {
        const double W = 25 * std::cbrt(Y) - 17;
        return Uvw{13 * W * (color.u - white.u), 13 * W * (color.v - white.v), W};
    };
    std::array<double, kTestSamples> result{};
    for (std::size_t i = 0; i < std::min(count, kTestSamples); ++i) {
        const Cd ki = cd(uv_1960(test.sample[i]));
        const double c = r.c / k.c * ki.c, d = r.d / k.d * ki.d;
        const double divisor = 16.518 + 1.481 * c - d;
        const Uvw a = uvw({(10.872 + 0.404 * c - 4 * d) / divisor, 5.520 / divisor}, test.sample[i].Y);
        const Uvw b = uvw(uv_1960(reference.sample[i]), reference.sample[i].Y);
        result[i] = 100 - 4.6 * std::hypot(a.U - b.U, a.V - b.V, a.W - b.W);
    }
    return result;
}

double general_index(const std::array<double, kTestSamples>& special) {
    double sum = 0;
    for (std::size_t k = 0; k < kGeneralSamples; ++k) sum += special[k];
    return sum / kGeneralSamples;
}

Light reference_light_13_3(double cct) { return cct < 5000 ? planck(std::max(cct, 500.0)) : daylight(std::min(cct, 25000.0)); }

LightQuality light_quality(const Light& light) {
    LightQuality quality;
    const OnLocus nearest = nearest_on_locus(uv_1960(xyz(light, Observer::degree2)));
    quality.cct = nearest.cct;
    quality.duv = nearest.duv;
    quality.cct_valid = nearest.found && std::abs(nearest.duv) <= kFarthestDuv;
    if (!quality.cct_valid) return quality;
    const std::array<double, kTestSamples> special = special_indices(samples_under(light), samples_under(reference_light_13_3(nearest.cct)));
    std::copy(special.begin(), special.end(), quality.ri.begin());
    quality.ra = general_index(special);
    quality.r9 = special[8];
    std::tie(quality.rf, quality.rg) = fidelity_and_gamut(light, nearest.cct);
    return quality;
}

LightQuality light_quality_sd(const Light& light) {
    LightQuality sd;
    if (!light.may_be) {
        const OnLocus nearest = nearest_on_locus(uv_1960(xyz(light, Observer::degree2)));
        sd.cct_valid = nearest.found && std::abs(nearest.duv) <= kFarthestDuv;
        return sd;
    }
    std::vector<LightQuality> drawn;
    for (const Bands& power : *light.may_be) {
        drawn.push_back(light_quality({light.name, power}));
        if (!drawn.back().cct_valid) return sd;
    }
    if (drawn.size() < 2) return sd;
    const auto spread = [&drawn](const auto& figure) {
        double mean = 0, squares = 0;
        for (const LightQuality& q : drawn) mean += figure(q) / static_cast<double>(drawn.size());
        for (const LightQuality& q : drawn) squares += (figure(q) - mean) * (figure(q) - mean);
        return std::sqrt(squares / static_cast<double>(drawn.size() - 1));
    };
    for (double LightQuality::*figure :
         {&LightQuality::cct, &LightQuality::duv, &LightQuality::ra, &LightQuality::r9, &LightQuality::rf, &LightQuality::rg}) {
        sd.*figure = spread([figure](const LightQuality& q) { return q.*figure; });
    }
    for (std::size_t k = 0; k < sd.ri.size(); ++k) sd.ri[k] = spread([k](const LightQuality& q) { return q.ri[k]; });
    sd.cct_valid = true;
    return sd;
}

}  // namespace sw
