// JPEG, PNG, TIFF and OpenEXR through OpenImageIO.
#include <OpenImageIO/filesystem.h>
#include <OpenImageIO/imageio.h>
#include <OpenImageIO/tiffutils.h>

#include <cmath>

#include "photo/codec/module.hpp"
#include "photo/words.hpp"

namespace sw::codec_module {
namespace {

std::string words_of(OIIO::ImageInput& input) {
    const std::string words = printable(input.geterror());
    return words.empty() ? "the decoder stopped" : words;
}

std::optional<double> figure(const OIIO::ImageSpec& spec, const char* name) {
    const float value = spec.get_float_attribute(name, -1);
    constexpr float kAbsurd = 1e7F;
    if (!(value > 0 && value < kAbsurd)) return std::nullopt;
    return value;
}

/// EXIF 2.32 names as OpenImageIO spells them.
Shot shot_of(const OIIO::ImageSpec& spec) {
    const auto text = [&](const char* name) { return printable(spec.get_string_attribute(name), 60); };
    Shot shot{text("Make"), text("Model"), text("Exif:LensModel"), text("Exif:DateTimeOriginal"), "", {}, {}, {}, {}};
    if (shot.taken.empty()) shot.taken = text("DateTime");
    const int balance = spec.get_int_attribute("Exif:WhiteBalance", -1);
    shot.white_balance = balance == 0 ? "auto" : balance == 1 ? "set by hand" : "";
    shot.iso = figure(spec, "Exif:PhotographicSensitivity");
    if (!shot.iso) shot.iso = figure(spec, "Exif:ISOSpeedRatings");
    shot.exposure_s = figure(spec, "ExposureTime");
    shot.f_number = figure(spec, "FNumber");
    shot.focal_mm = figure(spec, "Exif:FocalLength");
    return shot;
}

void take_metadata(const OIIO::ImageSpec& spec, StoredPicture& picture) {
    picture.shot = shot_of(spec);
    const int orientation = spec.get_int_attribute("Orientation", 1);
    picture.orientation = orientation >= 1 && orientation <= 8 ? orientation : 1;
    constexpr int kUncalibrated = 65535;  // EXIF 2.32, tag ColorSpace
    picture.says_not_srgb = spec.get_int_attribute("Exif:ColorSpace", 1) == kUncalibrated;
}

const char* decoder_name(PictureFormat format) {
    return format == PictureFormat::jpeg ? "jpeg" : format == PictureFormat::png ? "png" : format == PictureFormat::exr ? "openexr" : "tiff";
}

/// TIFF: what the directory says about size, against the file's bytes.
Result<Done> check_tiff(const OIIO::ImageSpec& spec, std::size_t file_bytes, const std::string& file) {
    constexpr int kPalette = 3, kSharedChroma = 6;
    const int kind = spec.get_int_attribute("tiff:PhotometricInterpretation", 2);
    const std::string compression = spec.get_string_attribute("compression");
    const std::uint64_t ratio = compression == "none" ? 1 : compression == "lzw" || compression == "zip" || compression == "packbits" ? 1400 : 0;
    const auto bits = static_cast<std::uint64_t>(std::max(1, spec.get_int_attribute("oiio:BitsPerSample", 8)));
    const std::uint64_t channels = kind == kPalette || kind == kSharedChroma ? 1 : static_cast<std::uint64_t>(spec.nchannels);
    const std::uint64_t bytes = static_cast<std::uint64_t>(spec.width) * static_cast<std::uint64_t>(spec.height) * channels * bits / 8;
    if (ratio != 0 && bytes / ratio > file_bytes) return damaged(file, "its header promises more pixels than the file can hold");
    return Done{};
}

class CommonDecoder final : public Decoder {
public:
    static DecoderResult open(std::span<const std::uint8_t> bytes, const FileHeader& header, const Work& work) {
        // OpenImageIO only reads from it.
        auto memory = std::make_unique<OIIO::Filesystem::IOMemReader>(const_cast<std::uint8_t*>(bytes.data()), bytes.size());
        OIIO::ImageSpec wish, spec;
        wish.attribute("oiio:UnassociatedAlpha", 1);  // colors not multiplied by transparency
        wish.attribute("oiio:RawColor", 1);           // inks stay inks
        const std::string name = decoder_name(header.format), kind = display_name(header.format);
        std::unique_ptr<OIIO::ImageInput> input = OIIO::ImageInput::create(name, false, nullptr, memory.get());
        if (!input) return Error{Fault::internal, work.file, "", "this build cannot decode " + kind, "install OpenImageIO with " + kind};
        input->set_ioproxy(memory.get());
        if (!input->open("picture." + name, spec, wish)) return damaged(work.file, words_of(*input));
        auto decoder = std::unique_ptr<CommonDecoder>(new CommonDecoder(std::move(memory), std::move(input), spec, work.file));
        if (auto described = decoder->describe(bytes, header); !described) return described.error();
        return DecoderResult(std::move(decoder));
    }

