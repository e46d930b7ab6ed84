#include "cli/json.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "calibrate/calibration.hpp"
#include "calibrate/coverage.hpp"
#include "calibrate/sensor_model.hpp"
#include "sheet/words.hpp"

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

/// What is believed of light, camera and rendering beside the colors, each with its standard deviation.
Json doubts_json(const SensorModel& model) {
    Json list = Json::array();
    const auto add = [&](const char* name, const char* means, Doubt d) {
        list.push_back({{"name", name},
                        {"means", means},
                        {"value", number(model.doubts()[d])},
                        {"sd", number(std::sqrt(model.covariance()(kSensitivitySize + d, kSensitivitySize + d)))}});
    };
    add("gain_red", "logarithm, against what the references say at first", gain_r);
    add("gain_green", "logarithm, against what the references say at first", gain_g);
    add("gain_blue", "logarithm, against what the references say at first", gain_b);
    add("flare", "veiling light, share of the white", flare);
    add("contrast", "of the camera's curve", contrast);
    add("light_across", "logarithm of the light per half picture to the right", light_x);
    add("light_down", "logarithm of the light per half picture down", light_y);
    add("light_fall_off", "logarithm of the light from the middle outward", light_r);
    add("red_across", "the light's red against green, to the right", red_x);
    add("red_down", "the light's red against green, down", red_y);
    add("blue_across", "the light's blue against green, to the right", blue_x);
    add("blue_down", "the light's blue against green, down", blue_y);
    return list;
}

Json setup_use_json(const SetupUse& use) {
    const auto triple = [](const Eigen::Vector3d& v) { return Json::array({number(v[0]), number(v[1]), number(v[2])}); };
    return {{"name", use.name},
            {"photo", use.photo},
            {"compared", use.compared},
            {"log_drift", use.drift ? triple(*use.drift) : Json(nullptr)},
            {"log_drift_sd", triple(use.drift_sd)}};
}

Json light_json(const LightReport& light) {
    const auto figure = [](const LightFigure& f) { return Json{{"value", number(f.value)}, {"sd", number(f.sd)}}; };
    Json json{{"veil", nullptr},          {"uneven", figure(light.uneven)}, {"brightest", light.brightest}, {"tint", figure(light.tint)},
              {"warmest", light.warmest}, {"local_tone", nullptr},          {"words", light.lines}};
    if (light.veil) json["veil"] = figure(*light.veil);
    if (light.local_tone) json["local_tone"] = figure(light.local_tone->apart);
    return json;
}

Json chart_json(const ChartReading& chart) {
    return {{"edition", chart.edition ? Json(*chart.edition == ChartEdition::from_2014 ? "2014" : "before-2014") : Json(nullptr)},
            {"told", chart.told},
            {"chance_2014", number(chart.chance_2014)},
            {"words", chart.words}};
}

