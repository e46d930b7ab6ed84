// Where in a photo a target was read: from its words, and as a small picture.
#pragma once

#include <optional>
#include <string>

#include "photo/photo.hpp"
#include "photo/region.hpp"
#include "sheet/pen.hpp"
#include "sheet/small_picture.hpp"

namespace sw {

struct PhotoPlace {
    std::string file;
    Region region;
};
/// Of a source like "bench.jpg 100,20,50,50", the first of several ("a.png 1,2,3,4; b.png ..."); nothing where it names no photo.
[[nodiscard]] std::optional<PhotoPlace> photo_place(const std::string& source);

/// The photo as it came, some 500 pixels wide, and the region's box in it, as shares of its width and height.
struct TargetPlace {
    Thumbnail picture;
    PageBox box;
};
/// Nothing where the region reaches beyond the photo: then it is another one.
[[nodiscard]] std::optional<TargetPlace> target_place(const Photo&, const Region&);

}  // namespace sw
