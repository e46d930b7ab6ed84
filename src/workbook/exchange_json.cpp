#include "workbook/exchange_json.hpp"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "workbook/base64.hpp"

namespace sw {
namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kFormat = "swatchwright-workbook";
constexpr int kDeepest = 16;
constexpr std::size_t kMostThings = 200'000;

// ---- out

Json color_json(const Lab& color, const Eigen::Matrix3d& covariance) {
    Json upper = Json::array();
    for (int row = 0; row < 3; ++row) {
        for (int column = row; column < 3; ++column) upper.push_back(covariance(row, column));
    }
    return {{"lab", {color.L, color.a, color.b}}, {"white", {color.white.X, color.white.Y, color.white.Z}}, {"covariance", upper}};
}

Json optional_json(const std::optional<double>& figure) { return figure ? Json(*figure) : Json(nullptr); }

Json link_json(const std::optional<std::int64_t>& id) { return id ? Json(*id) : Json(nullptr); }

Json thing_json(const Target& target) {
    Json json{{"id", target.id}, {"name", target.name}};
    json.update(color_json(target.lab, target.lab_covariance));
    json.update(Json{{"kind", to_word(target.kind)},
                     {"light", target.light},
                     {"observer", target.observer == Observer::degree10 ? 10 : 2},
                     {"source", target.source},
                     {"created", target.created},
                     {"spectrum", target.spectrum},
                     {"caution", target.caution}});
    return json;
}

Json thing_json(const KeptReading& reading) {
    Json json{{"id", reading.id}, {"target", link_json(reading.target)}, {"name", reading.name}};
    json.update(color_json(reading.lab, reading.lab_covariance));
    json.update(Json{{"light", reading.light},
                     {"photo_file", reading.photo_file},
                     {"photo_hash", reading.photo_hash},
                     {"region", reading.region},
                     {"calibration", reading.calibration_json},
                     {"de00", optional_json(reading.de00)},
                     {"ci_low", optional_json(reading.ci_low)},
                     {"ci_high", optional_json(reading.ci_high)},
                     {"verdict", reading.verdict},
                     {"created", reading.created}});
    return json;
}

Json thing_json(const Card& card) {
    Json json;
    json["name"] = card.name;
    if (const auto* lrv = std::get_if<Lrv>(&card.value)) json["lrv"] = lrv->value;
    if (const auto* color = std::get_if<Lab>(&card.value)) json["lab"] = {color->L, color->a, color->b};
    if (const auto* spectrum = std::get_if<SpectrumText>(&card.value)) json["spectrum"] = spectrum->csv;
    json.update(Json{{"sd", card.sd}, {"sd_assumed", card.sd_assumed}, {"source", card.source}, {"created", card.created}});
    return json;
}

Json thing_json(const Lamp& lamp) {
    return {{"name", lamp.name}, {"light", lamp.light}, {"spectrum", lamp.spectrum}, {"source", lamp.source}, {"created", lamp.created}};
}

Json thing_json(const Part& part) {
    return {{"id", part.id},
            {"name", part.name},
            {"parent", link_json(part.parent)},
            {"target", link_json(part.target)},
            {"status", to_word(part.status)},
            {"note", part.note},
            {"created", part.created}};
}

Json thing_json(const KeptPhoto& photo) {
    return {{"path", photo.path},
            {"hash", photo.hash},
            {"bytes", photo.bytes},
            {"width", photo.width},
            {"height", photo.height},
            {"camera", photo.camera},
            {"lens", photo.lens},
            {"taken", photo.taken},
            {"iso", optional_json(photo.iso)},
            {"exposure_s", optional_json(photo.exposure_s)},
            {"f_number", optional_json(photo.f_number)},
            {"focal_mm", optional_json(photo.focal_mm)},
            {"thumbnail", to_base64(photo.thumbnail)},
            {"created", photo.created}};
}

Json thing_json(const KeptSetup& setup) {
    return {{"name", setup.name},   {"photo_file", setup.photo_file}, {"photo_hash", setup.photo_hash},
            {"light", setup.light}, {"method", setup.method},         {"grade", setup.grade},
            {"setup", setup.json},  {"created", setup.created}};
}

Json thing_json(const Note& note) {
    return {{"target", link_json(note.target)},
            {"part", link_json(note.part)},
            {"reading", link_json(note.reading)},
            {"text", note.text},
            {"created", note.created}};
}

std::string finish_text(const std::optional<Finish>& finish) { return finish ? to_word(*finish) : std::string(); }

Json laid_json(const CoatLaid& laid) {
    return {{"film_um", optional_json(laid.film_um)},
            {"film_cv", optional_json(laid.film_cv)},
            {"under", laid.under ? Json{laid.under->L, laid.under->a, laid.under->b} : Json(nullptr)},
            {"coat", finish_text(laid.coat)}};
}

Json thing_json(const KeptPaint& paint) {
    return {{"id", paint.id},
            {"name", paint.name},
            {"maker", paint.maker},
            {"code", paint.code},
            {"binder", paint.binder},
            {"finish", finish_text(paint.finish)},
            {"pigments", paint.pigments},
            {"white", paint.white},
            {"on_shelf", paint.on_shelf},
            {"drop_ml", optional_json(paint.drop_ml)},
            {"drop_cv", optional_json(paint.drop_cv)},
            {"density", optional_json(paint.density)},
            {"bottle_ml", optional_json(paint.bottle_ml)},
            {"price", optional_json(paint.price)},
            {"stock_ml", optional_json(paint.stock_ml)},
            {"stock_said", paint.stock_said},
            {"note", paint.note},
            {"source", paint.source},
            {"created", paint.created}};
}

Json thing_json(const KeptSample& sample) {
    Json json{{"paint", sample.paint}, {"share", sample.share}, {"white", link_json(sample.white)}};
    json.update(color_json(sample.lab, sample.lab_covariance));
    json["white_point"] = json["white"];  // the light's white; "white" is the paint
    json["white"] = link_json(sample.white);
    json.update(Json{{"light", sample.light},
                     {"observer", sample.observer == Observer::degree10 ? 10 : 2},
                     {"spectrum", sample.spectrum},
                     {"spectrum_sd", optional_json(sample.spectrum_sd)},
                     {"film", link_json(sample.film)}});
    json.update(laid_json(sample.laid));
    json.update(
        Json{{"set_aside", sample.set_aside}, {"reading", link_json(sample.reading)}, {"source", sample.source}, {"created", sample.created}});
    return json;
}

Json thing_json(const KeptPot& pot) {
    return {{"id", pot.id},
            {"name", pot.name},
            {"target", link_json(pot.target)},
            {"batch_of", link_json(pot.batch_of)},
            {"tolerance", optional_json(pot.tolerance)},
            {"lights", pot.lights},
            {"teaches", pot.teaches},
            {"note", pot.note},
            {"created", pot.created}};
}

Json thing_json(const KeptAddition& addition) {
    return {{"id", addition.id},
            {"pot", addition.pot},
            {"number", addition.number},
            {"kind", to_word(addition.kind)},
            {"paint", link_json(addition.paint)},
            {"amount", optional_json(addition.amount)},
            {"unit", addition.unit},
            {"ml", optional_json(addition.ml)},
            {"spread", optional_json(addition.spread)},
            {"explains", link_json(addition.explains)},
            {"note", addition.note},
            {"created", addition.created}};
}

Json thing_json(const KeptPotReading& reading) {
    Json json{{"pot", reading.pot}, {"addition", reading.addition}};
    json.update(color_json(reading.lab, reading.lab_covariance));
    json.update(
        Json{{"light", reading.light}, {"observer", reading.observer == Observer::degree10 ? 10 : 2}, {"state", reading.wet ? "wet" : "dry"}});
    json.update(laid_json(reading.laid));
    json.update(Json{{"de00", optional_json(reading.de00)},
                     {"ci_low", optional_json(reading.ci_low)},
                     {"ci_high", optional_json(reading.ci_high)},
                     {"tolerance", optional_json(reading.tolerance)},
                     {"verdict", reading.verdict},
                     {"set_aside", reading.set_aside},
                     {"reading", link_json(reading.reading)},
                     {"source", reading.source},
                     {"created", reading.created}});
    return json;
}

template <class T>
Json list_json(const std::vector<T>& things) {
    Json list = Json::array();
    for (const T& thing : things) list.push_back(thing_json(thing));
    return list;
}

// ---- in

/// How deep brackets lie in each other, outside of strings.
int depth_of(std::string_view text) {
    int depth = 0, deepest = 0;
    bool inside = false;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const char c = text[i];
        if (inside) {
            if (c == '\\') ++i;
            if (c == '"') inside = false;
            continue;
        }
        if (c == '"') inside = true;
        if (c == '{' || c == '[') deepest = std::max(deepest, ++depth);
        if (c == '}' || c == ']') --depth;
    }
    return deepest;
}

