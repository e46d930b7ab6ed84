#include "viewer/timings.hpp"

#include <algorithm>
#include <chrono>
#include <ctime>
#include <nlohmann/json.hpp>

namespace sw::window {
namespace {

std::int64_t monotonic_now() {
    return std::chrono::duration_cast<std::chrono::nanoseconds>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

nlohmann::json summary(std::vector<double> ms) {
    if (ms.empty()) return nullptr;
    std::sort(ms.begin(), ms.end());
    return {{"frames", ms.size()}, {"median_ms", ms[ms.size() / 2]}, {"longest_ms", ms.back()}};
}

}  // namespace

void Timings::frame(double ms, bool busy, bool moved) {
    if (first_frame_ == 0) first_frame_ = monotonic_now();
    if (busy) busy_.push_back(ms);
    if (moved) moved_.push_back(ms);
}

void Timings::photo_shown() {
    if (photo_ == 0) photo_ = monotonic_now();
}

std::string Timings::json() const {
    return nlohmann::json{{"first_frame_ns", first_frame_}, {"photo_ns", photo_}, {"busy", summary(busy_)}, {"moved", summary(moved_)}}.dump() + "\n";
}

}  // namespace sw::window
