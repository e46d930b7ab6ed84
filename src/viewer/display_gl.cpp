#include "viewer/display_gl.hpp"

#define GL_GLEXT_PROTOTYPES
#include <GL/glcorearb.h>

#include "viewer/gl_program.hpp"

namespace sw::window {

Result<std::unique_ptr<DisplayGl>> DisplayGl::make(const DisplayTable& table) {
    std::unique_ptr<DisplayGl> display(new DisplayGl);
    const Result<unsigned> program = gl_program("display.vert", "display.frag");
    if (!program) return program.error();
    display->program_ = *program;
    glGenVertexArrays(1, &display->vertices_);
    glGenTextures(1, &display->table_);
    glBindTexture(GL_TEXTURE_3D, display->table_);
    glTexImage3D(GL_TEXTURE_3D, 0, GL_RGB32F, DisplayTable::kSide, DisplayTable::kSide, DisplayTable::kSide, 0, GL_RGB, GL_FLOAT, table.rgb.data());
    for (const unsigned filter : {GL_TEXTURE_MIN_FILTER, GL_TEXTURE_MAG_FILTER}) glTexParameteri(GL_TEXTURE_3D, filter, GL_LINEAR);
    for (const unsigned wrap : {GL_TEXTURE_WRAP_S, GL_TEXTURE_WRAP_T, GL_TEXTURE_WRAP_R}) glTexParameteri(GL_TEXTURE_3D, wrap, GL_CLAMP_TO_EDGE);
    glBindTexture(GL_TEXTURE_3D, 0);
    glGenFramebuffers(1, &display->framebuffer_);
    glGenTextures(1, &display->drawn_);
    return display;
}

DisplayGl::~DisplayGl() {
    glDeleteFramebuffers(1, &framebuffer_);
    for (const unsigned texture : {table_, drawn_}) glDeleteTextures(1, &texture);
    glDeleteVertexArrays(1, &vertices_);
    glDeleteProgram(program_);
}

void DisplayGl::begin(int width, int height) {
    glBindFramebuffer(GL_FRAMEBUFFER, framebuffer_);
    if (width == width_ && height == height_) return;
    width_ = width;
    height_ = height;
    glBindTexture(GL_TEXTURE_2D, drawn_);
    glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA8, width, height, 0, GL_RGBA, GL_UNSIGNED_BYTE, nullptr);
    for (const unsigned filter : {GL_TEXTURE_MIN_FILTER, GL_TEXTURE_MAG_FILTER}) glTexParameteri(GL_TEXTURE_2D, filter, GL_NEAREST);
    glBindTexture(GL_TEXTURE_2D, 0);
    glFramebufferTexture2D(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, drawn_, 0);
}

void DisplayGl::end(unsigned framebuffer) {
    glBindFramebuffer(GL_FRAMEBUFFER, framebuffer);
    for (const unsigned what : {GL_BLEND, GL_DEPTH_TEST, GL_CULL_FACE, GL_SCISSOR_TEST}) glDisable(what);
    glViewport(0, 0, width_, height_);
    glUseProgram(program_);
    glBindVertexArray(vertices_);
    glUniform1i(glGetUniformLocation(program_, "drawn"), 0);
    glUniform1i(glGetUniformLocation(program_, "table"), 1);
    glUniform1f(glGetUniformLocation(program_, "side"), DisplayTable::kSide);
    glActiveTexture(GL_TEXTURE1);
    glBindTexture(GL_TEXTURE_3D, table_);
    glActiveTexture(GL_TEXTURE0);
    glBindTexture(GL_TEXTURE_2D, drawn_);
    glDrawArrays(GL_TRIANGLES, 0, 3);
    glBindTexture(GL_TEXTURE_2D, 0);
    glBindVertexArray(0);
    glUseProgram(0);
}

}  // namespace sw::window