    Result<Done> rows(int first, int last, void* samples) override {
        if (inks_) return inks_(first, last, static_cast<std::uint8_t*>(samples));
        if (!alpha_) return read(first, last, picture_.channels, samples);
        const std::size_t pixels = static_cast<std::size_t>(last - first) * static_cast<std::size_t>(picture_.width);
        const std::size_t size = picture_.kind == SampleKind::bits8 ? 1 : picture_.kind == SampleKind::bits16 ? 2 : 4;
        with_alpha_.resize(pixels * static_cast<std::size_t>(picture_.channels + 1) * size);
        if (auto got = read(first, last, picture_.channels + 1, with_alpha_.data()); !got) return got;
        const auto drop = [&](auto* out, float top) {
            using Sample = std::remove_pointer_t<decltype(out)>;
            transparent_ += drop_alpha(reinterpret_cast<const Sample*>(with_alpha_.data()), pixels, picture_.channels, multiplied_, top, out);
        };
        if (picture_.kind == SampleKind::bits8) drop(static_cast<std::uint8_t*>(samples), 255);
        if (picture_.kind == SampleKind::bits16) drop(static_cast<std::uint16_t*>(samples), 65535);
        if (picture_.kind == SampleKind::floats) drop(static_cast<float*>(samples), 1);
        return Done{};
    }

    Result<Done> finish(std::vector<std::string>& notes) override {
        if (input_->has_error()) return damaged(file_, words_of(*input_));  // decoders fill up what is missing and only warn
        picture_.several = picture_.several || input_->seek_subimage(1, 0);
        (void)input_->geterror();  // "no second picture" is no error
        if (alpha_) note_alpha(transparent_, static_cast<std::size_t>(picture_.width) * static_cast<std::size_t>(picture_.height), notes);
        return Done{};
    }

private:
    CommonDecoder(std::unique_ptr<OIIO::Filesystem::IOMemReader> memory, std::unique_ptr<OIIO::ImageInput> input, const OIIO::ImageSpec& spec,
                  std::string file)
        : Decoder({}), memory_(std::move(memory)), input_(std::move(input)), spec_(spec), file_(std::move(file)) {}

    Result<Done> read(int first, int last, int channels, void* samples) {
        const OIIO::TypeDesc type = picture_.kind == SampleKind::bits8    ? OIIO::TypeDesc::UINT8
                                    : picture_.kind == SampleKind::bits16 ? OIIO::TypeDesc::UINT16
                                                                          : OIIO::TypeDesc::FLOAT;
        const bool read = spec_.tile_width == 0 ? input_->read_scanlines(0, 0, spec_.y + first, spec_.y + last, spec_.z, 0, channels, type, samples)
                                                : input_->read_tiles(0, 0, spec_.x, spec_.x + spec_.width, spec_.y + first, spec_.y + last, spec_.z,
                                                                     spec_.z + 1, 0, channels, type, samples);
        if (!read) return damaged(file_, words_of(*input_));
        return Done{};
    }

