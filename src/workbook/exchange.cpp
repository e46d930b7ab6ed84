#include "workbook/exchange.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <set>
#include <tuple>
#include <utility>

#include "color/cie_data.hpp"
#include "workbook/rows.hpp"

namespace sw {
namespace {

constexpr std::size_t kLongestNameKept = 200;  // bytes, as the schema has it

using Placed = std::map<std::int64_t, std::int64_t>;  // id in the file, id in the result

template <class T>
std::optional<std::string> unfit_row(T& item) {
    if (item.created.empty()) item.created = store::now_utc();
    store::tidy(item);
    return store::flaw(item);
}

/// "Damson 14 (2)": the first such name that is free; cut at a character's border where it would become too long.
std::string free_name(const std::string& name, const std::set<std::string>& taken) {
    for (int number = 2;; ++number) {
        const std::string tail = " (" + std::to_string(number) + ")";
        std::string base = name.substr(0, std::min(name.size(), kLongestNameKept - tail.size()));
        while (base.size() < name.size() && !base.empty() && (static_cast<unsigned char>(name[base.size()]) & 0xC0U) == 0x80U) base.pop_back();
        if (std::string free = store::trimmed(base) + tail; !taken.contains(free)) return free;
    }
}

/// The stored columns without the time of making.
template <class T>
store::Values content(T item) {
    item.created.clear();
    return store::values(item);
}

/// Targets, cards, lamps or set-ups: those to be added, with what became of the others. placed: (id in the file, id in the result) of each that is
/// there or will be.
template <class T>
std::vector<T> fitted(std::vector<T>& incoming, const std::vector<T>& there, const std::string& what, bool rename, Exchange& result, Placed& placed) {
    std::map<std::string, T> known;
    std::set<std::string> taken;
    for (const T& item : there) {
        known.emplace(item.name, item);
        taken.insert(item.name);
    }
    std::vector<T> added;
    for (T& item : incoming) {
        const auto same_name = known.find(item.name);
        if (same_name != known.end() && content(same_name->second) == content(item)) {
            placed[item.id] = same_name->second.id;
            result.not_taken.push_back({"", item.name, "this " + what + " is there already"});
            continue;
        }
        const std::int64_t id = item.id;
        if (taken.contains(item.name)) {
            if (!rename) {
                result.not_taken.push_back({"", item.name, "another " + what + " has this name"});
                continue;
            }
            std::string name = free_name(item.name, taken);
            result.renamed.push_back({item.name, name});
            item.name = std::move(name);
        }
        taken.insert(item.name);
        item.id = -1 - static_cast<std::int64_t>(added.size());
        known.emplace(item.name, item);
        placed[id] = item.id;
        added.push_back(std::move(item));
    }
    return added;
}

/// Where a link leads now; cleared, and false, where that was not taken.
bool lead(std::optional<std::int64_t>& link, const Placed& placed) {
    if (!link) return true;
    const auto found = placed.find(*link);
    link = found == placed.end() ? std::nullopt : std::optional(found->second);
    return link.has_value();
}

/// A reading's columns without its link.
store::Values unlinked(KeptReading reading) {
    reading.target.reset();
    return store::values(reading);
}

std::vector<KeptReading> fitted_readings(std::vector<KeptReading>& incoming, const std::vector<KeptReading>& there, const Placed& placed,
                                         Exchange& result, Placed& readings) {
    std::map<store::Values, std::int64_t> known;
    for (const KeptReading& reading : there) known.emplace(unlinked(reading), reading.id);
    std::vector<KeptReading> added;
    std::size_t repeated = 0, loose = 0;
    for (KeptReading& reading : incoming) {
        const std::int64_t id = -1 - static_cast<std::int64_t>(added.size());
        const auto [same, fresh] = known.emplace(unlinked(reading), id);
        readings[reading.id] = same->second;
        if (!fresh) {
            ++repeated;
            continue;
        }
        loose += lead(reading.target, placed) ? 0 : 1;
        reading.id = id;
        added.push_back(std::move(reading));
    }
    const auto of = [](std::size_t count) { return std::to_string(count) + (count == 1 ? " reading" : " readings"); };
    if (repeated > 0) result.not_taken.push_back({"", of(repeated), "there already"});
    if (loose > 0) result.notes.push_back(of(loose) + " taken without the target they were judged against, which was not taken");
    return added;
}

/// From the outside inwards, so that a part's parent is placed before it.
std::vector<Part> fitted_parts(std::vector<Part>& incoming, const std::vector<Part>& there, const Placed& targets, Exchange& result, Placed& placed) {
    std::map<std::pair<std::int64_t, std::string>, const Part*> known;  // by parent (0: none) and name
    for (const Part& part : there) known.emplace(std::pair(part.parent.value_or(0), part.name), &part);
    std::map<std::int64_t, std::vector<Part*>> inside;
    for (Part& part : incoming) inside[part.parent.value_or(0)].push_back(&part);
    std::vector<Part> added;
    std::map<std::pair<std::int64_t, std::string>, std::int64_t> fresh;
    std::vector<std::int64_t> open{0};
    std::set<std::int64_t> done;
    std::size_t bare = 0;
    while (!open.empty()) {
        const std::int64_t outer = open.back();
        open.pop_back();
        for (Part* part : inside[outer]) {
            if (!done.insert(part->id).second) continue;
            open.push_back(part->id);
            bare += lead(part->target, targets) ? 0 : 1;
            static_cast<void>(lead(part->parent, placed));
            const std::pair key(part->parent.value_or(0), part->name);
            const auto same = known.find(key);
            const auto twice = fresh.find(key);
            if (same != known.end()) {
                const Part& other = *same->second;
                const bool alike = other.target == part->target && other.status == part->status && other.note == part->note;
                placed[part->id] = other.id;
                result.not_taken.push_back({"", part->name, alike ? "this part is there already" : "another part has this name in the same place"});
            } else if (twice != fresh.end()) {
                placed[part->id] = twice->second;
                result.not_taken.push_back({"", part->name, "another part of the file has this name in the same place"});
            } else {
                const std::int64_t id = -1 - static_cast<std::int64_t>(added.size());
                placed[part->id] = fresh[key] = id;
                added.push_back(*part);
                added.back().id = id;
            }
        }
    }
    for (const Part& part : incoming) {
        if (!done.contains(part.id)) result.not_taken.push_back({"", part.name, "what this part stands in is not in the file"});
    }
    if (bare > 0)
        result.notes.push_back(std::to_string(bare) + (bare == 1 ? " part" : " parts") + " taken without the color worn, which was not taken");
    return added;
}

std::vector<Note> fitted_notes(std::vector<Note>& incoming, const std::vector<Note>& there, const Placed& targets, const Placed& parts,
                               const Placed& readings, Exchange& result) {
    const auto content_of = [](const Note& note) { return std::tuple(note.target, note.part, note.reading, note.text); };
    std::set<decltype(content_of(Note{}))> known;
    for (const Note& note : there) known.insert(content_of(note));
    std::vector<Note> added;
    std::size_t lost = 0, repeated = 0;
    for (Note& note : incoming) {
        const bool leads = lead(note.target, targets) && lead(note.part, parts) && lead(note.reading, readings);
        if (!leads) {
            ++lost;
        } else if (!known.insert(content_of(note)).second) {
            ++repeated;
        } else {
            added.push_back(std::move(note));
        }
    }
    const auto of = [](std::size_t count) { return std::to_string(count) + (count == 1 ? " note" : " notes"); };
    if (repeated > 0) result.not_taken.push_back({"", of(repeated), "there already"});
    if (lost > 0) result.not_taken.push_back({"", of(lost), "what they are about was not taken"});
    return added;
}

std::vector<KeptPhoto> fitted_photos(std::vector<KeptPhoto>& incoming, const std::vector<KeptPhoto>& there, Exchange& result) {
    std::set<std::string> known;
    for (const KeptPhoto& photo : there) known.insert(photo.hash);
    std::vector<KeptPhoto> added;
    std::size_t repeated = 0;
    for (KeptPhoto& photo : incoming) {
        if (known.insert(photo.hash).second) {
            added.push_back(std::move(photo));
        } else {
            ++repeated;
        }
    }
    if (repeated > 0) result.not_taken.push_back({"", std::to_string(repeated) + (repeated == 1 ? " photo" : " photos"), "there already"});
    return added;
}

/// What is the same of a pot or paint wherever it stands: its own row without time, and how much belongs to it.
bool same_mix(const Exchange& one, const KeptPaint& a, const Exchange& two, const KeptPaint& b) {
    const auto samples = [](const Exchange& all, std::int64_t paint) {
        std::multiset<store::Values> rows;
        for (KeptSample sample : all.samples) {
            if (sample.paint != paint) continue;
            sample.paint = 0;
            sample.white.reset();
            sample.reading.reset();
            rows.insert(store::values(sample));
        }
        return rows;
    };
    return content(a) == content(b) && samples(one, a.id) == samples(two, b.id);
}

bool same_mix(const Exchange& one, const KeptPot& a, const Exchange& two, const KeptPot& b) {
    const auto bare = [](KeptPot pot) {
        pot.target.reset();
        pot.batch_of.reset();
        return content(pot);
    };
    const auto steps = [](const Exchange& all, std::int64_t pot) {
        std::vector<std::string> rows;
        for (const KeptAddition& addition : additions_of(all.additions, pot)) {
            const auto paint = std::find_if(all.paints.begin(), all.paints.end(), [&](const KeptPaint& p) { return addition.paint == p.id; });
            rows.push_back(std::to_string(addition.number) + " " + to_word(addition.kind) + " " + (paint == all.paints.end() ? "" : paint->name) +
                           " " + shortest(addition.amount.value_or(0)) + " " + addition.unit + " " + addition.created);
        }
        for (const KeptPotReading& reading : all.pot_readings) {
            if (reading.pot == pot) rows.push_back(shortest(reading.lab.L) + " " + shortest(reading.lab.a) + " " + reading.created);
        }
        return rows;
    };
    return bare(a) == bare(b) && steps(one, a.id) == steps(two, b.id);
}

/// Paints or pots by name, as `fitted` does it, but with all that belongs to them.
template <class T>
std::vector<T> fitted_mix(const Exchange& incoming, const std::vector<T>& own, const Exchange& there, const std::vector<T>& known,
                          const std::string& what, bool rename, Exchange& result, Placed& placed) {
    std::set<std::string> taken;
    for (const T& item : known) taken.insert(item.name);
    std::vector<T> added;
    for (T item : own) {
        const auto same_name = std::find_if(known.begin(), known.end(), [&](const T& other) { return other.name == item.name; });
        if (same_name != known.end() && same_mix(incoming, item, there, *same_name)) {
            placed[item.id] = same_name->id;
            result.not_taken.push_back({"", item.name, "this " + what + " is there already"});
            continue;
        }
        if (taken.contains(item.name)) {
            if (!rename) {
                result.not_taken.push_back({"", item.name, "another " + what + " has this name"});
                continue;
            }
            std::string name = free_name(item.name, taken);
            result.renamed.push_back({item.name, name});
            item.name = std::move(name);
        }
        taken.insert(item.name);
        const std::int64_t id = item.id;
        item.id = placed[id] = -1 - static_cast<std::int64_t>(added.size());
        added.push_back(std::move(item));
    }
    return added;
}

bool fresh_id(const Placed& placed, std::int64_t id) {
    const auto found = placed.find(id);
    return found != placed.end() && found->second < 0;
}

void fit_mix(Exchange& incoming, const Exchange& there, bool rename, const Placed& targets, const Placed& readings, Exchange& result) {
    Placed paints, pots, additions;
    result.paints = fitted_mix(incoming, incoming.paints, there, there.paints, "paint", rename, result, paints);
    const auto lost = [&](const std::string& what, const std::string& reason) { result.not_taken.push_back({"", what, reason}); };
    for (KeptSample sample : incoming.samples) {
        if (!paints.contains(sample.paint)) continue;  // its paint was listed, or is not in the file
        if (!fresh_id(paints, sample.paint)) continue;
        sample.paint = paints.at(sample.paint);
        const bool let_down = sample.white.has_value();
        if (!lead(sample.white, paints) && let_down) {
            lost("a tint", "the white that it was let down with was not taken");
            continue;
        }
        static_cast<void>(lead(sample.reading, readings));
        result.samples.push_back(std::move(sample));
    }
    // A pot without one of its paints would tell another mix.
    std::vector<KeptPot> whole;
    for (const KeptPot& pot : incoming.pots) {
        const bool all_there = std::all_of(incoming.additions.begin(), incoming.additions.end(), [&](const KeptAddition& addition) {
            return addition.pot != pot.id || !addition.paint || paints.contains(*addition.paint);
        });
        if (all_there)
            whole.push_back(pot);
        else
            lost(pot.name, "a paint in this pot was not taken");
    }
    result.pots = fitted_mix(incoming, whole, there, there.pots, "pot", rename, result, pots);
    for (KeptPot& pot : result.pots) {
        static_cast<void>(lead(pot.target, targets));
        static_cast<void>(lead(pot.batch_of, pots));
    }
    std::vector<KeptAddition> in_order = incoming.additions;
    std::stable_sort(in_order.begin(), in_order.end(), [](const KeptAddition& a, const KeptAddition& b) { return a.number < b.number; });
    std::set<std::pair<std::int64_t, std::int64_t>> places;
    std::map<std::int64_t, std::int64_t> pot_of;  // of additions, by their ids in the file
    for (KeptAddition addition : in_order) {
        if (!fresh_id(pots, addition.pot)) continue;
        const std::int64_t id = addition.id;
        addition.pot = pots.at(addition.pot);
        if (additions.contains(id) || !places.emplace(addition.pot, addition.number).second) {
            lost("an addition", "another has its place in the pot");
            continue;
        }
        pot_of[id] = addition.pot;
        static_cast<void>(lead(addition.paint, paints));
        static_cast<void>(lead(addition.explains, additions));
        addition.id = additions[id] = -1 - static_cast<std::int64_t>(result.additions.size());
        result.additions.push_back(std::move(addition));
    }
    for (KeptPotReading reading : incoming.pot_readings) {
        if (!fresh_id(pots, reading.pot)) continue;
        const auto after = additions.find(reading.addition);
        if (after == additions.end() || pot_of.at(reading.addition) != pots.at(reading.pot)) {
            lost("a reading of a pot", "what was in the pot then is not in the file");
            continue;
        }
        reading.pot = pots.at(reading.pot);
        reading.addition = after->second;
        static_cast<void>(lead(reading.reading, readings));
        result.pot_readings.push_back(std::move(reading));
    }
}

/// Where a link leads now that what it leads to has been added.
void settle(std::int64_t& link, const Placed& placed) {
    if (link < 0) link = placed.at(link);
}
void settle(std::optional<std::int64_t>& link, const Placed& placed) {
    if (link) settle(*link, placed);
}

template <class T>
Result<Done> insert_each(Workbook& workbook, std::vector<T>& things, Placed& placed, const std::function<void(T&)>& links) {
    for (T& thing : things) {
        links(thing);
        const std::int64_t before = thing.id;
        const auto added = workbook.add(std::move(thing));
        if (!added) return added.error();
        placed[before] = added->id;
    }
    return Done{};
}

/// Inside together(): what is linked to before what links to it.
Result<Done> insert_all(Workbook& workbook, Exchange& all) {
    Placed targets, parts, readings, others;
    const auto free = [](auto&) {};
    Result<Done> done = insert_each<Target>(workbook, all.targets, targets, free);
    if (done) done = insert_each<KeptReading>(workbook, all.readings, readings, [&](KeptReading& reading) { settle(reading.target, targets); });
    if (done) done = insert_each<Card>(workbook, all.cards, others, free);
    if (done) done = insert_each<Lamp>(workbook, all.lamps, others, free);
    if (done) done = insert_each<KeptSetup>(workbook, all.setups, others, free);
    for (KeptPhoto& photo : all.photos) {
        if (!done) return done;
        const auto kept = workbook.keep(std::move(photo));
        if (!kept) done = kept.error();
    }
    if (done) {
        done = insert_each<Part>(workbook, all.parts, parts, [&](Part& part) {
            settle(part.parent, parts);
            settle(part.target, targets);
        });
    }
    if (done) {
        done = insert_each<Note>(workbook, all.kept_notes, others, [&](Note& note) {
            settle(note.target, targets);
            settle(note.part, parts);
            settle(note.reading, readings);
        });
    }
    Placed paints, pots, additions;
    if (done) done = insert_each<KeptPaint>(workbook, all.paints, paints, free);
    if (done) {
        done = insert_each<KeptSample>(workbook, all.samples, others, [&](KeptSample& sample) {
            settle(sample.paint, paints);
            settle(sample.white, paints);
            settle(sample.reading, readings);
        });
    }
    // A batch may be of a pot that comes later in the list: such links are laid once all are there.
    std::vector<std::pair<std::int64_t, std::int64_t>> batches;
    if (done) {
        done = insert_each<KeptPot>(workbook, all.pots, pots, [&](KeptPot& pot) {
            settle(pot.target, targets);
            if (pot.batch_of && *pot.batch_of < 0 && !pots.contains(*pot.batch_of)) {
                batches.emplace_back(pot.id, *pot.batch_of);
                pot.batch_of.reset();
            } else {
                settle(pot.batch_of, pots);
            }
        });
    }
    for (const auto& [pot, of] : batches) {
        if (!done) return done;
        const auto there = workbook.pots();
        if (!there) return there.error();
        for (KeptPot one : *there) {
            if (one.id != pots.at(pot)) continue;
            one.batch_of = pots.at(of);
            done = workbook.put(one);
        }
    }
    if (done) {
        done = insert_each<KeptAddition>(workbook, all.additions, additions, [&](KeptAddition& addition) {
            settle(addition.pot, pots);
            settle(addition.paint, paints);
            settle(addition.explains, additions);
        });
    }
    if (done) {
        done = insert_each<KeptPotReading>(workbook, all.pot_readings, others, [&](KeptPotReading& reading) {
            settle(reading.pot, pots);
            settle(reading.addition, additions);
            settle(reading.reading, readings);
        });
    }
    return done;
}

}  // namespace

std::optional<std::string> unfit(Target& target) { return unfit_row(target); }
std::optional<std::string> unfit(KeptReading& reading) { return unfit_row(reading); }
std::optional<std::string> unfit(Card& card) { return unfit_row(card); }
std::optional<std::string> unfit(Lamp& lamp) { return unfit_row(lamp); }
std::optional<std::string> unfit(Part& part) { return unfit_row(part); }
std::optional<std::string> unfit(Note& note) { return unfit_row(note); }
std::optional<std::string> unfit(KeptPhoto& photo) { return unfit_row(photo); }
std::optional<std::string> unfit(KeptSetup& setup) { return unfit_row(setup); }
std::optional<std::string> unfit(KeptPaint& paint) { return unfit_row(paint); }
std::optional<std::string> unfit(KeptSample& sample) { return unfit_row(sample); }
std::optional<std::string> unfit(KeptPot& pot) { return unfit_row(pot); }
std::optional<std::string> unfit(KeptAddition& addition) { return unfit_row(addition); }
std::optional<std::string> unfit(KeptPotReading& reading) { return unfit_row(reading); }

std::optional<std::string> implausible(const Lab& color) {
    if (!(color.L >= -5 && color.L <= 120)) return "no surface has its L*";
    if (!(std::hypot(color.a, color.b) <= 250)) return "no surface is that colorful";
    return std::nullopt;
}

Result<Exchange> everything_in(const Workbook& workbook) {
    auto targets = workbook.targets();
    if (!targets) return targets.error();
    auto readings = workbook.readings();
    if (!readings) return readings.error();
    auto cards = workbook.cards();
    if (!cards) return cards.error();
    auto lamps = workbook.lamps();
    if (!lamps) return lamps.error();
    auto parts = workbook.parts();
    if (!parts) return parts.error();
    auto notes = workbook.notes();
    if (!notes) return notes.error();
    auto photos = workbook.photos();
    if (!photos) return photos.error();
    auto setups = workbook.setups();
    if (!setups) return setups.error();
    auto paints = workbook.paints();
    if (!paints) return paints.error();
    auto samples = workbook.samples();
    if (!samples) return samples.error();
    auto pots = workbook.pots();
    if (!pots) return pots.error();
    auto additions = workbook.additions();
    if (!additions) return additions.error();
    auto pot_readings = workbook.pot_readings();
    if (!pot_readings) return pot_readings.error();
    Exchange all;
    all.paints = *std::move(paints);
    all.samples = *std::move(samples);
    all.pots = *std::move(pots);
    std::reverse(all.pots.begin(), all.pots.end());
    all.additions = *std::move(additions);
    all.pot_readings = *std::move(pot_readings);
    all.photos = *std::move(photos);
    all.setups = *std::move(setups);
    all.targets = *std::move(targets);
    all.readings = *std::move(readings);
    all.cards = *std::move(cards);
    all.lamps = *std::move(lamps);
    all.parts = *std::move(parts);
    all.kept_notes = *std::move(notes);
    std::reverse(all.readings.begin(), all.readings.end());  // oldest first, so that they keep their order when they are added
    std::reverse(all.photos.begin(), all.photos.end());
    return all;
}

Result<Exchange> only(Exchange all, const std::vector<std::string>& names) {
    Exchange some;
    std::set<std::int64_t> ids;
    for (const std::string& name : names) {
        const auto found = std::find_if(all.targets.begin(), all.targets.end(), [&](const Target& target) { return target.name == name; });
        if (found == all.targets.end()) {
            return Error{Fault::name_unknown, "", "target \"" + name + "\"", "there is no target of that name", "list what is there, then try again"};
        }
        if (ids.insert(found->id).second) some.targets.push_back(*found);
    }
    for (KeptReading& reading : all.readings) {
        if (reading.target && ids.contains(*reading.target)) some.readings.push_back(std::move(reading));
    }
    std::set<std::int64_t> readings;
    std::set<std::string> hashes;
    for (const KeptReading& reading : some.readings) {
        readings.insert(reading.id);
        hashes.insert(reading.photo_hash);
    }
    for (KeptPhoto& photo : all.photos) {
        if (hashes.contains(photo.hash)) some.photos.push_back(std::move(photo));
    }
    for (Note& note : all.kept_notes) {
        if ((note.target && ids.contains(*note.target)) || (note.reading && readings.contains(*note.reading)))
            some.kept_notes.push_back(std::move(note));
    }
    return some;
}

Exchange fit_in(Exchange incoming, const Exchange& there, bool rename) {
    Exchange result;
    result.not_taken = std::move(incoming.not_taken);
    result.notes = std::move(incoming.notes);
    Placed targets, readings, parts, others;
    result.targets = fitted(incoming.targets, there.targets, "target", rename, result, targets);
    result.cards = fitted(incoming.cards, there.cards, "card", rename, result, others);
    result.lamps = fitted(incoming.lamps, there.lamps, "lamp", rename, result, others);
    result.setups = fitted(incoming.setups, there.setups, "set-up", rename, result, others);
    result.photos = fitted_photos(incoming.photos, there.photos, result);
    result.readings = fitted_readings(incoming.readings, there.readings, targets, result, readings);
    result.parts = fitted_parts(incoming.parts, there.parts, targets, result, parts);
    result.kept_notes = fitted_notes(incoming.kept_notes, there.kept_notes, targets, parts, readings, result);
    fit_mix(incoming, there, rename, targets, readings, result);
    return result;
}

Result<Done> add_all(Workbook& workbook, Exchange exchange, const std::string& words) {
    return workbook.together(words, [&] { return insert_all(workbook, exchange); });
}

}  // namespace sw
