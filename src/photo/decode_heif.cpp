// HEIF (HEIC, AVIF) through libheif: OpenImageIO's reader drops the color profile and the bits above eight.
#include <libheif/heif.h>

#include <cstring>

#include "photo/decoder.hpp"
#include "photo/words.hpp"

namespace sw {
namespace {

struct Release {
    void operator()(heif_context* p) const { heif_context_free(p); }
    void operator()(heif_image_handle* p) const { heif_image_handle_release(p); }
    void operator()(heif_image* p) const { heif_image_release(p); }
    void operator()(heif_decoding_options* p) const { heif_decoding_options_free(p); }
    void operator()(heif_color_profile_nclx* p) const { heif_nclx_color_profile_free(p); }
};
template <class T>
using Held = std::unique_ptr<T, Release>;

class HeifDecoder final : public Decoder {
public:
    HeifDecoder(StoredPicture picture, Held<heif_image> image, int deep, bool alpha, bool multiplied)
        : Decoder(std::move(picture)), image_(std::move(image)), deep_(deep), alpha_(alpha), multiplied_(multiplied) {
        plane_ = heif_image_get_plane_readonly(image_.get(), heif_channel_interleaved, &stride_);
    }
    [[nodiscard]] bool has_pixels() const { return plane_ != nullptr; }

    Result<Done> rows(int first, int last, void* samples) override {
        const auto width = static_cast<std::size_t>(picture_.width);
        const std::size_t stored = width * (alpha_ ? 4 : 3);
        for (int y = first; y < last; ++y) {
            const std::uint8_t* from = plane_ + static_cast<std::ptrdiff_t>(y) * stride_;
            const std::size_t at = static_cast<std::size_t>(y - first) * width * 3;
            if (deep_ == 8) {
                auto* to = static_cast<std::uint8_t*>(samples) + at;
                if (alpha_)
                    transparent_ += drop_alpha(from, width, 3, multiplied_, 255.0F, to);
                else
                    std::memcpy(to, from, stored);
                continue;
            }
            wide_.resize(stored);
            const unsigned top = (1U << deep_) - 1;
            for (std::size_t i = 0; i < stored; ++i) {
                const unsigned code = std::min(top, static_cast<unsigned>(from[2 * i] | from[2 * i + 1] << 8));
                wide_[i] = static_cast<std::uint16_t>((code * 65535U + top / 2) / top);
            }
            auto* to = static_cast<std::uint16_t*>(samples) + at;
            if (alpha_)
                transparent_ += drop_alpha(wide_.data(), width, 3, multiplied_, 65535.0F, to);
            else
                std::copy(wide_.begin(), wide_.end(), to);
        }
        return Done{};
    }

