// Color profiles for test pictures, made by lcms2.
#pragma once

#include <gtest/gtest.h>
#include <lcms2.h>

#include <array>
#include <cmath>
#include <csetjmp>
#include <cstdio>
#include <cstdlib>

#include <jpeglib.h>

#include "photo/pictures.hpp"
#include "photo/table_profile.hpp"

namespace sw::test {

inline const cmsCIExyY kD65{0.3127, 0.3290, 1};
inline const cmsCIExyYTRIPLE kWide{{0.680, 0.320, 1}, {0.265, 0.690, 1}, {0.150, 0.060, 1}};  // SMPTE RP 431-2's primaries with D65
inline const cmsCIExyYTRIPLE kBt709{{0.64, 0.33, 1}, {0.30, 0.60, 1}, {0.15, 0.06, 1}};

inline FileBytes rgb_profile(const cmsCIExyYTRIPLE& primaries, cmsToneCurve* curve, const char* name, double version = 4.3) {
    const std::array curves{curve, curve, curve};
    cmsHPROFILE profile = cmsCreateRGBProfile(&kD65, &primaries, curves.data());
    cmsFreeToneCurve(curve);
    cmsSetProfileVersion(profile, version);
    return bytes_of(profile, name);
}

inline cmsToneCurve* srgb_curve() {
    const std::array parameters{2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045};
    return cmsBuildParametricToneCurve(nullptr, 4, parameters.data());
}

inline cmsToneCurve* table_curve() {
    std::array<cmsUInt16Number, 256> table{};
    for (std::size_t i = 0; i < table.size(); ++i)
        table[i] = static_cast<cmsUInt16Number>(std::lround(65535 * std::pow(static_cast<double>(i) / 255, 1.8)));
    return cmsBuildTabulatedToneCurve16(nullptr, 256, table.data());
}

inline FileBytes wide_gamut() { return rgb_profile(kWide, srgb_curve(), "Wide test"); }

/// An invented press: inks that subtract their complement, black on top; a table from CMYK to Lab, as version 2 has it.
inline FileBytes ink_profile() {
    cmsHPROFILE source = cmsCreate_sRGBProfile(), lab = cmsCreateLab4Profile(nullptr);
    cmsHTRANSFORM transform = cmsCreateTransform(source, TYPE_RGB_16, lab, TYPE_Lab_16, INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOOPTIMIZE);
    cmsPipeline* pipeline = cmsPipelineAlloc(nullptr, 4, 3);
    cmsStage* grid = cmsStageAllocCLut16bit(nullptr, 9, 4, 3, nullptr);
    cmsStageSampleCLut16bit(
        grid,
        [](const cmsUInt16Number in[], cmsUInt16Number out[], void* cargo) -> cmsInt32Number {
            std::array<cmsUInt16Number, 3> rgb{};
            for (std::size_t c = 0; c < 3; ++c)
                rgb[c] = static_cast<cmsUInt16Number>(std::lround(65535.0 * (1 - 0.95 * in[c] / 65535.0) * (1 - 0.98 * in[3] / 65535.0)));
            cmsDoTransform(cargo, rgb.data(), out, 1);
            return 1;
        },
        transform, 0);
    cmsPipelineInsertStage(pipeline, cmsAT_END, cmsStageAllocToneCurves(nullptr, 4, nullptr));
    cmsPipelineInsertStage(pipeline, cmsAT_END, grid);
    cmsPipelineInsertStage(pipeline, cmsAT_END, cmsStageAllocToneCurves(nullptr, 3, nullptr));
    cmsHPROFILE profile = cmsCreateProfilePlaceholder(nullptr);
    cmsSetProfileVersion(profile, 2.1);
    cmsSetDeviceClass(profile, cmsSigOutputClass);
    cmsSetColorSpace(profile, cmsSigCmykData);
    cmsSetPCS(profile, cmsSigLabData);
    for (const auto tag : {cmsSigAToB0Tag, cmsSigAToB1Tag}) cmsWriteTag(profile, tag, pipeline);
    cmsWriteTag(profile, cmsSigMediaWhitePointTag, cmsD50_XYZ());
    cmsPipelineFree(pipeline);
    cmsDeleteTransform(transform);
    cmsCloseProfile(source);
    cmsCloseProfile(lab);
    return bytes_of(profile, "Ink test");
}

/// lcms2's own answer in linear sRGB; inks 0..255, 0 = none.
inline std::array<double, 3> ink_color(const FileBytes& bytes, const std::array<std::uint8_t, 4>& inks) {
    cmsHPROFILE source = cmsOpenProfileFromMem(bytes.data(), static_cast<cmsUInt32Number>(bytes.size()));
    cmsToneCurve* straight = cmsBuildGamma(nullptr, 1);
    const std::array curves{straight, straight, straight};
    cmsHPROFILE target = cmsCreateRGBProfile(&kD65, &kBt709, curves.data());
    cmsHTRANSFORM transform =
        cmsCreateTransform(source, TYPE_CMYK_DBL, target, TYPE_RGB_DBL, INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE);
    std::array<double, 4> percent{};
    for (std::size_t i = 0; i < 4; ++i) percent[i] = inks[i] / 2.55;
    std::array<double, 3> rgb{};
    cmsDoTransform(transform, percent.data(), rgb.data(), 1);
    cmsDeleteTransform(transform);
    cmsFreeToneCurve(straight);
    cmsCloseProfile(source);
    cmsCloseProfile(target);
    return rgb;
}

/// A flat CMYK JPEG with Adobe's marker, thus with inks stored as 255 less ink.
inline FileBytes ink_jpeg(int width, int height, const std::array<std::uint8_t, 4>& inks, const FileBytes& profile) {
    jpeg_compress_struct state{};
    jpeg_error_mgr errors{};
    state.err = jpeg_std_error(&errors);
    jpeg_create_compress(&state);
    unsigned char* memory = nullptr;
    unsigned long size = 0;
    jpeg_mem_dest(&state, &memory, &size);
    state.image_width = static_cast<JDIMENSION>(width);
    state.image_height = static_cast<JDIMENSION>(height);
    state.input_components = 4;
    state.in_color_space = JCS_CMYK;
    jpeg_set_defaults(&state);
    jpeg_set_quality(&state, 100, TRUE);
    jpeg_start_compress(&state, TRUE);
    if (!profile.empty()) jpeg_write_icc_profile(&state, profile.data(), static_cast<unsigned>(profile.size()));
    FileBytes row;
    for (int x = 0; x < width; ++x) {
        for (const std::uint8_t ink : inks) row.push_back(static_cast<std::uint8_t>(255 - ink));
    }
    for (int y = 0; y < height; ++y) {
        JSAMPROW line = row.data();
        jpeg_write_scanlines(&state, &line, 1);
    }
    jpeg_finish_compress(&state);
    const FileBytes bytes(memory, memory + size);
    jpeg_destroy_compress(&state);
    std::free(memory);
    return bytes;
}

}  // namespace sw::test
