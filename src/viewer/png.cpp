#include "viewer/png.hpp"

#include <OpenImageIO/imageio.h>

namespace sw::window {

Result<Done> write_png(const std::string& path, int width, int height, const std::vector<std::uint8_t>& rgb) {
    const auto failed = [&](const std::string& why) {
        return Error{.fault = Fault::file_missing,
                     .file = path,
                     .place = {},
                     .cause = "cannot be written" + (why.empty() ? "" : ": " + why),
                     .remedy = "choose a name that ends in .png in a folder that exists"};
    };
    const std::unique_ptr<OIIO::ImageOutput> out = OIIO::ImageOutput::create(path);
    if (!out) return failed(OIIO::geterror());
    const OIIO::ImageSpec spec(width, height, 3, OIIO::TypeDesc::UINT8);
    if (!out->open(path, spec) || !out->write_image(OIIO::TypeDesc::UINT8, rgb.data()) || !out->close()) return failed(out->geterror());
    return Done{};
}

}  // namespace sw::window
