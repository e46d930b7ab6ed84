// Four-channel JPEG through libjpeg: OpenImageIO gives RGB by a rule of thumb instead of the inks.
#include <csetjmp>
#include <cstddef>
#include <cstdio>

#include <jpeglib.h>

#include "photo/decoder.hpp"

namespace sw {
namespace {

class InkReader {
public:
    explicit InkReader(std::span<const std::uint8_t> bytes) {
        state_.err = jpeg_std_error(&errors_);
        errors_.error_exit = [](j_common_ptr state) { std::longjmp(static_cast<InkReader*>(state->client_data)->back_, 1); };
        errors_.output_message = [](j_common_ptr) {};
        state_.client_data = this;
        good_ = start(bytes);
    }
    InkReader(const InkReader&) = delete;
    InkReader& operator=(const InkReader&) = delete;
    ~InkReader() { jpeg_destroy_decompress(&state_); }

    [[nodiscard]] bool good() const { return good_ && errors_.num_warnings == 0; }

    [[nodiscard]] std::size_t width() const { return state_.output_width; }
    /// One row of 4 samples a pixel.
    void row(std::uint8_t* samples) {
        read(samples);
        // Adobe's marker: 255 means no ink (its technical note 5116). Here 0 does.
        if (state_.saw_Adobe_marker != 0) {
            for (std::size_t i = 0; i < 4 * static_cast<std::size_t>(state_.output_width); ++i)
                samples[i] = static_cast<std::uint8_t>(255 - samples[i]);
        }
    }

private:
    // longjmp skips destructors: nothing here has any.
    bool start(std::span<const std::uint8_t> bytes) {
        if (setjmp(back_) != 0) return false;
        jpeg_create_decompress(&state_);
        jpeg_mem_src(&state_, bytes.data(), bytes.size());
        jpeg_read_header(&state_, TRUE);
        if (state_.num_components != 4) return false;
        state_.out_color_space = JCS_CMYK;
        jpeg_start_decompress(&state_);
        return state_.output_components == 4;
    }
    void read(std::uint8_t* samples) {
        if (!good_) return;
        if (setjmp(back_) != 0) {
            good_ = false;
            return;
        }
        JSAMPROW row = samples;
        good_ = jpeg_read_scanlines(&state_, &row, 1) == 1;
    }

    jpeg_error_mgr errors_{};
    jpeg_decompress_struct state_{};
    std::jmp_buf back_{};
    bool good_ = false;
};

}  // namespace

std::function<Result<Done>(int, int, std::uint8_t*)> inks_of_jpeg(std::span<const std::uint8_t> bytes, const std::string& file) {
    auto reader = std::make_shared<InkReader>(bytes);
    if (!reader->good()) return {};
    return [reader, file](int first, int last, std::uint8_t* samples) -> Result<Done> {
        for (int y = first; y < last && reader->good(); ++y) {
            reader->row(samples);
            samples += 4 * reader->width();
        }
        if (!reader->good()) return damaged(file, "its pixels cannot be decoded");
        return Done{};
    };
}

}  // namespace sw
