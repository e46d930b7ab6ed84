// swatchwright export, import and share: a workbook's content in open formats.
#include <algorithm>
#include <ctime>
#include <filesystem>
#include <system_error>

#include "cli/commands.hpp"
#include "cli/exchange_answers.hpp"
#include "cli/exit_code.hpp"
#include "cli/files.hpp"
#include "cli/photo_job.hpp"
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
    "workbook.json   everything; swatchwright import workbook.json takes it\n"
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

Result<Exchange> content_of(const std::filesystem::path& file) {
    auto workbook = Workbook::open(file, false);
    if (!workbook) return in_file(workbook.error(), file.string());
    auto all = everything_in(*workbook);
    if (!all) return in_file(all.error(), file.string());
    return all;
}

/// The file's bytes; what is not in them goes into `told`.
Result<std::string> exported(const ExportRequest& request, const Exchange& all, ExportTold& told) {
    switch (request.format) {
        case ExchangeFormat::json:
            told.written = counts_of(all);
            return exchange_json(all);
        case ExchangeFormat::cxf: {
            CxfText cxf = cxf_text(all, newest(all));
            const auto is_target = [&](const NotTaken& left) {
                return std::any_of(all.targets.begin(), all.targets.end(), [&](const Target& t) { return t.name == left.name; });
            };
            const auto targets_left = static_cast<std::size_t>(std::count_if(cxf.left_out.begin(), cxf.left_out.end(), is_target));
            told.written.targets = all.targets.size() - targets_left;
            told.written.cards = all.cards.size() + targets_left - cxf.left_out.size();
            told.left_out = std::move(cxf.left_out);
            if (told.written.targets + told.written.cards == 0)
                return Error{Fault::bad_usage, request.out, "", "there is nothing in the workbook that CxF can hold", "write .json instead"};
            return std::move(cxf.text);
        }
        case ExchangeFormat::icc: {
            auto named = named_color_profile(all.targets, "Swatchwright: " + request.workbook.filename().string());
            if (!named) return in_file(named.error(), request.out);
            told.written.targets = all.targets.size();
            told.renamed = std::move(named->renamed);
            for (const std::string& name : named->clipped)
                told.notes.push_back("\"" + name + "\" is more colorful than such a profile can say: it holds the nearest");
            return std::string(named->profile.begin(), named->profile.end());
        }
        case ExchangeFormat::csv:
            break;
    }
    if (!request.card.empty()) {
        const auto card = std::find_if(all.cards.begin(), all.cards.end(), [&](const Card& c) { return c.name == request.card; });
        if (card == all.cards.end())
            return Error{Fault::name_unknown, request.workbook.string(), "card \"" + request.card + "\"", "there is no card of that name",
                         "list what is there with swatchwright card list"};
        const auto* spectrum = std::get_if<SpectrumText>(&card->value);
        if (spectrum == nullptr)
            return Error{Fault::bad_usage, "", "card \"" + request.card + "\"", "has no spectrum", "leave out --card, and say --what cards"};
        told.written.cards = 1;
        return spectrum->csv;
    }
    if (request.what == "readings") {
        told.written.readings = all.readings.size();
        return readings_csv(all.readings, all.targets);
    }
    if (request.what == "cards") {
        told.written.cards = all.cards.size();
        return cards_csv(all.cards);
    }
    told.written.targets = all.targets.size();
    return targets_csv(all.targets);
}

/// A light that its name alone gives back; others are not remembered.
std::string light_name(const std::optional<Light>& under) { return under && light(under->name) ? under->name : ""; }

/// How tables were read before; none where that cannot be told, which the workbook says when the colors are to be kept.
std::vector<ColumnMapping> mappings_in(const std::filesystem::path& file) {
    std::error_code problem;
    if (!std::filesystem::exists(file, problem)) return {};
    const auto workbook = Workbook::open(file, false);
    const auto known = workbook ? workbook->mappings() : Result<std::vector<ColumnMapping>>(workbook.error());
    return known ? *known : std::vector<ColumnMapping>();
}

