#include "workbook/find.hpp"

#include <sqlite3.h>

#include <algorithm>
#include <map>

#include "workbook/nearest.hpp"
#include "workbook/rows.hpp"

namespace sw {
namespace {

using store::Database;
using store::Doing;
using store::Statement;

enum Where : std::int64_t { kTarget, kReading, kPart, kNote, kCard, kLamp, kSetup };

struct Text {
    Where where;
    std::int64_t id;
    const std::string* text;
};

// Each word as a prefix, quoted, so that nothing in it is an operator of the search.
std::string match_of(const std::string& text) {
    std::string match, word;
    const auto end_word = [&] {
        if (word.empty()) return;
        match += (match.empty() ? "\"" : " \"") + word + "\"*";
        word.clear();
    };
    for (const char c : text) {
        if (c == ' ' || c == '\t' || c == '\n' || c == '\r') {
            end_word();
        } else {
            word += c;
            if (c == '"') word += '"';
        }
    }
    end_word();
    return match;
}

/// Place of each hit, best first.
using Order = std::map<std::pair<std::int64_t, std::int64_t>, std::size_t>;

// The index lives in memory only (see DEVELOPERS.md).
Result<Order> search(const std::vector<Text>& texts, const std::string& match) {
    const Result<Database> memory = Database::open_in_memory();
    if (!memory) return memory.error();
    for (const char* sql :
         {"CREATE VIRTUAL TABLE words USING fts5(text, kind UNINDEXED, id UNINDEXED, tokenize = 'unicode61 remove_diacritics 2')", "BEGIN"}) {
        if (const Result<Done> made = memory->run(sql, Doing::writing); !made) return made.error();
    }
    Statement insert(*memory, "INSERT INTO words (text, kind, id) VALUES (?, ?, ?)");
    for (const Text& text : texts) {
        const int code = insert.again().bind({*text.text, std::int64_t{text.where}, text.id}).step();
        if (code != SQLITE_DONE) return memory->error(code, Doing::writing);
    }
    Statement found(*memory, "SELECT kind, id FROM words WHERE words MATCH ? ORDER BY rank, rowid");
    found.bind(match);
    Order order;
    int code = 0;
    while ((code = found.step()) == SQLITE_ROW) {
        const store::Values row = found.columns();
        order.emplace(std::pair(std::get<std::int64_t>(row[0]), std::get<std::int64_t>(row[1])), order.size());
    }
    if (code != SQLITE_DONE) return memory->error(code, Doing::writing);
    return order;
}

template <class T>
std::vector<Hit<T>> near_ones(std::vector<T> items, const std::optional<Lab>& wanted, double within) {
    std::vector<Hit<T>> hits;
    if (!wanted) {
        for (T& item : items) hits.push_back({std::move(item), {}});
        return hits;
    }
    std::vector<Lab> colors;
    colors.reserve(items.size());
    for (const T& item : items) colors.push_back(under_d50(item.lab));
    for (const Near& near : nearest(colors, *wanted, within)) {
        const double sd = difference_sd(*wanted, colors[near.index], items[near.index].lab_covariance);
        hits.push_back({std::move(items[near.index]), Distance{near.de00, sd}});
    }
    return hits;
}

}  // namespace

std::set<std::int64_t> with_all_inside(const std::vector<Part>& parts, std::int64_t root) {
    std::set<std::int64_t> inside{root};
    for (bool grew = true; grew;) {
        grew = false;
        for (const Part& part : parts) grew = (part.parent && inside.contains(*part.parent) && inside.insert(part.id).second) || grew;
    }
    return inside;
}

std::set<std::int64_t> targets_off_record(const std::vector<KeptReading>& readings, const std::vector<KeptPhoto>& photos) {
    std::set<std::string> known;
    for (const KeptPhoto& photo : photos) known.insert(photo.hash);
    std::set<std::int64_t> targets;
    for (const KeptReading& reading : readings) {
        const bool made_into = reading.target && reading.verdict.empty();  // else it was judged against the target
        if (made_into && !reading.photo_hash.empty() && !known.contains(reading.photo_hash)) targets.insert(*reading.target);
    }
    return targets;
}

Result<Found> find(const Workbook& workbook, const Question& question) {
    Result<std::vector<Target>> targets = workbook.targets();
    Result<std::vector<KeptReading>> readings = workbook.readings();
    Result<std::vector<Part>> parts = workbook.parts();
    Result<std::vector<Note>> notes = workbook.notes();
    if (!targets) return targets.error();
    if (!readings) return readings.error();
    if (!parts) return parts.error();
    if (!notes) return notes.error();
    Result<std::vector<Card>> cards = workbook.cards();
    Result<std::vector<Lamp>> lamps = workbook.lamps();
    Result<std::vector<KeptSetup>> setups = workbook.setups();
    if (!cards) return cards.error();
    if (!lamps) return lamps.error();
    if (!setups) return setups.error();

    Order order;
    if (!question.text.empty()) {
        std::vector<Text> texts;
        for (const Target& target : *targets) texts.push_back({kTarget, target.id, &target.name});
        for (const KeptReading& reading : *readings) texts.push_back({kReading, reading.id, &reading.name});
        for (const Part& part : *parts) {
            texts.push_back({kPart, part.id, &part.name});
            if (!part.note.empty()) texts.push_back({kPart, part.id, &part.note});
        }
        for (const Note& note : *notes) texts.push_back({kNote, note.id, &note.text});
        for (const Card& card : *cards) texts.push_back({kCard, card.id, &card.name});
        for (const Lamp& lamp : *lamps) texts.push_back({kLamp, lamp.id, &lamp.name});
        for (const KeptSetup& setup : *setups) texts.push_back({kSetup, setup.id, &setup.name});
        const std::string match = match_of(question.text);
        if (match.empty())
            return Error{Fault::bad_usage, workbook.path().string(), "\"" + question.text + "\"", "holds no word to look for",
                         "type a word, or its beginning"};
        Result<Order> found = search(texts, match);
        if (!found) return found.error();
        order = *std::move(found);
    }
    std::set<std::int64_t> inside, worn;
    if (question.part) {
        inside = with_all_inside(*parts, *question.part);
        for (const Part& part : *parts) {
            if (part.target && inside.contains(part.id)) worn.insert(*part.target);
        }
    }
    const auto keep = [&](auto& items, Where where, auto in_part, bool has_verdict) {
        std::erase_if(items, [&](const auto& item) {
            if (!question.text.empty() && !order.contains({where, item.id})) return true;
            if (item.created < question.since) return true;
            if (!question.verdict.empty() && !has_verdict) return true;
            return question.part && !in_part(item);
        });
        if (question.text.empty()) return;
        std::stable_sort(items.begin(), items.end(), [&](const auto& a, const auto& b) { return order[{where, a.id}] < order[{where, b.id}]; });
    };
    keep(
        *targets, kTarget, [&](const Target& target) { return worn.contains(target.id); }, false);
    keep(
        *readings, kReading, [&](const KeptReading& reading) { return reading.target && worn.contains(*reading.target); }, true);
    keep(
        *parts, kPart, [&](const Part& part) { return inside.contains(part.id); }, false);
    keep(
        *notes, kNote, [&](const Note& note) { return (note.part && inside.contains(*note.part)) || (note.target && worn.contains(*note.target)); },
        false);
    const auto in_none = [](const auto&) { return false; };
    keep(*cards, kCard, in_none, false);
    keep(*lamps, kLamp, in_none, false);
    keep(*setups, kSetup, in_none, false);
    if (!question.verdict.empty()) std::erase_if(*readings, [&](const KeptReading& reading) { return reading.verdict != question.verdict; });
    if (question.near) {  // none of these is a color that was looked for
        parts->clear();
        notes->clear();
        cards->clear();
        lamps->clear();
        setups->clear();
    }
    return Found{near_ones(*std::move(targets), question.near, question.within),
                 near_ones(*std::move(readings), question.near, question.within),
                 *std::move(parts),
                 *std::move(notes),
                 *std::move(cards),
                 *std::move(lamps),
                 *std::move(setups)};
}

}  // namespace sw
