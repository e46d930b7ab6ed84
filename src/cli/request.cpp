#include "cli/request.hpp"

#include <algorithm>
#include <array>

#include "cli/book_arguments.hpp"
#include "cli/exchange_arguments.hpp"
#include "cli/files.hpp"
#include "cli/parser.hpp"
#include "cli/text.hpp"
#include "sheet/difference_picture.hpp"
#include "sheet/light_ladder.hpp"
#include "sheet/plot.hpp"
#include "workbook/workbook.hpp"

namespace sw {
namespace {

using args::CommandText;
using args::find_command;
using args::kept_of;
using args::kPhotoCaution;
using args::light_of;
using args::lights_of;
using args::number_of;
using args::observer_of;
using args::one_light_of;
using args::Parser;
using args::photo_of;
using args::PhotoOptions;
using args::region_of;
using args::standard_light;
using args::transfer_of;
using args::usage;
using args::workbook_help;
using args::workbook_of;
using Values = std::vector<std::string>;

// The commands in the order of the overview.
constexpr std::array<CommandText, 26> kCommands{{
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
    {"light", "what a light is worth: color, CCT, rendering", "light LIGHT [--plot FILE] [OPTIONS]\n  swatchwright light --list [--json]",
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
     "  swatchwright target list|show|remove [NAME] [--workbook FILE] [--json]",
     "A typed color without --sd is kept with an assumed standard deviation of 0.5 in each of L*, a* and b*.\n"},
    {"card", "keep reference cards of your own in a workbook",
     "card add NAME (--lrv V | --lab L,a,b | --spectrum FILE) [--sd S] [--workbook FILE] [--json]\n"
     "  swatchwright card list|show|remove [NAME] [--workbook FILE] [--json]",
     "In a photo it is a reference by its name: --card NAME=REGION.\n"
     "Without --sd a spread is assumed: 1 % of a card's LRV, 0.5 % for a measured spectrum, 0.5 in each of L*, a* and b*.\n"},
    {"part", "the parts of a build: what each wears and how far it is",
     "part add NAME [--in PARENT] [--wears TARGET] [--status S] [--note TEXT] [--workbook FILE] [--json]\n"
     "  swatchwright part list|show|set|remove [NAME] [--in PARENT] [--wears TARGET] [--status S] [--note TEXT] [--rename NAME]",
     "Parts stand in a tree; one that stands in none is a project. Where several have a name, its path names one: \"Car no. 2/brake wheel\".\n"},
    {"photo", "the photos that a workbook's colors were read from",
     "photo add FILE [--workbook FILE] [--json]\n"
     "  swatchwright photo list|show|find [FILE|FOLDER] [--workbook FILE] [--json]",
     "A photo is known by its content: find looks through a folder for those that were moved. Neither place nor serial number is kept.\n"},
    {"lamp", "lights of your own, by name",
     "lamp add NAME LIGHT|FILE [--workbook FILE] [--json]\n"
     "  swatchwright lamp list|remove [NAME] [--workbook FILE] [--json]",
     "Its name then stands for it in --lit-by and --under (not within --pair or a blend), where nothing else has that name.\n"},
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
     "JSON holds everything: targets, readings and cards come back equal to the last digit. CxF3 (ISO 17972-1) holds colors and spectra, CSV one\n"
     "table, an ICC named-color profile the names (31 characters of ASCII) and Lab of targets.\n"},
    {"import", "take colors from another workbook, program or instrument",
     "import FILE.csv|.json|.cxf [--map COLUMN=MEANING,...] [--workbook FILE] [--json]",
     "MEANING name; l, a, b; l, c, h; x, y, z; nm400, nm410 ... (reflectances); sd, light, observer, kind, source, created; none. COLUMN is the\n"
     "        heading, or #3 for the third column. Usual headings are known without it.\n"
     "Rows that cannot be taken are listed with their line and the reason; all others are taken, or, where the workbook cannot be written, none.\n"},
    {"sheet", "print targets and parts: cards, lists, labels, the plan of a build",
     "sheet target NAME --out FILE [--paper A4|Letter]\n  swatchwright sheet targets|labels [NAME]... --out FILE\n"
     "  swatchwright sheet build [PART]... --out FILE",
     "A print is not the color: it tells which is which, the figures tell the color. A .pdf holds all pages, of .png there is one file a page.\n"},
    {"share", "put colors and sheets into one file to give away", "share --out FILE.zip [--targets A,B,...] [--workbook FILE] [--json]",
     "In it: everything as JSON, targets as CSV and CxF3, a list and labels as PDF. Folders are taken off all file names, and what the program "
     "noted\n"
     "of calibrations stays out; places, owners and serial numbers never were in the workbook.\n"},
    {"demo", "the whole job on the photos that come with the program", "demo [--folder DIR] [--json]", ""},
}};

}  // namespace

const args::CommandText* args::find_command(std::string_view name) {
    const auto* const found = std::find_if(kCommands.begin(), kCommands.end(), [&](const CommandText& c) { return c.name == name; });
    return found == kCommands.end() ? nullptr : found;
}

