#include "photo/photo.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <nettle/sha1.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cmath>
#include <cstddef>
#include <cstring>
#include <exception>
#include <future>
#include <memory>
#include <new>
#include <optional>
#include <span>
#include <utility>

#include "photo/codec.hpp"
#include "photo/decoder.hpp"
#include "photo/file_header.hpp"
#include "photo/linearize.hpp"
#include "photo/placement.hpp"
#include "photo/words.hpp"

namespace sw {
namespace {

constexpr std::uint64_t kLargestFile = 4'000'000'000;
constexpr float kReadShare = 0.1F;       // of the progress: reading the file
constexpr float kBrightest = 10'000.0F;  // float pictures: beyond this is no light but a fault
constexpr std::size_t kBlockPixels = 1 << 17;

using Buffer = std::vector<std::uint8_t>;

/// Opened without waiting, so that a pipe cannot hang us, and looked at through the open handle, so that it cannot change in between.
Result<Buffer> read_file(const std::filesystem::path& path, const Work& work) {
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

    Buffer bytes(static_cast<std::size_t>(size));
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

std::string content_hash(const Buffer& bytes) {
    sha1_ctx state;
    sha1_init(&state);
    sha1_update(&state, bytes.size(), bytes.data());
    std::array<std::uint8_t, SHA1_DIGEST_SIZE> hash{};
    sha1_digest(&state, hash.size(), hash.data());
    constexpr const char* kDigits = "0123456789abcdef";
    std::string digest;
    for (const std::uint8_t byte : hash) digest += {kDigits[byte >> 4U], kDigits[byte & 15U]};
    return "sha1:" + digest;
}

bool at_top(std::uint8_t code) { return code >= Photo::kTopCode; }
bool at_top(std::uint16_t code) { return code >= 65404; }  // 0.998 of the range
bool at_top(float value) { return value >= 1.0F; }

/// The usual case, three channels in a row, without branches: a fifth of loading a photo went into the loop over channels.
template <class Sample>
void mark_clipped(const Sample* samples, std::size_t pixels, std::uint8_t* marks) {
    for (std::size_t i = 0; i < pixels; ++i, samples += 3)
        marks[i] = static_cast<std::uint8_t>(static_cast<unsigned>(at_top(samples[0])) | static_cast<unsigned>(at_top(samples[1])) |
                                             static_cast<unsigned>(at_top(samples[2])));
}

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

/// OpenEXR has no top, but what the camera or a converter cut off has: there many pixels share the largest value of a channel. A picture that was
/// computed has such places too, hence only a note.
void note_plateau(Photo& photo) {
    constexpr float kSame = 1 - 1e-5F;
    std::array<float, 3> top{};
    for (std::size_t i = 0; i < photo.rgb.size(); ++i) top[i % 3] = std::max(top[i % 3], photo.rgb[i]);
    std::array<std::size_t, 3> count{};
    for (std::size_t i = 0; i < photo.rgb.size(); ++i) count[i % 3] += photo.rgb[i] >= top[i % 3] * kSame ? 1 : 0;
    const std::size_t many = std::max<std::size_t>(16, photo.clipped.size() / 2000);
    if (*std::max_element(count.begin(), count.end()) >= many)
        photo.notes.emplace_back(
            "OpenEXR does not say where the camera's range ends, and many pixels share the largest value: if they were cut off there, "
            "do not measure them");
}

/// A clipped place of the sensor reaches into the neighbors that were interpolated from it.
void widen_clipped(Photo& photo) {
    const std::size_t width = static_cast<std::size_t>(photo.width), pixels = photo.clipped.size();
    Pixels<std::uint8_t> wide = photo.clipped;
    for (std::size_t i = 0; i < pixels; ++i) {
        if (photo.clipped[i] == 0) continue;
        const std::size_t x = i % width, y = i / width;
        for (std::size_t v = y > 0 ? y - 1 : 0; v <= std::min(y + 1, pixels / width - 1); ++v) {
            for (std::size_t u = x > 0 ? x - 1 : 0; u <= std::min(x + 1, width - 1); ++u) wide[v * width + u] = 1;
        }
    }
    photo.clipped.swap(wide);
}

/// Calls put(x, y) for the stored pixels of these rows.
template <class Put>
void for_each_stored(const StoredPicture& stored, const Placement& to, int first, int last, const Put& put) {
    if (to.width == stored.width) {
        for (int y = first; y < last; ++y) {
            for (int x = 0; x < stored.width; ++x) put(x, y);
        }
    } else {  // turned: down the columns, so that writes run along rows
        for (int x = 0; x < stored.width; ++x) {
            for (int y = first; y < last; ++y) put(x, y);
        }
    }
}

int rows_at_once(const StoredPicture& stored) {
    return stored.rows_at_once != 0 ? stored.rows_at_once : std::max(1, static_cast<int>(kBlockPixels / static_cast<std::size_t>(stored.width)));
}

float share_read(const StoredPicture& stored, int last) {
    return kReadShare + (1 - kReadShare) * static_cast<float>(last) / static_cast<float>(stored.height);
}

/// The codes stay what they are.
Result<Done> decode_codes(Decoder& decoder, const Placement& to, const Work& work, Photo& photo) {
    const StoredPicture& stored = decoder.picture();
    const auto width = static_cast<std::size_t>(stored.width);
    photo.codes.resize(3 * width * static_cast<std::size_t>(stored.height));
    const int rows = rows_at_once(stored);
    const bool upright = photo.orientation == 1;
    std::vector<std::uint8_t> block(upright ? 0 : 3 * width * static_cast<std::size_t>(std::min(rows, stored.height)));
    for (int first = 0; first < stored.height; first += rows) {
        if (work.stop.stop_requested()) return work.cancelled();
        const int last = std::min(stored.height, first + rows);
        std::uint8_t* samples = upright ? &photo.codes[3 * width * static_cast<std::size_t>(first)] : block.data();
        if (auto got = decoder.rows(first, last, samples); !got) return got;
        if (!upright) {
            for_each_stored(stored, to, first, last, [&](int x, int y) {
                const std::size_t from = static_cast<std::size_t>(y - first) * width + static_cast<std::size_t>(x);
                std::copy_n(&block[3 * from], 3, &photo.codes[3 * static_cast<std::size_t>(to.start + x * to.step_x + y * to.step_y)]);
            });
        }
        work.done(share_read(stored, last));
    }
    return Done{};
}

template <class Sample>
Result<Done> decode_light(Decoder& decoder, const Placement& to, const Linearizer& linearizer, const Work& work, Photo& photo) {
    const StoredPicture& stored = decoder.picture();
    const auto width = static_cast<std::size_t>(stored.width), channels = static_cast<std::size_t>(stored.channels);
    const std::size_t total = width * static_cast<std::size_t>(stored.height);
    photo.rgb.resize(3 * total);  // not cleared: every pixel is written below

    const int rows = rows_at_once(stored);
    const std::size_t most = width * static_cast<std::size_t>(std::min(rows, stored.height));
    const bool inks = channels == 4, endless = stored.color.words == "OpenEXR";
    endless ? photo.clipped.assign(total, 0) : photo.clipped.resize(total);
    const auto clipped = [&](const Sample* sample) -> std::uint8_t {
        bool any = inks ? sample[0] + sample[1] + sample[2] + sample[3] == Sample{0} : false;  // bare paper
        for (std::size_t c = 0; c < channels && !inks; ++c) any = any || at_top(sample[c]);
        return any ? 1 : 0;
    };
    bool cleansed = false;
    const bool upright = photo.orientation == 1;
    std::vector<float> turned(upright ? 0 : 3 * most);
    const auto put_block = [&](std::vector<Sample>& samples, int first, int last) {
        const std::size_t pixels = width * static_cast<std::size_t>(last - first);
        cleansed = cleanse(samples, pixels * channels) || cleansed;
        if (upright) {
            const std::size_t into = static_cast<std::size_t>(first) * width;
            linearizer.convert(samples.data(), pixels, &photo.rgb[3 * into]);
            if (!endless && channels == 3)
                mark_clipped(samples.data(), pixels, &photo.clipped[into]);
            else
                for (std::size_t i = 0; i < pixels && !endless; ++i) photo.clipped[into + i] = clipped(&samples[i * channels]);
            return;
        }
        linearizer.convert(samples.data(), pixels, turned.data());
        for_each_stored(stored, to, first, last, [&](int x, int y) {
            const std::size_t from = static_cast<std::size_t>(y - first) * width + static_cast<std::size_t>(x);
            const auto into = static_cast<std::size_t>(to.start + x * to.step_x + y * to.step_y);
            std::copy_n(&turned[3 * from], 3, &photo.rgb[3 * into]);
            if (!endless) photo.clipped[into] = clipped(&samples[from * channels]);
        });
    };

    // One block is decoded while the one before is turned into light.
    std::array<std::vector<Sample>, 2> samples{std::vector<Sample>(most * channels), std::vector<Sample>(most * channels)};
    std::future<void> before;
    for (int first = 0, turn = 0; first < stored.height; first += rows, turn = 1 - turn) {
        if (work.stop.stop_requested()) return work.cancelled();
        const int last = std::min(stored.height, first + rows);
        std::vector<Sample>& block = samples[static_cast<std::size_t>(turn)];
        if (auto got = decoder.rows(first, last, block.data()); !got) return got;
        if (before.valid()) before.get();
        if (last < stored.height)
            before = std::async(std::launch::async, [&put_block, &block, first, last] { put_block(block, first, last); });
        else
            put_block(block, first, last);
        work.done(share_read(stored, last));
    }
    if (cleansed) photo.notes.emplace_back("some pixels held no number or an impossibly large one; they were taken as black");
    if (endless) note_plateau(photo);
    return Done{};
}

/// By the name's ending, which says nothing about the content but should fit it.
bool name_fits(PictureFormat format, const std::string& ending) {
    const auto is = [&](std::initializer_list<const char*> names) { return std::find(names.begin(), names.end(), ending) != names.end(); };
    switch (format) {
        case PictureFormat::jpeg:
            return is({".jpg", ".jpeg", ".jpe", ".jfif"});
        case PictureFormat::png:
            return is({".png", ".apng"});
        case PictureFormat::tiff:
            return is({".tif", ".tiff"});
        case PictureFormat::webp:
            return is({".webp"});
        case PictureFormat::heif:
            return is({".heic", ".heif", ".hif", ".avif"});
        case PictureFormat::exr:
            return is({".exr"});
        case PictureFormat::raw:
            return !is({".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif", ".exr"});  // each maker has its own
    }
    return true;
}

DecoderResult open_picture(std::span<const std::uint8_t> bytes, const FileHeader& header, const Work& work) {
    switch (header.format) {
        case PictureFormat::webp:
            return open_webp(bytes, header, work);
        case PictureFormat::heif:
            return open_heif(bytes, work);
        case PictureFormat::raw:
            return open_raw(bytes, work);
        case PictureFormat::jpeg:
        case PictureFormat::png:
        case PictureFormat::tiff:
        case PictureFormat::exr:
            break;
    }
    return open_common(bytes, header, work);
}

Result<Photo> load(const std::filesystem::path& path, const Transfer& transfer, const Work& work) {
    auto read = read_file(path, work);
    if (!read) return read.error();
    const Buffer& bytes = *read;
    const auto header = read_file_header(bytes, work.file);
    if (!header) return header.error();
    const std::string kind = display_name(header->format);

    if (const auto opened = codec(); !opened) return opened.error();
    Photo photo;
    photo.path = work.file;
    std::future<std::string> hash = std::async(std::launch::async, [&bytes] { return content_hash(bytes); });
    std::string ending = path.extension().string();
    std::transform(ending.begin(), ending.end(), ending.begin(), [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
    if (!name_fits(header->format, ending) && !ending.empty())
        photo.notes.push_back("the name ends in " + printable(ending, 10) + " but the file is a " + kind + "; read as " + kind);
    if (header->format == PictureFormat::png && header->several) photo.notes.emplace_back("the file holds an animation; its first picture was taken");

    auto opened = open_picture(bytes, *header, work);
    if (!opened) return opened.error();
    Decoder& decoder = **opened;
    const StoredPicture& stored = decoder.picture();
    photo.notes.insert(photo.notes.end(), stored.notes.begin(), stored.notes.end());
    photo.orientation = stored.orientation;
    photo.bits = stored.bits;
    photo.shot = stored.shot;
    photo.taken = stored.shot.taken;
    const std::string &make = stored.shot.make, &model = stored.shot.model;
    photo.camera = make.empty() || model.starts_with(make) ? model : model.empty() ? make : make + " " + model;
    photo.sensor = stored.sensor;
    if (stored.channels == 1) photo.notes.emplace_back("a gray picture: it shows lightness but no color");

    const bool raw = header->format == PictureFormat::raw;
    if (raw && transfer.kind != TransferKind::automatic && transfer.kind != TransferKind::linear)
        photo.notes.emplace_back("a camera raw file is linear: the transfer asked for was not used");
    const int bits = stored.kind == SampleKind::floats ? 32 : stored.kind == SampleKind::bits16 ? 16 : 8;
    auto linearizer = Linearizer::make(stored.profile, raw ? Transfer{} : transfer, stored.channels, bits, work.file, stored.color);
    if (!linearizer) return linearizer.error();
    photo.encoding = linearizer->encoding();
    photo.encoded = linearizer->kind();
    photo.encoding_by = linearizer->decided_by();
    photo.untagged = photo.encoding_by == DecidedBy::nobody;
    photo.channels = stored.channels;
    photo.transfer = transfer;
    if (transfer.kind == TransferKind::automatic) photo.profile.assign(stored.profile.begin(), stored.profile.end());
    photo.linear = linearizer->linear();
    photo.native_from_srgb = linearizer->native_from_srgb();
    photo.notes.insert(photo.notes.end(), linearizer->notes().begin(), linearizer->notes().end());
    if (photo.untagged && stored.says_not_srgb)
        photo.notes.emplace_back(
            "the camera says its colors are not sRGB, but the file holds no profile: set the camera to sRGB or save with the profile");
    if (photo.untagged && stored.kind == SampleKind::floats)
        photo.notes.emplace_back("a float picture without a profile is mostly linear: if this one is, ask for the linear transfer");
    if (raw) photo.notes.emplace_back("camera raw: linear, not balanced; neutrals look green until a white is set");

    const Placement to = placement(photo.orientation, stored.width, stored.height);
    photo.width = to.width;
    photo.height = to.height;
    photo.table = linearizer->table();
    Result<Done> decoded = Done{};
    if (photo.table)
        decoded = decode_codes(decoder, to, work, photo);
    else if (bits == 8)
        decoded = decode_light<std::uint8_t>(decoder, to, *linearizer, work, photo);
    else if (bits == 16)
        decoded = decode_light<std::uint16_t>(decoder, to, *linearizer, work, photo);
    else
        decoded = decode_light<float>(decoder, to, *linearizer, work, photo);
    if (decoded) decoded = decoder.finish(photo.notes);
    if (!decoded) return decoded.error();
    if (raw) widen_clipped(photo);
    photo.content_hash = hash.get();
    if (decoder.picture().several && header->format != PictureFormat::png)
        photo.notes.emplace_back("the file holds several pictures; the first one was taken");
    return photo;
}

}  // namespace

const float* Photo::row(int y, std::vector<float>& room) const {
    const std::size_t from = 3 * index(0, y), count = 3 * static_cast<std::size_t>(width);
    if (!table) return &rgb[from];
    room.resize(count);
    for (std::size_t i = 0; i < count; i += 3) {
        const std::array<float, 3> light = table->at(&codes[from + i]);
        std::copy(light.begin(), light.end(), &room[i]);
    }
    return room.data();
}

Photo as_light(Photo photo) {
    if (!photo.table) return photo;
    photo.rgb.resize(photo.codes.size());
    photo.clipped.resize(photo.codes.size() / 3);
    for (std::size_t i = 0; i < photo.clipped.size(); ++i) {
        const std::uint8_t* code = &photo.codes[3 * i];
        const std::array<float, 3> light = photo.table->at(code);
        std::copy(light.begin(), light.end(), &photo.rgb[3 * i]);
        photo.clipped[i] = at_top(std::max({code[0], code[1], code[2]})) ? 1 : 0;
    }
    photo.codes = {};
    photo.table.reset();
    return photo;
}

Result<std::string> file_hash(const std::filesystem::path& path) {
    const std::function<void(float)> nobody;
    const auto bytes = read_file(path, Work{path.string(), {}, nobody});
    if (!bytes) return bytes.error();
    return content_hash(*bytes);
}

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