Json calibration_json(const Calibration& calibration) {
    Json uses = Json::array();
    const ReferenceUse* worst = nullptr;
    for (const ReferenceUse& use : calibration.uses) {
        if (use.used && use.read && (worst == nullptr || use.de00 > worst->de00)) worst = &use;
        uses.push_back({{"name", use.name},
                        {"used", use.used},
                        {"de00", use.read ? number(use.de00) : Json(nullptr)},
                        {"left_out", use.left_out},
                        {"remark", use.remark},
                        {"value", figures(use.value)},
                        {"read", use.read ? figures(*use.read) : Json(nullptr)},
                        {"region", to_text(use.region)},
                        {"at", Json::array({number(use.at.x, 1), number(use.at.y, 1)})},
                        {"elsewhere", use.elsewhere}});
    }
    Json ladder = Json::array();
    for (const PlainMapScore& map : calibration.ladder)
        ladder.push_back({{"map", map.name}, {"loo", {{"mean", number(map.loo.mean)}, {"p95", number(map.loo.p95)}}}});
    Json json{{"method", calibration.method},
              {"references", calibration.references},
              {"loo", {{"mean", number(calibration.loo.mean)}, {"p95", number(calibration.loo.p95)}, {"count", calibration.loo.count}}},
              {"warnings", calibration.warnings},
              {"grade", calibration.grade},
              {"uses", std::move(uses)},
              {"ladder", std::move(ladder)},
              {"maps_apart", calibration.ladder.empty() ? Json(nullptr) : number(calibration.maps_apart)},
              {"chart_corners", nullptr},
              {"chart", calibration.chart ? chart_json(*calibration.chart) : Json(nullptr)},
              {"worst", worst != nullptr ? Json{{"name", worst->name}, {"de00", number(worst->de00)}} : Json(nullptr)},
              {"not_covered", not_covered(calibration.uses)},
              {"doubts", calibration.sensor ? doubts_json(*calibration.sensor) : Json::array()},
              {"setup", calibration.setup ? setup_use_json(*calibration.setup) : Json(nullptr)}};
    json["light"] = light_json(calibration.light);
    json["absolute_ok"] = calibration.absolute_ok;
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
    Json json{{"name", reading.name},
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
              {"rejected", number(reading.statistics.rejected)},
              {"absolute_ok", reading.absolute_ok},
              {"warnings", reading.warnings}};
    if (!reading.absolute_ok) {  // no figure is better than a wrong one
        for (const char* unknown : {"lab", "lab_sd", "lab_cov", "xyz", "lch", "lch_sd", "lrv", "lrv_sd", "srgb", "srgb_in_gamut"})
            json[unknown] = nullptr;
    }
    return json;
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

std::string correct_json(const CorrectRequest& request, const CalibratedPhoto& photo, const std::optional<SavedPicture>& saved) {
    const auto named = [](const std::string& file) { return file.empty() ? Json(nullptr) : Json{{"file", file}}; };
    Json json = photo_json(photo);
    json["picture"] = named(request.out);
    if (saved) {
        json["picture"].update({{"width", saved->width},
                                {"height", saved->height},
                                {"format", saved->format},
                                {"bits", saved->bits},
                                {"strip", request.options.strip},
                                {"light", request.options.under ? request.options.under->name : "D50"}});
    }
    json["profile"] = named(request.profile);
    json["report"] = named(request.report);
    json["calibration"] = calibration_json(photo.calibration);
    json["not_covered"] = not_covered(photo.calibration.uses);
    return text(json);
}

std::string compare_json(const std::vector<CalibratedPhoto>& photos, const Comparison& comparison, const std::string& ladder) {
    const Difference& d = comparison.difference;
    Json budget = Json::array();
    for (const ErrorPart& part : d.budget)
        budget.push_back({{"name", part.name}, {"de00", number(part.size)}, {"ci95_without", figures(part.ci95_without)}, {"advice", part.advice}});
    Json directions = Json::array(), thresholds = Json::array(), second = Json::array();
    for (const Direction& way : d.directions) directions.push_back({{"word", way.word}, {"chance", number(way.chance)}});
    for (const Threshold& t : d.thresholds)
        thresholds.push_back(
            {{"name", t.name}, {"de00", number(t.de00)}, {"verdict", to_word(t.verdict)}, {"chance_beyond", number(t.chance_beyond)}});
    for (const SecondLight& s : comparison.second_light) second.push_back({{"light", s.light}, {"where", s.where}, {"sd", number(s.sd)}});
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
                   {"directions", std::move(directions)},
                   {"tolerance", number(d.tolerance)},
                   {"chance_beyond", number(d.chance_beyond)},
                   {"thresholds", std::move(thresholds)},
                   {"textured", d.textured},
                   {"largest_error", d.largest_error},
                   {"advice", d.advice},
                   {"budget", std::move(budget)}}},
                 {"lights", std::move(lights)},
                 {"chip", reading_json(comparison.chip)},
                 {"swatch", reading_json(comparison.swatch)},
                 {"calibration", calibration_json(photos.front().calibration)},
                 {"lit_by", comparison.lit_by},
                 {"elsewhere_sd", number(comparison.elsewhere_sd)},
                 {"second_light", std::move(second)},
                 {"unusual", comparison.unusual},
                 {"notes", comparison.notes},
                 {"photos", std::move(files)},
                 {"ladder", ladder.empty() ? Json(nullptr) : Json{{"file", ladder}}}});
}