/// The members of one thing; the first that is missing or of the wrong kind is remembered.
class Members {
public:
    explicit Members(const Json& json) : json_(json) {
        if (!json.is_object()) flaw_ = "is not an object";
    }
    [[nodiscard]] const std::optional<std::string>& flaw() const { return flaw_; }
    [[nodiscard]] bool has(const char* name) const { return json_.is_object() && json_.contains(name); }

    std::string text(const char* name) {
        const Json* found = member(name);
        if (found != nullptr && found->is_string()) return found->get<std::string>();
        wrong(name, "text");
        return {};
    }
    double figure(const char* name) {
        const Json* found = member(name);
        if (found != nullptr && found->is_number()) return found->get<double>();
        wrong(name, "a number");
        return 0;
    }
    std::optional<double> figure_or_null(const char* name) {
        const Json* found = member(name);
        if (found == nullptr || found->is_null()) return std::nullopt;
        return figure(name);
    }
    std::optional<std::int64_t> id(const char* name) {
        if (!has(name) || json_[name].is_null()) return std::nullopt;
        if (!json_[name].is_number_integer()) wrong(name, "a whole number");
        return json_[name].is_number_integer() ? std::optional(json_[name].get<std::int64_t>()) : std::nullopt;
    }
    std::int64_t whole(const char* name, std::int64_t most) {
        const Json* found = member(name);
        const bool good = found != nullptr && found->is_number_integer() && *found >= 0 && *found <= most;
        if (!good) wrong(name, "a whole number of 0 to " + std::to_string(most));
        return good ? found->get<std::int64_t>() : 0;
    }
    bool yes(const char* name) {
        const Json* found = member(name);
        if (found == nullptr || !found->is_boolean()) wrong(name, "true or false");
        return found != nullptr && found->is_boolean() && found->get<bool>();
    }
    std::vector<double> figures(const char* name, std::size_t count) {
        std::vector<double> values;
        const Json* found = member(name);
        if (found != nullptr && found->is_array() && found->size() == count) {
            for (const Json& value : *found) {
                if (value.is_number()) values.push_back(value.get<double>());
            }
        }
        if (values.size() != count) wrong(name, std::to_string(count) + " numbers");
        values.resize(count);
        return values;
    }
    void color(Lab& color, Eigen::Matrix3d& covariance, const char* white_name = "white") {
        const auto lab = figures("lab", 3), white = figures(white_name, 3), upper = figures("covariance", 6);
        color = {lab[0], lab[1], lab[2], {white[0], white[1], white[2]}};
        std::size_t next = 0;
        for (int row = 0; row < 3; ++row) {
            for (int column = row; column < 3; ++column) covariance(row, column) = covariance(column, row) = upper[next++];
        }
    }
    Observer observer() {
        const double degrees = figure("observer");
        if (degrees != 2 && degrees != 10) wrong("observer", "2 or 10");
        return degrees == 10 ? Observer::degree10 : Observer::degree2;
    }
    /// "matte", "satin", "gloss" or nothing.
    std::optional<Finish> finish_or_none(const char* name) {
        const std::string word = text(name);
        const auto known = finish(word);
        if (!known && !word.empty()) wrong(name, "matte, satin, gloss or empty");
        return known;
    }
    CoatLaid laid() {
        CoatLaid laid;
        laid.film_um = figure_or_null("film_um");
        laid.film_cv = figure_or_null("film_cv");
        if (has("under") && !json_["under"].is_null()) {
            const auto lab = figures("under", 3);
            laid.under = Lab{lab[0], lab[1], lab[2]};
        }
        laid.coat = finish_or_none("coat");
        return laid;
    }
    std::vector<std::string> texts(const char* name) {
        std::vector<std::string> values;
        const Json* found = member(name);
        const bool list = found != nullptr && found->is_array();
        if (list) {
            for (const Json& value : *found) {
                if (value.is_string()) values.push_back(value.get<std::string>());
            }
        }
        if (!list || values.size() != found->size()) wrong(name, "a list of texts");
        return values;
    }
    void wrong(const char* name, const std::string& what) {
        if (!flaw_) flaw_ = "its \"" + std::string(name) + "\" is not " + what;
    }

private:
    const Json* member(const char* name) {
        if (has(name)) return &json_[name];
        if (!flaw_) flaw_ = "it has no \"" + std::string(name) + "\"";
        return nullptr;
    }
    const Json& json_;
    std::optional<std::string> flaw_;
};

