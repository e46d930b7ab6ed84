#include "workbook/exchange_csv.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "calibrate/calibration.hpp"
#include "color/cie_data.hpp"
#include "color/light.hpp"
#include "workbook/exchange_table.hpp"
#include "workbook/rows.hpp"

namespace sw {
namespace {

constexpr std::size_t kMostRows = 100'000, kHeadingWithin = 50;
constexpr std::size_t kMissing = static_cast<std::size_t>(-1);

using Columns = std::map<std::string, std::size_t>;  // meaning: where

const std::array<const char*, 6> kCovariance{"cov_ll", "cov_la", "cov_lb", "cov_aa", "cov_ab", "cov_bb"};
const std::array<const char*, 3> kWhite{"white_x", "white_y", "white_z"};

/// A heading without case, blanks, signs and what stands in parentheses: "L* (D65)" is "l".
std::string plain(std::string_view heading) {
    std::string text;
    int inside = 0;
    for (const char c : heading) {
        if (c == '(' || c == '[') ++inside;
        if (inside == 0 && ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_')) text += c;
        if (inside == 0 && c >= 'A' && c <= 'Z') text += static_cast<char>(c - 'A' + 'a');
        if (inside > 0 && (c == ')' || c == ']')) --inside;
    }
    return text;
}

/// Wavelength of a heading like 400, 400nm, R400, nm400, spectral_nm400; nothing if it is none.
std::optional<int> wavelength(const std::string& heading) {
    std::string_view text = heading;
    if (text.ends_with("nm")) text.remove_suffix(2);
    for (const std::string_view before : {"spectral_nm", "nm", "r"}) {
        if (text.starts_with(before)) {
            text.remove_prefix(before.size());
            break;
        }
    }
    if (text.size() != 3 || !std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; })) return std::nullopt;
    const int nm = (text[0] - '0') * 100 + (text[1] - '0') * 10 + (text[2] - '0');
    return nm >= 300 && nm <= 900 ? std::optional(nm) : std::nullopt;
}

/// What a heading means by itself; empty: nothing that we read.
std::string meaning_of(const std::string& heading) {
    const std::string text = plain(heading);
    static const std::map<std::string, std::string> others{
        {"lab_l", "l"},        {"lab_a", "a"},        {"lab_b", "b"},     {"cie_l", "l"},         {"cie_a", "a"},          {"cie_b", "b"},
        {"ciel", "l"},         {"ciea", "a"},         {"cieb", "b"},      {"lch_c", "c"},         {"lch_h", "h"},          {"xyz_x", "x"},
        {"xyz_y", "y"},        {"xyz_z", "z"},        {"sample", "name"}, {"samplename", "name"}, {"sample_name", "name"}, {"sampleid", "name"},
        {"sample_id", "name"}, {"colorname", "name"}, {"color", "name"},  {"colour", "name"},     {"id", "name"},          {"illuminant", "light"}};
    if (const auto found = others.find(text); found != others.end()) return found->second;
    if (const auto nm = wavelength(text)) return "nm" + std::to_string(*nm);
    return is_column_meaning(text) && text != "none" ? text : "";
}

bool has(const Columns& columns, std::initializer_list<const char*> meanings) {
    return std::all_of(meanings.begin(), meanings.end(), [&](const char* m) { return columns.contains(m); });
}

std::vector<int> wavelengths(const Columns& columns) {
    std::vector<int> found;
    for (const auto& [meaning, at] : columns) {
        if (meaning.starts_with("nm")) found.push_back(std::stoi(meaning.substr(2)));
    }
    std::sort(found.begin(), found.end());
    return found;
}

bool holds_color(const Columns& columns) {
    return has(columns, {"l", "a", "b"}) || has(columns, {"l", "c", "h"}) || has(columns, {"x", "y", "z"}) || wavelengths(columns).size() >= 6;
}

/// The columns that a row names, mapped ones first; nothing if a mapped one is missing or no color is named.
using ColumnMap = std::vector<std::pair<std::string, std::string>>;
std::optional<Columns> columns_named_by(const TextRow& row, const ColumnMap& map) {
    Columns columns;
    std::vector<bool> used(row.cells.size(), false);
    for (const auto& [heading, meaning] : map) {
        const auto found = std::find(row.cells.begin(), row.cells.end(), heading);
        auto at = static_cast<std::size_t>(found - row.cells.begin());
        if (found == row.cells.end()) {
            const auto place = heading.starts_with("#") ? number(std::string_view(heading).substr(1)) : std::nullopt;
            if (!place || !(*place >= 1 && *place <= static_cast<double>(row.cells.size()))) return std::nullopt;
            at = static_cast<std::size_t>(*place) - 1;
        }
        used[at] = true;
        if (meaning != "none") columns[meaning] = at;
    }
    for (std::size_t at = 0; at < row.cells.size(); ++at) {
        if (const std::string meaning = meaning_of(row.cells[at]); !used[at] && !meaning.empty()) columns.emplace(meaning, at);
    }
    if (!holds_color(columns)) return std::nullopt;
    return columns;
}

/// A figure with a decimal point or comma.
std::optional<double> figure_of(std::string text, bool& comma) {
    const auto sign = text.find(',');
    const bool with_comma = sign != std::string::npos && text.find(',', sign + 1) == std::string::npos && text.find('.') == std::string::npos;
    if (with_comma) text[sign] = '.';
    if (text.size() > 1 && text[0] == '+' && text[1] != '-') text.erase(0, 1);
    const auto value = number(text);
    comma = comma || (value && with_comma);
    return value;
}

/// One table: its columns, and what becomes of its rows.
class TargetReader {
public:
    TargetReader(Columns columns, const CsvReading& how) : columns_(std::move(columns)), nm_(wavelengths(columns_)), how_(how) {
        if (how.under) lights_[how.under->name] = how.under;  // it may be a file's, which no text names
        if (how.under) light_ = how.under->name;
    }