namespace {

Result<Request> parse_measure(const Values& arguments) {
    Parser parser("measure", true, true);
    Values file, regions, under, observer;
    PhotoOptions options;
    MeasureRequest request;
    parser.positional("PHOTO", file, "The picture");
    options.add_to(parser);
    parser.option("region", "NAME=REGION", regions, "A place to read, with a name for it. May be repeated");
    parser.option("under", "LIGHT", under, "The light for which the colors are stated (D50 if not said)");
    parser.option("observer", "2|10", observer, "CIE standard observer, degrees (2 if not said)");
    parser.flag("json", request.json, "One JSON object on standard output");
    parser.once("--under", under);
    parser.once("--observer", observer);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    if (file.size() != 1)
        return usage("measure", file.empty() ? "names no photo" : "takes one photo",
                     "write swatchwright measure PHOTO --gray REGION --region NAME=REGION");
    auto photo = photo_of(file[0], options);
    if (!photo) return photo.error();
    request.photo = *std::move(photo);
    for (const std::string& text : regions) {
        auto region = parse_named_region(text, "--region");
        if (!region) return region.error();
        request.regions.push_back(*std::move(region));
    }
    auto light = one_light_of(under, options.workbook);
    if (!light) return light.error();
    request.under = *std::move(light);
    const auto degrees = observer_of(observer);
    if (!degrees) return degrees.error();
    request.observer = *degrees;
    return Request{std::move(request)};
}

Result<std::vector<PairRequest>> pairs_of(const Values& file, const Values& chip, const Values& swatch, const Values& pairs,
                                          const PhotoOptions& options) {
    std::vector<PairRequest> result;
    if (!pairs.empty()) {
        if (!file.empty() || !chip.empty() || !swatch.empty() || options.any()) {
            return usage("--pair", "cannot be mixed with a photo, regions, references or a light of their own",
                         "put them into the pair: PHOTO:chip=REGION:swatch=REGION:gray=REGION:lit-by=LIGHT");
        }
        auto transfer = transfer_of(options.transfer);
        if (!transfer) return transfer.error();
        const auto workbook = workbook_of(options.workbook);
        if (!workbook) return workbook.error();
        for (const std::string& text : pairs) {
            auto pair = parse_pair(text, read_text_file);
            if (!pair) return pair.error();
            pair->photo.transfer = *transfer;
            pair->photo.workbook = *workbook;
            result.push_back(*std::move(pair));
        }
        return result;
    }
    if (file.size() != 1) {
        return usage("compare", file.empty() ? "names no photo" : "takes one photo",
                     "write swatchwright compare PHOTO --chip REGION --swatch REGION --gray REGION, or --pair for each photo");
    }
    if (chip.empty()) return usage("compare", "does not say where the chip is", "add --chip REGION");
    if (swatch.empty()) return usage("compare", "does not say where the swatch is", "add --swatch REGION");
    PairRequest pair;
    auto photo = photo_of(file[0], options);
    if (!photo) return photo.error();
    pair.photo = *std::move(photo);
    auto chip_region = region_of(chip[0], "chip");
    if (!chip_region) return chip_region.error();
    pair.chip = *std::move(chip_region);
    auto swatch_region = region_of(swatch[0], "swatch");
    if (!swatch_region) return swatch_region.error();
    pair.swatch = *std::move(swatch_region);
    result.push_back(std::move(pair));
    return result;
}

// The file of --ladder and the screen it is for.
Result<Done> ladder_of(const Values& ladder, const Values& display, CompareRequest& request) {
    if (ladder.empty())
        return display.empty() ? Result<Done>(Done{}) : usage("--display-profile", "has no picture to be for", "give --ladder FILE as well");
    if (const auto can = can_save_light_ladder(ladder[0], !display.empty()); !can) {
        Error error = can.error();
        error.file.clear();
        error.place = "--ladder \"" + ladder[0] + "\"";
        return error;
    }
    request.ladder = ladder[0];
    if (display.empty()) return Done{};
    const auto profile = read_text_file(display[0]);
    if (!profile) return profile.error();
    auto screen = Screen::of_profile(*profile);
    if (!screen) {
        Error error = screen.error();
        error.file = display[0];
        return error;
    }
    request.screen = *std::move(screen);
    return Done{};
}

Result<double> tolerance_of(const Values& texts, double otherwise) {
    const auto named = texts.empty() ? std::nullopt : threshold_named(texts[0]);
    if (named) return *named;
    const auto accepted = number_of(texts, "--tolerance", otherwise, 100);
    if (accepted) return accepted;
    Error error = accepted.error();
    error.remedy += ", perceptible or acceptable";
    return error;
}

Result<Request> parse_compare(const Values& arguments) {
    Parser parser("compare", true, true);
    Values file, chip, swatch, pairs, under, tolerance, holds, breaks, observer, ladder, display;
    PhotoOptions options;
    CompareRequest request;
    parser.positional("PHOTO", file, "The picture with chip and swatch");
    parser.option("chip", "REGION", chip, "The chip");
    parser.option("swatch", "REGION", swatch, "The swatch");
    parser.option("pair", "PHOTO:chip=...", pairs,
                  "A photo with its regions, references and light, in place of PHOTO and the options for one photo. May be repeated");
    options.add_to(parser);
    parser.option("under", "LIGHT", under, "A light under which the pair is judged too. May be repeated (D65, A and LED-B3 if not said)");
    parser.option(
        "tolerance", "T", tolerance,
        "The largest CIEDE2000 you accept (2 if not said), or perceptible (0.8) or acceptable (1.8): what half of all observers see or accept "
        "(Paravina et al. 2015)");
    parser.flag("textured", request.options.textured, "Textured surfaces: lightness counts half (kL = 2)");
    parser.option("holds-below", "T", holds, "Below this CIEDE2000 a pair holds under a light (1 if not said)");
    parser.option("breaks-above", "T", breaks, "Above this CIEDE2000 it breaks (2 if not said)");
    parser.option("observer", "2|10", observer, "CIE standard observer, degrees (2 if not said)");
    parser.option("ladder", "FILE", ladder,
                  "Draws the light ladder, chip and swatch edge to edge under every light: a picture if it ends in .png, a page to print if in .pdf");
    parser.option("display-profile", "FILE", display, "ICC profile of the screen that the ladder's picture is for (sRGB if not said)");
    parser.flag("check", request.check, "Exit code 1 unless the swatch is within the tolerance (not resolved counts as no)");
    parser.flag("json", request.json, "One JSON object on standard output");
    for (const auto& [name, values] : {std::pair{"--chip", &chip},
                                       {"--swatch", &swatch},
                                       {"--tolerance", &tolerance},
                                       {"--holds-below", &holds},
                                       {"--breaks-above", &breaks},
                                       {"--observer", &observer},
                                       {"--ladder", &ladder},
                                       {"--display-profile", &display}}) {
        parser.once(name, *values);
    }
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    auto photos = pairs_of(file, chip, swatch, pairs, options);
    if (!photos) return photos.error();
    request.pairs = *std::move(photos);
    auto lights = lights_of(under, "--under", options.workbook);
    if (!lights) return lights.error();
    request.options.under = *std::move(lights);
    const auto accepted = tolerance_of(tolerance, request.options.tolerance);
    if (!accepted) return accepted.error();
    request.options.tolerance = *accepted;
    request.tolerance_given = !tolerance.empty();
    const auto low = number_of(holds, "--holds-below", request.options.holds_below, 100);
    if (!low) return low.error();
    const auto high = number_of(breaks, "--breaks-above", request.options.breaks_above, 100);
    if (!high) return high.error();
    if (*low > *high)
        return usage("--holds-below", brief(*low) + " is above --breaks-above " + brief(*high), "give the smaller figure to --holds-below");
    request.options.holds_below = *low;
    request.options.breaks_above = *high;
    const auto degrees = observer_of(observer);
    if (!degrees) return degrees.error();
    request.options.observer = *degrees;
    const auto drawn = ladder_of(ladder, display, request);
    if (!drawn) return drawn.error();
    return Request{std::move(request)};
}

Result<Request> parse_rank(const Values& arguments) {
    Parser parser("rank", true, true);
    Values file, chip, swatches, tolerance;
    PhotoOptions options;
    RankRequest request;
    parser.positional("PHOTO", file, "The picture");
    parser.option("chip", "REGION", chip, "The chip that the swatches are to match");
    parser.option("swatch", "[NAME=]REGION", swatches, "A swatch. May be repeated where there is a chip");
    parser.option("target", "NAME", request.targets, "A target of the workbook. May be repeated (without a chip: all, if not said)");
    options.add_to(parser);
    parser.option("tolerance", "T", tolerance, "The largest CIEDE2000 you accept (2 if not said)");
    parser.flag("check", request.check, "Exit code 1 unless the first is within the tolerance (not resolved counts as no)");
    parser.flag("json", request.json, "One JSON object on standard output");
    parser.once("--chip", chip);
    parser.once("--tolerance", tolerance);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    const std::string form = "write swatchwright rank PHOTO --chip REGION --swatch A=REGION --swatch B=REGION, or PHOTO --swatch REGION";
    if (file.size() != 1) return usage("rank", file.empty() ? "names no photo" : "takes one photo", form);
    if (swatches.empty()) return usage("rank", "names no swatch", form);
    if (chip.empty() && swatches.size() > 1) return usage("rank", "has several swatches and no chip", form);
    if (!chip.empty() && !request.targets.empty()) return usage("rank", "has a chip and targets as well", "leave out --chip or --target");
    auto photo = photo_of(file[0], options);
    if (!photo) return photo.error();
    request.photo = *std::move(photo);
    if (!chip.empty()) {
        auto region = region_of(chip[0], "chip");
        if (!region) return region.error();
        request.chip = *std::move(region);
    }
    for (const std::string& text : swatches) {
        NamedSwatch swatch{"swatch" + (swatches.size() > 1 ? " " + std::to_string(request.swatches.size() + 1) : ""), {}};
        if (text.find('=') == std::string::npos) {
            auto region = region_of(text, "swatch");
            if (!region) return region.error();
            swatch.region = *std::move(region);
        } else {
            auto named = parse_named_region(text, "--swatch");
            if (!named) return named.error();
            swatch = {named->name, named->region};
        }
        const bool twice =
            std::any_of(request.swatches.begin(), request.swatches.end(), [&](const NamedSwatch& other) { return other.name == swatch.name; });
        if (twice) return usage("--swatch \"" + text + "\"", "has the name of another", "give each swatch its own name");
        request.swatches.push_back(std::move(swatch));
    }
    const auto accepted = number_of(tolerance, "--tolerance", request.options.tolerance, 100);
    if (!accepted) return accepted.error();
    request.options.tolerance = *accepted;
    return Request{std::move(request)};
}

Result<Request> parse_coat(const Values& arguments) {
    Parser parser("coat", true, true);
    Values file, before, after;
    PhotoOptions options;
    CoatRequest request;
    parser.positional("PHOTO", file, "A picture of a swatch that is coated in part");
    parser.option("before", "REGION|PHOTO:swatch=...", before, "The bare place, or the photo taken before with its regions and references");
    parser.option("after", "REGION|PHOTO:swatch=...", after, "The coated place, or the photo taken after");
    options.add_to(parser);
    parser.flag("json", request.json, "One JSON object on standard output");
    parser.once("--before", before);
    parser.once("--after", after);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    const std::string form =
        "write swatchwright coat PHOTO --before REGION --after REGION, or coat --before PHOTO1:swatch=REGION:gray=REGION --after ...";
    if (before.empty() || after.empty()) return usage("coat", std::string("does not say what was ") + (before.empty() ? "before" : "after"), form);
    if (file.size() > 1) return usage("coat", "takes one photo", form);
    request.one_photo = !file.empty();
    if (request.one_photo) {
        auto photo = photo_of(file[0], options);
        if (!photo) return photo.error();
        request.before.photo = *std::move(photo);
        for (const auto& [name, text, into] :
             {std::tuple{"before", &before[0], &request.before.chip}, {"after", &after[0], &request.before.swatch}}) {
            auto region = region_of(*text, name);
            if (!region) return region.error();
            *into = *std::move(region);
        }
        return Request{std::move(request)};
    }
    if (options.any())
        return usage("coat", "has two photos and references for neither", "put them into --before and --after: PHOTO:swatch=REGION:gray=REGION");
    const auto transfer = transfer_of(options.transfer);
    if (!transfer) return transfer.error();
    const auto workbook = workbook_of(options.workbook);
    if (!workbook) return workbook.error();
    for (const auto& [option, text, into] : {std::tuple{"--before", &before[0], &request.before}, {"--after", &after[0], &request.after}}) {
        auto pair = parse_pair(*text, read_text_file, option, false);
        if (!pair) return pair.error();
        pair->photo.transfer = *transfer;
        pair->photo.workbook = *workbook;
        *into = *std::move(pair);
    }
    if (request.before.has_chip != request.after.has_chip)
        return usage("coat", "has the chip in one photo only", "mark the same chip, uncoated, in both with chip=REGION, or in neither");
    return Request{std::move(request)};
}

// REGION, L,a,b or the name of a target. Four figures are a box, three a color.
Result<std::variant<Region, Lab, std::string>> against_of(const std::string& text) {
    using Against = std::variant<Region, Lab, std::string>;
    const auto figures = parse_numbers(text);
    if (text.starts_with("ellipse:") || text.starts_with("poly:") || (figures && figures->size() == 4)) {
        auto region = region_of(text, "against");
        if (!region) return region.error();
        return Against(*std::move(region));
    }
    if (figures && figures->size() == 3) {
        const auto color = parse_lab(text, "--against");
        if (!color) return color.error();
        return Against(*color);
    }
    if (trimmed(text).empty()) return usage("--against", "names nothing", "give REGION of a chip in the photo, L,a,b, or the name of a target");
    return Against(std::string(trimmed(text)));
}

Result<Request> parse_map(const Values& arguments) {
    Parser parser("map", true, true);
    Values file, region, against, tolerance, smooth, out;
    PhotoOptions options;
    MapRequest request;
    parser.positional("PHOTO", file, "The picture with the part");
    parser.option("region", "REGION", region, "The painted part, or the swatch");
    parser.option("against", "REGION|TARGET|L,a,b", against,
                  "What it should be: a chip in the same photo, the name of a target in the workbook, or a color");
    parser.option("out", "FILE", out, "Draws the map: a picture if it ends in .png, a page to print if it ends in .pdf");
    options.add_to(parser);
    parser.option("tolerance", "T", tolerance, "The largest CIEDE2000 you accept (2 if not said)");
    parser.option("smooth", "PIXELS", smooth, "Each figure is a mean over so many pixels (if not said: as many as the grain needs)");
    parser.flag("json", request.json, "One JSON object on standard output");
    for (const auto& [name, values] :
         {std::pair{"--region", &region}, {"--against", &against}, {"--tolerance", &tolerance}, {"--smooth", &smooth}, {"--out", &out}})
        parser.once(name, *values);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    const std::string form = "write swatchwright map PHOTO --region REGION --against REGION --gray REGION";
    if (file.size() != 1) return usage("map", file.empty() ? "names no photo" : "takes one photo", form);
    if (region.empty()) return usage("map", "names no part", form);
    if (against.empty()) return usage("map", "names nothing to hold it against", form);
    auto photo = photo_of(file[0], options);
    if (!photo) return photo.error();
    request.photo = *std::move(photo);
    auto part = region_of(region[0], "region");
    if (!part) return part.error();
    request.region = *std::move(part);
    auto held = against_of(against[0]);
    if (!held) return held.error();
    request.against = *std::move(held);
    const auto accepted = number_of(tolerance, "--tolerance", request.options.tolerance, 100);
    if (!accepted) return accepted.error();
    request.options.tolerance = *accepted;
    if (!smooth.empty()) {
        const auto pixels = number_of(smooth, "--smooth", 9, 10'000);
        if (!pixels) return pixels.error();
        request.options.smooth = *pixels;
    }
    if (out.empty()) return Request{std::move(request)};
    if (const auto can = can_save_difference_picture(out[0]); !can) {
        Error error = can.error();
        error.file.clear();
        error.place = "--out \"" + out[0] + "\"";
        return error;
    }
    request.out = out[0];
    return Request{std::move(request)};
}

Result<Request> parse_spectra(const Values& arguments) {
    Parser parser("spectra", false, true);
    Values file_a, file_b, under, observer, index;
    SpectraRequest request;
    parser.positional("FILE_A", file_a, "Spectrum of the chip: a CSV file with lines nm,reflectance");
    parser.positional("FILE_B", file_b, "Spectrum of the swatch");
    parser.option("under", "LIGHT", under,
                  "A light to look under; the first is the one the index refers to. May be repeated (D65, A, LED-B3, F11 if not said)");
    parser.option("observer", "2|10", observer, "CIE standard observer, degrees (2 if not said)");
    parser.option("index", "HOW", index,
                  "How what is left of the difference under the first light is taken out under the others: multiplicative (if not said) or additive");
    parser.flag("json", request.json, "One JSON object on standard output");
    parser.once("--observer", observer);
    parser.once("--index", index);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    if (!index.empty() && index[0] == "additive") {
        request.correction = Correction::additive;
    } else if (!index.empty() && index[0] != "multiplicative") {
        return usage("--index \"" + index[0] + "\"", "is not a correction", "give multiplicative (the usual choice) or additive");
    }
    if (file_a.empty() || file_b.empty()) return usage("spectra", "needs two files", "write swatchwright spectra FILE_A FILE_B");
    request.file_a = file_a[0];
    request.file_b = file_b[0];
    auto lights = lights_of(under.empty() ? Values{"D65", "A", "LED-B3", "F11"} : under, "--under");
    if (!lights) return lights.error();
    request.under = *std::move(lights);
    const auto degrees = observer_of(observer);
    if (!degrees) return degrees.error();
    request.observer = *degrees;
    return Request{std::move(request)};
}

// The file of --plot; empty if it is not given.
Result<std::string> plot_of(const Values& texts) {
    if (texts.empty()) return std::string();
    const auto can = can_save_plot(texts[0]);
    if (can) return texts[0];
    Error error = can.error();
    error.file.clear();
    error.place = "--plot \"" + texts[0] + "\"";
    return error;
}

constexpr const char* kPlotHelp = "Draws it into this file: a picture if it ends in .png, a page to print if it ends in .pdf";

Result<Request> parse_light(const Values& arguments) {
    Parser parser("light", false, true);
    Values text, observer, plot;
    bool list = false;
    LightRequest request;
    parser.positional("LIGHT", text, "The light");
    parser.flag("list", list, "All lights that have a name, with their figures");
    parser.option("observer", "2|10", observer, "CIE standard observer, degrees (2 if not said)");
    parser.option("plot", "FILE", plot, kPlotHelp);
    parser.flag("json", request.json, "One JSON object on standard output");
    parser.once("--observer", observer);
    parser.once("--plot", plot);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    const auto degrees = observer_of(observer);
    if (!degrees) return degrees.error();
    request.observer = *degrees;
    if (list) {
        if (!text.empty() || !plot.empty()) {
            return usage("light --list", text.empty() ? "draws no plot" : "takes no light",
                         "write swatchwright light --list, or swatchwright light D65");
        }
        return Request{std::move(request)};
    }
    if (text.empty()) return usage("light", "names no light", "write swatchwright light D65, or swatchwright light --list");
    auto found = light_of(text[0], "light");
    if (!found) return found.error();
    request.light = *std::move(found);
    auto file = plot_of(plot);
    if (!file) return file.error();
    request.plot = *std::move(file);
    return Request{std::move(request)};
}

Result<Request> parse_color_command(const Values& arguments) {
    Parser parser("color", false, true);
    Values text, from, under, observer, plot;
    ColorRequest request;
    parser.positional("VALUE", text, "The color");
    parser.option("from", "FORM", from, "How VALUE is written (lab if not said; srgb if it begins with #)");
    parser.option("under", "LIGHT", under, "The light that VALUE is stated for (D50 if not said); screen colors are adapted to it from D65");
    parser.option("observer", "2|10", observer, "CIE standard observer, degrees (2 if not said)");
    parser.option("plot", "FILE", plot, kPlotHelp);
    parser.flag("json", request.json, "One JSON object on standard output");
    for (const auto& [option, values] : {std::pair{"--from", &from}, {"--under", &under}, {"--observer", &observer}, {"--plot", &plot}}) {
        parser.once(option, *values);
    }
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    if (text.empty()) return usage("color", "names no color", "write swatchwright color 52.1,-3.2,14 or swatchwright color '#8a7f61'");
    request.text = text[0];
    auto light = one_light_of(under);
    if (!light) return light.error();
    request.under = *std::move(light);
    const auto degrees = observer_of(observer);
    if (!degrees) return degrees.error();
    request.observer = *degrees;
    std::optional<ColorForm> form;
    if (!from.empty()) {
        const auto asked = parse_color_form(from[0]);
        if (!asked) return asked.error();
        form = *asked;
    }
    const auto color = parse_color(text[0], form, xyz(request.under, request.observer));
    if (!color) return color.error();
    request.color = *color;
    auto file = plot_of(plot);
    if (!file) return file.error();
    request.plot = *std::move(file);
    return Request{std::move(request)};
}

// The color of `target add`: typed, or read from a photo.
Result<Done> target_color(TargetRequest& request, const Values& typed, const Values& sd, const Values& from, const Values& region,
                          const PhotoOptions& options) {
    if (typed.empty() == from.empty()) {
        return usage("target add", typed.empty() ? "says no color" : "says two colors", "give either --lab L,a,b or --from PHOTO --region REGION");
    }
    if (!typed.empty()) {
        if (!region.empty() || options.any() || !options.transfer.empty()) {
            return usage("target add", "--lab needs no photo options",
                         "leave out --region, the references, --lit-by and --transfer, or use --from PHOTO");
        }
        auto color = parse_lab(typed[0], "--lab");
        if (!color) return color.error();
        color->white = xyz(request.under, request.observer);
        request.typed = *color;
        const auto doubt = number_of(sd, "--sd", request.sd, 50);
        if (!doubt) return doubt.error();
        request.sd = *doubt;
        request.sd_assumed = sd.empty();
        return Done{};
    }
    if (!sd.empty()) return usage("--sd", "is for a typed color", "leave it out: a reading brings its own spread");
    if (region.empty()) return usage("target add", "does not say where in the photo the color is", "add --region REGION");
    auto place = region_of(region[0], "region");
    if (!place) return place.error();
    request.region = *std::move(place);
    auto photo = photo_of(from[0], options);
    if (!photo) return photo.error();
    request.photo = *std::move(photo);
    return Done{};
}

// What `card add` keeps. The spread assumed is in points of LRV, or units of Lab.
Result<Card> card_of(const std::string& name, const Values& lrv, const Values& typed, const Values& spectrum, const Values& sd) {
    if (lrv.size() + typed.size() + spectrum.size() != 1) {
        const bool none = lrv.empty() && typed.empty() && spectrum.empty();
        return usage("card add", none ? "says nothing of the card" : "says the card twice", "give one of --lrv V, --lab L,a,b and --spectrum FILE");
    }
    Card card;
    card.name = name;
    card.source = "typed";
    double assumed = 0.5;
    if (!lrv.empty()) {
        const auto value = number_of(lrv, "--lrv", 18, 100);
        if (!value) return value.error();
        card.value = Lrv{*value};
        assumed = 0.01 * *value;
    } else if (!typed.empty()) {
        const auto color = parse_lab(typed[0], "--lab");
        if (!color) return color.error();
        card.value = *color;
    } else {
        auto text = read_text_file(spectrum[0]);
        if (!text) return text.error();
        const auto table = parse_spectrum(*text, spectrum[0]);
        if (!table) return table.error();
        const auto surface = reflectance(*table, spectrum[0]);
        if (!surface) return surface.error();
        assumed = std::max(0.001, 0.005 * xyz(*surface, standard_light("D50"), Observer::degree2).Y);
        card.value = SpectrumText{*std::move(text)};
        card.source = spectrum[0];
    }
    const auto spread = number_of(sd, "--sd", assumed, 50);
    if (!spread) return spread.error();
    card.sd = *spread;
    card.sd_assumed = sd.empty();
    if (card.sd_assumed) card.source += "; its spread is assumed";
    return card;
}

Result<Request> parse_card(const Values& arguments) {
    Parser parser("card", false, false);
    Values action, name, lrv, typed, spectrum, sd, workbook;
    CardRequest request;
    parser.positional("ACTION", action, "add, list, show or remove");
    parser.positional("NAME", name, "The card's name");
    parser.option("lrv", "V", lrv, "A neutral card of this LRV, above 0 up to 100");
    parser.option("lab", "L,a,b", typed, "A card of this color under D50, 2 degrees");
    parser.option("spectrum", "FILE", spectrum, "A measured card: a CSV file with lines nm,reflectance");
    parser.option("sd", "S", sd, "How well that is known, one standard deviation: in points of LRV, with --lab in each of L*, a*, b*");
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, "One JSON object on standard output");
    for (const auto& [option, values] :
         {std::pair{"--lrv", &lrv}, {"--lab", &typed}, {"--spectrum", &spectrum}, {"--sd", &sd}, {"--workbook", &workbook}}) {
        parser.once(option, *values);
    }
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};
    if (const auto read = kept_of(request, "card", true, action, name, workbook); !read) return read.error();
    if (request.action != TargetAction::add) {
        if (!(lrv.empty() && typed.empty() && spectrum.empty() && sd.empty()))
            return usage("card " + action[0], "takes no color", "leave out all but --workbook and --json");
        return Request{std::move(request)};
    }
    auto card = card_of(request.name, lrv, typed, spectrum, sd);
    if (!card) return card.error();
    request.card = *std::move(card);
    return Request{std::move(request)};
}

