// What a workbook keeps beside colors: parts, photos, lamps, notes. Schema in DEVELOPERS.md.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "color/light.hpp"
#include "photo/photo.hpp"

namespace sw {

/// How far a part is: `missing` has no reference yet, `target` knows what it is to be.
enum class PartStatus { missing, target, mixing, within, painted, coated };
[[nodiscard]] std::string to_word(PartStatus);
[[nodiscard]] std::optional<PartStatus> part_status(const std::string& word);

/// A part of the build. Parts stand in a tree; one without a parent is a project.
struct Part {
    std::int64_t id = 0;
    std::string name;                            // as a target's; unique among the parts of one parent
    std::optional<std::int64_t> parent, target;  // target: the color it wears
    PartStatus status = PartStatus::missing;
    std::string note, created;
};
/// "Car no. 2/underframe/brake wheel". parts: all of them. Whatever the file says it ends.
[[nodiscard]] std::string part_path(const std::vector<Part>& parts, const Part&);

/// A photo that something was read from. What tells one camera or place from another of its kind (serial numbers, location, owner) is not kept.
struct KeptPhoto {
    std::int64_t id = 0;
    std::string path, hash;  // hash: of the file's bytes, unique
    std::int64_t bytes = 0;
    int width = 0, height = 0;        // upright
    std::string camera, lens, taken;  // as the file says; empty if it does not
    std::optional<double> iso, exposure_s, f_number, focal_mm;
    std::string thumbnail;  // JPEG
    std::string created;
};
/// As it is kept, with an absolute path.
[[nodiscard]] KeptPhoto kept_photo(const Photo&);

/// A light of one's own: a LIGHT string or a measured spectrum (lines nm,power).
struct Lamp {
    std::int64_t id = 0;
    std::string name;  // as a target's
    std::string light, spectrum;
    std::string source, created;
};
/// Errors: as of light() and of a spectrum; cannot happen to one that came from a workbook.
[[nodiscard]] Result<Light> light_of(const Lamp&);
/// These by name, for light(). Keeps a copy.
[[nodiscard]] OwnLights own_lights(std::vector<Lamp>);

/// Words about one target, part or reading.
struct Note {
    std::int64_t id = 0;
    std::optional<std::int64_t> target, part, reading;  // one of them
    std::string text, created;
};

/// How the columns of a table from outside were read, to be used again for a table of the same headings.
struct ColumnMapping {
    std::int64_t id = 0;
    std::string headings;                                        // of the table, with "; " between; unique
    std::vector<std::pair<std::string, std::string>> columns{};  // a heading (or #3) without line ends, and what it means
    std::string light;                                           // LIGHT where the table names none; empty: not said
    Observer observer = Observer::degree2;
    std::string created;
};

/// A change that can be undone, or is.
struct Change {
    std::int64_t id = 0;
    std::string words;  // "Added target "Damson 14""
    bool undone = false;
    std::string created;
};

}  // namespace sw
