// Answers for machines: one JSON object each, as text. Always valid UTF-8; what is not known or not finite is null.
#pragma once

#include <string>
#include <vector>

#include "cli/photo_job.hpp"
#include "cli/request.hpp"
#include "color/metamerism_index.hpp"
#include "workbook/workbook.hpp"

namespace sw {

[[nodiscard]] std::string measure_json(const CalibratedPhoto& photo, const std::vector<Reading>& readings);
/// One photo for each pair; the first is the one the difference is of.
[[nodiscard]] std::string compare_json(const std::vector<CalibratedPhoto>& photos, const Comparison& comparison);
[[nodiscard]] std::string spectra_json(const SpectraRequest& request, const std::vector<PairUnderLight>& pairs);
[[nodiscard]] std::string light_json(const Light& light, Observer observer, const LightQuality& quality);
[[nodiscard]] std::string targets_json(const std::vector<Target>& targets);

}  // namespace sw
