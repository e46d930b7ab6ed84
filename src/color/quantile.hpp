// Quantiles of a sample.
#pragma once

#include <algorithm>
#include <cassert>
#include <cstddef>
#include <span>

namespace sw {

/// q 0..1 of values in rising order, at least one; straight lines between neighbors (Hyndman & Fan 1996, definition 7).
[[nodiscard]] inline double quantile_of_sorted(std::span<const double> sorted, double q) {
    assert(!sorted.empty());
    const double at = q * static_cast<double>(sorted.size() - 1);
    const auto low = static_cast<std::size_t>(at);
    return sorted[low] + (at - static_cast<double>(low)) * (sorted[std::min(low + 1, sorted.size() - 1)] - sorted[low]);
}

}  // namespace sw
