#include "cli/book_arguments.hpp"

#include <algorithm>

#include "cli/files.hpp"
#include "cli/parser.hpp"
#include "cli/text.hpp"
#include "color/cie_data.hpp"

namespace sw::args {
namespace {

constexpr const char* kJsonHelp = "One JSON object on standard output";

struct ActionWord {
    const char* word;
    BookAction action;
    bool named;  // takes a NAME
};

// ACTION, NAME and --workbook. `what` names the command and the thing; `name` says what NAME is.
Result<Done> action_of(BookRequest& request, const std::string& what, const std::string& name, const std::vector<ActionWord>& actions,
                       const Texts& words, const Texts& names, const Texts& workbook) {
    std::vector<std::string> known;
    for (const ActionWord& one : actions) known.emplace_back(one.word);
    const std::string remedy = "write swatchwright " + what + " and one of " + listed(known);
    if (words.empty()) return usage(what, "says not what to do", remedy);
    const auto found = std::find_if(actions.begin(), actions.end(), [&](const ActionWord& one) { return words[0] == one.word; });
    if (found == actions.end()) return usage(what + " \"" + words[0] + "\"", "is not something a " + what + " can do", remedy);
    if (found->named == names.empty()) {
        return usage(what + " " + words[0], found->named ? "needs " + name : "takes no name",
                     "write swatchwright " + what + " " + words[0] + (found->named ? " NAME" : ""));
    }
    request.action = found->action;
    if (found->named) request.name = names[0];
    return name_workbook(request, workbook);
}

// A lamp stands by itself: by a LIGHT that everybody knows, else by its spectrum, so that files and other lamps may go.
Result<Lamp> kept_lamp(const Light& known, const std::string& typed) {
    Lamp lamp;
    lamp.source = "typed";
    if (const auto named = light(known.name); named && named->power == known.power) {
        lamp.light = named->name;
        return lamp;
    }
    lamp.source = typed;
    if (auto file = read_text_file(typed)) {
        lamp.spectrum = *std::move(file);
        return lamp;
    }
    if (known.may_be)
        return usage("lamp \"" + typed + "\"", "holds a lamp that is known by its box only beside one that is known by its spectrum",
                     "keep them as two lamps, and write the blend where it is used");
    lamp.spectrum = "nm,power\n";
    for (std::size_t i = 0; i < kBands; ++i) lamp.spectrum += std::to_string(kFirstNm + static_cast<int>(i)) + "," + shortest(known.power[i]) + "\n";
    return lamp;
}

std::optional<std::int64_t> whole_number(const std::string& digits) {
    const auto value = parse_number(digits);
    if (!value || *value < 1 || *value > 1e15 || *value != static_cast<double>(static_cast<std::int64_t>(*value))) return std::nullopt;
    return static_cast<std::int64_t>(*value);
}

Result<std::string> verdict_of(const Texts& texts) {
    if (texts.empty()) return std::string();
    if (texts[0] != "within" && texts[0] != "outside" && texts[0] != "not resolved")
        return usage("--verdict \"" + texts[0] + "\"", "is not a verdict", "give within, outside or \"not resolved\"");
    return texts[0];
}

std::optional<std::string> text_of(const Texts& texts) { return texts.empty() ? std::optional<std::string>() : std::string(trimmed(texts[0])); }

}  // namespace

Result<Request> parse_part(const Texts& arguments) {
    Parser parser("part", false, false);
    Texts action, name, in, wears, status, note, rename, workbook;
    ListOptions list;
    PartRequest request;
    parser.positional("ACTION", action, "add, list, show, set or remove");
    parser.positional("NAME", name, "The part, or its path where several have the name: \"Car no. 2/brake wheel\"");
    parser.option("in", "PARENT", in, "The part it stands in (set: empty for none); without one it is a project. list: only what stands in it");
    parser.option("wears", "TARGET", wears, "The target that it wears (set: empty for none). list: only what wears it");
    parser.option("status", "S", status, "missing (no reference yet), target, mixing, within (tolerance), painted or coated. list: only these");
    parser.option("note", "TEXT", note, "A word about it");
    parser.option("rename", "NAME", rename, "set: its new name");
    list.add_to(parser, "as a tree if not said");
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, kJsonHelp);
    for (const auto& [option, values] :
         {std::pair{"--in", &in}, {"--wears", &wears}, {"--status", &status}, {"--note", &note}, {"--rename", &rename}, {"--workbook", &workbook}})
        parser.once(option, *values);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};
    const auto read = action_of(request, "part", "the part's name",
                                {{"add", BookAction::add, true},
                                 {"list", BookAction::list, false},
                                 {"show", BookAction::show, true},
                                 {"set", BookAction::set, true},
                                 {"remove", BookAction::remove, true}},
                                action, name, workbook);
    if (!read) return read.error();
    request.in = text_of(in);
    request.wears = text_of(wears);
    request.note = text_of(note);
    request.rename = text_of(rename);
    const bool add = request.action == BookAction::add, set = request.action == BookAction::set;
    if (!status.empty()) {
        request.status = part_status(status[0]);
        if (!request.status)
            return usage("--status \"" + status[0] + "\"", "is not a status", "give missing, target, mixing, within, painted or coated");
    }
    const bool lists = request.action == BookAction::list, what = request.in || request.wears || request.status;
    const bool any = what || request.note || request.rename;
    if ((any && !add && !set && !lists) || (request.rename && !set) || (request.note && lists) || (list.any() && !lists))
        return usage("part " + action[0], "takes fewer options", "leave out what is for part add, set or list; see swatchwright part --help");
    auto how = list_of(list, kAnyDistance);
    if (!how) return how.error();
    request.list = *std::move(how);
    if (set && !any) return usage("part set", "says not what is new", "give one of --in, --wears, --status, --note and --rename");
    return Request{std::move(request)};
}

