// From a picture's encoded samples to linear light.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "photo/photo.hpp"

namespace sw {

/// Encoded samples in, linear RGB on the primaries of IEC 61966-2-1 out, unbounded. Made once for a picture, then used for blocks of rows.
/// With a profile: a matrix-and-curves profile is evaluated by tables here (a test holds that to lcms2 within 1e-5), any other by lcms2 itself,
/// in float, relative colorimetric. Without: the transfer asked for, else IEC 61966-2-1.
/// Test: tests/photo/profile_test.cpp, tests/photo/decode_test.cpp
class Linearizer {
public:
    /// profile: the embedded ICC profile's bytes, may be empty. channels: 1 (gray) or 3. bits: 8 or 16 for integer samples, 32 for float.
    /// Error: profile_broken. Untrusted input.
    [[nodiscard]] static Result<Linearizer> make(std::span<const std::uint8_t> profile, const Transfer& transfer, int channels, int bits,
                                                 const std::string& file);

    Linearizer(Linearizer&&) noexcept;
    Linearizer& operator=(Linearizer&&) noexcept;
    ~Linearizer();

    /// samples: pixels * channels; rgb: 3 * pixels. The overload must fit the bits given to make().
    void convert(const std::uint8_t* samples, std::size_t pixels, float* rgb) const;
    void convert(const std::uint16_t* samples, std::size_t pixels, float* rgb) const;
    void convert(const float* samples, std::size_t pixels, float* rgb) const;

    [[nodiscard]] const std::string& encoding() const;  // in words
    [[nodiscard]] bool untagged() const;                // no profile, nothing asked
    [[nodiscard]] bool linear() const;                  // stored in linear light
    /// As Photo::native_from_srgb: identity unless a matrix-and-curves profile is in use.
    [[nodiscard]] std::array<double, 9> native_from_srgb() const;
    [[nodiscard]] bool through_lcms() const;                      // false: tables
    [[nodiscard]] const std::vector<std::string>& notes() const;  // what the user should know

private:
    struct Content;
    explicit Linearizer(std::unique_ptr<Content> content);
    std::unique_ptr<Content> content_;
};

}  // namespace sw
