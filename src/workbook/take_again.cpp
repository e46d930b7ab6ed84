// A photo read again as it was read before.
#include "calibrate/flat_field.hpp"
#include "calibrate/setup.hpp"
#include "calibrate/setup_text.hpp"
#include "match/compare.hpp"
#include "workbook/reading_request.hpp"

namespace sw {
namespace {

Result<Photo> evenly_lit(Photo photo, const std::string& flat, const Transfer& transfer) {
    if (flat.empty()) return photo;
    const auto board = load_photo(flat, transfer);
    if (!board) return board.error();
    const auto field = flat_field(*board);
    if (!field) return field.error();
    return flattened(std::move(photo), *field);
}

Result<Calibration> by_setup(const Photo& photo, const ReadingRequest& request, const std::vector<KeptSetup>& setups) {
    for (const KeptSetup& kept : setups) {
        if (mark_of(kept.json) != request.setup_mark) continue;  // whatever it is called now
        const auto setup = setup_of_text(kept.json);
        if (!setup) return setup.error();
        return calibrate_by(photo, *setup, kept.name, request.lit_by);
    }
    return Error{Fault::setup_mismatch, {}, "set-up " + request.setup, "is no longer in the workbook as it was", "read the photo again"};
}

Result<Calibration> as_before(const Photo& photo, const ReadingRequest& request, const std::vector<KeptSetup>& setups) {
    if (!request.setup.empty()) return by_setup(photo, request, setups);
    const CalibrationOptions options{request.lit_by, request.observer};
    auto calibration = calibrate(photo, request.references, options);
    if (!calibration && calibration.error().fault == Fault::chart_not_found && !request.chart_asked) return calibrate(photo, References{}, options);
    return calibration;
}

}  // namespace

Result<TakenAgain> take_again(const std::string& file, const std::string& flat, const Region& region, const ReadingRequest& request,
                              const std::vector<KeptSetup>& setups) {
    auto loaded = load_photo(file, request.transfer);
    if (!loaded) return loaded.error();
    const auto photo = evenly_lit(*std::move(loaded), flat, request.transfer);
    if (!photo) return photo.error();
    const auto calibration = as_before(*photo, request, setups);
    if (!calibration) return calibration.error();
    const auto reading = read_region(*photo, *calibration, "reading", region, request.under, request.observer);
    if (!reading) return reading.error();
    TakenAgain now{reading->lab, reading->lab_covariance, {}, {}, {}};
    if (!request.chip) return now;
    CompareOptions options;
    options.tolerance = request.tolerance;
    options.textured = request.textured;
    options.observer = request.observer;
    const auto compared = compare({PairInPhoto{&*photo, &*calibration, *request.chip, region, request.lit_by}}, options);
    if (!compared) return compared.error();
    now.de00 = compared->difference.de00;
    now.ci_low = compared->difference.ci95.low;
    now.ci_high = compared->difference.ci95.high;
    return now;
}

}  // namespace sw
