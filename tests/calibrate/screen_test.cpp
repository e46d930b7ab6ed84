// Colors as a screen shows them: frames of an invented film, made here with their truth, and photos of a screen.
#include "calibrate/screen.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <cstdio>

#include "calibrate/calibration.hpp"
#include "color/adaptation.hpp"
#include "color/light.hpp"
#include "learn/real_cameras.hpp"
#include "photo/frame.hpp"
#include "slow.hpp"
#include "spectral/random.hpp"
#include "spectral/sensitivity.hpp"

namespace sw {
namespace {

using Eigen::Matrix3d;
using Eigen::Vector3d;
using testing::HasSubstr;

const Box kPart{60, 50, 40, 30};
constexpr int kBars = 20;

/// A frame of 160 x 120: letterbox bars, a room, the part of one color (linear RGB), a white thing at 110,60,30,30. Grain is relative.
Photo frame_of(const Vector3d& part, Random& random, double grain = 0.03, const Vector3d& white = Vector3d(0.8, 0.8, 0.8)) {
    static const std::vector<double> noise = [] {
        Random own(77);
        std::vector<double> values(20011);
        for (double& v : values) v = own.normal();
        return values;
    }();
    auto at = static_cast<std::size_t>(random.below(20011));
    Photo photo;
    photo.path = "frame.png";
    photo.width = 160;
    photo.height = 120;
    photo.untagged = true;
    for (int y = 0; y < photo.height; ++y) {
        for (int x = 0; x < photo.width; ++x) {
            Vector3d c(0.2 + 0.001 * x, 0.22, 0.18 + 0.001 * y);
            if (x >= 55 && x < 105 && y >= 45 && y < 85) c = part;
            if (x >= 110 && x < 140 && y >= 60 && y < 90) c = white;
            if (y < kBars || y >= photo.height - kBars) c = Vector3d(0.0015, 0.0015, 0.0015);
            for (int k = 0; k < 3; ++k) photo.rgb.push_back(static_cast<float>(c[k] * (1 + grain * noise[at++ % noise.size()])));
        }
    }
    photo.clipped.assign(photo.rgb.size() / 3, 0);
    return photo;
}

/// IEC 61966-2-1's matrix and CIE 15's Lab, adapted from D65 to D50 by Bradford: what the standard says a screen shows.
Lab shown(const Vector3d& rgb) { return lab(adapt(xyz(LinearRgb{rgb[0], rgb[1], rgb[2]}), xyz(LinearRgb{1, 1, 1}), kWhiteD50), kWhiteD50); }
Vector3d figures(const Lab& l) { return {l.L, l.a, l.b}; }
bool covers(const ScreenReading& r, const Lab& truth) {
    const Vector3d off = figures(truth) - figures(r.lab);
    return off.dot(r.covariance.inverse() * off) <= 7.815;  // chi-square, 3 degrees of freedom, 95 %
}
bool says(const std::vector<std::string>& notes, const std::string& word) {
    return std::any_of(notes.begin(), notes.end(), [&](const std::string& n) { return n.find(word) != std::string::npos; });
}

TEST(Frame, PictureAreaIsWithoutBars) {
    Random random(1);
    const Photo wide = frame_of({0.1, 0.1, 0.2}, random);
    const Box area = picture_area(wide);
    EXPECT_EQ(area.y, kBars);
    EXPECT_EQ(area.h, 120 - 2 * kBars);
    EXPECT_EQ(area.x, 0);
    EXPECT_EQ(area.w, 160);
    Photo night = wide;  // a dark scene is no bar: nothing sharp ends it
    for (float& v : night.rgb) v *= 0.02F;
    EXPECT_EQ(picture_area(night).h, 120);
    Photo plain = wide;
    for (float& v : plain.rgb) v = 0.4F;
    EXPECT_EQ(picture_area(plain).w, 160);
}

TEST(Frame, BlockMeansKeepTheMeanAndThePlace) {
    Random random(2);
    const Photo photo = frame_of({0.3, 0.2, 0.1}, random, 0);
    const Averaged a = block_means(photo, kPart, 4);
    EXPECT_EQ(a.photo.width, 10);
    EXPECT_EQ(a.photo.height, 8);
    EXPECT_FLOAT_EQ(a.photo.pixel(3, 3)[0], 0.3F);
    EXPECT_EQ(std::get<Box>(a.region).w, 10);
}

TEST(Screen, AGrabReadsAsTheStandardSays) {
    Random random(3);
    const Vector3d color(0.15, 0.25, 0.4);
    Photo photo = frame_of(color, random, 0.01);
    photo.untagged = false;
    const auto read = read_screen({{&photo, kPart, {}, nullptr, {}}});
    ASSERT_TRUE(read) << describe(read.error());
    EXPECT_LT((figures(read->lab) - figures(shown(color))).norm(), 0.2);
    EXPECT_TRUE(read->as_displayed);
    EXPECT_TRUE(says(read->notes, "as displayed"));
    EXPECT_TRUE(says(read->notes, "one frame"));
    EXPECT_GT(lab_sd(read->covariance)[0], 2);  // one frame says nothing of the others
}

// Untagged: sRGB is assumed, and BT.1886 (Rec. ITU-R BT.1886, gamma 2.4, black 0) lies within two standard deviations of it.
TEST(Screen, TheOtherCurveIsInTheSpread) {
    Random random(4);
    for (const double level : {0.01, 0.05, 0.2, 0.6}) {
        const Photo photo = frame_of(Vector3d::Constant(level), random, 0.005);
        std::vector<FramePlace> many(6, {&photo, kPart, {}, nullptr, {}});
        const auto read = read_screen(many);
        ASSERT_TRUE(read);
        const Vector3d other = figures(shown(Vector3d::Constant(std::pow(linear_to_srgb(level), 2.4))));
        EXPECT_LT(std::abs(other[0] - read->lab.L), 2.2 * lab_sd(read->covariance)[0]) << level;
        EXPECT_TRUE(says(read->notes, "BT.1886") || level > 0.5);
    }
    Photo asked = frame_of({0.1, 0.1, 0.1}, random);
    asked.transfer.kind = TransferKind::bt1886;
    const auto read = read_screen({{&asked, kPart, {}, nullptr, {}}});
    ASSERT_TRUE(read);
    EXPECT_FALSE(says(read->notes, "BT.1886"));
}

// Frames that differ by light and grade: the spread covers the color of a further frame.
TEST(Screen, FurtherFramesAreCovered) {
    Random random(5);
    for (const int count : {1, 2, 3, 5, 8}) {
        int inside = 0, trials = test::kSlow ? 8 : 60;
        double width = 0;
        for (int trial = 0; trial < trials; ++trial) {
            const Vector3d color(random.uniform(0.05, 0.5), random.uniform(0.05, 0.5), random.uniform(0.05, 0.5));
            const double unrest = random.uniform(0.5, 1.4);  // some films are steady, some are not
            const auto next = [&] {
                const double level = std::exp(0.09 * unrest * random.normal()), warm = 0.05 * unrest * random.normal(),
                             green = 0.03 * unrest * random.normal();
                return Vector3d(color[0] * level * (1 + warm), color[1] * level * (1 + green), color[2] * level * (1 - warm));
            };
            std::vector<Photo> photos;
            for (int i = 0; i < count; ++i) {
                photos.push_back(frame_of(next(), random));
                photos.back().untagged = false;
            }
            std::vector<FramePlace> places;
            for (const Photo& photo : photos) places.push_back({&photo, kPart, {}, nullptr, {}});
            const auto read = read_screen(places);
            ASSERT_TRUE(read);
            inside += covers(*read, shown(next()));
            width += std::sqrt(read->covariance.trace() / 3) / trials;
        }
        std::printf("%d frames: a further one is covered in %.0f %%, mean sd %.2f\n", count, 100.0 * inside / trials, width);
        EXPECT_GE(inside, (test::kSlow ? 0.7 : 0.88) * trials) << count;
    }
}

TEST(Screen, AFrameUnlikeTheRestIsNamed) {
    Random random(6);
    std::vector<Photo> photos;
    for (const double level : {0.2, 0.21, 0.19, 0.6, 0.2}) photos.push_back(frame_of({level, level, 0.3}, random));
    std::vector<FramePlace> places;
    for (const Photo& photo : photos) places.push_back({&photo, kPart, {}, nullptr, {}});
    const auto read = read_screen(places);
    ASSERT_TRUE(read);
    EXPECT_TRUE(read->frames[3].left_out);
    EXPECT_FALSE(read->frames[0].left_out);
    EXPECT_TRUE(says(read->notes, "frame 4 is"));
    EXPECT_LT(std::abs(read->lab.L - shown({0.2, 0.2, 0.3}).L), 1);
}

TEST(Screen, BarsAndLetteringAreNoPicture) {
    Random random(7);
    Photo photo = frame_of({0.1, 0.15, 0.2}, random);
    const auto bar = read_screen({{&photo, Box{60, 10, 40, 30}, {}, nullptr, {}}});
    ASSERT_FALSE(bar);
    EXPECT_EQ(bar.error().fault, Fault::region_outside);
    EXPECT_THAT(describe(bar.error()), HasSubstr("black bar at the top; the picture begins at row 20"));
    EXPECT_THAT(describe(read_screen({{&photo, Box{60, 80, 40, 30}, {}, nullptr, {}}}).error()), HasSubstr("bar at the bottom"));
    for (int y = 70; y < 76; ++y) {  // a subtitle's foot, white on black rims, over the lower edge of the region
        for (int x = 62; x < 98; ++x) {
            for (int c = 0; c < 3; ++c)
                photo.rgb[3UL * static_cast<std::size_t>(y * 160 + x) + static_cast<std::size_t>(c)] =
                    x % 4 == 0 ? 0.9F : photo.rgb[3UL * static_cast<std::size_t>(y * 160 + x) + static_cast<std::size_t>(c)];
        }
    }
    const auto read = read_screen({{&photo, kPart, {}, nullptr, {}}});
    ASSERT_TRUE(read);
    EXPECT_TRUE(says(read->frames[0].notes, "lettering")) << testing::PrintToString(read->frames[0].notes);
    EXPECT_LT((figures(read->lab) - figures(shown({0.1, 0.15, 0.2}))).norm(), 1);
}

// A warm grade: a white thing in the frame takes it off, within what is said. Truth: the same film ungraded.
TEST(Screen, AKnownThingTakesOffTheGrade) {
    Random random(8);
    const Vector3d color(0.2, 0.1, 0.15), grade(1.15, 1, 0.8);
    Photo photo = frame_of(color.cwiseProduct(grade), random, 0.02, 0.8 * grade / grade.maxCoeff() * 1.0);
    photo.untagged = false;
    KnownThing white{Box{113, 63, 24, 24}, {}, {}};
    const auto plain = read_screen({{&photo, kPart, {}, nullptr, {}}}), by_white = read_screen({{&photo, kPart, white, nullptr, {}}});
    ASSERT_TRUE(plain && by_white);
    EXPECT_FALSE(by_white->as_displayed);
    EXPECT_FALSE(says(by_white->notes, "as displayed"));
    const Lab truth = shown(color);
    EXPECT_GT(std::hypot(plain->lab.a - truth.a, plain->lab.b - truth.b), 5);
    EXPECT_LT(std::hypot(by_white->lab.a - truth.a, by_white->lab.b - truth.b), 2.5);
    EXPECT_NEAR(by_white->lab.L, plain->lab.L, 2) << "lightness stays as shown";
    white.lrv = 80;
    const auto leveled = read_screen({{&photo, kPart, white, nullptr, {}}});
    ASSERT_TRUE(leveled);
    EXPECT_NEAR(leveled->lab.L, truth.L, 6);
    white = {Box{113, 63, 24, 24}, {}, shown(Vector3d::Constant(0.8))};
    const auto known = read_screen({{&photo, kPart, white, nullptr, {}}});
    ASSERT_TRUE(known);
    EXPECT_TRUE(covers(*known, truth) || (figures(known->lab) - figures(truth)).norm() < 6);
    Photo dark = photo;
    for (float& v : dark.rgb) v *= 0.001F;
    const auto refused = read_screen({{&dark, kPart, white, nullptr, {}}});
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().fault, Fault::gray_unusable);
}

// Photos of a screen by real cameras (open data of the Academy Software Foundation, beside the project) with the screen's pixels and moire over them,
// shading included: the screen's own color comes back within what is said.
TEST(Screen, PhotosOfAScreen) {
    if (!test::has_real_cameras()) GTEST_SKIP() << "the table of cameras lies beside the project";
    const test::CameraTable cameras = test::real_cameras();
    Random random(9);
    const Light daylight = *light("D65");
    const auto band = [](double center, double width) {
        ModelSpectrum s;
        for (int i = 0; i < kModelBands; ++i) s[i] = std::exp(-0.5 * std::pow((kFirstNm + 5 * i - center) / width, 2));
        return s;
    };
    // Each primary as strong as a white of D65 asks.
    Eigen::Matrix<double, kModelBands, 3> primaries;
    primaries << band(620, 18), band(535, 25), band(452, 9);
    const ObserverMatrix under_d65 = observer_matrix(daylight, Observer::degree2);
    const ModelSpectrum power = on_model_grid(daylight.power);
    Eigen::Matrix<double, 3, kModelBands> matching = under_d65;
    for (int k = 0; k < 3; ++k) matching.row(k) = matching.row(k).cwiseQuotient(power.transpose());
    const Vector3d strength = Matrix3d(matching * primaries).inverse() * under_d65.rowwise().sum();
    primaries = primaries * strength.asDiagonal();
    int inside = 0, trials = 0;
    std::vector<double> errors;
    for (std::size_t c = 0; c < cameras.size(); c += 3) {
        const SensitivityRows rows = test::seen_by(cameras[c], ModelSpectrum::Ones());
        const Matrix3d sees = rows * primaries;
        // The camera's own matrix: fitted for daylight, white kept.
        const Matrix3d to_xyz = best_matrix(test::seen_by(cameras[c], power), under_d65);
        for (int trial = 0; trial < 6; ++trial) {
            const Vector3d color(random.uniform(0.05, 0.7), random.uniform(0.05, 0.7), random.uniform(0.05, 0.7));
            const auto photographed = [&](const Vector3d& rgb) {
                const Vector3d white = sees * Vector3d::Ones();
                const Vector3d v = 100 * (to_xyz * (sees * rgb).cwiseQuotient(white));
                const LinearRgb l = linear_rgb(Xyz{v[0], v[1], v[2]});
                return Vector3d(l.r, l.g, l.b);
            };
            const auto picture = [&](const Vector3d& rgb, double phase) {
                Photo photo;
                photo.path = "screen.jpg";
                photo.width = 160;
                photo.height = 120;
                for (int y = 0; y < 120; ++y) {
                    for (int x = 0; x < 160; ++x) {
                        const double shade = 0.6 * (1 - 2e-5 * ((x - 80) * (x - 80) + (y - 60) * (y - 60)));
                        const double moire = 1 + 0.35 * std::sin(2.1 * x + phase) * std::sin(1.9 * y) + 0.06 * std::sin(0.35 * x + phase);
                        for (int k = 0; k < 3; ++k) photo.rgb.push_back(static_cast<float>(shade * moire * rgb[k] * (1 + 0.01 * random.normal())));
                    }
                }
                photo.clipped.assign(photo.rgb.size() / 3, 0);
                return photo;
            };
            const Photo frame = picture(photographed(color), random.uniform(0, 6)),
                        still = picture(photographed(Vector3d::Ones()), random.uniform(0, 6));
            const auto read = read_screen({{&frame, kPart, {}, &still, {}}});
            ASSERT_TRUE(read) << describe(read.error());
            EXPECT_TRUE(says(read->frames[0].notes, "averaged out")) << testing::PrintToString(read->frames[0].notes);
            inside += covers(*read, shown(color));
            ++trials;
            errors.push_back((figures(read->lab) - figures(shown(color))).norm());
        }
    }
    std::sort(errors.begin(), errors.end());
    std::printf("photos of a screen: CIE 1976 difference median %.1f, worst %.1f; covered %d of %d\n", errors[errors.size() / 2], errors.back(),
                inside, trials);
    EXPECT_GE(inside, 0.9 * trials);
    EXPECT_LT(errors[errors.size() / 2], 5);
}

TEST(Screen, StillsThatCannotServe) {
    Random random(10);
    const Photo frame = frame_of({0.2, 0.2, 0.2}, random, 0.01);
    Photo still = frame_of({0.8, 0.8, 0.8}, random, 0.01);
    still.path = "still.jpg";
    ASSERT_TRUE(read_screen({{&frame, kPart, {}, &still, {}}}));
    Photo clipped = still;
    std::fill(clipped.clipped.begin(), clipped.clipped.end(), 1);
    EXPECT_THAT(describe(read_screen({{&frame, kPart, {}, &clipped, {}}}).error()), HasSubstr("white is at the top of the camera's range"));
    Photo dark = still;
    for (float& v : dark.rgb) v *= 0.01F;
    EXPECT_THAT(describe(read_screen({{&frame, kPart, {}, &dark, {}}}).error()), HasSubstr("nearly black"));
    Photo small = block_means(still, Box{0, 0, 160, 120}, 2).photo;
    EXPECT_THAT(describe(read_screen({{&frame, kPart, {}, &small, {}}}).error()), HasSubstr("of another size"));
    EXPECT_TRUE(read_screen({{&frame, kPart, {}, &small, Region(Box{28, 24, 20, 16})}}));
}

}  // namespace
}  // namespace sw
