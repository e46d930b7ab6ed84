// What a workbook holds by name, color, part, verdict and time.
#pragma once

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
};
/// Errors: as of reading the workbook; bad_usage where the text holds no word.
[[nodiscard]] Result<Found> find(const Workbook&, const Question&);

}  // namespace sw
