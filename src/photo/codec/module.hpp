// What the files of the module share.
#pragma once

#include "photo/codec.hpp"

namespace sw::codec_module {

[[nodiscard]] DecoderResult open_stored(std::span<const std::uint8_t> bytes, const FileHeader&, const Work&);
void take_exif(std::span<const std::uint8_t> exif, StoredPicture&);
[[nodiscard]] std::unique_ptr<PictureWriter> write(const PictureToWrite&, std::vector<unsigned char>& bytes);

}  // namespace sw::codec_module
