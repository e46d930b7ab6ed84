#include "viewer/picture_gl.hpp"

#define GL_GLEXT_PROTOTYPES
#include <GL/glcorearb.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <vector>

#include "viewer/gl_program.hpp"
#include "viewer/halving.hpp"
#include "viewer/marking.hpp"

namespace sw::window {
namespace {

// Small enough that some uploads fit between two frames; no power of two, because OpenGL in software compiles its shaders anew for those, and for
// each combination of sides.
constexpr int kTile = 1000;

/// w x h pixels, in rows of row_width, with smaller copies. Those are made here and not by OpenGL: in software that stalls for a fifth of a second.
unsigned upload(const std::uint8_t* first, int row_width, int w, int h) {
    unsigned texture = 0;
    glGenTextures(1, &texture);
    glBindTexture(GL_TEXTURE_2D, texture);
    glPixelStorei(GL_UNPACK_ALIGNMENT, 1);
    glPixelStorei(GL_UNPACK_ROW_LENGTH, row_width);
    glTexImage2D(GL_TEXTURE_2D, 0, GL_RGB8, w, h, 0, GL_RGB, GL_UNSIGNED_BYTE, first);
    glPixelStorei(GL_UNPACK_ROW_LENGTH, 0);
    std::vector<std::uint8_t> half;
    const std::uint8_t* from = first;
    int level = 0;
    for (std::size_t stride = 3 * static_cast<std::size_t>(row_width); w > 1 && h > 1;) {
        std::vector<std::uint8_t> next = halved(from, stride, w, h);
        half.swap(next);
        w /= 2;
        h /= 2;
        from = half.data();
        stride = 3 * static_cast<std::size_t>(w);
        glTexImage2D(GL_TEXTURE_2D, ++level, GL_RGB8, w, h, 0, GL_RGB, GL_UNSIGNED_BYTE, from);
    }
    glPixelStorei(GL_UNPACK_ALIGNMENT, 4);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAX_LEVEL, level);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_S, GL_CLAMP_TO_EDGE);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_T, GL_CLAMP_TO_EDGE);
    glBindTexture(GL_TEXTURE_2D, 0);
    return texture;
}

}  // namespace

Result<std::unique_ptr<PictureGl>> PictureGl::make() {
    std::unique_ptr<PictureGl> picture(new PictureGl);
    const Result<unsigned> program = gl_program("picture.vert", "picture.frag");
    if (!program) return program.error();
    picture->program_ = *program;
    glGenVertexArrays(1, &picture->vertices_);
    int largest = 0;
    glGetIntegerv(GL_MAX_TEXTURE_SIZE, &largest);
    picture->largest_ = std::clamp(largest, 64, kTile);
    return picture;
}

PictureGl::~PictureGl() {
    drop(false);
    if (vertices_ != 0) glDeleteVertexArrays(1, &vertices_);
    if (program_ != 0) glDeleteProgram(program_);
}

int PictureGl::uniform(const char* name) const { return glGetUniformLocation(program_, name); }

void PictureGl::drop(bool corrected_only) {
    for (Tile& tile : tiles_) {
        if (tile.corrected != 0) glDeleteTextures(1, &tile.corrected);
        tile.corrected = 0;
        if (!corrected_only && tile.original != 0) glDeleteTextures(1, &tile.original);
    }
    if (corrected_only) return;
    tiles_.clear();
    if (overview_.original != 0) glDeleteTextures(1, &overview_.original);
    overview_ = {};
}

void PictureGl::show(std::shared_ptr<const CorrectedPicture> original, std::shared_ptr<const Preview> overview,
                     std::shared_ptr<const CorrectedPicture> corrected) {
    if (corrected && (!original || corrected->width != original->width || corrected->height != original->height)) corrected.reset();
    if (original != original_) {
        drop(false);
        original_ = std::move(original);
        corrected_.reset();
        if (original_ && overview && overview->width > 0)
            overview_ = {0, 0, original_->width, original_->height, upload(overview->rgb.data(), overview->width, overview->width, overview->height),
                         0};
        if (original_) {
            for (int y = 0; y < original_->height; y += largest_) {
                for (int x = 0; x < original_->width; x += largest_) {
                    tiles_.push_back({x, y, std::min(largest_, original_->width - x), std::min(largest_, original_->height - y), 0, 0});
                }
            }
        }
    }
    if (corrected != corrected_) {
        drop(true);
        corrected_ = std::move(corrected);
    }
}

