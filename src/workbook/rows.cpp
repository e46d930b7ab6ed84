#include "workbook/rows.hpp"

#include <Eigen/Eigenvalues>
#include <bit>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <ctime>

namespace sw::store {
namespace {

constexpr std::size_t kLongestName = 200;
constexpr std::size_t kLongestText = 16 << 20;
constexpr std::size_t kLongestSpectrum = 1 << 20;

const std::vector<std::string>& lab_columns() {
    static const std::vector<std::string> columns{"lab_l",  "lab_a",  "lab_b",  "white_x", "white_y", "white_z",
                                                  "cov_ll", "cov_la", "cov_lb", "cov_aa",  "cov_ab",  "cov_bb"};
    return columns;
}

std::vector<std::string> joined(std::vector<std::string> before, const std::vector<std::string>& after) {
    before.insert(before.end(), lab_columns().begin(), lab_columns().end());
    before.insert(before.end(), after.begin(), after.end());
    return before;
}

void append(Values& values, const Lab& lab, const Eigen::Matrix3d& covariance) {
    for (const double figure : {lab.L, lab.a, lab.b, lab.white.X, lab.white.Y, lab.white.Z}) values.emplace_back(figure);
    for (int row = 0; row < 3; ++row) {
        for (int column = row; column < 3; ++column) values.emplace_back(covariance(row, column));
    }
}

void append(Values& values, const std::optional<double>& figure) {
    if (figure) {
        values.emplace_back(*figure);
    } else {
        values.emplace_back(std::monostate{});
    }
}

// Takes values one after the other; once a type is wrong, good() stays false.
class Taker {
public:
    Taker(const Values& values, std::size_t expected) : values_(values), good_(values.size() == expected) {}
    bool good() const { return good_; }
    void take(std::string& text) { take_as(text); }
    void take(double& figure) { take_as(figure); }
    void take(std::int64_t& number) { take_as(number); }
    template <class T>
    void take(std::optional<T>& value) {
        if (good_ && std::holds_alternative<std::monostate>(values_[next_])) {
            ++next_;
            value.reset();
        } else {
            take_as(value.emplace());
        }
    }
    void take(Lab& lab, Eigen::Matrix3d& covariance) {
        for (double* figure : {&lab.L, &lab.a, &lab.b, &lab.white.X, &lab.white.Y, &lab.white.Z}) take(*figure);
        for (int row = 0; row < 3; ++row) {
            for (int column = row; column < 3; ++column) {
                take(covariance(row, column));
                covariance(column, row) = covariance(row, column);
            }
        }
    }

private:
    template <class T>
    void take_as(T& out) {
        const T* value = good_ ? std::get_if<T>(&values_[next_]) : nullptr;
        if (value == nullptr) {
            good_ = false;
            return;
        }
        out = *value;
        ++next_;
    }
    const Values& values_;
    std::size_t next_ = 0;
    bool good_;
};

// The code point that starts at `at`, which moves past it; nothing if the bytes are not UTF-8 (RFC 3629).
std::optional<char32_t> next_code_point(std::string_view text, std::size_t& at) {
    const auto byte = [&](std::size_t index) { return static_cast<unsigned char>(text[index]); };
    const unsigned char lead = byte(at++);
    if (lead < 0x80) return lead;
    const int more = lead >= 0xF0 ? 3 : lead >= 0xE0 ? 2 : 1;
    if (lead < 0xC2 || lead > 0xF4 || text.size() - at < static_cast<std::size_t>(more)) return std::nullopt;
    char32_t code = lead & (0x3FU >> more);
    for (int i = 0; i < more; ++i) {
        if ((byte(at) & 0xC0U) != 0x80) return std::nullopt;
        code = code << 6U | (byte(at++) & 0x3FU);
    }
    const char32_t least = more == 3 ? 0x10000 : more == 2 ? 0x800 : 0x80;
    if (code < least || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF)) return std::nullopt;
    return code;
}

std::optional<std::string> name_flaw(const std::string& name) {
    if (name.empty()) return "the name is empty";
    if (name.size() > kLongestName)
        return "the name is " + std::to_string(name.size()) + " bytes long, " + std::to_string(kLongestName) + " at most are allowed";
    for (std::size_t at = 0; at < name.size();) {
        const std::optional<char32_t> code = next_code_point(name, at);
        if (!code) return "the name is not valid UTF-8 text";
        if (*code < 0x20 || (*code >= 0x7F && *code < 0xA0)) return "the name holds a control character";
    }
    return std::nullopt;
}

// File names may be any bytes but 0.
std::optional<std::string> bytes_flaw(const std::string& text, const std::string& what) {
    if (text.size() > kLongestText) return what + " is longer than 16 MB";
    if (text.find('\0') != std::string::npos) return what + " holds a zero byte";
    return std::nullopt;
}

std::optional<std::string> text_flaw(const std::string& text, const std::string& what) {
    if (auto found = bytes_flaw(text, what)) return found;
    for (std::size_t at = 0; at < text.size();) {
        if (!next_code_point(text, at)) return what + " is not valid UTF-8 text";
    }
    return std::nullopt;
}

std::optional<std::string> color_flaw(const Lab& lab, const Eigen::Matrix3d& covariance) {
    for (const double figure : {lab.L, lab.a, lab.b}) {
        if (!std::isfinite(figure)) return "a Lab figure is not a finite number";
    }
    for (const double figure : {lab.white.X, lab.white.Y, lab.white.Z}) {
        if (!std::isfinite(figure) || figure <= 0) return "the white of the Lab figures is not a light";
    }
    if (!covariance.allFinite()) return "the uncertainty is not a finite number";
    if (covariance.diagonal().minCoeff() < 0) return "the uncertainty has a negative variance";
    // 1e-9 of the largest entry: far above rounding in double, far below any figure that matters.
    const double rounding = 1e-9 * covariance.cwiseAbs().maxCoeff();
    if ((covariance - covariance.transpose()).cwiseAbs().maxCoeff() > rounding) return "the uncertainty is not a symmetric matrix";
    if (rounding == 0) return std::nullopt;
    const double largest = covariance.cwiseAbs().maxCoeff();
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(covariance / largest, Eigen::EigenvaluesOnly);
    if (solver.info() != Eigen::Success || !(solver.eigenvalues().minCoeff() >= -1e-9))
        return "the uncertainty is not a possible covariance (a direction in it has negative variance)";
    return std::nullopt;
}

std::optional<std::string> time_flaw(const std::string& created) {
    // YYYY-MM-DDTHH:MM:SS, perhaps .fraction, Z
    const std::string_view shape = "0000-00-00T00:00:00";
    bool good = created.size() > shape.size() && created.back() == 'Z';
    for (std::size_t i = 0; good && i < shape.size(); ++i) good = shape[i] == '0' ? created[i] >= '0' && created[i] <= '9' : created[i] == shape[i];
    if (good && created.size() > shape.size() + 1) {
        good = created[shape.size()] == '.' && created.size() > shape.size() + 2;
        for (std::size_t i = shape.size() + 1; good && i + 1 < created.size(); ++i) good = created[i] >= '0' && created[i] <= '9';
    }
    if (!good) return "the time of making is not ISO 8601 in UTC";
    return std::nullopt;
}

void tidy_color(Lab& lab, Eigen::Matrix3d& covariance) {
    for (double* figure : {&lab.L, &lab.a, &lab.b}) *figure += 0.0;  // -0 becomes 0: SQLite keeps no sign of zero
    for (int row = 0; row < 3; ++row) {
        for (int column = row; column < 3; ++column) covariance(row, column) += 0.0;
    }
}

}  // namespace

