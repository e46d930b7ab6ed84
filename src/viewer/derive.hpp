// From the work to its results, in stages: photo, calibration, readings and match, corrected picture. Runs off the frame.
#pragma once

#include <functional>
#include <stop_token>
#include <variant>

#include "match/difference_map.hpp"
#include "viewer/state.hpp"
#include "viewer/worker.hpp"

namespace sw::window {

/// What a stage depends on, as text: equal keys, equal results.
[[nodiscard]] std::string photo_key(const Work&);
[[nodiscard]] std::string calibration_key(const Work&);
[[nodiscard]] std::string match_key(const Work&);

struct PhotoUpdate {
    std::string key;
    Result<std::shared_ptr<const Photo>> photo;
    std::shared_ptr<const CorrectedPicture> original;
    std::shared_ptr<const Preview> overview;
};

/// Halved until its longer side is at most 2048, a screen's.
[[nodiscard]] Preview overview_of(const CorrectedPicture&);

struct CalibrationUpdate {
    std::string key;
    Result<std::shared_ptr<const Calibration>> calibration;
};
struct MatchUpdate {
    std::string key;
    std::optional<Reading> chip, swatch;
    std::optional<Comparison> comparison;
    std::optional<Error> error;
};
struct CorrectedUpdate {
    std::string key;  // a calibration key
    std::shared_ptr<const CorrectedPicture> picture;
};
using Update = std::variant<PhotoUpdate, CalibrationUpdate, MatchUpdate, CorrectedUpdate>;

/// Makes what `have` lacks or holds for another key, and hands each stage's result to `post`. Stops at the first stage that fails or when asked. own:
/// the workbook's lamps.
void derive(const Work& work, const Results& have, std::stop_token stop, const Report& report, const std::function<void(Update)>& post,
            const OwnLights& own = {});

/// The swatch's region place by place, against the chip or else a target of the workbook. Not part of the stages: made when it is asked for.
struct SurfaceMap {
    std::string key;  // map_key
    std::shared_ptr<const DifferenceMap> map;
    std::vector<std::string> words;  // a sentence each
    std::optional<Error> error;
};
/// Empty where there is nothing to map: no swatch, or neither chip nor target.
[[nodiscard]] std::string map_key(const Work&, const Target* target);
/// results: with photo and calibration, and for a chip the comparison, all of this work.
[[nodiscard]] SurfaceMap surface_map(const Work& work, const Results& results, const std::optional<Target>& target, const OwnLights& own = {});

/// True when `have` holds everything for this work (errors included).
[[nodiscard]] bool up_to_date(const Work& work, const Results& have);

/// Puts an update into the results. The caller has checked that its key is the wanted one.
void put(Results& results, Update update);

/// Reads a light's CSV file; at most 4 MB.
[[nodiscard]] Result<std::string> read_text_file(const std::string& path);

}  // namespace sw::window
