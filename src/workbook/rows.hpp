// What a workbook keeps as rows, and what a row must hold. Private to this folder.
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
    int since = 1;           // version of the schema that has it
    std::size_t later = 0;   // how many of the last columns came with version kLaterColumns only; text, empty before
    std::size_t called = 0;  // column that tells people which row it is
};
inline constexpr int kLaterColumns = 3;
[[nodiscard]] const Table& target_table();
[[nodiscard]] const Table& reading_table();
[[nodiscard]] const Table& card_table();
[[nodiscard]] const Table& setup_table();
[[nodiscard]] const Table& part_table();
[[nodiscard]] const Table& photo_table();
[[nodiscard]] const Table& lamp_table();
[[nodiscard]] const Table& note_table();
[[nodiscard]] const Table& mapping_table();
[[nodiscard]] const Table& paint_table();
[[nodiscard]] const Table& sample_table();
[[nodiscard]] const Table& pot_table();
[[nodiscard]] const Table& addition_table();
[[nodiscard]] const Table& pot_reading_table();
/// All of these, a row's owners before the row.
[[nodiscard]] const std::vector<const Table*>& tables();
[[nodiscard]] const Table* table_named(const std::string& name);  // null: none
/// For people: "set-up".
[[nodiscard]] std::string word(const Table&);
/// `reading "swatch"`; values may be of any form.
[[nodiscard]] std::string label(const Table&, const Values&);

/// Columns that hold the id of another row.
struct Link {
    const Table *table, *to;
    std::size_t column;
    bool clears;  // where the other goes: the link is cleared; else the row goes with it
};
[[nodiscard]] const std::vector<Link>& links();

[[nodiscard]] Values values(const Target&);
[[nodiscard]] Values values(const KeptReading&);
[[nodiscard]] Values values(const Card&);
[[nodiscard]] Values values(const KeptSetup&);
[[nodiscard]] Values values(const Part&);
[[nodiscard]] Values values(const KeptPhoto&);
[[nodiscard]] Values values(const Lamp&);
[[nodiscard]] Values values(const Note&);
[[nodiscard]] Values values(const ColumnMapping&);
[[nodiscard]] Values values(const KeptPaint&);
[[nodiscard]] Values values(const KeptSample&);
[[nodiscard]] Values values(const KeptPot&);
[[nodiscard]] Values values(const KeptAddition&);
[[nodiscard]] Values values(const KeptPotReading&);
/// Nothing if a value has the wrong type or a word is unknown.
[[nodiscard]] std::optional<Target> target_of(std::int64_t id, Values);
[[nodiscard]] std::optional<KeptReading> reading_of(std::int64_t id, Values);
[[nodiscard]] std::optional<Card> card_of(std::int64_t id, Values);
[[nodiscard]] std::optional<KeptSetup> setup_of(std::int64_t id, Values);
[[nodiscard]] std::optional<Part> part_of(std::int64_t id, Values);
[[nodiscard]] std::optional<KeptPhoto> photo_of(std::int64_t id, Values);
[[nodiscard]] std::optional<Lamp> lamp_of(std::int64_t id, Values);
[[nodiscard]] std::optional<Note> note_of(std::int64_t id, Values);
[[nodiscard]] std::optional<ColumnMapping> mapping_of(std::int64_t id, Values);
[[nodiscard]] std::optional<KeptPaint> paint_of(std::int64_t id, Values);
[[nodiscard]] std::optional<KeptSample> sample_of(std::int64_t id, Values);
[[nodiscard]] std::optional<KeptPot> pot_of(std::int64_t id, Values);
[[nodiscard]] std::optional<KeptAddition> addition_of(std::int64_t id, Values);
[[nodiscard]] std::optional<KeptPotReading> pot_reading_of(std::int64_t id, Values);

/// Brings into the form that is stored: name trimmed, covariance symmetric, no negative zero.
void tidy(Target&);
void tidy(KeptReading&);
void tidy(Card&);
void tidy(KeptSetup&);
void tidy(Part&);
void tidy(KeptPhoto&);
void tidy(Lamp&);
void tidy(Note&);
void tidy(ColumnMapping&);
void tidy(KeptPaint&);
void tidy(KeptSample&);
void tidy(KeptPot&);
void tidy(KeptAddition&);
void tidy(KeptPotReading&);
/// What forbids storing it, in plain words; nothing if all is well. Call tidy() first.
[[nodiscard]] std::optional<std::string> flaw(const Target&);
[[nodiscard]] std::optional<std::string> flaw(const KeptReading&);
[[nodiscard]] std::optional<std::string> flaw(const Card&);
[[nodiscard]] std::optional<std::string> flaw(const KeptSetup&);
[[nodiscard]] std::optional<std::string> flaw(const Part&);
[[nodiscard]] std::optional<std::string> flaw(const KeptPhoto&);
[[nodiscard]] std::optional<std::string> flaw(const Lamp&);
[[nodiscard]] std::optional<std::string> flaw(const Note&);
[[nodiscard]] std::optional<std::string> flaw(const ColumnMapping&);
[[nodiscard]] std::optional<std::string> flaw(const KeptPaint&);
[[nodiscard]] std::optional<std::string> flaw(const KeptSample&);
[[nodiscard]] std::optional<std::string> flaw(const KeptPot&);
[[nodiscard]] std::optional<std::string> flaw(const KeptAddition&);
[[nodiscard]] std::optional<std::string> flaw(const KeptPotReading&);

[[nodiscard]] std::string trimmed(std::string_view);

/// FNV-1a, 64 bits, of the id and all values with their types and lengths. Any single changed byte changes it.
/// Source: Fowler, Noll & Vo, FNV-1a with the 64-bit offset and prime; test: tests/workbook/rows_test.cpp
[[nodiscard]] std::int64_t checksum(std::int64_t id, const Values&);

/// Now, as "2031-05-06T07:08:09.123Z".
[[nodiscard]] std::string now_utc();

}  // namespace sw::store
