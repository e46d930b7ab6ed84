// swatchwright screen: a color as frames of a film show it.
#include <utility>

#include "cli/commands.hpp"
#include "cli/exit_code.hpp"
#include "cli/json.hpp"
#include "cli/photo_job.hpp"
#include "cli/report.hpp"
#include "workbook/workbook.hpp"

namespace sw {

Result<Answer> run(const ScreenRequest& request) {
    std::vector<Photo> photos;
    for (const ScreenRequest::Frame& frame : request.frames) {
        auto photo = load_photo(frame.file, request.transfer);
        if (!photo) return in_file(photo.error(), frame.file);
        photos.push_back(*std::move(photo));
    }
    std::optional<Photo> still;
    if (!request.still.empty()) {
        auto photo = load_photo(request.still, request.transfer);
        if (!photo) return in_file(photo.error(), request.still);
        still = *std::move(photo);
    }
    std::vector<FramePlace> places;
    for (std::size_t i = 0; i < photos.size(); ++i)
        places.push_back({&photos[i], request.frames[i].region, request.known, still ? &*still : nullptr, request.still_region});
    const auto reading = read_screen(places);
    if (!reading) return reading.error();

    std::optional<Target> kept;
    if (!request.keep.empty()) {
        Target target;
        target.name = request.keep;
        target.lab = reading->lab;
        target.lab_covariance = reading->covariance;
        target.kind = TargetKind::screen;
        for (const ScreenRequest::Frame& frame : request.frames)
            target.source += (target.source.empty() ? "" : "; ") + frame.file + " " + to_text(frame.region);
        target.source += std::string(" (") + kAppearance + ")";
        target.caution = kAppearance;
        auto workbook = Workbook::open(request.workbook, true);
        if (!workbook) return in_file(workbook.error(), request.workbook.string());
        const auto done = workbook->together("Added target \"" + request.keep + "\"", [&]() -> Result<Done> {
            auto added = workbook->add(target);
            if (!added) return added.error();
            kept = *std::move(added);
            for (const Photo& photo : photos) {
                if (const auto seen = workbook->keep(kept_photo(photo)); !seen) return seen.error();
            }
            return Done{};
        });
        if (!done) return in_file(done.error(), request.workbook.string());
    }
    return Answer{request.json ? screen_json(request, photos, *reading, kept) : screen_report(request, *reading, kept), {}, kDone};
}

}  // namespace sw
