// A workbook's content as the bytes of a file in an open format, and such a file as content. Tests: tests/cli/exchange_command_test.cpp
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "sheet/pen.hpp"
#include "workbook/exchange.hpp"

namespace sw {

enum class ExchangeFormat { csv, json, cxf, icc };
/// By the ending; nothing for one that stands for none of them.
[[nodiscard]] std::optional<ExchangeFormat> exchange_format(const std::string& file);

struct Counts {
    std::size_t targets = 0, readings = 0, cards = 0, lamps = 0, parts = 0, notes = 0, photos = 0, setups = 0, paints = 0, samples = 0, pots = 0;
    [[nodiscard]] std::size_t all() const { return targets + readings + cards + lamps + parts + notes + photos + setups + paints + samples + pots; }
};
[[nodiscard]] Counts counts_of(const Exchange&);
/// "3 targets, 2 readings and 1 card", without what there is none of.
[[nodiscard]] std::string in_words(const Counts&);

struct ExportChoice {
    ExchangeFormat format = ExchangeFormat::json;
    std::string file;              // for messages
    std::string workbook;          // its file, for messages and titles
    std::string what = "targets";  // targets, readings or cards: of a CSV file
    std::string card{};            // the spectrum of this card, as CSV; empty: none
};
struct ExportedFile {
    std::string bytes;
    Counts written;
    std::vector<NotTaken> left_out;  // what it has no place for
    std::vector<Renamed> renamed;
    std::vector<std::string> notes;
};
/// Errors: bad_usage (nothing that the format can hold; a card without spectrum), name_unknown (a card), internal.
[[nodiscard]] Result<ExportedFile> exported(const Exchange& all, const ExportChoice&);

struct SharedFile {
    std::string bytes;
    Counts shared;
};
/// One zip of JSON, CSV, CxF and sheets without what is private. Errors: name_unknown (no target), of draw_pages, internal.
[[nodiscard]] Result<SharedFile> share_bundle(Exchange all, const std::string& workbook, const Paper&);

/// How a file from outside is to be read; what is not said is found out or assumed, and then told in the notes.
struct ImportChoice {
    ExchangeFormat format = ExchangeFormat::csv;             // never icc
    std::vector<std::pair<std::string, std::string>> map{};  // column of a CSV file, and what it means
    std::optional<Light> under{};                            // light of a CSV file that names none; nothing: D50
    Observer observer = Observer::degree2;                   // likewise
    std::optional<double> sd{};                              // where the file gives none
    TargetKind kind = TargetKind::instrument;                // likewise
    std::vector<ColumnMapping> known{};                      // with an empty map
};
struct ImportedFile {
    Exchange content;
    std::optional<ColumnMapping> mapped;  // how the columns were read, where `map` said so: to be remembered
};
/// Untrusted; at most 256 MB. Errors: file_missing, table_malformed.
[[nodiscard]] Result<ImportedFile> imported(const std::string& file, const ImportChoice&);

}  // namespace sw
