// A picture, upright and in linear light.
#pragma once

#include <array>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <stop_token>
#include <string>
#include <vector>

#include "color/result.hpp"

namespace sw {

/// How an untagged picture's values are encoded.
enum class TransferKind { automatic, srgb, linear, bt1886, gamma };
struct Transfer {
    TransferKind kind = TransferKind::automatic;
    double gamma = 2.2;  // for TransferKind::gamma, 0.5..4
};
/// `auto|srgb|linear|bt1886|gamma:G`. Error: bad_usage.
[[nodiscard]] Result<Transfer> parse_transfer(const std::string& text);

/// The decoded picture. rgb is interleaved, row by row from the top left, linear light on the primaries of IEC 61966-2-1 (unbounded: colors
/// of a wider profile go negative or above 1), 1 = the encoding's white. clipped marks pixels of which a channel stood at the encoding's top.
struct Photo {
    std::string path;                   // as given
    std::string content_hash;           // "sha1:..." of the file's bytes
    int width = 0, height = 0;          // upright
    std::vector<float> rgb;             // 3 * width * height
    std::vector<std::uint8_t> clipped;  // width * height, 0 or 1
    std::string encoding;               // in words: "sRGB (no profile in the file)", "profile: Display P3", "linear, as asked"
    bool untagged = false;              // no profile, nothing asked
    std::vector<std::uint8_t> profile;  // the ICC profile the file holds, if it was used; else empty, and `transfer` says how it was decoded
    Transfer transfer;                  // as asked
    int channels = 3;                   // colors stored: 3 RGB, 1 gray
    /// Linear sRGB -> linear RGB on the file's own primaries, row by row: where the camera's curve acted. Identity unless a matrix profile says
    /// otherwise.
    std::array<double, 9> native_from_srgb{1, 0, 0, 0, 1, 0, 0, 0, 1};
    bool linear = false;             // stored linear (profile says so or asked), thus no camera rendering
    int bits = 8;                    // per channel as stored
    int orientation = 1;             // EXIF 1..8 as stored; already undone
    std::string camera, taken;       // EXIF make+model, time; empty if unknown
    std::vector<std::string> notes;  // things the user should know, in plain words

    [[nodiscard]] const float* pixel(int x, int y) const {
        return &rgb[3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x))];
    }
};

/// Loads a picture: JPEG, PNG, TIFF (more in later versions; the list is explicit), 8/16-bit or float, gray widened, alpha ignored with a
/// note, palette expanded; EXIF orientation undone; embedded ICC through lcms2 in float. CMYK, > 200 MP, several images where only one is
/// meant (first one taken with a note), NaN/Inf (taken as 0 with a note): as the tests say. progress: 0..1, may be empty.
/// Errors: file_missing, not_a_picture, picture_unsupported, profile_broken, cancelled. Untrusted input; never crashes.
[[nodiscard]] Result<Photo> load_photo(const std::filesystem::path& path, const Transfer& transfer = {}, std::stop_token stop = {},
                                       const std::function<void(float)>& progress = {});

}  // namespace sw
