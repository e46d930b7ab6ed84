#include "spectral/surfaces.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <future>
#include <string>
#include <string_view>
#include <vector>

#include "sample_tables.hpp"
#include "spectral/random.hpp"

namespace sw {
namespace {

using Spectra = std::vector<ModelSpectrum>;

constexpr int kPigments = 4000;
constexpr int kPaints = 20000, kBroad = 16000, kMixed = 8000, kSmooth = 4000;
static_assert(kPaints + kBroad + kMixed + kSmooth == kSurfaces);

double step(double x) { return 1 / (1 + std::exp(-std::clamp(x, -60.0, 60.0))); }

template <class F>
ModelSpectrum over_bands(F&& f) {
    ModelSpectrum s;
    for (int i = 0; i < kModelBands; ++i) s[i] = f(static_cast<double>(model_nm(i)));
    return s;
}

ModelSpectrum rising(double at, double width) {
    return over_bands([=](double nm) { return step((nm - at) / width); });
}
ModelSpectrum falling(double at, double width) {
    return over_bands([=](double nm) { return step((at - nm) / width); });
}
ModelSpectrum bump(double at, double width) {
    return over_bands([=](double nm) { return std::exp(-0.5 * (nm - at) * (nm - at) / (width * width)); });
}
ModelSpectrum constant(double value) { return ModelSpectrum::Constant(value); }
ModelSpectrum slope(Random& r) {
    const double k = r.uniform(-0.4, 0.4);
    return over_bands([=](double nm) { return 1 + k * (nm - 555) / 175; });
}
double power_of_ten(Random& r, double low, double high) { return std::pow(10.0, r.uniform(low, high)); }

/// Reflectance of an opaque layer from K/S (Kubelka & Munk 1931).
ModelSpectrum infinite(const ModelSpectrum& q) { return (1 + q.array() - (q.array().square() + 2 * q.array()).sqrt()).matrix(); }

struct Pigment {
    ModelSpectrum absorption, scattering;
    bool black = false;
};

Pigment make_pigment(Random& r) {
    Pigment p;
    const double kind = r.uniform();
    ModelSpectrum& k = p.absorption;
    if (kind < 0.34) {  // one edge: yellows, oranges, reds
        const double at = r.uniform(430, 650);
        k = falling(at, r.uniform(4, 16));
        if (r.uniform() < 0.5) {
            const double width = r.uniform(25, 60), center = r.uniform(400, 460), depth = r.uniform(0, 0.7);
            k = k.cwiseProduct(constant(1) - depth * bump(center, width));
        }
        if (r.uniform() < 0.4) {
            const double width = r.uniform(30, 80), center = r.uniform(at, 720), height = r.uniform(0, 0.25);
            k += height * bump(center, width);
        }
        k.array() += power_of_ten(r, -3.5, -1.2);
    } else if (kind < 0.70) {  // bands: blues, violets, greens, magentas
        const double center = r.uniform(480, 700);
        const int bands = 1 + r.below(4);
        k.setZero();
        for (int j = 0; j < bands; ++j) {
            const double height = r.uniform(0.3, 1), at = center + (j > 0 ? r.uniform(-70, 70) : 0);
            k += height * bump(at, r.uniform(12, 50));
        }
        if (r.uniform() < 0.6) {
            const double height = r.uniform(0, 1), at = r.uniform(380, 480);
            k += height * falling(at, r.uniform(8, 30));
        }
        k = (k / k.maxCoeff()).array() + power_of_ten(r, -3.0, -1);
    } else if (kind < 0.86) {  // earths
        const double at = r.uniform(470, 620), height = r.uniform(0, 0.35), near = r.uniform(600, 700);
        const double width = r.uniform(30, 80), steep = r.uniform(14, 60);
        k = falling(at, steep) + height * bump(near, width);
        k.array() += power_of_ten(r, -2.2, -0.6);
    } else if (kind < 0.96) {  // blacks
        const double height = r.uniform(-0.1, 0.1), at = r.uniform(400, 700);
        const double width = r.uniform(40, 100);
        k = slope(r) + height * bump(at, width);
        p.black = true;
    } else {  // green windows
        const double blue = r.uniform(430, 510), blue_width = r.uniform(6, 25), height = r.uniform(0.4, 1.2), red = r.uniform(540, 640);
        k = falling(blue, blue_width) + height * rising(red, r.uniform(6, 30));
        k.array() += power_of_ten(r, -2.5, -1);
    }
    const double level = power_of_ten(r, -2, 0), exponent = r.uniform(-1.5, 0.5);
    p.scattering = over_bands([=](double nm) { return level * std::pow(nm / 555, exponent); });
    return p;
}

ModelSpectrum make_paint(Random& r, const std::vector<Pigment>& pigments, const std::vector<int>& blacks) {
    const double u = r.uniform();
    const int count = u < 0.25 ? 1 : u < 0.65 ? 2 : u < 0.90 ? 3 : 4;
    ModelSpectrum k = ModelSpectrum::Zero(), s = ModelSpectrum::Zero();
    double total = 0;
    for (int i = 0; i < count; ++i) {
        const Pigment& p = pigments[static_cast<std::size_t>(r.below(static_cast<int>(pigments.size())))];
        const double amount = std::exp(1.3 * r.normal());
        k += amount * p.absorption;
        s += amount * p.scattering;
        total += amount;
    }
    k /= total;
    s /= total;
    if (r.uniform() < 0.35) {  // a touch of black
        const Pigment& p = pigments[static_cast<std::size_t>(blacks[static_cast<std::size_t>(r.below(static_cast<int>(blacks.size())))])];
        const double amount = power_of_ten(r, -3, -0.5);
        k += amount * p.absorption;
        s += amount * p.scattering;
    }
    const double strength = power_of_ten(r, -2.3, 1.4);
    ModelSpectrum white = constant(power_of_ten(r, -3.6, -2));
    if (r.uniform() < 0.65) {  // the white's own edge near the ultraviolet
        const double height = r.uniform(0, 2.5), at = r.uniform(375, 408);
        white += height * falling(at, r.uniform(3, 10));
    }
    if (r.uniform() < 0.2) {  // a glaze on white
        const double level = r.uniform(0.7, 1), base = r.uniform(0, 0.05);
        return (infinite(white).array() * (-strength * k.array()).exp() * level + base).matrix();
    }
    s = (1 + strength * s.array()).matrix();
    k = white + strength * (r.uniform() < 0.33 ? 4.0 : 1.0) * k;
    if (r.uniform() < 0.25) s.array() += power_of_ten(r, -3, -0.5) - 1;  // hardly any white
    ModelSpectrum reflectance = infinite(k.cwiseQuotient(s));
    if (r.uniform() < 0.65) {  // Saunderson 1942; surface light seen or not
        const double k1 = r.uniform(0, 0.045), k2 = r.uniform(0.4, 0.62), seen = r.uniform() < 0.5 ? 1 : 0;
        reflectance = ((1 - k1) * (1 - k2) * reflectance.array() / (1 - k2 * reflectance.array()) + k1 * seen).matrix();
    }
    return reflectance;
}

/// A paint whose colorants are broader than those of make_pigment: its log odds blurred by 20..80 nm (standard deviation of a Gaussian). Skins,
/// leaves, woods and many oranges are like that. Its color stays among those that paints have.
ModelSpectrum broadened(Random& r, const ModelSpectrum& paint) {
    const double width = std::exp(r.uniform(std::log(4.0), std::log(16.0)));  // in bands
    const int reach = static_cast<int>(3 * width);
    std::array<double, 49> kernel{};
    double sum = 0;
    for (int d = 0; d <= reach; ++d) {
        kernel[static_cast<std::size_t>(d)] = std::exp(-0.5 * d * d / (width * width));
        sum += (d > 0 ? 2 : 1) * kernel[static_cast<std::size_t>(d)];
    }
    const ModelSpectrum z = log_odds(paint);
    Eigen::Matrix<double, kModelBands + 96, 1> padded;  // the end values go on
    padded.head<48>().setConstant(z[0]);
    padded.segment<kModelBands>(48) = z;
    padded.tail<48>().setConstant(z[kModelBands - 1]);
    ModelSpectrum blurred = kernel[0] * z;
    for (int d = 1; d <= reach; ++d)
        blurred += kernel[static_cast<std::size_t>(d)] * (padded.segment<kModelBands>(48 - d) + padded.segment<kModelBands>(48 + d));
    return from_log_odds(blurred / sum);
}

/// Nothing known but that neighboring bands are alike: a random walk of the log odds, the prior that the smoothest reflectance (smooth_surface.hpp)
/// is the most likely member of.
ModelSpectrum make_smooth(Random& r) {
    const double step_sd = 2 * power_of_ten(r, -1.7, -0.5), level = 2 * (-0.4 + 0.9 * r.normal());
    ModelSpectrum z;
    double at = 0;
    for (int i = 0; i < kModelBands; ++i) {
        z[i] = at;
        at += step_sd * r.normal();
    }
    return from_log_odds((z.array() - z.mean() + level).matrix());
}

ModelSpectrum make_mixture(Random& r, const Spectra& log_ratio) {
    const double u = r.uniform();
    const int count = u < 0.40 ? 1 : u < 0.82 ? 2 : 3;
    std::array<std::size_t, 3> pick{};
    std::array<double, 3> share{};
    double total = 0;
    for (int i = 0; i < count; ++i) {
        pick[static_cast<std::size_t>(i)] = static_cast<std::size_t>(r.below(static_cast<int>(log_ratio.size())));
        total += share[static_cast<std::size_t>(i)] = -std::log(1 - r.uniform());
    }
    const bool sums = r.uniform() < 0.6;
    ModelSpectrum q = ModelSpectrum::Zero();
    for (int i = 0; i < count; ++i) {
        const ModelSpectrum& one = log_ratio[pick[static_cast<std::size_t>(i)]];
        const double part = share[static_cast<std::size_t>(i)] / total;
        q += part * (sums ? one.array().exp().matrix() : one);
    }
    if (!sums) q = q.array().exp();
    q *= std::pow(10.0, 0.35 * r.normal());
    const ModelSpectrum line = slope(r);
    q += power_of_ten(r, -4, -1.2) * line;
    if (r.uniform() < 0.3) {  // moved and stretched along the wavelengths
        const double shift = 8 * r.normal(), stretch = 1 + 0.03 * r.normal();
        const ModelSpectrum old = q.array().log();
        q = over_bands([&](double nm) {
            const double at = (std::clamp(555 + (nm - 555) * stretch + shift, 380.0, 730.0) - 380) / 5;
            const int i = std::min(static_cast<int>(at), kModelBands - 2);
            return std::exp(old[i] + (at - i) * (old[i + 1] - old[i]));
        });
    }
    ModelSpectrum reflectance = infinite(q);
    if (r.uniform() < 0.3) {
        const double k1 = r.uniform(0, 0.04), seen = r.uniform() < 0.5 ? 1 : 0;
        reflectance = (reflectance.array() * (1 - k1) + k1 * seen).matrix();
    }
    return reflectance;
}

/// Columns of a table of our own assets: comma separated, first column nm (380.. step 5), # comments and one header line.
Spectra read_columns(std::string_view text) {
    Spectra columns;
    std::size_t at = 0;
    bool header = true;
    while (at < text.size()) {
        const std::size_t end = std::min(text.find('\n', at), text.size());
        const std::string line(text.substr(at, end - at));
        at = end + 1;
        if (line.empty() || line[0] == '#') continue;
        if (header) {
            header = false;
            continue;
        }
        std::vector<double> values;
        const char* p = line.c_str();
        while (*p != '\0') {
            char* next = nullptr;
            values.push_back(std::strtod(p, &next));
            if (next == p) break;
            p = *next == ',' ? next + 1 : next;
        }
        if (columns.empty()) columns.assign(values.size() - 1, ModelSpectrum::Zero());
        const int band = (static_cast<int>(values[0]) - 380) / 5;
        if (band < 0 || band >= kModelBands || values.size() != columns.size() + 1) continue;
        for (std::size_t c = 0; c < columns.size(); ++c) columns[c][band] = values[c + 1];
    }
    return columns;
}

constexpr std::array<const char*, 3> kSampleTables{"test_color_samples_13_3.csv", "color_evaluation_samples_224.csv", "chart24_reflectance.csv"};

/// No expression draws twice: which draw comes first would be the compiler's choice, and the library with it.
/// Each part has its own random numbers, so that parts can be made at the same time and one does not move when another changes.
SurfaceLibrary make_library(const char* without) {
    SurfaceLibrary library(kModelBands, kSurfaces);
    const auto keep = [&](int column, const ModelSpectrum& r) { library.col(column) = r.cwiseMax(0.002).cwiseMin(0.99).cast<float>(); };
    Random maker(11);
    std::vector<Pigment> pigments;
    std::vector<int> blacks;
    for (int i = 0; i < kPigments; ++i) {
        pigments.push_back(make_pigment(maker));
        if (pigments.back().black) blacks.push_back(i);
    }
    const auto paints = [&] {
        Random r(21);
        for (int i = 0; i < kPaints; ++i) keep(i, make_paint(r, pigments, blacks));
    };
    const auto others = [&] {
        Random broad(22);
        for (int i = 0; i < kBroad; ++i) {
            const ModelSpectrum paint = make_paint(broad, pigments, blacks);
            keep(kPaints + i, broadened(broad, paint));
        }
        Spectra samples;
        for (const char* table : kSampleTables) {
            if (table == without) continue;
            for (const ModelSpectrum& r : read_columns(sample_tables::file(table))) {
                const Eigen::Array<double, kModelBands, 1> c = r.array().max(0.004).min(0.985);
                samples.emplace_back(((1 - c).square() / (2 * c)).log());
            }
        }
        Random mixtures(12), smooth(23);
        for (int i = 0; i < kMixed; ++i) keep(kPaints + kBroad + i, make_mixture(mixtures, samples));
        for (int i = 0; i < kSmooth; ++i) keep(kPaints + kBroad + kMixed + i, make_smooth(smooth));
    };
    std::future<void> beside = std::async(std::launch::async, paints);
    others();
    beside.get();
    return library;
}

}  // namespace

const SurfaceLibrary& surface_library() {
    static const SurfaceLibrary library = make_library(nullptr);
    return library;
}

SurfaceLibrary surface_library_without(SampleSource source) { return make_library(kSampleTables.at(static_cast<std::size_t>(source))); }

std::vector<ModelSpectrum> samples_of(SampleSource source) {
    return read_columns(sample_tables::file(kSampleTables.at(static_cast<std::size_t>(source))));
}

const Eigen::Matrix<double, kModelBands, 24>& chart_reflectances() {
    static const Eigen::Matrix<double, kModelBands, 24> chart = [] {
        Eigen::Matrix<double, kModelBands, 24> m;
        const Spectra columns = read_columns(sample_tables::file("chart24_reflectance.csv"));
        for (int i = 0; i < 24; ++i) m.col(i) = columns.at(static_cast<std::size_t>(i));
        return m;
    }();
    return chart;
}

const char* chart_patch_name(int patch) {
    static constexpr std::array<const char*, 24> names{"dark skin", "light skin",    "blue sky",     "foliage",   "blue flower",  "bluish green",
                                                       "orange",    "purplish blue", "moderate red", "purple",    "yellow green", "orange yellow",
                                                       "blue",      "green",         "red",          "yellow",    "magenta",      "cyan",
                                                       "white",     "neutral 8",     "neutral 6.5",  "neutral 5", "neutral 3.5",  "black"};
    return names.at(static_cast<std::size_t>(patch));
}

}  // namespace sw