    Result<Done> describe(std::span<const std::uint8_t> bytes, const FileHeader& header) {
        const auto unsupported = [&](const std::string& cause, const std::string& remedy) {
            return Error{Fault::picture_unsupported, file_, "", cause, remedy};
        };
        if (spec_.width <= 0 || spec_.height <= 0 || spec_.nchannels <= 0) return damaged(file_, "its header gives no size");
        if (spec_.depth > 1 || spec_.deep) return unsupported("is a volume, not a picture", "save one layer as RGB");
        if (auto size = check_size(static_cast<std::uint64_t>(spec_.width), static_cast<std::uint64_t>(spec_.height), file_); !size)
            return size.error();
        if (header.format == PictureFormat::tiff) {
            if (auto checked = check_tiff(spec_, bytes.size(), file_); !checked) return checked.error();
        }
        constexpr std::uint64_t kLargestTile = 1 << 26;
        if (static_cast<std::uint64_t>(spec_.tile_width) * static_cast<std::uint64_t>(spec_.tile_height) > kLargestTile)
            return unsupported("is stored in tiles that are too large", "save it again without tiles");
        constexpr int kMostChannels = 8;
        if (spec_.nchannels > kMostChannels) return unsupported("has " + std::to_string(spec_.nchannels) + " channels", "save it as RGB");

        take_metadata(spec_, picture_);
        if (!header.exif.empty()) take_exif(header.exif, picture_);
        if (header.format == PictureFormat::tiff && !picture_.shot.iso) {  // the TIFF reader misses this one
            StoredPicture again;
            take_exif(bytes, again);
            picture_.shot.iso = again.shot.iso;
        }
        picture_.width = spec_.width;
        picture_.height = spec_.height;
        picture_.rows_at_once = spec_.tile_width != 0 ? spec_.tile_height : 0;
        picture_.several = header.several;
        picture_.channels = header.inks ? 4 : spec_.nchannels >= 3 ? 3 : 1;
        alpha_ = !header.inks && spec_.alpha_channel == picture_.channels;
        multiplied_ = spec_.get_int_attribute("oiio:UnassociatedAlpha", 0) == 0 && header.format != PictureFormat::png;
        if (!alpha_ && !header.inks && spec_.alpha_channel >= 0) picture_.notes.emplace_back("the picture's transparency was ignored");
        if (!header.inks && spec_.nchannels > picture_.channels + (spec_.alpha_channel >= 0 ? 1 : 0))
            picture_.notes.emplace_back("more channels than red, green and blue; the others were ignored");

        const auto stored = static_cast<OIIO::TypeDesc::BASETYPE>(spec_.format.basetype);
        const bool floats = stored == OIIO::TypeDesc::HALF || stored == OIIO::TypeDesc::FLOAT || stored == OIIO::TypeDesc::DOUBLE;
        if (!floats && stored != OIIO::TypeDesc::UINT8 && stored != OIIO::TypeDesc::UINT16)
            return unsupported("stores its pixels as " + printable(spec_.format.c_str(), 20), "save it with 8 or 16 bits a channel");
        picture_.kind = floats ? SampleKind::floats : stored == OIIO::TypeDesc::UINT16 ? SampleKind::bits16 : SampleKind::bits8;
        picture_.bits = std::clamp(spec_.get_int_attribute("oiio:BitsPerSample", static_cast<int>(spec_.format.basesize()) * 8), 1, 64);

        if (const OIIO::ParamValue* icc = spec_.find_attribute("ICCProfile")) {
            const auto* data = static_cast<const std::uint8_t*>(icc->data());
            picture_.profile.assign(data, data + icc->datasize());
        } else if (header.has_profile) {  // the decoder threw it away without a word
            return Error{Fault::profile_broken, file_, "embedded color profile", "cannot be read",
                         "save the picture with a valid profile, or remove the profile"};
        }
        if (header.format == PictureFormat::exr) return describe_exr();
        if (header.format == PictureFormat::png && !header.says_srgb) describe_png(header);
        if (header.inks) return describe_inks(bytes, header);
        return Done{};
    }