    void take(const TextRow& row, Exchange& into) {
        Target target;
        reason_.clear();
        fill(row, target);
        if (reason_.empty()) {
            if (const auto found = implausible(target.lab)) reason_ = *found;
        }
        if (reason_.empty()) {
            if (const auto found = unfit(target)) reason_ = *found;
        }
        if (!reason_.empty()) {
            into.not_taken.push_back({"line " + std::to_string(row.line), std::string(cell(row, "name")), reason_});
            return;
        }
        target.id = static_cast<std::int64_t>(into.targets.size()) + 1;
        into.targets.push_back(std::move(target));
    }

    void tell(Exchange& into) const {
        if (light_assumed_) {
            into.notes.push_back("the table names no light: the figures are taken as under " + light_ +
                                 (how_.observer == Observer::degree10 ? ", 10 degrees" : ", 2 degrees"));
        }
        if (sd_assumed_) {
            into.notes.push_back("no standard deviation is given: " + shortest(kAssumedSd) + " is assumed in each of L*, a*, b*");
        }
        if (from_spectra_ > 0) {
            into.notes.push_back(std::to_string(from_spectra_) + " spectra became Lab under the light named (CIE 15); they are kept too");
        }
        if (comma_) into.notes.push_back("figures were read with a decimal comma");
    }

private:
    [[nodiscard]] std::string_view cell(const TextRow& row, const std::string& meaning) const {
        const auto found = columns_.find(meaning);
        return found == columns_.end() || found->second >= row.cells.size() ? std::string_view() : std::string_view(row.cells[found->second]);
    }
    /// Keeps the first reason only.
    void refuse(std::string reason) {
        if (reason_.empty()) reason_ = std::move(reason);
    }
    double figure(const TextRow& row, const std::string& meaning) {
        const std::string_view text = cell(row, meaning);
        const auto value = figure_of(std::string(text), comma_);
        if (!value) refuse(text.empty() ? "has no " + meaning : meaning + ": " + sw::quoted(text) + " is not a number");
        return value.value_or(0);
    }

    void fill(const TextRow& row, Target& target) {
        target.name = cell(row, "name");
        if (target.name.empty()) refuse("has no name");
        fill_words(row, target);
        fill_white(row, target);
        if (reason_.empty()) fill_color(row, target);
        fill_spread(row, target);
    }

    void fill_words(const TextRow& row, Target& target) {
        target.kind = how_.kind;
        if (const std::string_view word = cell(row, "kind"); !word.empty()) {
            const auto kind = target_kind(std::string(word));
            if (!kind) refuse(sw::quoted(word) + " is not a kind of target (chip, published, instrument or screen)");
            target.kind = kind.value_or(how_.kind);
        }
        target.source = cell(row, "source");
        if (target.source.empty()) target.source = how_.file + " line " + std::to_string(row.line);
        target.created = cell(row, "created");
        target.spectrum = cell(row, "spectrum");
        target.caution = cell(row, "caution");
    }

