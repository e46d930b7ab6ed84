// Answers about paints and pots: for people, and one JSON object for machines.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/mix_requests.hpp"

namespace sw {

/// A paint with what was seen of it.
struct PaintTold {
    KeptPaint paint;
    std::vector<KeptSample> samples;
    std::optional<double> stock;  // now
    std::size_t pots = 0;         // that it is in
};
[[nodiscard]] PaintTold told_of(const MixBook&, const KeptPaint&);
/// verb: empty for a list.
[[nodiscard]] std::string paints_report(const std::vector<PaintTold>&, const std::string& verb, const std::string& workbook);
[[nodiscard]] std::string paint_report(const PaintTold&, const MixBook&);
[[nodiscard]] std::string paints_json(const std::vector<PaintTold>&, const MixBook&);
[[nodiscard]] std::string learned_report(const LearnedShelf&, const MixBook&);
[[nodiscard]] std::string learned_json(const LearnedShelf&, const MixBook&);

[[nodiscard]] std::string suggest_report(const Suggestion&, const MatchGoal&, const MixRequest&, double tolerance);
[[nodiscard]] std::string suggest_json(const Suggestion&, const MatchGoal&, double tolerance);

/// What is in a pot and what happened to it.
struct PotTold {
    KeptPot pot;
    std::string target, batch_of;  // names; empty: none
    std::vector<KeptAddition> additions;
    std::vector<KeptPotReading> readings;
    std::vector<std::pair<std::string, double>> in_it;  // paints and ml, largest first, as far as it is known
    double ml = 0, drops = 0;
    bool unknown = false, lost = false;
};
/// photos: by reading, the photo's file.
[[nodiscard]] std::string pots_report(const std::vector<PotTold>&, const std::string& verb, const std::string& workbook);
[[nodiscard]] std::string pots_json(const std::vector<PotTold>&);
[[nodiscard]] std::string log_report(const PotTold&, const MixBook&, const std::vector<KeptReading>&);
[[nodiscard]] std::string log_json(const PotTold&, const MixBook&, const std::vector<KeptReading>&);
[[nodiscard]] std::string added_report(const KeptAddition&, const PotTold&, const MixBook&, const std::vector<std::string>& notes);
[[nodiscard]] std::string added_json(const KeptAddition&, const PotTold&, const MixBook&);
[[nodiscard]] std::string read_report(const KeptPotReading&, const PotTold&);
[[nodiscard]] std::string read_json(const KeptPotReading&, const PotTold&);
[[nodiscard]] std::string next_report(const NextAdvice&, const LearnedShelf&, const PotTold&, const MatchGoal&, double tolerance);
[[nodiscard]] std::string next_json(const NextAdvice&, const LearnedShelf&);
[[nodiscard]] std::string scale_report(const Batch&, const PaintShelf&, const std::string& what);
[[nodiscard]] std::string scale_json(const Batch&, const PaintShelf&);
/// taken: what was kept of it; empty: nothing.
[[nodiscard]] std::string explain_report(const Explanation&, const LearnedShelf&, const PotTold&, const std::vector<KeptAddition>& taken,
                                         const MixBook&);
[[nodiscard]] std::string explain_json(const Explanation&, const LearnedShelf&, const std::vector<KeptAddition>& taken, const MixBook&);

}  // namespace sw
