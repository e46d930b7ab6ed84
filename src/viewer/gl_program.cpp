#include "viewer/gl_program.hpp"

#define GL_GLEXT_PROTOTYPES
#include <GL/glcorearb.h>

#include <array>
#include <string_view>

#include "shader_files.hpp"

namespace sw::window {
namespace {

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
        return unavailable(std::string("a shader does not compile here: ") + log.data());
    }
    return shader;
}

}  // namespace

Result<unsigned> gl_program(const std::string& vertex_file, const std::string& fragment_file) {
    const Result<unsigned> vertex = compiled(GL_VERTEX_SHADER, shader_files::file(vertex_file));
    if (!vertex) return vertex.error();
    const Result<unsigned> fragment = compiled(GL_FRAGMENT_SHADER, shader_files::file(fragment_file));
    if (!fragment) {
        glDeleteShader(*vertex);
        return fragment.error();
    }
    const unsigned program = glCreateProgram();
    glAttachShader(program, *vertex);
    glAttachShader(program, *fragment);
    glLinkProgram(program);
    glDeleteShader(*vertex);
    glDeleteShader(*fragment);
    int good = 0;
    glGetProgramiv(program, GL_LINK_STATUS, &good);
    if (good == 0) {
        glDeleteProgram(program);
        return unavailable("shaders do not link here");
    }
    return program;
}

}  // namespace sw::window
