// Spectra. A reflectance and a light are different types; neither is a color until the other and an observer are named.
// Both live on one grid: 360..830 nm, step 1 nm (CIE 015:2018), 471 values.
#pragma once

#include <array>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "color/color.hpp"
#include "color/result.hpp"

namespace sw {

inline constexpr int kFirstNm = 360;
inline constexpr int kLastNm = 830;
inline constexpr std::size_t kBands = kLastNm - kFirstNm + 1;
using Bands = std::array<double, kBands>;

/// Spectral reflectance factor, 0..1 for real surfaces without fluorescence, on the grid.
struct Reflectance {
    Bands value{};
};

/// Relative spectral power, any scale, on the grid; 0 where its table has no figure. Has a name a person can read. >= 0 at its table's steps;
/// between them the standard's interpolation may dip below 0 beside a sharp line (F4: by 2 % of the highest), which its sums need.
struct Light {
    std::string name;
    Bands power{};
    /// Spectra that the light may have instead, equally likely, where it is known by a few figures only (shop LEDs and blends with them), each as
    /// bright as `power`; their mean is `power`. Null: the spectrum is known.
    std::shared_ptr<const std::vector<Bands>> may_be{};
};

/// A table as read: wavelengths rising, evenly spaced.
struct SpectrumTable {
    double first_nm = 0, step_nm = 0;
    std::vector<double> value;
};

/// Reads "nm,value" text: comma, semicolon or tab; decimal comma with the latter two; header line and # comments optional;
/// even steps of 1..20 nm, at least 400..700 covered. Errors name the line. `name` is the file for messages.
/// A third and further column is an error that says so.
[[nodiscard]] Result<SpectrumTable> parse_spectrum(std::string_view text, const std::string& name);

/// Reflectance from a table: Sprague (CIE 167:2005) between the steps, end values held outside; values outside -0.01..1.5 refused
/// (percent tables are recognized and divided by 100 when any value exceeds 1.5; then 150 is the limit).
[[nodiscard]] Result<Reflectance> reflectance(const SpectrumTable&, const std::string& name);
/// Light from a table: Sprague, 0 outside; negative power refused, and power too little or one-sided to see colors by.
[[nodiscard]] Result<Light> light_from_table(const SpectrumTable&, const std::string& name);

/// Color of a surface under a light; the perfect diffuser has Y = 100. Summation at 1 nm. Source: CIE 015:2018.
[[nodiscard]] Xyz xyz(const Reflectance&, const Light&, Observer);
/// The light's white point, Y = 100.
[[nodiscard]] Xyz xyz(const Light&, Observer);
/// Color matching functions on the grid: x, y, z bar. Source: ISO/CIE 11664-1 (assets/cie/observers.csv).
[[nodiscard]] const std::array<Bands, 3>& color_matching(Observer);

}  // namespace sw