    void fill_white(const TextRow& row, Target& target) {
        const std::string_view named = cell(row, "light"), degrees = cell(row, "observer");
        light_assumed_ = light_assumed_ || named.empty();
        target.light = named.empty() ? light_ : std::string(named);
        target.observer = how_.observer;
        if (!degrees.empty()) {
            const bool ten = degrees.starts_with("10"), two = degrees.starts_with("2");
            if (!ten && !two) refuse("observer: " + sw::quoted(degrees) + " is neither 2 nor 10");
            target.observer = ten ? Observer::degree10 : Observer::degree2;
        }
        const bool stated = std::all_of(kWhite.begin(), kWhite.end(), [&](const char* part) { return !cell(row, part).empty(); });
        if (stated) {
            target.lab.white = {figure(row, "white_x"), figure(row, "white_y"), figure(row, "white_z")};
            return;
        }
        const Light* const lit = light_named(target.light);
        if (lit == nullptr) return refuse("light: " + sw::quoted(target.light) + " is none that is known");
        target.light = lit->name;
        target.lab.white = xyz(*lit, target.observer);
    }

    const Light* light_named(const std::string& text) {
        const auto found = lights_.find(text);
        if (found != lights_.end()) return found->second ? &*found->second : nullptr;
        if (lights_.size() > 200) return nullptr;  // a shop LED takes a while to work out
        const Result<Light> made = light(text);
        const auto& kept = lights_[text] = made ? std::optional(*made) : std::nullopt;
        return kept ? &*kept : nullptr;
    }

    void fill_color(const TextRow& row, Target& target) {
        Lab& color = target.lab;
        const Xyz white = color.white;
        if (has(columns_, {"l", "a", "b"})) {
            color = {figure(row, "l"), figure(row, "a"), figure(row, "b"), white};
        } else if (has(columns_, {"l", "c", "h"})) {
            color = lab(Lch{figure(row, "l"), figure(row, "c"), figure(row, "h")}, white);
        } else if (has(columns_, {"x", "y", "z"})) {
            color = lab(Xyz{figure(row, "x"), figure(row, "y"), figure(row, "z")}, white);
        } else {
            fill_spectrum(row, target);
        }
    }

    void fill_spectrum(const TextRow& row, Target& target) {
        std::string text;
        for (const int nm : nm_) text += std::to_string(nm) + "," + shortest(figure(row, "nm" + std::to_string(nm))) + "\n";
        if (!reason_.empty()) return;
        const auto table = parse_spectrum(text, "");
        const auto surface = table ? reflectance(*table, "") : Result<Reflectance>(table.error());
        const Light* const lit = light_named(target.light);
        if (!surface) return refuse("its spectrum: " + surface.error().cause);
        if (lit == nullptr) return refuse("light: " + sw::quoted(target.light) + " is none that is known");
        target.lab = lab(xyz(*surface, *lit, target.observer), xyz(*lit, target.observer));
        target.spectrum = "nm,reflectance\n" + text;
        ++from_spectra_;
    }

    void fill_spread(const TextRow& row, Target& target) {
        const bool full = std::all_of(kCovariance.begin(), kCovariance.end(), [&](const char* part) { return !cell(row, part).empty(); });
        if (full) {
            std::size_t next = 0;
            for (int i = 0; i < 3; ++i) {
                for (int k = i; k < 3; ++k) target.lab_covariance(i, k) = target.lab_covariance(k, i) = figure(row, kCovariance[next++]);
            }
            return;
        }
        double sd = how_.sd.value_or(kAssumedSd);
        if (!cell(row, "sd").empty()) {
            sd = figure(row, "sd");
            if (!(sd >= 0 && sd <= 50)) refuse("sd: " + shortest(sd) + " is not a standard deviation of 0 to 50");
        } else {
            sd_assumed_ = sd_assumed_ || !how_.sd;
        }
        target.lab_covariance = Eigen::Matrix3d::Identity() * (sd * sd);
    }