std::string rank_json(const RankRequest& request, const CalibratedPhoto& photo, const std::vector<Ranked>& ranked, const std::string& to) {
    Json list = Json::array();
    for (const Ranked& r : ranked) {
        list.push_back({{"name", r.name},
                        {"rank", r.rank},
                        {"tied", r.tied},
                        {"chance_nearest", number(r.nearest)},
                        {"de00", number(r.de00)},
                        {"ci95", figures(r.ci95)},
                        {"verdict", to_word(r.verdict)},
                        {"words", r.words},
                        {"not_told_from", r.not_told_from}});
    }
    Json json = photo_json(photo);
    json["against"] = to;
    json["tolerance"] = number(request.options.tolerance);
    json["ranking"] = std::move(list);
    json["words"] = ranking_words(ranked, to, request.options.tolerance);
    json["calibration"] = calibration_json(photo.calibration);
    return text(json);
}

std::string coat_json(const std::vector<CalibratedPhoto>& photos, const CoatChange& c, const std::vector<std::string>& notes) {
    Json files = Json::array();
    for (const CalibratedPhoto& photo : photos) {
        Json one = photo_json(photo);
        one["calibration"] = calibration_json(photo.calibration);
        files.push_back(std::move(one));
    }
    return text({{"change",
                  {{"de00", number(c.de00)},
                   {"ci95", figures(c.ci95)},
                   {"dL", number(c.dL)},
                   {"dC", number(c.dC)},
                   {"dH", number(c.dH)},
                   {"dL_sd", number(c.dL_sd)},
                   {"dC_sd", number(c.dC_sd)},
                   {"dH_sd", number(c.dH_sd)},
                   {"distinct", c.distinct},
                   {"words", c.words},
                   {"means", c.means}}},
                 {"lab_before", figures(c.before)},
                 {"lab_after", figures(c.after)},
                 {"notes", notes},
                 {"photos", std::move(files)}});
}

std::string map_json(const MapRequest& request, const CalibratedPhoto& photo, const DifferenceMap& map, const std::string& target,
                     const std::string& light, const std::vector<std::string>& words) {
    const auto figure = [](const MapFigure& f) { return Json{{"value", number(f.value)}, {"ci95", figures(f.ci95)}}; };
    Json patches = Json::array();
    for (const MapPatch& patch : map.patches) {
        patches.push_back({{"where", patch.where},
                           {"at", Json::array({number(patch.at.x, 1), number(patch.at.y, 1)})},
                           {"share", number(patch.share)},
                           {"de00", number(patch.de00)},
                           {"de00_sd", number(map.noise)},
                           {"dL", number(patch.dL)},
                           {"dC", number(patch.dC)},
                           {"dH", number(patch.dH)},
                           {"words", patch.words}});
    }
    Json json = photo_json(photo);
    json.update({{"region", to_text(request.region)},
                 {"against", target},
                 {"light", light},
                 {"tolerance", number(map.tolerance)},
                 {"within", figure(map.within)},
                 {"median", figure(map.median)},
                 {"p95", figure(map.p95)},
                 {"uneven", number(map.uneven)},
                 {"noise", number(map.noise)},
                 {"smooth_pixels", number(map.smooth, 1)},
                 {"light_doubt", number(map.light_doubt)},
                 {"glossy", number(map.glossy)},
                 {"clipped", number(map.spoiled)},
                 {"patches", std::move(patches)},
                 {"words", words},
                 {"picture", request.out.empty() ? Json(nullptr) : Json{{"file", request.out}}},
                 {"calibration", calibration_json(photo.calibration)}});
    return text(json);
}