Target read_target(Members& from) {
    Target target;
    target.id = from.id("id").value_or(0);
    target.name = from.text("name");
    from.color(target.lab, target.lab_covariance);
    const auto kind = target_kind(from.text("kind"));
    if (!kind) from.wrong("kind", "chip, published, instrument or screen");
    target.kind = kind.value_or(TargetKind::published);
    target.light = from.text("light");
    target.observer = from.observer();
    target.source = from.text("source");
    target.created = from.text("created");
    target.spectrum = from.text("spectrum");
    target.caution = from.text("caution");
    return target;
}

KeptReading read_reading(Members& from) {
    KeptReading reading;
    reading.id = from.id("id").value_or(0);
    reading.target = from.id("target");
    reading.name = from.text("name");
    from.color(reading.lab, reading.lab_covariance);
    for (const auto& [name, text] : {std::pair{"light", &reading.light},
                                     {"photo_file", &reading.photo_file},
                                     {"photo_hash", &reading.photo_hash},
                                     {"region", &reading.region},
                                     {"calibration", &reading.calibration_json},
                                     {"verdict", &reading.verdict},
                                     {"created", &reading.created}})
        *text = from.text(name);
    reading.de00 = from.figure_or_null("de00");
    reading.ci_low = from.figure_or_null("ci_low");
    reading.ci_high = from.figure_or_null("ci_high");
    return reading;
}

