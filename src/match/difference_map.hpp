// A painted part against its target, place by place: where is it blotchy, thin, glossy; how much of it lies within the tolerance.
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "calibrate/calibration.hpp"
#include "match/interval.hpp"

namespace sw {

/// What is known of the part as a whole before it is looked at place by place: its mean color, the target's, and the covariance of the difference
/// (part less target). Both relative to the same light's white.
struct MapAnchor {
    Lab part, target;
    Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();
};
struct MapOptions {
    double tolerance = 2;
    std::optional<double> smooth;  // pixels; nothing: as much as the grain needs
};

/// A figure of the whole map and the 95 % range that the doubt about the part's mean leaves it.
struct MapFigure {
    double value = 0;
    Interval ci95;
};

/// A place that differs from the rest of the part.
struct MapPatch {
    Point at;           // its middle, pixels
    std::string where;  // "left edge", "upper right", "middle"
    double share = 0;   // of the part judged
    double de00 = 0;    // from the part's usual color, mean over it; ± is the map's noise
    double dL = 0, dC = 0, dH = 0;
    std::string words;  // "lighter, duller"
};

/// Cells of `cell` x `cell` pixels over the bounds of the region, row by row.
struct DifferenceMap {
    enum class Cell : std::uint8_t { outside, judged, glossy, spoiled };  // spoiled: clipped
    Box part;
    int width = 0, height = 0;
    double cell = 1;          // pixels
    double smooth = 1;        // pixels: full width at half height of the bell that each figure is a mean over
    std::vector<Cell> cells;  // width * height
    std::vector<float> de00;  // against the target; NaN where not judged
    double noise = 0;         // standard deviation that grain leaves in a figure, CIEDE2000
    double light_doubt = 0;   // how far L* at one end against the other hangs on light that is not known, standard deviation
    MapFigure median, p95;    // of de00
    MapFigure within;         // share 0..1 of what is judged
    double tolerance = 2;
    double glossy = 0, spoiled = 0;  // shares of the region
    std::vector<MapPatch> patches;   // strongest first, at most 4; empty: even
    double uneven = 0;               // CIEDE2000 from the usual color that 95 % of the part keeps within
};

/// Cells are smoothed in linear light before they are judged, so that grain does not pose as blotch; what is clipped or a bright achromatic outlier
/// (gloss) is left out first. Colors by the calibration's model, moved so that the part's mean is the anchor's; the light's course over the picture
/// as far as it is known taken out. Same input, same answer. Thresholds of glossy and blotchy: common practice, no source.
/// Errors: region faults; bad_usage for a smoothing below 1 pixel or as wide as the region. Test: tests/match/difference_map_test.cpp
[[nodiscard]] Result<DifferenceMap> difference_map(const Photo&, const Calibration&, const Region&, const MapAnchor&, const Light& under, Observer,
                                                   const MapOptions& = {});

/// The anchor of a part against a chip in the same photo, from what compare() says of the two.
struct Comparison;
[[nodiscard]] MapAnchor map_anchor(const Comparison&);

}  // namespace sw
