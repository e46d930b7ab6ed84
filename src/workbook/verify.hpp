// Is a workbook as it was saved, and do its photos still say what was kept of them?
#pragma once

#include <functional>

#include "workbook/workbook.hpp"

namespace sw {

/// A row that is not as it was saved.
struct BadRow {
    std::string table;
    std::int64_t id = 0;
    std::string label;  // `reading "swatch"`, as far as it can be read
};
struct Soundness {
    std::int64_t version = 0;
    std::uintmax_t bytes = 0;
    std::vector<std::string> structure;                      // what SQLite's integrity_check and foreign_key_check find; empty: nothing
    std::vector<std::pair<std::string, std::int64_t>> rows;  // how many each table holds
    std::vector<BadRow> bad;
    [[nodiscard]] bool sound() const { return structure.empty() && bad.empty(); }
};
/// Looks at every row, however damaged the others are. Changes nothing. Errors: workbook_unreadable (not even its tables can be read; of a newer
/// version too), workbook_locked.
[[nodiscard]] Result<Soundness> look_over(const std::filesystem::path&);

enum class Reread {
    same,           // to half of the last digit that is shown (0.005)
    differs,        // what was kept does not follow from the photo: another version of this program, or somebody changed it
    photo_missing,  // neither where it was nor, by its content, where the workbook knows it to be
    not_possible,   // how it was read is not in the row (readings of older versions), or the photo cannot be read so
};
struct RereadReading {
    std::int64_t id = 0;
    std::string name, photo;  // photo: where it was found, else where it was
    Reread outcome = Reread::same;
    std::optional<double> de00;                     // between what was kept and what the photo says now
    std::optional<double> judged_kept, judged_now;  // the difference from its chip
    std::string why;                                // in words, but for `same`
};
/// Every reading from its photo, oldest first. step: called before each, with its place and how many there are; may be empty. Errors: of reading the
/// workbook.
[[nodiscard]] Result<std::vector<RereadReading>> reread(const Workbook&, const std::function<void(std::size_t, std::size_t)>& step = {});

/// Where the photo of this content is: at `path` (as it is, and from the workbook's folder), or where the workbook knows it to be. Nothing: not
/// found.
[[nodiscard]] std::optional<std::string> whereabouts(const std::string& path, const std::string& hash, const Workbook&,
                                                     const std::vector<KeptPhoto>& photos);

}  // namespace sw
