// Which of its two editions a chart in a photo is, as far as the photo tells.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "calibrate/sensor_model.hpp"
#include "spectral/chart_edition.hpp"

namespace sw {

struct EditionChoice {
    std::array<double, kChartTables> shares{};  // of the belief, by table; sum 1
    double chance_2014 = 0;                     // of from_2014 against before_2014
};

/// Evidence of linear-Gaussian models that differ in the patches' reflectances alone, about the doubts of a fit already made (a rough one will do);
/// noise and prior scale are averaged over. Patches that fit none (dust, glare) do not count. Charts differ from their table by 1 to 3 %, patch by
/// patch alike, which the evidence takes for independent noise and is too sure by: its logarithm counts a kTempered-th, so that the chance holds
/// (measured: tests/calibrate/edition_choice_study.cpp). Some 5 ms.
///   patch  for each reference of the model: its patch, 0..23; -1: not of the chart
///   only   the edition, where somebody knows it: then its tables share the belief, and chance_2014 is what the photo alone says
[[nodiscard]] EditionChoice choose_edition(const SensorModel&, const std::vector<ReferenceColor>&, const std::vector<int>& patch,
                                           const std::optional<ChartEdition>& only = {});

}  // namespace sw