const Table& target_table() {
    static const Table table{"target", joined({"name"}, {"kind", "light", "observer", "source", "created"})};
    return table;
}

const Table& reading_table() {
    static const Table table{"reading", joined({"target", "name", "photo_file", "photo_hash", "region", "calibration_json"},
                                               {"light", "de00", "ci_low", "ci_high", "verdict", "created"})};
    return table;
}

const Table& card_table() {
    static const Table table{"card", {"name", "kind", "lrv", "lab_l", "lab_a", "lab_b", "spectrum", "sd", "sd_assumed", "source", "created"}};
    return table;
}

const Table& setup_table() {
    static const Table table{"setup", {"name", "photo_file", "photo_hash", "light", "method", "grade", "setup_json", "created"}};
    return table;
}

Values values(const Target& target) {
    Values row{target.name};
    append(row, target.lab, target.lab_covariance);
    row.insert(row.end(),
               {to_word(target.kind), target.light, std::int64_t{target.observer == Observer::degree10 ? 10 : 2}, target.source, target.created});
    return row;
}

Values values(const KeptReading& reading) {
    Values row{reading.target ? Value(*reading.target) : Value(),
               reading.name,
               reading.photo_file,
               reading.photo_hash,
               reading.region,
               reading.calibration_json};
    append(row, reading.lab, reading.lab_covariance);
    row.emplace_back(reading.light);
    append(row, reading.de00);
    append(row, reading.ci_low);
    append(row, reading.ci_high);
    row.insert(row.end(), {reading.verdict, reading.created});
    return row;
}

