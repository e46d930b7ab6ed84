// Drawing, moving and nudging regions on the picture: geometry only. A drag is shown while it lasts and becomes one command when let go.
#pragma once

#include "viewer/commands.hpp"

namespace sw::window {

[[nodiscard]] Point to_screen(const Camera&, const Rect& area, Point picture);
[[nodiscard]] Point to_picture(const Camera&, const Rect& area, Point screen);
/// Camera that shows the whole picture with a margin of 8 px.
[[nodiscard]] Camera fit_camera(const Rect& area, int width, int height);
/// Zooms by a factor, keeping the picture under `anchor` (screen) where it is; 1/32 .. 64.
[[nodiscard]] Camera zoomed(const Camera&, const Rect& area, Point anchor, double factor);
/// Keeps at least some of the picture in the area.
[[nodiscard]] Camera kept_in_view(Camera, const Rect& area, int width, int height);

/// All marks of the work with their regions; the chart is not among them (see chart_corners).
struct Outline {
    Marked what;
    Region region;
};
[[nodiscard]] std::vector<Outline> outlines(const Work&);
/// Where the chart stands: as marked, or where it was found.
[[nodiscard]] std::optional<std::array<Point, 4>> chart_corners(const Work&, const Results&);

/// What the mouse would take hold of at a picture point; reach in picture pixels. The selected one's handles first, then insides.
[[nodiscard]] std::optional<Drag> grab(const Work&, const Results&, const Marked& selected, Point at, double reach);
/// A new region of the kind, starting here.
[[nodiscard]] Drag start_new(const Work&, Mark, bool ellipse, Point at);
/// The drag with the mouse at `at`, kept inside the picture.
[[nodiscard]] Drag dragged(Drag, bool ellipse, Point at, int width, int height);
/// The selected region moved by whole pixels, kept inside; nothing if it is not marked.
[[nodiscard]] std::optional<Drag> nudged(const Work&, const Results&, const std::optional<Drag>& so_far, const Marked& selected, double dx, double dy,
                                         int width, int height);
/// What letting go means; nothing for a click that drew nothing (less than 3 px wide or high).
[[nodiscard]] std::optional<Command> finished(const Work&, const Drag&);
/// The region of the same place as an ellipse or a box.
[[nodiscard]] Region reshaped(const Region&, bool ellipse);
/// The command that gives the marked thing this region; nothing for the chart.
[[nodiscard]] std::optional<Command> command_for(const Work&, const Marked&, const Region&);

}  // namespace sw::window
