// Camera raw through LibRaw: OpenImageIO's reader keeps no matrix, wants a file of its own and lets LibRaw print.
#include <libraw/libraw.h>

#include <cmath>
#include <ctime>

#include "photo/decoder.hpp"
#include "photo/words.hpp"

namespace sw {
namespace {

constexpr std::array<int, 8> kOrientation{1, 2, 4, 3, 5, 8, 6, 7};  // of LibRaw's flip: 1 mirrors columns, 2 rows, 4 exchanges both; dcraw's words

class RawDecoder final : public Decoder {
public:
    RawDecoder(StoredPicture picture, std::unique_ptr<LibRaw> raw) : Decoder(std::move(picture)), raw_(std::move(raw)) {}

    Result<Done> rows(int first, int last, void* samples) override {
        auto* to = static_cast<std::uint16_t*>(samples);
        const std::size_t width = static_cast<std::size_t>(picture_.width);
        for (std::size_t i = static_cast<std::size_t>(first) * width; i < static_cast<std::size_t>(last) * width; ++i) {
            for (int c = 0; c < picture_.channels; ++c) *to++ = raw_->imgdata.image[i][c];
        }
        return Done{};
    }

private:
    std::unique_ptr<LibRaw> raw_;
};

/// DNG: the matrix for D65 (EXIF LightSource 21) or the one nearest to it; else LibRaw's table for the camera.
std::optional<std::array<double, 9>> matrix_of(const libraw_colordata_t& color) {
    constexpr int kD65 = 21;
    std::array<double, 9> result{};
    double size = 0;
    const auto take = [&](const float(&rows)[4][3], double scale) {
        size = 0;
        for (std::size_t r = 0; r < 3; ++r) {
            for (std::size_t c = 0; c < 3; ++c) {
                result[3 * r + c] = static_cast<double>(rows[r][c]) * scale;
                size += std::abs(result[3 * r + c]);
            }
        }
        return std::isfinite(size) && size > 0.1 && size < 100;
    };
    for (const auto& dng : {color.dng_color[1], color.dng_color[0]}) {
        if (dng.illuminant == kD65 && take(dng.colormatrix, 1)) return result;
    }
    if (take(color.cam_xyz, 1)) return result;
    return std::nullopt;
}

Shot shot_of(const LibRaw& raw) {
    Shot shot;
    const auto& about = raw.imgdata.idata;
    const auto& other = raw.imgdata.other;
    const auto text = [](const auto& field) { return printable(std::string_view(field, sizeof field), 60); };
    shot.make = text(about.make);
    shot.model = text(about.model);
    shot.lens = text(raw.imgdata.lens.Lens);
    const auto figure = [](float value) -> std::optional<double> {
        if (!(value > 0 && value < 1e7F)) return std::nullopt;
        return value;
    };
    shot.iso = figure(other.iso_speed);
    shot.exposure_s = figure(other.shutter);
    shot.f_number = figure(other.aperture);
    shot.focal_mm = figure(other.focal_len);
    std::tm time{};
    if (other.timestamp > 0 && ::localtime_r(&other.timestamp, &time) != nullptr) {  // LibRaw read the camera's clock as local time
        std::array<char, 32> words{};
        if (std::strftime(words.data(), words.size(), "%Y:%m:%d %H:%M:%S", &time) > 0) shot.taken = words.data();
    }
    return shot;
}

}  // namespace

DecoderResult open_raw(std::span<const std::uint8_t> bytes, const Work& work) {
    auto raw = std::make_unique<LibRaw>(LIBRAW_OPIONS_NO_MEMERR_CALLBACK | LIBRAW_OPIONS_NO_DATAERR_CALLBACK);
    const auto wrong = [&](int code) -> Error {
        if (code == LIBRAW_CANCELLED_BY_CALLBACK) return work.cancelled();
        if (code == LIBRAW_FILE_UNSUPPORTED || code == LIBRAW_NOT_IMPLEMENTED || code == LIBRAW_UNSUPPORTED_THUMBNAIL)
            return {Fault::picture_unsupported, work.file, "", "is a camera raw file of a kind that cannot be decoded here",
                    "develop it without any look or tone curve and save it as TIFF of 16 bits, or convert it to DNG"};
        return damaged(work.file, printable(LibRaw::strerror(code), 60));
    };
    bool broken = false;
    raw->set_dataerror_handler([](void* flag, const char*, const int) { *static_cast<bool*>(flag) = true; }, &broken);
    raw->set_progress_handler(
        [](void* data, LibRaw_progress stage, int, int) {
            const Work& job = *static_cast<const Work*>(data);
            // Stages are bits in the order of the work; the last of interest is LIBRAW_PROGRESS_CONVERT_RGB, bit 17 or so.
            job.done(0.1F + 0.5F * std::min(1.0F, std::log2(1.0F + static_cast<float>(stage)) / 20.0F));
            return job.stop.stop_requested() ? 1 : 0;
        },
        const_cast<Work*>(&work));

    auto& how = raw->imgdata.params;
    how.output_color = 0;  // the sensor's own
    how.use_camera_wb = how.use_auto_wb = 0;
    std::fill(std::begin(how.user_mul), std::end(how.user_mul), 1.0F);
    how.use_camera_matrix = 0;
    how.no_auto_bright = 1;
    how.no_auto_scale = 0;       // black taken off, the sensor's top to 65535
    how.adjust_maximum_thr = 0;  // the top is the camera's, not the picture's
    how.highlight = 0;
    how.user_qual = 0;  // bilinear: every pixel is a mean of measured ones
    how.max_raw_memory_mb = 1024;

    if (const int code = raw->open_buffer(const_cast<std::uint8_t*>(bytes.data()), bytes.size()); code != LIBRAW_SUCCESS) return wrong(code);
    const auto& sizes = raw->imgdata.sizes;
    if (sizes.width == 0 || sizes.height == 0) return damaged(work.file, "its header gives no size");
    if (auto size = check_size(sizes.raw_width, sizes.raw_height, work.file); !size) return size.error();
    // A pixel takes at least a bit before it can be left out; many times that is allowed.
    if (static_cast<std::uint64_t>(sizes.raw_width) * sizes.raw_height > 256 * static_cast<std::uint64_t>(bytes.size()))
        return damaged(work.file, "its header promises more pixels than the file can hold");
    const int colors = raw->imgdata.idata.colors;
    if (colors != 1 && colors != 3)
        return Error{Fault::picture_unsupported, work.file, "", "comes from a sensor of " + std::to_string(colors) + " colors",
                     "develop it without any look or tone curve and save it as TIFF of 16 bits"};
    if (const int code = raw->unpack(); code != LIBRAW_SUCCESS) return wrong(code);
    if (broken) return damaged(work.file, "its pixels end early");

    StoredPicture picture;
    picture.bits = static_cast<int>(std::clamp(raw->imgdata.color.raw_bps, 1U, 64U));
    picture.several = raw->imgdata.idata.raw_count > 1;
    picture.shot = shot_of(*raw);
    SensorColor sensor;
    if (colors == 3) {
        sensor.from_xyz_d65 = matrix_of(raw->imgdata.color);
        const float* gain = raw->imgdata.color.cam_mul;
        if (gain[0] > 0 && gain[1] > 0 && gain[2] > 0 && std::isfinite(gain[0] + gain[1] + gain[2]))
            sensor.neutral_as_shot = {static_cast<double>(gain[1] / gain[0]), 1.0, static_cast<double>(gain[1] / gain[2])};
    }
    picture.sensor = sensor;
    picture.channels = colors;
    picture.kind = SampleKind::bits16;
    picture.color = {std::nullopt, Transfer{TransferKind::linear}, "camera raw"};
    picture.orientation = kOrientation[static_cast<std::size_t>(sizes.flip & 7)];
    // LibRaw 0.20 takes the black level off linear DNG, but not off the level it then calls white.
    if (raw->imgdata.idata.dng_version != 0 && raw->imgdata.idata.filters == 0 && colors == 3) {
        const auto& color = raw->imgdata.color;
        const unsigned black = color.black + std::min({color.cblack[0], color.cblack[1], color.cblack[2]});
        if (black < color.maximum) how.user_sat = static_cast<int>(color.maximum - black);
    }
    if (const int code = raw->dcraw_process(); code != LIBRAW_SUCCESS) return wrong(code);
    if (broken) return damaged(work.file, "its pixels end early");
    picture.width = sizes.iwidth;
    picture.height = sizes.iheight;
    if (raw->imgdata.image == nullptr || picture.width <= 0 || picture.height <= 0) return damaged(work.file, "it holds no pixels");
    raw->set_progress_handler(nullptr, nullptr);
    raw->set_dataerror_handler(nullptr, nullptr);
    return DecoderResult(std::make_unique<RawDecoder>(std::move(picture), std::move(raw)));
}

}  // namespace sw
