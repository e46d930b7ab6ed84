#include "match/compare.hpp"

#include <algorithm>
#include <cmath>

#include "match/component_sd.hpp"
#include "match/pair_posterior.hpp"
#include "match/physical_bounds.hpp"

namespace sw {
namespace {

Flag flag_of(double de00, const CompareOptions& options) {
    return de00 < options.holds_below ? Flag::holds : de00 <= options.breaks_above ? Flag::shifts : Flag::breaks;
}

Result<SensedPair> sense_pair(const PairInPhoto& pair) {
    const Result<RegionStatistics> chip = region_statistics(*pair.photo, pair.chip, "chip");
    if (!chip) return chip.error();
    const Result<RegionStatistics> swatch = region_statistics(*pair.photo, pair.swatch, "swatch");
    if (!swatch) return swatch.error();
    // The chip is flat: how the light slopes over it says how it differs between chip and swatch.
    Calibration local = *pair.calibration;
    if (const std::optional<LightSlope> slope = light_slope(*pair.photo, pair.chip))
        local.sensor = std::make_shared<const SensorModel>(local.sensor->after({*slope}));
    const SensedColor chip_sensed = sense(local, *chip, center(pair.chip)), swatch_sensed = sense(local, *swatch, center(pair.swatch));
    SensedPair sensed{std::move(local), chip_sensed, swatch_sensed};
    if (const std::optional<LocalTone>& tone = pair.calibration->light.local_tone) {
        // Tones change from place to place: between near neighbors by the share of the way between the two places that told of it.
        const Point a = center(pair.chip), b = center(pair.swatch);
        const double way = std::hypot(tone->first.x - tone->second.x, tone->first.y - tone->second.y);
        const double step = tone->apart.value * std::clamp(2 * std::hypot(a.x - b.x, a.y - b.y) / std::max(way, 1.0), 0.1, 1.0);
        for (SensedColor* color : {&sensed.chip, &sensed.swatch}) {
            const Eigen::Vector3d level = color->by_scene * color->scene;
            color->noise += 0.5 * step * step * level * level.transpose();
        }
    }
    return sensed;
}

PairUnder row(const Light& light, Kind kind, const PairPosterior& p, std::size_t i, const CompareOptions& options, double alike = kAlikeInterval) {
    const Xyz white = xyz(light, options.observer);
    const Lab middle = lab_of((p.chip[i] + p.swatch[i]) / 2, white);
    const DifferenceDistribution difference = p.honest(middle, i, alike);
    PairUnder under;
    under.light = light.name;
    under.kind = kind;
    under.de00 = p.shown(middle, i).median();
    under.ci95 = difference.ci95();
    under.breaks_probability = difference.exceeds(options.breaks_above);
    under.flag = flag_of(under.de00, options);
    under.flag_sure = flag_of(under.ci95.low, options) == under.flag && flag_of(under.ci95.high, options) == under.flag;
    under.chip = lab_of(p.chip[i], white);
    under.swatch = lab_of(p.swatch[i], white);
    return under;
}

std::vector<ErrorPart> budget_of(const PairPosterior& p, const Lab& middle, bool chart, bool neutral, bool lit_by_known, bool two_photos) {
    const Eigen::Matrix3d camera = nearest_psd(p.belief[0] - p.tone[0] - p.field[0] - p.white[0]);
    std::vector<ErrorPart> budget{
        {"grain and texture", size_in_de00(middle, p.noise[0]), "mark larger, plain parts of chip and swatch, and use more light"},
        {"uneven light between chip and swatch", size_in_de00(middle, p.field[0]),
         chart ? "put chip and swatch side by side, and the lamp farther away" : "put chip and swatch side by side, with the card touching both"},
        {"the lamp's spectrum, known only by its box", size_in_de00(middle, p.lamp[0]), "give the lamp's spectrum as a CSV file"},
        {"the camera's tone curve", size_in_de00(middle, p.tone[0]),
         chart ? "expose so that chip and swatch are neither very dark nor very light"
               : "put a 24-patch chart in the photo, or save the photo without the camera's picture style"},
        {"white and exposure", size_in_de00(middle, p.white[0]), neutral ? "put the gray card next to the swatch" : "put a gray card in the photo"},
        {"color calibration of the camera", size_in_de00(middle, camera),
         chart ? "expose the chart well and keep glare off it" : "put a 24-patch chart in the photo"},
        {"a camera is not an eye, and unlike paints may trick it", size_in_de00(middle, p.residual[0]),
         two_photos     ? "a third light tells little more; a chart in each photo and an instrument would"
         : lit_by_known ? "photograph the pair under a second light as well"
                        : "say which light it is (lit-by), and photograph the pair under a second light as well"}};
    std::stable_sort(budget.begin(), budget.end(), [](const ErrorPart& a, const ErrorPart& b) { return a.size > b.size; });
    return budget;
}

}  // namespace

Result<Comparison> compare(const std::vector<PairInPhoto>& pairs, const CompareOptions& asked) {
    CompareOptions options = asked;
    if (pairs.empty())
        return Error{.fault = Fault::internal, .file = {}, .place = {}, .cause = "no pair to compare", .remedy = "mark a chip and a swatch"};
    if (options.under.empty()) {
        for (const char* name : {"D65", "A", "LED-B3"}) options.under.push_back(*light(name));
    }
    std::vector<SensedPair> sensed;
    for (const PairInPhoto& pair : pairs) {
        Result<SensedPair> one = sense_pair(pair);
        if (!one) return one.error();
        sensed.push_back(*one);
    }
    Comparison result;
    const PairInPhoto& first = pairs.front();
    const Light stated = first.lit_by ? *first.lit_by : *light("D50");
    result.lit_by = first.lit_by ? first.lit_by->name : "unknown light";
    for (const bool is_chip : {true, false}) {
        const Result<Reading> reading =
            read_region(*first.photo, *first.calibration, is_chip ? "chip" : "swatch", is_chip ? first.chip : first.swatch, stated, options.observer);
        if (!reading) return reading.error();
        (is_chip ? result.chip : result.swatch) = *reading;
    }

    // The pair as lit in a picture. Where the light is not named, a spread of lights stands for it: their mean, and their disagreement as doubt.
    const auto as_lit = [&](std::size_t k) {
        std::vector<Light> lights;
        if (pairs[k].lit_by) {
            lights.push_back(*pairs[k].lit_by);
        } else {
            for (const char* name : {"D50", "D65", "LED-B3", "LED-B1", "F11"}) lights.push_back(*light(name));
        }
        std::vector<TargetLight> targets;
        for (const Light& l : lights) targets.push_back({l, options.observer});
        PairPosterior p = pair_posterior({sensed[k]}, targets);
        if (lights.size() > 1) {
            Eigen::Vector3d mean = Eigen::Vector3d::Zero();
            for (const Eigen::Vector3d& d : p.d) mean += d / static_cast<double>(p.d.size());
            Eigen::Matrix3d between = Eigen::Matrix3d::Zero();
            for (const Eigen::Vector3d& d : p.d) between += (d - mean) * (d - mean).transpose() / static_cast<double>(p.d.size() - 1);
            const Eigen::Vector3d middle = (p.chip[0] + p.swatch[0]) / 2;
            p.d[0] = mean;
            p.chip[0] = middle - mean / 2;
            p.swatch[0] = middle + mean / 2;
            p.residual[0] += between;
        }
        return p;
    };
    const PairPosterior here = as_lit(0);
    const Xyz white = xyz(stated, options.observer);
    const Lab chip = lab_of(here.chip[0], white), swatch = lab_of(here.swatch[0], white);
    const Lab middle = lab_of((here.chip[0] + here.swatch[0]) / 2, white);
    const DifferenceDistribution distribution = here.honest(middle, 0);
    Difference& difference = result.difference;
    difference.de00 = here.shown(middle, 0).median();
    difference.ci95 = distribution.ci95();
    difference.tolerance = options.tolerance;
    difference.verdict = verdict_of(difference.ci95, options.tolerance);
    const Components parts = components(chip, swatch);
    difference.dL = parts.dL;
    difference.dC = parts.dC;
    difference.dH = parts.dH;
    const auto sd = component_sd(middle, here.covariance(0, kAlikeInterval));
    difference.dL_sd = sd[0];
    difference.dC_sd = sd[1];
    difference.dH_sd = sd[2];
    difference.words = distribution.distinct() ? difference_words(chip, swatch) : "no difference that this photo could show";
    const bool chart = first.calibration->method.find("24-patch chart") != std::string::npos;  // here, or in the set-up's photo
    const bool neutral = !first.calibration->references.empty();
    difference.budget = budget_of(here, middle, chart, neutral, first.lit_by.has_value(), pairs.size() > 1);
    difference.largest_error = difference.budget.front().name;
    difference.advice = difference.verdict == Verdict::not_resolved ? "not resolved: " + difference.budget.front().advice
                                                                    : "to know it better: " + difference.budget.front().advice;

    for (std::size_t k = 0; k < pairs.size(); ++k) {
        if (!pairs[k].lit_by) continue;
        PairUnder seen = row(*pairs[k].lit_by, Kind::seen, k == 0 ? here : as_lit(k), 0, options);
        seen.bounds = seen.ci95;  // it was looked at: nothing is left to physics
        result.lights.push_back(seen);
    }
    std::vector<TargetLight> targets;
    for (const Light& l : options.under) {
        const bool already = std::any_of(result.lights.begin(), result.lights.end(), [&](const PairUnder& seen) { return seen.light == l.name; });
        if (!already) targets.push_back({l, options.observer});
    }
    if (!targets.empty()) {
        const PairPosterior elsewhere = pair_posterior(sensed, targets);
        for (std::size_t i = 0; i < targets.size(); ++i) {
            PairUnder inferred = row(targets[i].light, Kind::inferred, elsewhere, i, options, sensed.size() == 1 ? kAlikeInferred : kAlikeInterval);
            const SensedPair& one = sensed.front();
            inferred.bounds = physical_bounds(one.calibration.sensor->rows(), one.chip.scene, one.swatch.scene, targets[i].light, options.observer);
            result.lights.push_back(inferred);
        }
    }
    if (pairs.size() == 1) {
        result.notes.emplace_back(
            "One photo under one light cannot see metamerism: the figures for other lights are inferred, for paints not chosen to trick the light, "
            "and wide. "
            "Photograph the pair again under the light that matters (daylight at a window) and compare both.");
    }
    return result;
}

Verdict verdict_of(const Interval& interval, double tolerance) {
    return interval.high <= tolerance ? Verdict::within : interval.low > tolerance ? Verdict::outside : Verdict::not_resolved;
}

std::string to_word(Verdict v) { return v == Verdict::within ? "within" : v == Verdict::outside ? "outside" : "not resolved"; }
std::string to_word(Kind k) { return k == Kind::seen ? "seen" : k == Kind::computed ? "computed" : "inferred"; }
std::string to_word(Flag f) { return f == Flag::holds ? "holds" : f == Flag::shifts ? "shifts" : "breaks"; }

}  // namespace sw
