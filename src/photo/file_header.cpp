#include "photo/file_header.hpp"

#include <zlib.h>

#include <algorithm>
#include <bit>
#include <optional>
#include <string_view>

namespace sw {
namespace {

using namespace std::string_view_literals;
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
    if (starts(bytes, "GIF8")) return "a GIF picture";
    if (starts(bytes, "BM")) return "a BMP picture";
    if (starts(bytes, "ftyp", 4) || starts(bytes, "\x1A\x45\xDF\xA3"sv)) return "a film";
    if (starts(bytes, "\0\0\0\x0CjP  "sv) || starts(bytes, "\xFF\x4F\xFF\x51"sv)) return "a JPEG 2000 picture";
    if (starts(bytes, "\0\0\0\x0CJXL "sv) || starts(bytes, "\xFF\x0A"sv)) return "a JPEG XL picture";
    if (starts(bytes, "#?RADIANCE") || starts(bytes, "#?RGBE")) return "an RGBE picture";
    if (starts(bytes, "8BPS")) return "a layered picture of an editor";
    if (starts(bytes, "%PDF")) return "a PDF document";
    return "";
}

Error not_ours(Bytes bytes, const std::string& file) {
    const std::string kind = known_kind(bytes);
    return {Fault::not_a_picture, file, "", (kind.empty() ? "is not a picture" : "is " + kind + ", which is not read"),
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
            FileHeader header;
            header.width = number(bytes, at + 7, 2);
            header.height = number(bytes, at + 5, 2);
            const int bits = bytes[at + 4], components = bytes[at + 9];
            header.inks = components == 4;
            if (components != 1 && components != 3 && components != 4)
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
    FileHeader header;
    header.format = PictureFormat::png;
    header.width = number(bytes, 16, 4);
    header.height = number(bytes, 20, 4);
    if (header.width == 0 || header.height == 0) return damaged(file, "its header gives no size");
    if (auto size = check_size(header.width, header.height, file); !size) return size.error();
    const int kind = bytes[25], depth = bytes[24];
    const std::uint64_t channels = kind == 2 ? 3 : kind == 4 ? 2 : kind == 6 ? 4 : 1;
    // ISO/IEC 15948, table 11.1: which depths a kind of picture may have.
    const bool possible = kind == 0   ? std::has_single_bit(static_cast<unsigned>(depth)) && depth <= 16
                          : kind == 3 ? std::has_single_bit(static_cast<unsigned>(depth)) && depth <= 8
                                      : (kind == 2 || kind == 4 || kind == 6) && (depth == 8 || depth == 16);
    if (!possible || bytes[26] != 0 || bytes[27] != 0 || bytes[28] > 1) return damaged(file, "its header gives no bit depth");
    const std::uint64_t row = 1 + (header.width * channels * static_cast<std::uint64_t>(depth) + 7) / 8;
    // Deflate (RFC 1951) holds at most 258 bytes in 2 bits: 1032 : 1.
    if (row * header.height / 1032 > bytes.size()) return damaged(file, "its header promises more pixels than the file can hold");
    // Every chunk must be whole: what is damaged or cut off is found before anything is decoded, and no chunk's length is taken on trust.
    bool palette = false, pixels = false;
    for (std::size_t at = 8; !starts(bytes, "IEND", at + 4);) {
        const std::uint64_t length = number(bytes, at, 4);
        if (at + 12 > bytes.size() || length > bytes.size() - at - 12) return damaged(file, "its end is missing");
        const Bytes content = bytes.subspan(at + 8, static_cast<std::size_t>(length));
        if (number(bytes, at + 8 + content.size(), 4) != ::crc32_z(0, &bytes[at + 4], content.size() + 4))
            return damaged(file, "a checksum inside it is wrong");
        const auto is = [&](const char* name) { return starts(bytes, name, at + 4); };
        const auto figure = [&](std::size_t i) { return static_cast<double>(number(content, 4 * i, 4)) / 1e5; };
        if (is("acTL")) header.several = number(content, 0, 4) > 1;
        if (is("iCCP")) header.has_profile = true;
        if (is("sRGB")) header.says_srgb = true;
        if (is("eXIf")) header.exif = content;
        if (is("PLTE")) palette = true;
        if (is("IDAT")) pixels = true;
        if (is("gAMA") && figure(0) > 0) header.gamma = 1 / figure(0);
        if (is("cHRM") && length == 32)
            header.primaries = Chromaticities{figure(2), figure(3), figure(4), figure(5), figure(6), figure(7), figure(0), figure(1)};
        at += 12 + content.size();
    }
    if (!pixels) return damaged(file, "it holds no pixels");
    if (kind == 3 && !palette) return damaged(file, "it has no palette");
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
        // What a tag says lies elsewhere when it is long; a file that was cut off behind its pixels shows here.
        constexpr std::array<std::uint64_t, 19> kSizes{0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8, 4, 0, 0, 8, 8, 8};  // by type; TIFF 6.0 and BigTIFF
        const std::uint64_t type = number(bytes, at + 2, 2, order), count = number(bytes, at + 4, big ? 8 : 4, order);
        const std::uint64_t size = type < kSizes.size() ? kSizes[type] : 0;
        if (size != 0 && (count > bytes.size() || size * count > bytes.size())) return damaged(file, "its directory names more than the file holds");
        if (size * count > (big ? 8U : 4U) && number(bytes, value, big ? 8 : 4, order) > bytes.size() - size * count)
            return damaged(file, "its directory names more than the file holds");
        raw = raw || tag == 50706 || (tag == 254 && (number(bytes, value, 4, order) & 1) != 0);  // the first picture is only a preview
        if (tag != 262) continue;
        const std::uint64_t kind = number(bytes, value, 2, order);
        inks = kind == 5;
        lab = kind == 8 || kind == 9 || kind == 10;
        raw = raw || kind == 32803 || kind == 34892;  // filter array, linear raw
    }
    if (lab) return Error{Fault::picture_unsupported, file, "", "is stored as Lab", "save it as RGB with its profile"};
    FileHeader header;
    header.format = raw ? PictureFormat::raw : PictureFormat::tiff;
    header.inks = inks;
    return header;
}

Result<FileHeader> webp_header(Bytes bytes, const std::string& file) {
    // RFC 9649, sections 2.3 to 2.7: chunks of name, size and content, padded to an even length.
    if (number(bytes, 4, 4, false) > bytes.size() - 8) return damaged(file, "its end is missing");
    FileHeader header;
    header.format = PictureFormat::webp;
    for (std::size_t at = 12; at + 8 <= bytes.size();) {
        const std::uint64_t length = number(bytes, at + 4, 4, false);
        if (length > bytes.size() - at - 8) return damaged(file, "its end is missing");
        const Bytes content = bytes.subspan(at + 8, static_cast<std::size_t>(length));
        if (starts(bytes, "ICCP", at)) header.profile = content;
        if (starts(bytes, "EXIF", at)) header.exif = starts(content, "Exif\0\0"sv) ? content.subspan(6) : content;
        if (starts(bytes, "ANMF", at) || starts(bytes, "ANIM", at)) header.several = true;
        at += 8 + content.size() + content.size() % 2;
    }
    return header;
}

Result<FileHeader> exr_header(Bytes bytes, const std::string& file) {
    // OpenEXR file layout: attributes of name, kind, size and value, both texts with a zero at the end; an empty name ends the header.
    constexpr std::uint64_t kDeep = 0x800;
    if ((number(bytes, 4, 4, false) & kDeep) != 0)
        return Error{Fault::picture_unsupported, file, "", "is a deep OpenEXR picture: several depths a pixel", "flatten it"};
    FileHeader header;
    header.format = PictureFormat::exr;
    int compression = -1;
    std::uint64_t pixel_bytes = 0;
    std::size_t at = 8;
    const auto text = [&]() {
        std::string result;
        while (at < bytes.size() && bytes[at] != 0 && result.size() < 256) result += static_cast<char>(bytes[at++]);
        ++at;
        return result;
    };
    while (true) {
        const std::string name = text();
        if (name.empty() && at <= bytes.size()) break;
        text();
        const std::uint64_t length = number(bytes, at, 4, false);
        at += 4;
        if (at > bytes.size() || length > bytes.size() - at) return damaged(file, "its header is cut off");
        const Bytes value = bytes.subspan(at, static_cast<std::size_t>(length));
        const auto corner = [&](std::size_t i) { return static_cast<std::int64_t>(static_cast<std::int32_t>(number(value, 4 * i, 4, false))); };
        if (name == "dataWindow" && length == 16) {
            if (corner(2) < corner(0) || corner(3) < corner(1)) return damaged(file, "its header gives no size");
            header.width = static_cast<std::uint64_t>(corner(2) - corner(0) + 1);
            header.height = static_cast<std::uint64_t>(corner(3) - corner(1) + 1);
        }
        if (name == "compression" && length == 1) compression = value[0];
        if (name == "channels") {  // name, kind (1: half), three more words, each but the name four bytes
            for (std::size_t i = 0; i < value.size() && value[i] != 0; i += 16) {
                while (i < value.size() && value[i] != 0) ++i;
                pixel_bytes += number(value, ++i, 4, false) == 1 ? 2 : 4;
            }
        }
        at += value.size();
    }
    if (header.width == 0 || header.height == 0) return damaged(file, "its header gives no size");
    if (auto size = check_size(header.width, header.height, file); !size) return size.error();
    // Plain, run lengths, and deflate hold so much at most; the others are not bounded so simply.
    const std::uint64_t ratio = compression == 0 ? 1 : compression == 1 ? 64 : compression == 2 || compression == 3 ? 1032 : 0;
    if (ratio != 0 && header.width * header.height * pixel_bytes / ratio > bytes.size())
        return damaged(file, "its header promises more pixels than the file can hold");
    return header;
}

/// Camera raw files that are not TIFF, by their first bytes; in this order .raf, .orf (three), .rw2, .mrw, .x3f, .crw, .cr3.
bool is_raw(Bytes bytes) {
    return starts(bytes, "CCD-RAW ", 8) || starts(bytes, "IIRO") || starts(bytes, "IIRS") || starts(bytes, "MMOR") || starts(bytes, "IIU\0"sv) ||
           starts(bytes, "\0MRM"sv) || starts(bytes, "FOVb") || starts(bytes, "HEAPCCDR", 6) || starts(bytes, "ftypcrx ", 4);
}

/// ISO/IEC 23008-12 annex B: brands of still pictures, as the main one or among the compatible ones.
bool is_heif(Bytes bytes) {
    if (!starts(bytes, "ftyp", 4)) return false;
    const auto length = std::min<std::size_t>(static_cast<std::size_t>(number(bytes, 0, 4)), bytes.size());
    for (std::size_t at = 8; at + 4 <= length; at += 4) {
        if (at == 12) continue;  // a version number
        for (const char* brand : {"heic", "heix", "heim", "heis", "mif1", "avif"}) {
            if (starts(bytes, brand, at)) return true;
        }
    }
    return false;
}

}  // namespace

