#include "calibrate/calibration.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>
#include <numbers>

#include "calibrate/chart.hpp"
#include "calibrate/ladder.hpp"
#include "calibrate/sensed.hpp"
#include "calibrate/sensor_model.hpp"
#include "color/difference.hpp"
#include "color/quantile.hpp"
#include "spectral/surfaces.hpp"

namespace sw {
namespace {

constexpr double kCardTolerance = 0.01;  // relative, of a gray card's LRV; common practice, no source
constexpr double kCardNeutral = 0.006;   // relative, between channels: cards are not quite neutral; common practice, no source
constexpr double kChipTolerance = 0.01;  // relative, of a known chip's level
constexpr double kDark = 0.004;          // linear value below which a reference tells nothing

std::string figure(double value, int digits) {
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), "%.*f", digits, value);
    return text.data();
}

Error unusable(Fault fault, const Photo& photo, const std::string& place, std::string cause, std::string remedy) {
    return Error{.fault = fault, .file = photo.path, .place = place, .cause = std::move(cause), .remedy = std::move(remedy)};
}

/// The reference as far as every kind shares it; refuses what tells nothing.
Result<ReferenceColor> sample(const Photo& photo, const Region& region, const std::string& role, Fault fault, std::vector<std::string>& warnings) {
    const Result<RegionStatistics> read = region_statistics(photo, region, role);
    if (!read) return read.error();
    if (read->clipped > 0.25) {
        return unusable(fault, photo, role + " " + to_text(region),
                        "it is clipped: " + figure(100 * read->clipped, 0) + " % of its pixels stand at the top",
                        "expose less, or move the glare away, and photograph again");
    }
    if (read->mean.maxCoeff() < kDark) {
        return unusable(fault, photo, role + " " + to_text(region), "it is black in the picture", "mark the " + role + " itself, or expose more");
    }
    if (read->clipped > 0.01) {
        warnings.push_back(role + ": " + figure(100 * read->clipped, 0) + " % of its pixels are clipped; expose less");
    }
    if (read->mean.maxCoeff() < 0.02) warnings.push_back(role + ": dark in the picture; put more light on it or expose more");
    if (read->gradient > 0.15) {
        warnings.push_back(role + ": the light changes by " + figure(100 * read->gradient, 0) +
                           " % across it; move the lamp back or mark a smaller part");
    }
    if (read->two_colors) warnings.push_back(role + ": two colors inside; mark only its plain part");
    ReferenceColor reference{role, read->mean, read->covariance, center(region), ModelSpectrum::Zero(), {}, 0};
    // the place's own light field and grain are never known better than this
    reference.rgb_covariance += (0.002 * read->mean).cwiseAbs2().asDiagonal();
    return reference;
}

const LibraryView& d50_view() {
    static const LibraryView view = lab_view(*light("D50"), Observer::degree2);
    return view;
}

/// Reflectance behind a Lab (D50, 2 degrees), with its doubt.
void believe_lab(const Lab& color, ReferenceColor& reference) {
    const LibraryView& view = d50_view();
    const std::vector<Eigen::Vector3d> at{{color.L, color.a, color.b}};
    const Eigen::Matrix3d doubt = 0.3 * 0.3 * Eigen::Matrix3d::Identity();  // a value typed from a fan deck; common practice, no source
    const LocalMap map = local_map(neighborhood({&view}, at), {&view}, at, doubt, {&reflectance_view()});
    reference.reflectance = map.mean.cwiseMax(0.001).cwiseMin(1.2);
    reference.reflectance_covariance = map.residual + map.gain * doubt * map.gain.transpose();
}

