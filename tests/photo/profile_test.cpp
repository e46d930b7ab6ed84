// ICC profiles in pictures: values against lcms2's own transform, words, and what is refused. Profiles are made here by lcms2.
#include <gtest/gtest.h>
#include <lcms2.h>

#include <Eigen/Core>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>
#include <random>

#include "color/color.hpp"
#include "photo/linearize.hpp"
#include "photo/photo.hpp"
#include "photo/pictures.hpp"
#include "photo/profiles.hpp"

namespace sw {
namespace {

using test::FileBytes;
using test::Folder;
using test::load;
using test::mentions;
using test::spec;

using test::bytes_of;
using test::kBt709;
using test::kD65;
using test::kWide;
using test::rgb_profile;
using test::srgb_curve;
using test::table_curve;
using test::table_profile;
using test::wide_gamut;

/// lcms2's own answer, in float, unoptimized.
std::vector<float> lcms_answer(const FileBytes& bytes, cmsUInt32Number format, const std::vector<float>& in, std::size_t pixels) {
    cmsHPROFILE source = cmsOpenProfileFromMem(bytes.data(), static_cast<cmsUInt32Number>(bytes.size()));
    cmsToneCurve* straight = cmsBuildGamma(nullptr, 1);
    const std::array curves{straight, straight, straight};
    cmsHPROFILE target = cmsCreateRGBProfile(&kD65, &kBt709, curves.data());
    cmsHTRANSFORM transform =
        cmsCreateTransform(source, format, target, TYPE_RGB_FLT, INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE);
    std::vector<float> out(3 * pixels);
    cmsDoTransform(transform, in.data(), out.data(), static_cast<cmsUInt32Number>(pixels));
    cmsDeleteTransform(transform);
    cmsFreeToneCurve(straight);
    cmsCloseProfile(source);
    cmsCloseProfile(target);
    return out;
}

struct Case {
    const char* name;
    FileBytes (*make)();
    bool through_lcms;
};
class AgainstLcms : public testing::TestWithParam<Case> {};
// A grid of 16-bit colors, corners included. 1e-5 is half a step of 16 bits at the top of the range; tables and lcms2 differ by float rounding only.
TEST_P(AgainstLcms, EveryPathAgrees) {
    const FileBytes profile = GetParam().make();
    std::vector<std::uint16_t> codes;
    for (int r = 0; r <= 65535; r += 4369) {
        for (int g = 0; g <= 65535; g += 4369) {
            for (int b = 0; b <= 65535; b += 4369) {
                for (const int code : {r, g, b}) codes.push_back(static_cast<std::uint16_t>(code));
            }
        }
    }
    std::vector<float> encoded;
    std::vector<std::uint8_t> bytes;
    for (const std::uint16_t code : codes) {
        encoded.push_back(static_cast<float>(code) / 65535.0F);
        bytes.push_back(static_cast<std::uint8_t>(code / 257));  // 4369 = 17 * 257: the same colors in 8 bits
    }
    const std::size_t pixels = codes.size() / 3;
    const std::vector<float> expected = lcms_answer(profile, TYPE_RGB_FLT, encoded, pixels);
    double worst = 0;
    for (const int bits : {8, 16, 32}) {
        const auto linearizer = Linearizer::make(profile, {}, 3, bits, "a.tif");
        ASSERT_TRUE(linearizer) << describe(linearizer.error());
        EXPECT_EQ(linearizer->through_lcms(), GetParam().through_lcms);
        std::vector<float> rgb(3 * pixels);
        if (bits == 8) linearizer->convert(bytes.data(), pixels, rgb.data());
        if (bits == 16) linearizer->convert(codes.data(), pixels, rgb.data());
        if (bits == 32) linearizer->convert(encoded.data(), pixels, rgb.data());
        for (std::size_t i = 0; i < rgb.size(); ++i) {
            worst = std::max(worst, std::abs(static_cast<double>(rgb[i]) - static_cast<double>(expected[i])));
            ASSERT_NEAR(rgb[i], expected[i], 1e-5) << bits << " bits, sample " << i;
        }
    }
    RecordProperty("worst_1e9", static_cast<int>(worst * 1e9));
}
INSTANTIATE_TEST_SUITE_P(Icc, AgainstLcms,
                         testing::Values(Case{"wide", wide_gamut, false},
                                         Case{"gamma", [] { return rgb_profile(kBt709, cmsBuildGamma(nullptr, 2.2), "g"); }, false},
                                         Case{"linear", [] { return rgb_profile(kWide, cmsBuildGamma(nullptr, 1), "l"); }, false},
                                         Case{"table curve", [] { return rgb_profile(kWide, table_curve(), "t"); }, false},
                                         Case{"table", [] { return table_profile(4.3); }, true},
                                         Case{"table of version 2", [] { return table_profile(2.1); }, true},
                                         Case{"wide of version 2", [] { return rgb_profile(kWide, table_curve(), "w", 2.1); }, false}),
                         [](const auto& tested) {
                             std::string name = tested.param.name;
                             std::replace(name.begin(), name.end(), ' ', '_');
                             return name;
                         });

const std::vector<std::uint8_t> kColors{0, 255, 0, 188, 188, 188, 255, 0, 0};

TEST(Profile, AWiderOneIsUnclipped) {
    const Folder folder;
    for (const char* name : {"a.png", "a.tif"}) {
        const Photo photo = load(test::write(folder / name, test::with_profile(spec<std::uint8_t>(3, 1, 3), wide_gamut()), kColors));
        EXPECT_EQ(photo.encoding, "profile: Wide test") << name;
        EXPECT_FALSE(photo.untagged);
        EXPECT_FALSE(photo.linear);
        EXPECT_LT(photo.pixel(0, 0)[0], -0.1F) << "its green lies outside sRGB";
        // Neutral stays neutral, at the value of IEC 61966-2-1; 2e-4: rounding of the profile's primaries to 1/65536 and its D50.
        for (int c = 0; c < 3; ++c) EXPECT_NEAR(photo.pixel(1, 0)[c], srgb_to_linear(188 / 255.0), 2e-4);
    }
}

TEST(Profile, ComesOutOfAJpegToo) {
    const Folder folder;
    std::vector<std::uint8_t> gray(16 * 16 * 3, 128);
    const Photo photo = load(test::write(
        folder / "a.jpg", test::with_profile(spec<std::uint8_t>(16, 16, 3), rgb_profile(kBt709, cmsBuildGamma(nullptr, 1.8), "Gamma test")), gray));
    EXPECT_EQ(photo.encoding, "profile: Gamma test");
    EXPECT_NEAR(photo.pixel(8, 8)[1], std::pow(128 / 255.0, 1.8), 2e-4);
}

TEST(Profile, NativePrimariesUndoTheMatrix) {
    const Folder folder;
    const Photo photo = load(test::write(folder / "a.png", test::with_profile(spec<std::uint8_t>(3, 1, 3), wide_gamut()), kColors));
    const Eigen::Matrix3d native = Eigen::Map<const Eigen::Matrix<double, 3, 3, Eigen::RowMajor>>(photo.native_from_srgb.data());
    const Eigen::Vector3d green = native * Eigen::Map<const Eigen::Vector3f>(photo.pixel(0, 0).data()).cast<double>();
    EXPECT_NEAR(green[0], 0, 1e-6);
    EXPECT_NEAR(green[1], 1, 1e-6);
    EXPECT_NEAR(green[2], 0, 1e-6);
    const Photo plain = load(test::write(folder / "b.png", spec<std::uint8_t>(3, 1, 3), kColors));
    EXPECT_EQ(plain.native_from_srgb, (std::array<double, 9>{1, 0, 0, 0, 1, 0, 0, 0, 1}));
}

TEST(Profile, LinearIsNoticed) {
    const Folder folder;
    const Photo photo = load(test::write(
        folder / "a.png", test::with_profile(spec<std::uint8_t>(3, 1, 3), rgb_profile(kBt709, cmsBuildGamma(nullptr, 1), "Straight")), kColors));
    EXPECT_TRUE(photo.linear);
    EXPECT_NEAR(photo.pixel(1, 0)[0], 188 / 255.0, 2e-4);
    const Photo nearly = load(test::write(
        folder / "b.png", test::with_profile(spec<std::uint8_t>(3, 1, 3), rgb_profile(kBt709, cmsBuildGamma(nullptr, 1.02), "Bent")), kColors));
    EXPECT_FALSE(nearly.linear);
}

TEST(Profile, AnAskedTransferWinsWithANote) {
    const Folder folder;
    const Photo photo =
        load(test::write(folder / "a.png", test::with_profile(spec<std::uint8_t>(3, 1, 3), wide_gamut()), kColors), {TransferKind::linear});
    EXPECT_EQ(photo.encoding, "linear, as asked");
    EXPECT_EQ(photo.pixel(0, 0)[0], 0.0F);
    EXPECT_EQ(photo.pixel(0, 0)[1], 1.0F);
    EXPECT_TRUE(mentions(photo.notes, "profile, which was not used"));
}

TEST(Profile, GrayOnes) {
    cmsToneCurve* curve = cmsBuildGamma(nullptr, 1.8);
    cmsHPROFILE gray = cmsCreateGrayProfile(cmsD50_xyY(), curve);
    cmsFreeToneCurve(curve);
    const FileBytes profile = bytes_of(gray, "Gray test");
    const Folder folder;
    const Photo photo = load(test::write<std::uint8_t>(folder / "a.tif", test::with_profile(spec<std::uint8_t>(2, 1, 1), profile), {128, 255}));
    for (int c = 0; c < 3; ++c) {
        EXPECT_NEAR(photo.pixel(0, 0)[c], std::pow(128 / 255.0, 1.8), 2e-4);
        EXPECT_NEAR(photo.pixel(1, 0)[c], 1, 2e-4);
    }
    EXPECT_EQ(photo.encoding, "profile: Gray test");
    // A gray profile on a color picture makes no sense.
    const auto wrong = load_photo(test::write(folder / "b.tif", test::with_profile(spec<std::uint8_t>(3, 1, 3), profile), kColors));
    ASSERT_FALSE(wrong);
    EXPECT_EQ(wrong.error().fault, Fault::profile_broken);
    // A gray picture with an RGB profile does.
    const Photo rgb = load(test::write<std::uint8_t>(
        folder / "c.tif", test::with_profile(spec<std::uint8_t>(2, 1, 1), rgb_profile(kBt709, cmsBuildGamma(nullptr, 2.2), "g")), {128, 255}));
    EXPECT_NEAR(rgb.pixel(0, 0)[1], std::pow(128 / 255.0, 2.2), 2e-4);
}

void expect_broken(const FileBytes& profile, const std::string& words) {
    const Folder folder;
    const auto path = test::write(folder / "a.tif", test::with_profile(spec<std::uint8_t>(3, 1, 3), profile), kColors);
    const auto photo = load_photo(path);
    ASSERT_FALSE(photo);
    EXPECT_EQ(photo.error().fault, Fault::profile_broken) << describe(photo.error());
    EXPECT_EQ(photo.error().place, "embedded color profile");
    EXPECT_NE(photo.error().cause.find(words), std::string::npos) << describe(photo.error());
    EXPECT_NE(photo.error().remedy.find("or remove the profile"), std::string::npos);
    EXPECT_TRUE(load_photo(path, {TransferKind::srgb})) << "asking for a transfer is a way out";
}

TEST(Profile, BrokenOnes) {
    expect_broken(FileBytes(200, 'x'), "cannot be read");
    FileBytes cut = wide_gamut();
    cut.resize(150);
    expect_broken(cut, "cannot be read");
    cmsHPROFILE lab = cmsCreateLab4Profile(nullptr);
    expect_broken(bytes_of(lab, "Lab"), "not made for pictures in RGB");
    // Curves that fall: white would be black.
    std::array<cmsUInt16Number, 2> falling{65535, 0};
    expect_broken(rgb_profile(kBt709, cmsBuildTabulatedToneCurve16(nullptr, 2, falling.data()), "f"), "white lighter than black");
}

// Profiles with bytes changed at random: broken or not, no crash. Seeded. Through the linearizer, where the bytes go.
TEST(Profile, MutationsNeverCrash) {
    std::mt19937 random(11);
    const std::array<FileBytes, 2> wholes{wide_gamut(), table_profile(4.3)};
    for (int i = 0; i < 2000; ++i) {
        FileBytes bytes = wholes[static_cast<std::size_t>(i % 2)];
        for (int k = 0; k < 1 + i % 5; ++k)
            bytes[random() % (i % 4 < 3 ? std::min<std::size_t>(bytes.size(), 600) : bytes.size())] = static_cast<std::uint8_t>(random());
        const auto linearizer = Linearizer::make(bytes, {}, 3, 8, "a.tif");
        if (!linearizer) {
            EXPECT_EQ(linearizer.error().fault, Fault::profile_broken);
            continue;
        }
        float rgb[9];
        linearizer->convert(kColors.data(), 3, rgb);
    }
}

}  // namespace
}  // namespace sw
