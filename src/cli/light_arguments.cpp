#include "cli/light_arguments.hpp"

#include "cli/parser.hpp"
#include "sheet/plot.hpp"

namespace sw::args {

Result<Request> parse_spectra(const Texts& arguments) {
    Parser parser("spectra", false, true);
    Texts file_a, file_b, under, observer, index, workbook;
    SpectraRequest request;
    parser.positional("FILE_A", file_a, "Spectrum of the chip: a CSV file with lines nm,reflectance");
    parser.positional("FILE_B", file_b, "Spectrum of the swatch");
    parser.option("under", "LIGHT", under,
                  "A light to look under; the first is the one the index refers to. May be repeated (D65, A, LED-B3, F11 if not said)");
    parser.option("observer", "2|10", observer, "CIE standard observer, degrees (2 if not said)");
    parser.option("index", "HOW", index,
                  "How what is left of the difference under the first light is taken out under the others: multiplicative (if not said) or additive");
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, "One JSON object on standard output");
    for (const auto& [option, values] : {std::pair{"--observer", &observer}, {"--index", &index}, {"--workbook", &workbook}})
        parser.once(option, *values);
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
    auto lights = lights_of(under.empty() ? Texts{"D65", "A", "LED-B3", "F11"} : under, "--under", workbook);
    if (!lights) return lights.error();
    request.under = *std::move(lights);
    const auto degrees = observer_of(observer);
    if (!degrees) return degrees.error();
    request.observer = *degrees;
    return Request{std::move(request)};
}

namespace {

// The file of --plot; empty if it is not given.
Result<std::string> plot_of(const Texts& texts) {
    if (texts.empty()) return std::string();
    const auto can = can_save_plot(texts[0]);
    if (can) return texts[0];
    Error error = can.error();
    error.file.clear();
    error.place = "--plot \"" + texts[0] + "\"";
    return error;
}

constexpr const char* kPlotHelp = "Draws it into this file: a picture if it ends in .png, a page to print if it ends in .pdf";

}  // namespace

Result<Request> parse_light(const Texts& arguments) {
    Parser parser("light", false, true);
    Texts text, observer, plot, workbook;
    bool list = false;
    LightRequest request;
    parser.positional("LIGHT", text, "The light");
    parser.flag("list", list, "All lights that have a name, lamps of the workbook too, with their figures");
    parser.option("observer", "2|10", observer, "CIE standard observer, degrees (2 if not said)");
    parser.option("plot", "FILE", plot, kPlotHelp);
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, "One JSON object on standard output");
    for (const auto& [option, values] : {std::pair{"--observer", &observer}, {"--plot", &plot}, {"--workbook", &workbook}})
        parser.once(option, *values);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    const auto degrees = observer_of(observer);
    if (!degrees) return degrees.error();
    request.observer = *degrees;
    if (const auto named = name_workbook(request, workbook); !named) return named.error();
    if (list) {
        if (!text.empty() || !plot.empty()) {
            return usage("light --list", text.empty() ? "draws no plot" : "takes no light",
                         "write swatchwright light --list, or swatchwright light D65");
        }
        return Request{std::move(request)};
    }
    if (text.empty()) return usage("light", "names no light", "write swatchwright light D65, or swatchwright light --list");
    auto found = light_of(text[0], "light", workbook);
    if (!found) return found.error();
    request.light = *std::move(found);
    auto file = plot_of(plot);
    if (!file) return file.error();
    request.plot = *std::move(file);
    return Request{std::move(request)};
}

Result<Request> parse_color_command(const Texts& arguments) {
    Parser parser("color", false, true);
    Texts text, from, under, observer, plot, workbook;
    ColorRequest request;
    parser.positional("VALUE", text, "The color");
    parser.option("from", "FORM", from, "How VALUE is written (lab if not said; srgb if it begins with #)");
    parser.option("under", "LIGHT", under, "The light that VALUE is stated for (D50 if not said); screen colors are adapted to it from D65");
    parser.option("observer", "2|10", observer, "CIE standard observer, degrees (2 if not said)");
    parser.option("plot", "FILE", plot, kPlotHelp);
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, "One JSON object on standard output");
    for (const auto& [option, values] :
         {std::pair{"--from", &from}, {"--under", &under}, {"--observer", &observer}, {"--plot", &plot}, {"--workbook", &workbook}}) {
        parser.once(option, *values);
    }
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    if (text.empty()) return usage("color", "names no color", "write swatchwright color 52.1,-3.2,14 or swatchwright color '#8a7f61'");
    request.text = text[0];
    auto light = one_light_of(under, workbook);
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

}  // namespace sw::args
