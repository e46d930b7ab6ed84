#include "viewer/picture_gl.hpp"

#define GL_GLEXT_PROTOTYPES
#include <GL/glcorearb.h>

#include <algorithm>
#include <cmath>

#include "shader_files.hpp"
#include "viewer/marking.hpp"

namespace sw::window {
namespace {

constexpr int kTile = 2048;  // small enough that one upload fits between two frames

Error unavailable(const std::string& cause) {
    return Error{.fault = Fault::window_unavailable,
                 .file = {},
                 .place = {},
                 .cause = cause,
                 .remedy = "update the graphics driver, or set LIBGL_ALWAYS_SOFTWARE=1 to draw without it"};
}

Result<unsigned> compiled(unsigned kind, std::string_view source) {
    const unsigned shader = glCreateShader(kind);
    const char* text = source.data();
    const int length = static_cast<int>(source.size());
    glShaderSource(shader, 1, &text, &length);
    glCompileShader(shader);
    int good = 0;
    glGetShaderiv(shader, GL_COMPILE_STATUS, &good);
    if (good == 0) {
        std::array<char, 512> log{};
        glGetShaderInfoLog(shader, log.size(), nullptr, log.data());
        glDeleteShader(shader);
        return unavailable(std::string("the picture's shader does not compile here: ") + log.data());
    }
    return shader;
}

unsigned upload(const CorrectedPicture& picture, int x, int y, int w, int h) {
    unsigned texture = 0;
    glGenTextures(1, &texture);
    glBindTexture(GL_TEXTURE_2D, texture);
    glPixelStorei(GL_UNPACK_ALIGNMENT, 1);
    glPixelStorei(GL_UNPACK_ROW_LENGTH, picture.width);
    const std::uint8_t* first =
        picture.rgb.data() + 3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(picture.width) + static_cast<std::size_t>(x));
    glTexImage2D(GL_TEXTURE_2D, 0, GL_RGB8, w, h, 0, GL_RGB, GL_UNSIGNED_BYTE, first);
    glPixelStorei(GL_UNPACK_ROW_LENGTH, 0);
    glPixelStorei(GL_UNPACK_ALIGNMENT, 4);
    glGenerateMipmap(GL_TEXTURE_2D);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_S, GL_CLAMP_TO_EDGE);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_T, GL_CLAMP_TO_EDGE);
    glBindTexture(GL_TEXTURE_2D, 0);
    return texture;
}

}  // namespace

Result<std::unique_ptr<PictureGl>> PictureGl::make() {
    std::unique_ptr<PictureGl> picture(new PictureGl);
    const Result<unsigned> vertex = compiled(GL_VERTEX_SHADER, shader_files::file("picture.vert"));
    if (!vertex) return vertex.error();
    const Result<unsigned> fragment = compiled(GL_FRAGMENT_SHADER, shader_files::file("picture.frag"));
    if (!fragment) return fragment.error();
    picture->program_ = glCreateProgram();
    glAttachShader(picture->program_, *vertex);
    glAttachShader(picture->program_, *fragment);
    glLinkProgram(picture->program_);
    glDeleteShader(*vertex);
    glDeleteShader(*fragment);
    int good = 0;
    glGetProgramiv(picture->program_, GL_LINK_STATUS, &good);
    if (good == 0) return unavailable("the picture's shaders do not link here");
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
    if (!corrected_only) tiles_.clear();
}

void PictureGl::show(std::shared_ptr<const CorrectedPicture> original, std::shared_ptr<const CorrectedPicture> corrected) {
    if (corrected && (!original || corrected->width != original->width || corrected->height != original->height)) corrected.reset();
    if (original != original_) {
        drop(false);
        original_ = std::move(original);
        corrected_.reset();
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
    bool did = false;
    for (const bool second : {false, true}) {
        const CorrectedPicture* picture = second ? corrected_.get() : original_.get();
        if (picture == nullptr) continue;
        for (Tile& tile : tiles_) {
            unsigned& texture = second ? tile.corrected : tile.original;
            if (texture != 0) continue;
            if (did) return true;
            texture = upload(*picture, tile.x, tile.y, tile.w, tile.h);
            did = true;
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
    for (const Tile& tile : tiles_) {
        if (tile.original == 0) continue;
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
    }
    glBindVertexArray(0);
    glUseProgram(0);
    glDisable(GL_SCISSOR_TEST);
}

}  // namespace sw::window
