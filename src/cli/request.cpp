#include "cli/request.hpp"

#include "cli/manual.hpp"

#include <algorithm>
#include <array>

#include "cli/book_arguments.hpp"
#include "cli/exchange_arguments.hpp"
#include "cli/keep_arguments.hpp"
#include "cli/light_arguments.hpp"
#include "cli/mix_arguments.hpp"
#include "cli/parser.hpp"
#include "cli/photo_arguments.hpp"
#include "cli/text.hpp"

namespace sw {
namespace {

using args::CommandText;
using args::find_command;
using args::kPhotoCaution;
using args::Parser;
using args::usage;
using Values = std::vector<std::string>;

// The commands in the order of the overview.
constexpr std::array<CommandText, 29> kCommands{{
    {"window", "open the window (so does no argument at all)", "window [PHOTO]", ""},
    {"measure", "read colors from a photo, each with its ±", "measure PHOTO [--gray REGION[=LRV]]... [--region NAME=REGION]... [OPTIONS]", ""},
    {"compare", "how near is the swatch to the chip, and does it hold under other lights",
     "compare PHOTO --chip REGION --swatch REGION [--gray REGION[=LRV]]... [OPTIONS]\n"
     "  swatchwright compare --pair PHOTO1:chip=REGION:swatch=REGION:gray=REGION[=LRV][:chart=...][:known=NAME=REGION=L,a,b]\n"
     "                             [:card=NAME=REGION][:setup=NAME][:lit-by=LIGHT]\n"
     "                       --pair PHOTO2:... [OPTIONS]",
     "One photo under one light cannot see how a pair changes with the light: what is said of other lights is then inferred. Two photos of the\n"
     "pair under two lights (--pair twice) show it.\n"
     "With --check the exit code is 1 unless the whole 95 % range lies within the tolerance.\n"},
    {"rank", "which of several swatches is nearest to a chip, or which target a swatch is",
     "rank PHOTO --chip REGION --swatch NAME=REGION --swatch NAME=REGION... [OPTIONS]\n"
     "  swatchwright rank PHOTO --swatch REGION [--target NAME]... [--workbook FILE] [OPTIONS]",
     "Without a chip the swatch is held against the targets named, or all of the workbook. Equal ranks (1=) cannot be told apart.\n"
     "With --check the exit code is 1 unless the first is within the tolerance.\n"},
    {"coat", "what a clear coat did to a color",
     "coat PHOTO --before REGION --after REGION [--gray REGION[=LRV]]... [OPTIONS]\n"
     "  swatchwright coat --before PHOTO1:swatch=REGION[:chip=REGION][:gray=REGION][:chart=...][:lit-by=LIGHT]\n"
     "                    --after PHOTO2:swatch=REGION... [OPTIONS]",
     "Best is one photo of a swatch that is coated by half. With two photos keep the same chip, uncoated, beside the swatch in both (chip=):\n"
     "what the two photos miss alike then cancels. Wait until the coat is dry.\n"},
    {"map", "where a painted part is off its target: blotchy, thin, glossy",
     "map PHOTO --region REGION --against REGION|TARGET|L,a,b [--out FILE] [--gray REGION[=LRV]]... [OPTIONS]",
     "Against a chip in the same photo (REGION) the common errors cancel; against a target of the workbook or a color (Lab under D50, 2 degrees) "
     "the\n"
     "photo must tell the color by itself. Light that falls unevenly looks like paint that lies unevenly: keep the lamp far away, mark a plain\n"
     "surrounding (--plain), or give --flat.\n"},
    {"correct", "write the photo as it should look, an ICC profile of it, or a page about how far to trust it",
     "correct PHOTO --out FILE [--strip] [--profile FILE.icc] [--report FILE] [--gray REGION[=LRV]]... [OPTIONS]",
     "The picture is sRGB with its profile inside. Nothing of the photo's metadata is kept: no place, no serial number, no owner.\n"
     "The profile takes the photo's own file to color: give it to another program in place of the one in the file.\n"
     "Uneven light is leveled where the references or a plain surrounding (--plain) tell its course; a profile cannot do that.\n"},
    {"calibrate", "how far to trust a photo; keep it as a set-up for later photos",
     "calibrate PHOTO [--gray REGION[=LRV]]... [--save NAME] [OPTIONS]",
     "A set-up is for photos taken with the same camera and settings under the same light: give them --setup NAME in place of references.\n\n"
     "Leave a plain backdrop in view: it shows whether the light is still the same, and what drift there is is taken out. Set exposure and white\n"
     "balance by hand. A photo taken otherwise is refused, with the reason.\n"},
    {"spectra", "two measured surfaces under several lights", "spectra FILE_A FILE_B [--under LIGHT]... [OPTIONS]",
     "The files hold lines nm,reflectance. The index is the CIE's special index of metamerism for a change of light (dE*ab), against the first\n"
     "light named, with multiplicative correction unless --index additive is given.\n"},
    {"light", "what a light is worth: color, CCT, rendering",
     "light LIGHT [--plot FILE] [OPTIONS]\n  swatchwright light --list [--workbook FILE] [--json]",
     "A light of which only the box is known (led:) has many possible spectra: its figures come with the spread over them.\n"},
    {"color", "a color in every notation, and whether a surface or a screen can have it",
     "color VALUE [--from FORM] [--under LIGHT] [--plot FILE] [OPTIONS]",
     "VALUE   52.1,-3.2,14 (L,a,b if --from is not said) or #8a7f61 (a screen color)\n"
     "FORM    lab L,a,b; lch L,C,h; xyz X,Y,Z (white has Y = 100); srgb or p3 #rrggbb or r,g,b of 0 to 255; munsell-value 0 to 10 and\n"
     "        lrv 0 to 100: these two say how light a color is and nothing of its hue, so a neutral gray is meant\n"
     "Conversions are exact: they carry no error of measurement. How well the color itself is known is for whoever measured it to say.\n"},
    {"screen", "a color as a screen shows it, from frames of a film",
     "screen FRAME=REGION [FRAME=REGION]... [--neutral REGION[=LRV] | --known REGION=L,a,b] [--keep NAME] [OPTIONS]\n"
     "  swatchwright screen PHOTO=REGION [PHOTO=REGION]... --still FILE[=REGION] [--keep NAME] [OPTIONS]",
     "A frame is a screen grab; several of the same part show how much the film itself varies. With --still the files are photos of a screen, and\n"
     "FILE is a photo of the same screen showing plain white, from the same place with the same settings.\n"
     "What comes out is an appearance on screen, graded by others, not a measurement of the thing that was filmed. Only where you point at\n"
     "a thing of known color (--neutral, --known) is the frame's white changed.\n"},
    {"target", "keep colors to be matched in a workbook",
     "target add NAME (--lab L,a,b [--sd S] | --from PHOTO --region REGION [--gray REGION[=LRV]]...) [OPTIONS]\n"
     "  swatchwright target list [--kind K] [--sort name|date|lab|near] [--near L,a,b [--within X]] [--since DATE] [--workbook FILE] [--json]\n"
     "  swatchwright target show|remove NAME [--workbook FILE] [--json]",
     "A typed color without --sd is kept with an assumed standard deviation of 0.5 in each of L*, a* and b*.\n"},
    {"paint", "the paints on the shelf: what each looks like, and what pots taught of it",
     "paint add NAME (--masstone L,a,b [--tint SHARE=L,a,b]... | --spectrum FILE [--tint SHARE=FILE]... | --pigment INDEXNAME...) [--sd S]\n"
     "                         [--binder B] [--drop-ml V] [--white NAME] [OPTIONS]\n"
     "  swatchwright paint measure NAME (--masstone|--tint|--over|--spectrum ... | --from PHOTO --region REGION [--gray REGION[=LRV]]...)\n"
     "  swatchwright paint set NAME [--binder B] [--drop-ml V] [--stock-ml V] [--on-shelf yes|no] [--rename NAME] [OPTIONS]\n"
     "  swatchwright paint learn [--forget POT]... [--recall POT]... [--reset]\n"
     "  swatchwright paint list|show|remove [NAME] [--workbook FILE] [--json]",
     "A masstone alone says what color a paint is and not how strong: two tints with white, 1 part in 10 and in 30, say that. Read dry paint only,\n"
     "painted out until it hides. Every reading of a pot teaches more: learn shows what it taught, and can forget it.\n"},
    {"mix", "work out a mix, and keep a record of every drop of it",
     "mix suggest TARGET [--paints A,B,...] [--max-paints K] [--drops N] [--under LIGHT]... [--tolerance T] [--let-downs]\n"
     "  swatchwright mix start POT --target TARGET|--batch-of POT [--tolerance T] [--under LIGHT]...\n"
     "  swatchwright mix add POT PAINT DROPS|1.5ml|2.1g, mix add POT [PAINT] --unknown, mix take POT AMOUNT\n"
     "  swatchwright mix read POT (--lab L,a,b [--sd S] | --from PHOTO --region REGION [--gray REGION[=LRV]]...) [--wet] [--coat FINISH]\n"
     "  swatchwright mix next POT [--paints A,B,...] [--tolerance T]\n"
     "  swatchwright mix scale POT|--share PAINT=SHARE... (--ml V | --drops N | --cm2 AREA --coverage CM2_A_ML [--coats N] [--loss SHARE])\n"
     "  swatchwright mix explain POT [--one|--two] [--take N]\n"
     "  swatchwright mix log|remove POT, mix list [--workbook FILE] [--json]",
     "Wet paint is not the dry color, and bare paint is not the coated one: paint a test piece, let it dry, coat it as the part will be, then read "
     "it.\n"
     "Nothing can be taken out of a mix again, so next only ever adds. Spray with extraction and a respirator fit for the solvent; read the safety\n"
     "data sheets; never mix unlike binders on the tool's word; dispose of what is left by local rules.\n"},
    {"card", "keep reference cards of your own in a workbook",
     "card add NAME (--lrv V | --lab L,a,b | --spectrum FILE) [--sd S] [--workbook FILE] [--json]\n"
     "  swatchwright card list|show|remove [NAME] [--workbook FILE] [--json]",
     "In a photo it is a reference by its name: --card NAME=REGION.\n"
     "Without --sd a spread is assumed: 1 % of a card's LRV, 0.5 % for a measured spectrum, 0.5 in each of L*, a* and b*.\n"},
    {"part", "the parts of a build: what each wears and how far it is",
     "part add NAME [--in PARENT] [--wears TARGET] [--status S] [--note TEXT] [--workbook FILE] [--json]\n"
     "  swatchwright part set NAME [--in PARENT] [--wears TARGET] [--status S] [--note TEXT] [--rename NAME]\n"
     "  swatchwright part list [--in PARENT] [--wears TARGET] [--status S] [--sort name|date|lab|near] [--near L,a,b [--within X]] [--since DATE]\n"
     "  swatchwright part show|remove NAME",
     "Parts stand in a tree; one that stands in none is a project. Where several have a name, its path names one: \"Car no. 2/brake wheel\".\n"},
    {"reading", "the readings that a workbook keeps, and where each came from",
     "reading list [--target NAME] [--photo FILE|HASH] [--verdict V] [--sort name|date|lab|near] [--near L,a,b [--within X]] [--since DATE]\n"
     "  swatchwright reading show|remove N [--workbook FILE] [--json]",
     "show goes one step back from a figure: region, photo, how the photo was calibrated. workbook verify takes every reading again.\n"},
    {"photo", "the photos that a workbook's colors were read from",
     "photo add FILE [--workbook FILE] [--json]\n"
     "  swatchwright photo list|show|remove|find [FILE|HASH|FOLDER] [--workbook FILE] [--json]",
     "A photo is known by its content: find looks through a folder for those that were moved. Neither place nor serial number is kept.\n"
     "remove forgets it with its thumbnail. Its file, and what was read from it, stay.\n"},
    {"lamp", "lights of your own, by name",
     "lamp add NAME LIGHT|FILE [--workbook FILE] [--json]\n"
     "  swatchwright lamp list|remove [NAME] [--workbook FILE] [--json]",
     "Its name then stands for it wherever a LIGHT is asked for, in --pair and blends too, where nothing else has that name: --lit-by \"bench "
     "lamp\",\n"
     "'0.7*bench lamp+0.3*D65'. In double quotes of its own a name is always a lamp's: '0.7*\"bench lamp\"+0.3*D65'. light --list shows them.\n"},
    {"note", "notes on targets, parts and readings",
     "note add TEXT (--target NAME | --part NAME | --reading N) [--workbook FILE] [--json]\n"
     "  swatchwright note list|remove [N] [--workbook FILE] [--json]",
     ""},
    {"find", "look through a workbook: words, colors, parts, verdicts, dates",
     "find [TEXT] [--near L,a,b [--within X]] [--part P] [--verdict V] [--since DATE] [--workbook FILE] [--json]\n"
     "  swatchwright find --duplicates [--workbook FILE] [--json]",
     "All that is said must hold. Colors stated for other lights are adapted to D50 before they are held against --near.\n"},
    {"workbook", "what a workbook holds; check, rescue, undo",
     "workbook info|undo|redo [--workbook FILE] [--json]\n"
     "  swatchwright workbook verify [--check] [--workbook FILE] [--json]\n"
     "  swatchwright workbook rescue IN OUT [--json]",
     "verify looks at every row, then takes every reading again from its photo. rescue makes a new workbook of all rows that are as they were\n"
     "saved, and leaves the damaged file as it is. undo takes back the last change, whenever it was made (200 are kept).\n"},
    {"setup", "the set-ups in a workbook", "setup list|show|remove [NAME] [--workbook FILE] [--json]",
     "A set-up is made with swatchwright calibrate PHOTO --save NAME, and used with --setup NAME.\n"},
    {"export", "write a workbook's colors for other programs", "export FILE.csv|.json|.cxf|.icc [--targets A,B,...] [--workbook FILE] [--json]",
     "JSON holds everything, and it comes back equal to the last digit. CxF3 (ISO 17972-1) holds colors and spectra, CSV one\n"
     "table, an ICC named-color profile the names (31 characters of ASCII) and Lab of targets.\n"},
    {"import", "take colors from another workbook, program or instrument",
     "import FILE.csv|.json|.cxf [--map COLUMN=MEANING,...] [--workbook FILE] [--json]",
     "MEANING name; l, a, b; l, c, h; x, y, z; nm400, nm410 ... (reflectances); sd, light, observer, kind, source, created; none. COLUMN is the\n"
     "        heading, or #3 for the third column. Usual headings are known without it.\n"
     "Rows that cannot be taken are listed with their line and the reason; all others are taken, or, where the workbook cannot be written, none.\n"},
    {"sheet", "print targets, parts and recipes: cards, lists, labels, the plan of a build",
     "sheet target NAME --out FILE [--paper A4|Letter]\n  swatchwright sheet targets|labels [NAME]... --out FILE\n"
     "  swatchwright sheet build [PART]... --out FILE\n  swatchwright sheet mix POT --out FILE",
     "A print is not the color: it tells which is which, the figures tell the color. A .pdf holds all pages, of .png there is one file a page.\n"},
    {"share", "put colors and sheets into one file to give away", "share --out FILE.zip [--targets A,B,...] [--workbook FILE] [--json]",
     "In it: everything but set-ups as JSON, targets as CSV and CxF3, a list and labels as PDF. Folders are taken off all file names, and what the\n"
     "program noted of calibrations stays out; places, owners and serial numbers never were in the workbook.\n"},
    {"demo", "the whole job on the photos that come with the program", "demo [--folder DIR] [--json]", ""},
}};

}  // namespace

const args::CommandText* args::find_command(std::string_view name) {
    const auto* const found = std::find_if(kCommands.begin(), kCommands.end(), [&](const CommandText& c) { return c.name == name; });
    return found == kCommands.end() ? nullptr : found;
}

namespace {

Result<Request> parse_demo(const Values& arguments) {
    Parser parser("demo", false, false);
    Values folder;
    DemoRequest request;
    parser.option("folder", "DIR", folder, "The demo's photos and truth.json (if not said: those that came with the program)");
    parser.flag("json", request.json, "One JSON object on standard output");
    parser.once("--folder", folder);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};
    if (!folder.empty()) request.folder = folder[0];
    return Request{std::move(request)};
}

std::string command_names() {
    Values names;
    for (const CommandText& command : kCommands) names.emplace_back(command.name);
    return listed(names);
}

}  // namespace

