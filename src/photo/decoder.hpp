// What every decoder of a picture format offers: what the picture is, and rows of its stored samples.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <stop_token>
#include <string>
#include <type_traits>
#include <utility>
#include <vector>

#include "photo/file_header.hpp"
#include "photo/linearize.hpp"
#include "photo/photo.hpp"

namespace sw {

/// One loading: whose words, when to stop, whom to tell.
struct Work {
    std::string file;
    std::stop_token stop;
    const std::function<void(float)>& progress;

    void done(float share) const {
        if (progress) progress(share);
    }
    [[nodiscard]] Error cancelled() const { return {Fault::cancelled, file, "", "was not loaded: stopped", "open it again when you want it"}; }
};

enum class SampleKind { bits8, bits16, floats };

struct StoredPicture {
    int width = 0, height = 0;  // as stored
    int channels = 3;           // of the samples that rows() gives: 1 gray, 3 RGB, 4 inks (0 = none)
    SampleKind kind = SampleKind::bits8;
    int bits = 8;          // as stored
    int orientation = 1;   // EXIF, still to be undone
    int rows_at_once = 0;  // ask for so many (a row of tiles); 0: any
    std::vector<std::uint8_t> profile;
    ContainerColor color;
    bool says_not_srgb = false;  // EXIF ColorSpace
    Shot shot;
    std::optional<SensorColor> sensor;
    bool several = false;
    std::vector<std::string> notes;
};

class Decoder {
public:
    explicit Decoder(StoredPicture picture) : picture_(std::move(picture)) {}
    Decoder(const Decoder&) = delete;
    Decoder& operator=(const Decoder&) = delete;
    virtual ~Decoder() = default;

    [[nodiscard]] const StoredPicture& picture() const { return picture_; }
    /// Rows first..last-1 from the top, asked for in order; samples: 1, 2 or 4 bytes each by kind.
    [[nodiscard]] virtual Result<Done> rows(int first, int last, void* samples) = 0;
    /// After the last row: what is only known then goes into notes.
    [[nodiscard]] virtual Result<Done> finish(std::vector<std::string>& notes) {
        (void)notes;
        return Done{};
    }

protected:
    StoredPicture picture_;
};

using DecoderResult = Result<std::unique_ptr<Decoder>>;

/// bytes must outlive the decoder. Errors: not_a_picture, picture_unsupported, cancelled.
[[nodiscard]] DecoderResult open_common(std::span<const std::uint8_t> bytes, const FileHeader&, const Work&);  // JPEG, PNG, TIFF, OpenEXR
[[nodiscard]] DecoderResult open_webp(std::span<const std::uint8_t> bytes, const FileHeader&, const Work&);
[[nodiscard]] DecoderResult open_heif(std::span<const std::uint8_t> bytes, const Work&);
[[nodiscard]] DecoderResult open_raw(std::span<const std::uint8_t> bytes, const Work&);
/// Rows of a four-channel JPEG, for open_common, which knows all else about it. bytes must outlive it. Empty when it cannot be decoded.
[[nodiscard]] std::function<Result<Done>(int first, int last, std::uint8_t* samples)> inks_of_jpeg(std::span<const std::uint8_t> bytes,
                                                                                                   const std::string& file);

/// EXIF block ("II*..." or "MM.*...") into what we keep of it. Untrusted.
void read_exif(std::span<const std::uint8_t> exif, StoredPicture&);

/// Drops opacity, the last of channels + 1 samples a pixel, and undoes a multiplication of the colors by it; in may be out. top: full opacity.
/// Returns how many pixels are wholly transparent.
template <class Sample>
std::size_t drop_alpha(const Sample* in, std::size_t pixels, int channels, bool multiplied, float top, Sample* out) {
    std::size_t transparent = 0;
    for (std::size_t p = 0; p < pixels; ++p, in += channels + 1, out += channels) {
        const auto alpha = static_cast<float>(in[channels]);
        const float scale = multiplied && alpha > 0 ? top / alpha : 1;
        if (!(alpha > 0)) ++transparent;
        for (int c = 0; c < channels; ++c) {
            const float value = static_cast<float>(in[c]) * scale;
            out[c] = scale == 1 ? in[c] : std::is_integral_v<Sample> ? static_cast<Sample>(std::min(value + 0.5F, top)) : static_cast<Sample>(value);
        }
    }
    return transparent;
}

/// The note about it, after the last row.
void note_alpha(std::size_t transparent, std::size_t pixels, std::vector<std::string>& notes);

}  // namespace sw
