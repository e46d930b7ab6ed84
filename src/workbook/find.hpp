// What a workbook holds by name, color, part, verdict and time.
#pragma once

#include <set>

#include "workbook/workbook.hpp"

namespace sw {

/// Each that is given must hold; what has no such property is then left out.
struct Question {
    std::string text;                  // words, or beginnings of words, all of them, in names and notes; accents do not count
    std::optional<Lab> near;           // D50, 2 degrees
    double within = 3;                 // CIEDE2000
    std::optional<std::int64_t> part;  // it and what stands in it
    std::string verdict;
    std::string since;  // beginning of an ISO 8601 time
};

struct Distance {
    double de00 = 0, sd = 0;
};
template <class T>
struct Hit {
    T item;
    std::optional<Distance> distance;  // with `near`
};
/// Nearest first where a color was asked for, else best match of the words first, else as lists are.
struct Found {
    std::vector<Hit<Target>> targets;
    std::vector<Hit<KeptReading>> readings;
    std::vector<Part> parts;
    std::vector<Note> notes;
    std::vector<Card> cards;  // these by their names and time only
    std::vector<Lamp> lamps;
    std::vector<KeptSetup> setups;
};
/// Ids of a part and of all that stands in it, at any depth.
[[nodiscard]] std::set<std::int64_t> with_all_inside(const std::vector<Part>& parts, std::int64_t root);

/// Ids of targets made of a reading whose photo is not in the workbook (never was, or was removed).
[[nodiscard]] std::set<std::int64_t> targets_off_record(const std::vector<KeptReading>&, const std::vector<KeptPhoto>&);

/// Errors: as of reading the workbook; bad_usage where the text holds no word.
[[nodiscard]] Result<Found> find(const Workbook&, const Question&);

}  // namespace sw
