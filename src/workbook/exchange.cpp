#include "workbook/exchange.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "workbook/rows.hpp"

namespace sw {
namespace {

constexpr std::size_t kLongestNameKept = 200;  // bytes, as the schema has it

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

/// Targets or cards: those to be added, with what became of the others. placed: (id in the file, id in the result) of each that is there or will be.
template <class T>
std::vector<T> fitted(std::vector<T>& incoming, const std::vector<T>& there, const std::string& what, bool rename, Exchange& result,
                      std::map<std::int64_t, std::int64_t>& placed) {
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

/// A reading's columns without its link.
store::Values unlinked(KeptReading reading) {
    reading.target.reset();
    return store::values(reading);
}

std::vector<KeptReading> fitted_readings(std::vector<KeptReading>& incoming, const std::vector<KeptReading>& there,
                                         const std::map<std::int64_t, std::int64_t>& placed, Exchange& result) {
    std::set<store::Values> known;
    for (const KeptReading& reading : there) known.insert(unlinked(reading));
    std::vector<KeptReading> added;
    std::size_t repeated = 0, loose = 0;
    for (KeptReading& reading : incoming) {
        if (!known.insert(unlinked(reading)).second) {
            ++repeated;
            continue;
        }
        if (reading.target) {
            const auto found = placed.find(*reading.target);
            if (found == placed.end()) {
                ++loose;
                reading.target.reset();
            } else {
                reading.target = found->second;
            }
        }
        added.push_back(std::move(reading));
    }
    const auto of = [](std::size_t count) { return std::to_string(count) + (count == 1 ? " reading" : " readings"); };
    if (repeated > 0) result.not_taken.push_back({"", of(repeated), "there already"});
    if (loose > 0) result.notes.push_back(of(loose) + " taken without the target they were judged against, which was not taken");
    return added;
}

/// Inside together(). Link by link: a reading's target is known once the target is there.
Result<Done> insert_all(Workbook& workbook, Exchange& exchange) {
    std::map<std::int64_t, std::int64_t> placed;
    for (Target& target : exchange.targets) {
        const std::int64_t before = target.id;
        const auto added = workbook.add(std::move(target));
        if (!added) return added.error();
        placed[before] = added->id;
    }
    for (KeptReading& reading : exchange.readings) {
        if (reading.target && *reading.target < 0) reading.target = placed.at(*reading.target);
        if (const auto added = workbook.add(std::move(reading)); !added) return added.error();
    }
    for (Card& card : exchange.cards) {
        if (const auto added = workbook.add(std::move(card)); !added) return added.error();
    }
    return Done{};
}

}  // namespace

std::optional<std::string> unfit(Target& target) { return unfit_row(target); }
std::optional<std::string> unfit(KeptReading& reading) { return unfit_row(reading); }
std::optional<std::string> unfit(Card& card) { return unfit_row(card); }

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
    Exchange all;
    all.targets = *std::move(targets);
    all.readings = *std::move(readings);
    all.cards = *std::move(cards);
    std::reverse(all.readings.begin(), all.readings.end());  // oldest first, so that they keep their order when they are added
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
    return some;
}

Exchange fit_in(Exchange incoming, const Exchange& there, bool rename) {
    Exchange result;
    result.not_taken = std::move(incoming.not_taken);
    result.notes = std::move(incoming.notes);
    std::map<std::int64_t, std::int64_t> placed, cards;
    result.targets = fitted(incoming.targets, there.targets, "target", rename, result, placed);
    result.cards = fitted(incoming.cards, there.cards, "card", rename, result, cards);
    result.readings = fitted_readings(incoming.readings, there.readings, placed, result);
    return result;
}

Result<Done> add_all(Workbook& workbook, Exchange exchange, const std::string& words) {
    return workbook.together(words, [&] { return insert_all(workbook, exchange); });
}

}  // namespace sw
