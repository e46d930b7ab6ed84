// From a photo's pixels to the picture as it should look, quickly: rows of encoded sRGB.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <stop_token>
#include <vector>

#include "calibrate/calibration.hpp"

namespace sw {

/// A photo's linear RGB -> encoded sRGB (IEC 61966-2-1), white adapted to D65 (Bradford), clipped to 0..1, in codes of 8 or 16 bits. The plain map's
/// own steps with its curves as tables: within half a code of 8 bits, 4 codes of 16 bits (test: tests/calibrate/calibration_test.cpp, against
/// plain_map). A value, shared by threads.
class PictureMap {
public:
    /// As the picture came.
    PictureMap();
    /// Surfaces as under D50, or as under another light; either way that light's white becomes the screen's.
    /// Where the course of the light is known (LightReport::field_known), it is leveled to what it is at the references.
    explicit PictureMap(const Calibration&, const std::optional<Light>& under = {}, Observer = Observer::degree2);

    /// pixels of 3 values each, the first of them at `from` in the picture; out may not overlap rgb. Without a place: not leveled.
    void convert(const float* rgb, std::size_t pixels, std::uint8_t* out, const std::optional<Point>& from = {}) const;
    void convert(const float* rgb, std::size_t pixels, std::uint16_t* out, const std::optional<Point>& from = {}) const;
    /// The same of one color, exactly: encoded, clipped.
    [[nodiscard]] EncodedRgb color(const Eigen::Vector3d& rgb, const std::optional<Point>& at = {}) const;
    [[nodiscard]] bool levels() const;

private:
    struct Tables;
    std::shared_ptr<const Tables> tables_;
};

/// Rows first..last of a photo through the map, by as many threads as the machine has (8 at most). out: the rows' 3 * width codes each.
void convert_rows(const Photo&, const PictureMap&, int first, int last, std::uint8_t* out);
void convert_rows(const Photo&, const PictureMap&, int first, int last, std::uint16_t* out);

/// A whole picture in 8 bits, interleaved RGB.
struct CorrectedPicture {
    int width = 0, height = 0;
    std::vector<std::uint8_t> rgb;
    bool cancelled = false;
};
[[nodiscard]] CorrectedPicture correct_picture(const Photo&, const Calibration&, std::stop_token stop = {},
                                               const std::function<void(float)>& progress = {});
/// The picture as it came.
[[nodiscard]] CorrectedPicture original_picture(const Photo&);

}  // namespace sw
