// Colors that a screen shows: frames of a film as screen grabs, or photos of the screen. An appearance, graded by others; never a measurement of the
// thing that was filmed.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

#include "color/color.hpp"
#include "photo/photo.hpp"
#include "photo/region.hpp"

namespace sw {

inline constexpr char kAppearance[] = "appearance on screen, not a measurement";

/// A thing in the frame that the user knows: a neutral (lightness kept as shown if no LRV is said), or a color (Lab, D50, 2 degrees).
struct KnownThing {
    Region region;
    std::optional<double> lrv;  // 0..100
    std::optional<Lab> color;
};

/// One place in one frame. `still`: the frame is a photo of a screen, and this is a photo of the same screen showing white, taken from the same place
/// with the same settings; still_region: where on it (the same place if not said).
struct FramePlace {
    const Photo* photo = nullptr;
    Region region;
    std::optional<KnownThing> known;
    const Photo* still = nullptr;
    std::optional<Region> still_region;
};

struct FrameReading {
    Lab lab;                                               // D50
    Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();  // of this frame alone: grain, pattern
    double from_middle = 0;                                // CIE 1976 difference from the middle of all frames
    bool left_out = false;                                 // unlike the others
    std::vector<std::string> notes;
};

struct ScreenPart {
    std::string name;  // "from frame to frame", "grain and texture", "encoding of the file", "camera before the screen", "the thing taken for white"
    double sd = 0;     // root mean square of its standard deviations in L*, a*, b*
};

/// Lab under D50 (the screen's white, D65, adapted by Bradford), CIE 2 degrees. covariance: what a further frame of the same thing may show, and all
/// that is not known of how the picture came here; not what the film's grade did to the thing's color.
struct ScreenReading {
    Lab lab;
    Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();
    std::vector<FrameReading> frames;
    std::vector<ScreenPart> parts;  // largest first
    bool as_displayed = true;       // no thing of known color was pointed at
    std::vector<std::string> notes;
};

/// The frames' middle: mean of those that are not unlike the rest (told with four or more; named, never dropped in silence). How much frames of one
/// thing differ starts from a usual figure and is learned from the frames. An untagged file may hold IEC 61966-2-1 or BT.1886 (gamma 2.4): half the
/// difference is its doubt unless somebody said which.
/// Photos of a screen: relative to the white still, place by place, over blocks of pixels; from what cameras see of a screen's three primaries
/// (sensitivity_prior) to the screen's own RGB, with the spread of cameras and screens as doubt.
/// A known thing: gains of cone responses (Bradford) that give it its color.
/// Errors: region faults (black bars are outside of the picture), gray_unusable (the known thing or the white still clipped or dark), flat_unusable
/// (the still is of another size).
[[nodiscard]] Result<ScreenReading> read_screen(const std::vector<FramePlace>& places);

}  // namespace sw
