// What export, import and sheet tell.
#pragma once

#include <string>
#include <vector>

#include "cli/request.hpp"
#include "sheet/book_files.hpp"

namespace sw {

[[nodiscard]] std::string export_report(const ExportRequest&, const ExportedFile&);
[[nodiscard]] std::string export_json(const ExportRequest&, const ExportedFile&);
/// added: what fit_in left.
[[nodiscard]] std::string import_report(const ImportRequest&, const Exchange& added);
[[nodiscard]] std::string import_json(const ImportRequest&, const Exchange& added);
/// "line 7: Damson 14: has no a"
[[nodiscard]] std::string not_taken_words(const NotTaken&);

struct SheetTold {
    std::vector<std::string> files;
    std::size_t pages = 0, targets = 0, parts = 0, pots = 0;
};
[[nodiscard]] std::string sheet_report(const SheetTold&);
[[nodiscard]] std::string sheet_json(const SheetTold&);

}  // namespace sw
