// Writes pictures: JPEG, PNG, TIFF, with a profile.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "color/result.hpp"

namespace sw {

struct PictureToWrite {
    enum class Format { jpeg, png, tiff } format = Format::png;
    int width = 0, height = 0;          // of three channels
    int bits = 8;                       // or 16, not in JPEG
    std::string software, description;  // empty: not said
    std::vector<std::uint8_t> profile;  // ICC; empty: none
    bool quick = false;                 // PNG: less compressed
};

class PictureWriter {
public:
    PictureWriter() = default;
    PictureWriter(const PictureWriter&) = delete;
    PictureWriter& operator=(const PictureWriter&) = delete;
    virtual ~PictureWriter() = default;
    /// Rows first..last-1 from the top, in order; codes of 1 or 2 bytes. False: see `trouble`.
    [[nodiscard]] virtual bool rows(int first, int last, const void* codes) = 0;
    [[nodiscard]] virtual bool finish() = 0;
    [[nodiscard]] virtual std::string trouble() const = 0;
};

/// bytes must outlive it. Error: internal where the module for it is missing.
[[nodiscard]] Result<std::unique_ptr<PictureWriter>> picture_writer(const PictureToWrite&, std::vector<unsigned char>& bytes);

/// A picture of rows that are all there; empty where it cannot be written.
[[nodiscard]] std::vector<unsigned char> written(const PictureToWrite&, const void* codes);

}  // namespace sw
