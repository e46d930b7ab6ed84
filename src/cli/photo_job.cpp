#include "cli/photo_job.hpp"

#include "calibrate/flat_field.hpp"
#include "calibrate/setup.hpp"
#include "calibrate/setup_text.hpp"
#include "workbook/workbook.hpp"

namespace sw {

Error in_file(Error error, const std::string& file) {
    if (error.file.empty()) error.file = file;
    return error;
}

namespace {

/// Opens it to look up a card or a set-up.
Result<Workbook> workbook_of(const PhotoRequest& request) {
    auto workbook = Workbook::open(request.workbook, false);
    if (!workbook) return in_file(workbook.error(), request.workbook.string());
    return workbook;
}

Result<References> with_cards(const PhotoRequest& request) {
    References references = request.references;
    if (request.cards.empty()) return references;
    const auto workbook = workbook_of(request);
    if (!workbook) return workbook.error();
    for (const NamedRegion& place : request.cards) {
        const auto card = workbook->card(place.name);
        if (!card) return in_file(card.error(), request.workbook.string());
        auto reference = card_reference(*card, place.region);
        if (!reference) return in_file(reference.error(), request.workbook.string());
        references.cards.push_back(*std::move(reference));
    }
    return references;
}

Result<Setup> setup_named(const PhotoRequest& request, std::string& mark) {
    const auto workbook = workbook_of(request);
    if (!workbook) return workbook.error();
    const auto kept = workbook->setup(request.setup);
    if (!kept) return in_file(kept.error(), request.workbook.string());
    mark = mark_of(kept->json);
    auto setup = setup_of_text(kept->json);
    if (setup) return setup;
    Error error = setup.error();
    error.place = "set-up " + kept->name;
    return in_file(error, request.workbook.string());
}

}  // namespace

Result<CalibratedPhoto> open_photo(const PhotoRequest& request, Observer observer) {
    const auto references = with_cards(request);  // before the picture: a name that is not there is told at once
    if (!references) return references.error();
    std::optional<Setup> setup;
    ReadingRequest how;
    how.references = *references;
    how.chart_asked = request.chart_asked;
    how.transfer = request.transfer;
    how.lit_by = request.lit_by;
    how.flat_file = request.flat;
    how.setup = request.setup;
    how.observer = observer;
    if (!request.setup.empty()) {
        auto named = setup_named(request, how.setup_mark);
        if (!named) return named.error();
        setup = *std::move(named);
    }
    auto photo = load_photo(request.file, request.transfer);
    if (!photo) return in_file(photo.error(), request.file);
    if (!request.flat.empty()) {
        const auto board = load_photo(request.flat, request.transfer);
        if (!board) return in_file(board.error(), request.flat);
        how.flat_hash = board->content_hash;
        const auto field = flat_field(*board);
        if (!field) return in_file(field.error(), request.flat);
        photo = flattened(*std::move(photo), *field);
        if (!photo) return in_file(photo.error(), request.file);
    }
    CalibratedPhoto opened{std::make_unique<const Photo>(*std::move(photo)), {}, request.lit_by, std::move(how)};

    if (setup) {
        auto borrowed = calibrate_by(*opened.photo, *setup, request.setup, request.lit_by);
        if (!borrowed) return in_file(borrowed.error(), request.file);
        opened.calibration = *std::move(borrowed);
        opened.lit_by = setup->evidence.setup.lit_by;
        return opened;
    }
    const CalibrationOptions options{request.lit_by, observer};
    auto calibration = calibrate(*opened.photo, *references, options);
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

KeptReading kept_reading(const CalibratedPhoto& photo, const Reading& reading, const Light& under) {
    ReadingRequest request = photo.request;
    request.under = under;
    request.observer = reading.observer;
    KeptReading kept;
    kept.name = reading.name;
    kept.photo_file = photo.photo->path;
    kept.photo_hash = photo.photo->content_hash;
    kept.region = to_text(reading.region);
    kept.calibration_json = with_request(calibration_text(photo.calibration), request);
    kept.lab = reading.lab;
    kept.lab_covariance = reading.lab_covariance;
    kept.light = reading.light;
    return kept;
}

}  // namespace sw
