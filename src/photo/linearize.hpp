// From a picture's encoded samples to linear light.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "photo/file_header.hpp"
#include "photo/photo.hpp"

namespace sw {

/// What a container says about its colors beside a profile; a profile wins over it.
struct ContainerColor {
    std::optional<Chromaticities> primaries;  // not set: IEC 61966-2-1's
    std::optional<Transfer> curve;            // not set: nothing said
    std::string words;                        // "OpenEXR", "PNG": whose word it is
};

/// Encoded samples in, linear RGB on the primaries of IEC 61966-2-1 out, unbounded. Made once for a picture, then used for blocks of rows.
/// With a profile: a matrix-and-curves profile is evaluated by tables here (a test holds that to lcms2 within 1e-5), any other by lcms2 itself,
/// in float, relative colorimetric. Without: the transfer asked for, else what the container says, else IEC 61966-2-1. The container's primaries are
/// adapted to D65 (Bradford).
/// Test: tests/photo/profile_test.cpp, tests/photo/decode_test.cpp
class Linearizer {
public:
    /// profile: the embedded ICC profile's bytes, may be empty. channels: 1 (gray), 3, or 4 (CMYK, 0 = no ink; a profile is needed). bits: 8 or 16
    /// for integer samples, 32 for float. Errors: profile_broken, picture_unsupported (CMYK without a profile). Untrusted input.
    [[nodiscard]] static Result<Linearizer> make(std::span<const std::uint8_t> profile, const Transfer& transfer, int channels, int bits,
                                                 const std::string& file, const ContainerColor& container = {});

    Linearizer(Linearizer&&) noexcept;
    Linearizer& operator=(Linearizer&&) noexcept;
    ~Linearizer();

    /// samples: pixels * channels; rgb: 3 * pixels. The overload must fit the bits given to make().
    void convert(const std::uint8_t* samples, std::size_t pixels, float* rgb) const;
    void convert(const std::uint16_t* samples, std::size_t pixels, float* rgb) const;
    void convert(const float* samples, std::size_t pixels, float* rgb) const;

    [[nodiscard]] const std::string& encoding() const;  // in words
    [[nodiscard]] Encoding kind() const;
    [[nodiscard]] DecidedBy decided_by() const;
    [[nodiscard]] bool linear() const;  // stored in linear light
    /// As Photo::native_from_srgb: identity unless a matrix-and-curves profile or the container's primaries are in use.
    [[nodiscard]] std::array<double, 9> native_from_srgb() const;
    [[nodiscard]] bool through_lcms() const;                       // false: tables
    [[nodiscard]] std::shared_ptr<const CodeTable> table() const;  // of 8-bit colors that need no lcms2; else nothing
    [[nodiscard]] const std::vector<std::string>& notes() const;   // what the user should know

private:
    struct Content;
    explicit Linearizer(std::unique_ptr<Content> content);
    std::unique_ptr<Content> content_;
};

}  // namespace sw
