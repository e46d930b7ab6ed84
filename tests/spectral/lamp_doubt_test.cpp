#include "spectral/lamp_doubt.hpp"

#include <gtest/gtest.h>

#include "color/light.hpp"
#include "spectral/surfaces.hpp"

namespace sw {
namespace {

// Definition: a known spectrum leaves no doubt, and a perfect gray is gray under every lamp (its Lab is relative to that lamp's own white).
TEST(LampDoubt, IsNoneForAKnownLightAndForGray) {
    EXPECT_EQ(lamp_deviations(*light("LED-B3"), Observer::degree2, chart_reflectances().col(14)).cols(), 0);
    const Eigen::Matrix3Xd gray = lamp_deviations(*light("led:4000,ra=80"), Observer::degree2, ModelSpectrum::Constant(0.4));
    ASSERT_GT(gray.cols(), 20);
    EXPECT_LT(gray.cwiseAbs().maxCoeff(), 1e-9);
}

// The more the box says, the less is open; a blend with daylight dilutes it. Sizes: methods of the trade give no figure; red (patch 15) is what
// lamps differ in.
TEST(LampDoubt, FallsWithWhatTheBoxSays) {
    const ModelSpectrum red = chart_reflectances().col(14);
    const auto size = [&](const char* text) { return std::sqrt(lamp_covariance(lamp_deviations(*light(text), Observer::degree2, red)).trace()); };
    const double cct = size("led:4000"), ra = size("led:4000,ra=80"), duv = size("led:4000,ra=80,duv=0.001"),
                 half = size("0.5*led:4000,ra=80+0.5*D65");
    std::printf("patch 15 red, spread of Lab: CCT %.2f, and Ra %.2f, and Duv %.2f, half daylight %.2f\n", cct, ra, duv, half);
    EXPECT_LT(ra, cct);
    EXPECT_LE(duv, 1.05 * ra);
    EXPECT_LT(half, ra);
    EXPECT_GT(half, 0);
}

// What two like surfaces share cancels in their difference: red against a slightly darker red.
TEST(LampDoubt, OfADifferenceIsSmall) {
    const Light lamp = *light("led:4000,ra=80");
    const ModelSpectrum red = chart_reflectances().col(14), darker = 0.95 * red;
    const Eigen::Matrix3Xd a = lamp_deviations(lamp, Observer::degree2, red), b = lamp_deviations(lamp, Observer::degree2, darker);
    EXPECT_LT(lamp_covariance(a - b).trace(), 0.02 * lamp_covariance(a).trace());
}

}  // namespace
}  // namespace sw
