// Scripts: one line, one thing. Commands change the work; the rest looks at it or drives the window.
#pragma once

#include "viewer/desk.hpp"

namespace sw::window {

struct Undo {};
struct Redo {};
struct Wait {};  // scripts wait before every line anyway
struct ZoomTo {
    double zoom = 1;  // screen pixels to a picture pixel
};
struct Fit {};
struct LookAt {
    Point center;  // picture pixels
};
struct SetMode {
    Mode mode = Mode::corrected;
};
struct SetSplit {
    double share = 0.5;
};
struct PickTool {
    Mark tool = Mark::none;
};
struct Select {
    Marked what;
};
struct PointAt {
    Point at;  // picture pixels
};
struct Toggle {
    std::string what;  // loupe, clipping, ellipse, help, hint, workbook, letter, plots, map, log, bright, strip
    bool on = true;
};
struct SetDisplay {
    std::string profile;  // desktop, none, or a file
};
struct OpenStep {
    int step = 1;
};
struct SaveLadder {
    std::string file;  // .png or .pdf; empty: beside the photo, under a name that is free
};
struct SaveScript {
    std::string file;
};
struct ShowList {
    List list = List::targets;  // of the workbook's page, which it turns to
};
struct SetOrder {
    Order order = Order::name;
};
struct FindText {
    std::string text;  // empty: everything
};
struct PickRow {
    std::string name;  // in the list that is shown
};
struct PressKey {
    std::string chord;  // "ctrl+shift+z"
};
struct Click {
    Point at;  // window, pixels at scale 1
};
struct DragBox {
    Point from, to;  // picture pixels; holds the button until `release`
};
struct Release {};
using ViewCommand = std::variant<Undo, Redo, Wait, ZoomTo, Fit, LookAt, SetMode, SetSplit, PickTool, Select, PointAt, Toggle, SetDisplay, OpenStep,
                                 SaveLadder, SaveScript, ShowList, SetOrder, FindText, PickRow, FileJob, PressKey, Click, DragBox, Release>;

struct Line {
    std::variant<Command, ViewCommand> what;
    bool expect_error = false;  // `expect-error COMMAND`: a script that shows an error message
};

[[nodiscard]] std::string to_text(const Line&);
/// Nothing for blank lines and # comments. Errors name the line's number as place.
[[nodiscard]] Result<std::optional<Line>> parse_line(std::string_view text, int number = 0);
[[nodiscard]] Result<std::vector<Line>> parse_script(std::string_view text, const std::string& file);
[[nodiscard]] const std::vector<std::string>& view_command_forms();

/// Turns to the page; the keyboard goes with it.
void show_page(View&, Page);

/// Does what can be done without a window; false for PressKey, Click, DragBox, Release, which the window does.
bool run(Desk& desk, const ViewCommand& command);

[[nodiscard]] std::string to_word(Mode);
[[nodiscard]] std::string to_word(Mark);
[[nodiscard]] std::string to_word(List);
[[nodiscard]] std::string to_word(Order);
[[nodiscard]] std::string to_word(SheetKind);

}  // namespace sw::window
