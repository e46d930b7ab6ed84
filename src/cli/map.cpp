// swatchwright map: a part against its target, place by place.
#include <filesystem>
#include <system_error>

#include "cli/commands.hpp"
#include "cli/exit_code.hpp"
#include "cli/files.hpp"
#include "cli/json.hpp"
#include "cli/light_job.hpp"
#include "cli/photo_job.hpp"
#include "cli/report.hpp"
#include "sheet/difference_picture.hpp"

namespace sw {
namespace {

/// The part as a whole against what it is held against, under which light, and how that is called.
struct Held {
    MapAnchor anchor;
    Light under;
    Observer observer = Observer::degree2;
    std::string target;
};

Result<Held> against_chip(const MapRequest& request, const CalibratedPhoto& photo, const Region& chip) {
    const auto comparison = compare({{photo.photo.get(), &photo.calibration, chip, request.region, photo.lit_by}});
    if (!comparison) return in_file(comparison.error(), request.photo.file);
    return Held{map_anchor(*comparison), photo.lit_by ? *photo.lit_by : *light("D50"), Observer::degree2, "the chip"};
}

Result<Held> against_color(const MapRequest& request, const CalibratedPhoto& photo, const Target& target) {
    const auto under = light(target.light, read_text_file, lamps_in(request.photo.workbook));
    if (!under) return in_file(under.error(), request.photo.workbook.string());
    const auto part = read_region(*photo.photo, photo.calibration, "part", request.region, *under, target.observer);
    if (!part) return in_file(part.error(), request.photo.file);
    if (!part->absolute_ok) return color_unknown(request.photo.file, "part " + to_text(request.region));
    return Held{{part->lab, target.lab, part->lab_covariance + target.lab_covariance}, *under, target.observer, target.name};
}

Result<Held> hold(const MapRequest& request, const CalibratedPhoto& photo) {
    if (const auto* chip = std::get_if<Region>(&request.against)) return against_chip(request, photo, *chip);
    if (const auto* typed = std::get_if<Lab>(&request.against)) {
        Target target;
        target.lab = *typed;
        target.name = "the color given";
        return against_color(request, photo, target);
    }
    const auto workbook = Workbook::open(request.photo.workbook, false);
    if (!workbook) return in_file(workbook.error(), request.photo.workbook.string());
    const auto target = workbook->target(std::get<std::string>(request.against));
    if (!target) return in_file(target.error(), request.photo.workbook.string());
    return against_color(request, photo, *target);
}

}  // namespace

Error color_unknown(const std::string& file, const std::string& place) {
    return {Fault::color_unknown, file, place, "its color is unknown: tones were changed from place to place in this picture (HDR?)",
            "photograph again with HDR off, or take camera raw"};
}

Result<Answer> run(const MapRequest& request) {
    std::error_code problem;
    if (!request.out.empty() && std::filesystem::equivalent(request.out, request.photo.file, problem) && !problem)
        return Error{Fault::bad_usage, request.out, "", "is the photo itself, which is never written over", "choose another name"};
    const auto photo = open_photo(request.photo, Observer::degree2);
    if (!photo) return photo.error();
    const auto held = hold(request, *photo);
    if (!held) return held.error();
    const auto map = difference_map(*photo->photo, photo->calibration, request.region, held->anchor, held->under, held->observer, request.options);
    if (!map) return in_file(map.error(), request.photo.file);
    const std::vector<std::string> words = map_words(*map, held->target);
    if (!request.out.empty()) {
        const std::string title = "Color over the part: " + std::filesystem::path(request.photo.file).filename().string();
        const auto saved = save_difference_picture(*photo->photo, photo->calibration, *map, title, words, request.out);
        if (!saved) return saved.error();
    }
    return Answer{
        request.json ? map_json(request, *photo, *map, held->target, held->under.name, words) : map_report(request, *photo, words), {}, kDone};
}

}  // namespace sw
