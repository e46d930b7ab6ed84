#include "cli/mix_arguments.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "cli/files.hpp"
#include "cli/parser.hpp"
#include "cli/text.hpp"
#include "mix/pigment.hpp"

namespace sw::args {
namespace {

constexpr double kTypedSd = 0.5;       // of a color without --sd, as a target's
constexpr double kSpectrumSd = 0.003;  // of a reflectance; a usual instrument's repeatability with the sample's own, common practice, no source
constexpr double kMostMl = 100'000, kMostCm2 = 1e7;

struct PaintTexts {
    Texts maker, code, binder, finish, pigment, note, rename, white_word, shelf_word, drop_ml, drop_g, density, bottle, price, stock;
    Texts masstone, tint, over, spectrum, sd, white, film, coat, from, region, share;
    bool is_white = false;
};

/// Names with commas between, blanks around them taken off.
std::vector<std::string> names_in(const Texts& texts) {
    std::vector<std::string> names;
    for (const std::string& text : texts) {
        for (std::size_t at = 0; at <= text.size();) {
            const std::size_t comma = std::min(text.find(',', at), text.size());
            if (const std::string name(trimmed(text.substr(at, comma - at))); !name.empty()) names.push_back(name);
            at = comma + 1;
        }
    }
    return names;
}

Result<std::optional<double>> figure_of(const Texts& texts, const std::string& option, double example, double most) {
    if (texts.empty()) return std::optional<double>();
    const auto value = number_of(texts, option, example, most);
    if (!value) return value.error();
    return std::optional(*value);
}

std::optional<std::string> said(const Texts& texts) { return texts.empty() ? std::optional<std::string>() : std::string(trimmed(texts[0])); }

Result<std::optional<Finish>> finish_of(const Texts& texts, const std::string& option) {
    if (texts.empty()) return std::optional<Finish>();
    const auto known = finish(texts[0]);
    if (!known) return usage(option + " \"" + texts[0] + "\"", "is not a finish", "give matte, satin or gloss");
    return known;
}

/// What both paints' samples and pots' readings say of how the coat was laid. `over`: L,a,b of the undercoat.
Result<CoatLaid> laid_of(const Texts& film, const Texts& coat, const std::optional<Lab>& over) {
    CoatLaid laid;
    const auto microns = figure_of(film, "--film-um", 25, 10'000);
    if (!microns) return microns.error();
    laid.film_um = *microns;
    laid.under = over;
    if (laid.film_um && !laid.under) return usage("--film-um", "matters only where the ground shines through", "say what is under it with --over");
    const auto clear = finish_of(coat, "--coat");
    if (!clear) return clear.error();
    laid.coat = *clear;
    return laid;
}

/// "black", "white" or L,a,b. Black and white: of usual drawdown charts, common practice, no source.
Result<Lab> ground_of(const std::string& text, const std::string& option) {
    if (text == "black") return Lab{25, 0, 0};
    if (text == "white") return Lab{95, 0, 1};
    return parse_lab(text, option);
}

KeptSample typed_sample(const Lab& color, double share, double sd, const std::string& source) {
    KeptSample sample;
    sample.share = share;
    sample.lab = color;
    sample.lab.white = xyz(standard_light("D50"), Observer::degree2);
    sample.lab_covariance = Eigen::Matrix3d::Identity() * sd * sd;
    sample.source = source;
    return sample;
}

Result<KeptSample> measured_sample(const std::string& file, double share, double sd) {
    auto text = read_text_file(file);
    if (!text) return text.error();
    const auto table = parse_spectrum(*text, file);
    if (!table) return table.error();
    const auto surface = reflectance(*table, file);
    if (!surface) return surface.error();
    if (std::any_of(surface->value.begin(), surface->value.end(), [](double value) { return value > 1.05; }))
        return usage("\"" + file + "\"", "holds reflectances above 1, which no paint has without glowing",
                     "give them as parts of 1; measure anew where they are");
    const Light d50 = standard_light("D50");
    KeptSample sample;
    sample.share = share;
    sample.lab = lab(xyz(*surface, d50, Observer::degree2), xyz(d50, Observer::degree2));
    constexpr double kPointsOfLab = 100;  // a reflectance off by 0.01 at all wavelengths is some point of L*
    sample.lab_covariance = Eigen::Matrix3d::Identity() * std::pow(kPointsOfLab * sd, 2);
    sample.spectrum = *std::move(text);
    sample.spectrum_sd = sd;
    sample.source = file;
    return sample;
}

/// SHARE=WHAT at the first "=".
Result<std::pair<double, std::string>> tint_of(const std::string& text) {
    const std::size_t equals = text.find('=');
    const auto share = equals == std::string::npos ? std::nullopt : parse_number(text.substr(0, equals));
    if (!share || !(*share > 0 && *share < 1))
        return usage("--tint \"" + text + "\"", "does not begin with a share above 0 and below 1",
                     "write SHARE=L,a,b or SHARE=FILE, like 0.1=62,20,-8 for one part in ten, the rest white");
    return std::pair(*share, text.substr(equals + 1));
}

Result<Done> samples_of(PaintRequest& request, const PaintTexts& texts, const PhotoOptions& options) {
    const bool measured = !texts.spectrum.empty();
    if (measured && !texts.masstone.empty()) return usage("--masstone", "is given beside --spectrum", "give one of the two");
    const auto sd = number_of(texts.sd, "--sd", measured ? kSpectrumSd : kTypedSd, measured ? 1 : 50);
    if (!sd) return sd.error();
    const auto laid = laid_of({}, texts.coat, {});
    if (!laid) return laid.error();
    const auto keep = [&](KeptSample sample) {
        sample.laid.coat = laid->coat;
        request.samples.push_back(std::move(sample));
    };
    const std::string source = texts.sd.empty() ? "typed; ± " + brief(kTypedSd) + " assumed" : "typed";
    if (!texts.masstone.empty()) {
        const auto color = parse_lab(texts.masstone[0], "--masstone");
        if (!color) return color.error();
        keep(typed_sample(*color, 1, *sd, source));
    }
    if (measured) {
        auto sample = measured_sample(texts.spectrum[0], 1, *sd);
        if (!sample) return sample.error();
        keep(*std::move(sample));
    }
    for (const std::string& text : texts.tint) {
        const auto tint = tint_of(text);
        if (!tint) return tint.error();
        const auto figures = parse_numbers(tint->second);
        if (figures && figures->size() == 3) {
            if (measured && !texts.sd.empty())
                return usage("--tint \"" + text + "\"", "is a color beside a measured masstone, and --sd would be of both",
                             "give it with a command of its own: swatchwright paint measure");
            const auto color = parse_lab(tint->second, "--tint");
            if (!color) return color.error();
            keep(typed_sample(*color, tint->first, measured ? kTypedSd : *sd, source));
        } else {
            auto sample = measured_sample(tint->second, tint->first, measured ? *sd : kSpectrumSd);
            if (!sample) return sample.error();
            keep(*std::move(sample));
        }
    }
    std::int64_t film = 0;
    for (const std::string& text : texts.over) {
        const std::size_t equals = text.find('=');
        if (equals == std::string::npos)
            return usage("--over \"" + text + "\"", "does not say ground and color", "write black=L,a,b, white=L,a,b or L,a,b=L,a,b (ground=film)");
        const auto ground = ground_of(text.substr(0, equals), "--over");
        if (!ground) return ground.error();
        const auto color = parse_lab(text.substr(equals + 1), "--over");
        if (!color) return color.error();
        const auto film_laid = laid_of(texts.film, texts.coat, *ground);
        if (!film_laid) return film_laid.error();
        KeptSample sample = typed_sample(*color, 1, *sd, source);
        sample.laid = *film_laid;
        sample.film = film = 1;  // one film over all these grounds; the command numbers it
        request.samples.push_back(std::move(sample));
    }
    if (film == 0 && !texts.film.empty())
        return usage("--film-um", "matters only where the ground shines through", "say what is under it with --over");
    if (!texts.from.empty()) {
        if (texts.region.empty()) return usage("paint", "does not say where in the photo the paint is", "add --region REGION");
        const auto share = number_of(texts.share, "--share", 1, 1);
        if (!share) return share.error();
        auto place = region_of(texts.region[0], "region");
        if (!place) return place.error();
        auto photo = photo_of(texts.from[0], options);
        if (!photo) return photo.error();
        request.photo = PlaceInPhoto{*std::move(photo), *std::move(place)};
        request.photo_share = *share;
        request.photo_laid = *laid;
    } else if (!texts.region.empty() || !texts.share.empty() || options.any() || !options.transfer.empty()) {
        return usage("paint", "has photo options and no photo", "add --from PHOTO, or leave them out");
    }
    if (!texts.sd.empty() && request.samples.empty()) return usage("--sd", "is for typed or measured colors", "leave it out");
    request.sd_assumed = texts.sd.empty() && !measured && !request.samples.empty();
    request.white = texts.white.empty() ? "" : std::string(trimmed(texts.white[0]));
    return Done{};
}

Result<bool> yes_or_no(const std::string& text, const std::string& option) {
    if (text == "yes") return true;
    if (text == "no") return false;
    return usage(option + " \"" + text + "\"", "is neither yes nor no", "give yes or no");
}

Result<Done> description_of(PaintRequest& request, const PaintTexts& texts) {
    request.maker = said(texts.maker);
    request.code = said(texts.code);
    request.binder = said(texts.binder);
    request.note = said(texts.note);
    request.rename = said(texts.rename);
    if (!texts.pigment.empty()) {
        std::string names;
        for (const std::string& name : names_in(texts.pigment)) names += (names.empty() ? "" : " ") + name;
        request.pigments = names;
    }
    const auto finish = finish_of(texts.finish, "--finish");
    if (!finish) return finish.error();
    request.finish = *finish;
    if (texts.is_white) request.is_white = true;
    if (!texts.white_word.empty()) {
        const auto yes = yes_or_no(texts.white_word[0], "--is-white");
        if (!yes) return yes.error();
        request.is_white = *yes;
    }
    if (!texts.shelf_word.empty()) {
        const auto yes = yes_or_no(texts.shelf_word[0], "--on-shelf");
        if (!yes) return yes.error();
        request.on_shelf = *yes;
    }
    for (const auto& [option, text, example, most, into] : {std::tuple{"--drop-ml", &texts.drop_ml, 0.05, 5.0, &request.drop_ml},
                                                            {"--drop-g", &texts.drop_g, 0.06, 10.0, &request.drop_g},
                                                            {"--density", &texts.density, 1.2, 5.0, &request.density},
                                                            {"--bottle-ml", &texts.bottle, 17.0, kMostMl, &request.bottle_ml},
                                                            {"--price", &texts.price, 3.5, 1e9, &request.price},
                                                            {"--stock-ml", &texts.stock, 8.0, 1e6, &request.stock_ml}}) {
        const auto figure = figure_of(*text, option, example, most);
        if (!figure) return figure.error();
        *into = *figure;
    }
    if (request.drop_g && request.drop_ml) return usage("--drop-g", "is given beside --drop-ml", "give one of the two");
    return Done{};
}

}  // namespace

Result<Request> parse_paint(const Texts& arguments) {
    Parser parser("paint", true, true);
    Texts action, name, forget, recall;
    PaintTexts texts;
    PhotoOptions options;
    PaintRequest request;
    parser.positional("ACTION", action, "add, list, show, set, measure, learn or remove");
    parser.positionals("NAME", name, "The paint's name");
    parser.option("masstone", "L,a,b", texts.masstone, "Its color painted out to hiding, dry (D50, 2 degrees)");
    parser.option("spectrum", "FILE", texts.spectrum, "The same measured: a CSV file with lines nm,reflectance");
    parser.option("tint", "SHARE=L,a,b|FILE", texts.tint, "Let down with white: its share by volume, and how that looks. May be repeated");
    parser.option("white", "NAME", texts.white, "The paint that the tints are let down with (if not said: the shelf's white)");
    parser.option("over", "GROUND=L,a,b", texts.over,
                  "A film that does not hide, over black, over white, or over a ground of L,a,b. May be repeated: one film over several grounds");
    parser.option("film-um", "MICRONS", texts.film, "How thick that film is, dry");
    parser.option("coat", "FINISH", texts.coat, "What was read lies under a clear coat: matte, satin or gloss");
    parser.option("sd", "S", texts.sd,
                  "How well these are known: in each of L*, a*, b* (0.5 is assumed if not said); of a spectrum, its reflectance (0.003)");
    parser.option("from", "PHOTO", texts.from, "Read it from this photo");
    parser.option("region", "REGION", texts.region, "Where in the photo");
    parser.option("share", "SHARE", texts.share, "With --from: its share by volume in white, where the photo shows a tint");
    parser.option("pigment", "INDEXNAME", texts.pigment, "Generic name of the Colour Index, like PW6 or PB15:3. May be repeated");
    parser.option("maker", "TEXT", texts.maker, "Whose it is");
    parser.option("code", "TEXT", texts.code, "The maker's number for it");
    parser.option("binder", "TEXT", texts.binder, "acrylic, lacquer, enamel ... Unlike ones are not mixed on the tool's word");
    parser.option("finish", "FINISH", texts.finish, "matte, satin or gloss");
    parser.option("is-white", "yes|no", texts.white_word,
                  "It is the shelf's white (if not said of any: what tints were let down with, else the lightest)");
    parser.option("drop-ml", "V", texts.drop_ml, "What a drop of it holds (0.05 is assumed if not said)");
    parser.option("drop-g", "G", texts.drop_g, "The same weighed; with --density");
    parser.option("density", "G/ML", texts.density, "Grams a milliliter, so that recipes can be weighed");
    parser.option("bottle-ml", "V", texts.bottle, "What a full bottle holds");
    parser.option("price", "P", texts.price, "What that costs, in your money");
    parser.option("stock-ml", "V", texts.stock, "What is left; what goes into pots from now on is taken off");
    parser.option("note", "TEXT", texts.note, "A word about it");
    parser.option("rename", "NAME", texts.rename, "set: its new name");
    parser.option("on-shelf", "yes|no", texts.shelf_word, "set: no for one that is used up; pots still name it");
    parser.option("forget", "POT", forget, "learn: this pot's readings teach nothing any more. May be repeated");
    parser.option("recall", "POT", recall, "learn: they teach again. May be repeated");
    parser.flag("reset", request.reset, "learn: no pot so far teaches anything any more");
    options.add_to(parser);
    parser.flag("json", request.json, "One JSON object on standard output");
    for (const auto& [option, values] : {std::pair{"--masstone", &texts.masstone},
                                         {"--spectrum", &texts.spectrum},
                                         {"--white", &texts.white},
                                         {"--film-um", &texts.film},
                                         {"--coat", &texts.coat},
                                         {"--sd", &texts.sd},
                                         {"--from", &texts.from},
                                         {"--region", &texts.region},
                                         {"--share", &texts.share},
                                         {"--maker", &texts.maker},
                                         {"--code", &texts.code},
                                         {"--binder", &texts.binder},
                                         {"--finish", &texts.finish},
                                         {"--is-white", &texts.white_word},
                                         {"--drop-ml", &texts.drop_ml},
                                         {"--drop-g", &texts.drop_g},
                                         {"--density", &texts.density},
                                         {"--bottle-ml", &texts.bottle},
                                         {"--price", &texts.price},
                                         {"--stock-ml", &texts.stock},
                                         {"--note", &texts.note},
                                         {"--rename", &texts.rename},
                                         {"--on-shelf", &texts.shelf_word}})
        parser.once(option, *values);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    static constexpr std::pair<const char*, PaintAction> kActions[] = {
        {"add", PaintAction::add},         {"list", PaintAction::list},   {"show", PaintAction::show},    {"set", PaintAction::set},
        {"measure", PaintAction::measure}, {"learn", PaintAction::learn}, {"remove", PaintAction::remove}};
    const std::string form = "write swatchwright paint add, list, show, set, measure, learn or remove";
    if (action.empty()) return usage("paint", "says not what to do", form);
    const auto* const found = std::find_if(std::begin(kActions), std::end(kActions), [&](const auto& one) { return action[0] == one.first; });
    if (found == std::end(kActions)) return usage("paint \"" + action[0] + "\"", "is not something to do with paints", form);
    request.action = found->second;
    const bool named = request.action != PaintAction::list && request.action != PaintAction::learn;
    if (named == name.empty())
        return usage("paint " + action[0], named ? "needs the paint's name" : "takes no name",
                     "write swatchwright paint " + action[0] + (named ? " NAME" : ""));
    for (; name.size() > 1 && !texts.pigment.empty() && pigment_class(name.back()); name.pop_back())
        texts.pigment.push_back(name.back());  // --pigment PW6 PY42
    if (name.size() > 1)
        return usage("paint " + action[0], "does not know what to do with " + listed(Texts(name.begin() + 1, name.end())),
                     "put a name of several words into quotes");
    if (named) request.name = std::string(trimmed(name[0]));
    if (const auto book = name_workbook(request, options.workbook); !book) return book.error();
    if (const auto read = samples_of(request, texts, options); !read) return read.error();
    if (const auto read = description_of(request, texts); !read) return read.error();
    request.forget = forget;
    request.recall = recall;

    const bool add = request.action == PaintAction::add, set = request.action == PaintAction::set, measure = request.action == PaintAction::measure;
    const bool seen = !request.samples.empty() || request.photo, learns = !forget.empty() || !recall.empty() || request.reset;
    const bool described = request.maker || request.code || request.binder || request.pigments || request.note || request.finish ||
                           request.is_white || request.drop_ml || request.drop_g || request.density || request.bottle_ml || request.price ||
                           request.stock_ml;
    if ((seen && !add && !measure) || (described && !add && !set) || ((request.rename || request.on_shelf) && !set) ||
        (learns && request.action != PaintAction::learn))
        return usage("paint " + action[0], "takes fewer options", parser.see());
    if (measure && !seen)
        return usage("paint measure", "says not what it looks like", "give --masstone, --tint, --over, --spectrum or --from PHOTO --region REGION");
    if (set && !described && !request.rename && !request.on_shelf) return usage("paint set", "says not what is new", parser.see());
    if (add && !seen && (!request.pigments || request.pigments->empty()))
        return usage("paint add", "says nothing of its color",
                     "give --masstone L,a,b, --spectrum FILE, --from PHOTO --region REGION or, where nothing was seen yet, --pigment INDEXNAME");
    if (request.reset && (!forget.empty() || !recall.empty())) return usage("--reset", "is given beside --forget or --recall", "give one of them");
    return Request{std::move(request)};
}

namespace {

/// "3", "1.5ml", "2.1g".
Result<Done> amount_of(MixRequest& request, const std::string& text) {
    const std::string word(trimmed(text));
    const std::size_t digits = std::min(word.find_first_not_of("0123456789.+-eE"), word.size());
    const auto value = parse_number(word.substr(0, digits));
    const std::string unit(trimmed(word.substr(digits)));
    const bool drops = unit.empty() || unit == "drop" || unit == "drops";
    const std::string remedy = "give whole drops, like 3, or 1.5ml or 2.1g";
    if (!value || (!drops && unit != "ml" && unit != "g")) return usage("\"" + text + "\"", "is not an amount", remedy);
    if (!(*value > 0) || *value > kMostMl) return usage("\"" + text + "\"", "is not above 0 and up to " + brief(kMostMl), remedy);
    if (drops && *value != std::floor(*value)) return usage("\"" + text + "\"", "is not a whole number of drops", remedy);
    request.amount = *value;
    request.unit = drops ? "drops" : unit;
    return Done{};
}

Result<std::vector<std::pair<std::string, double>>> shares_in(const Texts& texts) {
    std::vector<std::pair<std::string, double>> shares;
    for (const std::string& text : texts) {
        const std::size_t equals = text.rfind('=');
        const auto share = equals == std::string::npos ? std::nullopt : parse_number(text.substr(equals + 1));
        if (!share || !(*share >= 0) || equals == 0)
            return usage("--share \"" + text + "\"", "is not a paint and its share", "write PAINT=SHARE, like 'Titanium White=60', in any unit");
        shares.emplace_back(std::string(trimmed(text.substr(0, equals))), *share);
    }
    return shares;
}

Result<int> whole_of(const Texts& texts, const std::string& option, int otherwise, int most) {
    const auto value = number_of(texts, option, otherwise, most);
    if (!value) return value.error();
    if (*value != std::floor(*value))
        return usage(option + " \"" + texts[0] + "\"", "is not a whole number", "give one like " + std::to_string(otherwise));
    return static_cast<int>(*value);
}

struct MixWord {
    const char* word;
    MixAction action;
    std::size_t least, most;  // words after it
    const char* form;
};
constexpr std::array<MixWord, 11> kMixWords{{{"suggest", MixAction::suggest, 0, 1, "suggest TARGET"},
                                             {"start", MixAction::start, 1, 1, "start POT --target TARGET"},
                                             {"add", MixAction::add, 1, 3, "add POT PAINT DROPS"},
                                             {"take", MixAction::take, 2, 2, "take POT AMOUNT"},
                                             {"read", MixAction::read, 1, 1, "read POT --lab L,a,b"},
                                             {"next", MixAction::next, 1, 1, "next POT"},
                                             {"scale", MixAction::scale, 0, 1, "scale POT --ml V"},
                                             {"log", MixAction::log, 1, 1, "log POT"},
                                             {"explain", MixAction::explain, 1, 1, "explain POT"},
                                             {"list", MixAction::list, 0, 0, "list"},
                                             {"remove", MixAction::remove, 1, 1, "remove POT"}}};

struct MixTexts {
    Texts target, batch, under, tolerance, paints, most_paints, drops, note, typed, sd, from, region, over, film, coat, share, ml, cm2, coats,
        coverage, loss, most, take;
    bool let_downs = false, unknown = false, wet = false, one = false, two = false;
};

Result<Done> reading_of(MixRequest& request, const MixTexts& texts, const PhotoOptions& options) {
    if (texts.typed.empty() == texts.from.empty())
        return usage("mix read", texts.typed.empty() ? "says no color" : "says two colors",
                     "give either --lab L,a,b or --from PHOTO --region REGION");
    std::optional<Lab> under;
    if (!texts.over.empty()) {
        const auto ground = ground_of(texts.over[0], "--over");
        if (!ground) return ground.error();
        under = *ground;
    }
    const auto laid = laid_of(texts.film, texts.coat, under);
    if (!laid) return laid.error();
    request.laid = *laid;
    if (!texts.typed.empty()) {
        if (!texts.region.empty() || options.any() || !options.transfer.empty())
            return usage("mix read", "--lab needs no photo options", "leave them out, or use --from PHOTO");
        auto color = parse_lab(texts.typed[0], "--lab");
        if (!color) return color.error();
        color->white = xyz(standard_light("D50"), Observer::degree2);
        request.typed = *color;
        const auto sd = number_of(texts.sd, "--sd", kTypedSd, 50);
        if (!sd) return sd.error();
        request.sd = *sd;
        request.sd_assumed = texts.sd.empty();
        return Done{};
    }
    if (!texts.sd.empty()) return usage("--sd", "is for a typed color", "leave it out: a reading brings its own spread");
    if (texts.region.empty()) return usage("mix read", "does not say where in the photo the test piece is", "add --region REGION");
    auto place = region_of(texts.region[0], "region");
    if (!place) return place.error();
    auto photo = photo_of(texts.from[0], options);
    if (!photo) return photo.error();
    request.photo = PlaceInPhoto{*std::move(photo), *std::move(place)};
    return Done{};
}

Result<Done> scaling_of(MixRequest& request, const MixTexts& texts) {
    const auto shares = shares_in(texts.share);
    if (!shares) return shares.error();
    request.shares = *shares;
    if (request.shares.empty() == request.name.empty())
        return usage("mix scale", request.name.empty() ? "says not what to scale" : "has a pot and shares as well",
                     "write swatchwright mix scale POT, or --share PAINT=SHARE for each paint");
    for (const auto& [option, text, example, most, into] : {std::tuple{"--ml", &texts.ml, 15.0, kMostMl, &request.ml},
                                                            {"--drops", &texts.drops, 40.0, 1e6, &request.drops},
                                                            {"--cm2", &texts.cm2, 250.0, kMostCm2, &request.cm2}}) {
        const auto figure = figure_of(*text, option, example, most);
        if (!figure) return figure.error();
        *into = *figure;
    }
    if (request.ml.has_value() + request.drops.has_value() + request.cm2.has_value() != 1)
        return usage("mix scale", "says not how much to make", "give one of --ml V, --drops N and --cm2 AREA --coverage CM2_A_ML");
    const auto coats = number_of(texts.coats, "--coats", request.coats, 100);
    if (!coats) return coats.error();
    request.coats = *coats;
    if (request.cm2 && texts.coverage.empty())
        return usage("mix scale", "does not say how far a milliliter goes", "add --coverage CM2_A_ML, as the paint's data sheet has it, or by trial");
    if (!request.cm2 && !(texts.coverage.empty() && texts.coats.empty() && texts.loss.empty()))
        return usage("mix scale", "has a coverage and no area", "give --cm2 AREA, or leave out --coats, --coverage and --loss");
    const auto coverage = number_of(texts.coverage, "--coverage", 60, 1e5);
    if (!coverage) return coverage.error();
    request.coverage = *coverage;
    if (!texts.loss.empty()) {
        const auto loss = parse_number(texts.loss[0]);
        if (!loss || !(*loss >= 0 && *loss < 1))
            return usage("--loss \"" + texts.loss[0] + "\"", "is not a share of 0 up to below 1", "give one like 0.4 for 40 % lost past the part");
        request.loss = *loss;
    }
    return Done{};
}

Result<Done> addition_of(MixRequest& request, const MixTexts& texts, const Texts& words) {
    const std::string form = "write swatchwright mix add POT PAINT DROPS, or mix add POT [PAINT] --unknown where nobody counted";
    request.unknown = texts.unknown;
    if (texts.unknown) {
        if (words.size() > 2) return usage("mix add", "says how much, and that nobody knows", form);
        if (words.size() > 1) request.paint = std::string(trimmed(words[1]));
        return Done{};
    }
    if (words.size() < 3) return usage("mix add", words.size() < 2 ? "says not which paint" : "says not how much", form);
    request.paint = std::string(trimmed(words[1]));
    return amount_of(request, words[2]);
}

}  // namespace

Result<Request> parse_mix(const Texts& arguments) {
    Parser parser("mix", true, true);
    Texts action, words;
    MixTexts texts;
    PhotoOptions options;
    MixRequest request;
    parser.positional("ACTION", action, "suggest, start, add, take, read, next, scale, log, explain, list or remove");
    parser.positionals("WORDS", words, "suggest: the target. Else the pot; add: then the paint, and drops, or an amount like 1.5ml or 2.1g");
    parser.option("target", "TARGET", texts.target, "start: what the pot is to become");
    parser.option("batch-of", "POT", texts.batch, "start, suggest: it is to look like an earlier pot, as that one came out");
    parser.option("tolerance", "T", texts.tolerance, "The largest CIEDE2000 you accept (if not said: the pot's, else 2)");
    parser.option("under", "LIGHT", texts.under,
                  "A light to match under, the first most of all. May be repeated (if not said: the target's own, and LED-B3 as a bench lamp)");
    parser.option("paints", "A,B,...", texts.paints, "suggest, next: only these paints");
    parser.option("max-paints", "K", texts.most_paints, "suggest, next: at most so many paints, 1 to 4 (3 if not said)");
    parser.option("drops", "N", texts.drops, "suggest: at most so many drops, 1 to 60 (20 if not said). scale: so many");
    parser.flag("let-downs", texts.let_downs, "suggest: strong paints let down 1:10 with white beforehand are offered too");
    parser.flag("unknown", texts.unknown, "add: something went in and nobody counted");
    parser.option("note", "TEXT", texts.note, "start, add, take: a word about it");
    parser.option("lab", "L,a,b", texts.typed, "read: the dry test piece (D50, 2 degrees)");
    parser.option("sd", "S", texts.sd, "read: its standard deviation in each of L*, a*, b* (0.5 is assumed if not said)");
    parser.option("from", "PHOTO", texts.from, "read: from this photo");
    parser.option("region", "REGION", texts.region, "read: where in the photo");
    parser.flag("wet", texts.wet, "read: it is wet. Kept, but never held against a dry color");
    parser.option("over", "black|white|L,a,b", texts.over, "read: what shines through where the coat does not hide");
    parser.option("film-um", "MICRONS", texts.film, "read: how thick that coat is, dry");
    parser.option("coat", "FINISH", texts.coat, "read: it lies under a clear coat: matte, satin or gloss");
    parser.option("share", "PAINT=SHARE", texts.share, "scale: a recipe by shares in place of a pot. May be repeated; they need not add up to 100");
    parser.option("ml", "V", texts.ml, "scale: so many milliliters");
    parser.option("cm2", "AREA", texts.cm2, "scale: enough for this area");
    parser.option("coats", "N", texts.coats, "scale: with so many coats (2 if not said)");
    parser.option("coverage", "CM2_A_ML", texts.coverage, "scale: how far a milliliter goes, one coat");
    parser.option("loss", "SHARE", texts.loss, "scale: what is sprayed past or stays in the cup (0 if not said)");
    parser.flag("one", texts.one, "explain: it was one paint");
    parser.flag("two", texts.two, "explain: it was two");
    parser.option("most", "DROPS", texts.most, "explain: at most so many drops of each, 1 to 20 (8 if not said)");
    parser.option("take", "N", texts.take, "explain: keep the Nth of these as what it was");
    options.add_to(parser);
    parser.flag("json", request.json, "One JSON object on standard output");
    for (const auto& [option, values] : {std::pair{"--target", &texts.target},
                                         {"--batch-of", &texts.batch},
                                         {"--tolerance", &texts.tolerance},
                                         {"--drops", &texts.drops},
                                         {"--lab", &texts.typed},
                                         {"--max-paints", &texts.most_paints},
                                         {"--sd", &texts.sd},
                                         {"--from", &texts.from},
                                         {"--region", &texts.region},
                                         {"--over", &texts.over},
                                         {"--film-um", &texts.film},
                                         {"--coat", &texts.coat},
                                         {"--ml", &texts.ml},
                                         {"--cm2", &texts.cm2},
                                         {"--coats", &texts.coats},
                                         {"--coverage", &texts.coverage},
                                         {"--loss", &texts.loss},
                                         {"--most", &texts.most},
                                         {"--take", &texts.take},
                                         {"--note", &texts.note}})
        parser.once(option, *values);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    Texts known;
    for (const MixWord& one : kMixWords) known.emplace_back(one.word);
    if (action.empty()) return usage("mix", "says not what to do", "write swatchwright mix and one of " + listed(known));
    const auto* const found = std::find_if(kMixWords.begin(), kMixWords.end(), [&](const MixWord& one) { return action[0] == one.word; });
    if (found == kMixWords.end()) return usage("mix \"" + action[0] + "\"", "is not something to do with a mix", "write one of " + listed(known));
    request.action = found->action;
    if (words.size() < found->least || words.size() > found->most)
        return usage("mix " + action[0], words.size() < found->least ? "needs more words" : "does not know what to do with " + listed({words.back()}),
                     "write swatchwright mix " + std::string(found->form));
    if (!words.empty()) request.name = std::string(trimmed(words[0]));
    if (const auto book = name_workbook(request, options.workbook); !book) return book.error();

    // Each action takes its own options only.
    const auto is = [&](std::initializer_list<MixAction> actions) {
        return std::find(actions.begin(), actions.end(), request.action) != actions.end();
    };
    using enum MixAction;
    const bool stray =
        (!texts.target.empty() && !is({start})) || (!texts.batch.empty() && !is({start, suggest})) ||
        (!(texts.under.empty() && texts.tolerance.empty()) && !is({start, suggest, next, read})) ||
        (!(texts.paints.empty() && texts.most_paints.empty()) && !is({suggest, next})) || (!texts.drops.empty() && !is({suggest, scale})) ||
        (texts.let_downs && !is({suggest})) || (texts.unknown && !is({add})) || (!texts.note.empty() && !is({start, add, take})) ||
        (!(texts.typed.empty() && texts.sd.empty() && texts.from.empty() && texts.region.empty() && texts.over.empty() && texts.film.empty() &&
           texts.coat.empty() && options.transfer.empty()) &&
         !is({read})) ||
        ((texts.wet || options.any()) && !is({read})) ||
        (!(texts.share.empty() && texts.ml.empty() && texts.cm2.empty() && texts.coats.empty() && texts.coverage.empty() && texts.loss.empty()) &&
         !is({scale})) ||
        ((texts.one || texts.two || !texts.most.empty() || !texts.take.empty()) && !is({explain}));
    if (stray) return usage("mix " + action[0], "takes fewer options", parser.see());

    auto lights = lights_of(texts.under, "--under", options.workbook);
    if (!lights) return lights.error();
    request.under = *std::move(lights);
    request.lights = texts.under;
    const auto tolerance = figure_of(texts.tolerance, "--tolerance", 2, 100);
    if (!tolerance) return tolerance.error();
    request.tolerance = *tolerance;
    request.note = texts.note.empty() ? "" : std::string(trimmed(texts.note[0]));
    request.target = texts.target.empty() ? "" : std::string(trimmed(texts.target[0]));
    request.batch_of = texts.batch.empty() ? "" : std::string(trimmed(texts.batch[0]));
    request.wet = texts.wet;
    request.options.paints = names_in(texts.paints);
    request.options.let_downs = texts.let_downs;
    const auto most_paints = whole_of(texts.most_paints, "--max-paints", 3, 4);
    if (!most_paints) return most_paints.error();
    request.options.most_paints = *most_paints;
    if (is({suggest})) {
        const auto drops = whole_of(texts.drops, "--drops", 20, kMostDrops);
        if (!drops) return drops.error();
        request.options.drops = *drops;
        if (request.name.empty() == request.batch_of.empty())
            return usage("mix suggest", request.name.empty() ? "names no target" : "has a target and a pot to look like",
                         "write swatchwright mix suggest TARGET, or mix suggest --batch-of POT");
    }
    if (is({start}) && !request.target.empty() && !request.batch_of.empty())
        return usage("mix start", "has a target and a pot to look like", "give one of --target and --batch-of");
    if (is({start}) && request.target.empty() && request.batch_of.empty())
        return usage("mix start", "says not what the pot is to become", "add --target TARGET, or --batch-of POT");
    Result<Done> more = Done{};
    if (is({add})) more = addition_of(request, texts, words);
    if (is({take})) more = amount_of(request, words[1]);
    if (is({MixAction::read})) more = reading_of(request, texts, options);
    if (is({scale})) more = scaling_of(request, texts);
    if (!more) return more.error();
    if (texts.one && texts.two) return usage("mix explain", "was one paint and two", "give one of --one and --two, or neither");
    request.how_many = texts.one ? 1 : texts.two ? 2 : 0;
    const auto most = whole_of(texts.most, "--most", 8, 20);
    if (!most) return most.error();
    request.most_drops = *most;
    const auto kept = whole_of(texts.take, "--take", 1, 1000);
    if (!kept) return kept.error();
    request.take = texts.take.empty() ? 0 : *kept;
    return Request{std::move(request)};
}

}  // namespace sw::args
