// The paints of a workbook as a shelf to mix from, and its pots as what they teach.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "mix/pot.hpp"
#include "workbook/workbook.hpp"

namespace sw {

/// What a workbook holds of mixing, in memory.
struct MixBook {
    std::vector<KeptPaint> paints;
    std::vector<KeptSample> samples;
    std::vector<KeptPot> pots;  // newest first
    std::vector<KeptAddition> additions;
    std::vector<KeptPotReading> readings;
    std::vector<Target> targets;
    OwnLights lamps;
    [[nodiscard]] const KeptPaint* paint(std::int64_t id) const;  // null: none
    [[nodiscard]] const KeptPot* pot(std::int64_t id) const;
    [[nodiscard]] const Target* target(std::int64_t id) const;
};
[[nodiscard]] Result<MixBook> mix_book(const Workbook&);

/// Paints of that name or, where there is none, those whose names are nearest to it, for the user to choose from.
[[nodiscard]] Result<KeptPaint> paint_named(const MixBook&, const std::string& name);

/// The paint that the shelf is reckoned by, as paint_shelf() chooses it; null: none can be.
[[nodiscard]] const KeptPaint* shelf_white(const MixBook&);

/// A shelf and where its paints are kept. The white is the first.
struct PaintShelf {
    Shelf shelf;
    std::vector<std::int64_t> ids;                      // of each paint of the shelf
    std::vector<bool> there;                            // false: only pots of before name it
    std::vector<double> density;                        // g/ml, 0: unknown
    std::vector<std::string> messages;                  // what was assumed: the white, paints of which only a pigment is known ...
    [[nodiscard]] int place_of(std::int64_t id) const;  // -1: not on the shelf
};
/// What is believed of the paints before any pot is looked at. The shelf's white is the one that was said to be, else what most tints are let down
/// with, else the lightest masstone; tints let down with another one are left out, and told. Paints no longer there are on it where a pot names them.
/// Errors: bad_usage (no paints; no paint that could be the white), light faults of a sample's light.
[[nodiscard]] Result<PaintShelf> paint_shelf(const MixBook&);

/// What is in a pot as it was counted, up to the first thing in it that nobody knows.
struct PotContent {
    std::vector<std::pair<std::int64_t, double>> paints;  // id and ml, in the order of their first drop
    double ml = 0;
    double drops = 0;          // additions in drops as counted, others by the paint's drop
    std::int64_t unknown = 0;  // id of the addition that nobody counted and nothing explains yet; 0: none
    bool lost = false;         // an addition is missing from the record
};
[[nodiscard]] PotContent content_of(const MixBook&, std::int64_t pot);

/// A pot in the shelf's terms, up to the first thing in it that nobody knows.
struct PotOnShelf {
    std::int64_t id = 0;
    Pot pot;
    std::vector<std::int64_t> readings;  // ids of those of `pot`
    Coat coat;                           // as it was laid when it was read last, but for a film that did not hide: so it is looked at
    PotContent content;
};
[[nodiscard]] Result<PotOnShelf> pot_on_shelf(const MixBook&, const PaintShelf&, const KeptPot&);

/// The shelf after all pots that teach. The pot of this id, and the one that it is a batch of, are among them in any
/// case (0: none), if anything is in them; where one does not teach, without its readings.
struct LearnedShelf {
    PaintShelf start;
    Learned learned;
    std::vector<PotOnShelf> pots;                           // of learned.pots
    [[nodiscard]] int place_of_pot(std::int64_t id) const;  // -1: not among them
};
[[nodiscard]] Result<LearnedShelf> learned_shelf(const MixBook&, std::int64_t pot = 0);

/// What is left of a paint: what was left when that was said, less what went into pots since. Nothing: never said.
[[nodiscard]] std::optional<double> stock_now(const MixBook&, const KeptPaint&);

}  // namespace sw
