// Paints and pots of a workbook.
#include <algorithm>

#include "color/cie_data.hpp"
#include "workbook/store.hpp"

namespace sw {
namespace {

// What an undo will be called: "2 drops of Titanium White into pot "B"".
std::string addition_words(const KeptAddition& addition, const std::string& pot, const std::string& paint) {
    const std::string what = addition.kind == AdditionKind::unknown ? "something unknown"
                             : !addition.amount                     ? std::string("something")
                                                                    : shortest(*addition.amount) + " " + addition.unit;
    if (addition.kind == AdditionKind::taken) return "Took " + what + " out of pot \"" + pot + "\"";
    return "Added " + what + (paint.empty() ? "" : " of " + paint) + " to pot \"" + pot + "\"";
}

}  // namespace

Result<std::vector<KeptPaint>> Workbook::paints() const {
    return store_->items<KeptPaint>(store::paint_table(), store::paint_of, "ORDER BY name COLLATE NOCASE, name");
}
Result<KeptPaint> Workbook::paint(const std::string& name) const { return store_->named<KeptPaint>(store::paint_table(), store::paint_of, name); }
Result<KeptPaint> Workbook::add(KeptPaint paint) { return store_->add(store::paint_table(), std::move(paint)); }
Result<Done> Workbook::put(const KeptPaint& paint) { return store_->put(store::paint_table(), paint); }

Result<Done> Workbook::remove_paint(std::int64_t id) {
    const auto in_pots = store_->items<KeptAddition>(store::addition_table(), store::addition_of, "WHERE paint = ?", {id});
    if (!in_pots) return in_pots.error();
    const auto let_down = store_->items<KeptSample>(store::sample_table(), store::sample_of, "WHERE white = ?", {id});
    if (!let_down) return let_down.error();
    if (!in_pots->empty() || !let_down->empty())
        return Error{.fault = Fault::bad_usage,
                     .file = path().string(),
                     .place = "paint no. " + std::to_string(id),
                     .cause = in_pots->empty() ? "tints of other paints were let down with it"
                                               : "it was put into a pot, whose record would no longer tell what is in it",
                     .remedy = "take it off the shelf, or remove these first"};
    return store_->remove(store::paint_table(), id);
}

Result<std::vector<KeptSample>> Workbook::samples() const {
    return store_->items<KeptSample>(store::sample_table(), store::sample_of, "ORDER BY id");
}
Result<KeptSample> Workbook::add(KeptSample sample) { return store_->add(store::sample_table(), std::move(sample)); }
Result<Done> Workbook::put(const KeptSample& sample) { return store_->put(store::sample_table(), sample); }
Result<Done> Workbook::remove_sample(std::int64_t id) { return store_->remove(store::sample_table(), id); }

Result<std::vector<KeptPot>> Workbook::pots() const { return store_->items<KeptPot>(store::pot_table(), store::pot_of, "ORDER BY id DESC"); }
Result<KeptPot> Workbook::pot(const std::string& name) const { return store_->named<KeptPot>(store::pot_table(), store::pot_of, name); }
Result<KeptPot> Workbook::add(KeptPot pot) { return store_->add(store::pot_table(), std::move(pot)); }
Result<Done> Workbook::put(const KeptPot& pot) { return store_->put(store::pot_table(), pot); }
Result<Done> Workbook::remove_pot(std::int64_t id) { return store_->remove(store::pot_table(), id); }

Result<std::vector<KeptAddition>> Workbook::additions() const {
    return store_->items<KeptAddition>(store::addition_table(), store::addition_of, "ORDER BY id");
}

// The number is asked for within the transaction, so that two programs never give the same.
Result<KeptAddition> Workbook::add(KeptAddition addition) {
    const auto pot = store_->with_id<KeptPot>(store::pot_table(), store::pot_of, addition.pot);
    if (!pot) return pot.error();
    if (!*pot) return store_->unknown("pot no. " + std::to_string(addition.pot), "it is not in the workbook");
    std::string paint;
    if (addition.paint) {
        const auto found = store_->with_id<KeptPaint>(store::paint_table(), store::paint_of, *addition.paint);
        if (!found) return found.error();
        if (!*found) return store_->unknown("paint no. " + std::to_string(*addition.paint), "it is not in the workbook");
        paint = (*found)->name;
    }
    KeptAddition kept;
    const Result<Done> done = store_->change(addition_words(addition, (*pot)->name, paint), [&]() -> Result<Done> {
        if (addition.number == 0) {
            const auto all = store_->items<KeptAddition>(store::addition_table(), store::addition_of, "WHERE pot = ?", {addition.pot});
            if (!all) return all.error();
            for (const KeptAddition& one : *all) addition.number = std::max(addition.number, one.number);
            ++addition.number;
        }
        const auto added = store_->add(store::addition_table(), addition);
        if (!added) return added.error();
        kept = *added;
        return Done{};
    });
    if (!done) return done.error();
    return kept;
}

Result<std::vector<KeptPotReading>> Workbook::pot_readings() const {
    return store_->items<KeptPotReading>(store::pot_reading_table(), store::pot_reading_of, "ORDER BY id");
}

Result<KeptPotReading> Workbook::add(KeptPotReading reading) {
    const auto pot = store_->with_id<KeptPot>(store::pot_table(), store::pot_of, reading.pot);
    if (!pot) return pot.error();
    const auto last = store_->with_id<KeptAddition>(store::addition_table(), store::addition_of, reading.addition);
    if (!last) return last.error();
    if (!*pot || !*last) return store_->unknown("reading of a pot", "the pot, or what was in it, is not in the workbook");
    if ((*last)->pot != reading.pot) return store_->bad_value("reading of pot \"" + (*pot)->name + "\"", "its addition is another pot's");
    KeptPotReading kept;
    const Result<Done> done = store_->change("Read pot \"" + (*pot)->name + "\"", [&]() -> Result<Done> {
        const auto added = store_->add(store::pot_reading_table(), reading);
        if (!added) return added.error();
        kept = *added;
        return Done{};
    });
    if (!done) return done.error();
    return kept;
}

Result<Done> Workbook::put(const KeptPotReading& reading) { return store_->put(store::pot_reading_table(), reading); }

}  // namespace sw
