#include "cli/book_answers.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "calibrate/calibration.hpp"
#include "cli/report.hpp"
#include "cli/text.hpp"
#include "sheet/words.hpp"
#include "workbook/reading_request.hpp"

namespace sw {
namespace {

std::string head_of(std::size_t count, const std::string& what, const std::string& name, const std::string& verb, const std::string& workbook) {
    if (count == 0) return wrapped("No " + what + "s in " + workbook + ".");
    if (verb.empty()) return wrapped(counted(count, what) + " in " + workbook + ":") + "\n";
    return wrapped(verb + " " + what + " \"" + name + (verb == "Removed" ? "\" from " : "\" in ") + workbook + ":") + "\n";
}

std::string day(const std::string& created) { return created.substr(0, 10); }

std::string about(const Note& note, const BookNames& names) {
    const auto named = [](const std::map<std::int64_t, std::string>& all, std::int64_t id) {
        const auto found = all.find(id);
        return found == all.end() ? "no. " + std::to_string(id) : "\"" + found->second + "\"";
    };
    if (note.target) return "target " + named(names.targets, *note.target);
    if (note.reading) return "reading " + named(names.readings, *note.reading);
    const auto part = std::find_if(names.parts.begin(), names.parts.end(), [&](const Part& one) { return note.part && one.id == *note.part; });
    return part == names.parts.end() ? "part" : "part \"" + part_path(names.parts, *part) + "\"";
}

std::string lab_words(const Lab& color, const Eigen::Matrix3d& covariance) {
    const auto sd = lab_sd(covariance);
    return measured(color.L, sd[0]) + ",  " + measured(color.a, sd[1]) + ",  " + measured(color.b, sd[2]);
}

std::string judged_words(const KeptReading& reading) {
    if (!reading.de00 || !reading.ci_low || !reading.ci_high) return reading.verdict;
    return brief(*reading.de00) + " (" + range(*reading.ci_low, *reading.ci_high) + ") " + reading.verdict;
}

std::string distance_words(const std::optional<Distance>& distance) { return distance ? measured(distance->de00, distance->sd) : ""; }

std::string photo_words(const KeptReading& reading, const BookNames& names) {
    return std::filesystem::path(reading.photo_file).filename().string() + (on_record(reading, names) ? "" : ", not on record");
}

std::string kept_readings_table(const std::vector<Hit<KeptReading>>& readings, const BookNames& names) {
    Table table({"", "no.", "ΔE00", "L*, a*, b*", "judged", "photo", "kept"}, {3, 4, 5, 6});
    for (const auto& [reading, distance] : readings)
        table.row({printable(reading.name), std::to_string(reading.id), distance_words(distance), lab_words(reading.lab, reading.lab_covariance),
                   printable(judged_words(reading)), printable(photo_words(reading, names)), day(reading.created)});
    return table.text();
}

std::string exposure_words(const KeptPhoto& photo) {
    std::vector<std::string> words;
    if (photo.exposure_s)
        words.push_back(*photo.exposure_s < 0.3 ? "1/" + std::to_string(std::lround(1 / *photo.exposure_s)) + " s" : brief(*photo.exposure_s) + " s");
    if (photo.f_number) words.push_back("f/" + brief(*photo.f_number));
    if (photo.iso) words.push_back("ISO " + brief(*photo.iso));
    std::string text;
    for (const std::string& word : words) text += (text.empty() ? "" : ", ") + word;
    return text.empty() ? "unknown" : text;
}

}  // namespace

bool on_record(const KeptReading& reading, const BookNames& names) { return reading.photo_hash.empty() || names.photos.contains(reading.photo_hash); }

std::string parts_report(const std::vector<Part>& parts, const BookNames& names, const std::string& verb, const std::string& workbook) {
    std::string text = head_of(parts.size(), "part", parts.empty() ? "" : parts.front().name, verb, workbook);
    if (parts.empty()) return text;
    std::vector<std::pair<std::string, const Part*>> lines;  // by path: a part stands below what it is in
    for (const Part& part : parts) {
        std::string order = part_path(names.parts, part);
        std::replace(order.begin(), order.end(), '/', '\x01');  // before a blank and all letters
        lines.emplace_back(std::move(order), &part);
    }
    std::sort(lines.begin(), lines.end());
    Table table({"", "status", "wears", "note"}, {1, 2, 3});
    std::map<std::int64_t, std::size_t> indent;  // of those listed already
    for (const auto& [order, part] : lines) {
        const auto above = part->parent ? indent.find(*part->parent) : indent.end();
        const std::size_t blanks = above == indent.end() ? 0 : above->second + 2;
        indent[part->id] = blanks;
        const std::string name = above == indent.end() ? part_path(names.parts, *part) : std::string(blanks, ' ') + part->name;
        const auto worn = part->target ? names.targets.find(*part->target) : names.targets.end();
        table.row({printable(name), to_word(part->status), worn == names.targets.end() ? "" : printable(worn->second), printable(part->note)});
    }
    return text + table.text();
}

std::string part_list_report(const std::vector<Hit<Part>>& hits, const BookNames& names, const ListRequest& list, const std::string& workbook) {
    if (list.order == ListOrder::usual) {
        std::vector<Part> parts;
        for (const Hit<Part>& hit : hits) parts.push_back(hit.item);
        return parts_report(parts, names, "", workbook);
    }
    std::string text = head_of(hits.size(), "part", "", "", workbook);
    if (hits.empty()) return text;
    std::vector<std::string> heads{"", "status", "wears", "note", "kept"};
    if (list.near) heads.emplace_back("ΔE00");
    Table table(std::move(heads), {1, 2, 3, 4});
    for (const auto& [part, distance] : hits) {
        const auto worn = part.target ? names.targets.find(*part.target) : names.targets.end();
        std::vector<std::string> row{printable(part_path(names.parts, part)), to_word(part.status),
                                     worn == names.targets.end() ? "" : printable(worn->second), printable(part.note), day(part.created)};
        if (list.near) row.push_back(distance_words(distance));
        table.row(std::move(row));
    }
    return text + table.text() + (list.near ? "\n± is one standard deviation.\n" : "");
}

std::string readings_report(const std::vector<Hit<KeptReading>>& readings, const BookNames& names, const std::string& verb,
                            const std::string& workbook) {
    std::string text = head_of(readings.size(), "reading", readings.empty() ? "" : printable(readings.front().item.name), verb, workbook);
    if (readings.empty()) return text;
    return text + kept_readings_table(readings, names) + "\n± is one standard deviation; a range in brackets holds the truth in 95 of 100 cases.\n";
}

std::string reading_report(const KeptReading& reading, const BookNames& names, const std::string& workbook) {
    std::string text = wrapped("Reading no. " + std::to_string(reading.id) + ", \"" + reading.name + "\", in " + workbook + ":") + "\n";
    const auto line = [&](const std::string& what, const std::string& words) {
        std::string head = "  " + what;
        head.resize(18, ' ');
        text += wrapped(words.empty() ? "unknown" : words, head);
    };
    const CalibrationTold how = calibration_told(reading.calibration_json);
    line("L*, a*, b*", lab_words(reading.lab, reading.lab_covariance));
    line("under", reading.light);
    const auto target = reading.target ? names.targets.find(*reading.target) : names.targets.end();
    if (target != names.targets.end()) line(reading.verdict.empty() ? "made into" : "judged against", target->second);
    if (!reading.verdict.empty()) line("judged", judged_words(reading));
    line("region", reading.region);
    line("photo", reading.photo_file);
    line("content", reading.photo_hash + (on_record(reading, names) ? "" : ", not on record"));
    line("calibrated by", how.method);
    if (!how.references.empty()) line("references", listed(how.references));
    if (how.loo_mean && how.loo_p95) line("left out", "ΔE00 " + brief(*how.loo_mean) + " on average, 95 % below " + brief(*how.loo_p95));
    for (const std::string& warning : how.warnings) line("heed", warning);
    line("kept", reading.created);
    return text + "\n" +
           wrapped(how.again ? "± is one standard deviation. swatchwright workbook verify takes it again from the photo."
                             : "± is one standard deviation. How it was read is not kept, so it cannot be taken again.");
}

std::string photos_report(const std::vector<PhotoSeen>& photos, const std::string& verb, const std::string& workbook) {
    std::string text = head_of(photos.size(), "photo", photos.empty() ? "" : printable(photos.front().photo.path), verb, workbook);
    if (photos.empty()) return text;
    Table table({"", "pixels", "camera", "exposure", "taken", "there"}, {1, 2, 3, 4, 5});
    for (const auto& [photo, there] : photos)
        table.row({printable(photo.path), std::to_string(photo.width) + " x " + std::to_string(photo.height),
                   photo.camera.empty() ? "unknown" : printable(photo.camera), exposure_words(photo),
                   photo.taken.empty() ? "unknown" : printable(photo.taken), there ? "yes" : "missing"});
    text += table.text();
    if (std::any_of(photos.begin(), photos.end(), [](const PhotoSeen& seen) { return !seen.there; }))
        text += "\n" + wrapped("What is missing may have been moved: swatchwright photo find FOLDER looks for it by its content.");
    return text;
}

std::string lamps_report(const std::vector<Lamp>& lamps, const std::string& verb, const std::string& workbook) {
    std::string text = head_of(lamps.size(), "lamp", lamps.empty() ? "" : lamps.front().name, verb, workbook);
    if (lamps.empty()) return text;
    Table table({"", "light", "source"}, {1, 2});
    for (const Lamp& lamp : lamps)
        table.row({printable(lamp.name), lamp.spectrum.empty() ? printable(lamp.light) : "a measured spectrum", printable(lamp.source)});
    return text + table.text();
}

std::string notes_report(const std::vector<Note>& notes, const BookNames& names, const std::string& verb, const std::string& workbook) {
    std::string text = head_of(notes.size(), "note", notes.empty() ? "" : std::to_string(notes.front().id), verb, workbook);
    for (const Note& note : notes)
        text += wrapped(note.text, "  " + std::to_string(note.id) + "  ") + wrapped(about(note, names) + ", " + day(note.created), "     ");
    return text;
}

std::string found_report(const Found& found, const BookNames& names, const std::string& workbook) {
    if (found.targets.empty() && found.readings.empty() && found.parts.empty() && found.notes.empty() && found.cards.empty() && found.lamps.empty() &&
        found.setups.empty())
        return wrapped("Nothing found in " + workbook + ".");
    std::string text;
    if (!found.targets.empty()) {
        Table table({"", "ΔE00", "L*, a*, b*", "under", "kind", "kept"}, {2, 3, 4, 5});
        for (const auto& hit : found.targets)
            table.row({printable(hit.item.name), distance_words(hit.distance), lab_words(hit.item.lab, hit.item.lab_covariance),
                       printable(hit.item.light), to_word(hit.item.kind), day(hit.item.created)});
        text += counted(found.targets.size(), "target") + ":\n" + table.text() + "\n";
    }
    if (!found.readings.empty()) {
        text += counted(found.readings.size(), "reading") + ":\n" + kept_readings_table(found.readings, names) + "\n";
    }
    if (!found.parts.empty()) text += parts_report(found.parts, names, "", workbook) + "\n";
    if (!found.notes.empty()) text += notes_report(found.notes, names, "", workbook) + "\n";
    if (!found.cards.empty()) text += cards_report(found.cards, "", workbook) + "\n";
    if (!found.lamps.empty()) text += lamps_report(found.lamps, "", workbook) + "\n";
    if (!found.setups.empty()) text += setups_report(found.setups, "", workbook) + "\n";
    if (!found.targets.empty() || !found.readings.empty())
        text += "± is one standard deviation; a range in brackets holds the truth in 95 of 100 cases.\n";
    return text;
}

std::string twin_words(const std::vector<Twins>& twins, const std::vector<Target>& others) {
    constexpr std::size_t kMost = 3;
    std::string text;
    for (std::size_t i = 0; i < std::min(kMost, twins.size()); ++i)
        text += (text.empty() ? "" : "; ") + others[twins[i].one].name + " (ΔE00 " + measured(twins[i].de00, twins[i].sd) + ")";
    if (twins.size() > kMost) text += " and " + std::to_string(twins.size() - kMost) + " more";
    return text;
}

std::string twins_report(const std::vector<Twins>& twins, const std::vector<Target>& targets, const std::string& workbook) {
    if (twins.empty()) return wrapped("No two targets in " + workbook + " look like one.");
    Table table({"", "and", "ΔE00", "can they be told apart"}, {1, 3});
    for (const Twins& pair : twins) {
        const bool seen = pair.de00 > 2 * pair.sd;
        table.row({printable(targets[pair.one].name), printable(targets[pair.two].name), measured(pair.de00, pair.sd),
                   seen ? "by figures, hardly by eye" : "no: the difference is not clear of its doubt"});
    }
    return wrapped(counted(twins.size(), "pair") + " of targets in " + workbook + " may be one color:") + "\n" + table.text() +
           "\n± is one standard deviation.\n";
}

std::string info_report(const BookInfo& info) {
    std::string text = wrapped("Workbook " + info.workbook.string() + ": version " + std::to_string(info.version) + ", " +
                               std::to_string((info.bytes + 1023) / 1024) + " kB" +
                               (info.newer       ? ", made by a newer version of this program: can be read, not changed"
                                : info.read_only ? ", cannot be written here"
                                                 : "") +
                               ".");
    Table table({"", "rows"});
    for (const auto& [name, count] : info.rows) table.row({name, std::to_string(count)});
    text += "\n" + table.text();
    if (!info.missing_photos.empty()) {
        text += "\n" + wrapped(counted(info.missing_photos.size(), "photo") + (info.missing_photos.size() == 1 ? " is" : " are") +
                               " not where it was; swatchwright photo find FOLDER looks for it by content:");
        for (const KeptPhoto& photo : info.missing_photos) text += wrapped(photo.path, "  ");
    }
    const auto next = std::find_if(info.changes.begin(), info.changes.end(), [](const Change& change) { return !change.undone; });
    if (next != info.changes.end()) text += "\n" + wrapped("Last change: " + next->words + ", " + next->created + ".");
    const auto undone =
        static_cast<std::size_t>(std::count_if(info.changes.begin(), info.changes.end(), [](const Change& change) { return change.undone; }));
    text += wrapped(std::to_string(info.changes.size() - undone) + " can be undone, " + std::to_string(undone) + " can be done again.");
    return text;
}

std::string verify_report(const Soundness& sound, const std::vector<RereadReading>& readings, const std::string& workbook) {
    std::int64_t rows = 0;
    for (const auto& [name, count] : sound.rows) rows += count;
    std::string text = wrapped(sound.sound() ? workbook + " is sound: all " + std::to_string(rows) + " rows are as they were saved."
                                             : workbook + " is damaged. Get out what is readable: swatchwright workbook rescue IN OUT");
    for (const std::string& line : sound.structure) text += wrapped(line, "  structure: ");
    for (const BadRow& row : sound.bad) text += wrapped(row.label + ", no. " + std::to_string(row.id), "  not as it was saved: ");
    if (readings.empty()) return text + wrapped(sound.sound() ? "There are no readings to take again." : "");
    const auto count = [&](Reread outcome) {
        return static_cast<std::size_t>(
            std::count_if(readings.begin(), readings.end(), [&](const RereadReading& one) { return one.outcome == outcome; }));
    };
    text += "\n" + wrapped(counted(readings.size(), "reading") + " taken again from the photos: " + std::to_string(count(Reread::same)) +
                           " the same, " + std::to_string(count(Reread::differs)) + " differ, of " + std::to_string(count(Reread::photo_missing)) +
                           " the photo is missing, " + std::to_string(count(Reread::not_possible)) + " could not be.");
    Table table({"", "no.", "ΔE00 to what was kept", "judged then", "now", "why"}, {5});
    bool any = false;
    for (const RereadReading& one : readings) {
        if (one.outcome == Reread::same) continue;
        any = true;
        const auto figure = [](const std::optional<double>& value) { return value ? fixed(*value, 3) : std::string(); };
        table.row({printable(one.name), std::to_string(one.id), figure(one.de00), figure(one.judged_now ? one.judged_kept : std::nullopt),
                   figure(one.judged_now), printable(one.why) + (one.photo.empty() ? "" : " (" + printable(one.photo) + ")")});
    }
    return any ? text + "\n" + table.text() : text;
}

std::string rescue_report(const Rescued& rescued, const WorkbookRequest& request) {
    std::int64_t rows = 0;
    for (const auto& [name, count] : rescued.taken) rows += count;
    std::string text = wrapped(std::to_string(rows) + " rows of " + request.workbook.string() + " are as they were saved and now stand in " +
                               request.out.string() + "; " + request.workbook.filename().string() + " is left as it was.");
    Table table({"", "rows"});
    for (const auto& [name, count] : rescued.taken) table.row({name, std::to_string(count)});
    text += "\n" + table.text();
    if (!rescued.bad.empty()) text += "\n" + wrapped(counted(rescued.bad.size(), "row") + " found damaged and not taken:");
    for (const BadRow& row : rescued.bad) text += wrapped(row.label + ", no. " + std::to_string(row.id), "  ");
    if (!rescued.mended.empty()) text += "\n" + wrapped("So that the rest fits together:");
    for (const std::string& line : rescued.mended) text += wrapped(line, "  ");
    return text + "\n" + wrapped("What was lost without a trace cannot be counted. What could be undone before can no longer be.");
}

std::string undo_report(const std::optional<std::string>& words, const WorkbookRequest& request) {
    const bool undo = request.action == WorkbookAction::undo;
    if (!words) return wrapped(std::string("Nothing to ") + (undo ? "undo" : "redo") + " in " + request.workbook.string() + ".");
    return wrapped((undo ? "Undone in " : "Done again in ") + request.workbook.string() + ": " + *words + ".");
}

}  // namespace sw
