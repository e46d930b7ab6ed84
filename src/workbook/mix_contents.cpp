// Paints and pots of a workbook.
#include <algorithm>

#include "workbook/store.hpp"

namespace sw {

Result<std::vector<KeptPaint>> Workbook::paints() const {
    return store_->items<KeptPaint>(store::paint_table(), store::paint_of, "ORDER BY name COLLATE NOCASE, name");
}
Result<KeptPaint> Workbook::paint(const std::string& name) const { return store_->named<KeptPaint>(store::paint_table(), store::paint_of, name); }
Result<KeptPaint> Workbook::add(KeptPaint paint) { return store_->add(store::paint_table(), std::move(paint)); }
Result<Done> Workbook::put(const KeptPaint& paint) { return store_->put(store::paint_table(), paint); }

Result<Done> Workbook::remove_paint(std::int64_t id) {
    const auto in_pots = store_->items<KeptAddition>(store::addition_table(), store::addition_of, "WHERE paint = ?", {id});
    if (!in_pots) return in_pots.error();
    if (!in_pots->empty())
        return Error{.fault = Fault::bad_usage,
                     .file = path().string(),
                     .place = "paint no. " + std::to_string(id),
                     .cause = "it was put into a pot, whose record would no longer tell what is in it",
                     .remedy = "keep it, or remove these pots first"};
    return store_->remove(store::paint_table(), id);
}

Result<std::vector<KeptPot>> Workbook::pots() const { return store_->items<KeptPot>(store::pot_table(), store::pot_of, "ORDER BY id DESC"); }
Result<KeptPot> Workbook::pot(const std::string& name) const { return store_->named<KeptPot>(store::pot_table(), store::pot_of, name); }
Result<KeptPot> Workbook::add(KeptPot pot) { return store_->add(store::pot_table(), std::move(pot)); }
Result<Done> Workbook::put(const KeptPot& pot) { return store_->put(store::pot_table(), pot); }
Result<Done> Workbook::remove_pot(std::int64_t id) { return store_->remove(store::pot_table(), id); }

Result<std::vector<KeptAddition>> Workbook::additions() const {
    return store_->items<KeptAddition>(store::addition_table(), store::addition_of, "ORDER BY id");
}
Result<KeptAddition> Workbook::add(KeptAddition addition) { return store_->add(store::addition_table(), std::move(addition)); }

Result<std::vector<PotColor>> Workbook::pot_colors() const {
    return store_->items<PotColor>(store::pot_color_table(), store::pot_color_of, "ORDER BY id");
}
Result<PotColor> Workbook::add(PotColor color) { return store_->add(store::pot_color_table(), std::move(color)); }

}  // namespace sw