/// Color (D50) read at a reference by a belief that may have been made without it: the local map of the full belief, moved by what the beliefs
/// differ.
Lab read_reference(const SensorModel& model, const ReferenceColor& reference, const SensorModel::LeftOut& belief, const LibraryView& d50) {
    const Eigen::Vector3d scene = model.scene(reference.rgb, reference.at, belief.doubts).cwiseMax(1e-5);
    const std::vector<Eigen::Vector3d> at{model.feature(scene)};
    const Eigen::Matrix3d by_scene = model.feature_by_scene(scene);
    const Eigen::Matrix3d noise = 0.5 * 0.5 * Eigen::Matrix3d::Identity();
    const Neighborhood near = neighborhood({&model.view()}, at);
    const LocalMap map = local_map(near, {&model.view()}, at, noise, {&d50, &reflectance_view()});
    const ModelSpectrum reflectance = map.mean.tail<kModelBands>();
    const Eigen::Vector3d shift = by_scene * ((belief.rows - model.rows()) * reflectance);
    const Eigen::Vector3d value = map.mean.head<3>() - map.gain.topRows<3>() * shift;
    return Lab{value[0], value[1], value[2]};
}

/// Fills the ladder of plain maps, and takes its best rung where the references speak for it: their left-out differences, taken in pairs, are smaller
/// by more than two standard errors and by enough to matter, with eight references or more. (The maps share a curve that has seen
/// every reference, which flatters them a little.)
void climb_ladder(const std::vector<ReferenceColor>& references, const std::vector<double>& model_errors, const Light& here, Calibration& result) {
    const auto n = static_cast<Eigen::Index>(references.size());
    if (n < 2) return;
    const SensorModel& model = *result.sensor;
    const ObserverMatrix to_xyz = observer_matrix(here, Observer::degree2);
    MapReferences seen{Eigen::Matrix3Xd(3, n), Eigen::Matrix3Xd(3, n), Eigen::VectorXd(n)};
    for (Eigen::Index i = 0; i < n; ++i) {
        const ReferenceColor& r = references[static_cast<std::size_t>(i)];
        seen.scene.col(i) = model.scene(r.rgb, r.at);
        seen.xyz.col(i) = to_xyz * r.reflectance;
        seen.weight[i] = model.weights()[static_cast<std::size_t>(i)];
    }
    const std::vector<Rung> rungs = ladder(best_matrix(model.setup().prior.mean, to_xyz), to_xyz.rowwise().sum(), seen);
    for (const Rung& r : rungs) result.ladder.push_back({to_word(r.map.kind), {r.mean, r.p95, static_cast<int>(n)}});
    const Rung& best = best_rung(rungs);
    constexpr int kProbes = 120;
    const Xyz white = xyz(here, Observer::degree2);
    const SurfaceLibrary& library = surface_library();
    for (Eigen::Index i = 0; i < kProbes; ++i) {
        const Eigen::Vector3d scene = model.rows() * library.col(i * (library.cols() / kProbes)).cast<double>();
        const Eigen::Vector3d a = model.second_opinion(scene), b = model.opinion_of(best.map, scene);
        result.maps_apart += difference_2000(Lab{a[0], a[1], a[2], white}, Lab{b[0], b[1], b[2], white}) / kProbes;
    }
    if (references.size() < SensorModel::kEnoughForEvidence) return;
    double gain = 0, spread = 0;
    for (std::size_t i = 0; i < references.size(); ++i) gain += (model_errors[i] - best.left_out[i]) / static_cast<double>(n);
    for (std::size_t i = 0; i < references.size(); ++i) spread += std::pow(model_errors[i] - best.left_out[i] - gain, 2);
    const double error = std::sqrt(spread / static_cast<double>(n - 1) / static_cast<double>(n));
    constexpr double kMatters = 0.5;
    if (gain > std::max(2 * error, kMatters)) {
        result.map = std::make_shared<const PlainMap>(best.map);
        result.method += ", read by a plain map (" + to_word(best.map.kind) + ")";
        result.warnings.push_back("a plain map fits the references better than the model of camera and light (" + figure(best.mean, 1) + " against " +
                                  figure(best.mean + gain, 1) +
                                  "): an unusual camera, or a picture changed by a program; take the camera's own file");
    }
    if (result.maps_apart > 5) {
        result.warnings.push_back("two ways to calibrate differ by " + figure(result.maps_apart, 1) +
                                  " on average: colors far from the references are uncertain; add references near the colors that matter");
    }
}