Result<Request> parse_setup(const Values& arguments) {
    Parser parser("setup", false, false);
    Values action, name, workbook;
    SetupRequest request;
    parser.positional("ACTION", action, "list, show or remove");
    parser.positional("NAME", name, "The set-up's name");
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, "One JSON object on standard output");
    parser.once("--workbook", workbook);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};
    if (const auto read = kept_of(request, "setup", false, action, name, workbook); !read) return read.error();
    return Request{std::move(request)};
}

Result<Request> parse_calibrate(const Values& arguments) {
    Parser parser("calibrate", true, true);
    Values file, save;
    PhotoOptions options;
    CalibrateRequest request;
    parser.positional("PHOTO", file, "The picture with the references");
    parser.option("save", "NAME", save, "Keep it in the workbook as a set-up of this name");
    options.add_to(parser, false);
    parser.flag("json", request.json, "One JSON object on standard output");
    parser.once("--save", save);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};
    if (file.size() != 1)
        return usage("calibrate", file.empty() ? "names no photo" : "takes one photo", "write swatchwright calibrate PHOTO --gray REGION");
    auto photo = photo_of(file[0], options);
    if (!photo) return photo.error();
    request.photo = *std::move(photo);
    if (!save.empty()) {
        request.save = std::string(trimmed(save[0]));
        if (request.save.empty()) return usage("--save", "gives no name", "write --save NAME");
        if (request.photo.references.chart.mode == ChartMode::automatic) request.photo.chart_asked = true;  // without it there is nothing to keep
    }
    return Request{std::move(request)};
}

