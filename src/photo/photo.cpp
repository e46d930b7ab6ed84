#include "photo/photo.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <OpenImageIO/filesystem.h>
#include <OpenImageIO/hash.h>
#include <OpenImageIO/imageio.h>

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstddef>
#include <cstring>
#include <exception>
#include <memory>
#include <new>
#include <optional>
#include <span>
#include <utility>

#include "photo/file_header.hpp"
#include "photo/linearize.hpp"
#include "photo/words.hpp"

namespace sw {
namespace {

constexpr std::uint64_t kLargestFile = 4'000'000'000;
constexpr float kReadShare = 0.1F;       // of the progress: reading the file
constexpr float kBrightest = 10'000.0F;  // float pictures: beyond this is no light but a fault
constexpr std::size_t kBlockPixels = 1 << 19;

using Bytes = std::vector<std::uint8_t>;

struct Work {
    std::string file;
    std::stop_token stop;
    const std::function<void(float)>& progress;

    void done(float share) const {
        if (progress) progress(share);
    }
    Error cancelled() const { return {Fault::cancelled, file, "", "was not loaded: stopped", "open it again when you want it"}; }
};

/// Opened without waiting, so that a pipe cannot hang us, and looked at through the open handle, so that it cannot change in between.
Result<Bytes> read_file(const std::filesystem::path& path, const Work& work) {
    struct Handle {
        int number;
        ~Handle() {
            if (number >= 0) ::close(number);
        }
    } const handle{::open(path.c_str(), O_RDONLY | O_NONBLOCK | O_CLOEXEC)};
    if (handle.number < 0) {
        const bool permission = errno == EACCES || errno == EPERM;
        return Error{Fault::file_missing, work.file, "", permission ? "may not be read (no permission)" : "there is no such file",
                     permission ? "change its permissions or copy it" : "check the name and the folder"};
    }
    struct stat status {};
    if (::fstat(handle.number, &status) != 0) return Error{Fault::file_missing, work.file, "", "cannot be looked at", "copy it to this machine"};
    if (S_ISDIR(status.st_mode)) return Error{Fault::not_a_picture, work.file, "", "is a folder", "name one picture inside it"};
    if (!S_ISREG(status.st_mode))
        return Error{Fault::not_a_picture, work.file, "", "is a pipe or a device, not a file", "save the picture to a file first"};
    const auto size = static_cast<std::uint64_t>(status.st_size);
    if (size > kLargestFile)
        return Error{Fault::picture_unsupported, work.file, "", "is larger than 4 gigabytes",
                     "crop it to the swatches and their references, or make it smaller"};

    Bytes bytes(static_cast<std::size_t>(size));
    std::size_t have = 0;
    while (have < bytes.size()) {
        if (work.stop.stop_requested()) return work.cancelled();
        const ssize_t got = ::read(handle.number, bytes.data() + have, std::min<std::size_t>(bytes.size() - have, 1 << 24));
        if (got < 0 && errno == EINTR) continue;
        if (got <= 0) return damaged(work.file, "it cannot be read to its end");
        have += static_cast<std::size_t>(got);
        work.done(kReadShare * static_cast<float>(have) / static_cast<float>(bytes.size()));
    }
    return bytes;
}

std::string content_hash(const Bytes& bytes) {
    OIIO::SHA1 sha;
    constexpr std::size_t kStep = 1 << 26;  // its counter is 32 bits
    for (std::size_t at = 0; at < bytes.size(); at += kStep) sha.append(bytes.data() + at, std::min(kStep, bytes.size() - at));
    std::string digest = sha.digest();
    std::transform(digest.begin(), digest.end(), digest.begin(), [](char c) { return c >= 'A' && c <= 'F' ? static_cast<char>(c - 'A' + 'a') : c; });
    return "sha1:" + digest;
}

/// Where stored pixel (x, y) goes in the upright picture: index start + x * step_x + y * step_y.
struct Placement {
    std::ptrdiff_t start, step_x, step_y;
    int width, height;
};

/// Source: EXIF 2.32 / TIFF 6.0, tag 274 Orientation (which side of the scene row 0 and column 0 show). Test: all eight, tests/photo/decode_test.cpp.
Placement place(int orientation, int stored_width, int stored_height) {
    const std::ptrdiff_t w = stored_width, h = stored_height;
    switch (orientation) {
        case 2:
            return {w - 1, -1, w, stored_width, stored_height};  // mirrored left to right
        case 3:
            return {w * h - 1, -1, -w, stored_width, stored_height};  // half a turn
        case 4:
            return {w * (h - 1), 1, -w, stored_width, stored_height};  // mirrored top to bottom
        case 5:
            return {0, h, 1, stored_height, stored_width};  // transposed
        case 6:
            return {h - 1, h, -1, stored_height, stored_width};  // to be turned clockwise
        case 7:
            return {h * w - 1, -h, -1, stored_height, stored_width};  // transposed over the other diagonal
        case 8:
            return {h * (w - 1), -h, 1, stored_height, stored_width};  // to be turned counterclockwise
        default:
            return {0, 1, w, stored_width, stored_height};
    }
}

bool at_top(std::uint8_t code) { return code >= 254; }
bool at_top(std::uint16_t code) { return code >= 65404; }  // 0.998 of the range
bool at_top(float value) { return value >= 1.0F; }

/// Values no light can have become 0; tells whether there were any.
bool cleanse(std::vector<float>& samples, std::size_t count) {
    bool any = false;
    for (std::size_t i = 0; i < count; ++i) {
        if (!(std::abs(samples[i]) <= kBrightest)) {  // NaN too
            samples[i] = 0;
            any = true;
        }
    }
    return any;
}
template <class Code>
bool cleanse(std::vector<Code>&, std::size_t) {
    return false;
}

std::string decoder_words(OIIO::ImageInput& input) {
    const std::string words = printable(input.geterror());
    return words.empty() ? "the decoder stopped" : words;
}

/// Rows first..last of the stored picture, `channels` of them.
bool read_rows(OIIO::ImageInput& input, const OIIO::ImageSpec& spec, int first, int last, int channels, OIIO::TypeDesc type, void* samples) {
    if (spec.tile_width == 0) return input.read_scanlines(0, 0, spec.y + first, spec.y + last, spec.z, 0, channels, type, samples);
    return input.read_tiles(0, 0, spec.x, spec.x + spec.width, spec.y + first, spec.y + last, spec.z, spec.z + 1, 0, channels, type, samples);
}

template <class Sample>
Result<Done> decode_rows(OIIO::ImageInput& input, const OIIO::ImageSpec& spec, int channels, OIIO::TypeDesc type, const Linearizer& linearizer,
                         const Work& work, Photo& photo) {
    const Placement to = place(photo.orientation, spec.width, spec.height);
    photo.width = to.width;
    photo.height = to.height;
    const std::size_t total = static_cast<std::size_t>(spec.width) * static_cast<std::size_t>(spec.height);
    photo.rgb.resize(3 * total);
    photo.clipped.resize(total);

    const auto width = static_cast<std::size_t>(spec.width);
    const int rows = spec.tile_width != 0 ? spec.tile_height : std::max(1, static_cast<int>(kBlockPixels / width));
    const std::size_t most = width * static_cast<std::size_t>(std::min(rows, spec.height));
    std::vector<Sample> samples(most * static_cast<std::size_t>(channels));
    std::vector<float> rgb(3 * most);
    bool cleansed = false;
    for (int first = 0; first < spec.height; first += rows) {
        if (work.stop.stop_requested()) return work.cancelled();
        const int last = std::min(spec.height, first + rows);
        if (!read_rows(input, spec, first, last, channels, type, samples.data())) return damaged(work.file, decoder_words(input));
        const std::size_t pixels = width * static_cast<std::size_t>(last - first);
        cleansed = cleanse(samples, pixels * static_cast<std::size_t>(channels)) || cleansed;
        linearizer.convert(samples.data(), pixels, rgb.data());

        const auto put = [&](int x, int y) {
            const std::size_t from = static_cast<std::size_t>(y - first) * width + static_cast<std::size_t>(x);
            const auto into = static_cast<std::size_t>(to.start + x * to.step_x + y * to.step_y);
            std::copy_n(&rgb[3 * from], 3, &photo.rgb[3 * into]);
            const Sample* sample = &samples[from * static_cast<std::size_t>(channels)];
            photo.clipped[into] = std::any_of(sample, sample + channels, [](Sample s) { return at_top(s); }) ? 1 : 0;
        };
        if (to.width == spec.width) {
            for (int y = first; y < last; ++y) {
                for (int x = 0; x < spec.width; ++x) put(x, y);
            }
        } else {  // turned: down the columns, so that writes run along rows
            for (int x = 0; x < spec.width; ++x) {
                for (int y = first; y < last; ++y) put(x, y);
            }
        }
        work.done(kReadShare + (1 - kReadShare) * static_cast<float>(last) / static_cast<float>(spec.height));
    }
    if (input.has_error()) return damaged(work.file, decoder_words(input));  // decoders fill up what is missing and only warn
    if (cleansed) photo.notes.emplace_back("some pixels held no number or an impossibly large one; they were taken as black");
    return Done{};
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
    constexpr std::uint64_t kLargestTile = 1 << 26;
    if (static_cast<std::uint64_t>(spec.tile_width) * static_cast<std::uint64_t>(spec.tile_height) > kLargestTile)
        return Error{Fault::picture_unsupported, file, "", "is stored in tiles that are too large", "save it again without tiles"};
    return Done{};
}

void read_metadata(const OIIO::ImageSpec& spec, Photo& photo) {
    const std::string make = printable(spec.get_string_attribute("Make"), 60), model = printable(spec.get_string_attribute("Model"), 60);
    photo.camera = make.empty() || model.starts_with(make) ? model : model.empty() ? make : make + " " + model;
    photo.taken = printable(spec.get_string_attribute("Exif:DateTimeOriginal"), 40);
    if (photo.taken.empty()) photo.taken = printable(spec.get_string_attribute("DateTime"), 40);
    const int orientation = spec.get_int_attribute("Orientation", 1);
    photo.orientation = orientation >= 1 && orientation <= 8 ? orientation : 1;
}

Result<Photo> load(const std::filesystem::path& path, const Transfer& transfer, const Work& work) {
    auto read = read_file(path, work);
    if (!read) return read.error();
    Bytes& bytes = *read;
    const auto header = read_file_header(bytes, work.file);
    if (!header) return header.error();
    const std::string kind = display_name(header->format);

    Photo photo;
    photo.path = work.file;
    photo.content_hash = content_hash(bytes);
    std::string extension = path.extension().string();
    std::transform(extension.begin(), extension.end(), extension.begin(),
                   [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
    const auto named = [&](std::initializer_list<const char*> names) { return std::find(names.begin(), names.end(), extension) != names.end(); };
    const bool fits = header->format == PictureFormat::jpeg  ? named({".jpg", ".jpeg", ".jpe", ".jfif"})
                      : header->format == PictureFormat::png ? named({".png", ".apng"})
                                                             : named({".tif", ".tiff"});
    if (!fits && !extension.empty())
        photo.notes.push_back("the name ends in " + printable(extension, 10) + " but the file is a " + kind + "; read as " + kind);
    if (header->animated) photo.notes.emplace_back("the file holds an animation; its first picture was taken");

    OIIO::Filesystem::IOMemReader memory(bytes.data(), bytes.size());
    OIIO::ImageSpec wish, spec;
    wish.attribute("oiio:UnassociatedAlpha", 1);  // colors not multiplied by transparency
    const std::unique_ptr<OIIO::ImageInput> input = OIIO::ImageInput::create(decoder_name(header->format), false, nullptr, &memory);
    if (!input) return Error{Fault::internal, work.file, "", "this build cannot decode " + kind, "install OpenImageIO with " + kind};
    input->set_ioproxy(&memory);
    if (!input->open(std::string("picture.") + decoder_name(header->format), spec, wish)) return damaged(work.file, decoder_words(*input));

    if (spec.width <= 0 || spec.height <= 0 || spec.nchannels <= 0) return damaged(work.file, "its header gives no size");
    if (spec.depth > 1 || spec.deep) return Error{Fault::picture_unsupported, work.file, "", "is a volume, not a picture", "save one layer as RGB"};
    if (auto size = check_size(static_cast<std::uint64_t>(spec.width), static_cast<std::uint64_t>(spec.height), work.file); !size)
        return size.error();
    if (header->format == PictureFormat::tiff) {
        if (auto checked = check_tiff(spec, bytes.size(), work.file); !checked) return checked.error();
    }
    constexpr int kMostChannels = 8;
    if (spec.nchannels > kMostChannels)
        return Error{Fault::picture_unsupported, work.file, "", "has " + std::to_string(spec.nchannels) + " channels", "save it as RGB"};

    read_metadata(spec, photo);
    const int channels = spec.nchannels >= 3 ? 3 : 1;
    if (spec.alpha_channel >= 0) photo.notes.emplace_back("the picture's transparency was ignored");
    if (spec.nchannels > channels + (spec.alpha_channel >= 0 ? 1 : 0))
        photo.notes.emplace_back("more channels than red, green and blue; the others were ignored");
    if (channels == 1) photo.notes.emplace_back("a gray picture: it shows lightness but no color");

    const OIIO::TypeDesc::BASETYPE stored = static_cast<OIIO::TypeDesc::BASETYPE>(spec.format.basetype);
    const bool floats = stored == OIIO::TypeDesc::HALF || stored == OIIO::TypeDesc::FLOAT || stored == OIIO::TypeDesc::DOUBLE;
    if (!floats && stored != OIIO::TypeDesc::UINT8 && stored != OIIO::TypeDesc::UINT16)
        return Error{Fault::picture_unsupported, work.file, "", "stores its pixels as " + printable(spec.format.c_str(), 20),
                     "save it with 8 or 16 bits a channel"};
    photo.bits = std::clamp(spec.get_int_attribute("oiio:BitsPerSample", static_cast<int>(spec.format.basesize()) * 8), 1, 64);

    std::span<const std::uint8_t> profile;
    if (const OIIO::ParamValue* icc = spec.find_attribute("ICCProfile"))
        profile = {static_cast<const std::uint8_t*>(icc->data()), static_cast<std::size_t>(icc->datasize())};
    const int bits = floats ? 32 : stored == OIIO::TypeDesc::UINT16 ? 16 : 8;
    auto linearizer = Linearizer::make(profile, transfer, channels, bits, work.file);
    if (!linearizer) return linearizer.error();
    photo.encoding = linearizer->encoding();
    photo.untagged = linearizer->untagged();
    photo.transfer = transfer;
    photo.channels = channels;
    if (transfer.kind == TransferKind::automatic) photo.profile.assign(profile.begin(), profile.end());
    photo.linear = linearizer->linear();
    photo.native_from_srgb = linearizer->native_from_srgb();
    photo.notes.insert(photo.notes.end(), linearizer->notes().begin(), linearizer->notes().end());
    constexpr int kUncalibrated = 65535;  // EXIF 2.32, tag ColorSpace
    if (photo.untagged && spec.get_int_attribute("Exif:ColorSpace", 1) == kUncalibrated)
        photo.notes.emplace_back(
            "the camera says its colors are not sRGB, but the file holds no profile: set the camera to sRGB or save with the profile");
    if (photo.untagged && floats)
        photo.notes.emplace_back("a float picture without a profile is mostly linear: if this one is, ask for the linear transfer");

    Result<Done> decoded = Done{};
    if (bits == 32) decoded = decode_rows<float>(*input, spec, channels, OIIO::TypeDesc::FLOAT, *linearizer, work, photo);
    if (bits == 16) decoded = decode_rows<std::uint16_t>(*input, spec, channels, OIIO::TypeDesc::UINT16, *linearizer, work, photo);
    if (bits == 8) decoded = decode_rows<std::uint8_t>(*input, spec, channels, OIIO::TypeDesc::UINT8, *linearizer, work, photo);
    if (!decoded) return decoded.error();

    if (input->seek_subimage(1, 0)) photo.notes.emplace_back("the file holds several pictures; the first one was taken");
    (void)input->geterror();  // "no second picture" is no error
    return photo;
}

}  // namespace

Result<Photo> load_photo(const std::filesystem::path& path, const Transfer& transfer, std::stop_token stop,
                         const std::function<void(float)>& progress) {
    const Work work{path.string(), std::move(stop), progress};
    try {
        return load(path, transfer, work);
    } catch (const std::bad_alloc&) {
        return Error{Fault::picture_unsupported, work.file, "", "needs more memory than there is", "make it smaller, or close other programs"};
    } catch (const std::exception& problem) {  // the decoder's: it promises none
        return damaged(work.file, printable(problem.what()));
    }
}

}  // namespace sw
