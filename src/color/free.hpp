// Handles of C libraries, given back by themselves: std::unique_ptr<cmsToneCurve, Free<cmsFreeToneCurve>>.
#pragma once

namespace sw {

template <auto free>
struct Free {
    template <class T>
    void operator()(T* thing) const {
        free(thing);
    }
};

}  // namespace sw
