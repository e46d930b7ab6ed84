#include "workbook/records.hpp"

#include <algorithm>
#include <filesystem>
#include <system_error>

#include "color/light.hpp"
#include "photo/thumbnail.hpp"

namespace sw {

std::string to_word(PartStatus status) {
    switch (status) {
        case PartStatus::missing:
            return "missing";
        case PartStatus::target:
            return "target";
        case PartStatus::mixing:
            return "mixing";
        case PartStatus::within:
            return "within";
        case PartStatus::painted:
            return "painted";
        case PartStatus::coated:
            return "coated";
    }
    return {};
}

std::optional<PartStatus> part_status(const std::string& word) {
    for (const PartStatus status :
         {PartStatus::missing, PartStatus::target, PartStatus::mixing, PartStatus::within, PartStatus::painted, PartStatus::coated}) {
        if (to_word(status) == word) return status;
    }
    return std::nullopt;
}

std::string part_path(const std::vector<Part>& parts, const Part& part) {
    constexpr int kDeepest = 64;  // a file may say that a part stands within itself
    std::string path = part.name;
    std::optional<std::int64_t> above = part.parent;
    for (int depth = 0; above && depth < kDeepest; ++depth) {
        const auto found = std::find_if(parts.begin(), parts.end(), [&](const Part& other) { return other.id == *above; });
        if (found == parts.end()) break;
        path = found->name + "/" + path;
        above = found->parent;
    }
    return path;
}

KeptPhoto kept_photo(const Photo& photo) {
    KeptPhoto kept;
    std::error_code error;
    const std::filesystem::path absolute = std::filesystem::weakly_canonical(std::filesystem::absolute(photo.path, error), error);
    kept.path = error ? photo.path : absolute.string();
    kept.hash = photo.content_hash;
    const auto bytes = std::filesystem::file_size(photo.path, error);
    kept.bytes = error ? 0 : static_cast<std::int64_t>(bytes);
    kept.width = photo.width;
    kept.height = photo.height;
    kept.camera = photo.camera;
    kept.lens = photo.shot.lens;
    kept.taken = photo.taken;
    kept.iso = photo.shot.iso;
    kept.exposure_s = photo.shot.exposure_s;
    kept.f_number = photo.shot.f_number;
    kept.focal_mm = photo.shot.focal_mm;
    constexpr int kLongestSide = 160;
    kept.thumbnail = thumbnail_jpeg(photo, kLongestSide);
    return kept;
}

Result<Light> light_of(const Lamp& lamp) {
    if (lamp.spectrum.empty()) return light(lamp.light);
    const Result<SpectrumTable> table = parse_spectrum(lamp.spectrum, lamp.name);
    if (!table) return table.error();
    Result<Light> measured = light_from_table(*table, lamp.name);
    if (measured) measured->name = lamp.name;
    return measured;
}

OwnLights own_lights(std::vector<Lamp> lamps) {
    return [lamps = std::move(lamps)](const std::string& name) -> Result<Light> {
        for (const Lamp& lamp : lamps) {
            if (lamp.name == name) return light_of(lamp);
        }
        return Error{Fault::name_unknown, "", name, "there is no lamp of that name", "see the list of lamps"};
    };
}

}  // namespace sw
