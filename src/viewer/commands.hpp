// Everything a user can do to the work, as values: each can be planned, done, undone, written in a script and read back.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <variant>

#include "viewer/state.hpp"

namespace sw::window {

struct OpenPhoto {
    std::string path;
};
struct SetTransfer {
    Transfer transfer;
};
struct SetLitBy {
    std::string light;  // LIGHT; empty: unknown
};
struct SetGray {
    Region region;
    std::optional<double> lrv;  // nothing: keep the card's, 18 for a new one
    std::size_t index = 0;      // at most the number of cards: one past the last adds one
};
struct SetLrv {
    double lrv = 18;
    std::size_t index = 0;
};
struct FindChart {};
struct SetChartCorners {
    std::array<Point, 4> corners{};
};
struct ClearChart {};
struct SetKnown {
    std::string name;
    Region region;
    Lab lab;  // D50, 2 degrees
};
struct SetChip {
    Region region;
};
struct SetSwatch {
    Region region;
};
struct RemoveRegion {
    Marked what;
};
struct SetTolerance {
    double de00 = 2;
};
struct SetTextured {
    bool textured = true;
};
struct AddLight {
    std::string light;
};
struct RemoveLight {
    std::string light;
};
struct SaveTarget {
    std::string name;
};
struct SaveReading {
    std::string name;
};
struct RemoveTarget {
    std::string name;
};
struct RemoveReading {
    std::int64_t id = 0;
};

using Command = std::variant<OpenPhoto, SetTransfer, SetLitBy, SetGray, SetLrv, FindChart, SetChartCorners, ClearChart, SetKnown, SetChip, SetSwatch,
                             RemoveRegion, SetTolerance, SetTextured, AddLight, RemoveLight, SaveTarget, SaveReading, RemoveTarget, RemoveReading>;

/// One line; parse_command(to_text(c)) gives c back.
[[nodiscard]] std::string to_text(const Command&);
/// Error: bad_usage or region_malformed or light faults, with what would do.
[[nodiscard]] Result<Command> parse_command(std::string_view line);
/// The verb and what follows, for the help: "gray REGION [LRV]".
[[nodiscard]] const std::vector<std::string>& command_forms();

/// The commands that build this work from nothing, one a line, in a fixed order: also its fingerprint (equal text, equal work).
[[nodiscard]] std::string to_script(const Work&);

/// Rows of the workbook that a step takes away and puts there; id 0 means a row that gets its id when first stored.
struct Rows {
    std::vector<Target> targets;
    std::vector<KeptReading> readings;
    [[nodiscard]] bool empty() const { return targets.empty() && readings.empty(); }
};

/// A change: everything before and after, a sentence for the log.
struct Step {
    Work before, after;
    Rows rows_before, rows_after;
    std::string sentence;
    std::shared_ptr<const Photo> photo{};  // that the rows were read from: recorded with them
};

/// What planning may look at besides the work. None of it is changed.
struct Context {
    const Results& results;
    const Shelf& shelf;
    FileReader read_file;  // for lights that are files; may be empty
};

/// What the command would do; changes nothing. A step that changes nothing is possible (same value again): see changes_something.
/// Errors: bad_usage, light faults, gray_unusable, name_taken, name_unknown.
[[nodiscard]] Result<Step> plan(const Work& now, const Command& command, const Context& context);
[[nodiscard]] bool changes_something(const Step&);

/// Carries steps out, forward and back; the only place where work and workbook change.
class History {
public:
    /// Does the step (workbook rows first: if they cannot be written nothing changes), forgets what was undone.
    [[nodiscard]] Result<Done> apply(Work& work, Workbook* workbook, Step step);
    [[nodiscard]] Result<Done> undo(Work& work, Workbook* workbook);
    [[nodiscard]] Result<Done> redo(Work& work, Workbook* workbook);
    [[nodiscard]] bool can_undo() const { return !done_.empty(); }
    [[nodiscard]] bool can_redo() const { return !undone_.empty(); }
    [[nodiscard]] const std::vector<Step>& done() const { return done_; }      // oldest first
    [[nodiscard]] const std::vector<Step>& undone() const { return undone_; }  // next to redo is last

private:
    std::vector<Step> done_, undone_;
};

}  // namespace sw::window
