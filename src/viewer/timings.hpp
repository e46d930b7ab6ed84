// How long frames take, for tests/bench: a window that stutters is not quick, whatever its functions are.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace sw::window {

class Timings {
public:
    /// One frame: what it took without waiting for events, whether anything worked in the background meanwhile, whether the picture moved.
    void frame(double ms, bool busy, bool moved);
    /// The photo is wholly on the screen for the first time.
    void photo_shown();
    /// Milliseconds: the frames' median and longest, by kind. Moments are nanoseconds of CLOCK_MONOTONIC, 0 where they did not come.
    [[nodiscard]] std::string json() const;

private:
    std::int64_t first_frame_ = 0, photo_ = 0;
    std::vector<double> busy_, moved_;
};

}  // namespace sw::window
