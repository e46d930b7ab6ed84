// An OpenGL 3.3 context of a window that is not shown; window is null where there is none to be had.
#pragma once

#define GL_GLEXT_PROTOTYPES
#include <GL/glcorearb.h>
#define GLFW_INCLUDE_NONE
#include <GLFW/glfw3.h>

#include <cstdint>
#include <vector>

namespace sw::window::test {

class GlContext {
public:
    GlContext() {
        if (glfwInit() == GLFW_FALSE) return;
        glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
        glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 3);
        glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
        glfwWindowHint(GLFW_VISIBLE, GLFW_FALSE);
        window = glfwCreateWindow(64, 64, "test", nullptr, nullptr);
        if (window != nullptr) glfwMakeContextCurrent(window);
    }
    ~GlContext() {
        if (window != nullptr) glfwDestroyWindow(window);
        glfwTerminate();
    }
    GlContext(const GlContext&) = delete;
    GlContext& operator=(const GlContext&) = delete;
    GLFWwindow* window = nullptr;
};

/// A framebuffer to draw into, bound.
struct GlTarget {
    GlTarget(int width, int height) : width_(width), height_(height) {
        glGenFramebuffers(1, &framebuffer);
        glGenRenderbuffers(1, &color_);
        glBindRenderbuffer(GL_RENDERBUFFER, color_);
        glRenderbufferStorage(GL_RENDERBUFFER, GL_RGBA8, width, height);
        glBindFramebuffer(GL_FRAMEBUFFER, framebuffer);
        glFramebufferRenderbuffer(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_RENDERBUFFER, color_);
        glViewport(0, 0, width, height);
    }
    ~GlTarget() {
        glDeleteFramebuffers(1, &framebuffer);
        glDeleteRenderbuffers(1, &color_);
    }
    GlTarget(const GlTarget&) = delete;
    GlTarget& operator=(const GlTarget&) = delete;
    /// RGB, rows from below.
    [[nodiscard]] std::vector<std::uint8_t> pixels() const {
        std::vector<std::uint8_t> rgb(3U * static_cast<std::size_t>(width_) * static_cast<std::size_t>(height_));
        glBindFramebuffer(GL_FRAMEBUFFER, framebuffer);
        glPixelStorei(GL_PACK_ALIGNMENT, 1);
        glReadPixels(0, 0, width_, height_, GL_RGB, GL_UNSIGNED_BYTE, rgb.data());
        return rgb;
    }
    unsigned framebuffer = 0;

private:
    unsigned color_ = 0;
    int width_, height_;
};

}  // namespace sw::window::test
