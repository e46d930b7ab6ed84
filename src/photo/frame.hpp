// A frame of a film: where its picture is, and patterns finer than what is asked of it.
#pragma once

#include "photo/photo.hpp"
#include "photo/region.hpp"

namespace sw {

/// The part of a frame that holds the picture: rows and columns at its edges that are black and even from end to end are bars, if a sharp edge ends
/// them. The whole frame where there are none, or where nearly all of it is dark.
[[nodiscard]] Box picture_area(const Photo&);

/// The part of a photo that holds `region`, made smaller by means of side x side pixels in linear light, so that patterns finer than that (pixels of
/// a screen, moire) average out; and the region in it. A block is clipped if any of its pixels is. side >= 1; the region must lie inside the photo.
struct Averaged {
    Photo photo;
    Region region;
};
[[nodiscard]] Averaged block_means(const Photo&, const Region& region, int side);

}  // namespace sw
