// A small camera raw file made by hand: an uncompressed DNG (Adobe's open specification, 1.4; a TIFF with further tags) of an invented camera.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

#include "photo/pictures.hpp"

namespace sw::test {

class TiffDirectory {
public:
    void shorts(std::uint16_t tag, const std::vector<std::uint16_t>& values) { add(tag, 3, values.size(), bytes(values)); }
    void longs(std::uint16_t tag, const std::vector<std::uint32_t>& values) { add(tag, 4, values.size(), bytes(values)); }
    void octets(std::uint16_t tag, const std::vector<std::uint8_t>& values) { add(tag, 1, values.size(), values); }
    void text(std::uint16_t tag, const std::string& value) {
        add(tag, 2, value.size() + 1, FileBytes(value.c_str(), value.c_str() + value.size() + 1));
    }
    /// In 1/10000; type 10 may be negative, type 5 not.
    void ratios(std::uint16_t tag, std::uint16_t type, const std::vector<double>& values) {
        std::vector<std::uint32_t> parts;
        for (const double v : values) {
            parts.push_back(static_cast<std::uint32_t>(std::lround(v * 10000)));
            parts.push_back(10000);
        }
        add(tag, type, values.size(), bytes(parts));
    }
    /// Appends the directory to `file`, with what does not fit into an entry behind it; returns where it begins.
    std::uint32_t append_to(FileBytes& file) {
        std::sort(entries_.begin(), entries_.end(), [](const Entry& a, const Entry& b) { return a.tag < b.tag; });
        if (file.size() % 2 != 0) file.push_back(0);
        const std::size_t start = file.size();
        FileBytes directory = bytes(std::vector<std::uint16_t>{static_cast<std::uint16_t>(entries_.size())}), behind;
        const std::size_t after = start + 2 + 12 * entries_.size() + 4;
        for (const Entry& e : entries_) {
            join(directory, bytes(std::vector<std::uint16_t>{e.tag, e.type}));
            join(directory, bytes(std::vector<std::uint32_t>{e.count}));
            if (e.value.size() <= 4) {
                FileBytes value = e.value;
                value.resize(4);
                join(directory, value);
            } else {
                join(directory, bytes(std::vector<std::uint32_t>{static_cast<std::uint32_t>(after + behind.size())}));
                join(behind, e.value);
                if (behind.size() % 2 != 0) behind.push_back(0);
            }
        }
        directory.resize(directory.size() + 4);  // no further one
        join(file, directory);
        join(file, behind);
        return static_cast<std::uint32_t>(start);
    }

    template <class T>
    static FileBytes bytes(const std::vector<T>& values) {
        FileBytes result;
        for (const T v : values) {
            for (std::size_t i = 0; i < sizeof(T); ++i) result.push_back(static_cast<std::uint8_t>(static_cast<std::uint64_t>(v) >> (8 * i)));
        }
        return result;
    }

private:
    struct Entry {
        std::uint16_t tag, type;
        std::uint32_t count;
        FileBytes value;
    };
    static void join(FileBytes& to, const FileBytes& more) { to.insert(to.end(), more.begin(), more.end()); }
    void add(std::uint16_t tag, std::uint16_t type, std::size_t count, const FileBytes& value) {
        entries_.push_back({tag, type, static_cast<std::uint32_t>(count), value});
    }
    std::vector<Entry> entries_;
};

struct Dng {
    int width = 64, height = 48, orientation = 1;
    bool linear = false;  // three samples a pixel instead of a filter array (red green / green blue)
    std::uint16_t black = 512, white = 15000;
    std::array<double, 9> matrix{0.7, -0.2, -0.05, -0.4, 1.2, 0.2, -0.1, 0.2, 0.6};
    std::array<double, 3> neutral{0.5, 1, 0.625};
};

/// samples: width * height sensor codes (linear: three each).
inline FileBytes dng(const Dng& about, const std::vector<std::uint16_t>& samples) {
    FileBytes file{'I', 'I', 42, 0, 0, 0, 0, 0};
    const auto pixels_at = static_cast<std::uint32_t>(file.size());
    const FileBytes pixels = TiffDirectory::bytes(samples);
    file.insert(file.end(), pixels.begin(), pixels.end());

    TiffDirectory exif;
    exif.ratios(33434, 5, {0.008});  // ExposureTime
    exif.ratios(33437, 5, {5.6});    // FNumber
    exif.shorts(34855, {200});       // ISO
    exif.ratios(37386, 5, {50});     // FocalLength
    exif.text(36867, "2026:05:04 10:11:12");
    const std::uint32_t exif_at = exif.append_to(file);

    const auto u16 = [](int v) { return static_cast<std::uint16_t>(v); };
    const auto u32 = [](int v) { return static_cast<std::uint32_t>(v); };
    const std::uint16_t channels = about.linear ? 3 : 1;
    TiffDirectory d;
    d.longs(254, {0});
    d.longs(256, {u32(about.width)});
    d.longs(257, {u32(about.height)});
    d.shorts(258, std::vector<std::uint16_t>(channels, 16));
    d.shorts(259, {1});
    d.shorts(262, {u16(about.linear ? 34892 : 32803)});
    d.text(271, "Invented");
    d.text(272, "Box 4");
    d.longs(273, {pixels_at});
    d.shorts(274, {u16(about.orientation)});
    d.shorts(277, {channels});
    d.longs(278, {u32(about.height)});
    d.longs(279, {static_cast<std::uint32_t>(pixels.size())});
    d.shorts(284, {1});
    if (!about.linear) {
        d.shorts(33421, {2, 2});
        d.octets(33422, {0, 1, 1, 2});
    }
    d.longs(34665, {exif_at});
    d.octets(50706, {1, 4, 0, 0});
    d.octets(50707, {1, 1, 0, 0});
    d.text(50708, "Invented Box 4");
    d.shorts(50714, std::vector<std::uint16_t>(channels, about.black));
    d.shorts(50717, std::vector<std::uint16_t>(channels, about.white));
    d.ratios(50721, 10, {about.matrix.begin(), about.matrix.end()});
    d.ratios(50728, 5, {about.neutral.begin(), about.neutral.end()});
    d.shorts(50778, {21});  // CalibrationIlluminant1: D65
    const std::uint32_t at = d.append_to(file);
    for (std::size_t i = 0; i < 4; ++i) file[4 + i] = static_cast<std::uint8_t>(at >> (8 * i));
    return file;
}

/// A flat picture of one color: codes of red, green, blue.
inline FileBytes flat_dng(const Dng& about, std::array<std::uint16_t, 3> color) {
    std::vector<std::uint16_t> samples;
    for (int y = 0; y < about.height; ++y) {
        for (int x = 0; x < about.width; ++x) {
            if (about.linear)
                samples.insert(samples.end(), color.begin(), color.end());
            else
                samples.push_back(color[static_cast<std::size_t>(x % 2 + y % 2)]);  // 0 red, 1 green, 2 blue
        }
    }
    return dng(about, samples);
}

}  // namespace sw::test
