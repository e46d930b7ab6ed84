// Command lines about what a workbook keeps beside colors, as values.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "workbook/find.hpp"

namespace sw {

enum class ListOrder { usual, name, date, lab, near };  // usual: as each list is; lab: by lightness, then hue; near: nearest to a color first
/// How a list is told. near is given where order is `near`.
struct ListRequest {
    ListOrder order = ListOrder::usual;
    std::optional<Lab> near;  // D50, 2 degrees
    double within = 0;        // CIEDE2000, with near
    std::string since;        // beginning of an ISO 8601 time
    [[nodiscard]] bool plain() const { return order == ListOrder::usual && !near && since.empty(); }
};

enum class BookAction { add, list, show, set, remove, find };

/// What these have in common.
struct BookRequest {
    BookAction action = BookAction::list;
    std::string name;  // of the part or lamp; file of the photo, folder where photos are looked for
    std::filesystem::path workbook;
    bool workbook_given = false, json = false;
};
struct PartRequest : BookRequest {
    std::optional<std::string> in, wears, note, rename;  // empty: none
    std::optional<PartStatus> status;
    ListRequest list;  // of which in, wears and status say then what is told
};
struct ReadingBookRequest : BookRequest {
    std::int64_t id = 0;                 // show, remove
    std::string target, photo, verdict;  // list: only these; empty: all
    ListRequest list;
};
struct PhotoBookRequest : BookRequest {};
struct LampRequest : BookRequest {
    Lamp lamp;  // add
};
struct NoteRequest : BookRequest {
    std::string target, part, text;
    std::optional<std::int64_t> reading;
    std::int64_t id = 0;  // remove
};
struct FindRequest : BookRequest {
    Question question;  // but for the part
    std::string part;
    bool duplicates = false;
};
enum class WorkbookAction { info, verify, rescue, undo, redo };
struct WorkbookRequest {
    WorkbookAction action = WorkbookAction::info;
    std::filesystem::path workbook, out;  // out: rescue
    bool json = false, check = false;
};

}  // namespace sw
