// Targets, readings, cards and set-ups as rows, and what a row must hold. Private to this folder.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "workbook/database.hpp"
#include "workbook/workbook.hpp"

namespace sw::store {

/// A table's columns after id and checksum, in the order of values().
struct Table {
    std::string name;
    std::vector<std::string> columns;
};
[[nodiscard]] const Table& target_table();
[[nodiscard]] const Table& reading_table();
[[nodiscard]] const Table& card_table();
[[nodiscard]] const Table& setup_table();
inline constexpr std::size_t kReadingTargetColumn = 0;

[[nodiscard]] Values values(const Target&);
[[nodiscard]] Values values(const KeptReading&);
[[nodiscard]] Values values(const Card&);
[[nodiscard]] Values values(const KeptSetup&);
/// Nothing if a value has the wrong type or a word is unknown.
[[nodiscard]] std::optional<Target> target_of(std::int64_t id, const Values&);
[[nodiscard]] std::optional<KeptReading> reading_of(std::int64_t id, const Values&);
[[nodiscard]] std::optional<Card> card_of(std::int64_t id, const Values&);
[[nodiscard]] std::optional<KeptSetup> setup_of(std::int64_t id, const Values&);

/// Brings into the form that is stored: name trimmed, covariance symmetric, no negative zero.
void tidy(Target&);
void tidy(KeptReading&);
void tidy(Card&);
void tidy(KeptSetup&);
/// What forbids storing it, in plain words; nothing if all is well. Call tidy() first.
[[nodiscard]] std::optional<std::string> flaw(const Target&);
[[nodiscard]] std::optional<std::string> flaw(const KeptReading&);
[[nodiscard]] std::optional<std::string> flaw(const Card&);
[[nodiscard]] std::optional<std::string> flaw(const KeptSetup&);

[[nodiscard]] std::string trimmed(std::string_view);

/// FNV-1a, 64 bits, of the id and all values with their types and lengths. Any single changed byte changes it.
/// Source: Fowler, Noll & Vo, FNV-1a with the 64-bit offset and prime; test: tests/workbook/rows_test.cpp
[[nodiscard]] std::int64_t checksum(std::int64_t id, const Values&);

/// Now, as "2031-05-06T07:08:09.123Z".
[[nodiscard]] std::string now_utc();

}  // namespace sw::store
