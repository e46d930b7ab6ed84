// From the work to its results, in stages: photo, calibration, readings and match, corrected picture. Runs off the frame.
#pragma once

#include <functional>
#include <stop_token>
#include <variant>

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
};
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

/// Makes what `have` lacks or holds for another key, and hands each stage's result to `post`. Stops at the first stage that fails or when asked.
void derive(const Work& work, const Results& have, std::stop_token stop, const Report& report, const std::function<void(Update)>& post);

/// True when `have` holds everything for this work (errors included).
[[nodiscard]] bool up_to_date(const Work& work, const Results& have);

/// Puts an update into the results. The caller has checked that its key is the wanted one.
void put(Results& results, Update update);

/// Reads a light's CSV file; at most 4 MB.
[[nodiscard]] Result<std::string> read_text_file(const std::string& path);

}  // namespace sw::window