Values values(const Card& card) {
    const auto* lrv = std::get_if<Lrv>(&card.value);
    const auto* color = std::get_if<Lab>(&card.value);
    const auto* spectrum = std::get_if<SpectrumText>(&card.value);
    const auto figure = [](bool there, double value) { return there ? Value(value) : Value(); };
    return {card.name,
            std::string(lrv != nullptr     ? "lrv"
                        : color != nullptr ? "lab"
                                           : "spectrum"),
            figure(lrv != nullptr, lrv != nullptr ? lrv->value : 0),
            figure(color != nullptr, color != nullptr ? color->L : 0),
            figure(color != nullptr, color != nullptr ? color->a : 0),
            figure(color != nullptr, color != nullptr ? color->b : 0),
            spectrum != nullptr ? spectrum->csv : std::string(),
            card.sd,
            std::int64_t{card.sd_assumed ? 1 : 0},
            card.source,
            card.created};
}

Values values(const KeptSetup& setup) {
    return {setup.name, setup.photo_file, setup.photo_hash, setup.light, setup.method, setup.grade, setup.json, setup.created};
}

std::optional<Target> target_of(std::int64_t id, const Values& row) {
    Target target;
    target.id = id;
    std::string kind;
    std::int64_t degrees = 0;
    Taker taker(row, target_table().columns.size());
    taker.take(target.name);
    taker.take(target.lab, target.lab_covariance);
    taker.take(kind);
    taker.take(target.light);
    taker.take(degrees);
    taker.take(target.source);
    taker.take(target.created);
    const std::optional<TargetKind> known = target_kind(kind);
    if (!taker.good() || !known || (degrees != 2 && degrees != 10)) return std::nullopt;
    target.kind = *known;
    target.observer = degrees == 10 ? Observer::degree10 : Observer::degree2;
    return target;
}

std::optional<KeptReading> reading_of(std::int64_t id, const Values& row) {
    KeptReading reading;
    reading.id = id;
    Taker taker(row, reading_table().columns.size());
    taker.take(reading.target);
    for (std::string* text : {&reading.name, &reading.photo_file, &reading.photo_hash, &reading.region, &reading.calibration_json}) taker.take(*text);
    taker.take(reading.lab, reading.lab_covariance);
    taker.take(reading.light);
    for (std::optional<double>* figure : {&reading.de00, &reading.ci_low, &reading.ci_high}) taker.take(*figure);
    taker.take(reading.verdict);
    taker.take(reading.created);
    if (!taker.good()) return std::nullopt;
    return reading;
}

