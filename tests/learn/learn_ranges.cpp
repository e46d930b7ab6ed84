// Makes the 95 % ranges of a color carried to another light honest on surfaces from a source that the library has not seen:
//   learn_ranges [../shared/reference/training_reflectance_190.csv] > assets/spectral/ranges.csv
// The library is made anew without each of its published sources in turn (CIE 13.3, CIE 224, chart), the colors of that source are carried from
// light to light, and the factor on the residual variance is sought that lets 95 % of them fall inside their 95 % ellipsoid, by region. The table
// given, if any, is only scored (standard error), with the whole library and the factors just found: no factor comes from it.
#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "color/difference.hpp"
#include "color/light.hpp"
#include "spectral/posterior.hpp"
#include "spectral/surfaces.hpp"

namespace {

using namespace sw;

constexpr double kChiSquare95 = 7.815;  // 3 degrees of freedom
constexpr double kPooled = 100;
constexpr std::array<const char*, 3> kRegions{"dark", "near_neutral", "other"};
struct Transition {
    const char *from, *to;
};
constexpr std::array<Transition, 6> kTransitions{
    {{"LED-B3", "D65"}, {"LED-B1", "D65"}, {"D65", "A"}, {"LED-B5", "D65"}, {"D65", "LED-B3"}, {"D65", "F11"}}};

/// One color carried: how much the residual must be raised to hold the truth, and what was missed.
struct Case {
    std::size_t source, transition, region;
    double factor, de00;
};

std::size_t region_of(const Eigen::Vector3d& lab) { return lab[0] < 35 ? 0 : std::hypot(lab[1], lab[2]) < 15 ? 1 : 2; }

Eigen::Vector3d lab_under(const ModelSpectrum& r, const Light& l) {
    const Eigen::Vector3d v = 100 * (observer_matrix(l, Observer::degree2) * r);
    const Lab c = lab(Xyz{v[0], v[1], v[2]}, xyz(l, Observer::degree2));
    return {c.L, c.a, c.b};
}

/// Least f with off' (f residual + 0.01)^-1 off <= chi square.
double factor_needed(const Eigen::Matrix3d& residual, const Eigen::Vector3d& off) {
    double low = 1e-3, high = 1e3;
    for (int i = 0; i < 60; ++i) {
        const double f = std::sqrt(low * high);
        const Eigen::Matrix3d spread = f * residual + 0.01 * Eigen::Matrix3d::Identity();
        (off.dot(spread.inverse() * off) <= kChiSquare95 ? high : low) = f;
    }
    return high;
}

void carry(const std::vector<ModelSpectrum>& surfaces, std::size_t source, const SurfaceLibrary& library, std::vector<Case>& cases) {
    for (std::size_t t = 0; t < kTransitions.size(); ++t) {
        const Light from = *light(kTransitions[t].from), to = *light(kTransitions[t].to);
        const LibraryView view = lab_view(from, Observer::degree2, library), target = lab_view(to, Observer::degree2, library);
        for (const ModelSpectrum& r : surfaces) {
            const std::vector<Eigen::Vector3d> at{lab_under(r, from)};
            Neighborhood near = neighborhood({&view}, at);
            near.range_factor = 1;
            const LocalMap map = local_map(near, {&view}, at, Eigen::Matrix3d::Zero(), {&target});
            const Eigen::Vector3d truth = lab_under(r, to);
            const Lab a{map.mean[0], map.mean[1], map.mean[2]}, b{truth[0], truth[1], truth[2]};
            cases.push_back({source, t, region_of(at[0]), factor_needed(map.residual, truth - map.mean), difference_2000(a, b)});
        }
    }
}

/// Conformal quantile: the ceil(0.95 (n + 1))-th smallest.
double conformal(std::vector<double> needed) {
    std::sort(needed.begin(), needed.end());
    const auto rank = static_cast<std::size_t>(std::ceil(0.95 * static_cast<double>(needed.size() + 1)));
    return needed.at(std::min(rank, needed.size()) - 1);
}

void score(const char* name, const std::vector<Case>& cases, const std::array<double, 3>& factors) {
    for (std::size_t t = 0; t < kTransitions.size(); ++t) {
        std::vector<double> errors;
        int raw = 0, inside = 0;
        for (const Case& c : cases) {
            if (c.transition != t) continue;
            errors.push_back(c.de00);
            raw += c.factor <= 1;
            inside += c.factor <= factors[c.region];
        }
        std::sort(errors.begin(), errors.end());
        double sum = 0;
        for (double e : errors) sum += e;
        const auto n = static_cast<double>(errors.size());
        std::fprintf(stderr, "%-18s %-7s -> %-7s %4zu: mean %.3f, 95 %% %.2f, covered %5.1f %% (raw %5.1f %%)\n", name, kTransitions[t].from,
                     kTransitions[t].to, errors.size(), sum / n, errors[static_cast<std::size_t>(0.95 * (n - 1))], 100 * inside / n, 100 * raw / n);
    }
}

std::vector<ModelSpectrum> read_table(const char* path) {
    std::ifstream in(path);
    std::vector<ModelSpectrum> columns;
    for (std::string line; std::getline(in, line);) {
        if (line.empty() || line[0] == '#' || line[0] == 'n') continue;
        std::stringstream cells(line);
        std::vector<double> row;
        for (std::string cell; std::getline(cells, cell, ',');) row.push_back(std::stod(cell));
        if (columns.empty()) columns.resize(row.size() - 1);
        if (row[0] > 730) continue;
        for (std::size_t i = 1; i < row.size(); ++i) columns.at(i - 1)[(static_cast<int>(row[0]) - 380) / 5] = row[i];
    }
    return columns;
}

}  // namespace

