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
        auto workbook = Workbook::open(request.workbook, true);
        if (!workbook) return in_file(workbook.error(), request.workbook.string());
        auto added = workbook->add(std::move(target));
        if (!added) return in_file(added.error(), request.workbook.string());
        kept = *std::move(added);
    }
    return Answer{request.json ? screen_json(request, photos, *reading, kept) : screen_report(request, *reading, kept), {}, kDone};
}

}  // namespace sw