std::string spectra_json(const SpectraRequest& request, const std::vector<JudgedPair>& pairs) {
    Json lights = Json::array();
    for (std::size_t i = 0; i < pairs.size(); ++i) {
        const auto& [pair, range] = pairs[i];
        lights.push_back({{"light", request.under[i].name},
                          {"lab_a", figures(pair.a)},
                          {"lab_b", figures(pair.b)},
                          {"de00", number(pair.de00)},
                          {"metamerism_index", number(pair.index_1976)},
                          {"metamerism_index_de00", number(pair.index_2000)},
                          {"lab_a_sd", range ? figures(range->a_sd) : Json(nullptr)},
                          {"lab_b_sd", range ? figures(range->b_sd) : Json(nullptr)},
                          {"de00_ci95", range ? figures(range->de00) : Json(nullptr)},
                          {"metamerism_index_ci95", range ? figures(range->index_1976) : Json(nullptr)},
                          {"metamerism_index_de00_ci95", range ? figures(range->index_2000) : Json(nullptr)}});
    }
    Json warnings = Json::array();
    if (const std::string warning(correction_warning(request.correction)); !warning.empty()) warnings.push_back(warning);
    return text({{"lights", std::move(lights)},
                 {"reference_light", request.under.front().name},
                 {"correction", request.correction == Correction::additive ? "additive" : "multiplicative"},
                 {"observer", degrees(request.observer)},
                 {"warnings", std::move(warnings)}});
}

namespace {

Json special_indices_json(const LightQuality& quality) {
    Json list = Json::array();
    for (std::size_t i = 0; i < 14; ++i) list.push_back(number(quality.ri[i], 2));  // R15 has no table at hand
    return list;
}

Json light_figures_json(const LightFigures& light) {
    const LightQuality &q = light.quality, &sd = light.sd;
    const Xy chromaticity = xy(light.white);
    const UvPrime uniform = uv_prime(light.white);
    const bool valid = q.cct_valid;
    const auto known = [&](double value, int decimals) { return valid ? number(value, decimals) : Json(nullptr); };
    Json json{{"name", light.light.name},
              {"xyz", figures(light.white)},
              {"xy", Json::array({number(chromaticity.x, 6), number(chromaticity.y, 6)})},
              {"uv_prime", Json::array({number(uniform.u, 6), number(uniform.v, 6)})},
              {"cct", known(q.cct, 1)},
              {"duv", known(q.duv, 5)},
              {"ra", known(q.ra, 2)},
              {"r9", known(q.r9, 2)},
              {"rf", known(q.rf, 2)},
              {"rg", known(q.rg, 2)},
              {"ri", valid ? special_indices_json(q) : Json(nullptr)},
              {"observer", degrees(light.observer)},
              {"exact", light.origin == LightOrigin::published},
              {"known", to_word(light.origin)},
              {"sd", nullptr},
              {"words", light_words(q, sd)},
              {"reason", valid ? Json(nullptr) : Json(no_cct_reason(light))}};
    if (light.origin != LightOrigin::file) {
        json["sd"] = {{"xyz", figures(light.white_sd.xyz)},
                      {"xy", Json::array({number(light.white_sd.xy.x, 6), number(light.white_sd.xy.y, 6)})},
                      {"uv_prime", Json::array({number(light.white_sd.uv.u, 6), number(light.white_sd.uv.v, 6)})},
                      {"cct", known(sd.cct, 1)},
                      {"duv", known(sd.duv, 5)},
                      {"ra", known(sd.ra, 2)},
                      {"r9", known(sd.r9, 2)},
                      {"rf", known(sd.rf, 2)},
                      {"rg", known(sd.rg, 2)},
                      {"ri", valid ? special_indices_json(sd) : Json(nullptr)}};
    }
    return json;
}

Json file_or_null(const std::string& file) { return file.empty() ? Json(nullptr) : Json(file); }

const char* to_word(ColorForm form) {
    switch (form) {
        case ColorForm::lab:
            return "lab";
        case ColorForm::lch:
            return "lch";
        case ColorForm::xyz:
            return "xyz";
        case ColorForm::srgb:
            return "srgb";
        case ColorForm::p3:
            return "p3";
        case ColorForm::munsell_value:
            return "munsell-value";
        case ColorForm::lrv:
            return "lrv";
    }
    return "";
}

}  // namespace

