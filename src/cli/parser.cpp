#include "cli/parser.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cassert>

#include "cli/files.hpp"
#include "cli/light_job.hpp"
#include "cli/text.hpp"

namespace sw::args {
namespace {

constexpr std::string_view kRegionHelp =
    "REGION  x,y,w,h or ellipse:cx,cy,rx,ry or poly:x1,y1,x2,y2,x3,y3,... in pixels of the upright picture, from its top left corner\n";
constexpr std::string_view kLightHelp =
    "LIGHT   A, C, D50, D55, D65, D75, F1 to F12, LED-B1 to LED-B5, LED-BH1, LED-RGB1, LED-V1, LED-V2 (CIE);\n"
    "        daylight:5600  planck:2850  led:6500,ra=80 (as printed on its box);\n"
    "        a blend by share of the light: 0.7*led:6500,ra=80+0.3*D65; a CSV file with lines nm,power;\n"
    "        or a lamp of the workbook by its name, in a blend too: '0.7*bench lamp+0.3*D65'. In double quotes a name is always a lamp's\n";

// Help in our own layout: usage lines, then one wrapped entry an option.
class Layout : public CLI::Formatter {
public:
    Layout(const CommandText& command, bool regions, bool lights) : command_(command), regions_(regions), lights_(lights) {}

