#include "calibrate/flat_field.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "spectral/random.hpp"

namespace sw {
namespace {

constexpr int kWidth = 640, kHeight = 420;

/// Light that falls off from a lamp at the upper left, with a warm window at the right and a lens that darkens the corners.
Eigen::Vector3d light_of(double x, double y) {
    const double u = x / kWidth, v = y / kHeight, r2 = (u - 0.5) * (u - 0.5) + (v - 0.5) * (v - 0.5);
    const double lamp = 1 / (1 + 0.8 * (u * u + v * v)), lens = 1 - 0.4 * r2, window = 0.15 * u;
    return Eigen::Vector3d(lamp + 1.2 * window, lamp + window, lamp + 0.7 * window) * lens;
}

/// A board of reflectance 0.8 (or a checker of two) in that light, with grain.
Photo picture(double level, double grain, bool checker = false) {
    Photo p;
    p.path = "board.png";
    p.width = kWidth;
    p.height = kHeight;
    p.rgb.resize(3UL * kWidth * kHeight);
    p.clipped.assign(static_cast<std::size_t>(kWidth) * kHeight, 0);
    Random random(3);
    for (int y = 0; y < kHeight; ++y) {
        for (int x = 0; x < kWidth; ++x) {
            const double board = checker && (x / 80 + y / 80) % 2 == 0 ? 0.3 * level : level;
            const Eigen::Vector3d v = board * light_of(x + 0.5, y + 0.5);
            for (int c = 0; c < 3; ++c) {
                p.rgb[3 * (static_cast<std::size_t>(y) * kWidth + static_cast<std::size_t>(x)) + static_cast<std::size_t>(c)] =
                    static_cast<float>(v[c] * (1 + grain * random.normal()));
            }
        }
    }
    return p;
}

// The made light comes back: a surface of degree 4 follows lamp, window and lens to half a percent.
TEST(FlatField, EvensThePlainBoard) {
    const Result<FlatField> field = flat_field(picture(0.8, 0.02));
    ASSERT_TRUE(field);
    EXPECT_GT(field->range, 0.8);
    EXPECT_GT(field->tint, 0.03);
    const Result<Photo> even = flattened(picture(0.8, 0), *field);
    ASSERT_TRUE(even);
    for (int c = 0; c < 3; ++c) {
        double low = 1e9, high = 0;
        for (int y = 3; y < kHeight; y += 11) {
            for (int x = 3; x < kWidth; x += 11) {
                const double v = even->pixel(x, y)[c];
                low = std::min(low, v);
                high = std::max(high, v);
            }
        }
        std::printf("channel %d: even to %.2f %%\n", c, 100 * (high / low - 1));
        EXPECT_LT(high / low - 1, 0.015) << c;
    }
}

// Dust and a label on the board do not count: 3 % of it black.
TEST(FlatField, IgnoresSpots) {
    Photo board = picture(0.8, 0.01);
    for (int y = 100; y < 160; ++y) {
        for (int x = 200; x < 330; ++x) board.rgb[3 * (static_cast<std::size_t>(y) * kWidth + static_cast<std::size_t>(x)) + 1] *= 0.2F;
    }
    const Result<FlatField> clean = flat_field(picture(0.8, 0.01)), spotted = flat_field(board);
    ASSERT_TRUE(clean && spotted);
    for (double x : {100.0, 260.0, 500.0}) {
        EXPECT_NEAR(light_at(*spotted, x, 130)[1] / light_at(*clean, x, 130)[1], 1, 0.01) << x;
    }
}

TEST(FlatField, RefusesWhatIsNoPlainBoard) {
    const auto fault = [](const Photo& p) {
        const Result<FlatField> f = flat_field(p);
        return f ? std::string("taken") : describe(f.error());
    };
    EXPECT_NE(fault(picture(0.8, 0.01, true)).find("not a plain board"), std::string::npos);
    EXPECT_NE(fault(picture(0.004, 0.01)).find("too dark"), std::string::npos);
    Photo clipped = picture(0.8, 0.01);
    std::fill(clipped.clipped.begin(), clipped.clipped.begin() + static_cast<std::ptrdiff_t>(clipped.clipped.size() / 20), std::uint8_t{1});
    EXPECT_NE(fault(clipped).find("clipped"), std::string::npos);
    Photo small = picture(0.8, 0.01);
    small.width = small.height = 5;
    EXPECT_NE(fault(small).find("too small"), std::string::npos);

    Photo other = picture(0.8, 0.01);
    other.width = kWidth / 2;
    const Result<Photo> wrong = flattened(other, *flat_field(picture(0.8, 0.01)));
    ASSERT_FALSE(wrong);
    EXPECT_EQ(wrong.error().fault, Fault::flat_unusable);
    EXPECT_NE(describe(wrong.error()).find("320 x 420"), std::string::npos);
}

// NaN and black pixels neither crash nor spread.
TEST(FlatField, StandsOddPixels) {
    Photo board = picture(0.8, 0.01);
    for (std::size_t i = 0; i < 300; ++i) board.rgb[i * 977] = i % 2 == 0 ? 0.0F : -0.1F;
    const Result<FlatField> f = flat_field(board);
    ASSERT_TRUE(f);
    EXPECT_TRUE(light_at(*f, 10, 10).allFinite());
}

}  // namespace
}  // namespace sw
