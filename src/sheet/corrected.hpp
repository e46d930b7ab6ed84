// The photo as it should look, as a file for others.
#pragma once

#include <functional>
#include <optional>
#include <stop_token>
#include <string>

#include "calibrate/calibration.hpp"

namespace sw {

struct CorrectedOptions {
    std::optional<Light> under;  // the light under which surfaces are shown; nothing: D50. Its white becomes the screen's.
    Observer observer = Observer::degree2;
    bool strip = false;       // below the picture the references, as the picture shows them beside their known colors
    std::optional<int> bits;  // 8 or 16 a channel; nothing: JPEG 8, TIFF 16, PNG as the photo
};

struct SavedPicture {
    int width = 0, height = 0;  // with the strip
    int bits = 8;
    std::string format;  // "JPEG", "PNG", "TIFF"
};

/// Whether such a file could be written, to be asked before long work: bad_usage where the ending is none of .jpg .jpeg .png .tif .tiff (any case),
/// the bits do not fit the format, or path is the photo itself.
[[nodiscard]] Result<Done> can_save_corrected(const std::string& path, const std::string& photo_path, const CorrectedOptions& = {});

/// Writes the photo through the calibration's plain map as sRGB (IEC 61966-2-1), profile embedded, upright: JPEG (quality 95, colors in full
/// resolution), PNG or TIFF. Of the photo's metadata nothing is kept: no place, no serial number, no owner; the file says that Swatchwright made it
/// and from what. progress: 0..1, may be empty. Errors: those of can_save_corrected and write_file, cancelled; what is on disk is whole or as it was.
/// Test: tests/sheet/corrected_test.cpp
[[nodiscard]] Result<SavedPicture> save_corrected(const Photo&, const Calibration&, const std::string& path, const CorrectedOptions& = {},
                                                  std::stop_token stop = {}, const std::function<void(float)>& progress = {});

/// What a surface of known color (Lab, D50, 2 degrees) looks like under another light, relative to its white: as surfaces of that color usually do.
/// Within 1 ΔE00 on average for the chart's patches (the test prints it), some 10 ms.
[[nodiscard]] Lab known_under(const Lab& color, const Light& under, Observer);

}  // namespace sw
