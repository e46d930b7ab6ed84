// What goes from workbook to workbook, or to and from other programs, as values; and how what comes in fits beside what is there. The formats
// themselves: exchange_csv, exchange_json, exchange_cxf. What each holds is written in DEVELOPERS.md.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "workbook/workbook.hpp"

namespace sw {

/// Something in a file that was not taken.
struct NotTaken {
    std::string place;  // "line 7", "object 3"; may be empty
    std::string name;   // may be empty
    std::string reason;
};
struct Renamed {
    std::string from, to;
};

struct Exchange {
    std::vector<Target> targets;
    std::vector<KeptReading> readings;  // target: the id of one of `targets` as they stand here
    std::vector<Card> cards;
    std::vector<Lamp> lamps;
    std::vector<Part> parts;       // parent and target: ids of parts and targets as they stand here
    std::vector<Note> kept_notes;  // about one of the targets, parts or readings here, by its id
    std::vector<KeptPhoto> photos;
    std::vector<KeptSetup> setups;
    std::vector<KeptPaint> paints;
    std::vector<KeptSample> samples;  // paint, white, reading: ids of those as they stand here; so it goes on
    std::vector<KeptPot> pots;
    std::vector<KeptAddition> additions;
    std::vector<KeptPotReading> pot_readings;
    std::string headings;  // of the table it was read from, as in ColumnMapping; empty: from none
    std::vector<NotTaken> not_taken;
    std::vector<Renamed> renamed;
    std::vector<std::string> notes;  // what the user must be told of the whole: assumptions, what was turned into something else
};

/// All of a workbook that can be exchanged. Errors: those of its reading calls.
[[nodiscard]] Result<Exchange> everything_in(const Workbook&);
/// Only the targets of these names, with their readings, the photos of these, and the notes on either; no cards, lamps, parts, set-ups, paints or
/// pots. Error:
/// name_unknown.
[[nodiscard]] Result<Exchange> only(Exchange, const std::vector<std::string>& names);

/// What of `incoming` is to be added beside `there`. What is there already in the same form is left out; so is what bears the name of something
/// else, or it gets a name that is free (`rename`). Both are listed. A part goes where its parent went; one that has the place and name of another is
/// not taken, but what stands in it goes there. A photo is known by its hash. A paint comes
/// with its samples, a pot with what went into it, or not at all. Ids of what is to be added become -1, -2, ...; links lead to those, to
/// what is there, or to nothing.
[[nodiscard]] Exchange fit_in(Exchange incoming, const Exchange& there, bool rename);

/// Adds all that fit_in left, as one change: all of it or nothing, and taken back as one. What has a time of making keeps it. words: what that change
/// is, for undo. Errors: those of Workbook::add.
[[nodiscard]] Result<Done> add_all(Workbook&, Exchange, const std::string& words);

/// Brings a target that came from outside into the form that is kept; says what forbids keeping it, nothing if all is well.
[[nodiscard]] std::optional<std::string> unfit(Target&);
[[nodiscard]] std::optional<std::string> unfit(KeptReading&);
[[nodiscard]] std::optional<std::string> unfit(Card&);
[[nodiscard]] std::optional<std::string> unfit(Lamp&);
[[nodiscard]] std::optional<std::string> unfit(Part&);
[[nodiscard]] std::optional<std::string> unfit(Note&);
[[nodiscard]] std::optional<std::string> unfit(KeptPhoto&);
[[nodiscard]] std::optional<std::string> unfit(KeptSetup&);
[[nodiscard]] std::optional<std::string> unfit(KeptPaint&);
[[nodiscard]] std::optional<std::string> unfit(KeptSample&);
[[nodiscard]] std::optional<std::string> unfit(KeptPot&);
[[nodiscard]] std::optional<std::string> unfit(KeptAddition&);
[[nodiscard]] std::optional<std::string> unfit(KeptPotReading&);
/// Also: is it a color at all? Wide limits, L* -5..120 and chroma up to 250, so that what readings gave comes through.
[[nodiscard]] std::optional<std::string> implausible(const Lab&);

}  // namespace sw