// FILE=REGION at the last "="; without one all of it is the file.
Result<std::pair<std::string, std::optional<Region>>> file_and_region(const std::string& text, const std::string& place, bool must) {
    const auto equals = text.rfind('=');
    if (equals == std::string::npos || equals == 0) {
        if (must || text.empty())
            return usage(place + " \"" + text + "\"", "does not say where in the frame", "write FRAME=REGION, like grab.png=100,20,50,50");
        return std::pair{text, std::optional<Region>()};
    }
    auto region = parse_region(text.substr(equals + 1), "frame");
    if (!region) {
        Error error = region.error();
        error.place = place + " \"" + text + "\"";
        return error;
    }
    return std::pair{text.substr(0, equals), std::optional<Region>(*std::move(region))};
}

// The thing of known color in a frame.
Result<KnownThing> known_thing(const Values& neutral, const Values& known) {
    KnownThing thing;
    if (!neutral.empty()) {
        auto gray = parse_gray(neutral[0], "--neutral");
        if (!gray) return gray.error();
        thing.region = gray->region;
        if (neutral[0].find('=') != std::string::npos) thing.lrv = gray->lrv;
        return thing;
    }
    auto chip = parse_known("thing=" + known[0], "--known");
    if (!chip) {
        Error error = chip.error();
        error.place = "--known \"" + known[0] + "\"";
        error.remedy = "write REGION=L,a,b, like 100,20,50,50=62,4,-12";
        return error;
    }
    thing.region = chip->region;
    thing.color = chip->lab;
    return thing;
}

