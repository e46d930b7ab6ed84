// The same answers for machines.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "cli/book_answers.hpp"
#include "cli/json.hpp"

namespace sw {
namespace {

using BookJson = nlohmann::ordered_json;

std::string book_text(const BookJson& json) { return json.dump(2, ' ', false, BookJson::error_handler_t::replace) + "\n"; }

BookJson figure_or_null(const std::optional<double>& value) {
    if (!value || !std::isfinite(*value)) return nullptr;
    return std::round(*value * 1e4) / 1e4 + 0.0;
}

BookJson name_or_null(const std::map<std::int64_t, std::string>& names, const std::optional<std::int64_t>& id) {
    const auto found = id ? names.find(*id) : names.end();
    return found == names.end() ? BookJson(nullptr) : BookJson(found->second);
}

BookJson path_or_null(const std::vector<Part>& parts, const std::optional<std::int64_t>& id) {
    const auto found = std::find_if(parts.begin(), parts.end(), [&](const Part& part) { return id && part.id == *id; });
    return found == parts.end() ? BookJson(nullptr) : BookJson(part_path(parts, *found));
}

BookJson part_json(const Part& part, const BookNames& names) {
    return {{"name", part.name},
            {"path", part_path(names.parts, part)},
            {"in", path_or_null(names.parts, part.parent)},
            {"wears", name_or_null(names.targets, part.target)},
            {"status", to_word(part.status)},
            {"note", part.note},
            {"created", part.created}};
}

BookJson note_json(const Note& note, const BookNames& names) {
    return {{"id", note.id},
            {"text", note.text},
            {"target", name_or_null(names.targets, note.target)},
            {"part", path_or_null(names.parts, note.part)},
            {"reading", note.reading ? BookJson(*note.reading) : BookJson(nullptr)},
            {"created", note.created}};
}

template <class T, class Make>
BookJson list_json(const std::vector<T>& items, Make make) {
    BookJson list = BookJson::array();
    for (const T& item : items) list.push_back(make(item));
    return list;
}

template <class T>
void add_distance(BookJson& json, const Hit<T>& hit) {
    json["de00"] = hit.distance ? figure_or_null(hit.distance->de00) : BookJson(nullptr);
    json["de00_sd"] = hit.distance ? figure_or_null(hit.distance->sd) : BookJson(nullptr);
}

BookJson kept_json(const KeptReading& reading, const BookNames& names) {
    BookJson covariance = BookJson::array();
    for (int row = 0; row < 3; ++row)
        covariance.push_back({reading.lab_covariance(row, 0), reading.lab_covariance(row, 1), reading.lab_covariance(row, 2)});
    return {{"id", reading.id},
            {"name", reading.name},
            {"target", name_or_null(names.targets, reading.target)},
            {"lab", {reading.lab.L, reading.lab.a, reading.lab.b}},
            {"lab_cov", std::move(covariance)},
            {"light", reading.light},
            {"photo", reading.photo_file},
            {"photo_not_on_record", !on_record(reading, names)},
            {"region", reading.region},
            {"judged", figure_or_null(reading.de00)},
            {"ci95", reading.ci_low && reading.ci_high ? BookJson::array({figure_or_null(reading.ci_low), figure_or_null(reading.ci_high)})
                                                       : BookJson(nullptr)},
            {"verdict", reading.verdict.empty() ? BookJson(nullptr) : BookJson(reading.verdict)},
            {"created", reading.created}};
}

BookJson hit_json(const Hit<KeptReading>& hit, const BookNames& names) {
    BookJson json = kept_json(hit.item, names);
    add_distance(json, hit);
    return json;
}

BookJson lamp_json(const Lamp& lamp) {
    return {{"name", lamp.name},
            {"light", lamp.light.empty() ? BookJson(nullptr) : BookJson(lamp.light)},
            {"spectrum", lamp.spectrum.empty() ? BookJson(nullptr) : BookJson(lamp.spectrum)},
            {"source", lamp.source},
            {"created", lamp.created}};
}

BookJson bad_json(const BadRow& row) { return {{"table", row.table}, {"id", row.id}, {"label", row.label}}; }

const char* to_word(Reread outcome) {
    switch (outcome) {
        case Reread::same:
            return "same";
        case Reread::differs:
            return "differs";
        case Reread::photo_missing:
            return "photo missing";
        case Reread::not_possible:
            return "not possible";
    }
    return "";
}

}  // namespace

std::string parts_json(const std::vector<Part>& parts, const BookNames& names) {
    return book_text({{"parts", list_json(parts, [&](const Part& part) { return part_json(part, names); })}});
}

std::string part_list_json(const std::vector<Hit<Part>>& parts, const BookNames& names) {
    return book_text({{"parts", list_json(parts, [&](const Hit<Part>& hit) {
                           BookJson json = part_json(hit.item, names);
                           if (hit.distance) add_distance(json, hit);
                           return json;
                       })}});
}

std::string readings_json(const std::vector<Hit<KeptReading>>& readings, const BookNames& names) {
    return book_text({{"readings", list_json(readings, [&](const Hit<KeptReading>& hit) { return hit_json(hit, names); })}});
}

std::string reading_json(const KeptReading& reading, const BookNames& names) {
    const CalibrationTold how = calibration_told(reading.calibration_json);
    BookJson json = hit_json({reading, {}}, names);
    json["photo_hash"] = reading.photo_hash;
    json["calibration"] = {{"method", how.method},
                           {"references", how.references},
                           {"warnings", how.warnings},
                           {"loo", {{"mean", figure_or_null(how.loo_mean)}, {"p95", figure_or_null(how.loo_p95)}}}};
    json["can_be_taken_again"] = how.again;
    return book_text({{"readings", BookJson::array({json})}});
}

std::string photos_json(const std::vector<PhotoSeen>& photos) {
    return book_text({{"photos", list_json(photos, [](const PhotoSeen& seen) -> BookJson {
                           const KeptPhoto& photo = seen.photo;
                           return {{"path", photo.path},
                                   {"there", seen.there},
                                   {"hash", photo.hash},
                                   {"bytes", photo.bytes},
                                   {"width", photo.width},
                                   {"height", photo.height},
                                   {"camera", photo.camera},
                                   {"lens", photo.lens},
                                   {"taken", photo.taken},
                                   {"iso", figure_or_null(photo.iso)},
                                   {"exposure_s", photo.exposure_s ? BookJson(*photo.exposure_s) : BookJson(nullptr)},
                                   {"f_number", figure_or_null(photo.f_number)},
                                   {"focal_mm", figure_or_null(photo.focal_mm)},
                                   {"thumbnail_bytes", photo.thumbnail.size()},
                                   {"created", photo.created}};
                       })}});
}

std::string lamps_json(const std::vector<Lamp>& lamps) { return book_text({{"lamps", list_json(lamps, lamp_json)}}); }

std::string notes_json(const std::vector<Note>& notes, const BookNames& names) {
    return book_text({{"notes", list_json(notes, [&](const Note& note) { return note_json(note, names); })}});
}

std::string found_json(const Found& found, const BookNames& names) {
    BookJson targets = BookJson::array();
    for (const auto& hit : found.targets) {
        targets.push_back(BookJson::parse(targets_json({hit.item}, names.off_record))["targets"][0]);
        add_distance(targets.back(), hit);
    }
    return book_text({{"targets", std::move(targets)},
                      {"readings", list_json(found.readings, [&](const Hit<KeptReading>& hit) { return hit_json(hit, names); })},
                      {"parts", list_json(found.parts, [&](const Part& part) { return part_json(part, names); })},
                      {"notes", list_json(found.notes, [&](const Note& note) { return note_json(note, names); })},
                      {"cards", BookJson::parse(cards_json(found.cards))["cards"]},
                      {"lamps", list_json(found.lamps, lamp_json)},
                      {"setups", BookJson::parse(setups_json(found.setups))["setups"]}});
}

std::string twins_json(const std::vector<Twins>& twins, const std::vector<Target>& targets) {
    return book_text({{"duplicates", list_json(twins, [&](const Twins& pair) -> BookJson {
                           return {{"targets", {targets[pair.one].name, targets[pair.two].name}},
                                   {"de00", figure_or_null(pair.de00)},
                                   {"de00_sd", figure_or_null(pair.sd)},
                                   {"clear", pair.de00 > 2 * pair.sd}};
                       })}});
}

std::string info_json(const BookInfo& info) {
    BookJson rows = BookJson::object();
    for (const auto& [name, count] : info.rows) rows[name] = count;
    return book_text({{"workbook", info.workbook.string()},
                      {"version", info.version},
                      {"bytes", info.bytes},
                      {"read_only", info.read_only},
                      {"newer", info.newer},
                      {"rows", std::move(rows)},
                      {"missing_photos", list_json(info.missing_photos, [](const KeptPhoto& photo) { return BookJson(photo.path); })},
                      {"changes", list_json(info.changes, [](const Change& change) -> BookJson {
                           return {{"words", change.words}, {"undone", change.undone}, {"created", change.created}};
                       })}});
}

std::string verify_json(const Soundness& sound, const std::vector<RereadReading>& readings) {
    BookJson rows = BookJson::object();
    for (const auto& [name, count] : sound.rows) rows[name] = count;
    return book_text({{"sound", sound.sound()},
                      {"version", sound.version},
                      {"rows", std::move(rows)},
                      {"structure", sound.structure},
                      {"damaged", list_json(sound.bad, bad_json)},
                      {"readings", list_json(readings, [](const RereadReading& one) -> BookJson {
                           return {{"id", one.id},
                                   {"name", one.name},
                                   {"photo", one.photo},
                                   {"outcome", to_word(one.outcome)},
                                   {"de00", figure_or_null(one.de00)},
                                   {"judged_kept", figure_or_null(one.judged_kept)},
                                   {"judged_now", figure_or_null(one.judged_now)},
                                   {"why", one.why}};
                       })}});
}

std::string rescue_json(const Rescued& rescued, const WorkbookRequest& request) {
    BookJson rows = BookJson::object();
    for (const auto& [name, count] : rescued.taken) rows[name] = count;
    return book_text({{"in", request.workbook.string()},
                      {"out", request.out.string()},
                      {"rows", std::move(rows)},
                      {"damaged", list_json(rescued.bad, bad_json)},
                      {"mended", rescued.mended},
                      {"changes_lost", rescued.changes}});
}

std::string undo_json(const std::optional<std::string>& words, const WorkbookRequest& request) {
    return book_text({{"workbook", request.workbook.string()},
                      {request.action == WorkbookAction::undo ? "undone" : "redone", words ? BookJson(*words) : BookJson(nullptr)}});
}

}  // namespace sw