    Result<Done> finish(std::vector<std::string>& notes) override {
        if (alpha_) note_alpha(transparent_, static_cast<std::size_t>(picture_.width) * static_cast<std::size_t>(picture_.height), notes);
        return Done{};
    }

private:
    Held<heif_image> image_;
    int deep_, stride_ = 0;
    bool alpha_, multiplied_;
    const std::uint8_t* plane_ = nullptr;
    std::vector<std::uint16_t> wide_;
    std::size_t transparent_ = 0;
};

/// ITU-T H.273 code points. False: a curve for HDR films.
bool take_code_points(const heif_color_profile_nclx& nclx, ContainerColor& color) {
    const int curve = nclx.transfer_characteristics;
    if (curve == heif_transfer_characteristic_ITU_R_BT_2100_0_PQ || curve == heif_transfer_characteristic_ITU_R_BT_2100_0_HLG) return false;
    color.words = "HEIF";
    if (curve == heif_transfer_characteristic_linear) color.curve = Transfer{TransferKind::linear};
    if (curve == heif_transfer_characteristic_ITU_R_BT_470_6_System_M) color.curve = Transfer{TransferKind::gamma, 2.2};
    const int primaries = nclx.color_primaries;
    constexpr double wx = 0.3127, wy = 0.3290;
    if (primaries == heif_color_primaries_SMPTE_EG_432_1) color.primaries = Chromaticities{0.680, 0.320, 0.265, 0.690, 0.150, 0.060, wx, wy};
    if (primaries == heif_color_primaries_ITU_R_BT_2020_2_and_2100_0)
        color.primaries = Chromaticities{0.708, 0.292, 0.170, 0.797, 0.131, 0.046, wx, wy};
    return true;
}

void take_exif(const heif_image_handle* handle, StoredPicture& picture) {
    heif_item_id id = 0;
    if (heif_image_handle_get_list_of_metadata_block_IDs(handle, "Exif", &id, 1) != 1) return;
    const std::size_t size = heif_image_handle_get_metadata_size(handle, id);
    constexpr std::size_t kLargest = 1 << 22;
    if (size < 8 || size > kLargest) return;
    std::vector<std::uint8_t> block(size);
    if (heif_image_handle_get_metadata(handle, id, block.data()).code != heif_error_Ok) return;
    // ISO/IEC 23008-12 annex A: four bytes say how far behind them the TIFF header lies.
    const std::size_t skip = 4 + (static_cast<std::size_t>(block[0]) << 24 | static_cast<std::size_t>(block[1]) << 16 |
                                  static_cast<std::size_t>(block[2]) << 8 | block[3]);
    if (skip + 8 <= size) read_exif(std::span(block).subspan(skip), picture);
}

}  // namespace

DecoderResult open_heif(std::span<const std::uint8_t> bytes, const Work& work) {
    const auto wrong = [&](const heif_error& error) -> Error {
        if (error.code == heif_error_Unsupported_filetype || error.code == heif_error_Unsupported_feature)
            return {Fault::picture_unsupported, work.file, "",
                    "is a HEIF picture of a kind that cannot be decoded here (" + printable(error.message, 60) + ")", "save it as JPEG, PNG or TIFF"};
        return damaged(work.file, printable(error.message, 60));
    };
    const Held<heif_context> context(heif_context_alloc());
    if (!context) return Error{Fault::internal, work.file, "", "not enough memory", "close other programs"};
    heif_error error = heif_context_read_from_memory_without_copy(context.get(), bytes.data(), bytes.size(), nullptr);
    if (error.code != heif_error_Ok) return wrong(error);
    heif_image_handle* found = nullptr;
    error = heif_context_get_primary_image_handle(context.get(), &found);
    if (error.code != heif_error_Ok) return wrong(error);
    const Held<heif_image_handle> handle(found);

    StoredPicture picture;
    take_exif(handle.get(), picture);
    picture.orientation = 1;  // HEIF turns by properties of its own, which libheif follows; EXIF's word does not count (ISO/IEC 23008-12)
    picture.width = heif_image_handle_get_width(handle.get());
    picture.height = heif_image_handle_get_height(handle.get());
    if (picture.width <= 0 || picture.height <= 0) return damaged(work.file, "its header gives no size");
    if (auto size = check_size(static_cast<std::uint64_t>(picture.width), static_cast<std::uint64_t>(picture.height), work.file); !size)
        return size.error();
    picture.several = heif_context_get_number_of_top_level_images(context.get()) > 1;
    const bool alpha = heif_image_handle_has_alpha_channel(handle.get()) != 0;
    const bool multiplied = heif_image_handle_is_premultiplied_alpha(handle.get()) != 0;

    const std::size_t profile = heif_image_handle_get_raw_color_profile_size(handle.get());
    if (profile > 0 && profile <= bytes.size()) {
        picture.profile.resize(profile);
        error = heif_image_handle_get_raw_color_profile(handle.get(), picture.profile.data());
        if (error.code != heif_error_Ok) return wrong(error);
    } else {
        heif_color_profile_nclx* points = nullptr;
        if (heif_image_handle_get_nclx_color_profile(handle.get(), &points).code == heif_error_Ok && points != nullptr) {
            const Held<heif_color_profile_nclx> nclx(points);
            if (!take_code_points(*nclx, picture.color))
                return Error{Fault::picture_unsupported, work.file, "", "is encoded for HDR screens (PQ or HLG)",
                             "export it in standard range, as JPEG or TIFF"};
        }
    }

    const int stored = heif_image_handle_get_luma_bits_per_pixel(handle.get());
    const bool wide = stored > 8;
    work.done(0.15F);
    if (work.stop.stop_requested()) return work.cancelled();
    const Held<heif_decoding_options> options(heif_decoding_options_alloc());
    options->strict_decoding = 1;
    heif_image* decoded = nullptr;
    const heif_chroma chroma = wide ? (alpha ? heif_chroma_interleaved_RRGGBBAA_LE : heif_chroma_interleaved_RRGGBB_LE)
                                    : (alpha ? heif_chroma_interleaved_RGBA : heif_chroma_interleaved_RGB);
    error = heif_decode_image(handle.get(), &decoded, heif_colorspace_RGB, chroma, options.get());
    if (error.code != heif_error_Ok) return wrong(error);
    Held<heif_image> image(decoded);
    if (heif_image_get_width(image.get(), heif_channel_interleaved) != picture.width ||
        heif_image_get_height(image.get(), heif_channel_interleaved) != picture.height)
        return damaged(work.file, "its picture has another size than its header says");
    const int deep = heif_image_get_bits_per_pixel_range(image.get(), heif_channel_interleaved);
    if (wide ? deep < 9 || deep > 16 : deep != 8) return damaged(work.file, "its bit depth is wrong");
    picture.kind = wide ? SampleKind::bits16 : SampleKind::bits8;
    picture.bits = deep;
    auto decoder = std::make_unique<HeifDecoder>(std::move(picture), std::move(image), deep, alpha, multiplied);
    if (!decoder->has_pixels()) return damaged(work.file, "it holds no pixels");
    return DecoderResult(std::move(decoder));
}

}  // namespace sw
