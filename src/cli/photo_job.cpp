#include "cli/photo_job.hpp"

#include "calibrate/flat_field.hpp"

namespace sw {

Error in_file(Error error, const std::string& file) {
    if (error.file.empty()) error.file = file;
    return error;
}

Result<CalibratedPhoto> open_photo(const PhotoRequest& request, Observer observer) {
    auto photo = load_photo(request.file, request.transfer);
    if (!photo) return in_file(photo.error(), request.file);
    if (!request.flat.empty()) {
        const auto board = load_photo(request.flat, request.transfer);
        if (!board) return in_file(board.error(), request.flat);
        const auto field = flat_field(*board);
        if (!field) return in_file(field.error(), request.flat);
        photo = flattened(*std::move(photo), *field);
        if (!photo) return in_file(photo.error(), request.file);
    }
    CalibratedPhoto opened{std::make_unique<const Photo>(*std::move(photo)), {}, request.lit_by};

    const CalibrationOptions options{request.lit_by, observer};
    auto calibration = calibrate(*opened.photo, request.references, options);
    const bool look_without = !calibration && calibration.error().fault == Fault::chart_not_found && !request.chart_asked;
    if (look_without) {
        calibration = calibrate(*opened.photo, References{}, options);
        if (calibration)
            calibration->warnings.insert(calibration->warnings.begin(),
                                         "no 24-patch chart was found; if there is a gray card in the photo, mark it with --gray REGION");
    }
    if (!calibration) return in_file(calibration.error(), request.file);
    opened.calibration = *std::move(calibration);
    return opened;
}

}  // namespace sw
