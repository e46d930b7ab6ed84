// Answers for people: the answer in the first line, then the figures, then what limits them and what to do.
// Every figure has its ± (one standard deviation) or range (95 %), or says "unknown".
#pragma once

#include <set>
#include <string>
#include <vector>

#include "cli/light_job.hpp"
#include "cli/photo_job.hpp"
#include "cli/request.hpp"
#include "color/metamerism_index.hpp"
#include "match/coat.hpp"
#include "sheet/color_facts.hpp"
#include "sheet/pair_words.hpp"
#include "workbook/workbook.hpp"

namespace sw {

/// A pair under one light, and how far the doubt of the lights reaches; no range: both lights are known.
struct JudgedPair {
    PairUnderLight pair;
    std::optional<PairRange> range;
};

[[nodiscard]] std::string measure_report(const CalibratedPhoto& photo, const std::vector<Reading>& readings);
[[nodiscard]] std::string correct_report(const CorrectRequest& request, const CalibratedPhoto& photo, const std::optional<SavedPicture>& saved);
[[nodiscard]] std::string calibrate_report(const CalibrateRequest& request, const CalibratedPhoto& photo);
[[nodiscard]] std::string cards_report(const std::vector<Card>& cards, const std::string& verb, const std::string& workbook);
[[nodiscard]] std::string setups_report(const std::vector<KeptSetup>& setups, const std::string& verb, const std::string& workbook);
[[nodiscard]] std::string compare_report(const std::vector<CalibratedPhoto>& photos, const Comparison& comparison, bool tolerance_given);
/// to: "the chip", "the swatch".
[[nodiscard]] std::string rank_report(const RankRequest& request, const CalibratedPhoto& photo, const std::vector<Ranked>& ranked,
                                      const std::string& to);
/// notes: what to heed of how it was made.
[[nodiscard]] std::string coat_report(const std::vector<CalibratedPhoto>& photos, const CoatChange& change, const std::vector<std::string>& notes);
/// words: of map_words().
[[nodiscard]] std::string map_report(const MapRequest& request, const CalibratedPhoto& photo, const std::vector<std::string>& words);
[[nodiscard]] std::string spectra_report(const SpectraRequest& request, const std::vector<JudgedPair>& pairs);
[[nodiscard]] std::string light_report(const LightFigures& figures);
[[nodiscard]] std::string light_list_report(const std::vector<LightFigures>& lights, const std::vector<OwnFigures>& own);
[[nodiscard]] std::string color_report(const ColorRequest& request, const ColorFacts& facts);
/// The figures beside a plot.
[[nodiscard]] std::vector<PlotFigure> light_plot_figures(const LightFigures& figures);
[[nodiscard]] std::vector<PlotFigure> color_plot_figures(const ColorRequest& request, const ColorFacts& facts);
/// What must be known to read the figures of a color: exactness, adaptation, neutrality, the doubt of its light.
[[nodiscard]] std::vector<std::string> color_notes(const ColorRequest& request, const ColorFacts& facts);
/// `verb`: "" for a list, else "Kept" or "Removed".
/// off_record: ids of those whose photo is not in the workbook. distances: to a color that was asked for; none, or one for each.
[[nodiscard]] std::string targets_report(const std::vector<Target>& targets, const std::set<std::int64_t>& off_record, const std::string& verb,
                                         const std::string& workbook, const std::vector<Distance>& distances = {});

/// The table of readings alone, and of the lights alone.
[[nodiscard]] std::string readings_table(const std::vector<Reading>& readings);
[[nodiscard]] std::string lights_table(const std::vector<PairUnder>& lights);

[[nodiscard]] std::string screen_report(const ScreenRequest&, const ScreenReading&, const std::optional<Target>& kept);

}  // namespace sw
