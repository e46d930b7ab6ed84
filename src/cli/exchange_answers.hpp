// What export, import and sheet tell.
#pragma once

#include <string>
#include <vector>

#include "cli/request.hpp"
#include "workbook/exchange.hpp"

namespace sw {

struct Counts {
    std::size_t targets = 0, readings = 0, cards = 0, lamps = 0, parts = 0, notes = 0, photos = 0, setups = 0;
};
[[nodiscard]] Counts counts_of(const Exchange&);

struct ExportTold {
    Counts written;
    std::vector<NotTaken> left_out;
    std::vector<Renamed> renamed;
    std::vector<std::string> notes;
};
[[nodiscard]] std::string export_report(const ExportRequest&, const ExportTold&);
[[nodiscard]] std::string export_json(const ExportRequest&, const ExportTold&);
/// added: what fit_in left.
[[nodiscard]] std::string import_report(const ImportRequest&, const Exchange& added);
[[nodiscard]] std::string import_json(const ImportRequest&, const Exchange& added);
/// "line 7: Damson 14: has no a"
[[nodiscard]] std::string not_taken_words(const NotTaken&);

struct SheetTold {
    std::vector<std::string> files;
    std::size_t pages = 0, targets = 0, parts = 0;
};
[[nodiscard]] std::string sheet_report(const SheetTold&);
[[nodiscard]] std::string sheet_json(const SheetTold&);

}  // namespace sw
