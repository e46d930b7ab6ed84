#include "demo/paint.hpp"

#include <Eigen/Dense>
#include <array>
#include <cmath>
#include <map>

namespace demo {
namespace {

double nm(std::size_t i) { return sw::kFirstNm + static_cast<double>(i); }
double bump(double at, double center, double width, double height) { return height * std::exp(-0.5 * std::pow((at - center) / width, 2)); }
/// Falls from `height` below `edge` to 0 above it.
double falling(double at, double edge, double width, double height) { return height / (1 + std::exp((at - edge) / width)); }

template <class Absorption, class Scattering>
Pigment make(const std::string& name, Absorption absorption, Scattering scattering) {
    Pigment made{name, {}, {}};
    for (std::size_t i = 0; i < sw::kBands; ++i) {
        made.absorption[i] = absorption(nm(i));
        made.scattering[i] = scattering(nm(i));
    }
    return made;
}

std::map<std::string, Pigment> make_pigments() {
    std::map<std::string, Pigment> all;
    const auto add = [&](Pigment made) { all.emplace(made.name, std::move(made)); };
    // The shelf
    add(make(
        "Titanium White", [](double w) { return 0.004 + falling(w, 398, 6, 1.5); }, [](double w) { return 1.0 - 0.0006 * (w - 555); }));
    add(make(
        "Yellow Oxide", [](double w) { return 0.03 + falling(w, 505, 17, 1.6) + bump(w, 650, 60, 0.05); },
        [](double w) { return 0.42 + 0.0004 * (w - 555); }));
    add(make(
        "Red Oxide", [](double w) { return 0.10 + falling(w, 574, 11, 2.6) + bump(w, 680, 60, 0.1); },
        [](double w) { return 0.45 + 0.0008 * (w - 555); }));
    add(make(
        "Phthalo Green", [](double w) { return 0.15 + falling(w, 440, 15, 3.0) + bump(w, 640, 38, 8.0) + bump(w, 720, 40, 5.0); },
        [](double) { return 0.06; }));
    add(make(
        "Phthalo Blue", [](double w) { return 0.25 + bump(w, 385, 25, 2.0) + bump(w, 610, 45, 9.0) + bump(w, 690, 32, 7.0); },
        [](double) { return 0.06; }));
    add(make(
        "Ultramarine", [](double w) { return 0.06 + bump(w, 595, 55, 2.4) + falling(w, 395, 10, 0.8); }, [](double) { return 0.09; }));
    add(make(
        "Quinacridone Violet", [](double w) { return 0.08 + bump(w, 555, 26, 5.0) + bump(w, 510, 30, 3.4) + falling(w, 410, 20, 1.4); },
        [](double w) { return 0.10 + 0.0002 * (w - 555); }));
    add(make(
        "Diarylide Yellow", [](double w) { return 0.02 + falling(w, 492, 9, 4.0); }, [](double) { return 0.16; }));
    add(make(
        "Burnt Umber", [](double w) { return 0.35 + 2.2 * std::exp(-(w - 400) / 95); }, [](double w) { return 0.24 + 0.0003 * (w - 555); }));
    add(make(
        "Dioxazine Purple", [](double w) { return 0.30 + bump(w, 540, 32, 6.0) + bump(w, 600, 30, 6.5); }, [](double) { return 0.07; }));
    add(make(
        "Carbon Black", [](double w) { return 7.0 - 0.002 * (w - 555); }, [](double) { return 0.10; }));
    // The chips' maker
    add(make(
        "Indanthrone Blue", [](double w) { return 0.5 + bump(w, 575, 40, 3.0) + bump(w, 660, 70, 5.5) + falling(w, 400, 12, 1.0); },
        [](double) { return 0.08; }));
    add(make(
        "Raw Sienna", [](double w) { return 0.12 + falling(w, 540, 24, 1.5) + bump(w, 430, 25, 0.4); },
        [](double w) { return 0.36 + 0.0005 * (w - 555); }));
    add(make(
        "Cobalt Blue",
        [](double w) { return 0.05 + bump(w, 545, 20, 0.7) + bump(w, 590, 22, 1.2) + bump(w, 632, 20, 1.2) + falling(w, 385, 10, 0.8); },
        [](double) { return 0.18; }));
    add(make(
        "Cobalt Violet",
        [](double w) { return 0.05 + bump(w, 492, 14, 2.4) + bump(w, 540, 17, 3.2) + bump(w, 588, 14, 2.8) + falling(w, 385, 10, 0.8); },
        [](double) { return 0.14; }));
    return all;
}

}  // namespace

const Pigment& pigment(const std::string& name) {
    static const std::map<std::string, Pigment> all = make_pigments();
    return all.at(name);
}

sw::Reflectance painted(const Recipe& recipe) {
    constexpr double kInside = 0.6;    // of diffuse light meeting the skin from inside, reflected back
    constexpr double kOutside = 0.04;  // of light meeting it from outside
    constexpr double kMatte = 0.02;
    sw::Reflectance film;
    for (std::size_t i = 0; i < sw::kBands; ++i) {
        double absorption = 0;
        double scattering = 0;
        for (const auto& [name, share] : recipe) {
            absorption += share * pigment(name).absorption[i];
            scattering += share * pigment(name).scattering[i];
        }
        const double ratio = absorption / scattering;
        const double inside = 1 + ratio - std::sqrt(ratio * ratio + 2 * ratio);
        film.value[i] = kMatte + (1 - kOutside) * (1 - kInside) * inside / (1 - kInside * inside);
    }
    return film;
}

Recipe matched_under(const sw::Light& lamp, const sw::Reflectance& chip, Recipe start, double dL, double da, double db) {
    const sw::Xyz white = sw::xyz(lamp, sw::Observer::degree2);
    const auto seen = [&](const sw::Reflectance& surface) { return sw::lab(sw::xyz(surface, lamp, sw::Observer::degree2), white); };
    const sw::Lab at_chip = seen(chip);
    const Eigen::Vector3d wanted{at_chip.L + dL, at_chip.a + da, at_chip.b + db};
    const auto miss = [&](const Recipe& recipe) {
        const sw::Lab lab = seen(painted(recipe));
        return Eigen::Vector3d(Eigen::Vector3d{lab.L, lab.a, lab.b} - wanted);
    };
    // Newton on the logarithms of the shares, damped.
    for (int round = 0; round < 60; ++round) {
        const Eigen::Vector3d now = miss(start);
        Eigen::Matrix3d slope;
        for (std::size_t k = 0; k < 3; ++k) {
            Recipe nudged = start;
            nudged[k + 1].second *= std::exp(1e-5);
            slope.col(static_cast<Eigen::Index>(k)) = (miss(nudged) - now) / 1e-5;
        }
        const Eigen::Vector3d step = (slope.transpose() * slope + 1e-9 * Eigen::Matrix3d::Identity()).ldlt().solve(slope.transpose() * -now);
        const double most = std::max(1.0, step.cwiseAbs().maxCoeff() / 0.5);
        for (std::size_t k = 0; k < 3; ++k) start[k + 1].second *= std::exp(step[static_cast<Eigen::Index>(k)] / most);
    }
    return start;
}

sw::Reflectance plain(double value, double tilt) {
    sw::Reflectance surface;
    for (std::size_t i = 0; i < sw::kBands; ++i) surface.value[i] = value + tilt * (nm(i) - 555) / 300;
    return surface;
}

}  // namespace demo