Result<Request> parse_screen(const Values& arguments) {
    Parser parser("screen", true, true);
    Values frames, neutral, known, still, transfer, keep, workbook;
    ScreenRequest request;
    parser.positionals("FRAME=REGION", frames, "A screen grab and the place in it. May be repeated");
    parser.option("neutral", "REGION[=LRV]", neutral, "A white or gray thing in the frame; its lightness is kept as shown if no LRV is said");
    parser.option("known", "REGION=L,a,b", known, "A thing of known color in the frame (Lab under D50, 2 degrees)");
    parser.option("still", "FILE[=REGION]", still, "The files are photos of a screen, and this is one of the same screen showing white");
    parser.option("transfer", "HOW", transfer, "How untagged files are encoded: auto (sRGB, with its doubt), srgb, bt1886, linear or gamma:G");
    parser.option("keep", "NAME", keep, "Keeps it as a target in the workbook");
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, "One JSON object on standard output");
    for (const auto& [name, values] : {std::pair{"--neutral", &neutral},
                                       {"--known", &known},
                                       {"--still", &still},
                                       {"--transfer", &transfer},
                                       {"--keep", &keep},
                                       {"--workbook", &workbook}})
        parser.once(name, *values);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    constexpr std::size_t most = 24;  // all are held at once
    if (frames.empty() || frames.size() > most)
        return usage("screen", frames.empty() ? "names no frame" : "takes up to 24 frames", "write swatchwright screen FRAME=REGION");
    if (!neutral.empty() && !known.empty()) return usage("screen", "points at two things of known color", "give either --neutral or --known");
    for (const std::string& text : frames) {
        auto frame = file_and_region(text, "frame", true);
        if (!frame) return frame.error();
        request.frames.push_back({frame->first, *std::move(frame->second)});
    }
    if (!neutral.empty() || !known.empty()) {
        auto thing = known_thing(neutral, known);
        if (!thing) return thing.error();
        request.known = *std::move(thing);
    }
    if (!still.empty()) {
        auto white = file_and_region(still[0], "--still", false);
        if (!white) return white.error();
        request.still = white->first;
        request.still_region = std::move(white->second);
    }
    auto how = transfer_of(transfer);
    if (!how) return how.error();
    request.transfer = *how;
    if (!keep.empty()) {
        request.keep = std::string(trimmed(keep[0]));
        if (request.keep.empty()) return usage("--keep", "gives the target no name", "write --keep NAME");
    }
    auto book = workbook_of(workbook);
    if (!book) return book.error();
    request.workbook = *std::move(book);
    return Request{std::move(request)};
}