const char* display_name(PictureFormat format) {
    switch (format) {
        case PictureFormat::jpeg:
            return "JPEG";
        case PictureFormat::png:
            return "PNG";
        case PictureFormat::tiff:
            return "TIFF";
        case PictureFormat::webp:
            return "WebP";
        case PictureFormat::heif:
            return "HEIF";
        case PictureFormat::exr:
            return "OpenEXR";
        case PictureFormat::raw:
            return "camera raw";
    }
    return "";
}

Error damaged(const std::string& file, const std::string& why) {
    return {Fault::not_a_picture, file, "", "is damaged or cut off: " + why, "copy or export it again"};
}

Error cmyk(const std::string& file) {
    return {Fault::picture_unsupported, file, "", "is a CMYK picture without a color profile: which colors its inks make is unknown",
            "use the photo it was made from, or convert it to RGB with the press's profile"};
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
    if (bytes.empty()) return Error{Fault::not_a_picture, file, "", "is empty (0 bytes)", "copy or export it again"};
    if (starts(bytes, "\xFF\xD8\xFF"sv)) return jpeg_header(bytes, file);
    if (starts(bytes, "\x89PNG\r\n\x1a\n"sv)) return png_header(bytes, file);
    const bool tiff = starts(bytes, "II\x2a\0"sv) || starts(bytes, "MM\0\x2a"sv) || starts(bytes, "II\x2b\0"sv) || starts(bytes, "MM\0\x2b"sv);
    if (tiff && bytes.size() >= 16) return tiff_header(bytes, file);
    FileHeader header;
    if (starts(bytes, "RIFF") && starts(bytes, "WEBP", 8) && bytes.size() >= 20) return webp_header(bytes, file);
    if (starts(bytes, "\x76\x2f\x31\x01"sv)) return exr_header(bytes, file);
    if (is_raw(bytes))
        header.format = PictureFormat::raw;
    else if (is_heif(bytes))
        header.format = PictureFormat::heif;
    else
        return not_ours(bytes, file);
    return header;
}

}  // namespace sw
