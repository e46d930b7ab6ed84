// Figures and texts as people read them. All wording that is used in more than one place stands here.
#pragma once

#include <array>
#include <string>
#include <string_view>

#include "viewer/state.hpp"

namespace sw::window {

/// One decimal with a true minus sign, no "−0.0"; "unknown" for what is not finite.
[[nodiscard]] std::string one_decimal(double value);
/// The same with a sign in front, for differences.
[[nodiscard]] std::string signed_decimal(double value);
/// "± 0.4", or "± unknown".
[[nodiscard]] std::string plus_minus(double sd);
/// With the minus sign of the screen's other figures.
[[nodiscard]] std::string true_minus(std::string figure);
/// "0.9 to 2.9", as everywhere
[[nodiscard]] std::string range(const Interval&);
/// As few digits as give the number back; for scripts and fields.
[[nodiscard]] std::string shortest(double value);
[[nodiscard]] std::string file_name(const std::string& path);
/// Symbol before the word, so that meaning hangs on neither color nor symbol alone.
[[nodiscard]] std::string marked_word(Verdict);
/// The same of a verdict as the workbook keeps it; as it is where it is none.
[[nodiscard]] std::string marked_verdict(const std::string& word);
[[nodiscard]] std::string part_mark(PartStatus);
[[nodiscard]] std::string title(Mark, std::size_t index = 0);  // "Gray card", "Gray card 2"
[[nodiscard]] std::string transfer_text(const Transfer&);
/// Two lines of an error: what is wrong, what to do.
[[nodiscard]] std::string cause_of(const Error&);
[[nodiscard]] std::string first_capital(std::string text);

/// The verdict as the window shows it, line by line; empty lines are left out. The command prints the same figures and words.
struct VerdictWords {
    std::string figure, range;  // "1.9", "1.4 to 2.5"
    std::string verdict;        // "✗ outside 1.5"
    std::string direction;      // "Swatch: slightly darker"
    std::string steps;          // "ΔL* -1.2 ± 0.3  ΔC* ..."
    std::string reaches, doubt, advice, beside;
};
[[nodiscard]] VerdictWords verdict_words(const Difference&);

/// The state of a step of the work path, in one line; done tells whether it is.
struct StepState {
    bool done = false, trouble = false;
    std::string line;
    std::string mark{};  // in place of the check mark of what is done: a verdict is not always a good one
};
inline constexpr std::array<const char*, 5> kStepTitles{"Photo", "White", "Samples", "Match", "Keep"};
[[nodiscard]] StepState step_state(int step, const Work&, const Results&, const Shelf&);
/// The step that comes next, 1..5.
[[nodiscard]] int next_step(const Work&, const Results&);
/// The tool that the next step of the work needs, if it is a marking tool.
[[nodiscard]] Mark tool_for_next_step(const Work&, const Results&);
/// What to do now, one line.
[[nodiscard]] std::string next_hint(const Work&, const Results&, const View&);

}  // namespace sw::window
