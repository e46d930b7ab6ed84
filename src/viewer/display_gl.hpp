// The last step of a frame where the monitor has a profile: what was drawn goes through its table. Needs a current OpenGL 3.3 context.
#pragma once

#include <memory>

#include "viewer/display.hpp"

namespace sw::window {

class DisplayGl {
public:
    /// Errors: window_unavailable when the shader cannot be built.
    [[nodiscard]] static Result<std::unique_ptr<DisplayGl>> make(const DisplayTable&);
    ~DisplayGl();
    DisplayGl(const DisplayGl&) = delete;
    DisplayGl& operator=(const DisplayGl&) = delete;

    /// What is drawn from here on, into a framebuffer of this size, is kept back ...
    void begin(int width, int height);
    /// ... and comes, through the table, into `framebuffer` (0: the window).
    void end(unsigned framebuffer);

private:
    DisplayGl() = default;
    unsigned program_ = 0, vertices_ = 0, table_ = 0, framebuffer_ = 0, drawn_ = 0;
    int width_ = 0, height_ = 0;
};

}  // namespace sw::window