bool PictureGl::upload_some() {
    const auto start = std::chrono::steady_clock::now();
    constexpr std::chrono::milliseconds kEnough(8);
    for (const bool second : {false, true}) {
        const CorrectedPicture* picture = second ? corrected_.get() : original_.get();
        if (picture == nullptr) continue;
        for (Tile& tile : tiles_) {
            unsigned& texture = second ? tile.corrected : tile.original;
            if (texture != 0) continue;
            if (std::chrono::steady_clock::now() - start > kEnough) return true;
            const std::size_t at =
                3 * (static_cast<std::size_t>(tile.y) * static_cast<std::size_t>(picture->width) + static_cast<std::size_t>(tile.x));
            texture = upload(picture->rgb.data() + at, picture->width, tile.w, tile.h);
        }
    }
    return false;
}

void PictureGl::draw(const Rect& area, const Camera& camera, int framebuffer_width, int framebuffer_height, const ShadeParameters& parameters) const {
    if (!original_ || area.w < 1 || area.h < 1) return;
    glEnable(GL_SCISSOR_TEST);
    glScissor(static_cast<int>(area.x), framebuffer_height - static_cast<int>(area.y + area.h), static_cast<int>(area.w), static_cast<int>(area.h));
    glDisable(GL_BLEND);
    glDisable(GL_DEPTH_TEST);
    glDisable(GL_CULL_FACE);
    glUseProgram(program_);
    glBindVertexArray(vertices_);
    glUniform2f(uniform("window"), static_cast<float>(framebuffer_width), static_cast<float>(framebuffer_height));
    glUniform1i(uniform("original"), 0);
    glUniform1i(uniform("corrected"), 1);
    glUniform1f(uniform("divider"), parameters.divider);
    glUniform1i(uniform("stripes"), parameters.stripes ? 1 : 0);
    glUniform1f(uniform("clipped_from"), kClippedFrom);
    glUniform1f(uniform("stripe_px"), parameters.stripe_px);
    const int magnified = camera.zoom >= 2 ? GL_NEAREST : GL_LINEAR;
    const auto put = [&](const Tile& tile) {
        if (tile.original == 0) return;
        const Point from = to_screen(camera, area, {static_cast<double>(tile.x), static_cast<double>(tile.y)});
        const Point to = to_screen(camera, area, {static_cast<double>(tile.x + tile.w), static_cast<double>(tile.y + tile.h)});
        glUniform4f(uniform("rectangle"), static_cast<float>(from.x), static_cast<float>(from.y), static_cast<float>(to.x - from.x),
                    static_cast<float>(to.y - from.y));
        glUniform1i(uniform("mode"), tile.corrected != 0 ? parameters.mode : 0);
        for (const bool second : {true, false}) {
            glActiveTexture(second ? GL_TEXTURE1 : GL_TEXTURE0);
            glBindTexture(GL_TEXTURE_2D, second && tile.corrected != 0 ? tile.corrected : tile.original);
            glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, magnified);
            glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, GL_LINEAR_MIPMAP_LINEAR);
        }
        glDrawArrays(GL_TRIANGLE_STRIP, 0, 4);
    };
    // Until its tiles have come: all of it, as sharp as a screen needs it.
    const bool all_there = std::all_of(tiles_.begin(), tiles_.end(), [](const Tile& tile) { return tile.original != 0; });
    if (!all_there) put(overview_);
    for (const Tile& tile : tiles_) put(tile);
    glBindVertexArray(0);
    glUseProgram(0);
    glDisable(GL_SCISSOR_TEST);
}

SmallPictures::~SmallPictures() {
    for (const auto& [pixels, kept] : kept_) glDeleteTextures(1, &kept.texture);
}

void* SmallPictures::texture(const std::shared_ptr<const Preview>& preview) {
    constexpr std::size_t kMost = 256;
    if (!preview || preview->rgb.empty()) return nullptr;
    Kept& kept = kept_[preview.get()];
    if (kept.texture != 0 && kept.of.lock() != preview) {
        glDeleteTextures(1, &kept.texture);
        kept.texture = 0;
    }
    if (kept.texture == 0) kept = {preview, upload(preview->rgb.data(), preview->width, preview->width, preview->height), 0};
    kept.asked = ++asked_;
    const unsigned texture = kept.texture;
    if (kept_.size() > kMost) {
        for (auto one = kept_.begin(); one != kept_.end();) {
            if (asked_ - one->second.asked < kMost) {
                ++one;
                continue;
            }
            glDeleteTextures(1, &one->second.texture);
            one = kept_.erase(one);
        }
    }
    return reinterpret_cast<void*>(static_cast<std::uintptr_t>(texture));
}

}  // namespace sw::window
