// The main job on photos whose truth is known: calibrate, read, compare, look under other lights, and say how near that came.
#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>

#include "calibrate/calibration.hpp"
#include "cli/commands.hpp"
#include "cli/exit_code.hpp"
#include "cli/files.hpp"
#include "cli/photo_job.hpp"
#include "cli/report.hpp"
#include "cli/text.hpp"
#include "sheet/demo_folder.hpp"

namespace sw {
namespace {

using Json = nlohmann::ordered_json;

// One photo as truth.json of the demo describes it.
struct TrueColor {
    Region region;
    Lab lab;  // relative to the photo's light; of a screen grab: as the screen shows it, D50
};
struct DemoPhoto {
    PhotoRequest photo;
    std::string file, chip_name;
    std::optional<TrueColor> chip, swatch, on_screen;
    std::map<std::string, double> pair_de00;  // by light; "photo" is the photo's own
};

Lab lab_of(const Json& json) { return Lab{json.at(0).get<double>(), json.at(1).get<double>(), json.at(2).get<double>()}; }

TrueColor true_color(const Json& json, const char* which) {
    const Json& rect = json.at("rect");
    return {Box{rect.at(0).get<double>(), rect.at(1).get<double>(), rect.at(2).get<double>(), rect.at(3).get<double>()}, lab_of(json.at(which))};
}

// Throws Json::exception where the file is not as it should be; read_truth turns that into an error.
DemoPhoto demo_photo(const Json& json, const std::filesystem::path& folder) {
    DemoPhoto photo;
    photo.file = json.at("file").get<std::string>();
    photo.photo.file = (folder / photo.file).string();
    photo.photo.chart_asked = true;
    photo.chip_name = json.value("chip", "");
    const Json& regions = json.at("regions");
    if (regions.contains("card")) {
        const TrueColor card = true_color(regions.at("card"), "lab_photo");
        photo.photo.references.grays.push_back({card.region, regions.at("card").at("lrv").get<double>()});
    }
    if (json.contains("chart") && json.at("chart").is_object()) {
        const Json& corners = json.at("chart").at("corners");
        photo.photo.references.chart.mode = ChartMode::corners;
        for (std::size_t i = 0; i < 4; ++i)
            photo.photo.references.chart.corners[i] = {corners.at(2 * i).get<double>(), corners.at(2 * i + 1).get<double>()};
    }
    if (regions.contains("chip") && regions.contains("swatch")) {
        photo.chip = true_color(regions.at("chip"), "lab_photo");
        photo.swatch = true_color(regions.at("swatch"), "lab_photo");
        const auto lit_by = light(json.at("light").get<std::string>());
        if (lit_by) photo.photo.lit_by = *lit_by;
        photo.pair_de00 = json.at("pair_de00").get<std::map<std::string, double>>();
    } else {
        photo.on_screen = true_color(regions.at("target"), "lab_d50_on_screen");
    }
    return photo;
}

Result<std::vector<DemoPhoto>> read_truth(const std::filesystem::path& folder) {
    const std::string file = (folder / "truth.json").string();
    const auto text = read_text_file(file);
    if (!text) return text.error();
    std::vector<DemoPhoto> photos;
    try {
        const Json truth = Json::parse(*text);
        for (const Json& json : truth.at("photos")) photos.push_back(demo_photo(json, folder));
    } catch (const Json::exception& problem) {
        return Error{Fault::table_malformed, file, "", std::string("is not the demo's list of photos: ") + problem.what(),
                     "take the folder as it came with the program"};
    }
    if (photos.empty()) return Error{Fault::table_malformed, file, "", "lists no photo", "take the folder as it came with the program"};
    return photos;
}

// One comparison, of one photo or of several of the same pair.
struct Judged {
    std::vector<const DemoPhoto*> photos;
    std::vector<std::string> methods;
    Comparison comparison;
    double true_de00 = 0;
    std::vector<std::optional<double>> true_lights;  // one for each of comparison.lights
};
// A color on a screen.
struct OnScreen {
    const DemoPhoto* photo = nullptr;
    Reading reading;
};

std::optional<double> truth_under(const std::vector<const DemoPhoto*>& photos, const std::string& under) {
    for (const DemoPhoto* photo : photos) {
        if (photo->photo.lit_by && photo->photo.lit_by->name == under) return photo->pair_de00.at("photo");
        if (const auto found = photo->pair_de00.find(under); found != photo->pair_de00.end()) return found->second;
    }
    return std::nullopt;
}

Result<Judged> judge(const std::vector<const DemoPhoto*>& photos, const std::map<const DemoPhoto*, CalibratedPhoto>& opened) {
    Judged judged;
    judged.photos = photos;
    std::vector<PairInPhoto> pairs;
    for (const DemoPhoto* photo : photos) {
        const CalibratedPhoto& open = opened.at(photo);
        pairs.push_back({open.photo.get(), &open.calibration, photo->chip->region, photo->swatch->region, open.lit_by});
        judged.methods.push_back(open.calibration.method);
    }
    auto comparison = compare(pairs);
    if (!comparison) return in_file(comparison.error(), photos.front()->photo.file);
    judged.comparison = *std::move(comparison);
    const auto own = photos.front()->pair_de00.find("photo");
    if (own == photos.front()->pair_de00.end()) {
        return Error{Fault::table_malformed, photos.front()->photo.file, "truth.json", "does not hold the pair's true difference",
                     "take the folder as it came with the program"};
    }
    judged.true_de00 = own->second;
    for (const PairUnder& under : judged.comparison.lights) judged.true_lights.push_back(truth_under(photos, under.light));
    return judged;
}

bool holds(const Interval& interval, double truth) { return truth >= interval.low && truth <= interval.high; }

// How far a reading is from the truth, ΔE00.
double away(const Reading& reading, const Lab& truth) {
    Lab same_white = truth;
    same_white.white = reading.lab.white;
    return difference_2000(same_white, reading.lab);
}

struct Summary {
    int pairs = 0, pairs_held = 0, lights = 0, lights_held = 0;
    int missed_elsewhere = 0;    // not inferred from one photo
    std::vector<double> colors;  // sorted
};

Summary summarize(const std::vector<Judged>& all) {
    Summary sum;
    for (const Judged& judged : all) {
        for (std::size_t i = 0; i < judged.true_lights.size(); ++i) {
            const PairUnder& under = judged.comparison.lights[i];
            if (!judged.true_lights[i]) continue;
            const bool held = holds(under.ci95, *judged.true_lights[i]);
            ++sum.lights;
            sum.lights_held += held;
            sum.missed_elsewhere += !held && (judged.photos.size() > 1 || under.kind != Kind::inferred);
        }
        if (judged.photos.size() > 1) continue;  // its colors and pair are those of its first photo again
        ++sum.pairs;
        sum.pairs_held += holds(judged.comparison.difference.ci95, judged.true_de00);
        sum.colors.push_back(away(judged.comparison.chip, judged.photos.front()->chip->lab));
        sum.colors.push_back(away(judged.comparison.swatch, judged.photos.front()->swatch->lab));
    }
    std::sort(sum.colors.begin(), sum.colors.end());
    return sum;
}

std::string summary_sentence(const Summary& sum) {
    std::string text = std::to_string(sum.pairs_held) + " of " + std::to_string(sum.pairs) +
                       " ranges for the pair in its photo hold the true difference, and " + std::to_string(sum.lights_held) + " of " +
                       std::to_string(sum.lights) + " light by light";
    if (sum.lights_held < sum.lights && sum.missed_elsewhere == 0) text += " (those missed are inferred from a single photo of the pair)";
    if (!sum.colors.empty()) {
        text += "; single colors came " + fixed(sum.colors[sum.colors.size() / 2], 1) + " from the truth in the middle case, " +
                fixed(sum.colors.back(), 1) + " in the worst (CIEDE2000)";
    }
    return text + ".";
}

std::string lab_words(const Lab& color) { return fixed(color.L, 1) + "  " + fixed(color.a, 1) + "  " + fixed(color.b, 1); }

std::string judged_text(const Judged& judged, std::size_t number) {
    const DemoPhoto& first = *judged.photos.front();
    const Comparison& c = judged.comparison;
    std::string title = std::to_string(number) + ". Swatch for " + first.chip_name + ": ";
    std::vector<std::string> names;
    for (std::size_t i = 0; i < judged.photos.size(); ++i) {
        const DemoPhoto& photo = *judged.photos[i];
        names.push_back(photo.file + " (" + judged.methods[i] + (photo.photo.lit_by ? "; lit by " + photo.photo.lit_by->name : "") + ")");
    }
    std::string text = wrapped(title + listed(names)) + "\n";
    const bool several = judged.photos.size() > 1;
    if (!several) {
        text += wrapped(answer_sentence(c.difference, false), "   ");
        text += wrapped("In truth they are " + fixed(judged.true_de00, 1) + " apart: the range " +
                            (holds(c.difference.ci95, judged.true_de00) ? "holds it." : "misses it."),
                        "   ");
        text += wrapped(capitalized(c.difference.advice) + ".", "   ") + "\n";
        Table colors({"", "L*", "a*", "b*", "truth", "away (ΔE00)"});
        for (const auto& [reading, truth] : {std::pair{&c.chip, &first.chip->lab}, {&c.swatch, &first.swatch->lab}}) {
            const auto sd = lab_sd(reading->lab_covariance);
            colors.row({"  " + reading->name, measured(reading->lab.L, sd[0]), measured(reading->lab.a, sd[1]), measured(reading->lab.b, sd[2]),
                        lab_words(*truth), fixed(away(*reading, *truth), 1)});
        }
        text += colors.text() + "\n";
    } else {
        text += wrapped("Both photos together show what one could only guess: the same pair under two lights.", "   ") + "\n";
    }
    bool missed = false;
    Table lights({"  under", "ΔE00", "95 % range", "", "how known", "truth", ""}, {3, 4, 6});
    for (std::size_t i = 0; i < c.lights.size(); ++i) {
        const PairUnder& under = c.lights[i];
        const auto& truth = judged.true_lights[i];
        missed = missed || (truth && !holds(under.ci95, *truth));
        lights.row({"  " + under.light, fixed(under.de00, 1), range(under.ci95.low, under.ci95.high),
                    to_word(under.flag) + (under.flag_sure ? "" : " ?"), to_word(under.kind), truth ? fixed(*truth, 1) : "unknown",
                    truth ? (holds(under.ci95, *truth) ? "in range" : "missed") : ""});
    }
    text += lights.text();
    if (!several && missed) {
        text += "\n" + wrapped(
                           "One photo under one light cannot see how a pair changes with the light: what is inferred can be wrong, as here. "
                           "A second photo under another light shows it.",
                           "   ");
    }
    return text + "\n";
}

// "The swatch for Damson 14 is 0.6 (0.0 to 1.1) from its chip under led:6500,ra=80, but 2.3 (1.2 to 3.4) under daylight:6200: the pair breaks."
std::string headline(const Judged& judged) {
    std::vector<std::string> seen;
    Flag worst = Flag::holds;
    for (const PairUnder& under : judged.comparison.lights) {
        if (under.kind != Kind::seen) continue;
        seen.push_back(fixed(under.de00, 1) + " (" + range(under.ci95.low, under.ci95.high) + ")" + (seen.empty() ? " from its chip" : "") +
                       " under " + under.light);
        worst = std::max(worst, under.flag);
    }
    return "The swatch for " + judged.photos.front()->chip_name + " is " + listed(seen) + ": seen under these lights, the pair " + to_word(worst) +
           ".";
}

std::string report(const std::vector<Judged>& all, const std::vector<OnScreen>& screens, const std::filesystem::path& folder) {
    std::string text;
    for (const Judged& judged : all) {
        if (judged.photos.size() > 1) text += wrapped(headline(judged));
    }
    text += wrapped("The demo's photos (" + folder.string() +
                    ") show a 1:24 model of car no. 2 of the Marrowdale Funicular. They are rendered from spectra, so the truth is known: " +
                    summary_sentence(summarize(all))) +
            "\n";
    std::size_t number = 0;
    for (const Judged& judged : all) text += judged_text(judged, ++number);
    for (const OnScreen& screen : screens) {
        text += wrapped(std::to_string(++number) + ". " + screen.photo->chip_name + " as a screen shows it: " + screen.photo->file) + "\n";
        const auto sd = lab_sd(screen.reading);
        text += wrapped("It reads L* " + measured(screen.reading.lab.L, sd[0]) + ", a* " + measured(screen.reading.lab.a, sd[1]) + ", b* " +
                            measured(screen.reading.lab.b, sd[2]) + "; the picture holds " + lab_words(screen.photo->on_screen->lab) + ", " +
                            fixed(away(screen.reading, screen.photo->on_screen->lab), 1) +
                            " away. This is an appearance on screen, not a measurement of the paint.",
                        "   ");
        text += "\n";
    }
    text += wrapped(
        "± is one standard deviation; ranges are meant to hold the truth in 95 % of cases. holds: below 1, breaks: above 2 (CIEDE2000); ? where the "
        "range reaches farther.");
    return text +
           wrapped("Wet paint and unglossed paint are not the dry, glossed color: judge a dry swatch with the finish that the model will have.");
}

Json figure(double value) { return std::isfinite(value) ? Json(std::round(value * 1e4) / 1e4) : Json(nullptr); }
Json lab_figures(const Lab& color) { return Json::array({figure(color.L), figure(color.a), figure(color.b)}); }
Json reading_json(const Reading& reading, const Lab& truth) {
    const auto sd = lab_sd(reading);
    return {{"name", reading.name},
            {"lab", lab_figures(reading.lab)},
            {"lab_sd", Json::array({figure(sd[0]), figure(sd[1]), figure(sd[2])})},
            {"true_lab", lab_figures(truth)},
            {"de00_to_truth", figure(away(reading, truth))}};
}

std::string json_text(const std::vector<Judged>& all, const std::vector<OnScreen>& screens, const std::filesystem::path& folder) {
    Json comparisons = Json::array();
    for (const Judged& judged : all) {
        const Comparison& c = judged.comparison;
        Json files = Json::array(), lights = Json::array();
        for (const DemoPhoto* photo : judged.photos) files.push_back(photo->file);
        for (std::size_t i = 0; i < c.lights.size(); ++i) {
            const PairUnder& under = c.lights[i];
            lights.push_back({{"light", under.light},
                              {"kind", to_word(under.kind)},
                              {"de00", figure(under.de00)},
                              {"ci95", Json::array({figure(under.ci95.low), figure(under.ci95.high)})},
                              {"flag", to_word(under.flag)},
                              {"true_de00", judged.true_lights[i] ? figure(*judged.true_lights[i]) : Json(nullptr)}});
        }
        comparisons.push_back({{"chip", judged.photos.front()->chip_name},
                               {"files", std::move(files)},
                               {"methods", judged.methods},
                               {"lit_by", c.lit_by},
                               {"difference",
                                {{"de00", figure(c.difference.de00)},
                                 {"ci95", Json::array({figure(c.difference.ci95.low), figure(c.difference.ci95.high)})},
                                 {"verdict", to_word(c.difference.verdict)},
                                 {"words", c.difference.words},
                                 {"true_de00", figure(judged.true_de00)}}},
                               {"readings", Json::array({reading_json(c.chip, judged.photos.front()->chip->lab),
                                                         reading_json(c.swatch, judged.photos.front()->swatch->lab)})},
                               {"lights", std::move(lights)}});
    }
    Json on_screen = Json::array();
    for (const OnScreen& screen : screens) {
        Json one = reading_json(screen.reading, screen.photo->on_screen->lab);
        one["file"] = screen.photo->file;
        on_screen.push_back(std::move(one));
    }
    const Summary sum = summarize(all);
    const Json json{{"folder", folder.string()},
                    {"comparisons", std::move(comparisons)},
                    {"on_screen", std::move(on_screen)},
                    {"summary",
                     {{"pairs", sum.pairs},
                      {"pairs_held", sum.pairs_held},
                      {"lights", sum.lights},
                      {"lights_held", sum.lights_held},
                      {"color_de00_median", sum.colors.empty() ? Json(nullptr) : figure(sum.colors[sum.colors.size() / 2])},
                      {"color_de00_worst", sum.colors.empty() ? Json(nullptr) : figure(sum.colors.back())}}}};
    return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace

Result<Answer> run(const DemoRequest& request) {
    const std::filesystem::path folder = request.folder.empty() ? find_demo_folder() : request.folder;
    if (folder.empty()) return Error{Fault::file_missing, "", "demo", "its photos are not beside the program", "name their folder with --folder DIR"};
    const auto photos = read_truth(folder);
    if (!photos) return photos.error();

    std::map<const DemoPhoto*, CalibratedPhoto> opened;
    std::vector<Judged> all;
    std::vector<OnScreen> screens;
    std::vector<std::string> chips;                             // in the order they come
    std::map<std::string, std::vector<const DemoPhoto*>> same;  // photos of one pair
    for (const DemoPhoto& photo : *photos) {
        auto open = open_photo(photo.photo, Observer::degree2);
        if (!open) return open.error();
        const CalibratedPhoto& ready = opened.emplace(&photo, *std::move(open)).first->second;
        if (photo.on_screen) {
            auto reading = read_region(*ready.photo, ready.calibration, photo.chip_name, photo.on_screen->region, *light("D50"));
            if (!reading) return in_file(reading.error(), photo.photo.file);
            screens.push_back({&photo, *std::move(reading)});
        } else {
            if (same[photo.chip_name].empty()) chips.push_back(photo.chip_name);
            same[photo.chip_name].push_back(&photo);
        }
    }
    for (const std::string& chip : chips) {
        for (const DemoPhoto* photo : same[chip]) {
            auto judged = judge({photo}, opened);
            if (!judged) return judged.error();
            all.push_back(*std::move(judged));
        }
        if (same[chip].size() < 2) continue;
        auto judged = judge(same[chip], opened);
        if (!judged) return judged.error();
        all.push_back(*std::move(judged));
    }
    return Answer{request.json ? json_text(all, screens, folder) : report(all, screens, folder), {}, kDone};
}

}  // namespace sw
