// Targets, readings, cards and set-ups of a workbook; words and values of theirs.
#include <utility>

#include "workbook/store.hpp"

namespace sw {

Result<std::vector<Target>> Workbook::targets() const {
    return store_->items<Target>(store::target_table(), store::target_of, "ORDER BY name COLLATE NOCASE, name");
}

Result<Target> Workbook::target(const std::string& name) const { return store_->named<Target>(store::target_table(), store::target_of, name); }

Result<std::optional<Target>> Workbook::target(std::int64_t id) const { return store_->with_id<Target>(store::target_table(), store::target_of, id); }

Result<Target> Workbook::add(Target target) { return store_->add(store::target_table(), std::move(target)); }
Result<Done> Workbook::put(const Target& target) { return store_->put(store::target_table(), target); }

Result<Done> Workbook::remove_target(std::int64_t id) { return store_->remove(store::target_table(), id); }

Result<std::vector<KeptReading>> Workbook::readings() const {
    return store_->items<KeptReading>(store::reading_table(), store::reading_of, "ORDER BY id DESC");
}

Result<std::optional<KeptReading>> Workbook::reading(std::int64_t id) const {
    return store_->with_id<KeptReading>(store::reading_table(), store::reading_of, id);
}

Result<KeptReading> Workbook::add(KeptReading reading) { return store_->add(store::reading_table(), std::move(reading)); }
Result<Done> Workbook::put(const KeptReading& reading) { return store_->put(store::reading_table(), reading); }

Result<Done> Workbook::remove_reading(std::int64_t id) { return store_->remove(store::reading_table(), id); }

Result<std::vector<Card>> Workbook::cards() const {
    return store_->items<Card>(store::card_table(), store::card_of, "ORDER BY name COLLATE NOCASE, name");
}

Result<Card> Workbook::card(const std::string& name) const { return store_->named<Card>(store::card_table(), store::card_of, name); }

Result<Card> Workbook::add(Card card) { return store_->add(store::card_table(), std::move(card)); }

Result<Done> Workbook::remove_card(std::int64_t id) { return store_->remove(store::card_table(), id); }

Result<std::vector<KeptSetup>> Workbook::setups() const {
    return store_->items<KeptSetup>(store::setup_table(), store::setup_of, "ORDER BY name COLLATE NOCASE, name");
}

Result<KeptSetup> Workbook::setup(const std::string& name) const { return store_->named<KeptSetup>(store::setup_table(), store::setup_of, name); }

Result<KeptSetup> Workbook::add(KeptSetup setup) { return store_->add(store::setup_table(), std::move(setup)); }

Result<Done> Workbook::remove_setup(std::int64_t id) { return store_->remove(store::setup_table(), id); }

Result<Reflectance> surface_of(const std::string& csv, const std::string& name) {
    const Result<SpectrumTable> table = parse_spectrum(csv, name);
    if (!table) return table.error();
    return reflectance(*table, name);
}

Result<CardReference> card_reference(const Card& card, const Region& region) {
    CardReference reference{card.name, region, Lrv{}, card.sd};
    if (const auto* lrv = std::get_if<Lrv>(&card.value)) reference.value = *lrv;
    if (const auto* color = std::get_if<Lab>(&card.value)) reference.value = *color;
    if (const auto* spectrum = std::get_if<SpectrumText>(&card.value)) {
        const std::string place = "card " + card.name;
        const Result<Reflectance> surface = surface_of(spectrum->csv, place);
        if (!surface) return surface.error();
        reference.value = *surface;
    }
    return reference;
}

std::string time_now() { return store::now_utc(); }

std::string to_word(TargetKind kind) {
    switch (kind) {
        case TargetKind::chip:
            return "chip";
        case TargetKind::published:
            return "published";
        case TargetKind::instrument:
            return "instrument";
        case TargetKind::screen:
            return "screen";
    }
    return {};
}

std::optional<TargetKind> target_kind(const std::string& word) {
    for (const TargetKind kind : {TargetKind::chip, TargetKind::published, TargetKind::instrument, TargetKind::screen}) {
        if (to_word(kind) == word) return kind;
    }
    return std::nullopt;
}

}  // namespace sw