    Result<Done> describe_exr() {
        const auto& names = spec_.channelnames;
        const auto named = [&](std::size_t i, const char* name) { return names.size() > i && names[i] == name; };
        const bool rgb = named(0, "R") && named(1, "G") && named(2, "B");
        const bool gray = named(0, "Y") && (names.size() == 1 || (names.size() == 2 && named(1, "A")));
        if (!rgb && !gray) {
            std::string list;
            for (const auto& name : names) list += (list.empty() ? "" : ", ") + printable(name, 20);
            return Error{Fault::picture_unsupported, file_, "", "has no channels R, G and B (but " + list + ")", "save one layer of it as plain RGB"};
        }
        picture_.color = {std::nullopt, Transfer{TransferKind::linear}, "OpenEXR"};
        if (const OIIO::ParamValue* xy = spec_.find_attribute("chromaticities"); xy != nullptr && xy->type().basevalues() == 8) {
            Chromaticities primaries{};
            for (std::size_t i = 0; i < 8; ++i) primaries[i] = static_cast<double>(xy->get_float_indexed(static_cast<int>(i)));
            picture_.color.primaries = primaries;
        } else if (rgb) {
            picture_.notes.emplace_back("the file does not say its primaries; those of sRGB were taken");
        }
        return Done{};
    }

    void describe_png(const FileHeader& header) {
        constexpr double kSrgbGamma = 2.2, kSlack = 0.02;  // libpng's 45455: what programs write that mean sRGB
        picture_.color.words = "PNG";
        picture_.color.primaries = header.primaries;
        if (!header.gamma || std::abs(*header.gamma - kSrgbGamma) < kSlack || *header.gamma < 0.2 || *header.gamma > 5) return;
        const bool straight = std::abs(*header.gamma - 1) < 1e-3;
        picture_.color.curve = Transfer{straight ? TransferKind::linear : TransferKind::gamma, *header.gamma};
    }

    Result<Done> describe_inks(std::span<const std::uint8_t> bytes, const FileHeader& header) {
        if (picture_.profile.empty()) return cmyk(file_);
        if (header.format == PictureFormat::jpeg) {
            inks_ = inks_of_jpeg(bytes, file_);
            if (!inks_) return damaged(file_, "the decoder stopped");
        } else if (spec_.nchannels != 4 || picture_.kind == SampleKind::floats) {
            return Error{Fault::picture_unsupported, file_, "", "has other inks than cyan, magenta, yellow and black",
                         "convert it to RGB with its profile"};
        }
        picture_.notes.emplace_back("a CMYK picture: its inks were turned into colors by its profile; a press cannot print all colors");
        return Done{};
    }

    std::unique_ptr<OIIO::Filesystem::IOMemReader> memory_;  // before what reads from it: destroyed last
    std::unique_ptr<OIIO::ImageInput> input_;
    OIIO::ImageSpec spec_;
    std::string file_;
    std::function<Result<Done>(int, int, std::uint8_t*)> inks_;
    bool alpha_ = false, multiplied_ = false;
    std::vector<std::uint8_t> with_alpha_;
    std::size_t transparent_ = 0;
};

}  // namespace

DecoderResult open_stored(std::span<const std::uint8_t> bytes, const FileHeader& header, const Work& work) {
    return CommonDecoder::open(bytes, header, work);
}

void take_exif(std::span<const std::uint8_t> exif, StoredPicture& picture) {
    OIIO::ImageSpec spec;
    if (OIIO::decode_exif(OIIO::cspan<std::uint8_t>(exif.data(), static_cast<std::ptrdiff_t>(exif.size())), spec)) take_metadata(spec, picture);
}

}  // namespace sw::codec_module
