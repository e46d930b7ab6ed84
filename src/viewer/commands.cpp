#include "viewer/commands.hpp"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "viewer/words.hpp"
#include "workbook/reading_request.hpp"

namespace sw::window {
namespace {

template <class... F>
struct Overload : F... {
    using F::operator()...;
};
template <class... F>
Overload(F...) -> Overload<F...>;

Error bad(std::string cause, std::string remedy, std::string place = {}) {
    return Error{.fault = Fault::bad_usage, .file = {}, .place = std::move(place), .cause = std::move(cause), .remedy = std::move(remedy)};
}

// --- text -------------------------------------------------------------------------------------------------------------------------------

std::string quoted(const std::string& text) {
    std::string result = "\"";
    for (const char c : text) {
        if (c == '\n') {
            result += "\\n";
            continue;
        }
        if (c == '"' || c == '\\') result += '\\';
        result += c;
    }
    return result + '"';
}

bool blank(char c) { return c == ' ' || c == '\t' || c == '\r'; }

/// Words of a line; a quoted part is one word, with \" \\ \n in it.
Result<std::vector<std::string>> words_of(std::string_view line) {
    std::vector<std::string> words;
    std::size_t i = 0;
    while (true) {
        while (i < line.size() && blank(line[i])) ++i;
        if (i >= line.size()) return words;
        std::string word;
        if (line[i] == '"') {
            ++i;
            bool closed = false;
            while (i < line.size() && !closed) {
                if (line[i] == '"') {
                    closed = true;
                } else if (line[i] == '\\' && i + 1 < line.size()) {
                    ++i;
                    word += line[i] == 'n' ? '\n' : line[i];
                } else {
                    word += line[i];
                }
                ++i;
            }
            if (!closed) return bad("the quotation mark is not closed", "end the name with \"", std::string(line));
        } else {
            while (i < line.size() && !blank(line[i])) word += line[i++];
        }
        words.push_back(std::move(word));
    }
}

std::optional<double> number(std::string_view text) {
    double value = 0;
    const auto end = std::from_chars(text.data(), text.data() + text.size(), value);
    if (end.ec != std::errc() || end.ptr != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
    return value;
}

std::optional<std::vector<double>> numbers(std::string_view text, std::size_t count) {
    std::vector<double> values;
    while (true) {
        const std::size_t comma = text.find(',');
        const auto value = number(text.substr(0, comma));
        if (!value) return std::nullopt;
        values.push_back(*value);
        if (comma == std::string_view::npos) break;
        text.remove_prefix(comma + 1);
    }
    if (values.size() != count) return std::nullopt;
    return values;
}

std::string corner_text(const std::array<Point, 4>& corners) {
    std::string text;
    for (const Point& p : corners) text += (text.empty() ? "" : ",") + shortest(p.x) + "," + shortest(p.y);
    return text;
}

std::string lab_text(const Lab& color) { return shortest(color.L) + "," + shortest(color.a) + "," + shortest(color.b); }

std::string numbered(const std::string& verb, std::size_t index) { return index == 0 ? verb : verb + "#" + std::to_string(index + 1); }

std::string light_text(const std::string& light) {
    return light.empty() ? "unknown" : light.find_first_of(" \t\"") == std::string::npos ? light : quoted(light);
}

}  // namespace

const std::vector<std::string>& command_forms() {
    static const std::vector<std::string> forms{"open PATH",
                                                "transfer auto|srgb|linear|bt1886|gamma:G",
                                                "lit-by LIGHT|unknown",
                                                "gray[#N] REGION [LRV]",
                                                "lrv[#N] LRV",
                                                "find-chart",
                                                "chart x1,y1,x2,y2,x3,y3,x4,y4",
                                                "clear-chart",
                                                "known NAME REGION L,a,b",
                                                "chip REGION",
                                                "swatch REGION",
                                                "remove gray[#N]|chart|chip|swatch|known[#N]",
                                                "tolerance T|perceptible|acceptable",
                                                "surface smooth|textured",
                                                "add-light LIGHT",
                                                "remove-light LIGHT",
                                                "save-target NAME",
                                                "save-reading NAME",
                                                "remove-target NAME",
                                                "remove-reading ID"};
    return forms;
}

std::string to_text(const Command& command) {
    return std::visit(
        Overload{[](const OpenPhoto& c) { return "open " + quoted(c.path); },
                 [](const SetTransfer& c) { return "transfer " + transfer_text(c.transfer); },
                 [](const SetLitBy& c) { return "lit-by " + light_text(c.light); },
                 [](const SetGray& c) { return numbered("gray", c.index) + " " + to_text(c.region) + (c.lrv ? " " + shortest(*c.lrv) : ""); },
                 [](const SetLrv& c) { return numbered("lrv", c.index) + " " + shortest(c.lrv); },
                 [](const FindChart&) { return std::string("find-chart"); },
                 [](const SetChartCorners& c) { return "chart " + corner_text(c.corners); },
                 [](const ClearChart&) { return std::string("clear-chart"); },
                 [](const SetKnown& c) { return "known " + quoted(c.name) + " " + to_text(c.region) + " " + lab_text(c.lab); },
                 [](const SetChip& c) { return "chip " + to_text(c.region); },
                 [](const SetSwatch& c) { return "swatch " + to_text(c.region); },
                 [](const RemoveRegion& c) {
                     switch (c.what.mark) {
                         case Mark::none:
                             break;
                         case Mark::gray:
                             return numbered("remove gray", c.what.index);
                         case Mark::chart:
                             return std::string("remove chart");
                         case Mark::chip:
                             return std::string("remove chip");
                         case Mark::swatch:
                             return std::string("remove swatch");
                         case Mark::known:
                             return numbered("remove known", c.what.index);
                     }
                     return std::string("remove");
                 },
                 [](const SetTolerance& c) { return "tolerance " + shortest(c.de00); },
                 [](const SetTextured& c) { return std::string(c.textured ? "surface textured" : "surface smooth"); },
                 [](const AddLight& c) { return "add-light " + light_text(c.light); },
                 [](const RemoveLight& c) { return "remove-light " + light_text(c.light); },
                 [](const SaveTarget& c) { return "save-target " + quoted(c.name); },
                 [](const SaveReading& c) { return "save-reading " + quoted(c.name); },
                 [](const RemoveTarget& c) { return "remove-target " + quoted(c.name); },
                 [](const RemoveReading& c) { return "remove-reading " + std::to_string(c.id); }},
        command);
}

Result<Command> parse_command(std::string_view line) {
    const Result<std::vector<std::string>> split = words_of(line);
    if (!split) return split.error();
    const std::vector<std::string>& words = *split;
    if (words.empty()) return bad("the line is empty", "write a command");
    std::string verb = words[0];
    std::size_t index = 0;
    const auto take_index = [](std::string& word, std::size_t& to) {
        const std::size_t hash = word.find('#');
        if (hash == std::string::npos) return true;
        const auto value = number(std::string_view(word).substr(hash + 1));
        if (!value || *value < 1 || *value > 1000 || *value != std::floor(*value)) return false;
        to = static_cast<std::size_t>(*value) - 1;
        word.resize(hash);
        return true;
    };
    const std::string place(line);
    if (verb.starts_with("gray") || verb.starts_with("lrv")) {
        if (!take_index(verb, index)) return bad("the number after # is not a whole number from 1 on", "write for example gray#2", place);
    }
    const auto usage = [&](const std::string& form) { return bad("cannot be read", "write: " + form, place); };
    const std::size_t n = words.size() - 1;
    const auto rest = [&] {  // unquoted texts with spaces are taken as they stand
        std::string text;
        for (std::size_t i = 1; i < words.size(); ++i) text += (i > 1 ? " " : "") + words[i];
        return text;
    };
    if (verb == "open") return n < 1 ? Result<Command>(usage("open PATH")) : Command(OpenPhoto{rest()});
    if (verb == "transfer") {
        if (n != 1) return usage("transfer auto|srgb|linear|bt1886|gamma:G");
        Result<Transfer> transfer = parse_transfer(words[1]);
        if (!transfer) return transfer.error();
        return Command(SetTransfer{*transfer});
    }
    if (verb == "lit-by")
        return n < 1 ? Result<Command>(usage("lit-by LIGHT, or lit-by unknown")) : Command(SetLitBy{rest() == "unknown" ? "" : rest()});
    if (verb == "gray") {
        if (n < 1 || n > 2) return usage("gray REGION [LRV]");
        Result<Region> region = parse_region(words[1], "gray card");
        if (!region) return region.error();
        SetGray set{*region, std::nullopt, index};
        if (n == 2) {
            set.lrv = number(words[2]);
            if (!set.lrv) return usage("gray REGION LRV, for example gray 100,100,80,60 18");
        }
        return Command(set);
    }
    if (verb == "lrv") {
        const auto value = n == 1 ? number(words[1]) : std::nullopt;
        if (!value) return usage("lrv LRV, for example lrv 18");
        return Command(SetLrv{*value, index});
    }
    if (verb == "find-chart") return n != 0 ? Result<Command>(usage("find-chart")) : Command(FindChart{});
    if (verb == "clear-chart") return n != 0 ? Result<Command>(usage("clear-chart")) : Command(ClearChart{});
    if (verb == "chart") {
        const auto values = n == 1 ? numbers(words[1], 8) : std::nullopt;
        if (!values) return usage("chart x1,y1,x2,y2,x3,y3,x4,y4 (corners of patches 1, 6, 24, 19)");
        SetChartCorners set;
        for (std::size_t i = 0; i < 4; ++i) set.corners[i] = {(*values)[2 * i], (*values)[2 * i + 1]};
        return Command(set);
    }
    if (verb == "known") {
        const auto values = n == 3 ? numbers(words[3], 3) : std::nullopt;
        if (!values) return usage("known NAME REGION L,a,b");
        Result<Region> region = parse_region(words[2], "known chip");
        if (!region) return region.error();
        return Command(SetKnown{words[1], *region, Lab{.L = (*values)[0], .a = (*values)[1], .b = (*values)[2]}});
    }
    if (verb == "chip" || verb == "swatch") {
        if (n != 1) return usage(verb + " REGION");
        Result<Region> region = parse_region(words[1], verb);
        if (!region) return region.error();
        return verb == "chip" ? Command(SetChip{*region}) : Command(SetSwatch{*region});
    }
    if (verb == "remove") {
        const std::string form = "remove gray|chart|chip|swatch|known, gray#2 for the second card";
        if (n != 1) return usage(form);
        std::string what = words[1];
        if (!take_index(what, index)) return usage(form);
        for (const auto& [name, mark] :
             {std::pair{"gray", Mark::gray}, {"chart", Mark::chart}, {"chip", Mark::chip}, {"swatch", Mark::swatch}, {"known", Mark::known}}) {
            if (what == name) return Command(RemoveRegion{{mark, index}});
        }
        return usage(form);
    }
    if (verb == "tolerance") {
        const auto named = n == 1 ? threshold_named(words[1]) : std::nullopt;
        const auto value = n == 1 && !named ? number(words[1]) : named;
        if (!value) return usage("tolerance T|perceptible|acceptable, for example tolerance 2");
        return Command(SetTolerance{*value});
    }
    if (verb == "surface") {
        if (n != 1 || (words[1] != "smooth" && words[1] != "textured")) return usage("surface smooth|textured");
        return Command(SetTextured{words[1] == "textured"});
    }
    if (verb == "remove-reading") {
        const auto value = n == 1 ? number(words[1]) : std::nullopt;
        if (!value || *value != std::floor(*value) || std::abs(*value) > 9e15) return usage("remove-reading ID");
        return Command(RemoveReading{static_cast<std::int64_t>(*value)});
    }
    if (verb == "add-light" || verb == "remove-light" || verb == "save-target" || verb == "save-reading" || verb == "remove-target") {
        if (n < 1) return usage(verb + (verb.ends_with("light") ? " LIGHT" : " NAME"));
        if (verb == "add-light") return Command(AddLight{rest()});
        if (verb == "remove-light") return Command(RemoveLight{rest()});
        if (verb == "save-target") return Command(SaveTarget{rest()});
        if (verb == "save-reading") return Command(SaveReading{rest()});
        return Command(RemoveTarget{rest()});
    }
    return bad("\"" + verb + "\" is no command", "see the list of commands in the help (F1)", place);
}

std::string to_script(const Work& work) {
    std::string text;
    const auto line = [&](const Command& command) { text += to_text(command) + "\n"; };
    if (!work.photo.empty()) line(OpenPhoto{work.photo});
    line(SetTransfer{work.transfer});
    line(SetLitBy{work.lit_by});
    for (std::size_t i = 0; i < work.references.grays.size(); ++i) line(SetGray{work.references.grays[i].region, work.references.grays[i].lrv, i});
    switch (work.references.chart.mode) {
        case ChartMode::none:
            break;
        case ChartMode::automatic:
            line(FindChart{});
            break;
        case ChartMode::corners:
            line(SetChartCorners{work.references.chart.corners});
            break;
    }
    for (const KnownReference& known : work.references.known) line(SetKnown{known.name, known.region, known.lab});
    if (work.chip) line(SetChip{*work.chip});
    if (work.swatch) line(SetSwatch{*work.swatch});
    line(SetTolerance{work.tolerance});
    line(SetTextured{work.textured});
    for (const std::string& light : work.lights) line(AddLight{light});
    return text;
}

// --- planning ---------------------------------------------------------------------------------------------------------------------------

namespace {

bool lrv_possible(double lrv) { return std::isfinite(lrv) && lrv > 0 && lrv <= 100; }

Error lrv_error(double lrv) {
    return Error{.fault = Fault::gray_unusable,
                 .file = {},
                 .place = "LRV " + shortest(lrv),
                 .cause = "a card's LRV is more than 0 and at most 100",
                 .remedy = "type the figure printed on the card, often 18"};
}

std::optional<Error> name_error(const std::string& name) {
    if (name.empty()) return bad("there is no name", "type a name for it first");
    if (name.size() > 200 || std::any_of(name.begin(), name.end(), [](unsigned char c) { return c < 32 || c == 127; }))
        return bad("this name cannot be kept", "use at most 200 letters, in one line", name);
    return std::nullopt;
}

/// What the row keeps of the calibration: in words, and all that is needed to take the reading again.
std::string provenance_text(const Work& work, const Results& results, const FileReader& read_file) {
    nlohmann::json json = nlohmann::json::object();
    if (results.calibration) json = nlohmann::json::parse(calibration_text(*results.calibration));
    json["work"] = to_script(work);
    const std::string text = json.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
    ReadingRequest request;
    request.references = work.references;
    request.chart_asked = true;
    request.transfer = work.transfer;
    const Result<Light> under = light("D50");
    if (!under) return text;
    request.under = *under;
    if (!work.lit_by.empty()) {
        Result<Light> lit_by = light(work.lit_by, read_file);
        if (!lit_by) return text;  // a file that is gone: without its spectrum nothing can be taken again
        request.lit_by = std::move(*lit_by);
    }
    if (results.comparison) request.chip = work.chip;
    request.tolerance = work.tolerance;
    request.textured = work.textured;
    return with_request(text, request);
}

struct Planner {
    const Work& now;
    const Context& context;
    Step step{now, now, {}, {}, {}};