    std::string make_help(const CLI::App* app, std::string, CLI::AppFormatMode) const override {
        std::string text = capitalized(std::string(command_.purpose)) + ".\n\nUsage:\n  swatchwright " + std::string(command_.usage) + "\n\n";
        const auto entry = [&](const CLI::Option* option) {
            std::string left = "  " + option->get_name(option->get_positional());
            if (!option->get_positional() && option->get_items_expected_max() > 0) left += " " + option->get_type_name();
            left.resize(std::max<std::size_t>(left.size() + 2, 30), ' ');
            text += wrapped(option->get_description(), left);
        };
        for (const CLI::Option* option : app->get_options({})) {
            if (option != app->get_help_ptr()) entry(option);
        }
        entry(app->get_help_ptr());
        text += '\n';
        if (regions_) text += kRegionHelp;
        if (lights_) text += kLightHelp;
        if (regions_ || lights_) text += '\n';
        text += command_.footer;
        if (regions_) text += kPhotoCaution;
        text.erase(text.find_last_not_of('\n') + 1);
        return text + "\n";
    }

private:
    const CommandText& command_;
    bool regions_, lights_;
};

}  // namespace

Error usage(const std::string& place, std::string cause, std::string remedy) {
    return Error{Fault::bad_usage, "", place, std::move(cause), std::move(remedy)};
}

Parser::Parser(std::string_view name, bool regions, bool lights) : command_(*find_command(name)), app_(std::make_unique<CLI::App>()) {
    app_->formatter(std::make_shared<Layout>(command_, regions, lights));
    app_->set_help_flag("-h,--help", "These words");
}

Parser::~Parser() = default;

void Parser::positional(const std::string& name, Texts& values, const std::string& description) { add(name, values, name, description); }

void Parser::positionals(const std::string& name, Texts& values, const std::string& description) {
    app_->add_option(name, values, description)->expected(0, -1)->type_name(name);
}

void Parser::option(const std::string& name, const std::string& type, Texts& values, const std::string& description) {
    add("--" + name, values, type, description);
}

void Parser::flag(const std::string& name, bool& value, const std::string& description) { app_->add_flag("--" + name, value, description); }

Result<std::optional<HelpRequest>> Parser::parse(Texts arguments) {
    std::reverse(arguments.begin(), arguments.end());  // CLI11 takes them from the back
    try {
        app_->parse(std::move(arguments));
    } catch (const CLI::CallForHelp&) {
        return std::optional<HelpRequest>{HelpRequest{app_->help()}};
    } catch (const CLI::ExtrasError&) {
        return usage(name(), "does not know what to do with " + listed(app_->remaining()), see());
    } catch (const CLI::ArgumentMismatch& problem) {
        const std::string words = problem.what();
        return usage(words.substr(0, words.find(':')), "needs a value", see());
    } catch (const CLI::ParseError& problem) {
        return usage(name(), problem.what(), see());
    }
    for (const auto& [option, values] : singles_) {
        if (values->size() > 1) return usage(option, "is given " + std::to_string(values->size()) + " times", "give it once");
    }
    return std::optional<HelpRequest>{};
}

void Parser::add(const std::string& name, Texts& values, const std::string& type, const std::string& description) {
    // expected(1) without extras: one value for each time it is named; no splitting at commas or brackets
    CLI::Option* added = app_->add_option(name, values, description);
    added->expected(1)->take_all()->allow_extra_args(false)->type_name(type);
}

Result<std::filesystem::path> workbook_of(const Texts& texts) {
    if (texts.empty()) return default_workbook_path();
    if (texts[0].empty()) return usage("--workbook", "names no file", "name a workbook file");
    return std::filesystem::path(texts[0]);
}

std::string workbook_help() { return "The workbook (if not said: " + default_workbook_path().string() + ")"; }

void PhotoOptions::add_to(Parser& parser, bool with_setup) {
    parser.option("gray", "REGION[=LRV]", gray, "A gray or white card and its LRV, above 0 up to 100 (18 if not said). May be repeated");
    parser.option("chart", "auto|none|CORNERS", chart,
                  "A 24-patch chart: found by itself, not used, or at x1,y1,x2,y2,x3,y3,x4,y4: the outer corners of dark skin, bluish green, "
                  "black and white. If not said: auto where neither --gray nor --known is given, else none");
    parser.option("chart-edition", "auto|before-2014|2014", edition,
                  "Which edition the chart is: told from the photo (if not said), made before November 2014, or since");
    parser.option("known", "NAME=REGION=L,a,b", known, "A surface of known color (Lab under D50, 2 degrees). May be repeated");
    parser.option("card", "NAME=REGION", card, "A card of your own, kept in the workbook (see swatchwright card). May be repeated");
    if (with_setup) {
        parser.option("setup", "NAME", setup, "In place of references: a set-up kept in the workbook (see swatchwright calibrate)");
        parser.once("--setup", setup);
    }
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.once("--workbook", workbook);
    parser.option("transfer", "HOW", transfer, "How an untagged picture is encoded: auto (if not said), srgb, linear, bt1886 or gamma:G");
    parser.option("lit-by", "LIGHT", lit_by, "The light that lit the picture, where it is known");
    parser.option("flat", "FILE", flat,
                  "A photo of a plain matt board in the place of the parts, taken the same way: uneven and mixed light is divided out");
    parser.option("plain", "REGION", plain,
                  "A surrounding of one color (bench, board, wall), whatever lies on it: how the light changes over it is taken for the whole "
                  "picture. May be repeated");
    parser.once("--flat", flat);
    parser.once("--chart", chart);
    parser.once("--chart-edition", edition);
    parser.once("--transfer", transfer);
    parser.once("--lit-by", lit_by);
}

void ListOptions::add_to(Parser& parser, const std::string& usual) {
    parser.option("sort", "name|date|lab|near", sort,
                  "list: " + usual + "; by name; the newest first; by lightness and hue; nearest to --near first");
    parser.option("near", "L,a,b", near, "list: with how far each is from this color (D50, 2 degrees), nearest first");
    parser.option("within", "X", within, "list, with --near: no farther than this CIEDE2000");
    parser.option("since", "DATE", since, "list: kept on this day or later: 2031-05-06");
    for (const auto& [option, values] : {std::pair{"--sort", &sort}, {"--near", &near}, {"--within", &within}, {"--since", &since}})
        parser.once(option, *values);
}

Result<ListRequest> list_of(const ListOptions& options, double within) {
    ListRequest list;
    if (!options.near.empty()) {
        const auto color = parse_lab(options.near[0], "--near");
        if (!color) return color.error();
        list.near = *color;
        list.order = ListOrder::near;
    } else if (!options.within.empty()) {
        return usage("--within", "has no color to be near to", "add --near L,a,b");
    }
    constexpr double kFarthest = 200;  // black to white is 100
    const auto farthest = number_of(options.within, "--within", within, kFarthest);
    if (!farthest) return farthest.error();
    list.within = *farthest;
    if (!options.sort.empty()) {
        constexpr std::pair<const char*, ListOrder> kOrders[] = {
            {"name", ListOrder::name}, {"date", ListOrder::date}, {"lab", ListOrder::lab}, {"near", ListOrder::near}};
        const auto* const order = std::find_if(std::begin(kOrders), std::end(kOrders), [&](const auto& one) { return options.sort[0] == one.first; });
        if (order == std::end(kOrders)) return usage("--sort \"" + options.sort[0] + "\"", "is not an order", "give name, date, lab or near");
        list.order = order->second;
        if (list.order == ListOrder::near && !list.near) return usage("--sort near", "has no color to be near to", "add --near L,a,b");
    }
    auto since = since_of(options.since);
    if (!since) return since.error();
    list.since = *std::move(since);
    return list;
}

Result<std::string> since_of(const Texts& texts) {
    if (texts.empty()) return std::string();
    const std::string_view date = texts[0], shape = "0000-00-00";
    bool good = date.size() == shape.size();
    for (std::size_t i = 0; good && i < shape.size(); ++i) good = shape[i] == '0' ? date[i] >= '0' && date[i] <= '9' : date[i] == '-';
    if (!good) return usage("--since \"" + texts[0] + "\"", "is not a date", "write it like 2031-05-06");
    return texts[0];
}

Result<Light> light_of(const std::string& text, const std::string& option, const Texts& workbook) {
    const auto file = workbook_of(workbook);
    if (!file) return file.error();
    auto found = light(text, read_text_file, lamps_in(*file));
    if (found) return found;
    Error error = found.error();
    if (error.file.empty()) error.place = option + " \"" + text + "\"";
    return error;
}

Light standard_light(const char* name) {
    auto found = light(name);
    assert(found);  // ours, always there
    return *std::move(found);
}

Result<std::vector<Light>> lights_of(const Texts& texts, const std::string& option, const Texts& workbook) {
    std::vector<Light> lights;
    for (const std::string& text : texts) {
        auto found = light_of(text, option, workbook);
        if (!found) return found.error();
        lights.push_back(*std::move(found));
    }
    return lights;
}

Result<Light> one_light_of(const Texts& texts, const Texts& workbook) {
    return texts.empty() ? Result<Light>(standard_light("D50")) : light_of(texts[0], "--under", workbook);
}

Result<Observer> observer_of(const Texts& texts) {
    if (texts.empty() || texts[0] == "2") return Observer::degree2;
    if (texts[0] == "10") return Observer::degree10;
    return usage("--observer \"" + texts[0] + "\"", "is not an observer", "give 2 (small fields, the usual choice) or 10 (large fields)");
}

Result<double> number_of(const Texts& texts, const std::string& option, double otherwise, double most) {
    if (texts.empty()) return otherwise;
    const auto value = parse_number(texts[0]);
    if (!value || *value <= 0 || *value > most) {
        return usage(option + " \"" + texts[0] + "\"", "is not a number above 0 and up to " + brief(most), "give one like " + brief(otherwise));
    }
    return *value;
}

Result<Transfer> transfer_of(const Texts& texts) {
    if (texts.empty()) return Transfer{};
    auto transfer = parse_transfer(texts[0]);
    if (transfer) return transfer;
    Error error = transfer.error();
    error.place = "--transfer \"" + texts[0] + "\"";
    return error;
}

Result<PhotoRequest> photo_of(const std::string& file, const PhotoOptions& options) {
    PhotoRequest photo;
    photo.file = file;
    for (const std::string& text : options.gray) {
        auto gray = parse_gray(text, "--gray");
        if (!gray) return gray.error();
        photo.references.grays.push_back(*std::move(gray));
    }
    for (const std::string& text : options.known) {
        auto known = parse_known(text, "--known");
        if (!known) return known.error();
        photo.references.known.push_back(*std::move(known));
    }
    for (const std::string& text : options.plain) {
        auto region = parse_region(text, "plain surrounding");
        if (!region) {
            Error error = region.error();
            error.place = "--plain \"" + text + "\"";
            return error;
        }
        photo.references.plain.push_back(*std::move(region));
    }
    if (!options.chart.empty()) {
        auto chart = parse_chart(options.chart[0], "--chart");
        if (!chart) return chart.error();
        photo.references.chart = *chart;
        photo.chart_asked = true;
    }
    if (!options.edition.empty()) {
        auto edition = parse_chart_edition(options.edition[0], "--chart-edition");
        if (!edition) return edition.error();
        photo.references.chart.edition = *edition;
    }
    auto transfer = transfer_of(options.transfer);
    if (!transfer) return transfer.error();
    photo.transfer = *transfer;
    if (!options.lit_by.empty()) {
        auto lit_by = light_of(options.lit_by[0], "--lit-by", options.workbook);
        if (!lit_by) return lit_by.error();
        photo.lit_by = *std::move(lit_by);
    }
    if (!options.flat.empty()) photo.flat = options.flat[0];
    for (const std::string& text : options.card) {
        auto card = parse_named_region(text, "--card");
        if (!card) return card.error();
        photo.cards.push_back(*std::move(card));
    }
    if (!options.setup.empty()) {
        photo.setup = std::string(trimmed(options.setup[0]));
        if (photo.setup.empty()) return usage("--setup", "names no set-up", "write --setup NAME; swatchwright setup list names them");
    }
    auto workbook = workbook_of(options.workbook);
    if (!workbook) return workbook.error();
    photo.workbook = *std::move(workbook);
    if (const auto settled = settle_chart(photo); !settled) return settled.error();
    return photo;
}

Result<Region> region_of(const std::string& text, const std::string& role) {
    auto region = parse_region(text, role);
    if (region) return region;
    Error error = region.error();
    error.place = "--" + role + " \"" + text + "\"";
    return error;
}

}  // namespace sw::args
