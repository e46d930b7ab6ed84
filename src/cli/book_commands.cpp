// part, photo, lamp, note, find and workbook at the command line.
#include <algorithm>
#include <system_error>

#include "cli/book_job.hpp"
#include "cli/commands.hpp"
#include "cli/exit_code.hpp"
#include "cli/list_order.hpp"
#include "cli/photo_job.hpp"
#include "cli/text.hpp"

namespace sw {
namespace {

// What the options say, into the part.
Result<Done> settle(Part& part, const PartRequest& request, const Workbook& workbook) {
    const bool had_target = part.target.has_value();
    if (request.in && request.in->empty()) part.parent.reset();
    if (request.in && !request.in->empty()) {
        const auto parent = workbook.part(*request.in);
        if (!parent) return parent.error();
        part.parent = parent->id;
    }
    if (request.wears && request.wears->empty()) part.target.reset();
    if (request.wears && !request.wears->empty()) {
        const auto target = workbook.target(*request.wears);
        if (!target) return target.error();
        part.target = target->id;
    }
    if (request.note) part.note = *request.note;
    if (request.rename) part.name = *request.rename;
    if (request.status) {
        part.status = *request.status;
    } else if (part.target && !had_target && part.status == PartStatus::missing) {
        part.status = PartStatus::target;  // now it has a reference
    }
    return Done{};
}

Result<Answer> list_parts(const PartRequest& request, const Workbook& workbook, const BookNames& names) {
    const std::string shown = request.workbook.string();
    const auto targets = workbook.targets();
    if (!targets) return in_file(targets.error(), shown);
    std::vector<Part> parts = names.parts;
    if (request.in && !request.in->empty()) {
        const auto parent = workbook.part(*request.in);
        if (!parent) return in_file(parent.error(), shown);
        const auto inside = with_all_inside(names.parts, parent->id);
        std::erase_if(parts, [&](const Part& part) { return part.id == parent->id || !inside.contains(part.id); });
    } else if (request.in) {
        std::erase_if(parts, [](const Part& part) { return part.parent.has_value(); });
    }
    if (request.wears) {
        std::optional<std::int64_t> worn;
        if (!request.wears->empty()) {
            const auto target = workbook.target(*request.wears);
            if (!target) return in_file(target.error(), shown);
            worn = target->id;
        }
        std::erase_if(parts, [&](const Part& part) { return part.target != worn; });
    }
    if (request.status) std::erase_if(parts, [&](const Part& part) { return part.status != *request.status; });
    const auto color_of = [&](const Part& part) -> std::optional<KnownColor> {
        const auto worn = std::find_if(targets->begin(), targets->end(), [&](const Target& target) { return part.target == target.id; });
        if (worn == targets->end()) return std::nullopt;
        return KnownColor{worn->lab, worn->lab_covariance};
    };
    const auto hits = arranged(std::move(parts), request.list, color_of, [&](const Part& part) { return part_path(names.parts, part); });
    return Answer{request.json ? part_list_json(hits, names) : part_list_report(hits, names, request.list, shown), {}, kDone};
}

}  // namespace

Result<Answer> run(const PartRequest& request) {
    auto opened = book_of(request);
    if (!opened) return opened.error();
    const std::string shown = request.workbook.string();
    const auto tell = [&](const std::vector<Part>& parts, const BookNames& names, const std::string& verb) {
        return Answer{request.json ? parts_json(parts, names) : parts_report(parts, names, verb, shown), {}, kDone};
    };
    if (!*opened) return request.action == BookAction::list ? Result<Answer>(tell({}, {}, "")) : Result<Answer>(no_workbook(request, "part"));
    Workbook& workbook = **opened;
    Part part;
    if (request.action == BookAction::add) {
        part.name = request.name;
    } else if (request.action != BookAction::list) {
        const auto found = workbook.part(request.name);
        if (!found) return in_file(found.error(), shown);
        part = *found;
    }
    Result<BookNames> names = names_of(workbook);  // before a removal: its path
    if (!names) return in_file(names.error(), shown);
    if (request.action == BookAction::list) return list_parts(request, workbook, *names);
    if (request.action == BookAction::show) return tell({part}, *names, "");
    if (request.action == BookAction::remove) {
        if (const auto removed = workbook.remove_part(part.id); !removed) return in_file(removed.error(), shown);
        return tell({part}, *names, "Removed");
    }
    if (const auto settled = settle(part, request, workbook); !settled) return in_file(settled.error(), shown);
    if (request.action == BookAction::add) {
        const auto kept = workbook.add(part);
        if (!kept) return in_file(kept.error(), shown);
        part = *kept;
    } else if (const auto put = workbook.put(part); !put) {
        return in_file(put.error(), shown);
    }
    names = names_of(workbook);
    if (!names) return in_file(names.error(), shown);
    return tell({part}, *names, request.action == BookAction::add ? "Kept" : "Changed");
}

namespace {

std::vector<PhotoSeen> seen_of(const std::vector<KeptPhoto>& photos) {
    std::vector<PhotoSeen> seen;
    std::error_code problem;
    for (const KeptPhoto& photo : photos) seen.push_back({photo, std::filesystem::is_regular_file(photo.path, problem)});
    return seen;
}

// Files of the folder, and of those in it, by size first: only what may be one of these is read.
Result<std::vector<KeptPhoto>> photos_in(const std::string& folder, Workbook& workbook) {
    namespace fs = std::filesystem;
    const auto kept = workbook.photos();
    if (!kept) return kept.error();
    std::error_code problem;
    fs::recursive_directory_iterator files(folder, fs::directory_options::skip_permission_denied, problem);
    if (problem) return Error{Fault::file_missing, folder, "", "cannot be looked through (" + problem.message() + ")", "name a folder"};
    std::vector<KeptPhoto> found;
    for (const fs::recursive_directory_iterator end; files != end; files.increment(problem)) {
        if (problem) break;
        std::error_code unreadable;
        if (!files->is_regular_file(unreadable)) continue;
        const auto bytes = static_cast<std::int64_t>(files->file_size(unreadable));
        if (unreadable) continue;
        const bool may_be = std::any_of(kept->begin(), kept->end(), [&](const KeptPhoto& photo) { return photo.bytes == bytes; });
        if (!may_be) continue;
        const auto hash = file_hash(files->path());
        if (!hash) continue;
        const auto same = std::find_if(kept->begin(), kept->end(), [&](const KeptPhoto& photo) { return photo.hash == *hash; });
        if (same == kept->end() || fs::is_regular_file(same->path, unreadable)) continue;  // still where it was
        KeptPhoto moved = *same;
        moved.path = fs::weakly_canonical(files->path(), unreadable).string();
        const auto again = workbook.keep(moved);
        if (!again) return again.error();
        found.push_back(*again);
    }
    return found;
}

}  // namespace

Result<Answer> run(const PhotoBookRequest& request) {
    const std::string shown = request.workbook.string();
    const auto tell = [&](const std::vector<KeptPhoto>& photos, const std::string& verb) {
        const auto seen = seen_of(photos);
        return Answer{request.json ? photos_json(seen) : photos_report(seen, verb, shown), {}, kDone};
    };
    std::optional<KeptPhoto> fresh;
    if (request.action == BookAction::add) {  // before the workbook is made: a bad photo leaves no empty workbook behind
        const auto photo = load_photo(request.name);
        if (!photo) return in_file(photo.error(), request.name);
        fresh = kept_photo(*photo);
    }
    auto opened = book_of(request);
    if (!opened) return opened.error();
    if (!*opened) return request.action == BookAction::list ? Result<Answer>(tell({}, "")) : Result<Answer>(no_workbook(request, "photo"));
    Workbook& workbook = **opened;
    if (fresh) {
        const auto kept = workbook.keep(*fresh);
        if (!kept) return in_file(kept.error(), shown);
        return tell({*kept}, "Kept");
    }
    if (request.action == BookAction::find) {
        std::vector<KeptPhoto> found;
        const auto done = workbook.together("Found moved photos in " + request.name, [&]() -> Result<Done> {
            auto moved = photos_in(request.name, workbook);
            if (!moved) return moved.error();
            found = *std::move(moved);
            return Done{};
        });
        if (!done) return in_file(done.error(), shown);
        Answer answer = tell(found, "");
        if (found.empty() && !request.json) answer.text = "No photo of the workbook that was missing is in " + request.name + ".\n";
        return answer;
    }
    const auto photos = workbook.photos();
    if (!photos) return in_file(photos.error(), shown);
    if (request.action == BookAction::list) return tell(*photos, "");
    const auto photo = photo_named(*photos, request.name);
    if (!photo) return in_file(photo.error(), shown);
    if (request.action == BookAction::show) return tell({*photo}, "");
    const auto readings = workbook.readings();
    if (!readings) return in_file(readings.error(), shown);
    if (const auto removed = workbook.remove_photo(photo->id); !removed) return in_file(removed.error(), shown);
    Answer answer = tell({*photo}, "Removed");
    const auto orphans = static_cast<std::size_t>(
        std::count_if(readings->begin(), readings->end(), [&](const KeptReading& reading) { return reading.photo_hash == photo->hash; }));
    if (orphans > 0)
        answer.messages.push_back(counted(orphans, "reading") + " of it " + (orphans == 1 ? "stays" : "stay") +
                                  ", without its photo on record; swatchwright workbook undo brings it back");
    return answer;
}

Result<Answer> run(const LampRequest& request) {
    const std::string shown = request.workbook.string();
    const auto tell = [&](const std::vector<Lamp>& lamps, const std::string& verb) {
        return Answer{request.json ? lamps_json(lamps) : lamps_report(lamps, verb, shown), {}, kDone};
    };
    auto opened = book_of(request);
    if (!opened) return opened.error();
    if (!*opened) return request.action == BookAction::list ? Result<Answer>(tell({}, "")) : Result<Answer>(no_workbook(request, "lamp"));
    Workbook& workbook = **opened;
    if (request.action == BookAction::add) {
        const auto kept = workbook.add(request.lamp);
        if (!kept) return in_file(kept.error(), shown);
        return tell({*kept}, "Kept");
    }
    if (request.action == BookAction::list) {
        const auto lamps = workbook.lamps();
        if (!lamps) return in_file(lamps.error(), shown);
        return tell(*lamps, "");
    }
    const auto lamp = workbook.lamp(request.name);
    if (!lamp) return in_file(lamp.error(), shown);
    if (const auto removed = workbook.remove_lamp(lamp->id); !removed) return in_file(removed.error(), shown);
    return tell({*lamp}, "Removed");
}

Result<Answer> run(const NoteRequest& request) {
    const std::string shown = request.workbook.string();
    auto opened = book_of(request);
    if (!opened) return opened.error();
    const auto tell = [&](const std::vector<Note>& notes, const BookNames& names, const std::string& verb) {
        return Answer{request.json ? notes_json(notes, names) : notes_report(notes, names, verb, shown), {}, kDone};
    };
    if (!*opened) return request.action == BookAction::list ? Result<Answer>(tell({}, {}, "")) : Result<Answer>(no_workbook(request, "note"));
    Workbook& workbook = **opened;
    const auto names = names_of(workbook);
    if (!names) return in_file(names.error(), shown);
    Note about;
    if (!request.target.empty()) {
        const auto target = workbook.target(request.target);
        if (!target) return in_file(target.error(), shown);
        about.target = target->id;
    }
    if (!request.part.empty()) {
        const auto part = workbook.part(request.part);
        if (!part) return in_file(part.error(), shown);
        about.part = part->id;
    }
    about.reading = request.reading;
    if (request.action == BookAction::add) {
        about.text = request.text;
        const auto kept = workbook.add(about);
        if (!kept) return in_file(kept.error(), shown);
        return tell({*kept}, *names, "Kept");
    }
    auto notes = workbook.notes();
    if (!notes) return in_file(notes.error(), shown);
    if (request.action == BookAction::list) {
        std::erase_if(*notes, [&](const Note& note) {
            return (about.target && note.target != about.target) || (about.part && note.part != about.part) ||
                   (about.reading && note.reading != about.reading);
        });
        return tell(*notes, *names, "");
    }
    const auto note = std::find_if(notes->begin(), notes->end(), [&](const Note& one) { return one.id == request.id; });
    if (note == notes->end())
        return Error{Fault::name_unknown, shown, "note " + std::to_string(request.id), "there is no note of that number",
                     "swatchwright note list tells them"};
    if (const auto removed = workbook.remove_note(note->id); !removed) return in_file(removed.error(), shown);
    return tell({*note}, *names, "Removed");
}

Result<Answer> run(const FindRequest& request) {
    const std::string shown = request.workbook.string();
    auto opened = book_of(request);
    if (!opened) return opened.error();
    if (!*opened) {
        if (request.duplicates) return Answer{request.json ? twins_json({}, {}) : twins_report({}, {}, shown), {}, kDone};
        return Answer{request.json ? found_json({}, {}) : found_report({}, {}, shown), {}, kDone};
    }
    const Workbook& workbook = **opened;
    if (request.duplicates) {
        const auto targets = workbook.targets();
        if (!targets) return in_file(targets.error(), shown);
        const auto pairs = twins(*targets);
        return Answer{request.json ? twins_json(pairs, *targets) : twins_report(pairs, *targets, shown), {}, kDone};
    }
    Question question = request.question;
    if (!request.part.empty()) {
        const auto part = workbook.part(request.part);
        if (!part) return in_file(part.error(), shown);
        question.part = part->id;
    }
    const auto found = find(workbook, question);
    if (!found) return in_file(found.error(), shown);
    const auto names = names_of(workbook);
    if (!names) return in_file(names.error(), shown);
    return Answer{request.json ? found_json(*found, *names) : found_report(*found, *names, shown), {}, kDone};
}

namespace {

Result<Answer> tell_info(const WorkbookRequest& request) {
    const auto opened = Workbook::open(request.workbook, false);
    if (!opened) return opened.error();
    BookInfo info{request.workbook, opened->version(), 0, opened->read_only(), opened->newer(), {}, {}, {}};
    std::error_code problem;
    info.bytes = std::filesystem::file_size(request.workbook, problem);
    const auto count = [&](const char* name, const auto& items) -> std::optional<Error> {
        if (!items) return items.error();
        info.rows.emplace_back(name, items->size());
        return std::nullopt;
    };
    const auto photos = opened->photos();
    const auto changes = opened->changes();
    for (const auto& failed :
         {count("target", opened->targets()), count("reading", opened->readings()), count("card", opened->cards()), count("setup", opened->setups()),
          count("part", opened->parts()), count("photo", photos), count("lamp", opened->lamps()), count("note", opened->notes()),
          count("paint", opened->paints()), count("sample", opened->samples()), count("pot", opened->pots()), count("addition", opened->additions()),
          count("pot_reading", opened->pot_readings())}) {
        if (failed) return *failed;
    }
    if (!changes) return changes.error();
    info.changes = *changes;
    for (const KeptPhoto& photo : *photos) {
        if (!std::filesystem::is_regular_file(photo.path, problem)) info.missing_photos.push_back(photo);
    }
    return Answer{request.json ? info_json(info) : info_report(info), {}, kDone};
}

Result<Answer> tell_verified(const WorkbookRequest& request) {
    const auto sound = look_over(request.workbook);
    if (!sound) return sound.error();
    std::vector<RereadReading> readings;
    if (sound->sound()) {  // else no figure of it is to be trusted
        const auto opened = Workbook::open(request.workbook, false);
        if (!opened) return opened.error();
        auto again = reread(*opened);
        if (!again) return again.error();
        readings = *std::move(again);
    }
    Answer answer{request.json ? verify_json(*sound, readings) : verify_report(*sound, readings, request.workbook.string()), {}, kDone};
    const bool all = std::all_of(readings.begin(), readings.end(), [](const RereadReading& one) { return one.outcome == Reread::same; });
    if (request.check && !(sound->sound() && all)) answer.exit_code = kAnsweredNo;
    return answer;
}

}  // namespace

Result<Answer> run(const WorkbookRequest& request) {
    const auto answer = [&]() -> Result<Answer> {
        if (request.action == WorkbookAction::info) return tell_info(request);
        if (request.action == WorkbookAction::verify) return tell_verified(request);
        if (request.action == WorkbookAction::rescue) {
            const auto rescued = rescue(request.workbook, request.out);
            if (!rescued) return rescued.error();
            return Answer{request.json ? rescue_json(*rescued, request) : rescue_report(*rescued, request), {}, kDone};
        }
        auto workbook = Workbook::open(request.workbook, false);
        if (!workbook) return workbook.error();
        const auto words = request.action == WorkbookAction::undo ? workbook->undo() : workbook->redo();
        if (!words) return words.error();
        return Answer{request.json ? undo_json(*words, request) : undo_report(*words, request), {}, kDone};
    }();
    if (!answer) return in_file(answer.error(), request.workbook.string());
    return answer;
}

}  // namespace sw
