// Answers for machines: one JSON object each, as text. Always valid UTF-8; what is not known or not finite is null.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "cli/report.hpp"
#include "workbook/workbook.hpp"

namespace sw {

[[nodiscard]] std::string measure_json(const CalibratedPhoto& photo, const std::vector<Reading>& readings);
/// One photo for each pair; the first is the one the difference is of.
/// ladder: the file the light ladder was drawn into, empty if none.
[[nodiscard]] std::string compare_json(const std::vector<CalibratedPhoto>& photos, const Comparison& comparison, const std::string& ladder = "");
/// saved: nothing where no picture was asked for.
[[nodiscard]] std::string correct_json(const CorrectRequest& request, const CalibratedPhoto& photo, const std::optional<SavedPicture>& saved);
[[nodiscard]] std::string rank_json(const RankRequest& request, const CalibratedPhoto& photo, const std::vector<Ranked>& ranked,
                                    const std::string& to);
[[nodiscard]] std::string coat_json(const std::vector<CalibratedPhoto>& photos, const CoatChange& change, const std::vector<std::string>& notes);
/// target, light: what the part was held against, and under which light; words: of map_words().
[[nodiscard]] std::string map_json(const MapRequest& request, const CalibratedPhoto& photo, const DifferenceMap& map, const std::string& target,
                                   const std::string& light, const std::vector<std::string>& words);
[[nodiscard]] std::string spectra_json(const SpectraRequest& request, const std::vector<JudgedPair>& pairs);
/// plot: the file it was drawn into, empty if none.
[[nodiscard]] std::string light_json(const LightFigures& figures, const std::string& plot);
[[nodiscard]] std::string light_list_json(const std::vector<LightFigures>& lights, const std::vector<OwnFigures>& own);
[[nodiscard]] std::string color_json(const ColorRequest& request, const ColorFacts& facts);
/// workbook and set-up are told where it was kept.
[[nodiscard]] std::string calibrate_json(const CalibrateRequest& request, const CalibratedPhoto& photo);
[[nodiscard]] std::string cards_json(const std::vector<Card>& cards);
[[nodiscard]] std::string setups_json(const std::vector<KeptSetup>& setups);
/// off_record: ids of those whose photo is not in the workbook. distances: to a color that was asked for; none, or one for each.
[[nodiscard]] std::string targets_json(const std::vector<Target>& targets, const std::set<std::int64_t>& off_record,
                                       const std::vector<Distance>& distances = {});

[[nodiscard]] std::string screen_json(const ScreenRequest&, const std::vector<Photo>& frames, const ScreenReading&,
                                      const std::optional<Target>& kept);

}  // namespace sw