    Result<Step> operator()(const OpenPhoto& c) {
        if (c.path.empty()) return bad("no path was given", "type the path of a photo, or drop the file on the window");
        step.after = Work{.photo = c.path,
                          .transfer = {},
                          .lit_by = {},
                          .references = {},
                          .chip = {},
                          .swatch = {},
                          .tolerance = now.tolerance,
                          .textured = now.textured,
                          .lights = now.lights};
        step.sentence = "Opened " + file_name(c.path);
        return step;
    }
    Result<Step> operator()(const SetTransfer& c) {
        step.after.transfer = c.transfer;
        step.sentence = "Encoding: " + transfer_text(c.transfer);
        return step;
    }
    Result<Step> operator()(const SetLitBy& c) {
        if (!c.light.empty()) {
            const Result<Light> known = light(c.light, context.read_file);
            if (!known) return known.error();
            step.after.lit_by = known->name;
        } else {
            step.after.lit_by.clear();
        }
        step.sentence = "Lit by " + (c.light.empty() ? "an unknown light" : step.after.lit_by);
        return step;
    }
    Result<Step> operator()(const SetGray& c) {
        auto& grays = step.after.references.grays;
        if (c.index > grays.size())
            return bad("there are only " + std::to_string(grays.size()) + " gray cards", "mark card " + std::to_string(grays.size() + 1) + " first");
        if (c.index == grays.size()) grays.push_back({c.region, 18});
        grays[c.index].region = c.region;
        if (c.lrv) {
            if (!lrv_possible(*c.lrv)) return lrv_error(*c.lrv);
            grays[c.index].lrv = *c.lrv;
        }
        step.sentence = "Marked the " + std::string(c.index == 0 ? "gray card" : "gray card no. " + std::to_string(c.index + 1)) + ", LRV " +
                        shortest(grays[c.index].lrv);
        return step;
    }
    Result<Step> operator()(const SetLrv& c) {
        if (!lrv_possible(c.lrv)) return lrv_error(c.lrv);
        if (c.index >= now.references.grays.size()) return bad("there is no gray card yet", "mark it first: G, then drag a box over it");
        step.after.references.grays[c.index].lrv = c.lrv;
        step.sentence = "Gray card's LRV is " + shortest(c.lrv);
        return step;
    }
    Result<Step> operator()(const FindChart&) {
        step.after.references.chart = {ChartMode::automatic, {}};
        step.sentence = "Looked for the 24-patch chart";
        return step;
    }
    Result<Step> operator()(const SetChartCorners& c) {
        step.after.references.chart = {ChartMode::corners, c.corners};
        step.sentence = "Marked the 24-patch chart";
        return step;
    }
    Result<Step> operator()(const ClearChart&) {
        step.after.references.chart = {};
        step.sentence = "Took the 24-patch chart away";
        return step;
    }
    Result<Step> operator()(const SetKnown& c) {
        if (const auto error = name_error(c.name)) return *error;
        auto& known = step.after.references.known;
        const auto old = std::find_if(known.begin(), known.end(), [&](const KnownReference& k) { return k.name == c.name; });
        if (old == known.end()) {
            known.push_back({c.name, c.region, c.lab});
        } else {
            *old = {c.name, c.region, c.lab};
        }
        step.sentence = "Marked the known chip " + c.name;
        return step;
    }
    Result<Step> operator()(const SetChip& c) {
        step.after.chip = c.region;
        step.sentence = "Marked the chip";
        return step;
    }
    Result<Step> operator()(const SetSwatch& c) {
        step.after.swatch = c.region;
        step.sentence = "Marked the swatch";
        return step;
    }
    Result<Step> operator()(const RemoveRegion& c) {
        References& references = step.after.references;
        const auto missing = [&] { return bad("the " + title(c.what.mark, c.what.index) + " is not marked", "nothing to remove"); };
        switch (c.what.mark) {
            case Mark::none:
                return bad("nothing is selected", "click a region first");
            case Mark::gray:
                if (c.what.index >= references.grays.size()) return missing();
                references.grays.erase(references.grays.begin() + static_cast<std::ptrdiff_t>(c.what.index));
                break;
            case Mark::known:
                if (c.what.index >= references.known.size()) return missing();
                references.known.erase(references.known.begin() + static_cast<std::ptrdiff_t>(c.what.index));
                break;
            case Mark::chart:
                references.chart = {};
                break;
            case Mark::chip:
                step.after.chip.reset();
                break;
            case Mark::swatch:
                step.after.swatch.reset();
                break;
        }
        step.sentence = "Removed: " + title(c.what.mark, c.what.index);
        return step;
    }
    Result<Step> operator()(const SetTolerance& c) {
        if (!(c.de00 >= 0.1 && c.de00 <= 50))
            return bad("a tolerance is 0.1 to 50", "2 is usual for a model seen at arm's length", "tolerance " + shortest(c.de00));
        step.after.tolerance = c.de00;
        step.sentence = "Tolerance ΔE00 " + shortest(c.de00);
        return step;
    }
    Result<Step> operator()(const SetTextured& c) {
        step.after.textured = c.textured;
        step.sentence = c.textured ? "Textured surfaces: lightness counts half" : "Smooth surfaces: lightness counts whole";
        return step;
    }
    Result<Step> operator()(const AddLight& c) {
        const Result<Light> known = light(c.light, context.read_file);
        if (!known) return known.error();
        auto& lights = step.after.lights;
        if (lights.size() >= 12 && std::find(lights.begin(), lights.end(), known->name) == lights.end())
            return bad("twelve lights are as many as can be shown", "remove one first");
        if (std::find(lights.begin(), lights.end(), known->name) == lights.end()) lights.push_back(known->name);
        step.sentence = "Judge under " + known->name + " too";
        return step;
    }
    Result<Step> operator()(const RemoveLight& c) {
        std::string name = c.light;
        if (std::find(now.lights.begin(), now.lights.end(), name) == now.lights.end()) {
            if (const Result<Light> known = light(c.light, context.read_file)) name = known->name;
        }
        if (std::erase(step.after.lights, name) == 0) return bad("the list of lights does not hold " + c.light, "see the list in step 4, Match");
        if (step.after.lights.empty()) return bad("one light must stay", "add another one first");
        step.sentence = "No longer judged under " + name;
        return step;
    }
    Result<Step> operator()(const SaveTarget& c) {
        if (const auto error = name_error(c.name)) return *error;
        if (!context.results.chip || !now.chip) return bad("there is no reading of the chip yet", "mark the chip first: C, then drag a box over it");
        const auto& targets = context.shelf.targets;
        if (std::any_of(targets.begin(), targets.end(), [&](const Target& t) { return t.name == c.name; }))
            return Error{.fault = Fault::name_taken,
                         .file = {},
                         .place = "target " + c.name,
                         .cause = "a target of this name is kept already",
                         .remedy = "choose another name, or remove the old one first"};
        const Reading& chip = *context.results.chip;
        step.rows_after.targets.push_back(Target{.id = 0,
                                                 .name = c.name,
                                                 .lab = chip.lab,
                                                 .lab_covariance = chip.lab_covariance,
                                                 .kind = TargetKind::chip,
                                                 .light = chip.light,
                                                 .observer = chip.observer,
                                                 .source = file_name(now.photo) + " " + to_text(*now.chip),
                                                 .created = {}});
        step.photo = context.results.photo;
        step.sentence = "Kept the chip as target " + c.name;
        return step;
    }
    Result<Step> operator()(const SaveReading& c) {
        if (const auto error = name_error(c.name)) return *error;
        if (!context.results.swatch || !now.swatch)
            return bad("there is no reading of the swatch yet", "mark the swatch first: S, then drag a box over it");
        const Reading& swatch = *context.results.swatch;
        KeptReading row;
        row.name = c.name;
        row.photo_file = now.photo;
        row.photo_hash = context.results.photo ? context.results.photo->content_hash : "";
        row.region = to_text(*now.swatch);
        row.calibration_json = provenance_text(now, context.results, context.read_file);
        row.lab = swatch.lab;
        row.lab_covariance = swatch.lab_covariance;
        row.light = swatch.light;
        if (context.results.comparison) {
            const Difference& d = context.results.comparison->difference;
            row.de00 = d.de00;
            row.ci_low = d.ci95.low;
            row.ci_high = d.ci95.high;
            row.verdict = to_word(d.verdict);
            // The target is the one that was kept from this very chip, if any.
            const std::string source = now.chip ? file_name(now.photo) + " " + to_text(*now.chip) : "";
            for (const Target& target : context.shelf.targets) {
                if (!source.empty() && target.source == source) row.target = target.id;
            }
        }
        step.rows_after.readings.push_back(row);
        step.photo = context.results.photo;
        step.sentence = "Kept the swatch as reading " + c.name;
        return step;
    }
    Result<Step> operator()(const RemoveTarget& c) {
        for (const Target& target : context.shelf.targets) {
            if (target.name != c.name) continue;
            step.rows_before.targets.push_back(target);
            for (const KeptReading& reading : context.shelf.readings) {  // they lose the link and get it back on undo
                if (reading.target != target.id) continue;
                step.rows_before.readings.push_back(reading);
                step.rows_after.readings.push_back(reading);
                step.rows_after.readings.back().target.reset();
            }
            step.sentence = "Removed target " + c.name;
            return step;
        }
        return Error{.fault = Fault::name_unknown,
                     .file = {},
                     .place = "target " + c.name,
                     .cause = "no target of this name is kept",
                     .remedy = "see the list of what is kept"};
    }
    Result<Step> operator()(const RemoveReading& c) {
        for (const KeptReading& reading : context.shelf.readings) {
            if (reading.id != c.id) continue;
            step.rows_before.readings.push_back(reading);
            step.sentence = "Removed reading " + reading.name;
            return step;
        }
        return Error{.fault = Fault::name_unknown,
                     .file = {},
                     .place = "reading " + std::to_string(c.id),
                     .cause = "no such reading is kept",
                     .remedy = "see the list of what is kept"};
    }
};

/// Takes rows `from` away and puts rows `to` there; rows of `to` without an id get one.
Result<Done> exchange_rows(Workbook* workbook, const Rows& from, Rows& to) {
    const auto has = [](const auto& rows, std::int64_t id) {
        return std::any_of(rows.begin(), rows.end(), [&](const auto& row) { return row.id == id; });
    };
    for (const KeptReading& row : from.readings) {
        if (has(to.readings, row.id)) continue;
        if (Result<Done> done = workbook->remove_reading(row.id); !done) return done;
    }
    for (const Target& row : from.targets) {
        if (has(to.targets, row.id)) continue;
        if (Result<Done> done = workbook->remove_target(row.id); !done) return done;
    }
    for (Target& row : to.targets) {
        if (row.id == 0) {
            Result<Target> stored = workbook->add(row);
            if (!stored) return stored.error();
            row = *stored;
        } else if (Result<Done> done = workbook->put(row); !done) {
            return done;
        }
    }
    for (KeptReading& row : to.readings) {
        if (row.id == 0) {
            Result<KeptReading> stored = workbook->add(row);
            if (!stored) return stored.error();
            row = *stored;
        } else if (Result<Done> done = workbook->put(row); !done) {
            return done;
        }
    }
    return Done{};
}

/// The same as one change of the workbook, with the photo that the rows came from.
Result<Done> exchange(Workbook* workbook, const std::string& words, const Rows& from, Rows& to, const std::shared_ptr<const Photo>& photo = nullptr) {
    if (from.empty() && to.empty()) return Done{};
    if (workbook == nullptr)
        return Error{.fault = Fault::workbook_write,
                     .file = {},
                     .place = {},
                     .cause = "no workbook is open",
                     .remedy = "see the message from the start, then open the program with --workbook FILE"};
    return workbook->together(words, [&]() -> Result<Done> {
        if (Result<Done> done = exchange_rows(workbook, from, to); !done || !photo) return done;
        if (const Result<KeptPhoto> kept = workbook->keep(kept_photo(*photo)); !kept) return kept.error();
        return Done{};
    });
}

}  // namespace

Result<Step> plan(const Work& now, const Command& command, const Context& context) { return std::visit(Planner{now, context}, command); }

bool changes_something(const Step& step) {
    return !step.rows_before.empty() || !step.rows_after.empty() || to_script(step.before) != to_script(step.after);
}

Result<Done> History::apply(Work& work, Workbook* workbook, Step step) {
    if (!changes_something(step)) return Done{};
    if (Result<Done> done = exchange(workbook, step.sentence, step.rows_before, step.rows_after, step.photo); !done) return done;
    work = step.after;
    done_.push_back(std::move(step));
    undone_.clear();
    return Done{};
}

Result<Done> History::undo(Work& work, Workbook* workbook) {
    if (done_.empty()) return Done{};
    Step& step = done_.back();
    if (Result<Done> done = exchange(workbook, "Undid: " + step.sentence, step.rows_after, step.rows_before); !done) return done;
    work = step.before;
    undone_.push_back(std::move(step));
    done_.pop_back();
    return Done{};
}

Result<Done> History::redo(Work& work, Workbook* workbook) {
    if (undone_.empty()) return Done{};
    Step& step = undone_.back();
    if (Result<Done> done = exchange(workbook, step.sentence, step.rows_before, step.rows_after); !done) return done;
    work = step.after;
    done_.push_back(std::move(step));
    undone_.pop_back();
    return Done{};
}

}  // namespace sw::window
