// Parts, photos, lamps, notes and undo of a workbook.
#include <algorithm>

#include "workbook/store.hpp"

namespace sw {

Result<std::vector<Part>> Workbook::parts() const {
    return store_->items<Part>(store::part_table(), store::part_of, "ORDER BY name COLLATE NOCASE, name, id");
}

Result<Part> Workbook::part(const std::string& name) const {
    const Result<std::vector<Part>> all = parts();
    if (!all) return all.error();
    const std::string wanted = store::trimmed(name);
    std::vector<Part> found;
    for (const bool by_path : {false, true}) {
        std::copy_if(all->begin(), all->end(), std::back_inserter(found),
                     [&](const Part& part) { return (by_path ? part_path(*all, part) : part.name) == wanted; });
        if (!found.empty()) break;
    }
    if (found.empty()) return store_->unknown("part \"" + name + "\"", "there is no part of that name");
    if (found.size() == 1) return found.front();
    const auto root = std::find_if(found.begin(), found.end(), [](const Part& part) { return !part.parent; });
    if (root != found.end()) return *root;  // its path is its name
    std::string paths;
    for (const Part& part : found) paths += (paths.empty() ? "" : ", ") + part_path(*all, part);
    return Error{.fault = Fault::bad_usage,
                 .file = path().string(),
                 .place = "part \"" + name + "\"",
                 .cause = "several parts have that name",
                 .remedy = "name one of " + paths};
}

Result<Part> Workbook::add(Part part) { return store_->add(store::part_table(), std::move(part)); }

Result<Done> Workbook::put(const Part& part) {
    const Result<std::vector<Part>> all = parts();
    if (!all) return all.error();
    std::optional<std::int64_t> above = part.parent;
    for (std::size_t depth = 0; above && depth <= all->size(); ++depth) {
        if (*above == part.id) return store_->bad_value("part \"" + part.name + "\"", "it would stand within itself");
        const auto found = std::find_if(all->begin(), all->end(), [&](const Part& other) { return other.id == *above; });
        if (found == all->end()) break;
        above = found->parent;
    }
    return store_->put(store::part_table(), part);
}

Result<Done> Workbook::remove_part(std::int64_t id) {
    const Result<std::vector<Part>> inside = store_->items<Part>(store::part_table(), store::part_of, "WHERE parent = ?", {id});
    if (!inside) return inside.error();
    if (!inside->empty()) {
        return Error{.fault = Fault::bad_usage,
                     .file = path().string(),
                     .place = "part no. " + std::to_string(id),
                     .cause = std::to_string(inside->size()) + (inside->size() == 1 ? " part stands" : " parts stand") + " in it",
                     .remedy = "remove or move these first"};
    }
    return store_->remove(store::part_table(), id);
}

Result<std::vector<KeptPhoto>> Workbook::photos() const {
    return store_->items<KeptPhoto>(store::photo_table(), store::photo_of, "ORDER BY id DESC");
}

Result<KeptPhoto> Workbook::photo(const std::string& hash) const {
    Result<std::vector<KeptPhoto>> found = store_->items<KeptPhoto>(store::photo_table(), store::photo_of, "WHERE hash = ?", {hash});
    if (!found) return found.error();
    if (found->empty()) return store_->unknown("photo " + hash, "there is no photo of that content");
    return std::move(found->front());
}

Result<KeptPhoto> Workbook::keep(KeptPhoto photo) {
    Result<KeptPhoto> known = this->photo(photo.hash);
    if (!known && known.error().fault == Fault::name_unknown) return store_->add(store::photo_table(), std::move(photo));
    if (!known || known->path == photo.path) return known;
    known->path = photo.path;
    const KeptPhoto moved = *known;
    if (const Result<Done> put = store_->put(store::photo_table(), moved); !put) return put.error();
    return known;
}

Result<Done> Workbook::remove_photo(std::int64_t id) { return store_->remove(store::photo_table(), id); }

Result<std::vector<Lamp>> Workbook::lamps() const {
    return store_->items<Lamp>(store::lamp_table(), store::lamp_of, "ORDER BY name COLLATE NOCASE, name");
}

Result<Lamp> Workbook::lamp(const std::string& name) const { return store_->named<Lamp>(store::lamp_table(), store::lamp_of, name); }
Result<Lamp> Workbook::add(Lamp lamp) {
    if (const Result<Light> known = light_of(lamp); !known && lamp.light.empty() != lamp.spectrum.empty())  // only here: a shop LED takes its time
        return store_->bad_value("lamp \"" + lamp.name + "\"", describe(known.error()));
    return store_->add(store::lamp_table(), std::move(lamp));
}
Result<Done> Workbook::remove_lamp(std::int64_t id) { return store_->remove(store::lamp_table(), id); }

Result<std::vector<Note>> Workbook::notes() const { return store_->items<Note>(store::note_table(), store::note_of, "ORDER BY id"); }
Result<Note> Workbook::add(Note note) { return store_->add(store::note_table(), std::move(note)); }
Result<Done> Workbook::remove_note(std::int64_t id) { return store_->remove(store::note_table(), id); }

Result<std::vector<ColumnMapping>> Workbook::mappings() const {
    return store_->items<ColumnMapping>(store::mapping_table(), store::mapping_of, "ORDER BY created DESC, id DESC");
}
Result<Done> Workbook::remember(ColumnMapping mapping) {
    const auto there = store_->items<ColumnMapping>(store::mapping_table(), store::mapping_of, "WHERE headings = ?", {mapping.headings});
    if (!there) return there.error();
    if (!there->empty()) {
        mapping.id = there->front().id;
        return store_->put(store::mapping_table(), std::move(mapping));
    }
    const auto added = store_->add(store::mapping_table(), std::move(mapping));
    if (!added) return added.error();
    return Done{};
}

Result<Done> Workbook::together(const std::string& words, const std::function<Result<Done>()>& body) { return store_->change(words, body); }
Result<std::optional<std::string>> Workbook::undo() { return store_->step(false); }
Result<std::optional<std::string>> Workbook::redo() { return store_->step(true); }
Result<std::vector<Change>> Workbook::changes() const { return store_->changes(); }
Result<std::optional<Change>> Workbook::next_undo() const { return store_->next(false); }
Result<std::optional<Change>> Workbook::next_redo() const { return store_->next(true); }
const Trace& Workbook::trace() const { return store_->trace; }
Result<std::int64_t> Workbook::outside_version() const { return store_->database.number("PRAGMA data_version"); }

Result<std::optional<Part>> Workbook::part(std::int64_t id) const { return store_->with_id<Part>(store::part_table(), store::part_of, id); }
Result<std::optional<Note>> Workbook::note(std::int64_t id) const { return store_->with_id<Note>(store::note_table(), store::note_of, id); }

}  // namespace sw
