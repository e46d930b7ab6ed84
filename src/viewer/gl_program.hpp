// A GL program out of the shaders that are in the program. Needs a current OpenGL 3.3 context.
#pragma once

#include <string>

#include "color/result.hpp"

namespace sw::window {

/// Names of files in shaders/. To be deleted by the caller. Error: window_unavailable.
[[nodiscard]] Result<unsigned> gl_program(const std::string& vertex, const std::string& fragment);

}  // namespace sw::window
