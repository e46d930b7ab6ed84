// Parts, photos, lamps and notes as rows; and how the tables hang together.
#include <algorithm>
#include <cmath>

#include "workbook/row_values.hpp"
#include "workbook/rows.hpp"

namespace sw::store {
namespace {

constexpr std::size_t kLongestLampSpectrum = 1 << 20, kLongestMapping = 100'000;
constexpr std::size_t kLongestThumbnail = 1 << 20;
constexpr std::size_t kLongestNote = 1 << 20;

}  // namespace

const Table& part_table() {
    static const Table table{"part", {"name", "parent", "target", "status", "note", "created"}, 3, 0, 0};
    return table;
}

const Table& photo_table() {
    static const Table table{
        "photo",
        {"path", "hash", "bytes", "width", "height", "camera", "lens", "taken", "iso", "exposure_s", "f_number", "focal_mm", "thumbnail", "created"},
        3,
        0,
        0};
    return table;
}

const Table& lamp_table() {
    static const Table table{"lamp", {"name", "light", "spectrum", "source", "created"}, 3, 0, 0};
    return table;
}

const Table& note_table() {
    static const Table table{"note", {"target", "part", "reading", "text", "created"}, 3, 0, 3};
    return table;
}

const Table& mapping_table() {
    static const Table table{"mapping", {"headings", "columns", "light", "observer", "created"}, 3, 0, 0};
    return table;
}

const std::vector<const Table*>& tables() {
    static const std::vector<const Table*> all{&target_table(), &reading_table(), &card_table(),     &setup_table(),      &part_table(),
                                               &photo_table(),  &lamp_table(),    &note_table(),     &mapping_table(),    &paint_table(),
                                               &sample_table(), &pot_table(),     &addition_table(), &pot_reading_table()};
    return all;
}

const Table* table_named(const std::string& name) {
    const auto found = std::find_if(tables().begin(), tables().end(), [&](const Table* table) { return table->name == name; });
    return found == tables().end() ? nullptr : *found;
}

const std::vector<Link>& links() {
    static const std::vector<Link> all{{&reading_table(), &target_table(), 0, true},
                                       {&part_table(), &part_table(), 1, true},
                                       {&part_table(), &target_table(), 2, true},
                                       {&note_table(), &target_table(), 0, false},
                                       {&note_table(), &part_table(), 1, false},
                                       {&note_table(), &reading_table(), 2, false},
                                       {&sample_table(), &paint_table(), 0, false},
                                       {&sample_table(), &paint_table(), 2, false},
                                       {&sample_table(), &reading_table(), 27, true},
                                       {&pot_table(), &target_table(), 1, true},
                                       {&pot_table(), &pot_table(), 2, true},
                                       // of a pot: what links to an addition before the addition
                                       {&pot_reading_table(), &pot_table(), 0, false},
                                       {&addition_table(), &pot_table(), 0, false},
                                       {&addition_table(), &paint_table(), 3, false},
                                       {&addition_table(), &addition_table(), 8, false},
                                       {&pot_reading_table(), &addition_table(), 1, false},
                                       {&pot_reading_table(), &reading_table(), 29, true}};
    return all;
}

std::string word(const Table& table) { return table.name == "setup" ? "set-up" : table.name == "pot_reading" ? "reading of a pot" : table.name; }

std::string label(const Table& table, const Values& row) {
    const auto* text = table.called < row.size() ? std::get_if<std::string>(&row[table.called]) : nullptr;
    if (text == nullptr) return word(table);
    constexpr std::size_t kLong = 60;
    std::string shown = *text;
    if (shown.size() > kLong) {
        std::size_t end = kLong;
        while (end > 0 && (static_cast<unsigned char>(shown[end]) & 0xC0U) == 0x80) --end;  // not within a letter
        shown = shown.substr(0, end) + "...";
    }
    std::replace_if(
        shown.begin(), shown.end(), [](char c) { return c == '\n' || c == '\r' || c == '\t'; }, ' ');
    return word(table) + " \"" + shown + "\"";
}

Values values(const Part& part) {
    Values row{part.name};
    append(row, part.parent);
    append(row, part.target);
    row.insert(row.end(), {to_word(part.status), part.note, part.created});
    return row;
}

Values values(const KeptPhoto& photo) {
    Values row{photo.path, photo.hash, photo.bytes, std::int64_t{photo.width}, std::int64_t{photo.height}, photo.camera, photo.lens, photo.taken};
    for (const std::optional<double>& figure : {photo.iso, photo.exposure_s, photo.f_number, photo.focal_mm}) append(row, figure);
    row.insert(row.end(), {Blob{photo.thumbnail}, photo.created});
    return row;
}

Values values(const Lamp& lamp) { return {lamp.name, lamp.light, lamp.spectrum, lamp.source, lamp.created}; }

Values values(const Note& note) {
    Values row;
    for (const std::optional<std::int64_t>& id : {note.target, note.part, note.reading}) append(row, id);
    row.insert(row.end(), {note.text, note.created});
    return row;
}

std::optional<Part> part_of(std::int64_t id, Values row) {
    Part part;
    part.id = id;
    std::string status;
    Taker taker(row, part_table().columns.size());
    taker.take(part.name);
    taker.take(part.parent);
    taker.take(part.target);
    taker.take(status);
    taker.take(part.note);
    taker.take(part.created);
    const std::optional<PartStatus> known = part_status(status);
    if (!taker.good() || !known) return std::nullopt;
    part.status = *known;
    return part;
}

std::optional<KeptPhoto> photo_of(std::int64_t id, Values row) {
    KeptPhoto photo;
    photo.id = id;
    std::int64_t width = 0, height = 0;
    Blob thumbnail;
    Taker taker(row, photo_table().columns.size());
    taker.take(photo.path);
    taker.take(photo.hash);
    for (std::int64_t* number : {&photo.bytes, &width, &height}) taker.take(*number);
    for (std::string* text : {&photo.camera, &photo.lens, &photo.taken}) taker.take(*text);
    for (std::optional<double>* figure : {&photo.iso, &photo.exposure_s, &photo.f_number, &photo.focal_mm}) taker.take(*figure);
    taker.take(thumbnail);
    taker.take(photo.created);
    constexpr std::int64_t kMostPixels = 10'000'000;
    if (!taker.good() || width < 0 || height < 0 || width > kMostPixels || height > kMostPixels) return std::nullopt;
    photo.width = static_cast<int>(width);
    photo.height = static_cast<int>(height);
    photo.thumbnail = std::move(thumbnail.bytes);
    return photo;
}

Values values(const ColumnMapping& mapping) {
    std::string lines;
    for (const auto& [column, meaning] : mapping.columns) lines += column + "=" + meaning + "\n";
    return {mapping.headings, lines, mapping.light, std::int64_t{mapping.observer == Observer::degree10 ? 10 : 2}, mapping.created};
}

std::optional<Lamp> lamp_of(std::int64_t id, Values row) {
    Lamp lamp;
    lamp.id = id;
    Taker taker(row, lamp_table().columns.size());
    for (std::string* text : {&lamp.name, &lamp.light, &lamp.spectrum, &lamp.source, &lamp.created}) taker.take(*text);
    if (!taker.good()) return std::nullopt;
    return lamp;
}

std::optional<Note> note_of(std::int64_t id, Values row) {
    Note note;
    note.id = id;
    Taker taker(row, note_table().columns.size());
    for (std::optional<std::int64_t>* owner : {&note.target, &note.part, &note.reading}) taker.take(*owner);
    taker.take(note.text);
    taker.take(note.created);
    if (!taker.good()) return std::nullopt;
    return note;
}

std::optional<ColumnMapping> mapping_of(std::int64_t id, Values row) {
    ColumnMapping mapping;
    mapping.id = id;
    std::string lines;
    std::int64_t observer = 0;
    Taker taker(row, mapping_table().columns.size());
    for (std::string* text : {&mapping.headings, &lines, &mapping.light}) taker.take(*text);
    taker.take(observer);
    taker.take(mapping.created);
    if (!taker.good() || (observer != 2 && observer != 10)) return std::nullopt;
    mapping.observer = observer == 10 ? Observer::degree10 : Observer::degree2;
    for (std::size_t at = 0; at < lines.size();) {
        const std::size_t end = lines.find('\n', at), equals = lines.rfind('=', end);
        if (end == std::string::npos || equals == std::string::npos || equals < at) return std::nullopt;
        mapping.columns.emplace_back(lines.substr(at, equals - at), lines.substr(equals + 1, end - equals - 1));
        at = end + 1;
    }
    return mapping;
}

void tidy(Part& part) { part.name = trimmed(part.name); }
void tidy(KeptPhoto&) {}
void tidy(ColumnMapping&) {}
void tidy(Lamp& lamp) {
    lamp.name = trimmed(lamp.name);
    lamp.light = trimmed(lamp.light);
}
void tidy(Note& note) { note.text = trimmed(note.text); }

std::optional<std::string> flaw(const Part& part) {
    if (auto found = name_flaw(part.name)) return found;
    if (part.parent && *part.parent == part.id) return "it stands within itself";
    if (auto found = text_flaw(part.note, "the note")) return found;
    return time_flaw(part.created);
}

std::optional<std::string> flaw(const KeptPhoto& photo) {
    if (photo.path.empty() || photo.hash.empty()) return "the photo has no path or no hash";
    if (auto found = bytes_flaw(photo.path, "the path")) return found;
    for (const auto& [text, what] :
         {std::pair{&photo.hash, "the photo's hash"}, {&photo.camera, "the camera"}, {&photo.lens, "the lens"}, {&photo.taken, "the time"}}) {
        if (auto found = text_flaw(*text, what)) return found;
    }
    if (photo.bytes < 0 || photo.width < 0 || photo.height < 0) return "a size is negative";
    for (const std::optional<double>& figure : {photo.iso, photo.exposure_s, photo.f_number, photo.focal_mm}) {
        if (figure && !(std::isfinite(*figure) && *figure > 0)) return "a camera setting is not a figure above 0";
    }
    if (photo.thumbnail.size() > kLongestThumbnail) return "the thumbnail is larger than 1 MB";
    return time_flaw(photo.created);
}

std::optional<std::string> flaw(const Lamp& lamp) {
    if (auto found = name_flaw(lamp.name)) return found;
    if (lamp.spectrum.size() > kLongestLampSpectrum) return "the spectrum is longer than 1 MB";
    if (auto found = text_flaw(lamp.light, "the light")) return found;
    if (auto found = text_flaw(lamp.spectrum, "the spectrum")) return found;
    if (lamp.light.empty() == lamp.spectrum.empty()) return "a lamp has either a light or a spectrum";
    if (auto found = bytes_flaw(lamp.source, "the source")) return found;
    return time_flaw(lamp.created);
}

std::optional<std::string> flaw(const Note& note) {
    if (note.target.has_value() + note.part.has_value() + note.reading.has_value() != 1) return "a note is about one target, part or reading";
    if (note.text.empty()) return "the note is empty";
    if (note.text.size() > kLongestNote) return "the note is longer than 1 MB";
    if (auto found = text_flaw(note.text, "the note")) return found;
    return time_flaw(note.created);
}

std::optional<std::string> flaw(const ColumnMapping& mapping) {
    if (mapping.headings.empty() || mapping.columns.empty()) return "a mapping says what at least one column means";
    if (mapping.headings.size() > kLongestMapping || mapping.columns.size() > kLongestMapping) return "the table has too many columns";
    if (auto found = text_flaw(mapping.headings, "the heading")) return found;
    if (auto found = text_flaw(mapping.light, "the light")) return found;
    for (const auto& [column, meaning] : mapping.columns) {
        if (auto found = text_flaw(column + meaning, "the heading")) return found;
        if (meaning.empty() || (column + meaning).find('\n') != std::string::npos || meaning.find('=') != std::string::npos)
            return "a heading with a line end cannot be remembered";
    }
    return time_flaw(mapping.created);
}

}  // namespace sw::store
