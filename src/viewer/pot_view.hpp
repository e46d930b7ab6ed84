// What to put into a pot next, made off the frame, with words and figures ready to be drawn.
#pragma once

#include <memory>
#include <optional>
#include <stop_token>
#include <string>
#include <utility>
#include <vector>

#include "color/result.hpp"
#include "workbook/mix_desk.hpp"

namespace sw::window {

/// One thing that could be added, or to begin with.
struct PotOffer {
    std::vector<std::pair<std::string, int>> drops;  // paint and drops
    std::string words;                               // "4 drops Titanium White and 2 drops Burnt Umber"
    std::string expect;                              // "0.7 (0.2 to 1.4)"
    std::string chance;                              // "99 %"
    std::string after;                               // "44 drops", empty: a recipe to begin with
};
struct PotAdvice {
    std::string key;       // pot_key
    std::string headline;  // what to do
    std::string now;       // as it is: "2.3 (1.6 to 2.8)"; empty: nothing is in it
    std::vector<PotOffer> offers;
    std::vector<std::string> notes;  // what was assumed, what is out of reach, cautions
    std::optional<Error> error;
};

/// Another one whenever the advice may be; empty: no pot.
[[nodiscard]] std::string pot_key(const std::shared_ptr<const MixBook>&, const std::optional<std::int64_t>& pot, std::uint64_t revision);
/// A second or so with a dozen paints. The pot must be in the book.
[[nodiscard]] PotAdvice pot_advice(const MixBook&, std::int64_t pot, const std::stop_token&);

/// "16 drops Titanium White and 2 drops Carbon Black", in the order of their first drop; empty: nothing.
[[nodiscard]] std::string content_words(const MixBook&, std::int64_t pot);
/// The pot's readings that were judged, oldest first.
[[nodiscard]] std::vector<const KeptPotReading*> judged_readings(const MixBook&, std::int64_t pot);

}  // namespace sw::window
