// A picture, upright and in linear light.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <stop_token>
#include <string>
#include <vector>

#include "color/result.hpp"
#include "photo/pixels.hpp"

namespace sw {

/// How an untagged picture's values are encoded.
enum class TransferKind { automatic, srgb, linear, bt1886, gamma };
struct Transfer {
    TransferKind kind = TransferKind::automatic;
    double gamma = 2.2;  // for TransferKind::gamma, 0.5..4
};
/// `auto|srgb|linear|bt1886|gamma:G`. Error: bad_usage.
[[nodiscard]] Result<Transfer> parse_transfer(const std::string& text);

/// How the stored values stand to light, and who said so.
enum class Encoding { srgb, profile, linear, bt1886, gamma };
enum class DecidedBy { nobody, file, user };  // nobody: IEC 61966-2-1 assumed

/// How the picture was taken, as far as the file says; untrusted, hence texts without control characters and numbers within reason. What tells
/// one camera or one place from another of its kind (serial numbers, location, owner) is not read.
struct Shot {
    std::string make, model, lens, taken;  // taken: "2026:05:04 10:11:12"
    std::string white_balance;             // "auto", "set by hand"; empty if unknown
    std::optional<double> iso, exposure_s, f_number, focal_mm;
};

/// What a camera raw file says about its sensor.
struct SensorColor {
    /// XYZ under D65 -> the sensor's linear RGB, row by row, any scale: the maker's (or the file's) general matrix, an observation and no truth.
    std::optional<std::array<double, 9>> from_xyz_d65;
    /// Sensor RGB of a neutral in the camera's own opinion, green = 1. Not applied to the picture.
    std::optional<std::array<double, 3>> neutral_as_shot;
};

/// What the codes of an 8-bit picture mean: a curve for each channel, then, of profiles with other primaries, a matrix (row by row) to those of
/// IEC 61966-2-1.
struct CodeTable {
    std::array<std::array<float, 256>, 3> light{};
    std::optional<std::array<float, 9>> to_srgb;

    [[nodiscard]] std::array<float, 3> at(const std::uint8_t* code) const {
        const std::array<float, 3> v{light[0][code[0]], light[1][code[1]], light[2][code[2]]};
        if (!to_srgb) return v;
        const std::array<float, 9>& m = *to_srgb;
        return {m[0] * v[0] + m[1] * v[1] + m[2] * v[2], m[3] * v[0] + m[4] * v[1] + m[5] * v[2], m[6] * v[0] + m[7] * v[1] + m[8] * v[2]};
    }
};

/// The decoded picture. Its pixels, row by row from the top left, are linear light on the primaries of IEC 61966-2-1 (unbounded: colors of a wider
/// profile go negative or above 1), 1 = the encoding's white; clipped are those of which a channel stood at the encoding's top. They are kept in one
/// of two forms: light (rgb and clipped), or the codes of an 8-bit picture, a quarter as large, which become light where they are looked at.
struct Photo {
    std::string path;              // as given
    std::string content_hash;      // "sha1:..." of the file's bytes
    int width = 0, height = 0;     // upright
    Pixels<float> rgb;             // 3 * width * height, or empty
    Pixels<std::uint8_t> clipped;  // width * height, 0 or 1; or empty
    Pixels<std::uint8_t> codes;    // 3 * width * height, as stored, with `table`; or empty
    std::shared_ptr<const CodeTable> table;
    std::string encoding;               // in words: "sRGB (no profile in the file)", "profile: Display P3", "linear, as asked"
    bool untagged = false;              // no profile, nothing asked
    std::vector<std::uint8_t> profile;  // the ICC profile the file holds, if it was used; else empty, and `transfer` says how it was decoded
    Transfer transfer;                  // as asked
    int channels = 3;                   // colors stored: 3 RGB, 1 gray
    /// Linear sRGB -> linear RGB on the file's own primaries, row by row: where the camera's curve acted. Identity unless a matrix profile says
    /// otherwise.
    std::array<double, 9> native_from_srgb{1, 0, 0, 0, 1, 0, 0, 0, 1};
    bool evened = false;                // uneven light divided out (calibrate/flat_field.hpp)
    bool linear = false;                // stored linear (profile says so or asked), thus no camera rendering
    int bits = 8;                       // per channel as stored
    int orientation = 1;                // EXIF 1..8 as stored; already undone
    std::string camera, taken;          // EXIF make+model, time; empty if unknown
    std::vector<std::string> notes;     // things the user should know, in plain words
    Encoding encoded = Encoding::srgb;  // `encoding` is this in words
    DecidedBy encoding_by = DecidedBy::nobody;
    Shot shot;
    /// Set for camera raw files: rgb is then the sensor's own, not balanced (neutrals look green) and on no standard primaries.
    std::optional<SensorColor> sensor;

