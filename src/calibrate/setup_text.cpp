#include "calibrate/setup_text.hpp"

#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <memory>
#include <nlohmann/json.hpp>

#include "color/light.hpp"

namespace sw {
namespace {

using Json = nlohmann::json;

constexpr int kForm = 1;  // of the text; a later form of the same name would be raised

Json figures(const Eigen::Ref<const Eigen::VectorXd>& values) {
    Json list = Json::array();
    for (const double v : values) list.push_back(v);
    return list;
}

/// Lower triangle, row by row; empty for an empty matrix.
Json triangle(const Eigen::MatrixXd& m) {
    Json list = Json::array();
    for (Eigen::Index r = 0; r < m.rows(); ++r) {
        for (Eigen::Index c = 0; c <= r; ++c) list.push_back(m(r, c));
    }
    return list;
}

Json point(const Point& p) { return Json::array({p.x, p.y}); }
Json color(const Lab& c) { return Json::array({c.L, c.a, c.b}); }
template <class T>
Json known(const std::optional<T>& value) {
    return value ? Json(*value) : Json(nullptr);
}

Json spectrum(const Bands& bands) {
    Json list = Json::array();
    for (const double v : bands) list.push_back(v);
    return list;
}

/// By its name where that tells all, else with its spectra.
Json lamp(const Light& lit_by) {
    Json json{{"name", lit_by.name}};
    if (!light(lit_by.name)) {
        json["power"] = spectrum(lit_by.power);
        if (lit_by.may_be) {
            json["may_be"] = Json::array();
            for (const Bands& one : *lit_by.may_be) json["may_be"].push_back(spectrum(one));
        }
    }
    return json;
}

/// Something in the text that cannot be. Does not leave this file.
struct Impossible {
    std::string what;
};

[[noreturn]] void refuse(const std::string& what) { throw Impossible{what}; }

const Json& part(const Json& json, const char* key) {
    if (!json.is_object() || !json.contains(key)) refuse(std::string("it has no \"") + key + "\"");
    return json[key];
}

double figure_in(const Json& json, const char* what, double low, double high) {
    if (!json.is_number()) refuse(std::string(what) + " is no number");
    const double value = json.get<double>();
    if (!(value >= low && value <= high)) refuse(std::string(what) + " is out of range");
    return value;
}
double figure_in(const Json& json, const char* key, const char* what, double low, double high) { return figure_in(part(json, key), what, low, high); }

int integer(const Json& json, const char* key, int low, int high) {
    const Json& value = part(json, key);
    if (!value.is_number_integer()) refuse(std::string(key) + " is no whole number");
    return static_cast<int>(figure_in(value, key, low, high));
}

bool yes(const Json& json, const char* key) {
    const Json& value = part(json, key);
    if (!value.is_boolean()) refuse(std::string(key) + " is neither true nor false");
    return value.get<bool>();
}

std::string words(const Json& json, const char* what) {
    if (!json.is_string()) refuse(std::string(what) + " is no text");
    auto text = json.get<std::string>();
    if (text.size() > 10'000) refuse(std::string(what) + " is too long");
    return text;
}
std::string words_of(const Json& json, const char* key) { return words(part(json, key), key); }

const Json& list(const Json& json, const char* key, std::size_t least, std::size_t most) {
    const Json& value = part(json, key);
    if (!value.is_array() || value.size() < least || value.size() > most) refuse(std::string(key) + " is no list of a possible length");
    return value;
}

std::vector<std::string> lines(const Json& json, const char* key) {
    std::vector<std::string> all;
    for (const Json& line : list(json, key, 0, 1000)) all.push_back(words(line, key));
    return all;
}

Eigen::VectorXd numbers(const Json& json, const char* what, std::size_t count, double low, double high) {
    if (!json.is_array() || json.size() != count) refuse(std::string(what) + " has the wrong number of figures");
    Eigen::VectorXd values(static_cast<Eigen::Index>(count));
    for (std::size_t i = 0; i < count; ++i) values[static_cast<Eigen::Index>(i)] = figure_in(json[i], what, low, high);
    return values;
}

Eigen::MatrixXd covariance(const Json& json, const char* what, Eigen::Index n, double most) {
    const Eigen::VectorXd values = numbers(json, what, static_cast<std::size_t>(n * (n + 1) / 2), -most, most);
    Eigen::MatrixXd m(n, n);
    for (Eigen::Index r = 0, k = 0; r < n; ++r) {
        for (Eigen::Index c = 0; c <= r; ++c) m(r, c) = m(c, r) = values[k++];
    }
    const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> solver(m, Eigen::EigenvaluesOnly);
    // 1e-9 of the largest entry: rounding, and below any doubt that matters
    if (solver.info() != Eigen::Success || !(solver.eigenvalues().minCoeff() >= -1e-9 * m.cwiseAbs().maxCoeff()))
        refuse(std::string(what) + " is not a possible covariance");
    return m;
}

Point point(const Json& json, const char* what) {
    const Eigen::VectorXd p = numbers(json, what, 2, -1e6, 1e6);
    return {p[0], p[1]};
}

Lab lab_of(const Json& json, const char* what) {
    const Eigen::VectorXd v = numbers(json, what, 3, -500, 500);
    return {v[0], v[1], v[2]};
}

Region region_of(const Json& json) {
    Result<Region> region = parse_region(words_of(json, "region"), "region");
    if (!region) refuse("a region cannot be read");
    return *std::move(region);
}

Bands bands_of(const Json& json) {
    const Eigen::VectorXd v = numbers(json, "the light's spectrum", kBands, -1e12, 1e12);
    if (!(v.sum() > 0 && v.minCoeff() >= -0.1 * v.maxCoeff())) refuse("the light's spectrum is not one of a light");
    Bands bands{};
    std::copy(v.begin(), v.end(), bands.begin());
    return bands;
}

Light lamp_of(const Json& json) {
    const std::string name = words_of(json, "name");
    if (!json.contains("power")) {
        Result<Light> named = light(name);
        if (!named) refuse("its light \"" + name + "\" is not known");
        return *std::move(named);
    }
    Light lamp{name, bands_of(json["power"]), {}};
    if (json.contains("may_be")) {
        std::vector<Bands> draws;
        for (const Json& one : list(json, "may_be", 1, 1000)) draws.push_back(bands_of(one));
        lamp.may_be = std::make_shared<const std::vector<Bands>>(std::move(draws));
    }
    return lamp;
}

// The structured bindings name every member, so that a new one cannot be forgotten here.

Json sensor_json(const SensorSetup& setup) {
    const auto& [width, height, native, linear, lit_by, prior, white, evened, flare_there, free_curve, black_and_white] = setup;
    Eigen::VectorXd rows(9);
    for (int i = 0; i < 9; ++i) rows[i] = native(i / 3, i % 3);
    return {{"width", width},
            {"height", height},
            {"native", figures(rows)},
            {"linear", linear},
            {"lit_by", lit_by ? lamp(*lit_by) : Json(nullptr)},
            {"white", white ? figures(*white) : Json(nullptr)},
            {"evened", evened},
            {"flare", flare_there},
            {"free_curve", free_curve},
            {"black_and_white", black_and_white}};
}

SensorSetup sensor_of(const Json& json, Rendering rendering, const std::optional<Eigen::Matrix3d>& raw_matrix) {
    SensorSetup setup;
    setup.width = integer(json, "width", 1, 1'000'000);
    setup.height = integer(json, "height", 1, 1'000'000);
    const Eigen::VectorXd rows = numbers(part(json, "native"), "native", 9, -10, 10);
    for (int i = 0; i < 9; ++i) setup.native(i / 3, i % 3) = rows[i];
    if (!(std::abs(setup.native.determinant()) > 1e-3)) refuse("native is no change of primaries");
    setup.linear = yes(json, "linear");
    if (!part(json, "lit_by").is_null()) setup.lit_by = lamp_of(json["lit_by"]);
    if (!part(json, "white").is_null()) setup.white = numbers(json["white"], "white", 3, 1e-6, 1e6);
    setup.evened = yes(json, "evened");
    setup.flare = figure_in(json, "flare", "flare", 0, 0.5);
    setup.free_curve = yes(json, "free_curve");
    setup.black_and_white = yes(json, "black_and_white");
    std::optional<Sensitivity> prior = prior_of(setup.lit_by, rendering, raw_matrix);
    if (!prior) refuse("its raw matrix is no camera's");
    setup.prior = *std::move(prior);
    if (!setup.prior.mean.allFinite() || !setup.prior.covariance.allFinite()) refuse("under its light nothing can be seen");
    return setup;
}

Json reference_json(const SeenReference& reference) {
    const auto& [seen, value, region, patch] = reference;
    const auto& [name, rgb, rgb_covariance, at, reflectance, reflectance_covariance, tolerance] = seen;
    return {{"name", name},
            {"rgb", figures(rgb)},
            {"rgb_covariance", triangle(rgb_covariance)},
            {"at", point(at)},
            {"reflectance", figures(reflectance)},
            {"reflectance_covariance", triangle(reflectance_covariance)},
            {"tolerance", tolerance},
            {"value", color(value)},
            {"region", to_text(region)},
            {"patch", patch}};
}

/// Set-ups made before the chart's edition was asked have none: their patches stay what they were taken for.
int patch_of(const Json& json) { return json.contains("patch") ? integer(json, "patch", -1, 23) : -1; }

SeenReference reference_of(const Json& json) {
    SeenReference reference;
    ReferenceColor& seen = reference.color;
    seen.name = words_of(json, "name");
    seen.rgb = numbers(part(json, "rgb"), "rgb", 3, -1e3, 1e3);
    if (!(seen.rgb.maxCoeff() > 0)) refuse("a reference is black");
    seen.rgb_covariance = covariance(part(json, "rgb_covariance"), "rgb_covariance", 3, 1e6);
    seen.at = point(part(json, "at"), "at");
    seen.reflectance = numbers(part(json, "reflectance"), "reflectance", kModelBands, 0, 2);
    if (!(seen.reflectance.maxCoeff() > 1e-4)) refuse("a reference reflects nothing");
    const Json& spread = list(json, "reflectance_covariance", 0, kModelBands * (kModelBands + 1) / 2);
    if (!spread.empty()) seen.reflectance_covariance = covariance(spread, "reflectance_covariance", kModelBands, 10);
    seen.tolerance = figure_in(json, "tolerance", "tolerance", 0, 10);
    reference.value = lab_of(part(json, "value"), "value");
    reference.region = region_of(json);
    reference.patch = patch_of(json);
    return reference;
}

Json shot_json(const Shot& shot) {
    const auto& [make, model, lens, taken, white_balance, iso, exposure_s, f_number, focal_mm] = shot;
    return {{"make", make},
            {"model", model},
            {"lens", lens},
            {"taken", taken},
            {"white_balance", white_balance},
            {"iso", known(iso)},
            {"exposure_s", known(exposure_s)},
            {"f_number", known(f_number)},
            {"focal_mm", known(focal_mm)}};
}

Shot shot_of(const Json& json) {
    Shot shot{words_of(json, "make"),
              words_of(json, "model"),
              words_of(json, "lens"),
              words_of(json, "taken"),
              words_of(json, "white_balance"),
              {},
              {},
              {},
              {}};
    for (const auto& [key, out] :
         {std::pair{"iso", &shot.iso}, {"exposure_s", &shot.exposure_s}, {"f_number", &shot.f_number}, {"focal_mm", &shot.focal_mm}}) {
        if (!part(json, key).is_null()) *out = figure_in(json, key, key, 1e-9, 1e9);
    }
    return shot;
}

Json backdrop_json(const Backdrop& backdrop) {
    Json colors = Json::array(), plain = Json::array();
    for (const Eigen::Vector3f& c : backdrop.color) {
        for (const float v : c) colors.push_back(std::round(1e6 * static_cast<double>(v)) / 1e6);
    }
    for (const std::uint8_t p : backdrop.plain) plain.push_back(static_cast<int>(p));
    return {{"columns", backdrop.columns}, {"rows", backdrop.rows}, {"color", std::move(colors)}, {"plain", std::move(plain)}};
}

Backdrop backdrop_of(const Json& json) {
    Backdrop backdrop;
    backdrop.columns = integer(json, "columns", 1, 64);
    backdrop.rows = integer(json, "rows", 1, 64);
    const auto count = static_cast<std::size_t>(backdrop.columns * backdrop.rows);
    const Eigen::VectorXd colors = numbers(part(json, "color"), "the backdrop's color", 3 * count, -1e4, 1e4);
    const Eigen::VectorXd plain = numbers(part(json, "plain"), "the backdrop's plain", count, 0, 1);
    for (std::size_t i = 0; i < count; ++i) {
        const auto at = static_cast<Eigen::Index>(i);
        backdrop.color.emplace_back(colors.segment<3>(3 * at).cast<float>());
        backdrop.plain.push_back(plain[at] > 0.5 ? 1 : 0);
    }
    return backdrop;
}

Json plain_json(const PlainArea& area) {
    const auto& [region, blocks, grain, kept] = area;
    Json list = Json::array();  // x, y, red, green, blue, weight of each in turn
    for (const PlainArea::Block& block : blocks) {
        for (const double v : {block.at.x, block.at.y, block.rgb[0], block.rgb[1], block.rgb[2], block.weight}) list.push_back(v);
    }
    return {{"region", to_text(region)}, {"blocks", std::move(list)}, {"grain", grain}, {"kept", kept}};
}

PlainArea plain_of(const Json& json) {
    PlainArea area;
    area.region = region_of(json);
    const std::size_t count = list(json, "blocks", 6, 6 * 1000).size() / 6;
    const Eigen::VectorXd figures = numbers(part(json, "blocks"), "blocks", 6 * count, -1e6, 1e6);
    double total = 0;
    for (std::size_t i = 0; i < count; ++i) {
        const Eigen::VectorXd b = figures.segment<6>(static_cast<Eigen::Index>(6 * i));
        if (!(b.segment<3>(2).minCoeff() > 0) || b[5] < 0 || b[5] > 1) refuse("a plain surrounding is black, or weighs what cannot be");
        area.blocks.push_back({{b[0], b[1]}, b.segment<3>(2), b[5]});
        total += b[5];
    }
    if (!(total > 0)) refuse("a plain surrounding has no weight");
    area.grain = figure_in(json, "grain", "grain", 0, 1);
    area.kept = figure_in(json, "kept", "kept", 0, 1);
    return area;
}

Json evidence_json(const Evidence& evidence) {
    const auto& [setup, rendering, references, slopes, surroundings, lost, method, told, warnings, corners, edition, raw_matrix] = evidence;
    Json seen = Json::array(), sloping = Json::array(), gone = Json::array(), plain = Json::array();
    for (const SeenReference& r : references) seen.push_back(reference_json(r));
    for (const LightSlope& s : slopes)
        sloping.push_back({{"at", point(s.at)}, {"slope", figures(s.slope)}, {"covariance", triangle(s.covariance)}, {"level", s.level}});
    for (const PlainArea& area : surroundings) plain.push_back(plain_json(area));
    for (const auto& [index, use] : lost)
        gone.push_back({{"place", index},
                        {"name", use.name},
                        {"remark", use.remark},
                        {"value", color(use.value)},
                        {"region", to_text(use.region)},
                        {"at", point(use.at)},
                        {"patch", use.patch}});
    return {{"sensor", sensor_json(setup)},
            {"raw", rendering == Rendering::raw},
            {"references", std::move(seen)},
            {"slopes", std::move(sloping)},
            {"plain", std::move(plain)},
            {"lost", std::move(gone)},
            {"method", method},
            {"lines", told},
            {"warnings", warnings},
            {"chart", corners.has_value()},
            {"edition", edition ? Json(to_word(*edition)) : Json(nullptr)},
            {"raw_matrix", raw_matrix ? figures(raw_matrix->reshaped<Eigen::RowMajor>()) : Json(nullptr)}};
}

Evidence evidence_of(const Json& json) {
    Evidence evidence;
    evidence.rendering = yes(json, "raw") ? Rendering::raw : Rendering::rendered;
    if (json.contains("raw_matrix") && !json["raw_matrix"].is_null())
        evidence.raw_matrix = numbers(json["raw_matrix"], "raw_matrix", 9, -1e6, 1e6).reshaped<Eigen::RowMajor>(3, 3);
    evidence.setup = sensor_of(part(json, "sensor"), evidence.rendering, evidence.raw_matrix);
    for (const Json& one : list(json, "references", 1, 200)) evidence.references.push_back(reference_of(one));
    for (const Json& one : list(json, "slopes", 0, 400)) {
        LightSlope slope;
        slope.at = point(part(one, "at"), "at");
        slope.slope = numbers(part(one, "slope"), "slope", 2, -10, 10);
        slope.covariance = covariance(part(one, "covariance"), "covariance", 2, 1e3);
        slope.level = figure_in(one, "level", "level", 1e-4, 1e3);
        evidence.slopes.push_back(slope);
    }
    for (const Json& one : list(json, "plain", 0, 20)) evidence.plain.push_back(plain_of(one));
    for (const Json& one : list(json, "lost", 0, 200)) {
        const auto at = static_cast<std::size_t>(integer(one, "place", 0, 400));
        if (at > evidence.references.size() + evidence.lost.size()) refuse("a lost reference stands nowhere");
        evidence.lost.emplace_back(at, ReferenceUse{words_of(one, "name"),
                                                    false,
                                                    0,
                                                    false,
                                                    words_of(one, "remark"),
                                                    lab_of(part(one, "value"), "value"),
                                                    {},
                                                    region_of(one),
                                                    point(part(one, "at"), "at"),
                                                    false,
                                                    patch_of(one)});
    }
    evidence.method = words_of(json, "method");
    evidence.lines = lines(json, "lines");
    evidence.warnings = lines(json, "warnings");
    if (json.contains("edition") && !json["edition"].is_null()) {
        const std::string edition = words_of(json, "edition");
        for (const ChartEdition e : {ChartEdition::before_2014, ChartEdition::from_2014}) {
            if (edition == to_word(e)) evidence.edition = e;
        }
        if (!evidence.edition) refuse("it names no edition of the chart");
    }
    return evidence;
}

}  // namespace

std::string to_text(const Setup& setup) {
    const auto& [evidence, shot, encoding, behind, file, hash] = setup;
    const Json json{{"form", kForm},        {"evidence", evidence_json(evidence)}, {"shot", shot_json(shot)},
                    {"encoding", encoding}, {"backdrop", backdrop_json(behind)},   {"file", file},
                    {"hash", hash}};
    return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Result<Setup> setup_of_text(const std::string& text) {
    const auto wrong = [](const std::string& cause) {
        return Error{Fault::workbook_unreadable, {}, {}, "this set-up cannot be read: " + cause, "calibrate it again and save it anew"};
    };
    const Json json = Json::parse(text, nullptr, false);
    if (json.is_discarded()) return wrong("it is no JSON text");
    try {
        if (integer(json, "form", 1, 1'000'000) > kForm) return wrong("a newer version of this program made it");
        return Setup{evidence_of(part(json, "evidence")), shot_of(part(json, "shot")), words_of(json, "encoding"),
                     backdrop_of(part(json, "backdrop")), words_of(json, "file"),      words_of(json, "hash")};
    } catch (const Impossible& problem) {
        return wrong(problem.what);
    }
}

}  // namespace sw
