// Deriving off the frame: from a snapshot of the work to updates of its results.
#pragma once

#include "viewer/derive.hpp"
#include "viewer/worker.hpp"

namespace sw::window {

class Background : public Worker<Update> {
public:
    using Worker::Worker;
    /// Starts deriving from a snapshot. Only when not busy.
    void derive_from(const Work& work, const Results& have, const OwnLights& own);
};

}  // namespace sw::window
