#include "cli/light_job.hpp"

#include <system_error>

#include "workbook/workbook.hpp"

namespace sw {

OwnLights lamps_in(const std::filesystem::path& workbook) {
    return [workbook](const std::string& name) -> Result<Light> {
        std::error_code problem;
        if (!std::filesystem::exists(workbook, problem))
            return Error{Fault::name_unknown, workbook.string(), name, "there is no workbook yet", "add a lamp with swatchwright lamp add"};
        const auto book = Workbook::open(workbook, false);
        if (!book) return book.error();
        const auto lamp = book->lamp(name);
        if (!lamp) return lamp.error();
        return light_of(*lamp);
    };
}

const char* to_word(LightOrigin origin) {
    switch (origin) {
        case LightOrigin::published:
            return "published";
        case LightOrigin::believed:
            return "believed";
        case LightOrigin::file:
            return "file";
    }
    return "";
}

LightFigures light_figures(const Light& lamp, Observer observer) {
    LightFigures figures{lamp, observer, light_quality(lamp), light_quality_sd(lamp), xyz(lamp, observer), white_sd(lamp, observer), {}};
    if (lamp.may_be) {
        figures.origin = LightOrigin::believed;
    } else if (const auto named = light(lamp.name); !named || named->power != lamp.power) {  // not what everybody knows by that name
        figures.origin = LightOrigin::file;
    }
    return figures;
}

std::string no_cct_reason(const LightFigures& figures) {
    if (figures.quality.cct_valid) return "";
    return "not a white light: CCT, Duv, Ra, Rf and Rg are defined within 0.05 of the black body's line only (Duv)";
}

const std::vector<LightForm>& light_forms() {
    static const std::vector<LightForm> forms{{"daylight:5600", "CIE daylight of a CCT, 4000 to 25000 K"},
                                              {"planck:2850", "a glowing black body, 500 to 50000 K"},
                                              {"led:6500,ra=80", "a white LED by the figures on its box: CCT, ra=, and if known duv=, peak="},
                                              {"0.7*led:6500,ra=80+0.3*D65", "a blend, by share of the light"},
                                              {"lamp.csv", "a measured spectrum: lines nm,power"}};
    return forms;
}

}  // namespace sw
