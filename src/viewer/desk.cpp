#include "viewer/desk.hpp"

#include "sheet/light_ladder.hpp"
#include "viewer/words.hpp"

namespace sw::window {

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
    Result<std::vector<Target>> targets = workbook_->targets();
    Result<std::vector<KeptReading>> readings = workbook_->readings();
    if (!targets) return complain(targets.error());
    if (!readings) return complain(readings.error());
    shelf_ = {std::move(*targets), std::move(*readings)};
}

Work Desk::wanted() const {
    if (!opening_) return work_;
    const Result<Step> step = plan(work_, *opening_, {results_, shelf_, read_text_file});
    return step ? step->after : work_;
}

bool Desk::commit(const Command& command) {
    if (const auto* open = std::get_if<OpenPhoto>(&command)) {
        const Result<Step> step = plan(work_, command, {results_, shelf_, read_text_file});
        if (!step) {
            complain(step.error());
            return false;
        }
        opening_ = *open;
        halted_.clear();
        pump();
        return true;
    }
    Result<Step> step = plan(work_, command, {results_, shelf_, read_text_file});
    if (!step) {
        complain(step.error());
        return false;
    }
    const bool rows = !step->rows_before.empty() || !step->rows_after.empty();
    if (const Result<Done> done = history_.apply(work_, workbook_ ? &*workbook_ : nullptr, std::move(*step)); !done) {
        complain(done.error());
        reload_shelf();
        return false;
    }
    if (rows) reload_shelf();
    after_change();
    return true;
}

void Desk::save_ladder(const std::string& file) {
    view.saved_ladder.clear();
    if (!results_.comparison || !match_current())
        return complain(
            {Fault::bad_usage, "", "", "there is no verdict yet, so there is no ladder to save", "mark chip and swatch, and wait for the figures"});
    std::filesystem::path path = file;
    if (file.empty()) {
        const std::filesystem::path photo = work_.photo;
        std::error_code ignored;
        for (int n = 1; n == 1 || std::filesystem::exists(path, ignored); ++n)
            path = photo.parent_path() / (photo.stem().string() + "-ladder" + (n == 1 ? "" : "-" + std::to_string(n)) + ".png");
    }
    if (const auto can = can_save_light_ladder(path.string(), false); !can) return complain(can.error());
    CompareOptions options;
    options.tolerance = work_.tolerance;
    options.textured = work_.textured;
    const auto saved = save_light_ladder(*results_.comparison, options, {}, "Light ladder of " + file_name(work_.photo),
                                         answer_sentence(results_.comparison->difference, true), path.string());
    if (!saved) return complain(saved.error());
    view.saved_ladder = path.string();
}

void Desk::undo() {
    if (const Result<Done> done = history_.undo(work_, workbook_ ? &*workbook_ : nullptr); !done) complain(done.error());
    reload_shelf();
    after_change();
}

void Desk::redo() {
    if (const Result<Done> done = history_.redo(work_, workbook_ ? &*workbook_ : nullptr); !done) complain(done.error());
    reload_shelf();
    after_change();
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

bool Desk::pump() {
    bool changed = false;
    const bool was_busy = background_.busy();  // asked before the mailbox: what ends in between is seen next time
    for (Update& update : background_.take()) {
        const Work want = wanted();
        const std::string key = std::visit([](const auto& u) { return u.key; }, update);
        if (const auto* photo = std::get_if<PhotoUpdate>(&update)) {
            if (key != photo_key(want)) continue;
            if (opening_) {
                const OpenPhoto open = *opening_;
                opening_.reset();
                changed = true;
                if (!photo->photo) {  // the work stays as it was
                    if (photo->photo.error().fault != Fault::cancelled) complain(photo->photo.error());
                    continue;
                }
                Result<Step> step = plan(work_, open, {results_, shelf_, read_text_file});
                if (!step) continue;
                if (const Result<Done> done = history_.apply(work_, nullptr, std::move(*step)); !done) complain(done.error());
                put(results_, std::move(update));
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
        background_.start(want, opening_ ? Results{} : results_);
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
    halted_ = match_key(work_);
    opening_.reset();
    background_.cancel();
}

}  // namespace sw::window
