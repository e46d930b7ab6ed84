// The first half of every job on a photo: load it and calibrate it.
#pragma once

#include <memory>

#include "cli/arguments.hpp"
#include "workbook/reading_request.hpp"

namespace sw {

struct CalibratedPhoto {
    std::unique_ptr<const Photo> photo;  // stays where it is while the struct moves
    Calibration calibration;
    std::optional<Light> lit_by;
    ReadingRequest request;  // how it was opened, to be kept with what is read from it; `under`, `observer` and `chip` are the reader's
};

/// Errors carry the file's name. A chart that nobody asked for and that is not there becomes a warning.
[[nodiscard]] Result<CalibratedPhoto> open_photo(const PhotoRequest& request, Observer observer);

/// A region's color as it is kept, with all that is needed to take it again.
[[nodiscard]] KeptReading kept_reading(const CalibratedPhoto& photo, const Reading& reading, const Light& under);

/// Puts the photo's name into an error that has none.
[[nodiscard]] Error in_file(Error error, const std::string& file);

}  // namespace sw
