// The workbook's page without a window: what is listed and in what order, searches, and the jobs on files.
#pragma once

#include <variant>

#include "sheet/book_sheets.hpp"
#include "viewer/state.hpp"
#include "viewer/worker.hpp"
#include "workbook/exchange.hpp"
#include "workbook/find.hpp"
#include "workbook/verify.hpp"

namespace sw::window {

// --- searching --------------------------------------------------------------------------------------------------------------------------

/// A question as it is typed, with what only the workbook can tell still as a name.
struct Search {
    Question question;
    std::string part;
};
/// Words, and among them: near L,a,b (or near chip, near swatch: what is marked in the picture); within DE; part NAME; verdict WORD; since DATE.
/// Names with blanks in quotation marks. Errors: bad_usage.
[[nodiscard]] Result<Search> parse_search(const std::string& text, const Results&);

/// What was found, by id, in the order in which it is to be shown. Notes stand for what they are about.
struct Hits {
    std::vector<std::pair<std::int64_t, std::optional<Distance>>> targets, readings;
    std::vector<std::int64_t> parts;
};
/// Errors: as of find(); name_unknown for the part.
[[nodiscard]] Result<Hits> search_book(const Workbook&, const Search&);

/// A line of the list: its place in the shelf's rows.
struct BookLine {
    std::size_t place = 0;
    int depth = 0;                     // of a part in its tree
    std::optional<Distance> distance;  // with `near`
};
/// hits: of the search; nullptr: everything.
[[nodiscard]] std::vector<BookLine> book_lines(const Shelf&, const BookView&, const Hits* hits);
[[nodiscard]] std::int64_t id_of(const Shelf&, List, const BookLine&);

// --- files ------------------------------------------------------------------------------------------------------------------------------

struct ExportTo {
    std::string file;  // its ending says the format
};
struct ImportFrom {
    std::string file;
};
struct ShareTo {
    std::string file;  // .zip
};
struct DrawSheet {
    SheetKind kind = SheetKind::targets;
    std::string file;                // .pdf or .png
    std::vector<std::string> names;  // as book_sheet has them
};
struct VerifyBook {};
using FileJob = std::variant<ExportTo, ImportFrom, ShareTo, DrawSheet, VerifyBook>;

/// What became of a job.
struct JobDone {
    std::string said;                // "Wrote 3 targets into a.csv"
    std::vector<std::string> notes;  // what the user must know of it
    std::optional<Error> error;
    std::shared_ptr<const Exchange> incoming;  // to be added to the workbook, which is for the caller
    std::optional<std::vector<RereadReading>> reread;
};
/// Does it with a Workbook of its own: runs off the frame. paper: of sheets.
[[nodiscard]] JobDone run_job(const FileJob&, const std::filesystem::path& workbook, const Paper& paper, std::stop_token stop, const Report& report);
/// "Drawing", "Importing" ...
[[nodiscard]] std::string stage_of(const FileJob&);

/// A file beside another that is not there yet: "targets.pdf", "targets-2.pdf".
[[nodiscard]] std::string free_file(const std::filesystem::path& other, const std::string& stem, const std::string& ending);

}  // namespace sw::window
