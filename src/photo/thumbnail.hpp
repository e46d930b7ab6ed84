// A small JPEG of a photo, to know it again by.
#pragma once

#include <string>

#include "photo/photo.hpp"
#include "photo/preview.hpp"

namespace sw {

/// Means of linear light over blocks, as sRGB; longer side at most `longest` (1..1000). A camera raw is balanced as the camera saw it.
[[nodiscard]] Preview thumbnail(const Photo&, int longest);

/// sRGB JPEG without any metadata, the same. Empty where there is no picture.
[[nodiscard]] std::string thumbnail_jpeg(const Photo&, int longest);

/// The same JPEG without what is no part of the picture: comments and all application segments but JFIF's (ITU-T T.81, B.1.1.3). Untrusted bytes;
/// empty where they are no JPEG.
[[nodiscard]] std::string without_metadata(const std::string& jpeg);

}  // namespace sw