std::string light_json(const LightFigures& light, const std::string& plot) {
    Json json = light_figures_json(light);
    json["plot"] = file_or_null(plot);
    return text(json);
}

std::string light_list_json(const std::vector<LightFigures>& lights, const std::vector<OwnFigures>& own) {
    Json list = Json::array(), lamps = Json::array(), also = Json::array();
    for (const OwnFigures& lamp : own) {
        lamps.push_back(light_figures_json(lamp.figures));
        lamps.back()["lamp"] = lamp.name;
    }
    for (const LightFigures& light : lights) list.push_back(light_figures_json(light));
    for (const LightForm& form : light_forms()) also.push_back({{"form", form.form}, {"means", form.means}});
    Json json;
    json["lights"] = std::move(list);
    json["lamps"] = std::move(lamps);
    json["also"] = std::move(also);
    return text(json);
}

std::string color_json(const ColorRequest& request, const ColorFacts& facts) {
    const bool neutral = request.color.form == ColorForm::lrv || request.color.form == ColorForm::munsell_value;
    return text({{"value", request.text},
                 {"from", to_word(request.color.form)},
                 {"light", request.under.name},
                 {"observer", degrees(request.observer)},
                 {"lab", figures(facts.lab)},
                 {"lch", numbers(facts.lch.L, facts.lch.C, facts.lch.h)},
                 {"luv", numbers(facts.luv.L, facts.luv.u, facts.luv.v)},
                 {"xyz", figures(facts.xyz)},
                 {"xy", Json::array({number(facts.xy.x, 6), number(facts.xy.y, 6)})},
                 {"lrv", number(facts.lrv)},
                 {"munsell_value", number(facts.munsell_value)},
                 {"srgb", hex(facts.srgb.rgb)},
                 {"srgb_in_gamut", facts.srgb.in_gamut},
                 {"p3", hex(EncodedRgb{facts.p3.r, facts.p3.g, facts.p3.b})},
                 {"p3_in_gamut", facts.in_p3},
                 {"can_be_surface", facts.surface},
                 {"neutral_meant", neutral},
                 {"exact", true},
                 {"words", color_words(facts.lab)},
                 {"notes", color_notes(request, facts)},
                 {"plot", file_or_null(request.plot)}});
}

std::string calibrate_json(const CalibrateRequest& request, const CalibratedPhoto& photo) {
    Json json = photo_json(photo);
    json["calibration"] = calibration_json(photo.calibration);
    json["saved"] = request.save.empty() ? Json(nullptr) : Json{{"setup", request.save}, {"workbook", request.photo.workbook.string()}};
    return text(json);
}

std::string cards_json(const std::vector<Card>& cards) {
    Json list = Json::array();
    for (const Card& card : cards) {
        const auto* lrv = std::get_if<Lrv>(&card.value);
        const auto* color = std::get_if<Lab>(&card.value);
        list.push_back({{"name", card.name},
                        {"kind", lrv != nullptr     ? "lrv"
                                 : color != nullptr ? "lab"
                                                    : "spectrum"},
                        {"lrv", lrv != nullptr ? number(lrv->value) : Json(nullptr)},
                        {"lab", color != nullptr ? figures(*color) : Json(nullptr)},
                        {"spectrum", lrv == nullptr && color == nullptr ? Json(std::get<SpectrumText>(card.value).csv) : Json(nullptr)},
                        {"sd", number(card.sd)},
                        {"sd_assumed", card.sd_assumed},
                        {"source", card.source},
                        {"created", card.created}});
    }
    Json json;
    json["cards"] = std::move(list);
    return text(json);
}

