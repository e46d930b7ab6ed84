// What a picture file's first bytes say, before any decoder sees it.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>

#include "color/result.hpp"

namespace sw {

enum class PictureFormat { jpeg, png, tiff, webp, heif, exr, raw };

/// "JPEG", "PNG" ... "camera raw file": for messages.
[[nodiscard]] const char* display_name(PictureFormat);

inline constexpr std::uint64_t kMostPixels = 200'000'000;

/// CIE 1931 xy of red, green, blue, white.
using Chromaticities = std::array<double, 8>;

struct FileHeader {
    PictureFormat format = PictureFormat::jpeg;
    std::uint64_t width = 0, height = 0;  // as stored; 0 where only the decoder finds out (TIFF, HEIF, raw)
    bool several = false;                 // more than one frame
    bool inks = false;                    // CMYK
    // PNG and WebP: parts of the file that are read here
    std::span<const std::uint8_t> exif, profile;  // into the bytes given; profile of WebP only
    bool has_profile = false, says_srgb = false;
    std::optional<Chromaticities> primaries;
    std::optional<double> gamma;  // light = stored ^ gamma
};

/// Reads signature and header. Refuses what is on no list of ours, more than 200 million pixels, sizes that the file's bytes cannot hold, and files
/// whose parts are cut off or (PNG) whose checksums are wrong. Nothing is allocated by what the file says. Untrusted input.
/// Errors: not_a_picture, picture_unsupported. Test: tests/photo/bad_pictures_test.cpp
[[nodiscard]] Result<FileHeader> read_file_header(std::span<const std::uint8_t> bytes, const std::string& file);

/// The size check by itself, for sizes that only the decoder knows. Error: picture_unsupported.
[[nodiscard]] Result<Done> check_size(std::uint64_t width, std::uint64_t height, const std::string& file);

/// The error for a file whose contents do not fit its own header.
[[nodiscard]] Error damaged(const std::string& file, const std::string& why);
/// The error for CMYK pictures without a profile.
[[nodiscard]] Error cmyk(const std::string& file);

}  // namespace sw
