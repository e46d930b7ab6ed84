#include "viewer/script.hpp"

#include <cmath>

#include "viewer/line_words.hpp"
#include "viewer/marking.hpp"
#include "viewer/words.hpp"

namespace sw::window {
namespace {

std::string point_text(Point p) { return shortest(p.x) + "," + shortest(p.y); }

std::optional<Point> point(std::string_view text) {
    const std::size_t comma = text.find(',');
    if (comma == std::string_view::npos) return std::nullopt;
    const auto x = number(text.substr(0, comma)), y = number(text.substr(comma + 1));
    if (!x || !y) return std::nullopt;
    return Point{*x, *y};
}

std::optional<Marked> marked(std::string_view text) {
    Marked result;
    if (const std::size_t hash = text.find('#'); hash != std::string_view::npos) {
        const auto n = number(text.substr(hash + 1));
        if (!n || *n < 1 || *n > 1000 || *n != std::floor(*n)) return std::nullopt;
        result.index = static_cast<std::size_t>(*n) - 1;
        text = text.substr(0, hash);
    }
    for (const Mark mark : {Mark::none, Mark::gray, Mark::chart, Mark::chip, Mark::swatch, Mark::known}) {
        if (to_word(mark) == text) {
            result.mark = mark;
            return result;
        }
    }
    return std::nullopt;
}

std::string marked_text(const Marked& what) { return to_word(what.mark) + (what.index == 0 ? "" : "#" + std::to_string(what.index + 1)); }

const std::vector<std::string>& toggles() {
    static const std::vector<std::string> names{"loupe",  "clipping", "ellipse", "help", "hint",   "workbook",
                                                "letter", "plots",    "map",     "log",  "bright", "strip"};
    return names;
}

std::vector<std::string_view> split(std::string_view line) {
    std::vector<std::string_view> words;
    while (true) {
        const std::size_t start = line.find_first_not_of(" \t\r");
        if (start == std::string_view::npos) return words;
        line.remove_prefix(start);
        const std::size_t end = std::min(line.find_first_of(" \t\r"), line.size());
        words.push_back(line.substr(0, end));
        line.remove_prefix(end);
    }
}

/// What stands behind the first word, as it is.
std::string rest_of(std::string_view line) {
    const std::size_t blank = line.find_first_of(" \t");
    const std::size_t at = blank == std::string_view::npos ? blank : line.find_first_not_of(" \t", blank);
    return at == std::string_view::npos ? std::string() : std::string(line.substr(at));
}

std::string job_text(const FileJob& job) {
    return std::visit(Overload{[](const ExportTo& c) { return "export " + c.file; }, [](const ImportFrom& c) { return "import " + c.file; },
                               [](const ShareTo& c) { return "share " + c.file; },
                               [](const DrawSheet& c) {
                                   std::string text = "sheet " + to_word(c.kind) + " " + quoted(c.file);
                                   for (const std::string& name : c.names) text += " " + quoted(name);
                                   return text;
                               },
                               [](const VerifyBook&) { return std::string("verify"); }},
                      job);
}

/// Nothing: not a view command. An error: one that cannot be read.
std::optional<Result<ViewCommand>> parse_view_command(std::string_view line) {
    const std::vector<std::string_view> words = split(line);
    const std::string_view verb = words[0];
    const std::size_t n = words.size() - 1;
    const auto form = [&]() -> Result<ViewCommand> {
        std::string usage;
        for (const std::string& f : view_command_forms()) {
            if (split(f)[0] == verb) usage = f;
        }
        return Error{.fault = Fault::bad_usage, .file = {}, .place = std::string(line), .cause = "cannot be read", .remedy = "write: " + usage};
    };
    const auto with = [&](auto value) -> std::optional<Result<ViewCommand>> { return Result<ViewCommand>(ViewCommand(value)); };
    if (verb == "undo" || verb == "redo" || verb == "wait" || verb == "fit" || verb == "release") {
        if (n != 0) return form();
        if (verb == "undo") return with(Undo{});
        if (verb == "redo") return with(Redo{});
        if (verb == "wait") return with(Wait{});
        if (verb == "fit") return with(Fit{});
        return with(Release{});
    }
    if (verb == "zoom" || verb == "split") {
        const auto value = n == 1 ? number(words[1]) : std::nullopt;
        if (!value || *value < 0) return form();
        if (verb == "zoom") return with(ZoomTo{*value});
        return with(SetSplit{*value});
    }
    if (verb == "look-at" || verb == "point" || verb == "click") {
        const auto value = n == 1 ? point(words[1]) : std::nullopt;
        if (!value) return form();
        if (verb == "look-at") return with(LookAt{*value});
        if (verb == "point") return with(PointAt{*value});
        return with(Click{*value});
    }
    if (verb == "drag") {
        const auto from = n == 2 ? point(words[1]) : std::nullopt, to = n == 2 ? point(words[2]) : std::nullopt;
        if (!from || !to) return form();
        return with(DragBox{*from, *to});
    }
    if (verb == "mode") {
        if (n != 1) return form();
        for (const Mode mode : {Mode::original, Mode::corrected, Mode::split, Mode::side_by_side}) {
            if (to_word(mode) == words[1]) return with(SetMode{mode});
        }
        return form();
    }
    if (verb == "tool" || verb == "select") {
        const auto what = n == 1 ? marked(words[1]) : std::nullopt;
        if (!what) return form();
        if (verb == "tool") return with(PickTool{what->mark});
        return with(Select{*what});
    }
    if (verb == "show" || verb == "hide") {
        if (n != 1) return form();
        for (const std::string& name : toggles()) {
            if (name == words[1]) return with(Toggle{name, verb == "show"});
        }
        return form();
    }
    if (verb == "step") {
        const auto value = n == 1 ? number(words[1]) : std::nullopt;
        if (!value || *value < 1 || *value > 5 || *value != std::floor(*value)) return form();
        return with(OpenStep{static_cast<int>(*value)});
    }
    if (verb == "save-ladder") {
        return with(SaveLadder{rest_of(line)});
    }
    if (verb == "save-script") return rest_of(line).empty() ? form() : with(SaveScript{rest_of(line)});
    if (verb == "find" || verb == "pick" || verb == "export" || verb == "import" || verb == "share") {
        const std::string rest = rest_of(line);
        if (verb == "find") return with(FindText{rest});
        if (rest.empty()) return form();
        if (verb == "pick") return with(PickRow{rest});
        if (verb == "export") return with(FileJob(ExportTo{rest}));
        if (verb == "import") return with(FileJob(ImportFrom{rest}));
        return with(FileJob(ShareTo{rest}));
    }
    if (verb == "display") return rest_of(line).empty() ? form() : with(SetDisplay{rest_of(line)});
    if (verb == "verify") return n == 0 ? with(FileJob(VerifyBook{})) : form();
    if (verb == "sheet") {
        const auto parts = words_of(line);
        if (!parts) return Result<ViewCommand>(parts.error());
        for (const SheetKind kind : {SheetKind::target, SheetKind::targets, SheetKind::labels, SheetKind::build, SheetKind::mix}) {
            if (parts->size() >= 3 && to_word(kind) == (*parts)[1])
                return with(FileJob(DrawSheet{kind, (*parts)[2], std::vector<std::string>(parts->begin() + 3, parts->end())}));
        }
        return form();
    }
    if (verb == "list" || verb == "order") {
        if (n != 1) return form();
        for (const List list : {List::targets, List::parts, List::readings, List::photos, List::pots}) {
            if (verb == "list" && to_word(list) == words[1]) return with(ShowList{list});
        }
        for (const Order order : {Order::name, Order::lightness, Order::newest}) {
            if (verb == "order" && to_word(order) == words[1]) return with(SetOrder{order});
        }
        return form();
    }
    if (verb == "key") return n == 1 ? with(PressKey{std::string(words[1])}) : form();
    return std::nullopt;
}

}  // namespace

std::string to_word(Mode mode) {
    switch (mode) {
        case Mode::original:
            return "original";
        case Mode::corrected:
            return "corrected";
        case Mode::split:
            return "split";
        case Mode::side_by_side:
            return "side-by-side";
    }
    return {};
}

std::string to_word(Mark mark) {
    switch (mark) {
        case Mark::none:
            return "none";
        case Mark::gray:
            return "gray";
        case Mark::chart:
            return "chart";
        case Mark::chip:
            return "chip";
        case Mark::swatch:
            return "swatch";
        case Mark::known:
            return "known";
    }
    return {};
}

std::string to_word(List list) {
    return list == List::targets    ? "targets"
           : list == List::parts    ? "parts"
           : list == List::readings ? "readings"
           : list == List::photos   ? "photos"
                                    : "pots";
}

std::string to_word(Order order) { return order == Order::name ? "name" : order == Order::lightness ? "lightness" : "newest"; }

std::string to_word(SheetKind kind) {
    switch (kind) {
        case SheetKind::target:
            return "target";
        case SheetKind::targets:
            return "targets";
        case SheetKind::labels:
            return "labels";
        case SheetKind::build:
            return "build";
        case SheetKind::mix:
            return "mix";
    }
    return {};
}

const std::vector<std::string>& view_command_forms() {
    static const std::vector<std::string> forms{"undo",
                                                "redo",
                                                "wait",
                                                "zoom FACTOR",
                                                "fit",
                                                "look-at X,Y",
                                                "mode original|corrected|split|side-by-side",
                                                "split SHARE",
                                                "tool gray|chart|chip|swatch|known|none",
                                                "select gray[#N]|chart|chip|swatch|known[#N]|none",
                                                "point X,Y",
                                                "show loupe|clipping|ellipse|help|hint|workbook|letter|plots|map|log|bright|strip",
                                                "hide loupe|clipping|ellipse|help|hint|workbook|letter|plots|map|log|bright|strip",
                                                "display desktop|none|FILE",
                                                "step 1..5",
                                                "save-ladder [FILE]",
                                                "save-script FILE",
                                                "list targets|parts|readings|photos|pots",
                                                "order name|lightness|newest",
                                                "find [TEXT]",
                                                "pick NAME",
                                                "export FILE",
                                                "import FILE",
                                                "share FILE",
                                                "sheet target|targets|labels|build FILE [NAME ...]",
                                                "verify",
                                                "key CHORD",
                                                "click X,Y",
                                                "drag X,Y X,Y",
                                                "release"};
    return forms;
}

std::string to_text(const Line& line) {
    const std::string prefix = line.expect_error ? "expect-error " : "";
    if (const auto* command = std::get_if<Command>(&line.what)) return prefix + to_text(*command);
    return prefix + std::visit(Overload{[](const Undo&) { return std::string("undo"); },
                                        [](const Redo&) { return std::string("redo"); },
                                        [](const Wait&) { return std::string("wait"); },
                                        [](const ZoomTo& c) { return "zoom " + shortest(c.zoom); },
                                        [](const Fit&) { return std::string("fit"); },
                                        [](const LookAt& c) { return "look-at " + point_text(c.center); },
                                        [](const SetMode& c) { return "mode " + to_word(c.mode); },
                                        [](const SetSplit& c) { return "split " + shortest(c.share); },
                                        [](const PickTool& c) { return "tool " + to_word(c.tool); },
                                        [](const Select& c) { return "select " + marked_text(c.what); },
                                        [](const PointAt& c) { return "point " + point_text(c.at); },
                                        [](const Toggle& c) { return (c.on ? "show " : "hide ") + c.what; },
                                        [](const SetDisplay& c) { return "display " + c.profile; },
                                        [](const OpenStep& c) { return "step " + std::to_string(c.step); },
                                        [](const PressKey& c) { return "key " + c.chord; },
                                        [](const SaveLadder& c) { return "save-ladder" + (c.file.empty() ? "" : " " + c.file); },
                                        [](const SaveScript& c) { return "save-script " + c.file; },
                                        [](const ShowList& c) { return "list " + to_word(c.list); },
                                        [](const SetOrder& c) { return "order " + to_word(c.order); },
                                        [](const FindText& c) { return "find" + (c.text.empty() ? "" : " " + c.text); },
                                        [](const PickRow& c) { return "pick " + c.name; },
                                        [](const FileJob& c) { return job_text(c); },
                                        [](const Click& c) { return "click " + point_text(c.at); },
                                        [](const DragBox& c) { return "drag " + point_text(c.from) + " " + point_text(c.to); },
                                        [](const Release&) { return std::string("release"); }},
                               std::get<ViewCommand>(line.what));
}

Result<std::optional<Line>> parse_line(std::string_view text, int line_number) {
    while (!text.empty() && (text.back() == '\r' || text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
    const std::size_t start = text.find_first_not_of(" \t");
    if (start == std::string_view::npos || text[start] == '#') return std::optional<Line>();
    text.remove_prefix(start);
    Line line;
    constexpr std::string_view expect = "expect-error ";
    if (text.starts_with(expect)) {
        line.expect_error = true;
        text.remove_prefix(expect.size());
        if (text.find_first_not_of(" \t") == std::string_view::npos)
            return Error{.fault = Fault::bad_usage,
                         .file = {},
                         .place = "line " + std::to_string(line_number),
                         .cause = "no command after expect-error",
                         .remedy = "write one"};
    }
    const auto placed = [&](Error error) {
        if (line_number > 0) error.place = "line " + std::to_string(line_number) + (error.place.empty() ? "" : ": ") + error.place;
        return error;
    };
    if (const auto view = parse_view_command(text)) {
        if (!*view) return placed(view->error());
        line.what = **view;
    } else {
        const Result<Command> command = parse_command(text);
        if (!command) return placed(command.error());
        line.what = *command;
    }
    return std::optional<Line>(line);
}

Result<std::vector<Line>> parse_script(std::string_view text, const std::string& file) {
    std::vector<Line> lines;
    int line_number = 0;
    while (!text.empty()) {
        ++line_number;
        const std::size_t end = std::min(text.find('\n'), text.size());
        Result<std::optional<Line>> line = parse_line(text.substr(0, end), line_number);
        if (!line) {
            Error error = line.error();
            error.file = file;
            return error;
        }
        if (*line) lines.push_back(std::move(**line));
        text.remove_prefix(std::min(end + 1, text.size()));
    }
    return lines;
}

void show_page(View& view, Page page) {
    view.page = page;
    view.focus_column = 1;
    view.drag.reset();
    if (page == Page::workbook) view.tool = Mark::none;
}

bool run(Desk& desk, const ViewCommand& command) {
    View& view = desk.view;
    return std::visit(Overload{[&](const Undo&) {
                                   desk.undo();
                                   return true;
                               },
                               [&](const Redo&) {
                                   desk.redo();
                                   return true;
                               },
                               [](const Wait&) { return true; },
                               [&](const ZoomTo& c) {
                                   view.fit = false;
                                   view.camera.zoom = std::clamp(c.zoom, 1.0 / 32, 64.0);
                                   return true;
                               },
                               [&](const Fit&) {
                                   view.fit = true;
                                   return true;
                               },
                               [&](const LookAt& c) {
                                   view.fit = false;
                                   view.camera.center = c.center;
                                   return true;
                               },
                               [&](const SetMode& c) {
                                   view.mode = c.mode;
                                   return true;
                               },
                               [&](const SetSplit& c) {
                                   view.split = std::clamp(c.share, 0.02, 0.98);
                                   return true;
                               },
                               [&](const PickTool& c) {
                                   view.tool = c.tool;
                                   if (c.tool != Mark::none) view.selected = {};
                                   return true;
                               },
                               [&](const Select& c) {
                                   view.selected = c.what;
                                   view.tool = Mark::none;
                                   return true;
                               },
                               [&](const PointAt& c) {
                                   view.pointer = c.at;
                                   view.pointer_pinned = true;
                                   return true;
                               },
                               [&](const Toggle& c) {
                                   if (c.what == "workbook") {
                                       show_page(view, c.on ? Page::workbook : Page::picture);
                                       return true;
                                   }
                                   bool& flag = c.what == "loupe"      ? view.loupe
                                                : c.what == "clipping" ? view.stripes
                                                : c.what == "ellipse"  ? view.ellipse
                                                : c.what == "help"     ? view.help
                                                : c.what == "hint"     ? view.hint
                                                : c.what == "letter"   ? view.book.letter
                                                : c.what == "plots"    ? view.show_plots
                                                : c.what == "map"      ? view.show_map
                                                : c.what == "bright"   ? view.bright
                                                : c.what == "strip"    ? view.show_strip
                                                                       : view.show_log;
                                   flag = c.on;
                                   if (c.what == "plots" && c.on) view.reveal_plots = 3;
                                   if (c.what == "strip") view.strip_reveal = 3;
                                   return true;
                               },
                               [&](const SetDisplay& c) {
                                   view.display = c.profile;
                                   return true;
                               },
                               [&](const OpenStep& c) {
                                   view.open_step = c.step;
                                   return true;
                               },
                               [&](const SaveLadder& c) {
                                   desk.save_ladder(c.file);
                                   return true;
                               },
                               [&](const SaveScript& c) {
                                   desk.save_script(c.file);
                                   return true;
                               },
                               [&](const ShowList& c) {
                                   show_page(view, Page::workbook);
                                   view.book.list = c.list;
                                   view.book.reveal = 3;
                                   return true;
                               },
                               [&](const SetOrder& c) {
                                   view.book.order = c.order;
                                   view.book.reveal = 3;
                                   return true;
                               },
                               [&](const FindText& c) {
                                   show_page(view, Page::workbook);
                                   view.book.find = view.edits.find = c.text;
                                   return true;
                               },
                               [&](const PickRow& c) {
                                   (void)desk.pick(c.name);
                                   return true;
                               },
                               [&](const FileJob& c) {
                                   (void)desk.begin(c);
                                   return true;
                               },
                               [](const PressKey&) { return false; },
                               [](const Click&) { return false; },
                               [](const DragBox&) { return false; },
                               [](const Release&) { return false; }},
                      command);
}

}  // namespace sw::window