bool is_neutral(const ReferenceColor& r) { return r.reflectance.maxCoeff() - r.reflectance.minCoeff() < 0.15 * r.reflectance.mean(); }

/// Steepness of the neutrals' picture values against their reflectance, logarithms: about 1, and above 2 where a linear picture was taken for an
/// encoded one. Nothing with fewer than four neutrals.
std::optional<double> neutral_steepness(const std::vector<ReferenceColor>& references) {
    std::vector<Eigen::Vector2d> points;
    for (const ReferenceColor& r : references) {
        const double level = r.reflectance.mean(), value = r.rgb[1];
        if (is_neutral(r) && value > 1e-4) points.emplace_back(std::log(level), std::log(value));
    }
    if (points.size() < 4) return std::nullopt;
    Eigen::Vector2d mean = Eigen::Vector2d::Zero();
    for (const Eigen::Vector2d& p : points) mean += p / static_cast<double>(points.size());
    double cross = 0, own = 0;
    for (const Eigen::Vector2d& p : points) {
        cross += (p[0] - mean[0]) * (p[1] - mean[1]);
        own += (p[0] - mean[0]) * (p[0] - mean[0]);
    }
    return own > 0.2 ? std::optional<double>(cross / own) : std::nullopt;
}

std::string grade_of(const Calibration& c, std::size_t references) {
    if (references == 0) return "not calibrated: colors are as the picture shows them";
    if (!c.loo.mean) return "white and exposure set; how true the other colors are is not tested (only one reference)";
    const double e = *c.loo.mean;
    const std::string figure_text = figure(e, 1);
    if (e < 1.5) return "good: references come out within " + figure_text + " of their values on average";
    if (e < 3) return "fair: references come out " + figure_text + " from their values on average";
    return "poor: references come out " + figure_text + " from their values on average; look at the warnings";
}

}  // namespace

