// swatchwright reading: the kept readings, one step back from a figure.
#include <algorithm>

#include "cli/book_job.hpp"
#include "cli/commands.hpp"
#include "cli/exit_code.hpp"
#include "cli/list_order.hpp"
#include "cli/photo_job.hpp"

namespace sw {
namespace {

Result<Answer> list_readings(const ReadingBookRequest& request, const Workbook& workbook, std::vector<KeptReading> readings, const BookNames& names) {
    const std::string shown = request.workbook.string();
    if (!request.target.empty()) {
        const auto target = workbook.target(request.target);
        if (!target) return in_file(target.error(), shown);
        std::erase_if(readings, [&](const KeptReading& reading) { return reading.target != target->id; });
    }
    if (!request.photo.empty()) {
        // A photo that is not on record is known by what its readings say of it.
        const auto photos = workbook.photos();
        if (!photos) return in_file(photos.error(), shown);
        const auto known = photo_named(*photos, request.photo);
        if (!known && known.error().fault != Fault::name_unknown) return in_file(known.error(), shown);
        const std::string hash = known ? known->hash : request.photo;
        const auto from_it = [&](const KeptReading& reading) {
            return reading.photo_hash == hash ||
                   (!known && (reading.photo_file == request.photo || std::filesystem::path(reading.photo_file).filename() == request.photo));
        };
        if (!known && std::none_of(readings.begin(), readings.end(), from_it)) return in_file(known.error(), shown);
        std::erase_if(readings, [&](const KeptReading& reading) { return !from_it(reading); });
    }
    if (!request.verdict.empty()) std::erase_if(readings, [&](const KeptReading& reading) { return reading.verdict != request.verdict; });
    const auto hits = arranged(
        std::move(readings), request.list,
        [](const KeptReading& reading) {
            return std::optional(KnownColor{reading.lab, reading.lab_covariance});
        },
        [](const KeptReading& reading) { return reading.name; });
    return Answer{request.json ? readings_json(hits, names) : readings_report(hits, names, "", shown), {}, kDone};
}

}  // namespace

Result<Answer> run(const ReadingBookRequest& request) {
    const std::string shown = request.workbook.string();
    auto opened = book_of(request);
    if (!opened) return opened.error();
    if (!*opened) {
        if (request.action != BookAction::list)
            return Error{Fault::name_unknown, shown, "reading no. " + request.name, "there is no workbook yet, so no reading of that number",
                         "keep one with swatchwright target add NAME --from PHOTO, or in the window"};
        return Answer{request.json ? readings_json({}, {}) : readings_report({}, {}, "", shown), {}, kDone};
    }
    Workbook& workbook = **opened;
    const auto names = names_of(workbook);
    if (!names) return in_file(names.error(), shown);
    auto readings = workbook.readings();
    if (!readings) return in_file(readings.error(), shown);
    if (request.action == BookAction::list) return list_readings(request, workbook, *std::move(readings), *names);
    const auto found = std::find_if(readings->begin(), readings->end(), [&](const KeptReading& reading) { return reading.id == request.id; });
    if (found == readings->end())
        return Error{Fault::name_unknown, shown, "reading no. " + request.name, "there is no reading of that number",
                     "swatchwright reading list tells them"};
    if (request.action == BookAction::show)
        return Answer{request.json ? reading_json(*found, *names) : reading_report(*found, *names, shown), {}, kDone};
    if (const auto removed = workbook.remove_reading(found->id); !removed) return in_file(removed.error(), shown);
    const std::vector<Hit<KeptReading>> gone{{*found, {}}};
    return Answer{request.json ? readings_json(gone, *names) : readings_report(gone, *names, "Removed", shown), {}, kDone};
}

}  // namespace sw
