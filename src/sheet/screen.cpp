#include "sheet/screen.hpp"

#include <lcms2.h>

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>

#include "color/adaptation.hpp"
#include "color/difference.hpp"
#include "color/free.hpp"
#include "photo/words.hpp"

namespace sw {
namespace {

using ColorContext = std::unique_ptr<std::remove_pointer_t<cmsContext>, Free<cmsDeleteContext>>;
using Profile = std::unique_ptr<void, Free<cmsCloseProfile>>;
using Transform = std::unique_ptr<void, Free<cmsDeleteTransform>>;

constexpr cmsUInt32Number kFlags = cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE;  // exact; no cache: threads may share it

Error broken(const std::string& cause) {
    return {Fault::profile_broken, "", "", cause, "give the ICC profile of the screen, as its calibration or its maker made it"};
}

}  // namespace

struct Screen::Transforms {
    ColorContext context;
    Transform to_screen, to_lab;
    std::string name;
    std::vector<std::uint8_t> icc;

    static Result<std::shared_ptr<const Transforms>> make(std::string_view icc) {
        auto made = std::make_shared<Transforms>();
        made->context.reset(cmsCreateContext(nullptr, nullptr));
        cmsContext context = made->context.get();
        cmsSetLogErrorHandlerTHR(context, [](cmsContext, cmsUInt32Number, const char*) {});
        const Profile screen(icc.empty() ? cmsCreate_sRGBProfileTHR(context)
                                         : cmsOpenProfileFromMemTHR(context, icc.data(), static_cast<cmsUInt32Number>(icc.size())));
        if (!screen) return broken("is no ICC profile, or is damaged");
        if (cmsGetColorSpace(screen.get()) != cmsSigRgbData) return broken("is not the profile of a screen: it is not made for RGB");
        const auto device = static_cast<cmsUInt32Number>(cmsGetDeviceClass(screen.get()));  // any four letters
        if (device != cmsSigDisplayClass && device != cmsSigColorSpaceClass) return broken("is not the profile of a screen but of another device");
        const Profile lab(cmsCreateLab4ProfileTHR(context, nullptr));  // its white: D50
        made->to_screen.reset(
            cmsCreateTransformTHR(context, lab.get(), TYPE_Lab_DBL, screen.get(), TYPE_RGB_DBL, INTENT_RELATIVE_COLORIMETRIC, kFlags));
        made->to_lab.reset(cmsCreateTransformTHR(context, screen.get(), TYPE_RGB_DBL, lab.get(), TYPE_Lab_DBL, INTENT_RELATIVE_COLORIMETRIC, kFlags));
        if (!made->to_screen || !made->to_lab) return broken("cannot be used from color to screen: tables or curves are missing or damaged");
        if (icc.empty()) {
            made->name = "sRGB";
            cmsUInt32Number size = 0;
            if (cmsSaveProfileToMem(screen.get(), nullptr, &size)) {
                made->icc.resize(size);
                if (!cmsSaveProfileToMem(screen.get(), made->icc.data(), &size)) made->icc.clear();
            }
        } else {
            std::array<char, 128> text{};
            cmsGetProfileInfoASCII(screen.get(), cmsInfoDescription, "en", "US", text.data(), static_cast<cmsUInt32Number>(text.size()) - 1);
            made->name = printable(std::string_view(text.data()), 60);
            if (made->name.empty()) made->name = "a screen without a name";
            made->icc.assign(icc.begin(), icc.end());
        }
        return std::shared_ptr<const Transforms>(std::move(made));
    }
};

Screen::Screen() {
    static const std::shared_ptr<const Transforms> srgb = [] {
        auto made = Transforms::make({});
        assert(made);  // ours, always there
        return *made;
    }();
    transforms_ = srgb;
}

Result<Screen> Screen::of_profile(std::string_view icc) {
    if (icc.empty()) return broken("is empty");
    auto made = Transforms::make(icc);
    if (!made) return made.error();
    return Screen(*made);
}

Screen::Shown Screen::show(const Lab& color) const {
    const Lab wanted = lab(adapt(xyz(color), color.white, kWhiteD50), kWhiteD50);
    const std::array<double, 3> in{wanted.L, wanted.a, wanted.b};
    std::array<double, 3> rgb{}, back{};
    cmsDoTransform(transforms_->to_screen.get(), in.data(), rgb.data(), 1);
    for (double& v : rgb) v = std::isfinite(v) ? std::clamp(v, 0.0, 1.0) : 0;
    cmsDoTransform(transforms_->to_lab.get(), rgb.data(), back.data(), 1);
    const double off = difference_2000(wanted, Lab{back[0], back[1], back[2], kWhiteD50});
    return {{rgb[0], rgb[1], rgb[2]}, off <= kBeyond};
}

const std::string& Screen::name() const { return transforms_->name; }
const std::vector<std::uint8_t>& Screen::profile() const { return transforms_->icc; }

}  // namespace sw
