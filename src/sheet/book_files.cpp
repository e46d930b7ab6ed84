#include "sheet/book_files.hpp"

#include <algorithm>
#include <ctime>
#include <filesystem>

#include "sheet/archive.hpp"
#include "sheet/file.hpp"
#include "sheet/named_colors.hpp"
#include "sheet/target_sheets.hpp"
#include "workbook/exchange_csv.hpp"
#include "workbook/exchange_cxf.hpp"
#include "workbook/exchange_json.hpp"
#include "workbook/exchange_share.hpp"

namespace sw {
namespace {

// Larger than any workbook of one build by far; a photo taken for a table is told by its content, not by its size.
constexpr std::size_t kMostExchangeBytes = 256U << 20U;

constexpr const char* kShareReadme =
    "Colors of a workbook of Swatchwright, with sheets.\n\n"
    "workbook.json   everything but set-ups; swatchwright import workbook.json takes it\n"
    "targets.csv     targets as a table (RFC 4180)\n"
    "colors.cxf      targets and cards as CxF3 (ISO 17972-1)\n"
    "targets.pdf     all targets on paper\n"
    "labels.pdf      labels to cut out\n\n"
    "Lab figures are relative to the white they are given with; the covariance is theirs. A print, or a screen, is not the color.\n"
    "A photo's figures are no substitute for an instrument where a contract or a safety color depends on them.\n";

/// When the last of it was made: a file's time that is the same for the same content.
std::string newest(const Exchange& all) {
    std::string created;
    for (const Target& target : all.targets) created = std::max(created, target.created);
    for (const Card& card : all.cards) created = std::max(created, card.created);
    return created;
}

Result<ExportedFile> as_cxf(const Exchange& all, const ExportChoice& choice) {
    CxfText cxf = cxf_text(all, newest(all));
    ExportedFile file;
    const auto left = [&](const std::string& name) {
        return std::count_if(cxf.left_out.begin(), cxf.left_out.end(), [&](const NotTaken& one) { return one.name == name; });
    };
    for (const Target& target : all.targets) file.written.targets += left(target.name) == 0 ? 1 : 0;
    file.written.cards = all.targets.size() + all.cards.size() - cxf.left_out.size() - file.written.targets;
    file.left_out = std::move(cxf.left_out);
    if (file.written.targets + file.written.cards == 0)
        return Error{Fault::bad_usage, choice.file, "", "there is nothing in the workbook that CxF can hold", "write .json instead"};
    file.bytes = std::move(cxf.text);
    return file;
}

Result<ExportedFile> as_icc(const Exchange& all, const ExportChoice& choice) {
    auto named = named_color_profile(all.targets, "Swatchwright: " + std::filesystem::path(choice.workbook).filename().string());
    if (!named) {
        Error error = named.error();
        if (error.file.empty()) error.file = choice.file;
        return error;
    }
    ExportedFile file;
    file.written.targets = all.targets.size();
    file.renamed = std::move(named->renamed);
    for (const std::string& name : named->clipped)
        file.notes.push_back("\"" + name + "\" is more colorful than such a profile can say: it holds the nearest");
    file.bytes.assign(named->profile.begin(), named->profile.end());
    return file;
}

Result<ExportedFile> as_csv(const Exchange& all, const ExportChoice& choice) {
    ExportedFile file;
    if (!choice.card.empty()) {
        const auto card = std::find_if(all.cards.begin(), all.cards.end(), [&](const Card& c) { return c.name == choice.card; });
        if (card == all.cards.end())
            return Error{Fault::name_unknown, choice.workbook, "card \"" + choice.card + "\"", "there is no card of that name",
                         "list what is there with swatchwright card list"};
        const auto* spectrum = std::get_if<SpectrumText>(&card->value);
        if (spectrum == nullptr)
            return Error{Fault::bad_usage, "", "card \"" + choice.card + "\"", "has no spectrum", "leave out --card, and say --what cards"};
        file.written.cards = 1;
        file.bytes = spectrum->csv;
    } else if (choice.what == "readings") {
        file.written.readings = all.readings.size();
        file.bytes = readings_csv(all.readings, all.targets);
    } else if (choice.what == "cards") {
        file.written.cards = all.cards.size();
        file.bytes = cards_csv(all.cards);
    } else {
        file.written.targets = all.targets.size();
        file.bytes = targets_csv(all.targets);
    }
    return file;
}

/// A light that its name alone gives back; others are not remembered.
std::string light_name(const std::optional<Light>& under) { return under && light(under->name) ? under->name : ""; }

}  // namespace

Counts counts_of(const Exchange& all) {
    return {all.targets.size(), all.readings.size(), all.cards.size(),  all.lamps.size(),   all.parts.size(), all.kept_notes.size(),
            all.photos.size(),  all.setups.size(),   all.paints.size(), all.samples.size(), all.pots.size()};
}

std::string in_words(const Counts& counts) {
    std::string text;
    std::vector<std::string> words;
    for (const auto& [count, what] : {std::pair{counts.targets, "target"},
                                      {counts.readings, "reading"},
                                      {counts.cards, "card"},
                                      {counts.lamps, "lamp"},
                                      {counts.parts, "part"},
                                      {counts.notes, "note"},
                                      {counts.photos, "photo"},
                                      {counts.setups, "set-up"},
                                      {counts.paints, "paint"},
                                      {counts.samples, "sample"},
                                      {counts.pots, "pot"}}) {
        if (count > 0) words.push_back(std::to_string(count) + " " + what + (count == 1 ? "" : "s"));
    }
    for (std::size_t i = 0; i < words.size(); ++i) text += (i == 0 ? "" : i + 1 == words.size() ? " and " : ", ") + words[i];
    return words.empty() ? "nothing" : text;
}

std::optional<ExchangeFormat> exchange_format(const std::string& file) {
    std::string ending = std::filesystem::path(file).extension().string();
    for (char& c : ending) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    if (ending == ".csv" || ending == ".txt" || ending == ".tsv") return ExchangeFormat::csv;
    if (ending == ".json") return ExchangeFormat::json;
    if (ending == ".cxf" || ending == ".xml") return ExchangeFormat::cxf;
    if (ending == ".icc" || ending == ".icm") return ExchangeFormat::icc;
    return std::nullopt;
}

Result<ExportedFile> exported(const Exchange& all, const ExportChoice& choice) {
    switch (choice.format) {
        case ExchangeFormat::json:
            return ExportedFile{exchange_json(all), counts_of(all), {}, {}, {}};
        case ExchangeFormat::cxf:
            return as_cxf(all, choice);
        case ExchangeFormat::icc:
            return as_icc(all, choice);
        case ExchangeFormat::csv:
            break;
    }
    return as_csv(all, choice);
}

Result<SharedFile> share_bundle(Exchange all, const std::string& workbook, const Paper& paper) {
    if (all.targets.empty()) return Error{Fault::name_unknown, workbook, "", "holds no target to share", "add one with swatchwright target add"};
    const Exchange shared = fit_to_share(std::move(all));
    const auto list = target_list(shared.targets, "Targets of " + std::filesystem::path(workbook).filename().string(), paper, "targets.pdf");
    if (!list) return list.error();
    const auto labels = target_labels(shared.targets, paper, "labels.pdf");
    if (!labels) return labels.error();
    const std::vector<DrawnFile> files{{"README.txt", kShareReadme},
                                       {"workbook.json", exchange_json(shared)},
                                       {"targets.csv", targets_csv(shared.targets)},
                                       {"colors.cxf", cxf_text(shared, newest(shared)).text},
                                       list->files.front(),
                                       labels->files.front()};
    auto zip = zip_of(files, std::time(nullptr));
    if (!zip) return zip.error();
    return SharedFile{*std::move(zip), counts_of(shared)};
}

Result<ImportedFile> imported(const std::string& file, const ImportChoice& choice) {
    const auto text = read_whole_file(file, kMostExchangeBytes);
    if (!text) return text.error();
    const std::string name = std::filesystem::path(file).filename().string();
    auto content = choice.format == ExchangeFormat::json ? exchange_of_json(*text, name)
                   : choice.format == ExchangeFormat::cxf
                       ? exchange_of_cxf(*text, {name, choice.sd})
                       : targets_of_csv(*text, {name, choice.map, choice.under, choice.observer, choice.sd, choice.kind, choice.known});
    if (!content) {
        Error error = content.error();
        error.file = file;
        return error;
    }
    ImportedFile read{*std::move(content), {}};
    if (choice.format != ExchangeFormat::csv || choice.map.empty()) return read;
    read.mapped.emplace();
    read.mapped->headings = read.content.headings;
    read.mapped->columns = choice.map;
    read.mapped->light = light_name(choice.under);
    read.mapped->observer = choice.observer;
    return read;
}

}  // namespace sw
