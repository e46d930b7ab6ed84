// OpenImageIO behind a door that is opened at its first use: it brings 200 libraries and a fifth of a second, which commands and the window's first
// frame do not wait for. Its code is in codec/, built as a module of its own (swatchwright-codec.so).
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "photo/decoder.hpp"
#include "photo/write_picture.hpp"

namespace sw {

/// What the module hands out.
struct Codec {
    DecoderResult (*open_common)(std::span<const std::uint8_t>, const FileHeader&, const Work&);
    void (*read_exif)(std::span<const std::uint8_t>, StoredPicture&);
    /// Null where it cannot be done. bytes must outlive it.
    std::unique_ptr<PictureWriter> (*write)(const PictureToWrite&, std::vector<unsigned char>& bytes);
};

/// Any thread. Error: internal where the module is missing.
[[nodiscard]] Result<const Codec*> codec();

}  // namespace sw