Result<Request> parse_reading(const Texts& arguments) {
    Parser parser("reading", false, false);
    Texts action, number, target, photo, verdict, workbook;
    ListOptions list;
    ReadingBookRequest request;
    parser.positional("ACTION", action, "list, show or remove");
    parser.positional("N", number, "The reading's number, which list tells");
    parser.option("target", "NAME", target, "list: only what was judged against this target, or was made into it");
    parser.option("photo", "FILE|HASH", photo, "list: only what was read from this photo");
    parser.option("verdict", "V", verdict, "list: only those judged within, outside or \"not resolved\"");
    list.add_to(parser, "the newest first if not said");
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, kJsonHelp);
    for (const auto& [option, values] : {std::pair{"--target", &target}, {"--photo", &photo}, {"--verdict", &verdict}, {"--workbook", &workbook}})
        parser.once(option, *values);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};
    const auto read = action_of(request, "reading", "the reading's number",
                                {{"list", BookAction::list, false}, {"show", BookAction::show, true}, {"remove", BookAction::remove, true}}, action,
                                number, workbook);
    if (!read) return read.error();
    if (request.action != BookAction::list) {
        if (list.any() || !(target.empty() && photo.empty() && verdict.empty()))
            return usage("reading " + action[0], "takes a number only", "write swatchwright reading " + action[0] + " N");
        const auto id = whole_number(request.name);
        if (!id)
            return usage("reading " + action[0] + " \"" + request.name + "\"", "is not a reading's number", "swatchwright reading list tells it");
        request.id = *id;
        return Request{std::move(request)};
    }
    auto how = list_of(list, kAnyDistance);
    if (!how) return how.error();
    request.list = *std::move(how);
    const auto judged = verdict_of(verdict);
    if (!judged) return judged.error();
    request.verdict = *judged;
    if (!target.empty()) request.target = target[0];
    if (!photo.empty()) request.photo = photo[0];
    return Request{std::move(request)};
}

