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
struct AddTarget {
    std::string name;
    Lab lab;  // D50, 2 degrees, as published
};
struct RenameTarget {
    std::string name, to;
};
struct RemoveTarget {
    std::string name;
};
struct RemoveReading {
    std::int64_t id = 0;
};
// Parts by their path: "Car no. 2/brake wheel"; the name alone where only one part bears it.
struct AddPart {
    std::string name, in;  // in: empty for a project
};
struct RenamePart {
    std::string part, to;
};
struct SetPartStatus {
    std::string part;
    PartStatus status = PartStatus::missing;
};
struct SetPartTarget {
    std::string part, target;  // target: empty for none
};
struct RemovePart {
    std::string part;
};
struct AddLamp {
    std::string name;  // for the light of the picture, as it is now
};
struct RemoveLamp {
    std::string name;
};
struct RemovePhoto {
    std::string hash;  // the record of it goes, the file and what was read from it stay
};
struct StartPot {
    std::string name, target;
};
struct AddDrops {
    std::string pot;
    std::vector<std::pair<std::string, int>> drops;  // paint and whole drops, one after the other
};
struct ReadPot {
    std::string pot;  // its test piece is the swatch that is marked
};
struct RemovePot {
    std::string pot;
};
/// What a note is about.
enum class NoteOn { target, part, reading };
struct AddNote {
    NoteOn on = NoteOn::target;
    std::string name, text;  // name: of a reading its number
};
struct RemoveNote {
    std::int64_t id = 0;
};

using Command = std::variant<OpenPhoto, SetTransfer, SetLitBy, SetGray, SetLrv, FindChart, SetChartCorners, ClearChart, SetKnown, SetChip, SetSwatch,
                             RemoveRegion, SetTolerance, SetTextured, AddLight, RemoveLight, SaveTarget, SaveReading, AddTarget, RenameTarget,
                             RemoveTarget, RemoveReading, AddPart, RenamePart, SetPartStatus, SetPartTarget, RemovePart, AddLamp, RemoveLamp,
                             RemovePhoto, StartPot, AddDrops, ReadPot, RemovePot, AddNote, RemoveNote>;

/// One line; parse_command(to_text(c)) gives c back.
[[nodiscard]] std::string to_text(const Command&);
/// Error: bad_usage or region_malformed or light faults, with what would do.
[[nodiscard]] Result<Command> parse_command(std::string_view line);
/// The verb and what follows, for the help: "gray REGION [LRV]".
[[nodiscard]] const std::vector<std::string>& command_forms();

/// The commands that build this work from nothing, one a line, in a fixed order: also its fingerprint (equal text, equal work).
[[nodiscard]] std::string to_script(const Work&);

/// What a step writes into the workbook; taken back by the workbook's own undo.
using Edit = std::function<Result<Done>(Workbook&)>;

/// A change: the work before and after, what is written into the workbook, a sentence for the log.
struct Step {
    Work before, after;
    Edit edit{};  // empty: nothing
    std::string sentence;
    std::int64_t change = 0;  // of the workbook, once done
};

/// What planning may look at besides the work. None of it is changed.
struct Context {
    const Results& results;
    const Shelf& shelf;
    FileReader read_file;  // for lights that are files; may be empty
    OwnLights own{};       // the workbook's lamps
};

/// What the command would do; changes nothing. A step that changes nothing is possible (same value again): see changes_something.
/// Errors: bad_usage, light faults, gray_unusable, name_taken, name_unknown; those that only the workbook can tell come when it is applied.
[[nodiscard]] Result<Step> plan(const Work& now, const Command& command, const Context& context);
[[nodiscard]] bool changes_something(const Step&);

/// Carries steps out, forward and back; the only place where work and workbook change. Each step is one change of the workbook.
class History {
public:
    /// Does the step (workbook first: if it cannot be written nothing changes), forgets what was undone.
    [[nodiscard]] Result<Done> apply(Work& work, Workbook* workbook, Step step);
    /// With nothing left of this session, the workbook's last change of an earlier one. Error bad_usage where the workbook was changed by another
    /// program since: what that did must not be taken back unseen.
    [[nodiscard]] Result<Done> undo(Work& work, Workbook* workbook);
    [[nodiscard]] Result<Done> redo(Work& work, Workbook* workbook);
    [[nodiscard]] bool can_undo() const { return !done_.empty(); }  // of this session
    [[nodiscard]] bool can_redo() const { return !undone_.empty(); }
    [[nodiscard]] const std::vector<Step>& done() const { return done_; }      // oldest first
    [[nodiscard]] const std::vector<Step>& undone() const { return undone_; }  // next to redo is last

private:
    std::vector<Step> done_, undone_;
};

}  // namespace sw::window