/// With how its columns were read, where the request said so.
Result<Exchange> read_exchange(const ImportRequest& request, std::optional<ColumnMapping>& mapped) {
    const auto text = read_whole_file(request.file, kMostExchangeBytes);
    if (!text) return text.error();
    const std::string name = std::filesystem::path(request.file).filename().string();
    if (request.format == ExchangeFormat::json) return exchange_of_json(*text, name);
    if (request.format == ExchangeFormat::cxf) return exchange_of_cxf(*text, {name, request.sd});
    const auto known = request.map.empty() ? mappings_in(request.workbook) : std::vector<ColumnMapping>();
    auto read = targets_of_csv(*text, {name, request.map, request.under, request.observer, request.sd, request.kind, known});
    if (!read || request.map.empty()) return read;
    mapped.emplace();
    mapped->headings = read->headings;
    mapped->columns = request.map;
    mapped->light = light_name(request.under);
    mapped->observer = request.observer;
    return read;
}

}  // namespace

Result<Answer> run(const ExportRequest& request) {
    auto all = content_of(request.workbook);
    if (!all) return all.error();
    if (!request.targets.empty()) {
        all = only(*std::move(all), request.targets);
        if (!all) return in_file(all.error(), request.workbook.string());
    }
    ExportTold told;
    const auto bytes = exported(request, *all, told);
    if (!bytes) return bytes.error();
    const auto written = write_file(request.out, *bytes);
    if (!written) return written.error();
    return Answer{request.json ? export_json(request, told) : export_report(request, told), {}, kDone};
}

Result<Answer> run(const ShareRequest& request) {
    auto all = content_of(request.workbook);
    if (!all) return all.error();
    if (!request.targets.empty()) {
        all = only(*std::move(all), request.targets);
        if (!all) return in_file(all.error(), request.workbook.string());
    }
    if (all->targets.empty())
        return Error{Fault::name_unknown, request.workbook.string(), "", "holds no target to share", "add one with swatchwright target add"};
    const Exchange shared = fit_to_share(*std::move(all));
    const std::string title = "Targets of " + request.workbook.filename().string();
    const auto list = target_list(shared.targets, title, request.paper, "targets.pdf");
    if (!list) return list.error();
    const auto labels = target_labels(shared.targets, request.paper, "labels.pdf");
    if (!labels) return labels.error();
    const std::vector<DrawnFile> files{{"README.txt", kShareReadme},
                                       {"workbook.json", exchange_json(shared)},
                                       {"targets.csv", targets_csv(shared.targets)},
                                       {"colors.cxf", cxf_text(shared, newest(shared)).text},
                                       list->files.front(),
                                       labels->files.front()};
    const auto zip = zip_of(files, std::time(nullptr));
    if (!zip) return in_file(zip.error(), request.out);
    if (const auto written = write_file(request.out, *zip); !written) return written.error();
    ExportTold told;
    told.written = counts_of(shared);
    ExportRequest as_export;
    as_export.out = request.out;
    return Answer{request.json ? export_json(as_export, told) : export_report(as_export, told), {}, kDone};
}

Result<Answer> run(const ImportRequest& request) {
    std::optional<ColumnMapping> mapped;
    auto incoming = read_exchange(request, mapped);
    if (!incoming) {
        Error error = incoming.error();
        error.file = request.file;
        return error;
    }
    std::error_code problem;
    const bool is_there = std::filesystem::exists(request.workbook, problem);
    auto there = is_there ? content_of(request.workbook) : Exchange();
    if (!there) return there.error();
    const Exchange fresh = fit_in(*std::move(incoming), *there, request.rename);
    const Counts counts = counts_of(fresh);
    const bool any = counts.targets + counts.readings + counts.cards + counts.lamps + counts.parts + counts.notes > 0;
    if (any) {
        auto workbook = Workbook::open(request.workbook, true);
        if (!workbook) return in_file(workbook.error(), request.workbook.string());
        const std::string words = "Imported " + std::filesystem::path(request.file).filename().string();
        const auto added = workbook->together(words, [&]() -> Result<Done> {
            const auto all = add_all(*workbook, fresh, words);
            return all && mapped ? workbook->remember(*mapped) : all;
        });
        if (!added) return in_file(added.error(), request.workbook.string());
    }
    const bool refused = std::any_of(fresh.not_taken.begin(), fresh.not_taken.end(), [](const NotTaken& one) { return !one.place.empty(); });
    Answer answer{request.json ? import_json(request, fresh) : import_report(request, fresh), fresh.notes, !any && refused ? kBadInput : kDone};
    for (const NotTaken& one : fresh.not_taken) answer.messages.push_back("not taken: " + not_taken_words(one));
    return answer;
}

}  // namespace sw