Result<Request> parse_photo(const Texts& arguments) {
    Parser parser("photo", false, false);
    Texts action, name, workbook;
    PhotoBookRequest request;
    parser.positional("ACTION", action, "add, list, show, remove or find");
    parser.positional("NAME", name, "add: the picture's file; show, remove: its file or hash; find: a folder");
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, kJsonHelp);
    parser.once("--workbook", workbook);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};
    const auto read = action_of(request, "photo", "a file or a folder",
                                {{"add", BookAction::add, true},
                                 {"list", BookAction::list, false},
                                 {"show", BookAction::show, true},
                                 {"remove", BookAction::remove, true},
                                 {"find", BookAction::find, true}},
                                action, name, workbook);
    if (!read) return read.error();
    return Request{std::move(request)};
}

Result<Request> parse_lamp(const Texts& arguments) {
    Parser parser("lamp", false, true);
    Texts action, name, light_text, workbook;
    LampRequest request;
    parser.positional("ACTION", action, "add, list or remove");
    parser.positional("NAME", name, "The lamp's name");
    parser.positional("LIGHT", light_text, "add: what it is, a LIGHT or a CSV file with lines nm,power");
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, kJsonHelp);
    parser.once("--workbook", workbook);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};
    const auto read =
        action_of(request, "lamp", "the lamp's name",
                  {{"add", BookAction::add, true}, {"list", BookAction::list, false}, {"remove", BookAction::remove, true}}, action, name, workbook);
    if (!read) return read.error();
    if ((request.action == BookAction::add) == light_text.empty()) {
        return usage("lamp " + action[0], light_text.empty() ? "does not say what lamp it is" : "takes no light",
                     "write swatchwright lamp add NAME LIGHT, like lamp add \"bench lamp\" led:6500,ra=80");
    }
    if (light_text.empty()) return Request{std::move(request)};
    const auto known = light_of(light_text[0], "lamp", workbook);
    if (!known) return known.error();
    const auto kept = kept_lamp(*known, light_text[0]);
    if (!kept) return kept.error();
    request.lamp = *kept;
    request.lamp.name = request.name;
    return Request{std::move(request)};
}

Result<Request> parse_note(const Texts& arguments) {
    Parser parser("note", false, false);
    Texts action, text, target, part, reading, workbook;
    NoteRequest request;
    parser.positional("ACTION", action, "add, list or remove");
    parser.positional("TEXT", text, "add: the words; remove: the note's number");
    parser.option("target", "NAME", target, "The target it is about");
    parser.option("part", "NAME", part, "The part it is about");
    parser.option("reading", "N", reading, "The reading it is about, by its number (swatchwright find tells it)");
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, kJsonHelp);
    for (const auto& [option, values] : {std::pair{"--target", &target}, {"--part", &part}, {"--reading", &reading}, {"--workbook", &workbook}})
        parser.once(option, *values);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};
    const auto read =
        action_of(request, "note", "a text or a number",
                  {{"add", BookAction::add, true}, {"list", BookAction::list, false}, {"remove", BookAction::remove, true}}, action, text, workbook);
    if (!read) return read.error();
    const std::size_t owners = target.size() + part.size() + reading.size();
    if (request.action == BookAction::add && owners != 1)
        return usage("note add", owners == 0 ? "does not say what it is about" : "is about several things",
                     "give one of --target, --part and --reading");
    if (request.action == BookAction::remove && owners != 0)
        return usage("note remove", "takes a number only", "write swatchwright note remove NUMBER");
    if (request.action == BookAction::remove) {
        const auto number = whole_number(request.name);
        if (!number) return usage("note remove \"" + request.name + "\"", "is not a note's number", "swatchwright note list tells it");
        request.id = *number;
    }
    if (!reading.empty()) {
        request.reading = whole_number(reading[0]);
        if (!request.reading) return usage("--reading \"" + reading[0] + "\"", "is not a reading's number", "swatchwright find tells it");
    }
    request.text = request.name;
    if (!target.empty()) request.target = target[0];
    if (!part.empty()) request.part = part[0];
    return Request{std::move(request)};
}

