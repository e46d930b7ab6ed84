// A small JPEG of a photo, to know it again by.
#pragma once

#include <string>

#include "photo/photo.hpp"

namespace sw {

/// sRGB JPEG without any metadata, longer side at most `longest` pixels (1..1000): means of linear light over blocks. A camera raw is balanced as the
/// camera saw it. Empty where there is no picture.
[[nodiscard]] std::string thumbnail_jpeg(const Photo&, int longest);

}  // namespace sw
