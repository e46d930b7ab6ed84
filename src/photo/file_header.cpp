#include "photo/file_header.hpp"

#include <algorithm>
#include <optional>
#include <string_view>

namespace sw {
namespace {

using Bytes = std::span<const std::uint8_t>;

bool starts(Bytes bytes, std::string_view signature, std::size_t at = 0) {
    return bytes.size() >= at + signature.size() && std::equal(signature.begin(), signature.end(), bytes.begin() + static_cast<std::ptrdiff_t>(at),
                                                               [](char a, std::uint8_t b) { return static_cast<std::uint8_t>(a) == b; });
}

/// Unsigned integer of `size` bytes; 0 past the end.
std::uint64_t number(Bytes bytes, std::size_t at, int size, bool big_endian = true) {
    if (at > bytes.size() || bytes.size() - at < static_cast<std::size_t>(size)) return 0;
    std::uint64_t value = 0;
    for (int i = 0; i < size; ++i) value = value << 8 | bytes[at + static_cast<std::size_t>(big_endian ? i : size - 1 - i)];
    return value;
}

/// Kinds people try, for a better message.
std::string known_kind(Bytes bytes) {
    using namespace std::string_view_literals;
    if (starts(bytes, "GIF8")) return "a GIF picture";
    if (starts(bytes, "BM")) return "a BMP picture";
    if (starts(bytes, "RIFF") && starts(bytes, "WEBP", 8)) return "a WebP picture";
    if (starts(bytes, "ftyp", 4)) return "a HEIF picture or a film";
    if (starts(bytes, "\x76\x2f\x31\x01"sv)) return "an OpenEXR picture";
    if (starts(bytes, "8BPS")) return "a layered picture of an editor";
    if (starts(bytes, "%PDF")) return "a PDF document";
    return "";
}

Error not_ours(Bytes bytes, const std::string& file) {
    const std::string kind = known_kind(bytes);
    return {Fault::not_a_picture, file, "", (kind.empty() ? "is not a picture" : "is " + kind + ", which this version does not read"),
            "save it as JPEG, PNG or TIFF"};
}

Result<FileHeader> jpeg_header(Bytes bytes, const std::string& file) {
    std::size_t at = 2;
    while (at + 4 <= bytes.size()) {
        if (bytes[at] != 0xFF || bytes[at + 1] == 0xFF) {  // fill bytes, or junk that decoders skip
            ++at;
            continue;
        }
        const int marker = bytes[at + 1];
        const bool frame = marker >= 0xC0 && marker <= 0xCF && marker != 0xC4 && marker != 0xC8 && marker != 0xCC;
        if (frame) {
            if (at + 10 > bytes.size()) break;
            FileHeader header{PictureFormat::jpeg, number(bytes, at + 7, 2), number(bytes, at + 5, 2), false};
            const int bits = bytes[at + 4], components = bytes[at + 9];
            if (components == 4) return cmyk(file);
            if (components != 1 && components != 3)
                return Error{Fault::picture_unsupported, file, "", "has " + std::to_string(components) + " color channels",
                             "save it as RGB JPEG, PNG or TIFF"};
            if (bits != 8)
                return Error{Fault::picture_unsupported, file, "", "is a JPEG of " + std::to_string(bits) + " bits a channel",
                             "save it as PNG or TIFF of 16 bits"};
            if (header.width == 0 || header.height == 0) return damaged(file, "its header gives no size");
            if (auto size = check_size(header.width, header.height, file); !size) return size.error();
            // A block of 8 x 8 pixels takes at least one bit; chroma blocks add to that. Twice that is allowed for arithmetic coding.
            if (header.width * header.height > 1024 * static_cast<std::uint64_t>(bytes.size()))
                return damaged(file, "its header promises more pixels than the file can hold");
            return header;
        }
        if (marker == 0xD9 || marker == 0xDA) break;                                               // end, or data without a frame
        const bool bare = marker == 0x00 || marker == 0x01 || (marker >= 0xD0 && marker <= 0xD8);  // markers without a length
        at += bare ? 2 : 2 + std::max<std::size_t>(2, static_cast<std::size_t>(number(bytes, at + 2, 2)));
    }
    return damaged(file, "it has no frame header");
}

Result<FileHeader> png_header(Bytes bytes, const std::string& file) {
    if (!starts(bytes, "IHDR", 12) || bytes.size() < 33) return damaged(file, "its header is cut off");
    FileHeader header{PictureFormat::png, number(bytes, 16, 4), number(bytes, 20, 4), false};
    if (header.width == 0 || header.height == 0) return damaged(file, "its header gives no size");
    if (auto size = check_size(header.width, header.height, file); !size) return size.error();
    const int kind = bytes[25];
    const std::uint64_t channels = kind == 2 ? 3 : kind == 4 ? 2 : kind == 6 ? 4 : 1;
    if (std::string_view("\1\2\4\10\20").find(static_cast<char>(bytes[24])) == std::string_view::npos)
        return damaged(file, "its header gives no bit depth");
    const std::uint64_t row = 1 + (header.width * channels * bytes[24] + 7) / 8;
    // Deflate (RFC 1951) holds at most 258 bytes in 2 bits: 1032 : 1.
    if (row * header.height / 1032 > bytes.size()) return damaged(file, "its header promises more pixels than the file can hold");
    // Every chunk must be whole: what is cut off is found before anything is decoded, and no chunk's length is taken on trust.
    for (std::size_t at = 33; !starts(bytes, "IEND", at + 4);) {
        const std::uint64_t length = number(bytes, at, 4);
        if (at + 12 > bytes.size() || length > bytes.size() - at - 12) return damaged(file, "its end is missing");
        if (starts(bytes, "acTL", at + 4)) header.animated = number(bytes, at + 8, 4) > 1;
        at += 12 + static_cast<std::size_t>(length);
    }
    return header;
}

Result<FileHeader> tiff_header(Bytes bytes, const std::string& file) {
    // Source: TIFF 6.0 section 2; BigTIFF has 8-byte offsets and counts. Tags: 254 NewSubfileType, 262 PhotometricInterpretation, 50706 DNGVersion.
    const bool order = bytes[0] == 'M', big = number(bytes, 2, 2, order) == 43;
    const auto directory = static_cast<std::size_t>(big ? number(bytes, 8, 8, order) : number(bytes, 4, 4, order));
    if (directory >= bytes.size()) return damaged(file, "its directory is missing");
    const std::uint64_t entries = std::min<std::uint64_t>(number(bytes, directory, big ? 8 : 2, order), 65535);
    bool raw = !big && starts(bytes, "CR", 8), lab = false, inks = false;
    for (std::uint64_t i = 0; i < entries; ++i) {
        const std::size_t at = directory + (big ? 8 + 20 * i : 2 + 12 * i), value = at + (big ? 12 : 8);
        const std::uint64_t tag = number(bytes, at, 2, order);
        raw = raw || tag == 50706 || (tag == 254 && (number(bytes, value, 4, order) & 1) != 0);  // the first picture is only a preview
        if (tag != 262) continue;
        const std::uint64_t kind = number(bytes, value, 2, order);
        inks = kind == 5;
        lab = kind == 8 || kind == 9 || kind == 10;
        raw = raw || kind == 32803 || kind == 34892;  // filter array, linear raw
    }
    if (inks) return cmyk(file);
    if (lab) return Error{Fault::picture_unsupported, file, "", "is stored as Lab", "save it as RGB with its profile"};
    if (raw) {
        return Error{Fault::picture_unsupported, file, "", "is a camera raw file, which this version does not read",
                     "develop it without any look or tone curve and save it as TIFF of 16 bits"};
    }
    return FileHeader{PictureFormat::tiff, 0, 0, false};
}

}  // namespace

const char* decoder_name(PictureFormat format) { return format == PictureFormat::jpeg ? "jpeg" : format == PictureFormat::png ? "png" : "tiff"; }

const char* display_name(PictureFormat format) { return format == PictureFormat::jpeg ? "JPEG" : format == PictureFormat::png ? "PNG" : "TIFF"; }

Error damaged(const std::string& file, const std::string& why) {
    return {Fault::not_a_picture, file, "", "is damaged or cut off: " + why, "copy or export it again"};
}

Error cmyk(const std::string& file) {
    return {Fault::picture_unsupported, file, "", "is a CMYK picture, made for a printing press: its figures are inks, not light",
            "use the photo it was made from, or convert it to RGB with its profile"};
}

Result<Done> check_size(std::uint64_t width, std::uint64_t height, const std::string& file) {
    constexpr std::uint64_t kLongestSide = 1'000'000;
    if (width > kLongestSide || height > kLongestSide || width * height > kMostPixels) {
        return Error{Fault::picture_unsupported, file, "",
                     "is " + std::to_string(width) + " x " + std::to_string(height) + " pixels; at most 200 million are read",
                     "crop it to the swatches and their references, or make it smaller"};
    }
    return Done{};
}

Result<FileHeader> read_file_header(Bytes bytes, const std::string& file) {
    using namespace std::string_view_literals;
    if (bytes.empty()) return Error{Fault::not_a_picture, file, "", "is empty (0 bytes)", "copy or export it again"};
    if (starts(bytes, "\xFF\xD8\xFF"sv)) return jpeg_header(bytes, file);
    if (starts(bytes, "\x89PNG\r\n\x1a\n"sv)) return png_header(bytes, file);
    const bool tiff = starts(bytes, "II\x2a\0"sv) || starts(bytes, "MM\0\x2a"sv) || starts(bytes, "II\x2b\0"sv) || starts(bytes, "MM\0\x2b"sv);
    if (tiff && bytes.size() >= 16) return tiff_header(bytes, file);
    return not_ours(bytes, file);
}

}  // namespace sw
