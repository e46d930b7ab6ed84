#include "cli/book_job.hpp"

#include <algorithm>
#include <system_error>

#include "cli/photo_job.hpp"
#include "cli/text.hpp"

namespace sw {

Result<std::optional<Workbook>> book_of(const BookRequest& request) {
    const bool add = request.action == BookAction::add;
    std::error_code problem;
    if (!add && !request.workbook_given && !std::filesystem::exists(request.workbook, problem)) return std::optional<Workbook>();
    auto workbook = Workbook::open(request.workbook, add);
    if (!workbook) return in_file(workbook.error(), request.workbook.string());
    return std::optional<Workbook>(*std::move(workbook));
}

Error no_workbook(const BookRequest& request, const std::string& what) {
    return Error{Fault::name_unknown, request.workbook.string(), request.name, "there is no workbook yet, so no " + what + " of that name",
                 "add one with swatchwright " + what + " add"};
}

Result<BookNames> names_of(const Workbook& workbook) {
    const auto parts = workbook.parts();
    const auto targets = workbook.targets();
    const auto readings = workbook.readings();
    if (!parts) return parts.error();
    if (!targets) return targets.error();
    if (!readings) return readings.error();
    const auto photos = workbook.photos();
    if (!photos) return photos.error();
    BookNames names{*parts, {}, {}, {}, targets_off_record(*readings, *photos)};
    for (const KeptPhoto& photo : *photos) names.photos.insert(photo.hash);
    for (const Target& target : *targets) names.targets[target.id] = target.name;
    for (const KeptReading& reading : *readings) names.readings[reading.id] = reading.name;
    return names;
}

Result<KeptPhoto> photo_named(const std::vector<KeptPhoto>& photos, const std::string& name) {
    std::error_code problem;
    const std::filesystem::path there = std::filesystem::weakly_canonical(std::filesystem::absolute(name, problem), problem);
    std::vector<KeptPhoto> found;
    std::copy_if(photos.begin(), photos.end(), std::back_inserter(found), [&](const KeptPhoto& photo) {
        const std::filesystem::path path = photo.path;
        return photo.hash == name || photo.path == name || path == there || path.filename() == name;
    });
    if (found.size() == 1) return found.front();
    const std::string place = "photo \"" + name + "\"";
    if (found.empty()) return Error{Fault::name_unknown, "", place, "there is no photo of that name", "swatchwright photo list names them"};
    std::vector<std::string> hashes;
    for (const KeptPhoto& photo : found) hashes.push_back(photo.hash + " (" + photo.path + ")");
    return Error{Fault::bad_usage, "", place, std::to_string(found.size()) + " photos have that name", "name one by its hash: " + listed(hashes)};
}

}  // namespace sw