    Columns columns_;
    std::vector<int> nm_;
    const CsvReading& how_;
    std::map<std::string, std::optional<Light>> lights_;
    std::string light_ = "D50", reason_;
    bool light_assumed_ = false, sd_assumed_ = false, comma_ = false;
    std::size_t from_spectra_ = 0;
};

Error no_heading(const std::vector<TextRow>& rows, const CsvReading& how) {
    Error error{Fault::table_malformed, how.file, "", "no row names the columns of a color", ""};
    for (const auto& column : how.map) {
        const std::string& heading = column.first;
        const auto names_it = [&](const TextRow& row) { return std::find(row.cells.begin(), row.cells.end(), heading) != row.cells.end(); };
        if (!heading.starts_with("#") && std::none_of(rows.begin(), rows.end(), names_it)) error.cause = "there is no column " + sw::quoted(heading);
    }
    error.remedy = "name them: name, and L, a, b (or L, C, h; X, Y, Z; 400, 410 ... nm), or say which column is which with --map COLUMN=MEANING,...";
    return error;
}

/// The first row that names a color's columns, where each delimiter is tried.
struct Heading {
    std::vector<TextRow> rows;
    std::size_t at = kMissing;
    Columns columns;
    std::string delimiter;
    const ColumnMapping* known = nullptr;  // how such a table was read before
};

std::string joined(const TextRow& row) {
    std::string all;
    for (const std::string& cell : row.cells) all += (all.empty() ? "" : "; ") + cell;
    return all;
}

/// How a table of these headings was read before, where nothing else is asked for.
const ColumnMapping* known_for(const TextRow& row, const CsvReading& how) {
    if (!how.map.empty() || how.known.empty()) return nullptr;
    const std::string headings = joined(row);
    const auto found = std::find_if(how.known.begin(), how.known.end(), [&](const ColumnMapping& one) { return one.headings == headings; });
    return found == how.known.end() ? nullptr : &*found;
}

/// Says so; the light too, where none is named otherwise.
std::string read_as_before(const ColumnMapping& mapping, CsvReading& how) {
    std::string words = "columns are read as the last time:";
    for (const auto& [column, meaning] : mapping.columns) words += " " + column + " is " + meaning + ",";
    words.pop_back();
    const Result<Light> lit = how.under || mapping.light.empty() ? Result<Light>(Error{}) : light(mapping.light);
    if (!lit) return words;
    how.under = *lit;
    how.observer = mapping.observer;
    return words + "; under " + mapping.light + (mapping.observer == Observer::degree10 ? ", 10 degrees" : ", 2 degrees");
}

Result<Heading> find_heading(std::string_view text, const CsvReading& how) {
    std::vector<TextRow> last;
    std::optional<Error> broken;
    for (const auto& [delimiter, word] : {std::pair{'\t', "tabs"}, {';', "semicolons"}, {',', "commas"}}) {
        auto rows = parse_rows(text, delimiter);
        if (!rows) {  // perhaps only with this delimiter
            broken = rows.error();
            broken->file = how.file;
            continue;
        }
        for (std::size_t at = 0; at < std::min(rows->size(), kHeadingWithin); ++at) {
            const ColumnMapping* known = known_for((*rows)[at], how);
            if (auto columns = columns_named_by((*rows)[at], known != nullptr ? known->columns : how.map))
                return Heading{*std::move(rows), at, *std::move(columns), word, known};
        }
        last = *std::move(rows);
    }
    return broken ? *broken : no_heading(last, how);
}

}  // namespace

bool is_column_meaning(std::string_view word) {
    constexpr std::array<std::string_view, 18> words{"name", "l",    "a",     "b",        "c",      "h",       "x",        "y",       "z",
                                                     "sd",   "kind", "light", "observer", "source", "created", "spectrum", "caution", "none"};
    const auto among = [&](const auto& list) { return std::find(list.begin(), list.end(), word) != list.end(); };
    return among(words) || among(kCovariance) || among(kWhite) || (word.starts_with("nm") && wavelength(std::string(word)));
}

Result<Exchange> targets_of_csv(std::string_view text, const CsvReading& how) {
    const Result<Heading> heading = find_heading(text, how);
    if (!heading) return heading.error();
    if (heading->rows.size() - heading->at - 1 > kMostRows) {
        return Error{Fault::table_malformed, how.file, "", "holds more than 100 000 rows", "split it into several files"};
    }
    Exchange read;
    read.headings = joined(heading->rows[heading->at]);
    CsvReading used = how;
    if (heading->known != nullptr) read.notes.push_back(read_as_before(*heading->known, used));
    TargetReader reader(heading->columns, used);
    for (std::size_t at = heading->at + 1; at < heading->rows.size(); ++at) reader.take(heading->rows[at], read);
    read.notes.push_back("read as columns between " + heading->delimiter);
    reader.tell(read);
    return read;
}

}  // namespace sw
