#include "photo/codec/module.hpp"

extern "C" __attribute__((visibility("default"))) const sw::Codec* swatchwright_codec();

const sw::Codec* swatchwright_codec() {
    static constexpr sw::Codec codec{sw::codec_module::open_stored, sw::codec_module::take_exif, sw::codec_module::write};
    return &codec;
}
