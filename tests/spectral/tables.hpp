// Reflectances and sensitivities of the tests' tables on the model's grid.
#pragma once

#include <cmath>
#include <filesystem>
#include <string>
#include <vector>

#include "color/reference.hpp"
#include "slow.hpp"
#include "spectral/bands.hpp"

namespace sw::test {

inline constexpr double kChiSquare95 = 7.815;  // 3 degrees of freedom; any table of chi-square

inline std::string beside(const std::string& name) { return std::string(SW_BESIDE) + "/reference/" + name; }

/// A column of a table whose first column is the wavelength, 380..730 nm in steps of 5 taken.
inline ModelSpectrum column_of(const Csv& csv, std::size_t column) {
    ModelSpectrum s = ModelSpectrum::Constant(std::nan(""));
    for (const std::vector<std::string>& row : csv.rows) {
        const int nm = std::stoi(row.at(0));
        if (nm >= 380 && nm <= 730 && (nm - 380) % 5 == 0) s[(nm - 380) / 5] = std::stod(row.at(column));
    }
    return s;
}

/// The 200 made-up smooth reflectances (member 1 of each pair) of oracle_metamerism_reflectances.csv: nothing the surface library was made from.
inline std::vector<ModelSpectrum> smooth_reflectances() {
    const Csv csv = reference_csv("oracle_metamerism_reflectances.csv");
    std::vector<ModelSpectrum> all;
    for (const std::vector<std::string>& row : csv.rows) {
        if (row.at(2) != "1") continue;
        ModelSpectrum s;
        for (int i = 0; i < kModelBands; ++i) s[i] = std::stod(row.at(static_cast<std::size_t>(3 + i)));
        all.push_back(s);
    }
    return all;
}

inline double mean_of(const std::vector<double>& v) {
    double sum = 0;
    for (double x : v) sum += x;
    return sum / static_cast<double>(v.size());
}
inline double quantile_of(std::vector<double> v, double q) {
    std::sort(v.begin(), v.end());
    const double at = q * static_cast<double>(v.size() - 1);
    const auto i = static_cast<std::size_t>(at);
    return v[i] + (at - static_cast<double>(i)) * (v[std::min(i + 1, v.size() - 1)] - v[i]);
}

}  // namespace sw::test
