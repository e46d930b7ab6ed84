// Answers about what a workbook keeps beside colors: for people, and one JSON object for machines.
#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "cli/book_requests.hpp"
#include "workbook/nearest.hpp"
#include "workbook/rescue.hpp"

namespace sw {

/// What an answer about parts and notes needs of the workbook besides.
struct BookNames {
    std::vector<Part> parts;  // all
    std::map<std::int64_t, std::string> targets, readings;
    std::set<std::string> photos;       // hashes of those on record
    std::set<std::int64_t> off_record;  // targets whose photo is not
};
struct BookInfo {
    std::filesystem::path workbook;
    std::int64_t version = 0;
    std::uintmax_t bytes = 0;
    bool read_only = false, newer = false;
    std::vector<std::pair<std::string, std::size_t>> rows;
    std::vector<Change> changes;
    std::vector<KeptPhoto> missing_photos;
};
struct PhotoSeen {
    KeptPhoto photo;
    bool there = false;  // at its path, by name
};

/// Whether the photo of a reading is in the workbook. True where there was none.
[[nodiscard]] bool on_record(const KeptReading&, const BookNames&);

/// verb: empty for a list.
[[nodiscard]] std::string parts_report(const std::vector<Part>& parts, const BookNames&, const std::string& verb, const std::string& workbook);
[[nodiscard]] std::string parts_json(const std::vector<Part>& parts, const BookNames&);
/// As a tree, or, where an order was asked for, one after the other; with how far the color worn is from the one asked for.
[[nodiscard]] std::string part_list_report(const std::vector<Hit<Part>>& parts, const BookNames&, const ListRequest&, const std::string& workbook);
[[nodiscard]] std::string part_list_json(const std::vector<Hit<Part>>& parts, const BookNames&);
[[nodiscard]] std::string readings_report(const std::vector<Hit<KeptReading>>& readings, const BookNames&, const std::string& verb,
                                          const std::string& workbook);
[[nodiscard]] std::string readings_json(const std::vector<Hit<KeptReading>>& readings, const BookNames&);
/// One, with how it was read.
[[nodiscard]] std::string reading_report(const KeptReading&, const BookNames&, const std::string& workbook);
[[nodiscard]] std::string reading_json(const KeptReading&, const BookNames&);
[[nodiscard]] std::string photos_report(const std::vector<PhotoSeen>& photos, const std::string& verb, const std::string& workbook);
[[nodiscard]] std::string photos_json(const std::vector<PhotoSeen>& photos);
[[nodiscard]] std::string lamps_report(const std::vector<Lamp>& lamps, const std::string& verb, const std::string& workbook);
[[nodiscard]] std::string lamps_json(const std::vector<Lamp>& lamps);
[[nodiscard]] std::string notes_report(const std::vector<Note>& notes, const BookNames&, const std::string& verb, const std::string& workbook);
[[nodiscard]] std::string notes_json(const std::vector<Note>& notes, const BookNames&);
[[nodiscard]] std::string found_report(const Found&, const BookNames&, const std::string& workbook);
[[nodiscard]] std::string found_json(const Found&, const BookNames&);
[[nodiscard]] std::string twins_report(const std::vector<Twins>&, const std::vector<Target>&, const std::string& workbook);
[[nodiscard]] std::string twins_json(const std::vector<Twins>&, const std::vector<Target>&);
/// "Damson 14: 0.4 ± 0.6 apart; ..."
[[nodiscard]] std::string twin_words(const std::vector<Twins>&, const std::vector<Target>& others);
[[nodiscard]] std::string info_report(const BookInfo&);
[[nodiscard]] std::string info_json(const BookInfo&);
[[nodiscard]] std::string verify_report(const Soundness&, const std::vector<RereadReading>&, const std::string& workbook);
[[nodiscard]] std::string verify_json(const Soundness&, const std::vector<RereadReading>&);
[[nodiscard]] std::string rescue_report(const Rescued&, const WorkbookRequest&);
[[nodiscard]] std::string rescue_json(const Rescued&, const WorkbookRequest&);
/// words: nothing where there was nothing to undo or redo.
[[nodiscard]] std::string undo_report(const std::optional<std::string>& words, const WorkbookRequest&);
[[nodiscard]] std::string undo_json(const std::optional<std::string>& words, const WorkbookRequest&);

}  // namespace sw
