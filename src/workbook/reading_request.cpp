#include "workbook/reading_request.hpp"

#include <cmath>
#include <cstdio>
#include <iomanip>
#include <nlohmann/json.hpp>
#include <sstream>

#include "color/light.hpp"
#include "workbook/rows.hpp"

namespace sw {
namespace {

using Json = nlohmann::json;

constexpr std::size_t kMostReferences = 200;

Json bands_json(const Bands& bands) {
    Json list = Json::array();
    for (const double v : bands) list.push_back(v);
    return list;
}

Json lamp_json(const Light& lamp) {
    Json json{{"name", lamp.name}};
    if (light(lamp.name)) return json;
    json["power"] = bands_json(lamp.power);
    if (lamp.may_be) {
        json["may_be"] = Json::array();
        for (const Bands& one : *lamp.may_be) json["may_be"].push_back(bands_json(one));
    }
    return json;
}

Json lab_json(const Lab& color) { return Json::array({color.L, color.a, color.b}); }

Json references_json(const References& references) {
    Json grays = Json::array(), known = Json::array(), cards = Json::array(), plain = Json::array();
    for (const GrayReference& gray : references.grays) grays.push_back({{"region", to_text(gray.region)}, {"lrv", gray.lrv}});
    for (const KnownReference& chip : references.known)
        known.push_back({{"name", chip.name}, {"region", to_text(chip.region)}, {"lab", lab_json(chip.lab)}});
    for (const CardReference& card : references.cards) {
        Json one{{"name", card.name}, {"region", to_text(card.region)}, {"sd", card.sd}};
        if (const auto* lrv = std::get_if<Lrv>(&card.value)) one["lrv"] = lrv->value;
        if (const auto* color = std::get_if<Lab>(&card.value)) one["lab"] = lab_json(*color);
        if (const auto* surface = std::get_if<Reflectance>(&card.value)) one["reflectance"] = bands_json(surface->value);
        cards.push_back(std::move(one));
    }
    for (const Region& region : references.plain) plain.push_back(to_text(region));
    const ChartReference& chart = references.chart;
    Json corners = Json::array();
    for (const Point& corner : chart.corners) corners.insert(corners.end(), {corner.x, corner.y});
    return {{"gray", std::move(grays)},
            {"known", std::move(known)},
            {"cards", std::move(cards)},
            {"plain", std::move(plain)},
            {"chart", chart.mode == ChartMode::none        ? "none"
                      : chart.mode == ChartMode::automatic ? "auto"
                                                           : "corners"},
            {"corners", std::move(corners)},
            {"edition", chart.edition ? Json(to_word(*chart.edition)) : Json(nullptr)}};
}

/// Something in the text that cannot be. Does not leave this file.
struct Absurd {
    std::string what;
};

[[noreturn]] void reject(const std::string& what) { throw Absurd{what}; }

const Json& entry(const Json& json, const char* key) {
    if (!json.is_object() || !json.contains(key)) reject(std::string("it has no \"") + key + "\"");
    return json[key];
}
double figure_of(const Json& json, const char* what, double low, double high) {
    if (!json.is_number()) reject(std::string(what) + " is no number");
    const double value = json.get<double>();
    if (!(value >= low && value <= high)) reject(std::string(what) + " is out of range");
    return value;
}
std::string string_of(const Json& json, const char* key) {
    const Json& value = entry(json, key);
    if (!value.is_string()) reject(std::string(key) + " is no text");
    return value.get<std::string>();
}
bool flag_of(const Json& json, const char* key) {
    const Json& value = entry(json, key);
    if (!value.is_boolean()) reject(std::string(key) + " is neither true nor false");
    return value.get<bool>();
}
const Json& list_of(const Json& json, const char* key, std::size_t most) {
    const Json& value = entry(json, key);
    if (!value.is_array() || value.size() > most) reject(std::string(key) + " is no list, or too long");
    return value;
}
Region place_of(const Json& text) {
    if (!text.is_string()) reject("a region is no text");
    auto region = parse_region(text.get<std::string>(), "region");
    if (!region) reject("a region cannot be read");
    return *std::move(region);
}
Lab color_of(const Json& json) {
    if (!json.is_array() || json.size() != 3) reject("a color is not three numbers");
    return {figure_of(json[0], "L*", -10, 1000), figure_of(json[1], "a*", -1000, 1000), figure_of(json[2], "b*", -1000, 1000)};
}
Bands bands_of(const Json& json, double low, double high) {
    if (!json.is_array() || json.size() != kBands) reject("a spectrum has the wrong number of figures");
    Bands bands{};
    for (std::size_t i = 0; i < kBands; ++i) bands[i] = figure_of(json[i], "a spectrum's figure", low, high);
    return bands;
}
Light read_lamp(const Json& json) {
    const std::string name = string_of(json, "name");
    if (!json.contains("power")) {
        auto named = light(name);
        if (!named) reject("a light is not known");
        return *std::move(named);
    }
    constexpr double kBrightest = 1e9;
    Light lamp{name, bands_of(json["power"], -kBrightest, kBrightest), {}};
    if (json.contains("may_be")) {
        auto draws = std::make_shared<std::vector<Bands>>();
        for (const Json& one : list_of(json, "may_be", 1000)) draws->push_back(bands_of(one, -kBrightest, kBrightest));
        lamp.may_be = std::move(draws);
    }
    return lamp;
}

References read_references(const Json& json) {
    References references;
    for (const Json& one : list_of(json, "gray", kMostReferences))
        references.grays.push_back({place_of(entry(one, "region")), figure_of(entry(one, "lrv"), "an LRV", 1e-6, 100)});
    for (const Json& one : list_of(json, "known", kMostReferences))
        references.known.push_back({string_of(one, "name"), place_of(entry(one, "region")), color_of(entry(one, "lab"))});
    for (const Json& one : list_of(json, "cards", kMostReferences)) {
        CardReference card{string_of(one, "name"), place_of(entry(one, "region")), Lrv{}, figure_of(entry(one, "sd"), "a spread", 1e-9, 50)};
        if (one.contains("lrv")) {
            card.value = Lrv{figure_of(one["lrv"], "an LRV", 1e-6, 100)};
        } else if (one.contains("lab")) {
            card.value = color_of(one["lab"]);
        } else {
            card.value = Reflectance{bands_of(entry(one, "reflectance"), -0.1, 2)};
        }
        references.cards.push_back(std::move(card));
    }
    for (const Json& one : list_of(json, "plain", kMostReferences)) references.plain.push_back(place_of(one));
    const std::string mode = string_of(json, "chart");
    if (mode != "none" && mode != "auto" && mode != "corners") reject("the chart is none of what it can be");
    references.chart.mode = mode == "none" ? ChartMode::none : mode == "auto" ? ChartMode::automatic : ChartMode::corners;
    const Json& corners = list_of(json, "corners", 8);
    if (corners.size() != 8) reject("a chart has four corners");
    for (std::size_t i = 0; i < 4; ++i)
        references.chart.corners[i] = {figure_of(corners[2 * i], "a corner", -1e7, 1e7), figure_of(corners[2 * i + 1], "a corner", -1e7, 1e7)};
    if (const Json& edition = entry(json, "edition"); !edition.is_null()) {
        for (const ChartEdition known : {ChartEdition::before_2014, ChartEdition::from_2014}) {
            if (edition == to_word(known)) references.chart.edition = known;
        }
        if (!references.chart.edition) reject("it names no edition of the chart");
    }
    return references;
}

constexpr std::pair<const char*, TransferKind> kTransfers[] = {{"auto", TransferKind::automatic},
                                                               {"srgb", TransferKind::srgb},
                                                               {"linear", TransferKind::linear},
                                                               {"bt1886", TransferKind::bt1886},
                                                               {"gamma", TransferKind::gamma}};

}  // namespace

std::string mark_of(const std::string& text) {
    char digits[20] = {};
    std::snprintf(digits, sizeof digits, "%016llx", static_cast<unsigned long long>(store::checksum(0, {text})));
    return digits;
}

std::string to_text(const ReadingRequest& request) {
    const char* transfer = "auto";
    for (const auto& [word, kind] : kTransfers) {
        if (kind == request.transfer.kind) transfer = word;
    }
    const Json json{{"references", references_json(request.references)},
                    {"chart_asked", request.chart_asked},
                    {"transfer", transfer},
                    {"gamma", request.transfer.gamma},
                    {"lit_by", request.lit_by ? lamp_json(*request.lit_by) : Json(nullptr)},
                    {"flat", request.flat_file},
                    {"flat_hash", request.flat_hash},
                    {"setup", request.setup},
                    {"setup_mark", request.setup_mark},
                    {"under", lamp_json(request.under)},
                    {"observer", request.observer == Observer::degree10 ? 10 : 2},
                    {"chip", request.chip ? Json(to_text(*request.chip)) : Json(nullptr)},
                    {"tolerance", request.tolerance},
                    {"textured", request.textured}};
    return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Result<ReadingRequest> reading_request_of(const std::string& text) {
    const auto wrong = [](const std::string& cause) {
        return Error{Fault::workbook_unreadable, {}, {}, "how it was read cannot be understood: " + cause, "read the photo again"};
    };
    const Json json = Json::parse(text, nullptr, false);
    if (json.is_discarded()) return wrong("it is no JSON text");
    try {
        ReadingRequest request;
        request.references = read_references(entry(json, "references"));
        request.chart_asked = flag_of(json, "chart_asked");
        const std::string transfer = string_of(json, "transfer");
        bool known = false;
        for (const auto& [word, kind] : kTransfers) {
            if (transfer != word) continue;
            request.transfer.kind = kind;
            known = true;
        }
        if (!known) reject("its encoding is not known");
        request.transfer.gamma = figure_of(entry(json, "gamma"), "gamma", 0.5, 4);
        if (const Json& lamp = entry(json, "lit_by"); !lamp.is_null()) request.lit_by = read_lamp(lamp);
        request.flat_file = string_of(json, "flat");
        request.flat_hash = string_of(json, "flat_hash");
        request.setup = string_of(json, "setup");
        request.setup_mark = string_of(json, "setup_mark");
        request.under = read_lamp(entry(json, "under"));
        const double degrees = figure_of(entry(json, "observer"), "the observer", 2, 10);
        if (degrees != 2 && degrees != 10) reject("the observer is neither 2 nor 10");
        request.observer = degrees == 10 ? Observer::degree10 : Observer::degree2;
        if (const Json& chip = entry(json, "chip"); !chip.is_null()) request.chip = place_of(chip);
        request.tolerance = figure_of(entry(json, "tolerance"), "the tolerance", 1e-6, 1000);
        request.textured = flag_of(json, "textured");
        return request;
    } catch (const Absurd& problem) {
        return wrong(problem.what);
    }
}

std::string calibration_text(const Calibration& calibration) {
    const auto known = [](const std::optional<double>& value) { return value ? Json(*value) : Json(nullptr); };
    const Json json{{"method", calibration.method},
                    {"references", calibration.references},
                    {"warnings", calibration.warnings},
                    {"loo", {{"mean", known(calibration.loo.mean)}, {"p95", known(calibration.loo.p95)}}}};
    return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

std::string with_request(const std::string& calibration_json, const ReadingRequest& request) {
    Json json = Json::parse(calibration_json, nullptr, false);
    if (!json.is_object()) json = Json::object();
    json["request"] = Json::parse(to_text(request));
    return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

CalibrationTold calibration_told(const std::string& calibration_json) {
    CalibrationTold told;
    const Json json = Json::parse(calibration_json, nullptr, false);
    if (!json.is_object()) return told;
    const auto texts = [&](const char* name, std::vector<std::string>& into) {
        if (!json.contains(name) || !json[name].is_array()) return;
        for (const Json& text : json[name]) {
            if (text.is_string()) into.push_back(text.get<std::string>());
        }
    };
    if (json.contains("method") && json["method"].is_string()) told.method = json["method"].get<std::string>();
    texts("references", told.references);
    texts("warnings", told.warnings);
    if (json.contains("loo") && json["loo"].is_object()) {
        told.loo_told = json["loo"].contains("mean");
        for (const auto& [name, into] : {std::pair{"mean", &told.loo_mean}, {"p95", &told.loo_p95}}) {
            if (json["loo"].contains(name) && json["loo"][name].is_number()) *into = json["loo"][name].get<double>();
        }
    }
    told.again = json.contains("request");
    return told;
}

std::vector<std::string> calibration_lines(const std::string& calibration_json) {
    const CalibrationTold told = calibration_told(calibration_json);
    const auto joined = [](const std::vector<std::string>& texts) {
        std::string all;
        for (const std::string& text : texts) all += (all.empty() ? "" : "; ") + text;
        return all;
    };
    std::vector<std::string> lines;
    if (!told.method.empty()) lines.push_back("Calibrated by: " + told.method);
    if (!told.references.empty()) lines.push_back("References: " + joined(told.references));
    if (told.loo_told) {
        std::ostringstream figure;
        figure << std::fixed << std::setprecision(1);
        if (told.loo_mean) figure << "ΔE00 " << *told.loo_mean << " in the mean";
        lines.push_back("Checked by leaving references out: " + (told.loo_mean ? figure.str() : "unknown, too few"));
    }
    if (!told.warnings.empty()) lines.push_back("! " + joined(told.warnings));
    return lines;
}

std::optional<std::string> request_in(const std::string& calibration_json) {
    const Json json = Json::parse(calibration_json, nullptr, false);
    if (!json.is_object() || !json.contains("request")) return std::nullopt;
    return json["request"].dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace sw