std::optional<Card> card_of(std::int64_t id, const Values& row) {
    Card card;
    card.id = id;
    std::string kind, spectrum;
    std::optional<double> lrv, L, a, b;
    std::int64_t assumed = 0;
    Taker taker(row, card_table().columns.size());
    taker.take(card.name);
    taker.take(kind);
    for (std::optional<double>* figure : {&lrv, &L, &a, &b}) taker.take(*figure);
    taker.take(spectrum);
    taker.take(card.sd);
    taker.take(assumed);
    taker.take(card.source);
    taker.take(card.created);
    const bool no_lab = !L && !a && !b;
    if (!taker.good() || (assumed != 0 && assumed != 1)) return std::nullopt;
    card.sd_assumed = assumed == 1;
    if (kind == "lrv" && lrv && no_lab && spectrum.empty()) {
        card.value = Lrv{*lrv};
    } else if (kind == "lab" && !lrv && L && a && b && spectrum.empty()) {
        card.value = Lab{*L, *a, *b};
    } else if (kind == "spectrum" && !lrv && no_lab) {
        card.value = SpectrumText{std::move(spectrum)};
    } else {
        return std::nullopt;
    }
    return card;
}

std::optional<KeptSetup> setup_of(std::int64_t id, const Values& row) {
    KeptSetup setup;
    setup.id = id;
    Taker taker(row, setup_table().columns.size());
    for (std::string* text :
         {&setup.name, &setup.photo_file, &setup.photo_hash, &setup.light, &setup.method, &setup.grade, &setup.json, &setup.created}) {
        taker.take(*text);
    }
    if (!taker.good()) return std::nullopt;
    return setup;
}

void tidy(Target& target) {
    target.name = trimmed(target.name);
    tidy_color(target.lab, target.lab_covariance);
}

void tidy(KeptReading& reading) {
    reading.name = trimmed(reading.name);
    tidy_color(reading.lab, reading.lab_covariance);
    for (std::optional<double>* figure : {&reading.de00, &reading.ci_low, &reading.ci_high}) {
        if (*figure) **figure += 0.0;
    }
}

void tidy(Card& card) {
    card.name = trimmed(card.name);
    if (auto* color = std::get_if<Lab>(&card.value)) {
        for (double* figure : {&color->L, &color->a, &color->b}) *figure += 0.0;
    }
}

void tidy(KeptSetup& setup) { setup.name = trimmed(setup.name); }

std::optional<std::string> flaw(const Target& target) {
    if (auto found = name_flaw(target.name)) return found;
    if (auto found = color_flaw(target.lab, target.lab_covariance)) return found;
    if (auto found = text_flaw(target.light, "the light")) return found;
    if (auto found = bytes_flaw(target.source, "the source")) return found;
    return time_flaw(target.created);
}

std::optional<std::string> flaw(const KeptReading& reading) {
    if (auto found = name_flaw(reading.name)) return found;
    if (auto found = color_flaw(reading.lab, reading.lab_covariance)) return found;
    if (auto found = bytes_flaw(reading.photo_file, "the photo's file name")) return found;
    if (auto found = text_flaw(reading.photo_hash, "the photo's hash")) return found;
    if (auto found = text_flaw(reading.region, "the region")) return found;
    if (auto found = text_flaw(reading.calibration_json, "the calibration")) return found;
    if (auto found = text_flaw(reading.light, "the light")) return found;
    if (auto found = text_flaw(reading.verdict, "the verdict")) return found;
    for (const std::optional<double>& figure : {reading.de00, reading.ci_low, reading.ci_high}) {
        if (figure && !(std::isfinite(*figure) && *figure >= 0)) return "the difference or its interval is not a finite number of 0 or more";
    }
    if (reading.ci_low && reading.ci_high && *reading.ci_low > *reading.ci_high) return "the interval of the difference is upside down";
    return time_flaw(reading.created);
}