Result<Calibration> calibrate(const Photo& photo, const References& asked, const CalibrationOptions& options) {
    Calibration result;
    std::vector<ReferenceColor> references;
    std::vector<LightSlope> slopes;
    const auto look_at_light = [&](const Region& region) {
        if (const std::optional<LightSlope> slope = light_slope(photo, region)) slopes.push_back(*slope);
    };
    std::vector<Lab> values;  // what each reference should read, D50
    std::vector<Region> places;

    for (std::size_t i = 0; i < asked.grays.size(); ++i) {
        const GrayReference& gray = asked.grays[i];
        const std::string role = asked.grays.size() == 1 ? "gray card" : "gray card " + std::to_string(i + 1);
        if (!(gray.lrv > 0 && gray.lrv <= 100)) {
            return unusable(Fault::gray_unusable, photo, role, "an LRV of " + figure(gray.lrv, 1) + " is not possible",
                            "give the card's LRV, above 0 and up to 100 (a usual gray card: 18)");
        }
        Result<ReferenceColor> reference = sample(photo, gray.region, role, Fault::gray_unusable, result.warnings);
        if (!reference) return reference.error();
        reference->reflectance = ModelSpectrum::Constant(gray.lrv / 100);
        reference->tolerance = kCardTolerance;
        reference->rgb_covariance += (kCardNeutral * reference->rgb).cwiseAbs2().asDiagonal();
        const double ratio = reference->rgb.maxCoeff() / std::max(reference->rgb.minCoeff(), 1e-6);
        if (ratio > 3) {
            result.warnings.push_back(role + ": reads strongly colored (" + figure(ratio, 1) +
                                      " to 1 between channels); is it a neutral card, and is the light white? Use a neutral card");
        }
        references.push_back(*reference);
        look_at_light(gray.region);
        places.push_back(gray.region);
        values.push_back(lab(Xyz{gray.lrv * kWhiteD50.X / 100, gray.lrv, gray.lrv * kWhiteD50.Z / 100}, kWhiteD50));
        result.references.push_back(role + " " + to_text(gray.region) + ", LRV " + figure(gray.lrv, 1));
    }
    for (const KnownReference& known : asked.known) {
        const bool possible = known.lab.L > 0 && known.lab.L <= 100 && std::hypot(known.lab.a, known.lab.b) < 140;
        if (!possible) {
            return unusable(Fault::known_unusable, photo, known.name,
                            "no surface can have L*a*b* " + figure(known.lab.L, 1) + ", " + figure(known.lab.a, 1) + ", " + figure(known.lab.b, 1),
                            "give L* between 0 and 100, and a*, b* as printed for D50");
        }
        Result<ReferenceColor> reference = sample(photo, known.region, known.name, Fault::known_unusable, result.warnings);
        if (!reference) return reference.error();
        believe_lab(known.lab, *reference);
        reference->tolerance = kChipTolerance;
        references.push_back(*reference);
        look_at_light(known.region);
        places.push_back(known.region);
        values.push_back(known.lab);
        result.references.push_back(known.name + " " + to_text(known.region) + ", Lab " + figure(known.lab.L, 1) + ", " + figure(known.lab.a, 1) +
                                    ", " + figure(known.lab.b, 1));
    }
    const std::size_t before_chart = references.size();
    std::vector<std::pair<std::size_t, ReferenceUse>> lost;  // patches that tell nothing, and where they stand among all references
    if (asked.chart.mode != ChartMode::none) {
        const Result<ChartCorners> corners = asked.chart.mode == ChartMode::automatic ? find_chart(photo) : check_corners(photo, asked.chart.corners);
        if (!corners) return corners.error();
        result.chart_corners = *corners;
        const std::array<Region, 24> regions = patch_regions(*corners);
        const ObserverMatrix to_xyz = observer_matrix(*light("D50"), Observer::degree2);
        int left_out = 0;
        for (int i = 0; i < 24; ++i) {
            const Region& region = regions[static_cast<std::size_t>(i)];
            const std::string name = "patch " + std::to_string(i + 1) + " " + chart_patch_name(i);
            const Eigen::Vector3d v = 100 * (to_xyz * chart_reflectances().col(i));
            const Lab value = lab(Xyz{v[0], v[1], v[2]}, kWhiteD50);
            std::vector<std::string> small_talk;  // a patch's own warnings would drown the rest
            Result<ReferenceColor> reference = sample(photo, region, name, Fault::chart_not_found, small_talk);
            if (!reference || !small_talk.empty()) {
                const bool clipped = !reference && reference.error().fault == Fault::chart_not_found;
                if (!reference && !clipped) return reference.error();
                if (!reference || small_talk.front().find("clipped") != std::string::npos) {
                    lost.emplace_back(before_chart + static_cast<std::size_t>(i),
                                      ReferenceUse{name, false, 0, false, "clipped or black", value, {}, region, center(region)});
                    ++left_out;
                    continue;
                }
            }
            reference->reflectance = chart_reflectances().col(i);
            references.push_back(*reference);
            values.push_back(value);
            places.push_back(region);
        }
        if (left_out > 0)
            result.warnings.push_back((left_out == 1 ? std::string("1 patch of the chart is clipped or black and was")
                                                     : std::to_string(left_out) + " patches of the chart are clipped or black and were") +
                                      " left out; expose differently");
        if (references.size() - before_chart < 8) {
            return unusable(Fault::chart_not_found, photo, "chart", "too few of its patches can be used",
                            "expose so that neither its white clips nor its dark patches drown");
        }
        result.references.push_back("24-patch chart, corners " + figure((*corners)[0].x, 0) + "," + figure((*corners)[0].y, 0) + " " +
                                    figure((*corners)[1].x, 0) + "," + figure((*corners)[1].y, 0) + " " + figure((*corners)[2].x, 0) + "," +
                                    figure((*corners)[2].y, 0) + " " + figure((*corners)[3].x, 0) + "," + figure((*corners)[3].y, 0));
    }

    const std::string chips = asked.known.empty()       ? ""
                              : asked.known.size() == 1 ? "1 known chip"
                                                        : std::to_string(asked.known.size()) + " known chips";
    if (asked.chart.mode != ChartMode::none)
        result.method = "24-patch chart";
    else if (!asked.grays.empty())
        result.method = "neutral";
    if (!chips.empty()) result.method += (result.method.empty() ? "" : " and ") + chips;
    if (result.method.empty()) {
        result.method = "none";
        result.warnings.push_back(
            "no reference in the picture: colors are as displayed, with a wide \u00b1; put a gray card or a chart beside the parts");
    }

    // The sensor's own numbers have no white balance: green leads, which no rendered picture of a neutral does under a usable light.
    double green = 0;
    for (const ReferenceColor& r : references) {
        if (is_neutral(r)) green = std::max(green, r.rgb[1] / std::max(std::max(r.rgb[0], r.rgb[2]), 1e-6));
    }
    const bool raw = photo.sensor.has_value() || (photo.linear && green > 1.2);
    if (raw) result.references.emplace_back("the picture holds the sensor's own values (linear, no white balance)");
    if (const std::optional<double> steep = neutral_steepness(references); steep && *steep > 1.6 && !photo.linear) {
        result.warnings.push_back("the neutrals rise " + figure(*steep, 1) +
                                  " times too steeply: the picture seems to be stored linear; load it again with --transfer linear");
    }
    SensorSetup setup{photo.width,  photo.height,   Eigen::Matrix3d::Identity(),
                      photo.linear, options.lit_by, sensitivity_prior(options.lit_by, raw ? Rendering::raw : Rendering::rendered),
                      {},           photo.evened};
    if (raw && references.empty()) {
        if (photo.sensor && photo.sensor->neutral_as_shot) {
            const std::array<double, 3>& neutral = *photo.sensor->neutral_as_shot;
            setup.white = Eigen::Vector3d(neutral[0], neutral[1], neutral[2]);
            result.warnings.emplace_back("camera raw without a reference: white is what the camera took for it; put a gray card in the picture");
        } else {
            result.warnings.emplace_back(
                "camera raw without a reference: its white is unknown and colors mean little; put a gray card in the picture");
        }
    }
    for (int r = 0; r < 3; ++r) {
        for (int c = 0; c < 3; ++c) setup.native(r, c) = photo.native_from_srgb[static_cast<std::size_t>(3 * r + c)];
    }
    const auto model = std::make_shared<const SensorModel>(setup, references, slopes);
    result.sensor = model;

    std::vector<double> errors;
    for (std::size_t i = 0; i < references.size(); ++i) {
        ReferenceUse use{references[i].name, true, 0, references.size() > 1, {}, values[i], {}, places[i], references[i].at};
        const SensorModel::LeftOut belief = use.left_out ? model->without(i) : SensorModel::LeftOut{model->rows(), model->doubts()};
        use.read = read_reference(*model, references[i], belief, d50_view());
        use.de00 = difference_2000(values[i], *use.read);
        if (use.left_out) errors.push_back(use.de00);
        if (model->weights()[i] < 0.2) {
            use.used = false;
            use.remark = "does not fit the others: dust, glare, shadow or a wrong value?";
            result.warnings.push_back(references[i].name +
                                      ": does not fit the other references and was left out; look for glare, shadow or a wrong value");
        }
        result.uses.push_back(use);
    }
    for (const auto& [place, use] : lost) result.uses.insert(result.uses.begin() + static_cast<std::ptrdiff_t>(place), use);
    if (!errors.empty()) {
        double sum = 0;
        for (double e : errors) sum += e;
        std::vector<double> sorted = errors;
        std::sort(sorted.begin(), sorted.end());
        result.loo.count = static_cast<int>(errors.size());
        result.loo.mean = sum / static_cast<double>(errors.size());
        result.loo.p95 = quantile_of_sorted(sorted, 0.95);
        if (*result.loo.mean > 4) {
            result.warnings.push_back("the references disagree (" + figure(*result.loo.mean, 1) +
                                      " on average): two lights, shadow on one of them, or wrong values; the \u00b1 is wide");
        }
    }
    if (references.size() >= 8) {
        const Doubts& d = model->doubts();
        const double slope = std::hypot(d[light_x], d[light_y]);
        if (slope > 0.2)
            result.warnings.push_back("the light falls off by about " + figure(100 * (1 - std::exp(-slope)), 0) +
                                      " % over half the picture; move the lamp back, keep the parts near the chart");
    }
    static const Light d50 = *light("D50");
    climb_ladder(references, errors, options.lit_by ? *options.lit_by : d50, result);
    result.grade = grade_of(result, references.size());
    return result;
}