Result<Request> parse_target(const Values& arguments) {
    Parser parser("target", true, true);
    Values action, name, typed, sd, from, region, under, observer, sort, kind;
    PhotoOptions options;
    TargetRequest request;
    parser.positional("ACTION", action, "add, list, show or remove");
    parser.positional("NAME", name, "The target's name");
    parser.option("lab", "L,a,b", typed, "A published color");
    parser.option("sd", "S", sd, "Its standard deviation in each of L*, a*, b* (0.5 is assumed if not said)");
    parser.option("from", "PHOTO", from, "Read the color from this photo");
    parser.option("region", "REGION", region, "Where in the photo");
    options.add_to(parser);
    parser.option("under", "LIGHT", under, "The light for which the color is stated (D50 if not said)");
    parser.option("observer", "2|10", observer, "CIE standard observer, degrees (2 if not said)");
    parser.option("sort", "name|lab|date", sort, "list: by name (if not said), by lightness and hue, or the newest first");
    parser.option("kind", "K", kind, "list: only chip, published, instrument or screen");
    parser.flag("json", request.json, "One JSON object on standard output");
    parser.once("--sort", sort);
    parser.once("--kind", kind);
    for (const auto& [option, values] :
         {std::pair{"--lab", &typed}, {"--sd", &sd}, {"--from", &from}, {"--region", &region}, {"--under", &under}, {"--observer", &observer}}) {
        parser.once(option, *values);
    }
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    if (const auto read = kept_of(request, "target", true, action, name, options.workbook); !read) return read.error();

    if (request.action != TargetAction::list && !(sort.empty() && kind.empty()))
        return usage("target " + action[0], "does not sort", "leave out --sort and --kind, or write target list");
    if (!sort.empty()) {
        request.sort = sort[0];
        if (sort[0] != "name" && sort[0] != "lab" && sort[0] != "date")
            return usage("--sort \"" + sort[0] + "\"", "is not an order", "give name, lab or date");
    }
    if (!kind.empty()) {
        request.kind = target_kind(kind[0]);
        if (!request.kind) return usage("--kind \"" + kind[0] + "\"", "is not a kind of target", "give chip, published, instrument or screen");
    }
    const bool color_options =
        !(typed.empty() && sd.empty() && from.empty() && region.empty() && under.empty() && observer.empty() && options.transfer.empty());
    if (request.action != TargetAction::add) {
        if (color_options || options.any()) return usage("target " + action[0], "takes no color", "leave out all but --workbook and --json");
        return Request{std::move(request)};
    }
    auto light = one_light_of(under, options.workbook);
    if (!light) return light.error();
    request.under = *std::move(light);
    const auto degrees = observer_of(observer);
    if (!degrees) return degrees.error();
    request.observer = *degrees;
    auto color = target_color(request, typed, sd, from, region, options);
    if (!color) return color.error();
    return Request{std::move(request)};
}

