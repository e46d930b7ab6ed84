// A pot as plain values, paints by name and lights as written, for keeping; with a text form of one line for each thing that happened.
#pragma once

#include <Eigen/Core>
#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "mix/pot.hpp"

namespace sw {

struct AdditionRecord {
    std::string paint;
    double drops = 0;
    friend bool operator==(const AdditionRecord&, const AdditionRecord&) = default;
};
struct ReadingRecord {
    int after = 0;  // additions
    double L = 0, a = 0, b = 0;
    std::array<double, 6> covariance{};  // LL La Lb aa ab bb
    Observer observer = Observer::degree2;
    std::string light;  // a LIGHT string
    friend bool operator==(const ReadingRecord&, const ReadingRecord&) = default;
};
struct PotRecord {
    std::string name;
    std::vector<AdditionRecord> additions;
    std::vector<ReadingRecord> readings;
    friend bool operator==(const PotRecord&, const PotRecord&) = default;
};

/// Lines, in the order of time:
///   pot NAME
///   add DROPS PAINT
///   read L a b LL La Lb aa ab bb OBSERVER LIGHT      (of what is in the pot so far; observer 2 or 10)
/// Numbers are written so that they come back the same to the last bit.
[[nodiscard]] std::string pot_text(const PotRecord&);
/// The inverse. Empty lines and those that begin with # are skipped. Fault table_malformed with the line: anything else, numbers not finite.
[[nodiscard]] Result<PotRecord> pot_from_text(std::string_view text);

/// With the paints of a shelf. Faults: name_unknown (no paint of that name), light_unknown.
[[nodiscard]] Result<Pot> pot_on_shelf(const PotRecord&, const Shelf&);

}  // namespace sw
