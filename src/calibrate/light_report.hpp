// What the references say about the light and the way the picture was rendered: how even, of one color or two, how much haze, one curve or several.
#pragma once

#include <vector>

#include "calibrate/calibration.hpp"
#include "calibrate/evidence.hpp"
#include "calibrate/sensor_model.hpp"

namespace sw {

/// From a finished belief and what it was made of. Nothing in it without references. What a person should act on goes to `warnings`.
[[nodiscard]] LightReport light_report_of(const Evidence&, const SensorModel&, std::vector<std::string>& warnings);

/// "upper left", "left", "middle" ...: a place in the picture, in thirds.
[[nodiscard]] std::string place_word(const SensorSetup&, Point);

}  // namespace sw
