#include "cli/photo_arguments.hpp"

#include <algorithm>
#include <array>

#include "cli/files.hpp"
#include "cli/light_job.hpp"
#include "cli/parser.hpp"
#include "cli/text.hpp"
#include "sheet/difference_picture.hpp"
#include "sheet/light_ladder.hpp"

namespace sw::args {

Result<Request> parse_measure(const Texts& arguments) {
    Parser parser("measure", true, true);
    Texts file, regions, under, observer;
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

namespace {

Result<std::vector<PairRequest>> pairs_of(const Texts& file, const Texts& chip, const Texts& swatch, const Texts& pairs,
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
            auto pair = parse_pair(text, read_text_file, lamps_in(*workbook));
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
Result<Done> ladder_of(const Texts& ladder, const Texts& display, CompareRequest& request) {
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

Result<double> tolerance_of(const Texts& texts, double otherwise) {
    const auto named = texts.empty() ? std::nullopt : threshold_named(texts[0]);
    if (named) return *named;
    const auto accepted = number_of(texts, "--tolerance", otherwise, 100);
    if (accepted) return accepted;
    Error error = accepted.error();
    error.remedy += ", perceptible or acceptable";
    return error;
}

}  // namespace

Result<Request> parse_compare(const Texts& arguments) {
    Parser parser("compare", true, true);
    Texts file, chip, swatch, pairs, under, tolerance, holds, breaks, observer, ladder, display;
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

Result<Request> parse_rank(const Texts& arguments) {
    Parser parser("rank", true, true);
    Texts file, chip, swatches, tolerance;
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

Result<Request> parse_coat(const Texts& arguments) {
    Parser parser("coat", true, true);
    Texts file, before, after;
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
        auto pair = parse_pair(*text, read_text_file, lamps_in(*workbook), option, false);
        if (!pair) return pair.error();
        pair->photo.transfer = *transfer;
        pair->photo.workbook = *workbook;
        *into = *std::move(pair);
    }
    if (request.before.has_chip != request.after.has_chip)
        return usage("coat", "has the chip in one photo only", "mark the same chip, uncoated, in both with chip=REGION, or in neither");
    return Request{std::move(request)};
}

namespace {

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

}  // namespace

Result<Request> parse_map(const Texts& arguments) {
    Parser parser("map", true, true);
    Texts file, region, against, tolerance, smooth, out;
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

Result<Request> parse_calibrate(const Texts& arguments) {
    Parser parser("calibrate", true, true);
    Texts file, save;
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

Result<Request> parse_correct(const Texts& arguments) {
    Parser parser("correct", true, true);
    Texts file, out, under, bits, profile, report, observer;
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
    const std::array<std::pair<const char*, const Texts*>, 6> once{
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
    const auto text_of = [](const Texts& values) { return values.empty() ? std::string() : values[0]; };
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

}  // namespace sw::args
