#include "calibrate/profile.hpp"

#include <lcms2.h>

#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <filesystem>
#include <functional>
#include <memory>
#include <string>

#include "calibrate/plain_steps.hpp"
#include "color/free.hpp"
#include "photo/linearize.hpp"

namespace sw {
namespace {

using ProfileHandle = std::unique_ptr<void, Free<cmsCloseProfile>>;
using Curve = std::unique_ptr<cmsToneCurve, Free<cmsFreeToneCurve>>;
using Pipeline = std::unique_ptr<cmsPipeline, Free<cmsPipelineFree>>;
using Text = std::unique_ptr<cmsMLU, Free<cmsMLUfree>>;

constexpr int kCurvePoints = 4096;
constexpr int kGrid = 65;                       // four steps for one of a usual table (17); 1.6 MB
constexpr double kXyzUnit = 32768.0 / 65535.0;  // ICC.1:2010, 6.3.4.2: XYZ 1 in a table's full range

/// y = samples over x in 0..1, in the 16 bits a profile holds.
template <class Function>
Curve curve_of(const Function& y) {
    std::vector<cmsUInt16Number> table(kCurvePoints);
    for (int i = 0; i < kCurvePoints; ++i) {
        const double value = std::clamp(y(static_cast<double>(i) / (kCurvePoints - 1)), 0.0, 1.0);
        table[static_cast<std::size_t>(i)] = static_cast<cmsUInt16Number>(std::lround(65535 * value));
    }
    return Curve(cmsBuildTabulatedToneCurve16(nullptr, kCurvePoints, table.data()));
}

bool add_curves(cmsPipeline* pipeline, const std::array<Curve, 3>& curves) {
    const std::array<cmsToneCurve*, 3> list{curves[0].get(), curves[1].get(), curves[2].get()};
    if (!list[0] || !list[1] || !list[2]) return false;
    return cmsPipelineInsertStage(pipeline, cmsAT_END, cmsStageAllocToneCurves(nullptr, 3, list.data())) != 0;
}

bool add_straight_curves(cmsPipeline* pipeline) {
    return cmsPipelineInsertStage(pipeline, cmsAT_END, cmsStageAllocToneCurves(nullptr, 3, nullptr)) != 0;
}

/// XYZ = m * x + offset, in a profile's units, then the straight curves that the format wants.
bool add_to_xyz(cmsPipeline* pipeline, const Eigen::Matrix3d& m, const Eigen::Vector3d& offset) {
    std::array<cmsFloat64Number, 9> rows{};
    std::array<cmsFloat64Number, 3> shift{};
    for (int r = 0; r < 3; ++r) {
        for (int c = 0; c < 3; ++c) rows[static_cast<std::size_t>(3 * r + c)] = kXyzUnit * m(r, c);
        shift[static_cast<std::size_t>(r)] = kXyzUnit * offset[r];
    }
    return cmsPipelineInsertStage(pipeline, cmsAT_END, cmsStageAllocMatrix(nullptr, 3, 3, rows.data(), shift.data())) != 0 &&
           add_straight_curves(pipeline);
}

Eigen::Vector3d linear(const Linearizer& file, const Eigen::Vector3d& encoded) {
    const std::array<float, 3> in{static_cast<float>(encoded[0]), static_cast<float>(encoded[1]), static_cast<float>(encoded[2])};
    std::array<float, 3> out{};
    file.convert(in.data(), 1, out.data());
    return {out[0], out[1], out[2]};
}

/// Every channel for itself, then a matrix: the file's own curves (channel, encoded -> linear on its own primaries) and the camera's undone in one.
bool add_channels(cmsPipeline* pipeline, const std::function<double(int, double)>& curve, const PlainSteps& steps) {
    std::array<Curve, 3> curves;
    for (int c = 0; c < 3; ++c) curves[static_cast<std::size_t>(c)] = curve_of([&](double e) { return steps.tone.scene(curve(c, e)); });
    return add_curves(pipeline, curves) && add_to_xyz(pipeline, steps.matrix(), steps.offset());
}

/// L* / 100 of a linear value (ISO/CIE 11664-4), negatives mirrored, and back: the tables of such profiles mostly hold Lab, so that what lies
/// between their points is nearest to a straight line in it.
double lightness(double s) { return s < 0 ? -lightness(-s) : lab(Xyz{0, 100 * s, 0}, kWhiteD50).L / 100; }
double linear_from(double u) { return u < 0 ? -linear_from(-u) : xyz(Lab{100 * u, 0, 0}).Y / 100; }

/// Where the file's profile is a table, or the map no 3x3: a table gives three values of each of the file's codes as lightness, the curves behind it
/// make them linear, and a matrix makes XYZ of them. Values beyond 0..1, which wide profiles give, are inside its range.
bool add_table(cmsPipeline* pipeline, const std::function<Eigen::Vector3d(const Eigen::Vector3d&)>& values, const Eigen::Matrix3d& to_xyz,
               const Eigen::Vector3d& offset) {
    std::vector<double> nodes;
    nodes.reserve(3UL * kGrid * kGrid * kGrid);
    double low = 0, high = 1;
    for (int r = 0; r < kGrid; ++r) {
        for (int g = 0; g < kGrid; ++g) {
            for (int b = 0; b < kGrid; ++b) {
                Eigen::Vector3d v = values(Eigen::Vector3d(r, g, b) / (kGrid - 1));
                for (double& x : v) {
                    x = lightness(x);
                    low = std::min(low, x);
                    high = std::max(high, x);
                }
                nodes.insert(nodes.end(), v.begin(), v.end());
            }
        }
    }
    if (!(low > -4 && high < 4)) return false;
    std::vector<cmsUInt16Number> table(nodes.size());
    std::transform(nodes.begin(), nodes.end(), table.begin(),
                   [&](double x) { return static_cast<cmsUInt16Number>(std::lround(65535 * (x - low) / (high - low))); });
    const double from = linear_from(low), span = linear_from(high) - from;
    std::array<Curve, 3> decode;
    for (Curve& curve : decode) curve = curve_of([&](double u) { return (linear_from(low + u * (high - low)) - from) / span; });
    return add_straight_curves(pipeline) &&
           cmsPipelineInsertStage(pipeline, cmsAT_END, cmsStageAllocCLut16bit(nullptr, kGrid, 3, 3, table.data())) != 0 &&
           add_curves(pipeline, decode) && add_to_xyz(pipeline, span * to_xyz, offset + to_xyz * Eigen::Vector3d::Constant(from));
}

Text text_of(const std::string& words) {
    Text text(cmsMLUalloc(nullptr, 1));
    std::wstring wide;
    for (std::size_t i = 0; i < words.size();) {  // UTF-8; what is none becomes '?'
        const auto byte = [&](std::size_t k) { return static_cast<unsigned char>(words[k]); };
        const std::size_t more = byte(i) < 0x80 ? 0 : byte(i) >= 0xC2 && byte(i) < 0xE0 ? 1 : byte(i) >= 0xE0 && byte(i) < 0xF0 ? 2 : 3;
        std::uint32_t point = more == 0 ? byte(i) : byte(i) & (0x3FU >> more);
        bool whole = byte(i) < 0xF5 && (byte(i) < 0x80 || byte(i) >= 0xC2) && i + more < words.size();
        for (std::size_t k = 1; whole && k <= more; ++k) {
            whole = (byte(i + k) & 0xC0U) == 0x80;
            point = point << 6U | (byte(i + k) & 0x3FU);
        }
        wide += whole ? static_cast<wchar_t>(point) : L'?';
        i += whole ? more + 1 : 1;
    }
    if (text) cmsMLUsetWide(text.get(), "en", "US", wide.c_str());
    return text;
}

bool write_words(cmsHPROFILE profile, const std::string& file) {
    const Text description = text_of("Swatchwright: calibration of " + file), copyright = text_of("No copyright: use it freely"),
               model = text_of(file);
    return description && copyright && model && cmsWriteTag(profile, cmsSigProfileDescriptionTag, description.get()) &&
           cmsWriteTag(profile, cmsSigCopyrightTag, copyright.get()) && cmsWriteTag(profile, cmsSigDeviceModelDescTag, model.get());
}

bool write_whites(cmsHPROFILE profile) {
    // The color is stated under D50: nothing was adapted. PCS white by ICC.1:2010, 7.2.16.
    std::array<cmsCIEXYZ, 3> none{{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}};
    return cmsWriteTag(profile, cmsSigMediaWhitePointTag, cmsD50_XYZ()) && cmsWriteTag(profile, cmsSigChromaticAdaptationTag, none.data());
}

}  // namespace

Result<std::vector<std::uint8_t>> input_profile(const Photo& photo, const Calibration& calibration) {
    const auto unsupported = [&](const char* cause) {
        return Error{Fault::picture_unsupported, photo.path, "", cause, "take the corrected picture (--out), or save the photo as TIFF or PNG first"};
    };
    if (photo.sensor) return unsupported("is a camera raw file: every program makes its own colors of it, so that no profile fits them all");
    if (photo.channels != 3) return unsupported("is not stored as RGB, so that no profile of RGB can stand for it");
    const Result<Linearizer> file = Linearizer::make(photo.profile, photo.transfer, 3, 32, photo.path);
    const bool same = file && file->encoding() == photo.encoding;
    // else the container said how it is encoded: curve by its kind, primaries by native_from_srgb
    double (*by_kind)(double) = nullptr;
    if (photo.encoded == Encoding::srgb) by_kind = &srgb_to_linear;
    if (photo.encoded == Encoding::linear) by_kind = [](double e) { return e; };
    if (photo.encoded == Encoding::bt1886) by_kind = [](double e) { return std::pow(e, 2.4); };
    if (!same && by_kind == nullptr) return unsupported("is encoded in a way that cannot be put into a profile");

    const PlainSteps steps = plain_steps(calibration);
    const auto curve = [&](int c, double e) { return same ? (steps.native * linear(*file, Eigen::Vector3d::Constant(e)))[c] : by_kind(e); };
    const auto toned = [&](const Eigen::Vector3d& e) {
        Eigen::Vector3d v = same ? Eigen::Vector3d(steps.native * linear(*file, e)) : Eigen::Vector3d(by_kind(e[0]), by_kind(e[1]), by_kind(e[2]));
        for (double& x : v) x = steps.tone.scene(x);
        return v;
    };
    const Eigen::Vector3d white(kWhiteD50.X / 100, kWhiteD50.Y / 100, kWhiteD50.Z / 100);
    const auto bent = [&](const Eigen::Vector3d& e) {
        return Eigen::Vector3d(steps.xyz(steps.to_scene * toned(e) - steps.veil).cwiseQuotient(white));
    };
    const auto fill = [&](cmsPipeline* p) {
        if (steps.bent) return add_table(p, bent, white.asDiagonal(), Eigen::Vector3d::Zero());
        if (same && file->through_lcms()) return add_table(p, toned, steps.matrix(), steps.offset());
        return add_channels(p, curve, steps);
    };
    const ProfileHandle profile(cmsCreateProfilePlaceholder(nullptr));
    const Pipeline pipeline(cmsPipelineAlloc(nullptr, 3, 3));
    const Error failed{Fault::internal, photo.path, "", "the profile could not be made", "please report it"};
    if (!profile || !pipeline) return failed;
    cmsSetProfileVersion(profile.get(), 4.3);
    cmsSetDeviceClass(profile.get(), cmsSigInputClass);
    cmsSetColorSpace(profile.get(), cmsSigRgbData);
    cmsSetPCS(profile.get(), cmsSigXYZData);
    cmsSetHeaderRenderingIntent(profile.get(), INTENT_RELATIVE_COLORIMETRIC);
    const bool made = fill(pipeline.get()) && write_words(profile.get(), std::filesystem::path(photo.path).filename().string()) &&
                      write_whites(profile.get()) && cmsWriteTag(profile.get(), cmsSigAToB0Tag, pipeline.get());
    cmsUInt32Number size = 0;
    if (!made || !cmsMD5computeID(profile.get()) || !cmsSaveProfileToMem(profile.get(), nullptr, &size)) return failed;
    std::vector<std::uint8_t> bytes(size);
    if (!cmsSaveProfileToMem(profile.get(), bytes.data(), &size)) return failed;
    return bytes;
}

}  // namespace sw