Result<Request> parse_correct(const Values& arguments) {
    Parser parser("correct", true, true);
    Values file, out, under, bits, profile, report, observer;
    PhotoOptions options;
    CorrectRequest request;
    parser.positional("PHOTO", file, "The picture");
    parser.option("out", "FILE", out, "Where to write the corrected picture: .jpg, .png or .tif");
    parser.flag("strip", request.options.strip, "Below it the references, as the picture shows them beside what they are, so that others can judge");
    parser.option("bits", "8|16", bits, "Bits a channel of a PNG (if not said: as the photo has; JPEG has 8, TIFF gets 16)");
    parser.option("profile", "FILE", profile, "Where to write an ICC input profile of the photo: .icc or .icm");
    parser.option("report", "FILE", report, "Where to draw the page about the calibration: .png or .pdf");
    options.add_to(parser);
    parser.option("under", "LIGHT", under, "The light under which the picture shows things (D50 if not said); its white becomes the screen's");
    parser.option("observer", "2|10", observer, "CIE standard observer for --under, degrees (2 if not said)");
    parser.flag("json", request.json, "One JSON object on standard output");
    const std::array<std::pair<const char*, const Values*>, 6> once{
        {{"--out", &out}, {"--bits", &bits}, {"--profile", &profile}, {"--report", &report}, {"--under", &under}, {"--observer", &observer}}};
    for (const auto& [name, values] : once) parser.once(name, *values);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    if (file.size() != 1)
        return usage("correct", file.empty() ? "names no photo" : "takes one photo", "write swatchwright correct PHOTO --gray REGION --out FILE");
    if (out.empty() && profile.empty() && report.empty())
        return usage("correct", "names nothing to write", "give --out FILE, --profile FILE or --report FILE");
    const bool picture_options = request.options.strip || !bits.empty() || !under.empty() || !observer.empty();
    if (out.empty() && picture_options)
        return usage("correct", "has no picture to write", "give --out FILE, or leave out --strip, --bits, --under and --observer");
    if (!bits.empty()) {
        if (bits[0] != "8" && bits[0] != "16")
            return usage("--bits \"" + bits[0] + "\"", "is not a number of bits that pictures have", "give 8 or 16");
        request.options.bits = bits[0] == "8" ? 8 : 16;
    }
    const auto text_of = [](const Values& values) { return values.empty() ? std::string() : values[0]; };
    request.out = text_of(out);
    request.profile = text_of(profile);
    request.report = text_of(report);
    auto photo = photo_of(file[0], options);
    if (!photo) return photo.error();
    request.photo = *std::move(photo);
    if (!request.photo.setup.empty() && (request.options.strip || !request.report.empty())) {
        return usage("correct", "with a set-up there are no references in the photo to show",
                     "leave out --strip and --report, or use the set-up's own photo");
    }
    if (!under.empty()) {
        auto light = one_light_of(under, options.workbook);
        if (!light) return light.error();
        request.options.under = *std::move(light);
    }
    const auto degrees = observer_of(observer);
    if (!degrees) return degrees.error();
    request.options.observer = *degrees;
    return Request{std::move(request)};
}

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

