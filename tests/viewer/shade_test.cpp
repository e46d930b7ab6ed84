// shaders/picture.frag against its definition, on whatever OpenGL there is; skipped where none can be had.
#include "viewer/shade.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "viewer/gl_context.hpp"
#include "viewer/marking.hpp"
#include "viewer/picture_gl.hpp"

namespace sw::window {
namespace {

TEST(Shade, ModesAndStripes) {
    const std::array<float, 3> first{0.1F, 0.2F, 0.3F}, second{0.4F, 0.5F, 0.6F}, clipped{1, 0.2F, 0.3F};
    EXPECT_EQ(shade(first, second, 10, 10, {.mode = 0}), first);
    EXPECT_EQ(shade(first, second, 10, 10, {.mode = 1}), second);
    EXPECT_EQ(shade(first, second, 9.5F, 10, {.mode = 2, .divider = 10}), first);
    EXPECT_EQ(shade(first, second, 10.5F, 10, {.mode = 2, .divider = 10}), second);
    EXPECT_EQ(shade(first, second, 0.5F, 0.5F, {.stripes = true}), first);
    EXPECT_EQ(shade(clipped, second, 0.5F, 0.5F, {.stripes = true}), (std::array<float, 3>{0, 0, 0}));
    EXPECT_EQ(shade(clipped, second, 8.5F, 0.5F, {.stripes = true}), (std::array<float, 3>{1, 1, 1}));
}

std::shared_ptr<const CorrectedPicture> noise(int width, int height, unsigned seed) {
    std::mt19937 random(seed);
    std::uniform_int_distribution<int> value(0, 255);
    auto picture = std::make_shared<CorrectedPicture>();
    picture->width = width;
    picture->height = height;
    picture->rgb.resize(3U * static_cast<std::size_t>(width) * static_cast<std::size_t>(height));
    for (std::uint8_t& v : picture->rgb) v = static_cast<std::uint8_t>(value(random) > 200 ? 255 : value(random));  // many clipped ones
    return picture;
}

TEST(Shade, GpuDoesWhatTheDefinitionSays) {
    const test::GlContext context;
    if (context.window == nullptr) GTEST_SKIP() << "no display or no OpenGL 3.3 here";
    constexpr int width = 320, height = 200;
    unsigned framebuffer = 0, color = 0;
    glGenFramebuffers(1, &framebuffer);
    glGenRenderbuffers(1, &color);
    glBindRenderbuffer(GL_RENDERBUFFER, color);
    glRenderbufferStorage(GL_RENDERBUFFER, GL_RGBA8, width, height);
    glBindFramebuffer(GL_FRAMEBUFFER, framebuffer);
    glFramebufferRenderbuffer(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_RENDERBUFFER, color);
    glViewport(0, 0, width, height);

    Result<std::unique_ptr<PictureGl>> made = PictureGl::make();
    ASSERT_TRUE(made) << describe(made.error());
    PictureGl& picture = **made;
    const auto original = noise(300, 180, 1), corrected = noise(300, 180, 2);
    picture.show(original, nullptr, corrected);
    while (picture.upload_some()) {
    }
    int worst = 0, compared = 0;
    for (const double zoom : {1.0, 4.0}) {
        for (const ShadeParameters& parameters :
             {ShadeParameters{0, 0, false, 16}, {1, 0, false, 16}, {2, 150, false, 16}, {2, 150, true, 16}, {0, 0, true, 10}, {1, 0, true, 32}}) {
            const Rect area{10, 10, 300, 180};
            const Camera camera{zoom, {150, 90}};
            glClearColor(0, 0, 0, 1);
            glClear(GL_COLOR_BUFFER_BIT);
            picture.draw(area, camera, width, height, parameters);
            std::vector<std::uint8_t> drawn(4U * width * height);
            glReadPixels(0, 0, width, height, GL_RGBA, GL_UNSIGNED_BYTE, drawn.data());
            for (int y = 0; y < height; ++y) {
                for (int x = 0; x < width; ++x) {
                    const std::uint8_t* gpu = &drawn[4U * static_cast<std::size_t>((height - 1 - y) * width + x)];
                    const float fx = static_cast<float>(x) + 0.5F, fy = static_cast<float>(y) + 0.5F;
                    if (!area.contains(fx, fy)) {
                        ASSERT_EQ(gpu[0] + gpu[1] + gpu[2], 0) << "drew outside its area at " << x << "," << y;
                        continue;
                    }
                    const Point p = to_picture(camera, area, {static_cast<double>(fx), static_cast<double>(fy)});
                    const std::size_t at = 3U * (static_cast<std::size_t>(p.y) * 300 + static_cast<std::size_t>(p.x));
                    const auto code = [&](const CorrectedPicture& from) {
                        return std::array<float, 3>{static_cast<float>(from.rgb[at]) / 255, static_cast<float>(from.rgb[at + 1]) / 255,
                                                    static_cast<float>(from.rgb[at + 2]) / 255};
                    };
                    // A stripe's edge may fall on a pixel's center: rounding of the division decides there, on either side.
                    const float phase = 2 * (fx + fy) / parameters.stripe_px;
                    if (parameters.stripes && std::abs(phase - std::round(phase)) < 1e-3F) continue;
                    const std::array<float, 3> cpu = shade(code(*original), code(*corrected), fx, fy, parameters);
                    for (std::size_t c = 0; c < 3; ++c) {
                        const int difference = std::abs(static_cast<int>(gpu[c]) - static_cast<int>(std::lround(cpu[c] * 255)));
                        worst = std::max(worst, difference);
                        ASSERT_LE(difference, 1) << "pixel " << x << "," << y << " channel " << c << " zoom " << zoom << " mode " << parameters.mode
                                                 << ": GPU " << int(gpu[c]) << ", CPU " << cpu[c] * 255;
                        ++compared;
                    }
                }
            }
        }
    }
    // 1: interpolation at exact pixel centers may round a code; every texel is 8 bits in and out.
    RecordProperty("worst_code", worst);
    EXPECT_GT(compared, 1'000'000);
    EXPECT_EQ(glGetError(), static_cast<unsigned>(GL_NO_ERROR));
    made->reset();
    glDeleteFramebuffers(1, &framebuffer);
    glDeleteRenderbuffers(1, &color);
}

}  // namespace
}  // namespace sw::window
