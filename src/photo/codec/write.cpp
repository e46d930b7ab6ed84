// JPEG, PNG and TIFF through OpenImageIO.
#include <OpenImageIO/filesystem.h>
#include <OpenImageIO/imageio.h>

#include "photo/codec/module.hpp"
#include "photo/words.hpp"

namespace sw::codec_module {
namespace {

class Writer final : public PictureWriter {
public:
    Writer(const PictureToWrite& picture, std::vector<unsigned char>& bytes)
        : type_(picture.bits == 16 ? OIIO::TypeDesc::UINT16 : OIIO::TypeDesc::UINT8), memory_(bytes) {
        using Format = PictureToWrite::Format;
        OIIO::ImageSpec spec(picture.width, picture.height, 3, type_);
        if (!picture.software.empty()) spec.attribute("Software", picture.software);
        if (!picture.description.empty()) spec.attribute("ImageDescription", picture.description);
        spec.attribute("Orientation", 1);
        if (!picture.profile.empty())
            spec.attribute("ICCProfile", OIIO::TypeDesc(OIIO::TypeDesc::UINT8, static_cast<int>(picture.profile.size())), picture.profile.data());
        const char* encoder = "png";
        if (picture.format == Format::jpeg) {
            encoder = "jpeg";
            spec.attribute("Compression", "jpeg:95");
            spec.attribute("jpeg:subsampling", "4:4:4");
            spec.attribute("Exif:ColorSpace", 1);  // sRGB; not in TIFF, where OpenImageIO 2.4 cannot write EXIF to memory
        } else if (picture.format == Format::tiff) {
            encoder = "tiff";
            spec.attribute("Compression", "none");  // compressed, a picture of 16 bits takes twenty times as long and is hardly smaller
        } else if (picture.quick) {
            spec.attribute("png:compressionLevel", 3);
        }
        out_ = OIIO::ImageOutput::create(encoder);
        good_ = out_ && out_->set_ioproxy(&memory_) && out_->open("picture", spec);
    }
    ~Writer() override {
        if (good_) out_->close();
    }
    bool rows(int first, int last, const void* codes) override { return good_ && out_->write_scanlines(first, last, 0, type_, codes); }
    bool finish() override {
        const bool closed = good_ && out_->close();
        good_ = false;
        return closed;
    }
    std::string trouble() const override { return out_ ? printable(out_->geterror()) : printable(OIIO::geterror()); }

private:
    OIIO::TypeDesc type_;
    OIIO::Filesystem::IOVecOutput memory_;  // before what writes to it: destroyed last
    std::unique_ptr<OIIO::ImageOutput> out_;
    bool good_ = false;
};

}  // namespace

std::unique_ptr<PictureWriter> write(const PictureToWrite& picture, std::vector<unsigned char>& bytes) {
    return std::make_unique<Writer>(picture, bytes);
}

}  // namespace sw::codec_module