std::string setups_json(const std::vector<KeptSetup>& setups) {
    Json list = Json::array();
    for (const KeptSetup& setup : setups) {
        list.push_back({{"name", setup.name},
                        {"photo", setup.photo_file},
                        {"hash", setup.photo_hash},
                        {"lit_by", setup.light.empty() ? Json(nullptr) : Json(setup.light)},
                        {"method", setup.method},
                        {"grade", setup.grade},
                        {"created", setup.created}});
    }
    Json json;
    json["setups"] = std::move(list);
    return text(json);
}

std::string screen_json(const ScreenRequest& request, const std::vector<Photo>& photos, const ScreenReading& reading,
                        const std::optional<Target>& kept) {
    Json frames = Json::array();
    for (std::size_t i = 0; i < reading.frames.size(); ++i) {
        const FrameReading& frame = reading.frames[i];
        frames.push_back({{"file", photos[i].path},
                          {"hash", photos[i].content_hash},
                          {"encoding", photos[i].encoding},
                          {"region", to_text(request.frames[i].region)},
                          {"lab", figures(frame.lab)},
                          {"lab_sd", figures(lab_sd(frame.covariance))},
                          {"from_middle", number(frame.from_middle)},
                          {"left_out", frame.left_out},
                          {"notes", frame.notes}});
    }
    Json parts = Json::array();
    for (const ScreenPart& part : reading.parts) parts.push_back({{"name", part.name}, {"sd", number(part.sd)}});
    const double lrv = xyz(reading.lab).Y, sd = lab_sd(reading.covariance)[0];
    const auto y_at = [&](double lightness) { return xyz(Lab{std::max(0.0, lightness), 0, 0, reading.lab.white}).Y; };
    return text(Json{{"appearance", kAppearance},
                     {"lab", figures(reading.lab)},
                     {"lab_sd", figures(lab_sd(reading.covariance))},
                     {"lab_cov", figures(reading.covariance)},
                     {"lrv", number(lrv)},
                     {"lrv_sd", number((y_at(reading.lab.L + sd) - y_at(reading.lab.L - sd)) / 2)},
                     {"srgb", hex(screen_color(reading.lab).rgb)},
                     {"light", "D50"},
                     {"observer", 2},
                     {"as_displayed", reading.as_displayed},
                     {"still", request.still.empty() ? Json(nullptr) : Json(request.still)},
                     {"frames", std::move(frames)},
                     {"parts", std::move(parts)},
                     {"notes", reading.notes},
                     {"kept", kept ? Json(kept->name) : Json(nullptr)}});
}

std::string targets_json(const std::vector<Target>& targets, const std::set<std::int64_t>& off_record, const std::vector<Distance>& distances) {
    Json list = Json::array();
    for (const Target& target : targets) {
        list.push_back({{"name", target.name},
                        {"lab", figures(target.lab)},
                        {"lab_cov", figures(target.lab_covariance)},
                        {"kind", to_word(target.kind)},
                        {"light", target.light},
                        {"observer", degrees(target.observer)},
                        {"source", target.source},
                        {"photo_not_on_record", off_record.contains(target.id)},
                        {"created", target.created},
                        {"srgb", hex(screen_color(target.lab).rgb)}});
        if (target.kind == TargetKind::screen) list.back()["caution"] = target.caution.empty() ? kAppearance : target.caution;
        if (!target.spectrum.empty()) list.back()["spectrum"] = target.spectrum;
        if (!distances.empty()) {
            list.back()["de00"] = number(distances[list.size() - 1].de00);
            list.back()["de00_sd"] = number(distances[list.size() - 1].sd);
        }
    }
    Json json;
    json["targets"] = std::move(list);
    return text(json);
}

}  // namespace sw
