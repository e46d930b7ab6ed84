#include "viewer/display.hpp"

#include <lcms2.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <memory>
#include <sstream>

#include "sheet/file.hpp"

namespace sw::window {
namespace {

using CmsContext = std::unique_ptr<std::remove_pointer_t<cmsContext>, decltype(&cmsDeleteContext)>;
using CmsProfile = std::unique_ptr<void, decltype(&cmsCloseProfile)>;
using CmsTransform = std::unique_ptr<void, decltype(&cmsDeleteTransform)>;

std::string name_of(cmsHPROFILE profile) {
    std::array<char, 200> text{};
    cmsGetProfileInfoASCII(profile, cmsInfoDescription, "en", "US", text.data(), text.size() - 1);
    std::string name;
    for (const char c : std::string(text.data())) name += c >= 32 && c < 127 ? c : ' ';
    return name.empty() ? "without a name" : name;
}

std::size_t at(int r, int g, int b) {
    constexpr auto side = static_cast<std::size_t>(DisplayTable::kSide);
    return 3 * ((static_cast<std::size_t>(b) * side + static_cast<std::size_t>(g)) * side + static_cast<std::size_t>(r));
}

}  // namespace

Result<DisplayTable> display_table(std::span<const std::uint8_t> bytes, const std::string& from) {
    const auto broken = [&](const std::string& cause) {
        return Error{Fault::profile_broken, from, "", cause,
                     "choose the profile of a monitor (.icc or .icm), or none: colors are then shown as sRGB"};
    };
    const CmsContext context(cmsCreateContext(nullptr, nullptr), cmsDeleteContext);
    cmsSetLogErrorHandlerTHR(context.get(), [](cmsContext, cmsUInt32Number, const char*) {});
    const CmsProfile monitor(cmsOpenProfileFromMemTHR(context.get(), bytes.data(), static_cast<cmsUInt32Number>(bytes.size())), cmsCloseProfile);
    if (!monitor) return broken("is no ICC profile");
    if (cmsGetColorSpace(monitor.get()) != cmsSigRgbData) return broken("is a profile, but of no RGB monitor");
    if (!cmsIsIntentSupported(monitor.get(), INTENT_RELATIVE_COLORIMETRIC, LCMS_USED_AS_OUTPUT)) return broken("cannot be used to show colors");
    const CmsProfile srgb(cmsCreate_sRGBProfileTHR(context.get()), cmsCloseProfile);
    const CmsTransform transform(cmsCreateTransformTHR(context.get(), srgb.get(), TYPE_RGB_FLT, monitor.get(), TYPE_RGB_FLT,
                                                       INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOCACHE | cmsFLAGS_NOOPTIMIZE),
                                 cmsDeleteTransform);
    if (!transform) return broken("cannot be used to show colors");
    constexpr int side = DisplayTable::kSide;
    DisplayTable table{name_of(monitor.get()), std::vector<float>(3U * side * side * side)};
    std::vector<float> in(table.rgb.size());
    for (int b = 0; b < side; ++b) {
        for (int g = 0; g < side; ++g) {
            for (int r = 0; r < side; ++r) {
                const std::array<int, 3> step{r, g, b};
                for (std::size_t c = 0; c < 3; ++c) in[at(r, g, b) + c] = static_cast<float>(step[c] * step[c]) / ((side - 1) * (side - 1));
            }
        }
    }
    cmsDoTransform(transform.get(), in.data(), table.rgb.data(), side * side * side);
    for (float& code : table.rgb) code = code >= 0 ? std::min(code, 1.0F) : 0.0F;  // NaN: 0
    return table;
}

Result<DisplayTable> display_table_of(const std::string& file) {
    const Result<std::string> bytes = read_whole_file(file, 32U << 20U);
    if (!bytes) return bytes.error();
    return display_table({reinterpret_cast<const std::uint8_t*>(bytes->data()), bytes->size()}, file);
}

std::array<float, 3> displayed(const DisplayTable& table, const std::array<float, 3>& srgb) {
    std::array<int, 3> low{};
    std::array<float, 3> share{};
    for (std::size_t c = 0; c < 3; ++c) {
        const float place = std::sqrt(std::clamp(srgb[c], 0.0F, 1.0F)) * (DisplayTable::kSide - 1);
        low[c] = std::min(static_cast<int>(place), DisplayTable::kSide - 2);
        share[c] = place - static_cast<float>(low[c]);
    }
    std::array<float, 3> sum{};
    for (unsigned corner = 0; corner < 8; ++corner) {
        std::array<int, 3> step = low;
        float weight = 1;
        for (std::size_t c = 0; c < 3; ++c) {
            const bool high = (corner >> c & 1U) != 0;
            step[c] += high ? 1 : 0;
            weight *= high ? share[c] : 1 - share[c];
        }
        for (std::size_t c = 0; c < 3; ++c) sum[c] += weight * table.rgb[at(step[0], step[1], step[2]) + c];
    }
    return sum;
}

std::vector<std::string> known_profiles() {
    const auto variable = [](const char* name, const std::string& otherwise) {
        const char* value = std::getenv(name);
        return value != nullptr && *value != 0 ? std::string(value) : otherwise;
    };
    std::istringstream folders(variable("XDG_DATA_HOME", variable("HOME", "") + "/.local/share") + ":" +
                               variable("XDG_DATA_DIRS", "/usr/local/share:/usr/share"));
    std::vector<std::string> found;
    for (std::string folder; std::getline(folders, folder, ':');) {
        std::error_code error;
        std::filesystem::recursive_directory_iterator entry(folder + "/color/icc", std::filesystem::directory_options::skip_permission_denied, error);
        for (const std::filesystem::recursive_directory_iterator end; !error && entry != end && found.size() < 200; entry.increment(error)) {
            std::error_code ignored;
            const std::string ending = entry->path().extension().string();
            if ((ending == ".icc" || ending == ".icm") && entry->is_regular_file(ignored)) found.push_back(entry->path().string());
        }
    }
    std::sort(found.begin(), found.end());
    return found;
}

}  // namespace sw::window
