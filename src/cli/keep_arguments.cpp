#include "cli/keep_arguments.hpp"

#include <algorithm>

#include "cli/files.hpp"
#include "cli/parser.hpp"
#include "cli/text.hpp"

namespace sw::args {

namespace {

// The color of `target add`: typed, or read from a photo.
Result<Done> target_color(TargetRequest& request, const Texts& typed, const Texts& sd, const Texts& from, const Texts& region,
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
Result<Card> card_of(const std::string& name, const Texts& lrv, const Texts& typed, const Texts& spectrum, const Texts& sd) {
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

}  // namespace

Result<Request> parse_card(const Texts& arguments) {
    Parser parser("card", false, false);
    Texts action, name, lrv, typed, spectrum, sd, workbook;
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

Result<Request> parse_setup(const Texts& arguments) {
    Parser parser("setup", false, false);
    Texts action, name, workbook;
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

namespace {

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
Result<KnownThing> known_thing(const Texts& neutral, const Texts& known) {
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

}  // namespace

Result<Request> parse_screen(const Texts& arguments) {
    Parser parser("screen", true, true);
    Texts frames, neutral, known, still, transfer, keep, workbook;
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
    return in_workbook(std::move(request), workbook);
}

Result<Request> parse_target(const Texts& arguments) {
    Parser parser("target", true, true);
    Texts action, name, typed, sd, from, region, under, observer, kind;
    PhotoOptions options;
    ListOptions list;
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
    list.add_to(parser, "by name if not said");
    parser.option("kind", "K", kind, "list: only chip, published, instrument or screen");
    parser.flag("json", request.json, "One JSON object on standard output");
    parser.once("--kind", kind);
    for (const auto& [option, values] :
         {std::pair{"--lab", &typed}, {"--sd", &sd}, {"--from", &from}, {"--region", &region}, {"--under", &under}, {"--observer", &observer}}) {
        parser.once(option, *values);
    }
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    if (const auto read = kept_of(request, "target", true, action, name, options.workbook); !read) return read.error();

    if (request.action != TargetAction::list && (list.any() || !kind.empty()))
        return usage("target " + action[0], "does not sort", "leave out --sort, --near, --within, --since and --kind, or write target list");
    auto how = list_of(list, kAnyDistance);
    if (!how) return how.error();
    request.list = *std::move(how);
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

}  // namespace sw::args