Xyz plain_map(const Calibration& calibration, const Eigen::Vector3d& rgb) {
    const Eigen::Vector3d v = 100 * (calibration.sensor->matrix() * calibration.sensor->scene(rgb));
    return {v[0], v[1], v[2]};
}

Result<Reading> read_region(const Photo& photo, const Calibration& calibration, const std::string& name, const Region& region, const Light& under,
                            Observer observer) {
    const Result<RegionStatistics> read = region_statistics(photo, region, name);
    if (!read) return read.error();
    Reading reading;
    reading.name = name;
    reading.region = region;
    reading.light = under.name;
    reading.observer = observer;
    reading.statistics = *read;
    reading.warnings = read->warnings;

    const SurfaceColor surface = surface_color(calibration, *read, center(region), under, observer, lab_view(under, observer));
    const Xyz white = xyz(under, observer);
    reading.lab = Lab{std::max(surface.lab[0], 0.0), surface.lab[1], surface.lab[2], white};
    reading.lab_covariance = surface.covariance;
    if (surface.distance > 8) reading.warnings.push_back(name + ": unlike any surface known to the program; its \u00b1 may be too small");
    reading.xyz = xyz(reading.lab);
    reading.lch = lch(reading.lab);
    reading.lrv = std::clamp(reading.xyz.Y, 0.0, 200.0);
    const double up = xyz(Lab{reading.lab.L + 0.5, 0, 0, white}).Y, down = xyz(Lab{reading.lab.L - 0.5, 0, 0, white}).Y;
    reading.lrv_sd = (up - down) * std::sqrt(reading.lab_covariance(0, 0));
    reading.screen = screen_color(reading.lab);
    return reading;
}

