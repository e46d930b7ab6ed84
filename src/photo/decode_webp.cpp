// WebP through libwebp: OpenImageIO reads the pixels too, but drops the color profile.
#include <webp/decode.h>

#include <cstring>

#include "photo/decoder.hpp"

namespace sw {
namespace {

struct Stop {
    void operator()(WebPIDecoder* decoder) const { WebPIDelete(decoder); }
};

class WebpDecoder final : public Decoder {
public:
    WebpDecoder(StoredPicture picture, std::vector<std::uint8_t> pixels, bool alpha)
        : Decoder(std::move(picture)), pixels_(std::move(pixels)), alpha_(alpha) {}

    Result<Done> rows(int first, int last, void* samples) override {
        const std::size_t row = static_cast<std::size_t>(picture_.width) * (alpha_ ? 4 : 3);
        const std::size_t count = static_cast<std::size_t>(last - first);
        const std::uint8_t* from = &pixels_[static_cast<std::size_t>(first) * row];
        auto* to = static_cast<std::uint8_t*>(samples);
        if (alpha_)
            transparent_ += drop_alpha(from, count * static_cast<std::size_t>(picture_.width), 3, false, 255.0F, to);
        else
            std::memcpy(to, from, count * row);
        return Done{};
    }

    Result<Done> finish(std::vector<std::string>& notes) override {
        if (alpha_) note_alpha(transparent_, static_cast<std::size_t>(picture_.width) * static_cast<std::size_t>(picture_.height), notes);
        return Done{};
    }

private:
    std::vector<std::uint8_t> pixels_;
    bool alpha_;
    std::size_t transparent_ = 0;
};

}  // namespace

DecoderResult open_webp(std::span<const std::uint8_t> bytes, const FileHeader& header, const Work& work) {
    WebPBitstreamFeatures features;
    if (WebPGetFeatures(bytes.data(), bytes.size(), &features) != VP8_STATUS_OK) return damaged(work.file, "its header is wrong");
    if (features.has_animation != 0)
        return Error{Fault::picture_unsupported, work.file, "", "is an animated WebP picture", "save the one picture you mean as JPEG, PNG or TIFF"};
    if (features.width <= 0 || features.height <= 0) return damaged(work.file, "its header gives no size");
    if (auto size = check_size(static_cast<std::uint64_t>(features.width), static_cast<std::uint64_t>(features.height), work.file); !size)
        return size.error();

    StoredPicture picture;
    if (!header.exif.empty()) read_exif(header.exif, picture);
    picture.width = features.width;
    picture.height = features.height;
    picture.profile.assign(header.profile.begin(), header.profile.end());
    const bool alpha = features.has_alpha != 0;
    const int stride = features.width * (alpha ? 4 : 3);
    std::vector<std::uint8_t> pixels(static_cast<std::size_t>(stride) * static_cast<std::size_t>(features.height));
    // Fed by pieces, so that it can be stopped and shows how far it is.
    const std::unique_ptr<WebPIDecoder, Stop> decoder(WebPINewRGB(alpha ? MODE_RGBA : MODE_RGB, pixels.data(), pixels.size(), stride));
    if (!decoder) return damaged(work.file, "the decoder stopped");
    constexpr std::size_t kPiece = 1 << 18;
    for (std::size_t have = 0; have < bytes.size();) {
        if (work.stop.stop_requested()) return work.cancelled();
        have = std::min(bytes.size(), have + kPiece);
        const VP8StatusCode status = WebPIUpdate(decoder.get(), bytes.data(), have);
        if (status == VP8_STATUS_OK) return DecoderResult(std::make_unique<WebpDecoder>(std::move(picture), std::move(pixels), alpha));
        if (status != VP8_STATUS_SUSPENDED) return damaged(work.file, "its pixels cannot be decoded");
        work.done(0.1F + 0.5F * static_cast<float>(have) / static_cast<float>(bytes.size()));
    }
    return damaged(work.file, "its end is missing");
}

}  // namespace sw
