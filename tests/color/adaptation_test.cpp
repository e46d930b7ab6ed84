#include "color/adaptation.hpp"

#include <lcms2.h>

#include "color/reference.hpp"

namespace sw {
namespace {

using test::Worst;

// Source: Little CMS, cmsAdaptToIlluminant (Bradford). Both in double: 1e-9 is rounding.
TEST(Adaptation, BradfordAgreesWithLittleCms) {
    Worst worst;
    for (const Xyz color : {Xyz{30, 20, 10}, Xyz{5, 40, 60}, Xyz{80, 90, 100}, Xyz{1, 1, 50}}) {
        const cmsCIEXYZ from{kWhiteD65.X / 100, 1, kWhiteD65.Z / 100}, to{kWhiteD50.X / 100, 1, kWhiteD50.Z / 100},
            c{color.X / 100, color.Y / 100, color.Z / 100};
        cmsCIEXYZ theirs;
        ASSERT_TRUE(cmsAdaptToIlluminant(&theirs, &from, &to, &c));
        const Xyz ours = adapt(color, kWhiteD65, kWhiteD50);
        worst.see(std::max({std::abs(ours.X - 100 * theirs.X), std::abs(ours.Y - 100 * theirs.Y), std::abs(ours.Z - 100 * theirs.Z)}), "");
    }
    worst.report("lcms2 cmsAdaptToIlluminant", 1e-9);
}

TEST(Adaptation, TakesWhiteToWhiteAndBackAndDegreeZeroDoesNothing) {
    const Xyz a{109.8503, 100, 35.58495}, color{20, 30, 40};
    for (const Adaptation kind : {Adaptation::bradford, Adaptation::cat02, Adaptation::cat16}) {
        const Xyz white = adapt(a, a, kWhiteD50, kind);
        EXPECT_NEAR(white.X, kWhiteD50.X, 1e-9);
        EXPECT_NEAR(white.Z, kWhiteD50.Z, 1e-9);
        const Xyz back = adapt(adapt(color, a, kWhiteD50, kind), kWhiteD50, a, kind);
        EXPECT_NEAR(back.X, color.X, 1e-9);
        EXPECT_NEAR(back.Y, color.Y, 1e-9);
        EXPECT_NEAR(back.Z, color.Z, 1e-9);
        const Xyz same = adapt(color, a, kWhiteD50, kind, 0);
        EXPECT_NEAR(same.X, color.X, 1e-9);
        EXPECT_NEAR(same.Z, color.Z, 1e-9);
    }
}

// Source: CIE 159:2004, the matrix MCAT02: a stimulus (1, 0, 0) has the responses 0.7328, -0.7036, 0.0030. Held through the function: under
// whites whose ratio in the three responses is 2, 3, 5 the result must be M^-1 diag(2, 3, 5) M. CAT02 is in no oracle file.
TEST(Adaptation, Cat02ScalesItsOwnResponses) {
    const double m[3][3] = {{0.7328, 0.4296, -0.1624}, {-0.7036, 1.6975, 0.0061}, {0.0030, 0.0136, 0.9834}};
    const Xyz from = kWhiteD65, to = kWhiteD50, color{37, 21, 9};
    const Xyz moved = adapt(color, from, to, Adaptation::cat02);
    for (const auto& row : m) {
        const auto response = [&row](const Xyz& c) { return row[0] * c.X + row[1] * c.Y + row[2] * c.Z; };
        EXPECT_NEAR(response(moved) / response(color), response(to) / response(from), 1e-12);
    }
}

}  // namespace
}  // namespace sw