std::array<double, 3> lab_sd(const Eigen::Matrix3d& covariance) {
    std::array<double, 3> sd{};
    for (int i = 0; i < 3; ++i) sd[static_cast<std::size_t>(i)] = std::sqrt(std::max(0.0, covariance(i, i)));
    return sd;
}

std::array<double, 3> lch_sd(const Lab& color, const Eigen::Matrix3d& covariance) {
    const double chroma = std::hypot(color.a, color.b), unknown = std::numeric_limits<double>::quiet_NaN();
    const std::array<double, 3> sd = lab_sd(covariance);
    if (chroma < 1e-6) return {sd[0], std::max(sd[1], sd[2]), unknown};
    const Eigen::Vector2d along(color.a / chroma, color.b / chroma), across(-color.b / chroma, color.a / chroma);
    const Eigen::Matrix2d ab = covariance.block<2, 2>(1, 1);
    const double chroma_sd = std::sqrt(std::max(0.0, along.dot(ab * along))), across_sd = std::sqrt(std::max(0.0, across.dot(ab * across)));
    const bool clear = chroma > 2 * std::max(chroma_sd, across_sd);
    return {sd[0], chroma_sd, clear ? across_sd / chroma * 180 / std::numbers::pi : unknown};
}

}  // namespace sw
