#include "viewer/png.hpp"

#include "photo/write_picture.hpp"
#include "sheet/file.hpp"

namespace sw::window {

Result<Done> write_png(const std::string& path, int width, int height, const std::vector<std::uint8_t>& rgb) {
    const std::vector<unsigned char> bytes = written(
        {.format = PictureToWrite::Format::png, .width = width, .height = height, .software = "Swatchwright", .description = {}, .profile = {}},
        rgb.data());
    if (bytes.empty()) return Error{Fault::internal, path, "", "the picture could not be made", "try a smaller one"};
    return write_file(path, std::string(bytes.begin(), bytes.end()));
}

}  // namespace sw::window
