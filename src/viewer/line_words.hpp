// What the readers of command lines and scripts share: words, numbers, faults of a line.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "color/result.hpp"

namespace sw::window {

template <class... F>
struct Overload : F... {
    using F::operator()...;
};
template <class... F>
Overload(F...) -> Overload<F...>;

[[nodiscard]] Error bad_line(std::string cause, std::string remedy, std::string place = {});
/// In quotation marks, so that words_of gives it back as one word.
[[nodiscard]] std::string quoted(const std::string& text);
/// Words of a line; a quoted part is one word, with \" \\ \n in it. Error: bad_usage, a mark that is not closed.
[[nodiscard]] Result<std::vector<std::string>> words_of(std::string_view line);
/// Nothing for what is not, as a whole, a finite number.
[[nodiscard]] std::optional<double> number(std::string_view text);
/// `count` numbers with commas between.
[[nodiscard]] std::optional<std::vector<double>> numbers(std::string_view text, std::size_t count);

}  // namespace sw::window
