#include "photo/preview.hpp"

#include <algorithm>
#include <csetjmp>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string_view>

#include <jpeglib.h>

#include "photo/decoder.hpp"
#include "photo/placement.hpp"
#include "photo/thumbnail.hpp"

namespace sw {
namespace {

constexpr std::uintmax_t kMostBytes = 64U << 20U;  // of a JPEG

/// longjmp skips destructors: nothing between setjmp and it has any but the members.
class ScaledJpeg {
public:
    explicit ScaledJpeg(const std::vector<std::uint8_t>& bytes, int longest) {
        state_.err = jpeg_std_error(&errors_);
        errors_.error_exit = [](j_common_ptr state) { std::longjmp(static_cast<ScaledJpeg*>(state->client_data)->back_, 1); };
        errors_.output_message = [](j_common_ptr) {};
        state_.client_data = this;
        good_ = read(bytes, longest);
    }
    ScaledJpeg(const ScaledJpeg&) = delete;
    ScaledJpeg& operator=(const ScaledJpeg&) = delete;
    ~ScaledJpeg() { jpeg_destroy_decompress(&state_); }

    [[nodiscard]] bool good() const { return good_ && errors_.num_warnings == 0; }
    /// As EXIF has it, 1..8.
    [[nodiscard]] int orientation() const {
        constexpr std::string_view kExif("Exif\0\0", 6);
        for (const jpeg_marker_struct* marker = state_.marker_list; marker != nullptr; marker = marker->next) {
            const std::span<const std::uint8_t> data(marker->data, marker->data_length);
            if (data.size() <= kExif.size() || !std::equal(kExif.begin(), kExif.end(), data.begin())) continue;
            StoredPicture stored;
            read_exif(data.subspan(kExif.size()), stored);
            return stored.orientation;
        }
        return 1;
    }
    Preview picture;

private:
    bool read(const std::vector<std::uint8_t>& bytes, int longest) {
        if (setjmp(back_) != 0) return false;
        jpeg_create_decompress(&state_);
        jpeg_mem_src(&state_, bytes.data(), bytes.size());
        constexpr unsigned kLongest = 0xFFFF;
        jpeg_save_markers(&state_, JPEG_APP0 + 1, kLongest);
        jpeg_read_header(&state_, TRUE);
        if (state_.num_components == 4) return false;  // inks need their profile
        state_.out_color_space = JCS_RGB;
        state_.scale_num = 1;
        state_.scale_denom = 8;
        while (state_.scale_denom > 1 &&
               static_cast<int>(std::max(state_.image_width, state_.image_height)) / static_cast<int>(state_.scale_denom) < longest)
            state_.scale_denom /= 2;
        jpeg_start_decompress(&state_);
        picture.width = static_cast<int>(state_.output_width);
        picture.height = static_cast<int>(state_.output_height);
        picture.rgb.resize(3 * static_cast<std::size_t>(picture.width) * static_cast<std::size_t>(picture.height));
        while (state_.output_scanline < state_.output_height) {
            JSAMPROW row = &picture.rgb[3 * static_cast<std::size_t>(picture.width) * state_.output_scanline];
            if (jpeg_read_scanlines(&state_, &row, 1) != 1) return false;
        }
        return true;
    }

    jpeg_error_mgr errors_{};
    jpeg_decompress_struct state_{};
    std::jmp_buf back_{};
    bool good_ = false;
};

/// Means over blocks of codes.
Preview fitted(const Preview& in, int longest) {
    const int step = std::max(1, (std::max(in.width, in.height) + longest - 1) / longest);
    if (step == 1) return in;
    Preview out{std::max(1, in.width / step), std::max(1, in.height / step), {}};
    for (int y = 0; y < out.height; ++y) {
        for (int x = 0; x < out.width; ++x) {
            for (int c = 0; c < 3; ++c) {
                int sum = 0, count = 0;
                for (int v = y * step; v < std::min(in.height, (y + 1) * step); ++v) {
                    for (int u = x * step; u < std::min(in.width, (x + 1) * step); ++u, ++count)
                        sum += in.rgb[3 * (static_cast<std::size_t>(v) * static_cast<std::size_t>(in.width) + static_cast<std::size_t>(u)) +
                                      static_cast<std::size_t>(c)];
                }
                out.rgb.push_back(static_cast<std::uint8_t>(sum / std::max(1, count)));
            }
        }
    }
    return out;
}

Preview upright(const Preview& in, int orientation) {
    const Placement to = placement(orientation, in.width, in.height);
    Preview out{to.width, to.height, std::vector<std::uint8_t>(in.rgb.size())};
    const std::uint8_t* from = in.rgb.data();
    for (std::ptrdiff_t y = 0; y < in.height; ++y) {
        for (std::ptrdiff_t x = 0; x < in.width; ++x, from += 3)
            std::copy_n(from, 3, out.rgb.begin() + 3 * (to.start + x * to.step_x + y * to.step_y));
    }
    return out;
}

}  // namespace

Result<Preview> preview(const std::string& file, int longest, const std::stop_token& stop) {
    longest = std::clamp(longest, 8, 1000);
    std::error_code error;
    const auto size = std::filesystem::file_size(file, error);
    if (!error && size > 4 && size <= kMostBytes) {
        std::ifstream in(file, std::ios::binary);
        const std::vector<std::uint8_t> bytes{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
        const auto header = read_file_header(bytes, file);
        if (header && header->format == PictureFormat::jpeg && !header->inks) {
            const ScaledJpeg jpeg(bytes, longest);
            if (jpeg.good()) return upright(fitted(jpeg.picture, longest), jpeg.orientation());
        }
        if (!header) return header.error();
    }
    const auto photo = load_photo(file, {}, stop);
    if (!photo) return photo.error();
    return thumbnail(*photo, longest);
}

}  // namespace sw