Card read_card(Members& from) {
    Card card;
    card.name = from.text("name");
    if (from.has("lrv")) {
        card.value = Lrv{from.figure("lrv")};
    } else if (from.has("lab")) {
        const auto lab = from.figures("lab", 3);
        card.value = Lab{lab[0], lab[1], lab[2]};
    } else {
        card.value = SpectrumText{from.text("spectrum")};
    }
    card.sd = from.figure("sd");
    card.sd_assumed = from.yes("sd_assumed");
    card.source = from.text("source");
    card.created = from.text("created");
    return card;
}

Lamp read_lamp(Members& from) {
    Lamp lamp;
    for (const auto& [name, text] :
         {std::pair{"name", &lamp.name}, {"light", &lamp.light}, {"spectrum", &lamp.spectrum}, {"source", &lamp.source}, {"created", &lamp.created}})
        *text = from.text(name);
    return lamp;
}

Part read_part(Members& from) {
    Part part;
    part.id = from.id("id").value_or(0);
    part.name = from.text("name");
    part.parent = from.id("parent");
    part.target = from.id("target");
    const auto status = part_status(from.text("status"));
    if (!status) from.wrong("status", "missing, target, mixing, within, painted or coated");
    part.status = status.value_or(PartStatus::missing);
    part.note = from.text("note");
    part.created = from.text("created");
    return part;
}

Note read_note(Members& from) {
    Note note;
    note.target = from.id("target");
    note.part = from.id("part");
    note.reading = from.id("reading");
    note.text = from.text("text");
    note.created = from.text("created");
    return note;
}

KeptPhoto read_photo(Members& from) {
    constexpr std::int64_t kLargestFile = std::int64_t{1} << 53U, kLargestSide = 1'000'000;
    KeptPhoto photo;
    for (const auto& [name, text] : {std::pair{"path", &photo.path},
                                     {"hash", &photo.hash},
                                     {"camera", &photo.camera},
                                     {"lens", &photo.lens},
                                     {"taken", &photo.taken},
                                     {"created", &photo.created}})
        *text = from.text(name);
    photo.bytes = from.whole("bytes", kLargestFile);
    photo.width = static_cast<int>(from.whole("width", kLargestSide));
    photo.height = static_cast<int>(from.whole("height", kLargestSide));
    for (const auto& [name, figure] :
         {std::pair{"iso", &photo.iso}, {"exposure_s", &photo.exposure_s}, {"f_number", &photo.f_number}, {"focal_mm", &photo.focal_mm}})
        *figure = from.figure_or_null(name);
    const auto thumbnail = from_base64(from.text("thumbnail"));
    if (!thumbnail) from.wrong("thumbnail", "base64");
    photo.thumbnail = thumbnail.value_or("");
    return photo;
}

