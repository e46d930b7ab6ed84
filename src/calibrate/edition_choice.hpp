// Which of its two editions a chart in a photo is, as far as the photo tells.
#pragma once

#include <optional>
#include <vector>

#include "calibrate/sensor_model.hpp"
#include "spectral/chart_edition.hpp"

namespace sw {

struct EditionChoice {
    std::optional<ChartEdition> edition;    // nothing: not clear
    double log_odds = 0;                    // natural logarithm, > 0 speaks for from_2014
    double fits_before = 0, fits_from = 0;  // mean CIEDE2000 of a patch from what the others tell of it, under either edition
};

/// Evidence of two linear-Gaussian models that differ in the patches' reflectances alone, about the doubts of a fit already made; noise and prior
/// scale are averaged over. Patches that fit neither (dust, glare) do not count. Not clear below odds of e^6: charts differ from their table by some
/// 1 %, which the evidence takes for independent noise and is too sure by (measured: tests/calibrate/edition_choice_test.cpp). Some 10 ms.
///   patch  for each reference of the model: its patch, 0..23; -1: not of the chart
[[nodiscard]] EditionChoice choose_edition(const SensorModel&, const std::vector<ReferenceColor>&, const std::vector<int>& patch);

}  // namespace sw