int main(int argc, char** argv) {
    const std::array<const char*, 3> names{"CIE 13.3", "CIE 224", "chart"};
    std::vector<Case> cases;
    for (std::size_t s = 0; s < names.size(); ++s) {
        const auto source = static_cast<SampleSource>(s);
        carry(samples_of(source), s, surface_library_without(source), cases);
    }
    // A region of few surfaces tells its 95 % quantile badly (the dark one has 15): it is drawn toward the quantile of all as if that were
    // kPooled cases more.
    std::array<std::vector<double>, 3> needed;
    std::vector<double> everywhere;
    for (const Case& c : cases) {
        needed.at(c.region).push_back(c.factor);
        everywhere.push_back(c.factor);
    }
    std::array<double, 3> factors{};
    for (std::size_t r = 0; r < 3; ++r) {
        const auto n = static_cast<double>(needed[r].size());
        const double own = conformal(needed[r]);
        const double drawn = std::exp((n * std::log(own) + kPooled * std::log(conformal(everywhere))) / (n + kPooled));
        factors[r] = std::max(1.0, std::round(100 * drawn) / 100);
        std::fprintf(stderr, "%-13s %4zu cases: factor %.3f by itself, %.2f with the others (all: %.3f)\n", kRegions[r], needed[r].size(), own,
                     factors[r], conformal(everywhere));
    }
    for (std::size_t s = 0; s < names.size(); ++s) {
        std::vector<Case> own;
        for (const Case& c : cases) {
            if (c.source == s) own.push_back(c);
        }
        score(names[s], own, factors);
    }
    score("all, left out", cases, factors);
    if (argc > 1) {
        std::vector<Case> unseen;
        carry(read_table(argv[1]), 0, surface_library(), unseen);
        score("table", unseen, factors);
    }
    std::printf(
        "# Factors on the variance left among surfaces of like color, so that 95 %% regions cover 95 %% of surfaces from an unseen source.\n");
    std::printf(
        "# Conformal quantiles over the samples of CIE 13.3, CIE 224 and the 24-patch chart, each left out of the surface library in turn, "
        "carried\n");
    std::printf(
        "# between six pairs of lights; each region drawn toward all; never below 1. Regions by the first color: dark L* < 35, near neutral C* < 15, "
        "other.\n");
    std::printf("# Made by tests/learn/learn_ranges.cpp.\nregion,factor,cases\n");
    for (std::size_t r = 0; r < 3; ++r) std::printf("%s,%.2f,%zu\n", kRegions[r], factors[r], needed[r].size());
}
