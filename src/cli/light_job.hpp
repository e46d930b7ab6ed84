// What is to be told of a light, worked out once for text, JSON and plot.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "match/doubtful_light.hpp"

namespace sw {

/// The lamps of a workbook by name; none where there is no such file.
[[nodiscard]] OwnLights lamps_in(const std::filesystem::path& workbook);

/// How a light's spectrum is known.
enum class LightOrigin {
    published,  // a table or formula of the CIE (or blends of them): exact
    believed,   // one of many that fit the figures on a box: Light::may_be
    file,       // as measured by somebody; with what error is not known
};
[[nodiscard]] const char* to_word(LightOrigin origin);

struct LightFigures {
    Light light;
    Observer observer = Observer::degree2;
    LightQuality quality, sd;  // sd: 0 but for believed lights
    Xyz white;
    WhiteSd white_sd;
    LightOrigin origin = LightOrigin::published;
};
[[nodiscard]] LightFigures light_figures(const Light& light, Observer observer);

/// Of a lamp in the workbook, under its name there.
struct OwnFigures {
    std::string name;
    LightFigures figures;
};

/// Why CCT and what follows from it are not told; empty if they are.
[[nodiscard]] std::string no_cct_reason(const LightFigures& figures);

/// What can be typed besides the names: form and meaning.
struct LightForm {
    const char *form, *means;
};
[[nodiscard]] const std::vector<LightForm>& light_forms();

}  // namespace sw