std::string overview() {
    std::string text =
        "swatchwright turns ordinary photos into color measurements, for people who match paint.\n\nUsage: swatchwright COMMAND [OPTIONS]\n\n";
    for (const CommandText& command : kCommands) {
        std::string left = "  " + std::string(command.name);
        left.resize(13, ' ');
        text += left + std::string(command.purpose) + "\n";
    }
    text +=
        "\nswatchwright COMMAND --help says more; swatchwright --version says which one this is.\n"
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
    if (name == "--version") return Request{HelpRequest{"swatchwright " SW_VERSION "\n"}};
    if (name == "window")
        return Request{
            HelpRequest{"Usage: swatchwright " + std::string(find_command(name)->usage) + "\nThe window is opened by the program itself.\n"}};
    if (name == "measure") return parse_measure(rest);
    if (name == "compare") return parse_compare(rest);
    if (name == "rank") return parse_rank(rest);
    if (name == "coat") return parse_coat(rest);
    if (name == "map") return parse_map(rest);
    if (name == "correct") return parse_correct(rest);
    if (name == "calibrate") return parse_calibrate(rest);
    if (name == "card") return parse_card(rest);
    if (name == "setup") return parse_setup(rest);
    if (name == "spectra") return parse_spectra(rest);
    if (name == "light") return parse_light(rest);
    if (name == "color") return parse_color_command(rest);
    if (name == "screen") return parse_screen(rest);
    if (name == "target") return parse_target(rest);
    if (name == "demo") return parse_demo(rest);
    if (name == "part") return args::parse_part(rest);
    if (name == "photo") return args::parse_photo(rest);
    if (name == "lamp") return args::parse_lamp(rest);
    if (name == "note") return args::parse_note(rest);
    if (name == "find") return args::parse_find(rest);
    if (name == "workbook") return args::parse_workbook(rest);
    if (name == "export") return args::parse_export(rest);
    if (name == "import") return args::parse_import(rest);
    if (name == "sheet") return args::parse_sheet(rest);
    if (name == "share") return args::parse_share(rest);
    return usage("\"" + name + "\"", "is not a command", "the commands are " + command_names() + "; swatchwright --help says more");
}

}  // namespace sw
