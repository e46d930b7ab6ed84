#include "sheet/target_place.hpp"

#include "calibrate/picture_map.hpp"

namespace sw {

std::optional<PhotoPlace> photo_place(const std::string& source) {
    std::string first = source.substr(0, source.find("; "));
    if (const auto remark = first.rfind(" ("); remark != std::string::npos && first.ends_with(')')) first.resize(remark);
    const std::size_t blank = first.rfind(' ');
    if (blank == std::string::npos || blank == 0) return std::nullopt;
    const auto region = parse_region(std::string_view(first).substr(blank + 1), "region");
    if (!region) return std::nullopt;
    return PhotoPlace{first.substr(0, blank), *region};
}

std::optional<TargetPlace> target_place(const Photo& photo, const Region& region) {
    const Box box = bounds(region);
    if (box.x < 0 || box.y < 0 || box.x + box.w > photo.width || box.y + box.h > photo.height) return std::nullopt;
    const double width = photo.width, height = photo.height;
    return TargetPlace{small_picture(photo, PictureMap(), Box{0, 0, width, height}, 500),
                       {box.x / width, box.y / height, box.w / width, box.h / height}};
}

}  // namespace sw
