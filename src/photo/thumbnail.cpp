#include "photo/thumbnail.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <csetjmp>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <vector>

#include <jpeglib.h>

#include "color/color.hpp"

namespace sw {
namespace {

Preview shrunk(const Photo& photo, int longest) {
    const int step = std::max(1, (std::max(photo.width, photo.height) + longest - 1) / longest);
    Preview small{std::max(1, photo.width / step), std::max(1, photo.height / step), {}};
    small.rgb.resize(3 * static_cast<std::size_t>(small.width) * static_cast<std::size_t>(small.height));
    const std::array<double, 3> neutral = photo.sensor && photo.sensor->neutral_as_shot ? *photo.sensor->neutral_as_shot : std::array{1.0, 1.0, 1.0};
    auto out = small.rgb.begin();
    for (int row = 0; row < small.height; ++row) {
        for (int column = 0; column < small.width; ++column) {
            double sum[3] = {};
            int count = 0;
            for (int y = row * step; y < std::min(photo.height, (row + 1) * step); ++y) {
                for (int x = column * step; x < std::min(photo.width, (column + 1) * step); ++x, ++count) {
                    const auto light = photo.pixel(x, y);
                    for (std::size_t c = 0; c < 3; ++c) sum[c] += static_cast<double>(light[c]);
                }
            }
            const auto mean = [&](int c) {
                const double value = sum[c] / std::max(1, count) / std::max(1e-3, neutral[static_cast<std::size_t>(c)]);
                return std::isfinite(value) ? std::clamp(value, 0.0, 1.0) : 0.0;
            };
            const EncodedRgb shown = encode(LinearRgb{mean(0), mean(1), mean(2)});
            for (const double value : {shown.r, shown.g, shown.b}) *out++ = static_cast<std::uint8_t>(std::lround(255 * std::clamp(value, 0.0, 1.0)));
        }
    }
    return small;
}

struct Errors {
    jpeg_error_mgr base;
    std::jmp_buf back;
};

// Whether it could be written; *bytes is then (and perhaps else) to be freed. longjmp skips destructors: nothing here has any.
bool write_jpeg(Preview& small, unsigned char** bytes, unsigned long* size) {
    jpeg_compress_struct state{};
    Errors errors{};
    state.err = jpeg_std_error(&errors.base);
    errors.base.error_exit = [](j_common_ptr failed) { std::longjmp(reinterpret_cast<Errors*>(failed->err)->back, 1); };
    errors.base.output_message = [](j_common_ptr) {};
    jpeg_create_compress(&state);
    if (setjmp(errors.back) != 0) {
        jpeg_destroy_compress(&state);
        return false;
    }
    jpeg_mem_dest(&state, bytes, size);
    state.image_width = static_cast<JDIMENSION>(small.width);
    state.image_height = static_cast<JDIMENSION>(small.height);
    state.input_components = 3;
    state.in_color_space = JCS_RGB;
    jpeg_set_defaults(&state);
    jpeg_set_quality(&state, 85, TRUE);
    jpeg_start_compress(&state, TRUE);
    while (state.next_scanline < state.image_height) {
        JSAMPROW row = &small.rgb[3 * static_cast<std::size_t>(small.width) * state.next_scanline];
        jpeg_write_scanlines(&state, &row, 1);
    }
    jpeg_finish_compress(&state);
    jpeg_destroy_compress(&state);
    return true;
}

}  // namespace

Preview thumbnail(const Photo& photo, int longest) {
    if (photo.width < 1 || photo.height < 1) return {};
    return shrunk(photo, std::clamp(longest, 1, 1000));
}

std::string thumbnail_jpeg(const Photo& photo, int longest) {
    Preview small = thumbnail(photo, longest);
    if (small.rgb.empty()) return {};
    unsigned char* bytes = nullptr;
    unsigned long size = 0;
    std::string jpeg;
    if (write_jpeg(small, &bytes, &size)) jpeg.assign(reinterpret_cast<const char*>(bytes), size);
    std::free(bytes);
    return jpeg;
}

std::string without_metadata(const std::string& jpeg) {
    const auto byte = [&](std::size_t at) { return static_cast<unsigned>(static_cast<unsigned char>(jpeg[at])); };
    constexpr unsigned kStart = 0xD8, kScan = 0xDA, kApplication0 = 0xE0, kApplication15 = 0xEF, kComment = 0xFE;
    if (jpeg.size() < 4 || byte(0) != 0xFF || byte(1) != kStart) return {};
    std::string bare = jpeg.substr(0, 2);
    for (std::size_t at = 2; at + 4 <= jpeg.size();) {
        if (byte(at) != 0xFF) return {};
        const unsigned marker = byte(at + 1);
        if (marker == kScan) return bare + jpeg.substr(at);
        const std::size_t length = byte(at + 2) << 8U | byte(at + 3);
        if (length < 2 || at + 2 + length > jpeg.size()) return {};
        const bool about_it = (marker > kApplication0 && marker <= kApplication15) || marker == kComment;
        if (!about_it) bare += jpeg.substr(at, 2 + length);
        at += 2 + length;
    }
    return {};
}

}  // namespace sw
