#include "viewer/shortcuts.hpp"

#include <algorithm>
#include <filesystem>
#include <sstream>

#include "photo/uniform.hpp"
#include "viewer/marking.hpp"
#include "viewer/script.hpp"
#include "viewer/shelf.hpp"
#include "viewer/words.hpp"

namespace sw::window {
namespace {

void pick(Desk& desk, Mark tool, int step) {
    View& view = desk.view;
    view.drag.reset();
    view.tool = view.tool == tool ? Mark::none : tool;
    view.selected = {};
    view.open_step = step;
    view.picture_focused = true;
    view.page = Page::picture;
    view.focus_column = 1;
}

void open_step(Desk& desk, int step) {
    desk.view.open_step = step;
    desk.view.focus_column = 0;
}

void zoom_by(Desk& desk, double factor) {
    View& view = desk.view;
    view.fit = false;
    view.camera.zoom = std::clamp(view.camera.zoom * factor, 1.0 / 32, 64.0);
}

std::string suggested_name(const Desk& desk) {
    const std::string stem = std::filesystem::path(desk.work().photo).stem().string();
    std::string name = stem.empty() ? "Chip" : "Chip of " + stem;
    const auto taken = [&](const std::string& n) {
        const auto& targets = desk.shelf().targets;
        return std::any_of(targets.begin(), targets.end(), [&](const Target& t) { return t.name == n; });
    };
    const std::string first = name;
    for (int i = 2; taken(name); ++i) name = first + " " + std::to_string(i);
    return name;
}

void keep(Desk& desk) {
    View& view = desk.view;
    if (view.edits.target.empty()) view.edits.target = suggested_name(desk);
    view.open_step = 5;
    view.focus = "target";
}

/// The line above or below becomes the picked one.
void pick_beside(Desk& desk, int steps) {
    BookView& book = desk.view.book;
    const auto& lines = desk.lines();
    if (lines.empty()) return;
    const auto id = [&](std::size_t i) { return id_of(desk.shelf(), book.list, lines[i]); };
    std::ptrdiff_t at = -1;
    for (std::size_t i = 0; i < lines.size(); ++i) {
        if (book.picked() == id(i)) at = static_cast<std::ptrdiff_t>(i);
    }
    const auto last = static_cast<std::ptrdiff_t>(lines.size()) - 1;
    at = at < 0 ? 0 : std::clamp<std::ptrdiff_t>(at + steps, 0, last);
    book.picked() = id(static_cast<std::size_t>(at));
    book.reveal = 3;
}

void remove_picked(Desk& desk) {
    const BookView& book = desk.view.book;
    if (const Target* target = find_target(desk.shelf(), book.target); target != nullptr && book.list == List::targets) {
        desk.commit(RemoveTarget{target->name});
    } else if (const KeptReading* reading = find_reading(desk.shelf(), book.reading); reading != nullptr && book.list == List::readings) {
        desk.commit(RemoveReading{reading->id});
    } else if (const KeptPhoto* photo = find_photo(desk.shelf(), book.photo); photo != nullptr && book.list == List::photos) {
        desk.commit(RemovePhoto{photo->hash});
    } else if (const KeptPot* pot = find_pot(desk.shelf(), book.pot); pot != nullptr && book.list == List::pots) {
        desk.commit(RemovePot{pot->name});
    } else if (const Part* part = find_part(desk.shelf(), book.part); part != nullptr && book.list == List::parts) {
        desk.commit(RemovePart{part_path(desk.shelf().parts, *part)});
    }
}

void remove(Desk& desk) {
    if (desk.view.page == Page::workbook) return remove_picked(desk);
    if (desk.view.selected.mark != Mark::none) desk.commit(RemoveRegion{desk.view.selected});
}

void next_list(Desk& desk) {
    BookView& book = desk.view.book;
    show_page(desk.view, Page::workbook);
    book.list = static_cast<List>((static_cast<int>(book.list) + 1) % kLists);
    book.reveal = 3;
}

void move(Desk& desk, double dx, double dy, bool far) {
    View& view = desk.view;
    if (view.page == Page::workbook) return pick_beside(desk, static_cast<int>(dx + dy) * (far ? 10 : 1));
    const Results& results = desk.results();
    if (!results.photo) return;
    if (view.selected.mark != Mark::none) {
        const double step = far ? 10 : 1;
        if (auto drag = nudged(desk.work(), results, view.drag, view.selected, dx * step, dy * step, results.photo->width, results.photo->height))
            view.drag = drag;
        return;
    }
    if (view.fit) view.fit = false;
    const double step = (far ? 200 : 40) / view.camera.zoom;
    view.camera.center.x += dx * step;
    view.camera.center.y += dy * step;
    view.camera = kept_in_view(view.camera, view.canvas.area, results.photo->width, results.photo->height);
}

void escape(Desk& desk) {
    View& view = desk.view;
    if (view.help) {
        view.help = false;
    } else if (view.drag) {
        view.drag.reset();
    } else if (!desk.messages.empty()) {
        desk.messages.pop_back();
    } else if (view.page == Page::workbook) {
        if (desk.progress().busy) return desk.cancel();
        if (view.book.find.empty()) return show_page(view, Page::picture);
        view.book.find.clear();
        view.edits.find.clear();
    } else if (view.tool != Mark::none) {
        view.tool = Mark::none;
    } else if (view.selected.mark != Mark::none) {
        view.selected = {};
    } else if (desk.progress().busy) {
        desk.cancel();
    }
}

void change_shape(Desk& desk) {
    View& view = desk.view;
    view.ellipse = !view.ellipse;
    for (const Outline& outline : outlines(desk.work())) {
        if (outline.what != view.selected) continue;
        view.ellipse = !std::holds_alternative<Ellipse>(outline.region);
        if (const auto command = command_for(desk.work(), outline.what, reshaped(outline.region, view.ellipse))) desk.commit(*command);
        break;
    }
}

/// Of what is selected, or else was drawn last.
void keep_flat_part(Desk& desk) {
    const Marked what = desk.view.selected.mark != Mark::none ? desk.view.selected : desk.view.drawn;
    const auto& photo = desk.results().photo;
    for (const Outline& outline : outlines(desk.work())) {
        if (outline.what != what || !photo) continue;
        const auto part = uniform_part(*photo, outline.region, title(what.mark, what.index));
        if (!part) return desk.complain(part.error());
        if (const auto command = command_for(desk.work(), what, *part)) desk.commit(*command);
        return;
    }
    desk.complain({Fault::bad_usage, "", "", "nothing is selected whose flat part could be kept", "select a card, chip or swatch first: N"});
}

std::vector<Shortcut> table() {
    std::vector<Shortcut> all;
    const auto add = [&](const char* group, const char* chord, const char* keys, const char* words, std::function<void(Desk&)> act) {
        all.push_back({chord, keys, words, group, std::move(act)});
    };
    const char* path = "Work path";
    add(path, "ctrl+o", "Ctrl+O", "type the path of a photo", [](Desk& d) {
        d.view.open_step = 1;
        d.view.focus = "path";
    });
    add(path, "ctrl+shift+o", "Ctrl+Shift+O", "choose a photo in the desktop's dialog", [](Desk& d) { d.browse(); });
    add(path, "ctrl+v", "Ctrl+V", "open what was copied: a screen grab, a file, a path", [](Desk& d) { d.paste(); });
    add(path, "ctrl+r", "Ctrl+R", "read the photo again from its file", [](Desk& d) { d.reload_photo(); });
    add(path, ".", ".", "the next photo of the folder", [](Desk& d) { d.open_beside(1); });
    add(path, ",", ",", "the one before it", [](Desk& d) { d.open_beside(-1); });
    add(path, "f4", "F4", "small pictures of the folder under the picture", [](Desk& d) { run(d, Toggle{"strip", !d.view.show_strip}); });
    add(path, "g", "G", "mark the gray card", [](Desk& d) { pick(d, Mark::gray, 2); });
    add(path, "h", "H", "mark the 24-patch chart", [](Desk& d) { pick(d, Mark::chart, 2); });
    add(path, "shift+h", "Shift+H", "find the 24-patch chart", [](Desk& d) { d.commit(FindChart{}); });
    add(path, "v", "V", "type the gray card's LRV", [](Desk& d) {
        d.view.open_step = 2;
        d.view.focus = "lrv";
    });
    add(path, "b", "B", "type the light that lit the photo", [](Desk& d) {
        d.view.open_step = 2;
        d.view.focus = "lit-by";
    });
    add(path, "d", "D", "mark a known chip", [](Desk& d) { pick(d, Mark::known, 2); });
    add(path, "c", "C", "mark the chip", [](Desk& d) { pick(d, Mark::chip, 3); });
    add(path, "s", "S", "mark the swatch", [](Desk& d) { pick(d, Mark::swatch, 3); });
    add(path, "t", "T", "type the tolerance", [](Desk& d) {
        d.view.open_step = 4;
        d.view.focus = "tolerance";
    });
    add(path, "x", "X", "smooth or textured surfaces: lightness counts half", [](Desk& d) { d.commit(SetTextured{!d.work().textured}); });
    add(path, "a", "A", "judge under another light", [](Desk& d) {
        d.view.open_step = 4;
        d.view.focus = "light";
    });
    add(path, "k", "K", "keep the chip as a target", keep);
    add(path, "ctrl+s", "Ctrl+S", "save it under the name given", [](Desk& d) {
        if (d.view.edits.target.empty()) return keep(d);
        if (d.commit(SaveTarget{d.view.edits.target})) {
            d.view.edits.target_saved = true;
            d.view.focus_column = 1;  // the field is done with
        }
    });
    add(path, "ctrl+l", "Ctrl+L", "save the light ladder beside the photo", [](Desk& d) { d.save_ladder({}); });
    add(path, "r", "R", "keep the swatch as a reading", [](Desk& d) {
        d.view.open_step = 5;
        d.view.focus = "reading";
    });
    for (int i = 1; i <= 5; ++i) {
        const std::string n = std::to_string(i);
        const std::string title = std::string("show step ") + n + ", " + kStepTitles[static_cast<std::size_t>(i - 1)];
        all.push_back({"ctrl+" + n, "Ctrl+" + n, title, path, [i](Desk& d) { open_step(d, i); }});
    }
    const char* region = "What is selected";
    for (const auto& [chord, keys, dx, dy, far] : {std::tuple{"left", "Arrows", -1.0, 0.0, false},
                                                   {"right", "", 1.0, 0.0, false},
                                                   {"up", "", 0.0, -1.0, false},
                                                   {"down", "", 0.0, 1.0, false},
                                                   {"shift+left", "Shift+Arrows", -1.0, 0.0, true},
                                                   {"shift+right", "", 1.0, 0.0, true},
                                                   {"shift+up", "", 0.0, -1.0, true},
                                                   {"shift+down", "", 0.0, 1.0, true}}) {
        all.push_back({chord, keys, far ? "by 10 px" : "move it by 1 px (nothing selected: the picture)", region,
                       [dx = dx, dy = dy, far = far](Desk& d) { move(d, dx, dy, far); }});
    }
    add(region, "e", "E", "box or ellipse", change_shape);
    add(region, "u", "U", "keep its flat part only: without edge, label, shadow", keep_flat_part);
    add(region, "delete", "Delete", "remove it", remove);
    add(region, "backspace", "", "remove it", remove);
    add(region, "n", "N", "select the next one", [](Desk& d) {
        const std::vector<Outline> all_marks = outlines(d.work());
        if (all_marks.empty()) return;
        std::size_t next = 0;
        for (std::size_t i = 0; i < all_marks.size(); ++i) {
            if (all_marks[i].what == d.view.selected) next = (i + 1) % all_marks.size();
        }
        d.view.selected = all_marks[next].what;
        d.view.tool = Mark::none;
        d.view.focus_column = 1;
    });
    add(region, "escape", "Esc", "give up, put away", escape);
    const char* look = "Picture";
    add(look, "m", "M", "original, corrected, split, side by side",
        [](Desk& d) { d.view.mode = static_cast<Mode>((static_cast<int>(d.view.mode) + 1) % 4); });
    add(look, "f", "F", "show all of it", [](Desk& d) { d.view.fit = true; });
    add(look, "1", "1", "one pixel of the photo on one of the screen", [](Desk& d) {
        d.view.fit = false;
        d.view.camera.zoom = 1;
    });
    add(look, "+", "+", "nearer (also: wheel)", [](Desk& d) { zoom_by(d, 1.25); });
    add(look, "=", "", "nearer", [](Desk& d) { zoom_by(d, 1.25); });
    add(look, "-", "−", "farther", [](Desk& d) { zoom_by(d, 0.8); });
    add(look, "space", "Space+drag", "move the picture (also: middle button)", [](Desk&) {});
    add(look, "[", "[", "split more to the left", [](Desk& d) { d.view.split = std::max(0.02, d.view.split - 0.05); });
    add(look, "]", "]", "split more to the right", [](Desk& d) { d.view.split = std::min(0.98, d.view.split + 0.05); });
    add(look, "l", "L", "loupe", [](Desk& d) { d.view.loupe = !d.view.loupe; });
    add(look, "i", "I", "map of the swatch: where it is off the chip, or the target that is picked",
        [](Desk& d) { d.view.show_map = !d.view.show_map; });
    add(look, "w", "W", "warn of clipped places by stripes", [](Desk& d) { d.view.stripes = !d.view.stripes; });
    const char* book = "Workbook";
    add(book, "f7", "F7", "workbook or picture", [](Desk& d) { show_page(d.view, d.view.page == Page::workbook ? Page::picture : Page::workbook); });
    add(book, "f9", "F9", "targets, parts, readings, photos, pots", next_list);
    add(book, "ctrl+f", "Ctrl+F", "find by words or by color", [](Desk& d) {
        show_page(d.view, Page::workbook);
        d.view.focus_column = -1;
        d.view.focus = "find";
    });
    add(book, "o", "O", "order by name, lightness, newest", [](Desk& d) {
        if (d.view.page != Page::workbook) return;
        d.view.book.order = static_cast<Order>((static_cast<int>(d.view.book.order) + 1) % 3);
        d.view.book.reveal = 3;
    });
    const char* all_over = "Everywhere";
    add(all_over, "ctrl+z", "Ctrl+Z", "undo", [](Desk& d) { d.undo(); });
    add(all_over, "ctrl+shift+z", "Ctrl+Shift+Z", "redo (also: Ctrl+Y)", [](Desk& d) { d.redo(); });
    add(all_over, "ctrl+y", "", "redo", [](Desk& d) { d.redo(); });
    add(all_over, "f6", "F6", "next column", [](Desk& d) { d.view.focus_column = (d.view.column + 1) % 3; });
    add(all_over, "tab", "Tab", "next field", [](Desk&) {});
    add(all_over, "p", "P", "plots of the match: where the swatch lies, what the doubt is made of", [](Desk& d) {
        run(d, Toggle{"plots", !d.view.show_plots});
    });
    add(all_over, "f10", "F10", "dark or light panels; what lies around judged colors stays the same gray", [](Desk& d) {
        run(d, Toggle{"bright", !d.view.bright});
    });
    add(all_over, "f8", "F8", "show or hide what was done", [](Desk& d) { d.view.show_log = !d.view.show_log; });
    add(all_over, "f1", "F1", "these keys, to be searched", [](Desk& d) {
        d.view.help = !d.view.help;
        d.view.edits.help.clear();
        d.view.focus = d.view.help ? "help" : "";
    });
    return all;
}

}  // namespace

const std::vector<Shortcut>& shortcuts() {
    static const std::vector<Shortcut> all = table();
    return all;
}

bool chord_known(const std::string& chord) {
    return std::any_of(shortcuts().begin(), shortcuts().end(), [&](const Shortcut& s) { return s.chord == chord; });
}

std::vector<const Shortcut*> shortcuts_with(const std::string& words) {
    const auto lower = [](std::string text) {
        for (char& c : text) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
        return text;
    };
    std::vector<const Shortcut*> found;
    for (const Shortcut& shortcut : shortcuts()) {
        if (shortcut.keys.empty()) continue;
        const std::string text = lower(shortcut.keys + " " + shortcut.words + " " + shortcut.group);
        std::istringstream in(lower(words));
        bool all = true;
        for (std::string word; in >> word;) all = all && text.find(word) != std::string::npos;
        if (all) found.push_back(&shortcut);
    }
    return found;
}

bool press(Desk& desk, const std::string& chord, bool editing_text) {
    if (desk.view.help && chord == "escape") {  // also out of its field
        desk.view.help = false;
        return true;
    }
    if (editing_text) {
        const bool function_key = chord.size() >= 2 && chord[0] == 'f' && chord[1] >= '0' && chord[1] <= '9';
        const bool command = chord.starts_with("ctrl+") && chord != "ctrl+z" && chord != "ctrl+y" && chord != "ctrl+shift+z" &&
                             chord != "ctrl+v";  // those are the field's own
        if (!function_key && !command) return false;
    }
    for (const Shortcut& shortcut : shortcuts()) {
        if (shortcut.chord != chord) continue;
        if (desk.view.help && chord != "f1" && chord != "escape") return true;  // the help is over everything
        shortcut.act(desk);
        return true;
    }
    return false;
}

void release_arrows(Desk& desk) {
    View& view = desk.view;
    if (!view.drag || view.drag->kind != Drag::Kind::nudge) return;
    const auto command = finished(desk.work(), *view.drag);
    view.drag.reset();
    if (command) desk.commit(*command);
}

}  // namespace sw::window
