#include "calibrate/calibration.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "calibrate/edition_choice.hpp"
#include "calibrate/evidence.hpp"
#include "calibrate/figure.hpp"
#include "calibrate/ladder.hpp"
#include "calibrate/light_report.hpp"
#include "calibrate/sensed.hpp"
#include "calibrate/sensor_model.hpp"
#include "color/difference.hpp"
#include "color/quantile.hpp"
#include "spectral/surfaces.hpp"

namespace sw {
namespace {

const LibraryView& d50_view() {
    static const LibraryView view = lab_view(*light("D50"), Observer::degree2);
    return view;
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
    // The model reads a surface of the library as what it is, but for some tenths: the map against that.
    constexpr int kProbes = 120;
    const Xyz white = xyz(here, Observer::degree2);
    const SurfaceLibrary& library = surface_library();
    for (Eigen::Index i = 0; i < kProbes; ++i) {
        const ModelSpectrum reflectance = library.col(i * (library.cols() / kProbes)).cast<double>();
        const Eigen::Vector3d seen_by_map = lab_by(best.map, model.rows() * reflectance, white), v = 100 * (to_xyz * reflectance);
        const Lab by_map{seen_by_map[0], seen_by_map[1], seen_by_map[2], white};
        result.maps_apart += difference_2000(lab(Xyz{v[0], v[1], v[2]}, white), by_map) / kProbes;
    }
    if (references.size() < SensorModel::kEnoughForScale) return;
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

/// Asks which of its editions the chart is, and gives its patches what that edition reflects. Nothing where there is no chart.
std::optional<ChartReading> settle_edition(Evidence& evidence) {
    std::vector<ReferenceColor> colors;
    std::vector<int> patch;
    for (const SeenReference& r : evidence.references) {
        colors.push_back(r.color);
        patch.push_back(r.patch);
    }
    if (std::all_of(patch.begin(), patch.end(), [](int p) { return p < 0; })) return std::nullopt;
    const SensorModel rough(evidence.setup, colors, evidence.slopes, evidence.plain, SensorModel::Effort::rough);
    const EditionChoice choice = choose_edition(rough, colors, patch, evidence.edition);
    ChartReading reading{evidence.edition, evidence.edition.has_value(), choice.chance_2014, {}};
    const auto chance_of = [&](ChartEdition e) { return e == ChartEdition::from_2014 ? choice.chance_2014 : 1 - choice.chance_2014; };
    const auto percent = [](double chance) {
        return chance > 0.99 ? std::string("over 99 %") : chance < 0.01 ? std::string("under 1 %") : figure(100 * chance, 0) + " %";
    };
    constexpr double kClear = 0.95;
    const ChartEdition likelier = choice.chance_2014 > 0.5 ? ChartEdition::from_2014 : ChartEdition::before_2014;
    if (reading.told) {
        reading.words =
            "read as the edition " + to_word(*reading.edition) + ", as you say; by its colors the chance is " + percent(chance_of(*reading.edition));
        if (chance_of(*reading.edition) < 1 - kClear)
            evidence.warnings.push_back("the chart looks like the edition " + to_word(likelier) + " (chance " + percent(chance_of(likelier)) +
                                        "), not like the one you name: look at its back, or leave out --chart-edition");
    } else if (chance_of(likelier) > kClear) {
        reading.edition = likelier;
        reading.words = "read as the edition " + to_word(likelier) + ": chance " + percent(chance_of(likelier));
    } else {
        reading.words = "its edition cannot be told (" + to_word(likelier) + ": chance " + percent(chance_of(likelier)) +
                        "): its patches are taken as between both, with more doubt";
        evidence.warnings.push_back("24-patch chart: " + reading.words + "; if you know it, say so with --chart-edition");
    }
    const ChartColors chart = chart_colors(choice.shares);
    const ObserverMatrix to_xyz = observer_matrix(*light("D50"), Observer::degree2);
    const auto value_of = [&](int p) {
        const Eigen::Vector3d v = 100 * (to_xyz * chart.reflectance.col(p));
        return lab(Xyz{v[0], v[1], v[2]}, kWhiteD50);
    };
    for (SeenReference& r : evidence.references) {
        if (r.patch < 0) continue;
        r.color.reflectance = chart.reflectance.col(r.patch);
        r.color.reflectance_covariance = chart.covariance[static_cast<std::size_t>(r.patch)];
        r.value = value_of(r.patch);
    }
    for (auto& [place, use] : evidence.lost) {
        if (use.patch >= 0) use.value = value_of(use.patch);
    }
    return reading;
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

Calibration fit(Evidence kept) {
    Calibration result;
    Evidence evidence = kept;
    result.chart = settle_edition(evidence);
    result.method = evidence.method;
    result.references = evidence.lines;
    for (std::string& line : result.references) {
        if (result.chart && line.rfind("24-patch chart", 0) == 0) line += "; " + result.chart->words;
    }
    result.warnings = evidence.warnings;
    result.chart_corners = evidence.chart_corners;
    std::vector<ReferenceColor> references;
    for (const SeenReference& r : evidence.references) references.push_back(r.color);
    const auto model = std::make_shared<const SensorModel>(evidence.setup, references, evidence.slopes, evidence.plain);
    result.sensor = model;

    std::vector<double> errors;
    for (std::size_t i = 0; i < references.size(); ++i) {
        const SeenReference& seen = evidence.references[i];
        ReferenceUse use{references[i].name, true, 0, references.size() > 1, {}, seen.value, {}, seen.region, references[i].at, false, seen.patch};
        const SensorModel::LeftOut belief = use.left_out ? model->without(i) : SensorModel::LeftOut{model->rows(), model->doubts()};
        use.read = read_reference(*model, references[i], belief, d50_view());
        use.de00 = difference_2000(seen.value, *use.read);
        if (use.left_out) errors.push_back(use.de00);
        if (model->weights()[i] < 0.2) {
            use.used = false;
            use.remark = "does not fit the others: dust, glare, shadow or a wrong value?";
            const double lighter = use.read->L - use.value.L;
            result.warnings.push_back(references[i].name + ": does not fit the other references" +
                                      (lighter < -8  ? ", much darker than they say (in shadow or tilted away from the light?),"
                                       : lighter > 8 ? ", much lighter than they say (glare?),"
                                                     : "") +
                                      " and was left out; look for glare, shadow or a wrong value");
        }
        result.uses.push_back(use);
    }
    if (references.size() >= 3 && references.size() < SensorModel::kEnoughForScale) {  // too few for weights: the oddest is named all the same
        std::vector<double> steps;
        for (const ReferenceUse& use : result.uses) steps.push_back(use.read->L - use.value.L);
        const auto odd = static_cast<std::size_t>(
            std::max_element(steps.begin(), steps.end(), [](double x, double y) { return std::abs(x) < std::abs(y); }) - steps.begin());
        // Left in, it pulls all others to its side, so that they stand against it: it is the one that stands alone.
        bool alone = std::abs(steps[odd]) > 6;
        for (std::size_t i = 0; i < steps.size(); ++i) alone = alone && (i == odd || steps[i] * steps[odd] < 0 || std::abs(steps[i]) < 2);
        if (alone) {
            const bool darker = steps[odd] < 0;
            ReferenceUse& use = result.uses[odd];
            use.remark = darker ? "much darker than the others say: in shadow?" : "much lighter than the others say: glare?";
            result.warnings.push_back(use.name + ": much " + (darker ? "darker" : "lighter") + " than the other references say (L* " +
                                      figure(use.read->L, 0) + " for " + figure(use.value.L, 0) + "): " +
                                      (darker
                                           ? "in shadow, tilted away from the light, or another card than named; move it into the light of the parts"
                                           : "glare, tilted toward the light, or another card than named; turn it so that nothing mirrors in it"));
        }
    }
    for (const auto& [place, use] : evidence.lost) result.uses.insert(result.uses.begin() + static_cast<std::ptrdiff_t>(place), use);
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
    result.light = light_report_of(evidence, *model, result.warnings);
    result.absolute_ok = !result.light.local_tone;
    static const Light d50 = *light("D50");
    climb_ladder(references, errors, evidence.setup.lit_by ? *evidence.setup.lit_by : d50, result);
    result.grade = grade_of(result, references.size());
    result.evidence = std::make_shared<const Evidence>(std::move(kept));
    return result;
}

Result<Calibration> calibrate(const Photo& photo, const References& asked, const CalibrationOptions& options) {
    Result<Evidence> evidence = gather(photo, asked, options);
    if (!evidence) return evidence.error();
    return fit(*std::move(evidence));
}

Xyz plain_map(const Calibration& calibration, const Eigen::Vector3d& rgb) {
    const SensorModel& model = *calibration.sensor;
    const Eigen::Vector3d scene = model.scene(rgb);
    Eigen::Vector3d v = model.matrix() * scene;
    if (calibration.map) {
        static const ObserverMatrix d50 = observer_matrix(*light("D50"), Observer::degree2);
        v = (*calibration.map)(scene);
        if (model.lit_by()) v = best_matrix(observer_matrix(*model.lit_by(), Observer::degree2), d50) * v;
    }
    return {100 * v[0], 100 * v[1], 100 * v[2]};
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
    reading.absolute_ok = calibration.absolute_ok;
    if (!reading.absolute_ok) {
        // What the picture's program may have done to one place: the figures stay for pairs, which sit side by side.
        reading.lab_covariance += Eigen::Vector3d(10 * 10, 3 * 3, 3 * 3).asDiagonal();
        reading.warnings.push_back(name +
                                   ": its color by itself is unknown, because tones were changed from place to place (HDR?); compare it with a chip "
                                   "beside it, or photograph again with HDR off");
    }
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