    [[nodiscard]] std::array<float, 3> pixel(int x, int y) const {
        const std::size_t at = 3 * index(x, y);
        if (table) return table->at(&codes[at]);
        return {rgb[at], rgb[at + 1], rgb[at + 2]};
    }
    [[nodiscard]] bool clipped_at(int x, int y) const {
        const std::size_t at = index(x, y);
        return table ? std::max({codes[3 * at], codes[3 * at + 1], codes[3 * at + 2]}) >= kTopCode : clipped[at] != 0;
    }
    /// Light of row y, 3 * width values: where it is kept, or else what is put into `room` (resized).
    [[nodiscard]] const float* row(int y, std::vector<float>& room) const;

    static constexpr std::uint8_t kTopCode = 254;  // JPEG may leave one below 255

private:
    [[nodiscard]] std::size_t index(int x, int y) const {
        return static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x);
    }
};

/// The same picture with its pixels kept as light, to be changed in place.
[[nodiscard]] Photo as_light(Photo);

/// Loads a picture, told by its content and never by its name: JPEG, PNG, TIFF, WebP, HEIF (HEIC, AVIF), OpenEXR, camera raw; 8 or 16 bits, half or
/// float; gray widened, palette expanded, CMYK through its profile; orientation undone (EXIF's, or HEIF's own where the file has that).
///   colors     embedded ICC through lcms2 in float; else what the container says (OpenEXR and PNG primaries, PNG gamma, HEIF code points); else
///              IEC 61966-2-1, said so. OpenEXR and camera raw are linear.
///   raw        linear, neither balanced nor turned to standard primaries, interpolated bilinearly (no invented edges), 1 = the sensor's top
///   alpha      ignored with a note: colors are those of the paint, not of a blend; undone where the file stores them multiplied
///   clipped    a channel at the encoding's top; never in OpenEXR, which has none: a note where many pixels share the largest value
///   refused    CMYK without a profile, Lab, > 200 million pixels, HDR films' curves (PQ, HLG), volumes, deep pictures
/// Several images: the first or main one, with a note. NaN/Inf: 0 with a note. progress: 0..1, may be empty; HEIF cannot be stopped in the middle.
/// Memory: 3 bytes a pixel for 8-bit colors without a profile or with one of curves and a matrix, else 13; the file itself; and for WebP 4, HEIF 5,
/// raw 10 bytes a pixel more.
/// Errors: file_missing, not_a_picture, picture_unsupported, profile_broken, cancelled. Untrusted input; never crashes.
/// Test: tests/photo/*
[[nodiscard]] Result<Photo> load_photo(const std::filesystem::path& path, const Transfer& transfer = {}, std::stop_token stop = {},
                                       const std::function<void(float)>& progress = {});

/// Loads what the formats need ahead of the first photo, some 0.2 s; any thread. Without it the first photo does.
void load_picture_formats();

/// Photo::content_hash of a file, whatever it holds. Errors: file_missing, not_a_picture (a folder, empty), picture_unsupported (above 4 gigabytes).
[[nodiscard]] Result<std::string> file_hash(const std::filesystem::path& path);

}  // namespace sw
