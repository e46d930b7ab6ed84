#include "workbook/mix_records.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <sstream>

namespace sw {

bool operator==(const CoatLaid& one, const CoatLaid& two) {
    const auto figures = [](const std::optional<Lab>& lab) { return lab ? std::array{lab->L, lab->a, lab->b} : std::array{0.0, 0.0, 0.0}; };
    return one.film_um == two.film_um && one.film_cv == two.film_cv && one.under.has_value() == two.under.has_value() &&
           figures(one.under) == figures(two.under) && one.coat == two.coat;
}

std::string to_word(Finish finish) { return finish == Finish::matte ? "matte" : finish == Finish::satin ? "satin" : "gloss"; }

std::optional<Finish> finish(const std::string& word) {
    for (const Finish known : {Finish::matte, Finish::satin, Finish::gloss}) {
        if (word == to_word(known)) return known;
    }
    return std::nullopt;
}

std::string to_word(AdditionKind kind) { return kind == AdditionKind::paint ? "paint" : kind == AdditionKind::unknown ? "unknown" : "taken"; }

std::optional<AdditionKind> addition_kind(const std::string& word) {
    for (const AdditionKind known : {AdditionKind::paint, AdditionKind::unknown, AdditionKind::taken}) {
        if (word == to_word(known)) return known;
    }
    return std::nullopt;
}

std::vector<std::string> pigments_of(const std::string& text) {
    std::istringstream words(text);
    std::vector<std::string> names;
    for (std::string name; words >> name;) names.push_back(name);
    return names;
}

std::optional<std::int64_t> last_put_in(const std::vector<KeptAddition>& additions) {
    const KeptAddition* last = nullptr;
    for (const KeptAddition& one : additions) {
        if (!one.explains && (last == nullptr || one.number > last->number)) last = &one;
    }
    return last == nullptr ? std::nullopt : std::optional(last->id);
}

std::vector<KeptAddition> additions_of(const std::vector<KeptAddition>& all, std::int64_t pot) {
    std::vector<KeptAddition> mine;
    std::copy_if(all.begin(), all.end(), std::back_inserter(mine), [&](const KeptAddition& one) { return one.pot == pot; });
    std::map<std::int64_t, std::int64_t> numbers;
    for (const KeptAddition& one : mine) numbers.emplace(one.id, one.number);
    const auto stands_at = [&](const KeptAddition& one) {
        const auto unknown = one.explains ? numbers.find(*one.explains) : numbers.end();
        return std::pair(unknown == numbers.end() ? one.number : unknown->second, one.number);
    };
    std::vector<std::pair<std::pair<std::int64_t, std::int64_t>, std::size_t>> order;
    for (std::size_t i = 0; i < mine.size(); ++i) order.emplace_back(stands_at(mine[i]), i);
    std::sort(order.begin(), order.end());
    std::vector<KeptAddition> sorted;
    for (const auto& [place, i] : order) sorted.push_back(mine[i]);
    return sorted;
}

}  // namespace sw
