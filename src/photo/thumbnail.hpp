// A small JPEG of a photo, to know it again by.
#pragma once

#include <string>

#include "photo/photo.hpp"

namespace sw {

/// sRGB JPEG without any metadata, longer side at most `longest` pixels (1..1000): means of linear light over blocks. A camera raw is balanced as the
/// camera saw it. Empty where there is no picture.
[[nodiscard]] std::string thumbnail_jpeg(const Photo&, int longest);

/// The same JPEG without what is no part of the picture: comments and all application segments but JFIF's (ITU-T T.81, B.1.1.3). Untrusted bytes;
/// empty where they are no JPEG.
[[nodiscard]] std::string without_metadata(const std::string& jpeg);

}  // namespace sw
