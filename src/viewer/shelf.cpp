#include "viewer/shelf.hpp"

#include <algorithm>

namespace sw::window {
namespace {

constexpr std::size_t kManyRows = 300;  // from here on reading all of it anew is no slower

/// As the workbook lists names: letters of ASCII without their case first.
bool name_before(const std::string& a, const std::string& b) {
    const auto lower = [](char c) { return static_cast<unsigned char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c); };
    const auto before = [&](const std::string& x, const std::string& y) {
        return std::lexicographical_compare(x.begin(), x.end(), y.begin(), y.end(), [&](char p, char q) { return lower(p) < lower(q); });
    };
    const bool less = before(a, b), more = before(b, a);
    return less != more ? less : a < b;
}

/// Puts the row where it belongs, or takes it away.
template <class T, class Before>
void place(std::vector<T>& rows, std::int64_t id, std::optional<T> now, Before before) {
    std::erase_if(rows, [&](const T& row) { return row.id == id; });
    if (!now) return;
    const auto at = std::upper_bound(rows.begin(), rows.end(), *now, before);
    rows.insert(at, *std::move(now));
}

template <class T>
const T* with_id(const std::vector<T>& rows, const std::optional<std::int64_t>& id) {
    if (!id) return nullptr;
    const auto found = std::find_if(rows.begin(), rows.end(), [&](const T& row) { return row.id == *id; });
    return found == rows.end() ? nullptr : &*found;
}

Result<Done> follow_row(Shelf& shelf, const Workbook& workbook, const std::string& table, std::int64_t id) {
    const auto by_name = [](const auto& a, const auto& b) { return name_before(a.name, b.name); };
    if (table == "target") {
        auto row = workbook.target(id);
        if (!row) return row.error();
        place(shelf.targets, id, *std::move(row), by_name);
    } else if (table == "reading") {
        auto row = workbook.reading(id);
        if (!row) return row.error();
        place(shelf.readings, id, *std::move(row), [](const KeptReading& a, const KeptReading& b) { return a.id > b.id; });
    } else if (table == "part") {
        auto row = workbook.part(id);
        if (!row) return row.error();
        place(shelf.parts, id, *std::move(row), by_name);
    } else if (table == "note") {
        auto row = workbook.note(id);
        if (!row) return row.error();
        place(shelf.notes, id, *std::move(row), [](const Note& a, const Note& b) { return a.id < b.id; });
    } else if (table == "photo") {  // few: all anew
        auto rows = workbook.photos();
        if (!rows) return rows.error();
        shelf.photos = *std::move(rows);
    } else if (table == "lamp") {
        auto rows = workbook.lamps();
        if (!rows) return rows.error();
        shelf.lamps = *std::move(rows);
    }
    return Done{};
}

}  // namespace

Result<Shelf> load_shelf(const Workbook& workbook) {
    auto targets = workbook.targets();
    auto readings = workbook.readings();
    auto parts = workbook.parts();
    auto notes = workbook.notes();
    auto photos = workbook.photos();
    auto lamps = workbook.lamps();
    if (!targets) return targets.error();
    if (!readings) return readings.error();
    if (!parts) return parts.error();
    if (!notes) return notes.error();
    if (!photos) return photos.error();
    if (!lamps) return lamps.error();
    auto mix = mix_book(workbook);
    if (!mix) return mix.error();
    return Shelf{*std::move(targets),
                 *std::move(readings),
                 *std::move(parts),
                 *std::move(notes),
                 *std::move(photos),
                 *std::move(lamps),
                 false,
                 0,
                 std::make_shared<const MixBook>(*std::move(mix))};
}

Result<Done> follow(Shelf& shelf, const Workbook& workbook, const Trace& trace) {
    if (trace.rows.size() > kManyRows) {
        auto all = load_shelf(workbook);
        if (!all) return all.error();
        all->revision = shelf.revision;
        shelf = *std::move(all);
    } else {
        for (const auto& [table, id] : trace.rows) {
            if (const Result<Done> done = follow_row(shelf, workbook, table, id); !done) return done;
        }
        // Few rows, that hang on each other: all anew.
        const bool mixes = shelf.mix && (!shelf.mix->paints.empty() || !shelf.mix->pots.empty());
        const bool touched = std::any_of(trace.rows.begin(), trace.rows.end(), [&](const auto& row) {
            const std::string& table = row.first;
            return table == "paint" || table == "sample" || table == "pot" || table == "addition" || table == "pot_reading" ||
                   (mixes && (table == "target" || table == "lamp"));
        });
        if (touched || !shelf.mix) {
            auto mix = mix_book(workbook);
            if (!mix) return mix.error();
            shelf.mix = std::make_shared<const MixBook>(*std::move(mix));
        }
    }
    ++shelf.revision;
    return Done{};
}

const Target* find_target(const Shelf& shelf, const std::optional<std::int64_t>& id) { return with_id(shelf.targets, id); }
const KeptReading* find_reading(const Shelf& shelf, const std::optional<std::int64_t>& id) { return with_id(shelf.readings, id); }
const KeptPhoto* find_photo(const Shelf& shelf, const std::optional<std::int64_t>& id) { return with_id(shelf.photos, id); }
const KeptPot* find_pot(const Shelf& shelf, const std::optional<std::int64_t>& id) { return shelf.mix && id ? shelf.mix->pot(*id) : nullptr; }
const Part* find_part(const Shelf& shelf, const std::optional<std::int64_t>& id) { return with_id(shelf.parts, id); }

}  // namespace sw::window
