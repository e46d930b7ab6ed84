#include "viewer/derive.hpp"

#include <fstream>
#include <iterator>

#include "sheet/difference_picture.hpp"
#include "viewer/commands.hpp"
#include "viewer/halving.hpp"
#include "viewer/words.hpp"

namespace sw::window {

std::string photo_key(const Work& work) { return work.photo.empty() ? std::string() : transfer_text(work.transfer) + "\n" + work.photo; }

std::string calibration_key(const Work& work) {
    if (work.photo.empty()) return {};
    return to_script(Work{.photo = work.photo,
                          .transfer = work.transfer,
                          .lit_by = work.lit_by,
                          .references = work.references,
                          .chip = {},
                          .swatch = {},
                          .tolerance = 2,
                          .textured = false,
                          .lights = {}});
}

std::string match_key(const Work& work) { return work.photo.empty() ? std::string() : to_script(work); }

Result<std::string> read_text_file(const std::string& path) { return read_whole_file(path, 4U << 20U); }

std::string map_key(const Work& work, const Target* target) {
    if (!work.swatch || (!work.chip && target == nullptr)) return {};
    return match_key(work) + (work.chip ? "" : "\ntarget " + std::to_string(target->id) + " " + target->name);
}

SurfaceMap surface_map(const Work& work, const Results& results, const std::optional<Target>& target, const OwnLights& own) {
    SurfaceMap made{map_key(work, target ? &*target : nullptr), {}, {}, {}};
    const auto map_against = [&](const MapAnchor& anchor, const Light& under, Observer observer, const std::string& name) {
        MapOptions options;
        options.tolerance = work.tolerance;
        auto map = difference_map(*results.photo, *results.calibration, *work.swatch, anchor, under, observer, options);
        if (!map) {
            made.error = map.error();
            return;
        }
        made.words = map_words(*map, name);
        made.map = std::make_shared<const DifferenceMap>(*std::move(map));
    };
    if (work.chip) {
        if (!results.comparison) return made;
        const Result<Light> under = light(work.lit_by.empty() ? "D50" : work.lit_by, read_text_file, own);
        if (!under) {
            made.error = under.error();
        } else {
            map_against(map_anchor(*results.comparison), *under, Observer::degree2, "the chip");
        }
        return made;
    }
    const Result<Light> under = light(target->light, read_text_file, own);
    if (!under) {
        made.error = under.error();
        return made;
    }
    const auto part = read_region(*results.photo, *results.calibration, "swatch", *work.swatch, *under, target->observer);
    if (!part) {
        made.error = part.error();
    } else {
        map_against({part->lab, target->lab, part->lab_covariance + target->lab_covariance}, *under, target->observer, target->name);
    }
    return made;
}

Preview overview_of(const CorrectedPicture& picture) {
    constexpr int kMost = 2048;
    Preview small{picture.width, picture.height, {}};
    while (std::max(small.width, small.height) > kMost && std::min(small.width, small.height) > 1) {
        const std::vector<std::uint8_t>& from = small.rgb.empty() ? picture.rgb : small.rgb;
        small.rgb = halved(from.data(), 3 * static_cast<std::size_t>(small.width), small.width, small.height);
        small.width /= 2;
        small.height /= 2;
    }
    if (small.rgb.empty()) small.rgb = picture.rgb;
    return small;
}

bool up_to_date(const Work& work, const Results& have) {
    if (have.photo_key != photo_key(work)) return false;
    if (!have.photo) return true;  // none, or it failed
    if (have.calibration_key != calibration_key(work)) return false;
    if (!have.calibration) return true;
    return have.match_key == match_key(work) && have.corrected_key == calibration_key(work);
}

void derive(const Work& work, const Results& have, std::stop_token stop, const Report& report, const std::function<void(Update)>& post,
            const OwnLights& own) {
    if (work.photo.empty()) return;
    const std::string name = file_name(work.photo);
    std::shared_ptr<const Photo> photo = have.photo_key == photo_key(work) ? have.photo : nullptr;
    const std::string wanted = calibration_key(work);
    std::shared_ptr<const Calibration> calibration = photo && have.calibration_key == wanted ? have.calibration : nullptr;

    if (!photo) {
        report("Reading " + name, 0.0F);
        Result<Photo> loaded = load_photo(work.photo, work.transfer, stop, [&](float share) { report("Reading " + name, share); });
        if (stop.stop_requested()) return;
        if (!loaded) return post(PhotoUpdate{photo_key(work), loaded.error(), nullptr, nullptr});
        photo = std::make_shared<const Photo>(std::move(*loaded));
        const auto original = std::make_shared<const CorrectedPicture>(original_picture(*photo));
        post(PhotoUpdate{photo_key(work), photo, original, std::make_shared<const Preview>(overview_of(*original))});
    }
    if (stop.stop_requested()) return;

    std::optional<Light> lit_by;
    if (!work.lit_by.empty()) {
        Result<Light> known = light(work.lit_by, read_text_file, own);
        if (!known) return post(CalibrationUpdate{wanted, known.error()});
        lit_by = std::move(*known);
    }
    if (!calibration) {
        report("Calibrating", std::nullopt);
        Result<Calibration> made = calibrate(*photo, work.references, {.lit_by = lit_by});
        if (stop.stop_requested()) return;
        if (!made) return post(CalibrationUpdate{wanted, made.error()});
        calibration = std::make_shared<const Calibration>(std::move(*made));
        post(CalibrationUpdate{wanted, calibration});
    }
    if (stop.stop_requested()) return;

    if (have.match_key != match_key(work)) {
        report("Measuring", std::nullopt);
        MatchUpdate update{match_key(work), {}, {}, {}, {}};
        const Result<Light> d50 = light("D50");
        if (!d50) {
            update.error = d50.error();
            return post(std::move(update));
        }
        const auto read = [&](const std::optional<Region>& region, const char* role, std::optional<Reading>& into) {
            if (!region) return;
            Result<Reading> reading = read_region(*photo, *calibration, role, *region, *d50);
            if (reading) {
                into = std::move(*reading);
            } else if (!update.error) {
                update.error = reading.error();
            }
        };
        read(work.chip, "chip", update.chip);
        read(work.swatch, "swatch", update.swatch);
        if (update.chip && update.swatch && !stop.stop_requested()) {
            report("Comparing", std::nullopt);
            CompareOptions options;
            options.tolerance = work.tolerance;
            options.textured = work.textured;
            for (const std::string& text : work.lights) {
                if (Result<Light> known = light(text, read_text_file, own)) {
                    options.under.push_back(std::move(*known));
                } else if (!update.error) {
                    update.error = known.error();
                }
            }
            Result<Comparison> compared = compare({PairInPhoto{photo.get(), calibration.get(), *work.chip, *work.swatch, lit_by}}, options);
            if (compared) {
                update.comparison = std::move(*compared);
            } else {
                update.error = compared.error();
            }
        }
        if (stop.stop_requested()) return;
        post(std::move(update));
    }
    if (stop.stop_requested()) return;

    if (have.corrected_key != wanted) {
        report("Correcting the picture", 0.0F);
        CorrectedPicture picture = correct_picture(*photo, *calibration, stop, [&](float share) { report("Correcting the picture", share); });
        if (picture.cancelled || stop.stop_requested()) return;
        post(CorrectedUpdate{wanted, std::make_shared<const CorrectedPicture>(std::move(picture))});
    }
}

namespace {

void put_photo(Results& results, PhotoUpdate update) {
    results = {};
    results.photo_key = update.key;
    if (update.photo) {
        results.photo = *update.photo;
        results.original = std::move(update.original);
        results.overview = std::move(update.overview);
    } else {
        results.photo_error = update.photo.error();
    }
}

void put_calibration(Results& results, CalibrationUpdate update) {
    results.calibration_key = update.key;
    results.calibration.reset();
    results.calibration_error.reset();
    if (update.calibration) {
        results.calibration = *update.calibration;
    } else {  // figures of another calibration must not stay on the screen
        results.calibration_error = update.calibration.error();
        results.chip.reset();
        results.swatch.reset();
        results.comparison.reset();
        results.match_error.reset();
        results.match_key.clear();
        results.corrected.reset();
        results.corrected_key.clear();
    }
}

void put_match(Results& results, MatchUpdate update) {
    results.match_key = update.key;
    results.chip = std::move(update.chip);
    results.swatch = std::move(update.swatch);
    results.comparison = std::move(update.comparison);
    results.match_error = std::move(update.error);
}

}  // namespace

void put(Results& results, Update update) {
    if (auto* photo = std::get_if<PhotoUpdate>(&update)) return put_photo(results, std::move(*photo));
    if (auto* calibration = std::get_if<CalibrationUpdate>(&update)) return put_calibration(results, std::move(*calibration));
    if (auto* match = std::get_if<MatchUpdate>(&update)) return put_match(results, std::move(*match));
    if (auto* corrected = std::get_if<CorrectedUpdate>(&update)) {
        results.corrected_key = corrected->key;
        results.corrected = std::move(corrected->picture);
    }
}

}  // namespace sw::window