Result<Request> parse_find(const Texts& arguments) {
    Parser parser("find", false, false);
    Texts text, near, within, part, verdict, since, workbook;
    FindRequest request;
    request.action = BookAction::find;
    parser.positional("TEXT", text, "Words, or beginnings of words, in names (of targets, readings, parts, cards, lamps, set-ups) and notes");
    parser.option("near", "L,a,b", near, "Colors near this one (D50, 2 degrees), nearest first");
    parser.option("within", "X", within, "with --near: no farther than this CIEDE2000 (3 if not said)");
    parser.option("part", "P", part, "What belongs to this part and to those in it");
    parser.option("verdict", "V", verdict, "Readings judged within, outside or \"not resolved\"");
    parser.option("since", "DATE", since, "Kept on this day or later: 2031-05-06");
    parser.flag("duplicates", request.duplicates, "Targets that may be one: their colors cannot be told apart");
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, kJsonHelp);
    for (const auto& [option, values] : {std::pair{"--near", &near},
                                         {"--within", &within},
                                         {"--part", &part},
                                         {"--verdict", &verdict},
                                         {"--since", &since},
                                         {"--workbook", &workbook}})
        parser.once(option, *values);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};
    if (near.empty() && !within.empty()) return usage("--within", "has no color to be near to", "add --near L,a,b");
    const bool any = !(text.empty() && near.empty() && part.empty() && verdict.empty() && since.empty());
    if (any == request.duplicates)
        return usage("find", any ? "--duplicates stands alone" : "says not what to look for",
                     "give TEXT, --near, --part, --verdict, --since or --duplicates");
    if (!text.empty()) request.question.text = text[0];
    if (!near.empty()) {
        const auto color = parse_lab(near[0], "--near");
        if (!color) return color.error();
        request.question.near = *color;
    }
    const auto farthest = number_of(within, "--within", 3, 150);
    if (!farthest) return farthest.error();
    request.question.within = *farthest;
    if (!part.empty()) request.part = part[0];
    const auto judged = verdict_of(verdict);
    if (!judged) return judged.error();
    request.question.verdict = *judged;
    auto day = since_of(since);
    if (!day) return day.error();
    request.question.since = *std::move(day);
    return in_workbook(std::move(request), workbook);
}

Result<Request> parse_workbook(const Texts& arguments) {
    Parser parser("workbook", false, false);
    Texts action, in, out, workbook;
    WorkbookRequest request;
    parser.positional("ACTION", action, "info, verify, rescue, undo or redo");
    parser.positional("IN", in, "rescue: the damaged file, which is left as it is");
    parser.positional("OUT", out, "rescue: the workbook to make");
    parser.flag("check", request.check, "verify: exit code 1 unless all is as it was kept and could be read again");
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, kJsonHelp);
    parser.once("--workbook", workbook);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};
    const std::string remedy = "write swatchwright workbook and one of info, verify, rescue, undo and redo";
    if (action.empty()) return usage("workbook", "says not what to do", remedy);
    constexpr std::pair<const char*, WorkbookAction> kActions[] = {{"info", WorkbookAction::info},
                                                                   {"verify", WorkbookAction::verify},
                                                                   {"rescue", WorkbookAction::rescue},
                                                                   {"undo", WorkbookAction::undo},
                                                                   {"redo", WorkbookAction::redo}};
    const auto* const found = std::find_if(std::begin(kActions), std::end(kActions), [&](const auto& one) { return action[0] == one.first; });
    if (found == std::end(kActions)) return usage("workbook \"" + action[0] + "\"", "is not something to do with a workbook", remedy);
    request.action = found->second;
    if (request.check && request.action != WorkbookAction::verify) return usage("--check", "is for verify", "leave it out");
    if (request.action == WorkbookAction::rescue) {
        if (in.empty() || out.empty() || !workbook.empty())
            return usage("workbook rescue", "needs the damaged file and the one to make", "write swatchwright workbook rescue IN OUT");
        request.workbook = in[0];
        request.out = out[0];
        return Request{std::move(request)};
    }
    if (!in.empty()) return usage("workbook " + action[0], "takes no file there", "write --workbook FILE");
    return in_workbook(std::move(request), workbook);
}

}  // namespace sw::args
