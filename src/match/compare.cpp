#include "match/compare.hpp"

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "match/judge.hpp"

namespace sw {
namespace {

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

}  // namespace

Result<Comparison> compare(const std::vector<PairInPhoto>& pairs, const CompareOptions& options) {
    if (pairs.empty())
        return Error{.fault = Fault::internal, .file = {}, .place = {}, .cause = "no pair to compare", .remedy = "mark a chip and a swatch"};
    std::vector<SensedPhoto> sensed;
    for (const PairInPhoto& pair : pairs) {
        Result<SensedPair> one = sense_pair(pair);
        if (!one) return one.error();
        for (std::size_t k = 0; k < sensed.size() && one->photo < 0; ++k) {
            if (pairs[k].photo->path == pair.photo->path) one->photo = sensed[k].pair.photo;
        }
        if (one->photo < 0) one->photo = static_cast<int>(sensed.size());
        const bool chart = pair.calibration->method.find("24-patch chart") != std::string::npos;  // here, or in the set-up's photo
        sensed.push_back({*std::move(one), pair.lit_by,
                          std::filesystem::path(pair.photo->path).filename().string() + ", swatch at " + to_text(pair.swatch), chart,
                          !pair.calibration->references.empty()});
    }
    Comparison result = judge(std::move(sensed), options);
    const PairInPhoto& first = pairs.front();
    const Light stated = first.lit_by ? *first.lit_by : *light("D50");
    for (const bool is_chip : {true, false}) {
        const Result<Reading> reading =
            read_region(*first.photo, *first.calibration, is_chip ? "chip" : "swatch", is_chip ? first.chip : first.swatch, stated, options.observer);
        if (!reading) return reading.error();
        (is_chip ? result.chip : result.swatch) = *reading;
    }
    return result;
}

Verdict verdict_of(const Interval& interval, double tolerance) {
    return interval.high <= tolerance ? Verdict::within : interval.low > tolerance ? Verdict::outside : Verdict::not_resolved;
}

std::optional<double> threshold_named(std::string_view name) {
    for (const auto& [known, de00] : kThresholds) {
        if (name == known) return de00;
    }
    return std::nullopt;
}

std::string to_word(Verdict v) { return v == Verdict::within ? "within" : v == Verdict::outside ? "outside" : "not resolved"; }
std::string to_word(Kind k) { return k == Kind::seen ? "seen" : k == Kind::computed ? "computed" : "inferred"; }
std::string to_word(Flag f) { return f == Flag::holds ? "holds" : f == Flag::shifts ? "shifts" : "breaks"; }

}  // namespace sw
