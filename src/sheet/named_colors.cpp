#include "sheet/named_colors.hpp"

#include <lcms2.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <set>

#include "color/adaptation.hpp"
#include "color/free.hpp"

namespace sw {
namespace {

using NamedProfile = std::unique_ptr<void, Free<cmsCloseProfile>>;
using NamedList = std::unique_ptr<cmsNAMEDCOLORLIST, Free<cmsFreeNamedColorList>>;
using NamedText = std::unique_ptr<cmsMLU, Free<cmsMLUfree>>;

constexpr std::size_t kRoom = 31;  // ICC.1:2010, 10.15: 32 bytes, the last of them 0

/// ASCII of at most kRoom characters that no other has.
std::string short_name(const std::string& name, std::set<std::string>& taken) {
    std::string text;
    for (const char c : name) {
        const auto byte = static_cast<unsigned char>(c);
        if (byte < 0x80) text += c;
        if (byte >= 0xC0) text += '?';  // one for each character, however many bytes it has
    }
    text = text.substr(0, kRoom);
    text.erase(text.find_last_not_of(' ') + 1);
    const std::string base = text;
    for (int number = 2; !taken.insert(text).second; ++number) {
        const std::string tail = " " + std::to_string(number);
        text = base.substr(0, std::min(base.size(), kRoom - tail.size())) + tail;
    }
    return text;
}

NamedText ascii(const std::string& text) {
    NamedText words(cmsMLUalloc(nullptr, 1));
    if (words) cmsMLUsetASCII(words.get(), "en", "US", text.c_str());
    return words;
}

}  // namespace

Result<NamedColors> named_color_profile(const std::vector<Target>& targets, const std::string& title) {
    if (targets.empty()) return Error{Fault::bad_usage, "", "", "there is no target to write", "add one with swatchwright target add"};
    if (targets.size() > 65'535) return Error{Fault::bad_usage, "", "", "a profile holds up to 65 535 colors", "name fewer with --targets"};
    const Error failed{Fault::internal, "", "", "the profile could not be made", "please report it"};
    NamedColors result;
    const NamedProfile profile(cmsCreateProfilePlaceholder(nullptr));
    const NamedList list(cmsAllocNamedColorList(nullptr, static_cast<cmsUInt32Number>(targets.size()), 3, "", ""));
    if (!profile || !list) return failed;
    std::set<std::string> taken;
    for (const Target& target : targets) {
        const Lab color = lab(adapt(xyz(target.lab), target.lab.white, kWhiteD50), kWhiteD50);
        const cmsCIELab kept{std::clamp(color.L, 0.0, 100.0), color.a, color.b};
        if (std::max(std::abs(color.a), std::abs(color.b)) >= 128) result.clipped.push_back(target.name);
        std::array<cmsUInt16Number, 3> pcs{};
        cmsFloat2LabEncodedV2(pcs.data(), &kept);  // ICC.1:2010, 10.15: the encoding of version 2, in version 4 too
        const EncodedRgb rgb = screen_color(target.lab).rgb;
        std::array<cmsUInt16Number, cmsMAXCHANNELS> device{};
        std::size_t channel = 0;
        for (const double value : {rgb.r, rgb.g, rgb.b}) device[channel++] = static_cast<cmsUInt16Number>(std::lround(65535 * value));
        const std::string name = short_name(target.name, taken);
        if (name != target.name) result.renamed.push_back({target.name, name});
        if (!cmsAppendNamedColor(list.get(), name.c_str(), pcs.data(), device.data())) return failed;
    }
    cmsSetProfileVersion(profile.get(), 4.3);
    cmsSetDeviceClass(profile.get(), cmsSigNamedColorClass);
    cmsSetColorSpace(profile.get(), cmsSigRgbData);
    cmsSetPCS(profile.get(), cmsSigLabData);
    cmsSetHeaderRenderingIntent(profile.get(), INTENT_RELATIVE_COLORIMETRIC);
    const NamedText description = ascii(title), copyright = ascii("No copyright: use it freely");
    std::array<cmsCIEXYZ, 3> none{{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}};  // stated under D50: nothing was adapted
    const bool made =
        description && copyright && cmsWriteTag(profile.get(), cmsSigProfileDescriptionTag, description.get()) &&
        cmsWriteTag(profile.get(), cmsSigCopyrightTag, copyright.get()) && cmsWriteTag(profile.get(), cmsSigMediaWhitePointTag, cmsD50_XYZ()) &&
        cmsWriteTag(profile.get(), cmsSigChromaticAdaptationTag, none.data()) && cmsWriteTag(profile.get(), cmsSigNamedColor2Tag, list.get());
    cmsUInt32Number size = 0;
    if (!made || !cmsMD5computeID(profile.get()) || !cmsSaveProfileToMem(profile.get(), nullptr, &size)) return failed;
    result.profile.resize(size);
    if (!cmsSaveProfileToMem(profile.get(), result.profile.data(), &size)) return failed;
    return result;
}

}  // namespace sw
