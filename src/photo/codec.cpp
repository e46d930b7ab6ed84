#include "photo/codec.hpp"

#include <dlfcn.h>

#include "photo/words.hpp"

namespace sw {
namespace {

constexpr const char* kModule = "swatchwright-codec.so";

struct Opened {
    const Codec* codec = nullptr;
    std::string why;
};

Opened open_module() {
    using Entry = const Codec* (*)();
    void* module = dlopen(kModule, RTLD_NOW | RTLD_LOCAL | RTLD_NODELETE);  // found by the program's run path
    void* entry = module != nullptr ? dlsym(module, "swatchwright_codec") : nullptr;
    if (entry != nullptr) return {reinterpret_cast<Entry>(entry)(), {}};
    const char* why = dlerror();
    return {nullptr, why != nullptr ? printable(why, 300) : "cannot be loaded"};
}

}  // namespace

Result<const Codec*> codec() {
    static const Opened opened = open_module();
    if (opened.codec != nullptr) return opened.codec;
    return Error{Fault::internal, kModule, "", "the part of the program that reads and writes pictures cannot be loaded (" + opened.why + ")",
                 "install the program again, or build it again as a whole"};
}

Result<std::unique_ptr<PictureWriter>> picture_writer(const PictureToWrite& picture, std::vector<unsigned char>& bytes) {
    const auto opened = codec();
    if (!opened) return opened.error();
    return (*opened)->write(picture, bytes);
}

void load_picture_formats() { (void)codec(); }

std::vector<unsigned char> written(const PictureToWrite& picture, const void* codes) {
    std::vector<unsigned char> bytes;
    if (picture.width < 1 || picture.height < 1) return {};
    const auto writer = picture_writer(picture, bytes);
    if (!writer || !(*writer)->rows(0, picture.height, codes) || !(*writer)->finish()) return {};
    return bytes;
}

DecoderResult open_common(std::span<const std::uint8_t> bytes, const FileHeader& header, const Work& work) {
    const auto opened = codec();
    if (!opened) return opened.error();
    return (*opened)->open_common(bytes, header, work);
}

void read_exif(std::span<const std::uint8_t> exif, StoredPicture& picture) {
    if (const auto opened = codec()) (*opened)->read_exif(exif, picture);  // load_photo has seen to it that it is there
}

}  // namespace sw