KeptSetup read_setup(Members& from) {
    KeptSetup setup;
    for (const auto& [name, text] : {std::pair{"name", &setup.name},
                                     {"photo_file", &setup.photo_file},
                                     {"photo_hash", &setup.photo_hash},
                                     {"light", &setup.light},
                                     {"method", &setup.method},
                                     {"grade", &setup.grade},
                                     {"setup", &setup.json},
                                     {"created", &setup.created}})
        *text = from.text(name);
    return setup;
}

KeptPaint read_paint(Members& from) {
    KeptPaint paint;
    paint.id = from.id("id").value_or(0);
    for (const auto& [name, text] : {std::pair{"name", &paint.name},
                                     {"maker", &paint.maker},
                                     {"code", &paint.code},
                                     {"binder", &paint.binder},
                                     {"pigments", &paint.pigments},
                                     {"stock_said", &paint.stock_said},
                                     {"note", &paint.note},
                                     {"source", &paint.source},
                                     {"created", &paint.created}})
        *text = from.text(name);
    paint.finish = from.finish_or_none("finish");
    paint.white = from.yes("white");
    paint.on_shelf = from.yes("on_shelf");
    for (const auto& [name, figure] : {std::pair{"drop_ml", &paint.drop_ml},
                                       {"drop_cv", &paint.drop_cv},
                                       {"density", &paint.density},
                                       {"bottle_ml", &paint.bottle_ml},
                                       {"price", &paint.price},
                                       {"stock_ml", &paint.stock_ml}})
        *figure = from.figure_or_null(name);
    return paint;
}

KeptSample read_sample(Members& from) {
    KeptSample sample;
    sample.paint = from.id("paint").value_or(0);
    sample.share = from.figure("share");
    sample.white = from.id("white");
    from.color(sample.lab, sample.lab_covariance, "white_point");
    sample.light = from.text("light");
    sample.observer = from.observer();
    sample.spectrum = from.text("spectrum");
    sample.spectrum_sd = from.figure_or_null("spectrum_sd");
    sample.film = from.id("film");
    sample.laid = from.laid();
    sample.set_aside = from.yes("set_aside");
    sample.reading = from.id("reading");
    sample.source = from.text("source");
    sample.created = from.text("created");
    return sample;
}

KeptPot read_pot(Members& from) {
    KeptPot pot;
    pot.id = from.id("id").value_or(0);
    pot.name = from.text("name");
    pot.target = from.id("target");
    pot.batch_of = from.id("batch_of");
    pot.tolerance = from.figure_or_null("tolerance");
    pot.lights = from.texts("lights");
    pot.teaches = from.yes("teaches");
    pot.note = from.text("note");
    pot.created = from.text("created");
    return pot;
}

KeptAddition read_addition(Members& from) {
    constexpr std::int64_t kMostNumber = 1'000'000'000;
    KeptAddition addition;
    addition.id = from.id("id").value_or(0);
    addition.pot = from.id("pot").value_or(0);
    addition.number = from.whole("number", kMostNumber);
    if (addition.number == 0) from.wrong("number", "above 0");
    const auto kind = addition_kind(from.text("kind"));
    if (!kind) from.wrong("kind", "paint, unknown or taken");
    addition.kind = kind.value_or(AdditionKind::paint);
    addition.paint = from.id("paint");
    addition.amount = from.figure_or_null("amount");
    addition.unit = from.text("unit");
    addition.ml = from.figure_or_null("ml");
    addition.spread = from.figure_or_null("spread");
    addition.explains = from.id("explains");
    addition.note = from.text("note");
    addition.created = from.text("created");
    return addition;
}

KeptPotReading read_pot_reading(Members& from) {
    KeptPotReading reading;
    reading.pot = from.id("pot").value_or(0);
    reading.addition = from.id("addition").value_or(0);
    from.color(reading.lab, reading.lab_covariance);
    reading.light = from.text("light");
    reading.observer = from.observer();
    const std::string state = from.text("state");
    if (state != "wet" && state != "dry") from.wrong("state", "wet or dry");
    reading.wet = state == "wet";
    reading.laid = from.laid();
    for (const auto& [name, figure] :
         {std::pair{"de00", &reading.de00}, {"ci_low", &reading.ci_low}, {"ci_high", &reading.ci_high}, {"tolerance", &reading.tolerance}})
        *figure = from.figure_or_null(name);
    reading.verdict = from.text("verdict");
    reading.set_aside = from.yes("set_aside");
    reading.reading = from.id("reading");
    reading.source = from.text("source");
    reading.created = from.text("created");
    return reading;
}

