#include "viewer/commands.hpp"

#include <algorithm>
#include <cmath>

#include "viewer/line_words.hpp"
#include "viewer/words.hpp"

namespace sw::window {
namespace {

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

std::string note_word(NoteOn on) { return on == NoteOn::target ? "target" : on == NoteOn::part ? "part" : "reading"; }

/// Commands about the workbook; nothing: it is none of them.
std::optional<Result<Command>> parse_book_command(const std::vector<std::string>& words, const std::string& place) {
    const std::string& verb = words[0];
    const std::size_t n = words.size() - 1;
    const auto usage = [&](const std::string& form) { return Result<Command>(bad_line("cannot be read", "write: " + form, place)); };
    if (verb == "remove-reading" || verb == "remove-note") {
        const auto value = n == 1 ? number(words[1]) : std::nullopt;
        if (!value || *value != std::floor(*value) || std::abs(*value) > 9e15) return usage(verb + " ID");
        const auto id = static_cast<std::int64_t>(*value);
        return verb == "remove-note" ? Command(RemoveNote{id}) : Command(RemoveReading{id});
    }
    if (verb == "add-target") {
        const auto values = n == 2 ? numbers(words[2], 3) : std::nullopt;
        if (!values) return usage("add-target NAME L,a,b, for example add-target \"Damson 14\" 32.5,20.8,-12.7");
        return Command(AddTarget{words[1], Lab{.L = (*values)[0], .a = (*values)[1], .b = (*values)[2]}});
    }
    if (verb == "rename-target" || verb == "rename-part") {
        if (n != 2) return usage(verb + " NAME NEW-NAME, each in quotation marks");
        return verb == "rename-part" ? Command(RenamePart{words[1], words[2]}) : Command(RenameTarget{words[1], words[2]});
    }
    if (verb == "add-part") {
        if (n == 1) return Command(AddPart{words[1], ""});
        if (n == 3 && words[2] == "in") return Command(AddPart{words[1], words[3]});
        return usage("add-part NAME in PART, names with blanks in quotation marks");
    }
    if (verb == "add-lamp" || verb == "remove-lamp" || verb == "remove-photo") {
        if (n != 1) return usage(verb + (verb == "remove-photo" ? " HASH" : " NAME, in quotation marks"));
        if (verb == "add-lamp") return Command(AddLamp{words[1]});
        return verb == "remove-lamp" ? Command(RemoveLamp{words[1]}) : Command(RemovePhoto{words[1]});
    }
    if (verb == "start-pot")
        return n == 2 ? Result<Command>(Command(StartPot{words[1], words[2]})) : usage("start-pot NAME TARGET, names with blanks in quotation marks");
    if (verb == "read-pot") return n == 1 ? Result<Command>(Command(ReadPot{words[1]})) : usage("read-pot POT");
    if (verb == "remove-pot") return n == 1 ? Result<Command>(Command(RemovePot{words[1]})) : usage("remove-pot POT");
    if (verb == "add-drops") {
        AddDrops add;
        for (std::size_t i = 2; i + 1 < words.size(); i += 2) {
            const auto drops = number(words[i + 1]);
            if (!drops || *drops != std::floor(*drops) || *drops < 1 || *drops > 10'000) add.drops.clear(), i = words.size();
            if (drops && i < words.size()) add.drops.emplace_back(words[i], static_cast<int>(*drops));
        }
        if (n < 3 || n % 2 == 0 || add.drops.size() != (n - 1) / 2)
            return usage("add-drops POT PAINT DROPS, whole drops; names with blanks in quotation marks");
        add.pot = words[1];
        return Command(add);
    }
    if (verb == "remove-part") return n == 1 ? Result<Command>(Command(RemovePart{words[1]})) : usage("remove-part PART");
    if (verb == "part-status") {
        const auto status = n == 2 ? part_status(words[2]) : std::nullopt;
        if (!status) return usage("part-status PART missing|target|mixing|within|painted|coated");
        return Command(SetPartStatus{words[1], *status});
    }
    if (verb == "part-wears") {
        if (n != 1 && n != 2) return usage("part-wears PART TARGET, or part-wears PART to take it off");
        return Command(SetPartTarget{words[1], n == 1 ? "" : words[2]});
    }
    if (verb == "note") {
        if (n == 3) {
            for (const NoteOn on : {NoteOn::target, NoteOn::part, NoteOn::reading}) {
                if (words[1] == note_word(on)) return Command(AddNote{on, words[2], words[3]});
            }
        }
        return usage("note target|part|reading NAME TEXT, each in quotation marks");
    }
    return std::nullopt;
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
                                                "add-target NAME L,a,b",
                                                "rename-target NAME NEW-NAME",
                                                "remove-target NAME",
                                                "remove-reading ID",
                                                "add-part NAME [in PART]",
                                                "rename-part PART NEW-NAME",
                                                "part-status PART missing|target|mixing|within|painted|coated",
                                                "part-wears PART [TARGET]",
                                                "remove-part PART",
                                                "add-lamp NAME",
                                                "remove-lamp NAME",
                                                "remove-photo HASH",
                                                "start-pot NAME TARGET",
                                                "add-drops POT PAINT DROPS [PAINT DROPS ...]",
                                                "read-pot POT",
                                                "remove-pot POT",
                                                "note target|part|reading NAME TEXT",
                                                "remove-note ID"};
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
                 [](const RemoveReading& c) { return "remove-reading " + std::to_string(c.id); },
                 [](const AddTarget& c) { return "add-target " + quoted(c.name) + " " + lab_text(c.lab); },
                 [](const RenameTarget& c) { return "rename-target " + quoted(c.name) + " " + quoted(c.to); },
                 [](const AddPart& c) { return "add-part " + quoted(c.name) + (c.in.empty() ? "" : " in " + quoted(c.in)); },
                 [](const RenamePart& c) { return "rename-part " + quoted(c.part) + " " + quoted(c.to); },
                 [](const SetPartStatus& c) { return "part-status " + quoted(c.part) + " " + to_word(c.status); },
                 [](const SetPartTarget& c) { return "part-wears " + quoted(c.part) + (c.target.empty() ? "" : " " + quoted(c.target)); },
                 [](const RemovePart& c) { return "remove-part " + quoted(c.part); },
                 [](const AddLamp& c) { return "add-lamp " + quoted(c.name); },
                 [](const RemoveLamp& c) { return "remove-lamp " + quoted(c.name); },
                 [](const RemovePhoto& c) { return "remove-photo " + quoted(c.hash); },
                 [](const StartPot& c) { return "start-pot " + quoted(c.name) + " " + quoted(c.target); },
                 [](const AddDrops& c) {
                     std::string text = "add-drops " + quoted(c.pot);
                     for (const auto& [paint, drops] : c.drops) text += " " + quoted(paint) + " " + std::to_string(drops);
                     return text;
                 },
                 [](const ReadPot& c) { return "read-pot " + quoted(c.pot); },
                 [](const RemovePot& c) { return "remove-pot " + quoted(c.pot); },
                 [](const AddNote& c) { return "note " + note_word(c.on) + " " + quoted(c.name) + " " + quoted(c.text); },
                 [](const RemoveNote& c) { return "remove-note " + std::to_string(c.id); }},
        command);
}

Result<Command> parse_command(std::string_view line) {
    const Result<std::vector<std::string>> split = words_of(line);
    if (!split) return split.error();
    const std::vector<std::string>& words = *split;
    if (words.empty()) return bad_line("the line is empty", "write a command");
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
        if (!take_index(verb, index)) return bad_line("the number after # is not a whole number from 1 on", "write for example gray#2", place);
    }
    const auto usage = [&](const std::string& form) { return bad_line("cannot be read", "write: " + form, place); };
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
    if (verb == "add-light" || verb == "remove-light" || verb == "save-target" || verb == "save-reading" || verb == "remove-target") {
        if (n < 1) return usage(verb + (verb.ends_with("light") ? " LIGHT" : " NAME"));
        if (verb == "add-light") return Command(AddLight{rest()});
        if (verb == "remove-light") return Command(RemoveLight{rest()});
        if (verb == "save-target") return Command(SaveTarget{rest()});
        if (verb == "save-reading") return Command(SaveReading{rest()});
        return Command(RemoveTarget{rest()});
    }
    if (const auto command = parse_book_command(words, place)) return *command;
    return bad_line("\"" + verb + "\" is no command", "see the list of commands in the help (F1)", place);
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

}  // namespace sw::window