std::optional<std::string> flaw(const Card& card) {
    if (auto found = name_flaw(card.name)) return found;
    if (!(card.sd > 0 && card.sd <= 50)) return "the spread is not a figure above 0, up to 50";
    if (const auto* lrv = std::get_if<Lrv>(&card.value)) {
        if (!(lrv->value > 0 && lrv->value <= 100)) return "the LRV is not a figure above 0, up to 100";
    } else if (const auto* color = std::get_if<Lab>(&card.value)) {
        if (!(color->L > 0 && color->L <= 100 && std::hypot(color->a, color->b) < 140)) return "no surface has that Lab";
    } else {
        const std::string& csv = std::get<SpectrumText>(card.value).csv;
        if (csv.size() > kLongestSpectrum) return "the spectrum is longer than 1 MB";
        if (auto found = text_flaw(csv, "the spectrum")) return found;
        if (const Result<CardReference> seen = card_reference(card, Box{}); !seen) return "the spectrum: " + describe(seen.error());
    }
    if (auto found = bytes_flaw(card.source, "the source")) return found;
    return time_flaw(card.created);
}

std::optional<std::string> flaw(const KeptSetup& setup) {
    if (auto found = name_flaw(setup.name)) return found;
    if (auto found = bytes_flaw(setup.photo_file, "the photo's file name")) return found;
    for (const auto& [text, what] : {std::pair{&setup.photo_hash, "the photo's hash"},
                                     {&setup.light, "the light"},
                                     {&setup.method, "the method"},
                                     {&setup.grade, "the grade"},
                                     {&setup.json, "the set-up"}}) {
        if (auto found = text_flaw(*text, what)) return found;
    }
    if (setup.json.empty()) return "the set-up is empty";
    return time_flaw(setup.created);
}

std::string trimmed(std::string_view text) {
    const std::string_view blank = " \t\r\n";
    const std::size_t first = text.find_first_not_of(blank);
    if (first == std::string_view::npos) return {};
    return std::string(text.substr(first, text.find_last_not_of(blank) - first + 1));
}

std::int64_t checksum(std::int64_t id, const Values& row) {
    std::uint64_t hash = 0xcbf29ce484222325;
    const auto add_byte = [&](unsigned char byte) { hash = (hash ^ byte) * 0x100000001b3; };
    const auto add_number = [&](std::uint64_t number) {
        for (int shift = 0; shift < 64; shift += 8) add_byte(static_cast<unsigned char>(number >> shift));
    };
    add_number(static_cast<std::uint64_t>(id));
    for (const Value& value : row) {
        add_byte(static_cast<unsigned char>(value.index()));
        if (const auto* number = std::get_if<std::int64_t>(&value)) add_number(static_cast<std::uint64_t>(*number));
        if (const auto* real = std::get_if<double>(&value)) add_number(std::bit_cast<std::uint64_t>(*real));
        if (const auto* text = std::get_if<std::string>(&value)) {
            add_number(text->size());
            for (const char character : *text) add_byte(static_cast<unsigned char>(character));
        }
    }
    return std::bit_cast<std::int64_t>(hash);
}

std::string now_utc() {
    const auto now = std::chrono::system_clock::now();
    const std::time_t seconds = std::chrono::system_clock::to_time_t(std::chrono::floor<std::chrono::seconds>(now));
    const auto milliseconds = std::chrono::duration_cast<std::chrono::milliseconds>(now.time_since_epoch()).count() % 1000;
    std::tm parts{};
    gmtime_r(&seconds, &parts);
    char date[32] = {}, text[40] = {};
    std::strftime(date, sizeof date, "%Y-%m-%dT%H:%M:%S", &parts);
    std::snprintf(text, sizeof text, "%s.%03dZ", date, static_cast<int>(milliseconds));
    return text;
}

}  // namespace sw::store
