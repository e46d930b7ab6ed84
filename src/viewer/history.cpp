#include "viewer/commands.hpp"

namespace sw::window {
namespace {

constexpr std::int64_t kTooLarge = -1;

Error no_workbook() {
    return {.fault = Fault::workbook_write,
            .file = {},
            .place = {},
            .cause = "no workbook is open",
            .remedy = "see the message from the start, then open the program with --workbook FILE"};
}

/// Turns the workbook's change of this step, if it is the one that is next in line there.
Result<Done> turn(Workbook* workbook, const Step& step, bool forward) {
    if (step.change == 0) return Done{};
    if (workbook == nullptr) return no_workbook();
    if (step.change == kTooLarge)
        return Error{.fault = Fault::bad_usage,
                     .file = workbook->path().string(),
                     .place = {},
                     .cause = "\"" + step.sentence + "\" was too large to be kept for undo",
                     .remedy = "remove by hand what should not be there"};
    const auto next = forward ? workbook->next_redo() : workbook->next_undo();
    if (!next) return next.error();
    if (!*next || (*next)->id != step.change)
        return Error{.fault = Fault::bad_usage,
                     .file = workbook->path().string(),
                     .place = {},
                     .cause = "\"" + step.sentence + "\" is no longer next in line: the workbook was changed from elsewhere since" +
                              (*next ? ", last by \"" + (*next)->words + "\"" : ""),
                     .remedy = "take that back there first, or make this change by hand"};
    const auto turned = forward ? workbook->redo() : workbook->undo();
    if (!turned) return turned.error();
    return Done{};
}

}  // namespace

bool changes_something(const Step& step) { return step.edit || to_script(step.before) != to_script(step.after); }

Result<Done> History::apply(Work& work, Workbook* workbook, Step step) {
    if (!changes_something(step)) return Done{};
    if (step.edit) {
        if (workbook == nullptr) return no_workbook();
        const Result<Done> done = workbook->together(step.sentence, [&] { return step.edit(*workbook); });
        if (!done) return done;
        const Trace& trace = workbook->trace();
        step.change = trace.change == 0 && !trace.rows.empty() ? kTooLarge : trace.change;
        step.edit = nullptr;  // it holds rows, which are in the workbook now
    }
    work = step.after;
    done_.push_back(std::move(step));
    undone_.clear();
    return Done{};
}

Result<Done> History::undo(Work& work, Workbook* workbook) {
    if (done_.empty()) {
        if (workbook == nullptr || workbook->read_only()) return Done{};
        const auto earlier = workbook->next_undo();
        if (!earlier) return earlier.error();
        if (!*earlier) return Done{};
        Step step{work, work, {}, (*earlier)->words, (*earlier)->id};
        if (const Result<Done> done = turn(workbook, step, false); !done) return done;
        undone_.push_back(std::move(step));
        return Done{};
    }
    Step& step = done_.back();
    if (const Result<Done> done = turn(workbook, step, false); !done) return done;
    work = step.before;
    undone_.push_back(std::move(step));
    done_.pop_back();
    return Done{};
}

Result<Done> History::redo(Work& work, Workbook* workbook) {
    if (undone_.empty()) return Done{};
    Step& step = undone_.back();
    if (const Result<Done> done = turn(workbook, step, true); !done) return done;
    work = step.after;
    done_.push_back(std::move(step));
    undone_.pop_back();
    return Done{};
}

}  // namespace sw::window
