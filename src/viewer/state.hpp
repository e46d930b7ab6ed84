// What the window holds, in three heaps that never mix: the user's work (undoable), what was computed from it, and how it is looked at.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "calibrate/calibration.hpp"
#include "calibrate/picture_map.hpp"
#include "match/compare.hpp"
#include "photo/photo.hpp"
#include "photo/preview.hpp"
#include "workbook/paint_shelf.hpp"
#include "workbook/workbook.hpp"

namespace sw::window {

// --- the work ---------------------------------------------------------------------------------------------------------------------------

/// What the user did. Plain values, in pixels of the upright picture, LIGHT strings and LRV 0..100. Undo gives back exactly this.
struct Work {
    std::string photo;   // path as given; empty: none
    Transfer transfer;   // how an untagged picture is encoded
    std::string lit_by;  // LIGHT of the picture; empty: unknown
    References references;
    std::optional<Region> chip, swatch;
    double tolerance = 2;   // CIEDE2000
    bool textured = false;  // lightness counts half
    std::vector<std::string> lights{"D65", "A", "LED-B3"};
};

/// The things that are marked on the picture.
enum class Mark { none, gray, chart, chip, swatch, known };

/// One of them; index counts gray cards and known chips.
struct Marked {
    Mark mark = Mark::none;
    std::size_t index = 0;
    friend bool operator==(const Marked&, const Marked&) = default;
};

// --- what follows from it ---------------------------------------------------------------------------------------------------------------

/// Each part carries the key (derive.hpp) of the work it was made from, so that what is stale can be told.
struct Results {
    std::shared_ptr<const Photo> photo;
    std::shared_ptr<const CorrectedPicture> original;  // the photo in 8 bits
    std::shared_ptr<const Preview> overview;           // the same, at most a screen wide
    std::string photo_key;
    std::optional<Error> photo_error;

    std::shared_ptr<const Calibration> calibration;
    std::string calibration_key;
    std::optional<Error> calibration_error;

    std::optional<Reading> chip, swatch;  // under D50, 2 degrees
    std::optional<Comparison> comparison;
    std::string match_key;
    std::optional<Error> match_error;

    std::shared_ptr<const CorrectedPicture> corrected;
    std::string corrected_key;  // a calibration key
};

/// What the workbook holds, as last read.
struct Shelf {
    std::vector<Target> targets;           // by name
    std::vector<KeptReading> readings;     // newest first
    std::vector<Part> parts;               // by name
    std::vector<Note> notes;               // oldest first
    std::vector<KeptPhoto> photos;         // newest first
    std::vector<Lamp> lamps;               // by name
    bool earlier = false;                  // there are changes of before this session that can be taken back
    std::uint64_t revision = 0;            // another one whenever any of this is
    std::shared_ptr<const MixBook> mix{};  // paints, pots and what went into them; not null once a workbook is open
};

// --- how it is looked at ----------------------------------------------------------------------------------------------------------------

enum class Mode { original, corrected, split, side_by_side };

enum class Page { picture, workbook };
enum class List { targets, parts, readings, photos, pots };
inline constexpr int kLists = 5;
enum class Order { name, lightness, newest };  // of targets and readings; parts stand in their tree

/// How the workbook's page is looked at.
struct BookView {
    List list = List::targets;
    Order order = Order::name;
    std::string find;                                               // as parse_search has it; empty: everything
    std::optional<std::int64_t> target, part, reading, photo, pot;  // picked, by id
    bool letter = false;                                            // paper of sheets: Letter, not A4
    int reveal = 0;                                                 // frames in which the list scrolls to what is picked
    [[nodiscard]] std::optional<std::int64_t>& picked() {
        return list == List::targets ? target : list == List::parts ? part : list == List::readings ? reading : list == List::photos ? photo : pot;
    }
    [[nodiscard]] const std::optional<std::int64_t>& picked() const {
        return list == List::targets ? target : list == List::parts ? part : list == List::readings ? reading : list == List::photos ? photo : pot;
    }
};

/// A region or the chart being drawn, moved or nudged: shown at once, a command only when let go.
struct Drag {
    Marked what;
    enum class Kind { create, move, edges, corner, nudge } kind = Kind::create;
    int handle = 0;  // edges: bits 1 left, 2 right, 4 top, 8 bottom; corner: 0..3
    Point start, now;
    Region before, region;
    std::array<Point, 4> corners_before{}, corners{};
};

/// Where the picture stands in the window: screen = origin + size/2 + (picture - center) * zoom. Screen pixels from the top left.
struct Camera {
    double zoom = 1;
    Point center;
};
struct Rect {
    float x = 0, y = 0, w = 0, h = 0;
    [[nodiscard]] bool contains(float px, float py) const { return px >= x && py >= y && px < x + w && py < y + h; }
};

/// What the GL part draws under the panels.
struct Canvas {
    Rect area;
    bool visible = false;
};

/// Text fields while they are being edited.
struct Edits {
    std::string path, lrv = "18", lit_by, light, tolerance = "2", target, reading, known;
    std::string find, name, note, file, part, fresh, help, lamp;  // of the workbook's page; name: of what is picked; fresh: of a new target or part;
                                                                  // help: what is looked for among the keys
    std::string named;                                            // what `name` was filled for
    bool target_saved = false;  // the field's text is done with: emptied when the field is left, for it writes back until then
};

struct View {
    Page page = Page::picture;
    BookView book;
    float book_below = 0;  // height of what stood under its list in the last frame
    Mode mode = Mode::corrected;
    bool fit = true;
    Camera camera;
    double split = 0.5;  // share of the picture area
    bool split_dragged = false;
    bool loupe = true, stripes = false, help = false;
    bool bright = false;                          // light panels
    std::string display = "desktop";              // whose profile what is shown goes through: the desktop's, none, or a file
    bool show_strip = false;                      // the photos of the folder, under the picture
    std::size_t strip_first = 0, strip_last = 0;  // of them in sight, as last drawn
    int strip_reveal = 3;                         // frames in which the strip scrolls to the open one
    std::optional<Point> pointer;                 // picture pixel under the mouse, or put there by a script
    bool pointer_pinned = false;                  // by a script: the mouse does not move it

    Mark tool = Mark::none;
    bool ellipse = false;
    Marked selected, drawn;  // drawn: last on the picture
    std::optional<Drag> drag;

    int open_step = 1;                        // 1..5: photo, white, samples, match, keep
    float open_height = 0, heads_height = 0;  // of the open step and of all else in the work path, in the last frame
    std::string focus;                        // field that shall get the keyboard in the next frame
    int column = 1;                           // 0..2: column that has the keyboard: work path, picture, judging
    int focus_column = -1;                    // column that shall get it in the next frame
    bool picture_focused = true;
    bool show_log = false, show_plots = false, show_map = false;
    int reveal_plots = 0;      // frames in which the judging column scrolls to them
    bool hint = false;         // first-start hint is up
    std::string saved_ladder;  // file it was just saved in
    Edits edits;
    Canvas canvas;
};

}  // namespace sw::window
