#include "viewer/desk.hpp"

#include <array>
#include <ctime>

#include "sheet/file.hpp"
#include "sheet/light_ladder.hpp"
#include "viewer/settings.hpp"
#include "viewer/shelf.hpp"
#include "viewer/words.hpp"

namespace sw::window {
namespace {

/// "20261128-140312", local time.
std::string time_for_name() {
    const std::time_t now = std::time(nullptr);
    std::tm local{};
    localtime_r(&now, &local);
    std::array<char, 32> text{};
    std::strftime(text.data(), text.size(), "%Y%m%d-%H%M%S", &local);
    return text.data();
}

}  // namespace

void Desk::open_workbook(const std::filesystem::path& path) {
    Result<Workbook> opened = Workbook::open(path, true);
    if (!opened) {
        complain(opened.error());
        return;
    }
    workbook_.emplace(std::move(*opened));
    reload_shelf();
}

void Desk::reload_shelf() {
    if (!workbook_) return;
    const auto outside = workbook_->outside_version();
    if (outside) outside_ = *outside;  // also where what stands there cannot be read: that is told once, not twice a second
    Result<Shelf> all = load_shelf(*workbook_);
    if (!all) return complain(all.error());
    all->revision = shelf_.revision + 1;
    shelf_ = std::move(*all);
    look_for_earlier();
}

void Desk::look_for_earlier() {
    const auto earlier = workbook_->next_undo();
    shelf_.earlier = earlier && *earlier && !workbook_->read_only();
}

/// After a change of our own.
void Desk::follow_change() {
    if (!workbook_) return;
    const auto outside = workbook_->outside_version();
    if (!outside || *outside != outside_) return reload_shelf();
    if (const Result<Done> done = follow(shelf_, *workbook_, workbook_->trace()); !done) return complain(done.error());
    look_for_earlier();
}

/// True when another program has written to the workbook, which is then read anew, or to the photo; asked at most twice a second.
bool Desk::look_outside() {
    const auto now = std::chrono::steady_clock::now();
    if (now - looked_outside_ < std::chrono::milliseconds(500)) return false;
    looked_outside_ = now;
    bool changed = false;
    if (results_.photo && stamp_ && stamp_->file == work_.photo && !photo_changed_) {
        const auto stamp = stamp_of(work_.photo);
        photo_changed_ = changed = stamp && *stamp != *stamp_;  // a file that is gone is none that has changed
    }
    if (!workbook_) return changed;
    const auto outside = workbook_->outside_version();
    if (!outside || *outside == outside_) return changed;
    reload_shelf();
    return true;
}

Work Desk::wanted() const {
    if (!opening_) return work_;
    const Result<Step> step = plan(work_, *opening_, {results_, shelf_, read_text_file, own_lights(shelf_.lamps)});
    return step ? step->after : work_;
}

bool Desk::commit(const Command& command) {
    if (const auto* open = std::get_if<OpenPhoto>(&command)) {
        const Result<Step> step = plan(work_, command, {results_, shelf_, read_text_file, own_lights(shelf_.lamps)});
        if (!step) {
            complain(step.error());
            return false;
        }
        opening_ = *open;
        recorded_ += to_text(command) + "\n";
        halted_.clear();
        pump();
        return true;
    }
    Result<Step> step = plan(work_, command, {results_, shelf_, read_text_file, own_lights(shelf_.lamps)});
    if (!step) {
        complain(step.error());
        return false;
    }
    const bool writes = static_cast<bool>(step->edit), changes = changes_something(*step);
    if (const Result<Done> done = history_.apply(work_, workbook(), std::move(*step)); !done) {
        complain(done.error());
        if (writes) reload_shelf();
        return false;
    }
    if (changes) recorded_ += to_text(command) + "\n";
    if (writes) {
        follow_change();
        for (const auto& [table, id] : workbook_->trace().rows) {  // what was just kept is at hand; of parts the place where more are added stays
            if (table == "target" && find_target(shelf_, id) != nullptr) view.book.target = id;
            if (table == "pot" && find_pot(shelf_, id) != nullptr) view.book.pot = id;
            if (table == "reading" && find_reading(shelf_, id) != nullptr) view.book.reading = id;
        }
    }
    told_ = {};
    after_change();
    return true;
}

void Desk::save_ladder(const std::string& file) {
    view.saved_ladder.clear();
    if (!results_.comparison || !match_current())
        return complain(
            {Fault::bad_usage, "", "", "there is no verdict yet, so there is no ladder to save", "mark chip and swatch, and wait for the figures"});
    const std::string path = file.empty() ? free_file(work_.photo, std::filesystem::path(work_.photo).stem().string() + "-ladder", ".png") : file;
    if (const auto can = can_save_light_ladder(path, false); !can) return complain(can.error());
    CompareOptions options;
    options.tolerance = work_.tolerance;
    options.textured = work_.textured;
    const auto saved = save_light_ladder(*results_.comparison, options, {}, "Light ladder of " + file_name(work_.photo),
                                         answer_sentence(results_.comparison->difference, true), path);
    if (!saved) return complain(saved.error());
    view.saved_ladder = path;
}

void Desk::undo() {
    recorded_ += "undo\n";
    if (const Result<Done> done = history_.undo(work_, workbook()); !done) complain(done.error());
    follow_change();
    told_ = {};
    after_change();
}

void Desk::redo() {
    recorded_ += "redo\n";
    if (const Result<Done> done = history_.redo(work_, workbook()); !done) complain(done.error());
    follow_change();
    told_ = {};
    after_change();
}

bool Desk::begin(const FileJob& job) {
    if (!workbook_) {
        complain({Fault::workbook_unreadable, "", "", "no workbook is open",
                  "see the message from the start, then open the program with --workbook FILE"});
        return false;
    }
    if (jobs_.busy()) {
        complain({Fault::bad_usage, "", "", "another file is still being worked on", "wait for it, or give it up with Esc"});
        return false;
    }
    told_ = {};
    const Paper paper = view.book.letter ? kLetter : kA4;
    jobs_.start(
        stage_of(job),
        [job, paper, path = workbook_->path()](std::stop_token stop, const Report& report, const Worker<JobDone>::Post& post) {
            post(run_job(job, path, paper, std::move(stop), report));
        },
        [path = workbook_->path()](const std::string& what) {
            JobDone failed;
            failed.error = Error{Fault::internal, path.string(), "", "something went wrong inside the program: " + what,
                                 "what is in the workbook is safe; try again, and report it if it stays"};
            return failed;
        });
    return true;
}

void Desk::browse() {
    if (!helper_)
        return complain({Fault::file_missing, "", "", "this desktop has no dialog for choosing files that could be opened (zenity, kdialog)",
                         "type the path, or drop the file on the window"});
    if (asker_.busy()) return;
    const std::string folder = work_.photo.empty() ? "" : std::filesystem::path(work_.photo).parent_path().string();
    asker_.start(
        "Choosing",
        [helper = *helper_, folder](const std::stop_token& stop, const Report&, const Worker<Result<std::string>>::Post& post) {
            post(ask_for_picture(helper, folder, stop));
        },
        [helper = *helper_](const std::string& what) -> Result<std::string> {
            return Error{Fault::internal, helper, "", "something went wrong inside the program: " + what, "type the path"};
        });
}

void Desk::save_script(const std::string& file) {
    std::error_code ignored;
    if (std::filesystem::exists(file, ignored))
        return complain({Fault::file_unwritable, file, "", "is there already", "type another name, or move that file away"});
    const auto saved = write_file(file, "# swatchwright window --script FILE does this again\n" + recorded_);
    if (!saved) return complain(saved.error());
    told_ = {"Wrote what was done into " + file, {}, {}, {}, {}};
}

bool Desk::pick(const std::string& name) {
    BookView& book = view.book;
    std::optional<std::int64_t> found;
    if (book.list == List::targets) {
        for (const Target& target : shelf_.targets) found = target.name == name ? target.id : found;
    } else if (book.list == List::readings) {
        for (const KeptReading& reading : shelf_.readings) found = std::to_string(reading.id) == name || reading.name == name ? reading.id : found;
    } else if (book.list == List::pots) {
        for (const KeptPot& pot : shelf_.mix ? shelf_.mix->pots : std::vector<KeptPot>()) found = pot.name == name ? pot.id : found;
    } else if (book.list == List::photos) {
        for (const KeptPhoto& photo : shelf_.photos) found = photo.hash == name || file_name(photo.path) == name ? photo.id : found;
    } else {
        for (const Part& part : shelf_.parts) found = part_path(shelf_.parts, part) == name || (!found && part.name == name) ? part.id : found;
    }
    if (!found) {
        complain(
            {Fault::name_unknown, workbook_path(), name, "there is nothing of this name in the list", "see the list, or look for it with Ctrl+F"});
        return false;
    }
    book.picked() = found;
    book.reveal = 3;
    return true;
}

void Desk::take_in(const std::shared_ptr<const Exchange>& incoming, const std::string& sentence) {
    Step step{work_, work_, [incoming, sentence](Workbook& book) { return add_all(book, *incoming, sentence); }, sentence};
    if (const Result<Done> done = history_.apply(work_, workbook(), std::move(step)); !done) {
        told_ = {};
        complain(done.error());
    }
    reload_shelf();
}

const std::vector<BookLine>& Desk::lines() const {
    const BookView& book = view.book;
    const std::string key = hits_key_ + "\n" + std::to_string(shelf_.revision) + "/" + std::to_string(static_cast<int>(book.list)) + "/" +
                            std::to_string(static_cast<int>(book.order)) + (hits_ ? "/found" : "");
    if (key != lines_key_) {
        lines_ = book_lines(shelf_, book, hits_ ? &*hits_ : nullptr);
        lines_key_ = key;
    }
    return lines_;
}

std::optional<Desk::FileStamp> Desk::stamp_of(const std::string& file) {
    std::error_code error;
    FileStamp stamp{file, std::filesystem::last_write_time(file, error), 0};
    if (!error) stamp.size = std::filesystem::file_size(file, error);
    return error ? std::nullopt : std::optional(stamp);
}

void Desk::reload_photo() {
    if (work_.photo.empty()) return;
    results_ = {};
    photo_changed_ = false;
    halted_.clear();
    pump();
}

void Desk::open_beside(int steps) {
    const std::string next = picture_beside(work_.photo, steps);
    if (!next.empty()) commit(OpenPhoto{next});
}

void Desk::paste() {
    if (paster_.busy()) return;
    paster_.start(
        "Fetching what was copied", [](const std::stop_token& stop, const Report&, const Worker<Copied>::Post& post) { post(copied(stop)); },
        [](const std::string&) { return Copied{}; });
}

void Desk::open_copied(const Copied& what) {
    if (what.kind == Copied::Kind::text) {
        if (const auto path = path_in(what.bytes)) {
            view.page = Page::picture;
            commit(OpenPhoto{*path});
            return;
        }
    }
    if (what.kind != Copied::Kind::picture)
        return complain({Fault::bad_usage, "", "", "what was copied is neither a picture nor the path of one",
                         "copy the screen grab or the file once more, or save it and type its path (Ctrl+O)"});
    const std::filesystem::path book = workbook_ ? workbook_->path() : default_workbook_path();
    const std::filesystem::path folder = std::filesystem::absolute(book).parent_path() / "grabs";
    std::error_code error;
    std::filesystem::create_directories(folder, error);
    const char* ending = what.bytes.starts_with("\x89PNG")    ? ".png"
                         : what.bytes.starts_with("\xFF\xD8") ? ".jpg"
                         : what.bytes.starts_with("RIFF")     ? ".webp"
                                                              : ".tif";
    const std::string file = free_file((folder / "x").string(), "grab-" + time_for_name(), ending);
    if (const auto saved = write_file(file, what.bytes); !saved) return complain(saved.error());
    view.page = Page::picture;
    commit(OpenPhoto{file});
}

/// Lists the folder, then makes small pictures of those in sight, one after the other.
bool Desk::pump_folder() {
    bool changed = false;
    for (FolderNews& news : folders_.take()) {
        if (news.folder.empty()) {  // it failed
            folder_halted_ = true;
            folder_halted_at_ = view.strip_first;
        }
        if (news.folder != folder_.path) continue;
        changed = true;
        if (news.list) {
            folder_.pictures.clear();
            for (std::string& path : *news.list) folder_.pictures.push_back({std::move(path), {}, false});
            view.strip_reveal = 3;
            continue;
        }
        for (FolderPicture& picture : folder_.pictures) {
            if (picture.path != news.path) continue;
            picture.preview = news.preview;
            picture.tried = true;
        }
    }
    if (!view.show_strip || view.page != Page::picture || work_.photo.empty()) return changed;
    const auto failed = [](const std::string&) { return FolderNews{}; };  // of no folder: what is in sight is not tried again until it moves
    const std::string parent = std::filesystem::path(work_.photo).parent_path().string(), path = parent.empty() ? "." : parent;
    if (path != folder_.path) {
        if (folders_.busy()) {
            if (folders_.busy()) {
                folder_halted_ = true;
                folder_halted_at_ = view.strip_first;
                folders_.cancel();
            }
            return changed;
        }
        folder_ = {path, {}};
        folder_halted_ = false;
        folders_.start(
            "Looking through the folder",
            [path, parent](const std::stop_token&, const Report&, const Worker<FolderNews>::Post& post) {
                post({path, pictures_in(parent), {}, {}});
            },
            failed);
        return true;
    }
    if (folder_halted_ && view.strip_first != folder_halted_at_) folder_halted_ = false;
    if (folders_.busy() || folder_halted_) return changed;
    std::vector<std::string> wanted;
    for (std::size_t i = view.strip_first; i < std::min(view.strip_last, folder_.pictures.size()); ++i) {
        if (!folder_.pictures[i].tried) wanted.push_back(folder_.pictures[i].path);
    }
    if (wanted.empty()) return changed;
    folders_.start(
        "Making small pictures",
        [path, wanted](const std::stop_token& stop, const Report&, const Worker<FolderNews>::Post& post) {
            for (const std::string& file : wanted) {
                if (stop.stop_requested()) return;
                const auto small = preview(file, 160, stop);
                if (stop.stop_requested()) return;
                post({path, {}, file, small ? std::make_shared<const Preview>(*small) : nullptr});
            }
        },
        failed);
    return changed;
}

std::string Desk::search_key() const { return view.book.find.empty() ? "" : std::to_string(shelf_.revision) + "\n" + view.book.find; }

/// What the finder and the jobs made.
bool Desk::pump_book() {
    bool changed = look_outside();
    for (const Copied& what : paster_.take()) {
        changed = true;
        open_copied(what);
    }
    for (const Result<std::string>& chosen : asker_.take()) {
        changed = true;
        if (!chosen) complain(chosen.error());
        if (chosen && !chosen->empty()) {
            view.page = Page::picture;
            commit(OpenPhoto{*chosen});
        }
    }
    for (JobDone& done : jobs_.take()) {
        changed = true;
        if (done.error) {
            complain(*done.error);
            continue;
        }
        told_ = std::move(done);
        if (told_.incoming) take_in(std::exchange(told_.incoming, nullptr), told_.said);
    }
    const BookView& book = view.book;
    const std::string key = search_key();
    for (Found& found : finder_.take()) {
        if (found.key != key) continue;
        hits_key_ = found.key;
        hits_ = std::move(found.hits);
        if (found.error) complain(*found.error);
        changed = true;
    }
    if (key.empty() && !hits_key_.empty()) {
        hits_.reset();
        hits_key_.clear();
        changed = true;
    }
    if (key != hits_key_ && !finder_.busy()) {
        const auto search = parse_search(book.find, results_);
        if (!search || !workbook_) {
            if (!search) complain(search.error());
            hits_key_ = key;
            hits_ = Hits();
        } else {
            finder_.start(
                "Looking",
                [search = *search, key, path = workbook_->path()](const std::stop_token&, const Report&, const Worker<Found>::Post& post) {
                    const auto opened = Workbook::open(path, false);
                    const auto hits = opened ? search_book(*opened, search) : Result<Hits>(opened.error());
                    post(hits ? Found{key, *hits, {}} : Found{key, Hits(), hits.error()});
                },
                [key](const std::string& what) {
                    return Found{key, Hits(),
                                 Error{Fault::internal, "", "", "something went wrong inside the program: " + what, "try another search"}};
                });
        }
        changed = true;
    }
    return changed;
}

void Desk::after_change() {
    halted_.clear();
    view.saved_ladder.clear();
    view.drag.reset();
    const auto gone = [&](const Marked& m) {
        switch (m.mark) {
            case Mark::none:
                return false;
            case Mark::gray:
                return m.index >= work_.references.grays.size();
            case Mark::known:
                return m.index >= work_.references.known.size();
            case Mark::chart:
                return work_.references.chart.mode == ChartMode::none;
            case Mark::chip:
                return !work_.chip;
            case Mark::swatch:
                return !work_.swatch;
        }
        return true;
    };
    if (gone(view.selected)) view.selected = {};
    view.edits.lrv = shortest(work_.references.grays.empty() ? 18 : work_.references.grays[0].lrv);
    view.edits.lit_by = work_.lit_by;
    view.edits.tolerance = shortest(work_.tolerance);
    view.edits.path = work_.photo;
    pump();
}

const Target* Desk::map_target() const { return find_target(shelf_, view.book.target); }

const SurfaceMap* Desk::surface() const {
    if (!view.show_map || surface_.key.empty() || surface_.key != map_key(work_, map_target())) return nullptr;
    return &surface_;
}

bool Desk::map_due() const {
    if (!view.show_map || !results_.photo || !results_.calibration) return false;
    if (work_.chip && !(results_.comparison && match_current())) return false;
    const std::string key = map_key(work_, map_target());
    return !key.empty() && key != surface_.key;
}

bool Desk::pump_map() {
    bool changed = false;
    for (SurfaceMap& made : mapper_.take()) {
        surface_ = std::move(made);
        changed = true;
        if (surface_.error) complain(*surface_.error);
    }
    if (mapper_.busy() || busy() || !map_due()) return changed;
    const Target* target = map_target();
    const std::string key = map_key(work_, target);
    mapper_.start(
        "Looking over the swatch",
        [work = work_, results = results_, own = own_lights(shelf_.lamps), target = target != nullptr ? std::optional(*target) : std::nullopt](
            const std::stop_token&, const Report&, const Worker<SurfaceMap>::Post& post) { post(surface_map(work, results, target, own)); },
        [key](const std::string& what) {
            return SurfaceMap{
                key, {}, {}, Error{Fault::internal, "", "", "something went wrong inside the program: " + what, "your work is kept; try again"}};
        });
    return true;
}

std::string Desk::advice_key() const {
    const BookView& book = view.book;
    return view.page == Page::workbook && book.list == List::pots ? pot_key(shelf_.mix, book.pot, shelf_.revision) : std::string();
}

const PotAdvice* Desk::advice() const { return !advice_.key.empty() && advice_.key == advice_key() ? &advice_ : nullptr; }

bool Desk::pump_pot() {
    bool changed = false;
    for (PotAdvice& made : mixer_.take()) {
        advice_ = std::move(made);
        changed = true;
    }
    const std::string key = advice_key();
    if (mixer_.busy()) {
        if (key != mixing_) mixer_.cancel();
        return changed;
    }
    if (!advice_due()) return changed;
    mixing_ = key;
    mixer_.start(
        "Working out the mix",
        [key, book = shelf_.mix, pot = *view.book.pot](const std::stop_token& stop, const Report&, const Worker<PotAdvice>::Post& post) {
            PotAdvice made = pot_advice(*book, pot, stop);
            made.key = key;
            post(std::move(made));
        },
        [key](const std::string& what) {
            PotAdvice failed;
            failed.key = key;
            failed.error =
                Error{Fault::internal, "", "", "something went wrong inside the program: " + what, "what is in the pot is kept; try again"};
            return failed;
        });
    return true;
}

bool Desk::pump() {
    bool changed = pump_book();
    changed = pump_map() || changed;
    changed = pump_folder() || changed;
    changed = pump_pot() || changed;
    const bool was_busy = background_.busy();  // asked before the mailbox: what ends in between is seen next time
    for (Update& update : background_.take()) {
        const Work want = wanted();
        const std::string key = std::visit([](const auto& u) { return u.key; }, update);
        if (const auto* photo = std::get_if<PhotoUpdate>(&update)) {
            if (key != photo_key(want)) continue;
            if (photo->photo) {
                stamp_ = reading_stamp_;
                photo_changed_ = false;
            }
            if (opening_) {
                const OpenPhoto open = *opening_;
                opening_.reset();
                changed = true;
                if (!photo->photo) {  // the work stays as it was
                    if (photo->photo.error().fault != Fault::cancelled) complain(photo->photo.error());
                    continue;
                }
                Result<Step> step = plan(work_, open, {results_, shelf_, read_text_file, own_lights(shelf_.lamps)});
                if (!step) continue;
                if (const Result<Done> done = history_.apply(work_, nullptr, std::move(*step)); !done) complain(done.error());
                put(results_, std::move(update));
                recent = with_recent(std::move(recent), work_.photo);
                view.strip_reveal = 3;
                view.fit = true;
                view.selected = {};
                view.tool = Mark::none;
                after_change();
                view.open_step = next_step(work_, results_);
                view.tool = tool_for_next_step(work_, results_);
                continue;
            }
        } else if (std::holds_alternative<MatchUpdate>(update)) {
            if (key != match_key(want)) continue;
        } else if (key != calibration_key(want)) {
            continue;
        }
        put(results_, std::move(update));
        changed = true;
    }
    if (work_.photo.empty() && !opening_ && (!results_.photo_key.empty() || results_.photo_error)) {
        results_ = {};  // undone to the empty start
        changed = true;
    }
    const Work want = wanted();
    const bool fresh = up_to_date(want, opening_ ? Results{} : results_);
    if (was_busy) {
        // What runs is for another snapshot when its results would no longer be taken: ask it to stop, start anew when it has.
        if (started_ != match_key(want)) background_.cancel();
    } else if (!background_.busy() && !fresh && halted_ != match_key(want)) {
        started_ = match_key(want);
        if (results_.photo_key != photo_key(want) || opening_) {
            reading_stamp_ = stamp_of(want.photo);
        }
        background_.derive_from(want, opening_ ? Results{} : results_, own_lights(shelf_.lamps));
        changed = true;
    }
    return changed;
}

bool Desk::busy() const {
    if (background_.busy()) return true;
    const Work want = wanted();
    return halted_ != match_key(want) && !up_to_date(want, opening_ ? Results{} : results_);
}

void Desk::cancel() {
    if (jobs_.busy()) return jobs_.cancel();
    if (paster_.busy()) return paster_.cancel();
    folders_.cancel();
    halted_ = match_key(work_);
    opening_.reset();
    background_.cancel();
}

}  // namespace sw::window
