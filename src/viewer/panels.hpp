// The panels: each reads a scene, may change how things are looked at, and says what the user wants. None owns anything or computes colors.
#pragma once

#include "viewer/look.hpp"
#include "viewer/pot_view.hpp"
#include "viewer/script.hpp"
#include "viewer/words.hpp"

namespace sw::window {

/// What ImGui draws a small picture by; null where it cannot.
using SmallTexture = std::function<void*(const std::shared_ptr<const Preview>&)>;

struct Scene {
    const Work& work;
    const Results& results;
    const Shelf& shelf;
    const History& history;
    const std::vector<Message>& messages;
    Progress progress;
    bool busy = false;     // figures may still change by themselves
    bool current = true;   // the match belongs to the work as it is
    std::string workbook;  // path; empty: none open
    const Look& look;
    const std::vector<BookLine>& lines;  // of the workbook's page
    const JobDone& told;
    bool working = false;  // something runs
    bool can_undo = false;
    const SurfaceMap* surface = nullptr;  // shown over the picture
    bool can_browse = false;              // the desktop has a dialog for files
    bool photo_changed = false;           // its file is another one now
    const PhotoFolder& folder;            // for the strip under the picture
    const std::vector<std::string>& recent;
    const SmallTexture& texture;
    const PotAdvice* advice;                   // of the pot that is picked; null: not known yet
    std::string shown_as;                      // in words: what the monitor is sent
    const std::vector<std::string>& profiles;  // of monitors, files
};

/// What the user asked for in this frame.
struct Outbox {
    std::vector<Command> commits;
    std::vector<ViewCommand> view;
    std::vector<Error> refused;            // what was typed cannot be done
    std::optional<std::size_t> dismissed;  // message
    bool cancel = false;
    bool hint_done = false;
    bool created = false;  // a commit comes from drawing a new region, not from moving one
    void refuse(Error error) { refused.push_back(std::move(error)); }
    void commit(Command command) { commits.push_back(std::move(command)); }
};

/// Where the panels stand. Window pixels.
struct Layout {
    Rect path, picture, judge, bottom;
};
[[nodiscard]] Layout layout(float width, float height, float scale);

void draw_path_panel(const Scene&, View&, Outbox&, const Rect&);
void draw_picture_panel(const Scene&, View&, Outbox&, const Rect&);
void draw_judge_panel(const Scene&, View&, Outbox&, const Rect&);
/// The workbook's page, in place of the picture: the list, its search, and what can be done with files.
void draw_book_panel(const Scene&, View&, Outbox&, const Rect&);
/// What is picked in it, in place of judging.
void draw_book_item(const Scene&, View&, Outbox&, const Rect&);
/// The pictures of the folder, along the rectangle.
void draw_strip(const Scene&, View&, Outbox&, const Rect&);
/// Plots of the comparison, which must be there.
void draw_judge_plots(const Scene&);
void draw_bottom_line(const Scene&, View&, Outbox&, const Rect&);
/// The error card at the top of the area: what is wrong, what to do, a way to put it away. Returns the height it took.
float message_card(const Scene&, Outbox&, const Rect& area);
/// All keys, over everything, to be searched; Enter or a click does what stands there. Only when asked for.
void draw_help(const Scene&, View&, Outbox&, float width, float height);
/// All of the above.
void draw_panels(const Scene&, View&, Outbox&, float width, float height);

/// Carries an outbox out. True when something was asked for.
bool deliver(Desk&, const Outbox&);
[[nodiscard]] Scene scene_of(const Desk&, const Look&, const SmallTexture& texture, const std::string& shown_as,
                             const std::vector<std::string>& profiles);

/// The picture areas that a mode shows: one, or two beside each other. Empty rectangles are left out.
[[nodiscard]] std::vector<Rect> picture_areas(const Rect& area, Mode mode);

}  // namespace sw::window
