// What a photo's references say, before any model has looked at it. A set-up keeps this and fits later photos from it again.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "calibrate/calibration.hpp"
#include "calibrate/light_field.hpp"
#include "calibrate/sensor_model.hpp"
#include "spectral/sensitivity.hpp"

namespace sw {

struct SeenReference {
    ReferenceColor color;
    Lab value;  // what it should read, D50, 2 degrees
    Region region;
    int patch = -1;  // of the chart, 0..23: then `color` and `value` are those of the one chart before 2014, until fit() has asked which it is
};

// What is added here or in SensorSetup, setup_text.cpp keeps too: it does not compile until it does.
struct Evidence {
    SensorSetup setup;
    Rendering rendering = Rendering::rendered;  // whose statistics `setup.prior` is made of
    std::vector<SeenReference> references;
    std::vector<LightSlope> slopes;
    std::vector<PlainArea> plain;
    std::vector<std::pair<std::size_t, ReferenceUse>> lost;  // references that tell nothing, and where they stand among all
    std::string method;                                      // as Calibration, as are the next three
    std::vector<std::string> lines;
    std::vector<std::string> warnings;
    std::optional<std::array<Point, 4>> chart_corners;
    std::optional<ChartEdition> edition;        // of the chart, where the user knows it
    std::optional<Eigen::Matrix3d> raw_matrix;  // of a camera raw file, XYZ under D65 -> sensor; `setup.prior` has seen it
};

/// Nothing: a raw_matrix that no camera has (spectral/raw_matrix.hpp).
[[nodiscard]] std::optional<Sensitivity> prior_of(const std::optional<Light>& lit_by, Rendering, const std::optional<Eigen::Matrix3d>& raw_matrix);

/// Errors: as calibrate().
[[nodiscard]] Result<Evidence> gather(const Photo&, const References&, const CalibrationOptions&);

/// The belief, the ladder, what became of every reference, the grade; which edition the chart is. Some 50 ms with a chart.
[[nodiscard]] Calibration fit(Evidence);

/// Whether its reflectance is flat enough to call it gray.
[[nodiscard]] bool is_neutral(const ReferenceColor&);

}  // namespace sw
