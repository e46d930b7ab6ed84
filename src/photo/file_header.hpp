// What a picture file's first bytes say, before any decoder sees it.
#pragma once

#include <cstdint>
#include <span>
#include <string>

#include "color/result.hpp"

namespace sw {

enum class PictureFormat { jpeg, png, tiff };

/// "jpeg", "png", "tiff": the decoder's names.
[[nodiscard]] const char* decoder_name(PictureFormat);
/// "JPEG", "PNG", "TIFF"
[[nodiscard]] const char* display_name(PictureFormat);

inline constexpr std::uint64_t kMostPixels = 200'000'000;

struct FileHeader {
    PictureFormat format = PictureFormat::jpeg;
    std::uint64_t width = 0, height = 0;  // as stored; 0 for TIFF, where the decoder's directory is used
    bool animated = false;                // PNG with more than one frame
};

/// Reads signature and frame header. Refuses what is no JPEG, PNG or TIFF, CMYK JPEG, camera raw files in TIFF clothes, more than 200 million
/// pixels, and sizes that the file's bytes cannot hold. Nothing is allocated by what the file says. Untrusted input.
/// Errors: not_a_picture, picture_unsupported. Test: tests/photo/bad_pictures_test.cpp
[[nodiscard]] Result<FileHeader> read_file_header(std::span<const std::uint8_t> bytes, const std::string& file);

/// The size check by itself, for sizes that only the decoder knows. Error: picture_unsupported.
[[nodiscard]] Result<Done> check_size(std::uint64_t width, std::uint64_t height, const std::string& file);

/// The error for a file whose contents do not fit its own header.
[[nodiscard]] Error damaged(const std::string& file, const std::string& why);
/// The error for CMYK pictures.
[[nodiscard]] Error cmyk(const std::string& file);

}  // namespace sw
