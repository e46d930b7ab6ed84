// The ICC named-color profile: by Little CMS's own reader, and from outside by transicc.
#include "sheet/named_colors.hpp"

#include <gmock/gmock.h>
#include <lcms2.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <sstream>

#include "color/adaptation.hpp"
#include "folder_test.hpp"

namespace sw {
namespace {

class NamedColorProfile : public test::FolderTest {};

std::vector<Target> named_targets() {
    std::vector<Target> targets(4);
    targets[0].name = "Damson 14";
    targets[0].lab = {32.517, 20.83, -12.71};
    targets[1].name = "Heather 09, under daylight and a name far longer than a profile has room for";
    targets[1].lab = {52, 18, -20, kWhiteD65};
    targets[1].light = "D65";
    targets[2].name = "Gräulich";
    targets[2].lab = {60, 0, 0};
    targets[3].name = "Gr\xC3\xBCulich";  // the same in ASCII
    targets[3].lab = {99.99, 140, -90};
    return targets;
}

TEST_F(NamedColorProfile, TransiccReadsNamesAndLab) {
    const auto targets = named_targets();
    const auto made = named_color_profile(targets, "Swatchwright: funicular.swb");
    ASSERT_TRUE(made) << describe(made.error());
    std::ofstream(path("n.icc"), std::ios::binary).write(reinterpret_cast<const char*>(made->profile.data()), std::ssize(made->profile));
    const std::string command = "printf '0\\n1\\n2\\n' | transicc -i " + path("n.icc") + " -o '*Lab' -n 2>/dev/null";
    std::FILE* pipe = popen(command.c_str(), "r");
    ASSERT_NE(pipe, nullptr);
    std::string out;
    for (std::array<char, 4096> block{}; const std::size_t read = fread(block.data(), 1, block.size(), pipe);) out.append(block.data(), read);
    ASSERT_EQ(pclose(pipe), 0) << "is transicc there?";
    const Lab adapted = lab(adapt(xyz(targets[1].lab), kWhiteD65, kWhiteD50), kWhiteD50);
    std::istringstream lines(out);
    std::vector<std::array<double, 3>> labs;
    for (std::string line; std::getline(lines, line);) {
        std::array<double, 3> lab{};
        if (std::sscanf(line.c_str(), "%lf %lf %lf", &lab[0], &lab[1], &lab[2]) == 3) labs.push_back(lab);
    }
    ASSERT_EQ(labs.size(), 3U) << out;
    EXPECT_THAT(out, testing::HasSubstr("Damson 14"));
    EXPECT_THAT(out, testing::HasSubstr("Heather 09, under daylight and"));
    EXPECT_THAT(out, testing::HasSubstr("Gr?ulich"));
    // 16 bits: half a step of 100/65280 and 256/65280 where it is stored, as much again where transicc makes Lab of 16 bits of it, and its 4 decimals
    for (const auto& [read, lab] : {std::pair{labs[0], targets[0].lab}, {labs[1], adapted}, {labs[2], targets[2].lab}}) {
        EXPECT_NEAR(read[0], lab.L, 0.0016 + 5e-5);
        EXPECT_NEAR(read[1], lab.a, 0.004 + 5e-5);
        EXPECT_NEAR(read[2], lab.b, 0.004 + 5e-5);
    }
}

TEST_F(NamedColorProfile, NamesAreShortAsciiAndDifferWhatIsChangedIsSaid) {
    const auto made = named_color_profile(named_targets(), "t");
    ASSERT_TRUE(made);
    ASSERT_EQ(made->renamed.size(), 3U);
    EXPECT_LE(made->renamed[0].to.size(), 31U);
    EXPECT_EQ(made->renamed[1].to, "Gr?ulich");
    EXPECT_EQ(made->renamed[2].to, "Gr?ulich 2");
    EXPECT_THAT(made->clipped, testing::ElementsAre("Gr\xC3\xBCulich"));
    const cmsHPROFILE profile = cmsOpenProfileFromMem(made->profile.data(), static_cast<cmsUInt32Number>(made->profile.size()));
    ASSERT_NE(profile, nullptr);
    EXPECT_EQ(cmsGetDeviceClass(profile), cmsSigNamedColorClass);
    const auto* list = static_cast<const cmsNAMEDCOLORLIST*>(cmsReadTag(profile, cmsSigNamedColor2Tag));
    ASSERT_NE(list, nullptr);
    EXPECT_EQ(cmsNamedColorCount(list), 4U);
    cmsCloseProfile(profile);
    EXPECT_FALSE(named_color_profile({}, "t"));
}

}  // namespace
}  // namespace sw
