#include "cli/json.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "calibrate/calibration.hpp"

namespace sw {
namespace {

using Json = nlohmann::ordered_json;

// A figure with so many decimals; null if it is none.
Json number(double value, int decimals = 4) {
    if (!std::isfinite(value)) return nullptr;
    const double scale = std::pow(10.0, decimals);
    const double rounded = std::round(value * scale) / scale;
    return std::isfinite(rounded) ? rounded + 0.0 : value;  // + 0.0: no "-0.0"
}
Json number(const std::optional<double>& value) { return value ? number(*value) : Json(nullptr); }
template <class... Figures>
Json numbers(Figures... figures) {
    return Json::array({number(figures)...});
}
Json figures(const Lab& color) { return numbers(color.L, color.a, color.b); }
Json figures(const Xyz& color) { return numbers(color.X, color.Y, color.Z); }
Json figures(const std::array<double, 3>& values) { return numbers(values[0], values[1], values[2]); }
Json figures(const Interval& interval) { return numbers(interval.low, interval.high); }
Json figures(const Eigen::Matrix3d& matrix) {
    Json rows = Json::array();
    for (int row = 0; row < 3; ++row) {
        Json cells = Json::array();
        for (int column = 0; column < 3; ++column) cells.push_back(number(matrix(row, column), 6));
        rows.push_back(std::move(cells));
    }
    return rows;
}
int degrees(Observer observer) { return observer == Observer::degree2 ? 2 : 10; }

std::string text(const Json& json) { return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n"; }

Json calibration_json(const Calibration& calibration) {
    Json uses = Json::array();
    for (const ReferenceUse& use : calibration.uses) {
        uses.push_back({{"name", use.name}, {"used", use.used}, {"de00", number(use.de00)}, {"left_out", use.left_out}, {"remark", use.remark}});
    }
    Json json{{"method", calibration.method},
              {"references", calibration.references},
              {"loo", {{"mean", number(calibration.loo.mean)}, {"p95", number(calibration.loo.p95)}, {"count", calibration.loo.count}}},
              {"warnings", calibration.warnings},
              {"grade", calibration.grade},
              {"uses", std::move(uses)},
              {"chart_corners", nullptr}};
    if (calibration.chart_corners) {
        Json corners = Json::array();
        for (const Point& corner : *calibration.chart_corners) {
            corners.push_back(number(corner.x, 1));
            corners.push_back(number(corner.y, 1));
        }
        json["chart_corners"] = std::move(corners);
    }
    return json;
}

Json reading_json(const Reading& reading) {
    return {{"name", reading.name},
            {"region", to_text(reading.region)},
            {"lab", figures(reading.lab)},
            {"lab_sd", figures(lab_sd(reading))},
            {"lab_cov", figures(reading.lab_covariance)},
            {"xyz", figures(reading.xyz)},
            {"lch", numbers(reading.lch.L, reading.lch.C, reading.lch.h)},
            {"lch_sd", figures(lch_sd(reading.lab, reading.lab_covariance))},
            {"lrv", number(reading.lrv)},
            {"lrv_sd", number(reading.lrv_sd)},
            {"srgb", hex(reading.screen.rgb)},
            {"srgb_in_gamut", reading.screen.in_gamut},
            {"light", reading.light},
            {"observer", degrees(reading.observer)},
            {"pixels", reading.statistics.pixels},
            {"clipped", number(reading.statistics.clipped)},
            {"warnings", reading.warnings}};
}

Json photo_json(const CalibratedPhoto& photo) {
    return {{"file", photo.photo->path},
            {"hash", photo.photo->content_hash},
            {"encoding", photo.photo->encoding},
            {"lit_by", photo.lit_by ? Json(photo.lit_by->name) : Json(nullptr)},
            {"notes", photo.photo->notes}};
}

}  // namespace

std::string measure_json(const CalibratedPhoto& photo, const std::vector<Reading>& readings) {
    Json regions = Json::array();
    for (const Reading& reading : readings) regions.push_back(reading_json(reading));
    Json json = photo_json(photo);
    json["calibration"] = calibration_json(photo.calibration);
    json["regions"] = std::move(regions);
    return text(json);
}

std::string compare_json(const std::vector<CalibratedPhoto>& photos, const Comparison& comparison) {
    const Difference& d = comparison.difference;
    Json budget = Json::array();
    for (const ErrorPart& part : d.budget) budget.push_back({{"name", part.name}, {"de00", number(part.size)}, {"advice", part.advice}});
    Json lights = Json::array();
    for (const PairUnder& under : comparison.lights) {
        lights.push_back({{"light", under.light},
                          {"kind", to_word(under.kind)},
                          {"de00", number(under.de00)},
                          {"ci95", figures(under.ci95)},
                          {"breaks_probability", number(under.breaks_probability)},
                          {"bounds", figures(under.bounds)},
                          {"flag", to_word(under.flag)},
                          {"flag_sure", under.flag_sure},
                          {"lab_chip", figures(under.chip)},
                          {"lab_swatch", figures(under.swatch)}});
    }
    Json files = Json::array();
    for (const CalibratedPhoto& photo : photos) {
        Json one = photo_json(photo);
        one["calibration"] = calibration_json(photo.calibration);
        files.push_back(std::move(one));
    }
    return text({{"difference",
                  {{"de00", number(d.de00)},
                   {"ci95", figures(d.ci95)},
                   {"dL", number(d.dL)},
                   {"dC", number(d.dC)},
                   {"dH", number(d.dH)},
                   {"dL_sd", number(d.dL_sd)},
                   {"dC_sd", number(d.dC_sd)},
                   {"dH_sd", number(d.dH_sd)},
                   {"words", d.words},
                   {"verdict", to_word(d.verdict)},
                   {"tolerance", number(d.tolerance)},
                   {"largest_error", d.largest_error},
                   {"advice", d.advice},
                   {"budget", std::move(budget)}}},
                 {"lights", std::move(lights)},
                 {"chip", reading_json(comparison.chip)},
                 {"swatch", reading_json(comparison.swatch)},
                 {"calibration", calibration_json(photos.front().calibration)},
                 {"lit_by", comparison.lit_by},
                 {"notes", comparison.notes},
                 {"photos", std::move(files)}});
}

std::string spectra_json(const SpectraRequest& request, const std::vector<PairUnderLight>& pairs) {
    Json lights = Json::array();
    for (std::size_t i = 0; i < pairs.size(); ++i) {
        lights.push_back({{"light", request.under[i].name},
                          {"lab_a", figures(pairs[i].a)},
                          {"lab_b", figures(pairs[i].b)},
                          {"de00", number(pairs[i].de00)},
                          {"metamerism_index", number(pairs[i].index_1976)},
                          {"metamerism_index_de00", number(pairs[i].index_2000)}});
    }
    return text({{"lights", std::move(lights)}, {"reference_light", request.under.front().name}, {"observer", degrees(request.observer)}});
}

std::string light_json(const Light& light, Observer observer, const LightQuality& quality) {
    const Xyz white = xyz(light, observer);
    const Xy chromaticity = xy(white);
    const bool valid = quality.cct_valid;
    const auto known = [&](double value, int decimals) { return valid ? number(value, decimals) : Json(nullptr); };
    return text({{"name", light.name},
                 {"xyz", figures(white)},
                 {"xy", Json::array({number(chromaticity.x, 6), number(chromaticity.y, 6)})},
                 {"cct", known(quality.cct, 1)},
                 {"duv", known(quality.duv, 5)},
                 {"ra", known(quality.ra, 2)},
                 {"r9", known(quality.r9, 2)},
                 {"rf", known(quality.rf, 2)},
                 {"rg", known(quality.rg, 2)},
                 {"observer", degrees(observer)}});
}

std::string targets_json(const std::vector<Target>& targets) {
    Json list = Json::array();
    for (const Target& target : targets) {
        list.push_back({{"name", target.name},
                        {"lab", figures(target.lab)},
                        {"lab_cov", figures(target.lab_covariance)},
                        {"kind", to_word(target.kind)},
                        {"light", target.light},
                        {"observer", degrees(target.observer)},
                        {"source", target.source},
                        {"created", target.created},
                        {"srgb", hex(screen_color(target.lab).rgb)}});
    }
    Json json;
    json["targets"] = std::move(list);
    return text(json);
}

}  // namespace sw