std::vector<std::string> command_list() {
    std::vector<std::string> names;
    for (const CommandText& command : kCommands) names.emplace_back(command.name);
    return names;
}

std::string overview() {
    std::string text =
        "swatchwright turns ordinary photos into color measurements, for people who match paint.\n\nUsage: swatchwright COMMAND [OPTIONS]\n\n";
    for (const CommandText& command : kCommands) {
        std::string left = "  " + std::string(command.name);
        left.resize(13, ' ');
        text += left + std::string(command.purpose) + "\n";
    }
    text +=
        "\nswatchwright COMMAND --help says more; swatchwright --version says which one this is;\n"
        "swatchwright --manual and --completion print a page for man and the completion of bash.\n"
        "Exit codes: 0 done, 1 answered \"no\" (--check), 2 bad usage, 3 bad or unreadable input, 4 workbook trouble, 5 internal error.\n\n";
    text += kPhotoCaution;
    return text;
}

Result<Request> parse_command_line(const Values& arguments) {
    if (arguments.empty()) return usage("", "no command is given", "the commands are " + command_names() + "; swatchwright --help says more");
    const std::string& name = arguments.front();
    const Values rest(arguments.begin() + 1, arguments.end());
    if (name == "--help" || name == "-h" || name == "help") {
        if (!rest.empty() && rest[0] != "help" && find_command(rest[0]) != nullptr) return parse_command_line({rest[0], "--help"});
        return Request{HelpRequest{overview()}};
    }
    if (name == "--manual") return Request{HelpRequest{manual_page()}};
    if (name == "--completion") return Request{HelpRequest{bash_completion()}};
    if (name == "--version") return Request{HelpRequest{"swatchwright " SW_VERSION "\n"}};
    if (name == "window")
        return Request{
            HelpRequest{"Usage: swatchwright " + std::string(find_command(name)->usage) + "\nThe window is opened by the program itself.\n"}};
    if (name == "measure") return args::parse_measure(rest);
    if (name == "compare") return args::parse_compare(rest);
    if (name == "rank") return args::parse_rank(rest);
    if (name == "coat") return args::parse_coat(rest);
    if (name == "map") return args::parse_map(rest);
    if (name == "correct") return args::parse_correct(rest);
    if (name == "calibrate") return args::parse_calibrate(rest);
    if (name == "card") return args::parse_card(rest);
    if (name == "setup") return args::parse_setup(rest);
    if (name == "spectra") return args::parse_spectra(rest);
    if (name == "light") return args::parse_light(rest);
    if (name == "color") return args::parse_color_command(rest);
    if (name == "screen") return args::parse_screen(rest);
    if (name == "target") return args::parse_target(rest);
    if (name == "demo") return parse_demo(rest);
    if (name == "part") return args::parse_part(rest);
    if (name == "reading") return args::parse_reading(rest);
    if (name == "photo") return args::parse_photo(rest);
    if (name == "lamp") return args::parse_lamp(rest);
    if (name == "note") return args::parse_note(rest);
    if (name == "find") return args::parse_find(rest);
    if (name == "workbook") return args::parse_workbook(rest);
    if (name == "export") return args::parse_export(rest);
    if (name == "import") return args::parse_import(rest);
    if (name == "sheet") return args::parse_sheet(rest);
    if (name == "share") return args::parse_share(rest);
    if (name == "paint") return args::parse_paint(rest);
    if (name == "mix") return args::parse_mix(rest);
    return usage("\"" + name + "\"", "is not a command", "the commands are " + command_names() + "; swatchwright --help says more");
}

}  // namespace sw
