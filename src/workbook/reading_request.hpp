// How a reading was taken, so that it can be taken again from its row alone.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "calibrate/calibration.hpp"
#include "workbook/workbook.hpp"

namespace sw {

struct ReadingRequest {
    References references;     // cards with what they are worth, not by their names in the workbook
    bool chart_asked = false;  // false: a chart is looked for, but it is no fault if there is none
    Transfer transfer;
    std::optional<Light> lit_by;
    std::string flat_file, flat_hash;  // picture of a plain board; empty: none
    std::string setup, setup_mark;     // name of a set-up and mark_of() its text, in place of references; empty: none
    Light under;                       // for which the color is stated
    Observer observer = Observer::degree2;
    std::optional<Region> chip;  // what it was held against in the same photo
    double tolerance = 2;        // with chip, as is
    bool textured = false;
};

/// A short mark of a text, which changes where the text does.
[[nodiscard]] std::string mark_of(const std::string& text);

/// As JSON. A light that its name does not tell is kept by its spectrum.
[[nodiscard]] std::string to_text(const ReadingRequest&);
/// Untrusted text. Error (workbook_unreadable): what of it cannot be.
[[nodiscard]] Result<ReadingRequest> reading_request_of(const std::string& text);

/// What calibration_json tells of a calibration, as a JSON object: method, references, warnings, leave-one-out.
[[nodiscard]] std::string calibration_text(const Calibration&);
/// The same in lines for people, from what a reading keeps; what cannot be read is left out.
[[nodiscard]] std::vector<std::string> calibration_lines(const std::string& calibration_json);
/// calibration_json of a reading with the request in it; what is no JSON object is left out.
[[nodiscard]] std::string with_request(const std::string& calibration_json, const ReadingRequest&);
/// The request in a reading's calibration_json; nothing where there is none, as in readings of older versions.
[[nodiscard]] std::optional<std::string> request_in(const std::string& calibration_json);

/// What calibration_json tells, as far as it does; untrusted text.
struct CalibrationTold {
    std::string method;  // empty: not said
    std::vector<std::string> references, warnings;
    bool loo_told = false;                    // leave-one-out; without figures there were too few references
    std::optional<double> loo_mean, loo_p95;  // CIEDE2000
    bool again = false;                       // with the request: it can be taken again
};
[[nodiscard]] CalibrationTold calibration_told(const std::string& calibration_json);

/// A reading taken again.
struct TakenAgain {
    Lab lab;
    Eigen::Matrix3d lab_covariance = Eigen::Matrix3d::Zero();
    std::optional<double> de00, ci_low, ci_high;  // where there is a chip
};
/// setups: those of the workbook. flat: where the board's picture is now. Errors: as of loading and calibrating; setup_mismatch where the set-up is
/// gone or another one.
[[nodiscard]] Result<TakenAgain> take_again(const std::string& photo, const std::string& flat, const Region&, const ReadingRequest&,
                                            const std::vector<KeptSetup>& setups);

}  // namespace sw