template <class T>
const std::string& called(const T& thing) {
    return thing.name;
}
const std::string& called(const Note& note) { return note.text; }
const std::string& called(const KeptPhoto& photo) { return photo.path; }
const std::string& called(const KeptSample& sample) { return sample.source; }
const std::string& called(const KeptAddition& addition) { return addition.note; }
const std::string& called(const KeptPotReading& reading) { return reading.source; }

template <class T>
void read_list(const Json& whole, const char* name, T (*read)(Members&), std::vector<T>& into, std::vector<NotTaken>& not_taken) {
    if (!whole.contains(name)) return;
    std::size_t place = 0;
    for (const Json& json : whole[name]) {
        Members members(json);
        T thing = read(members);
        const auto flaw = members.flaw() ? members.flaw() : unfit(thing);
        ++place;
        if (flaw) {
            not_taken.push_back({std::string(name) + " " + std::to_string(place), called(thing), *flaw});
        } else {
            into.push_back(std::move(thing));
        }
    }
}

}  // namespace

std::string exchange_json(const Exchange& all) {
    const Json json{{"format", kFormat},
                    {"version", kExchangeVersion},
                    {"targets", list_json(all.targets)},
                    {"readings", list_json(all.readings)},
                    {"cards", list_json(all.cards)},
                    {"lamps", list_json(all.lamps)},
                    {"parts", list_json(all.parts)},
                    {"notes", list_json(all.kept_notes)},
                    {"photos", list_json(all.photos)},
                    {"setups", list_json(all.setups)},
                    {"paints", list_json(all.paints)},
                    {"samples", list_json(all.samples)},
                    {"pots", list_json(all.pots)},
                    {"additions", list_json(all.additions)},
                    {"pot_readings", list_json(all.pot_readings)}};
    return json.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

Result<Exchange> exchange_of_json(std::string_view text, const std::string& file) {
    const auto malformed = [&](std::string cause, std::string remedy) {
        return Error{Fault::table_malformed, file, "", std::move(cause), std::move(remedy)};
    };
    if (depth_of(text) > kDeepest) return malformed("is nested too deeply", "see that it was written by swatchwright export");
    const Json json = Json::parse(text, nullptr, false);
    if (json.is_discarded()) return malformed("is not valid JSON", "see that it is whole");
    if (!json.is_object() || !json.contains("format") || json["format"] != kFormat || !json.contains("version") ||
        !json["version"].is_number_integer()) {
        return malformed("is JSON, but no workbook's", "see that it was written by swatchwright export");
    }
    if (json["version"] != kExchangeVersion) {
        return malformed("is of version " + json["version"].dump() + ", and this program knows " + std::to_string(kExchangeVersion),
                         "use the version of this program that wrote it");
    }
    std::size_t things = 0;
    for (const char* name :
         {"targets", "readings", "cards", "lamps", "parts", "notes", "photos", "setups", "paints", "samples", "pots", "additions", "pot_readings"}) {
        if (!json.contains(name)) continue;
        if (!json[name].is_array())
            return malformed("its \"" + std::string(name) + "\" is no list", "see that it was written by swatchwright export");
        things += json[name].size();
    }
    if (things > kMostThings) return malformed("holds more than 200 000 things", "split it into several files");
    Exchange read;
    read_list<Target>(json, "targets", read_target, read.targets, read.not_taken);
    read_list<KeptReading>(json, "readings", read_reading, read.readings, read.not_taken);
    read_list<Card>(json, "cards", read_card, read.cards, read.not_taken);
    read_list<Lamp>(json, "lamps", read_lamp, read.lamps, read.not_taken);
    read_list<Part>(json, "parts", read_part, read.parts, read.not_taken);
    read_list<Note>(json, "notes", read_note, read.kept_notes, read.not_taken);
    read_list<KeptPhoto>(json, "photos", read_photo, read.photos, read.not_taken);
    read_list<KeptSetup>(json, "setups", read_setup, read.setups, read.not_taken);
    read_list<KeptPaint>(json, "paints", read_paint, read.paints, read.not_taken);
    read_list<KeptSample>(json, "samples", read_sample, read.samples, read.not_taken);
    read_list<KeptPot>(json, "pots", read_pot, read.pots, read.not_taken);
    read_list<KeptAddition>(json, "additions", read_addition, read.additions, read.not_taken);
    read_list<KeptPotReading>(json, "pot_readings", read_pot_reading, read.pot_readings, read.not_taken);
    return read;
}

}  // namespace sw
