#include "demo/shelf.hpp"

#include <cmath>

#include "color/light.hpp"

namespace demo {
namespace {

using nlohmann::ordered_json;

constexpr const char* kMade = "2026-05-04T09:00:00.000Z";
constexpr const char* kWhite = "Titanium White";

struct Tube {
    const char *name, *pigments;
    bool strong;  // its tints are let down farther
};
constexpr Tube kTubes[] = {
    {kWhite, "PW6", false},           {"Yellow Oxide", "PY42", false},    {"Red Oxide", "PR101", false},          {"Phthalo Green", "PG7", true},
    {"Phthalo Blue", "PB15:3", true}, {"Ultramarine", "PB29", false},     {"Quinacridone Violet", "PV19", false}, {"Diarylide Yellow", "PY83", false},
    {"Burnt Umber", "PBr7", false},   {"Dioxazine Purple", "PV23", true}, {"Carbon Black", "PBk7", true}};

sw::Light d50() { return *sw::light("D50"); }

ordered_json color_json(const Recipe& recipe, double sd, const char* white_name) {
    const sw::Lab lab = color_of(recipe);
    const auto tenth = [](double value) { return std::round(value * 10) / 10 + 0.0; };
    return {{"lab", {tenth(lab.L), tenth(lab.a), tenth(lab.b)}},
            {white_name, {lab.white.X, lab.white.Y, lab.white.Z}},
            {"covariance", {sd * sd, 0.0, 0.0, sd * sd, 0.0, sd * sd}}};
}

}  // namespace

sw::Lab color_of(const Recipe& recipe) {
    const sw::Light light = d50();
    return sw::lab(sw::xyz(painted(recipe), light, sw::Observer::degree2), sw::xyz(light, sw::Observer::degree2));
}

ordered_json shelf_json(const std::vector<std::pair<std::string, Recipe>>& chips) {
    constexpr double kChipSd = 0.2, kSampleSd = 0.3;
    ordered_json targets = ordered_json::array(), paints = ordered_json::array(), samples = ordered_json::array();
    for (const auto& [name, recipe] : chips) {
        ordered_json target{{"id", targets.size() + 1}, {"name", name}};
        target.update(color_json(recipe, kChipSd, "white"));
        target.update({{"kind", "chip"},
                       {"light", "D50"},
                       {"observer", 2},
                       {"source", "the demo's chip, as rendered"},
                       {"created", kMade},
                       {"spectrum", ""},
                       {"caution", ""}});
        targets.push_back(std::move(target));
    }
    for (const Tube& tube : kTubes) {
        const int id = static_cast<int>(paints.size()) + 1;
        const bool white = std::string(tube.name) == kWhite;
        paints.push_back({{"id", id},
                          {"name", tube.name},
                          {"maker", "Marrowdale Works"},
                          {"code", "M" + std::to_string(id)},
                          {"binder", "acrylic"},
                          {"finish", "matte"},
                          {"pigments", tube.pigments},
                          {"white", white},
                          {"on_shelf", true},
                          {"drop_ml", 0.05},
                          {"drop_cv", 0.05},
                          {"density", nullptr},
                          {"bottle_ml", 20.0},
                          {"price", nullptr},
                          {"stock_ml", nullptr},
                          {"stock_said", ""},
                          {"note", ""},
                          {"source", "the demo's shelf, invented"},
                          {"created", kMade}});
        for (const double share : white ? std::vector<double>{1} : std::vector<double>{1, tube.strong ? 0.04 : 0.2, tube.strong ? 0.01 : 0.05}) {
            Recipe recipe{{tube.name, share}};
            if (share < 1) recipe.emplace_back(kWhite, 1 - share);
            ordered_json sample{{"paint", id}, {"share", share}, {"white", share < 1 ? ordered_json(1) : ordered_json(nullptr)}};
            sample.update(color_json(recipe, kSampleSd, "white_point"));
            sample.update({{"light", "D50"},
                           {"observer", 2},
                           {"spectrum", ""},
                           {"spectrum_sd", nullptr},
                           {"film", nullptr},
                           {"film_um", nullptr},
                           {"film_cv", nullptr},
                           {"under", nullptr},
                           {"coat", ""},
                           {"set_aside", false},
                           {"reading", nullptr},
                           {"source", "painted out, dry"},
                           {"created", kMade}});
            samples.push_back(std::move(sample));
        }
    }
    return {{"format", "swatchwright-workbook"}, {"version", 1}, {"targets", targets}, {"paints", paints}, {"samples", samples}};
}

}  // namespace demo
