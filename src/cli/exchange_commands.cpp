// swatchwright export and import: a workbook's content in open formats.
#include <algorithm>
#include <filesystem>
#include <system_error>

#include "cli/commands.hpp"
#include "cli/exchange_answers.hpp"
#include "cli/exit_code.hpp"
#include "cli/files.hpp"
#include "cli/photo_job.hpp"
#include "sheet/file.hpp"
#include "sheet/named_colors.hpp"
#include "workbook/exchange_csv.hpp"
#include "workbook/exchange_cxf.hpp"
#include "workbook/exchange_json.hpp"

namespace sw {
namespace {

// Larger than any workbook of one build by far; a photo taken for a table is told by its content, not by its size.
constexpr std::size_t kMostExchangeBytes = 256U << 20U;

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
            told.targets = all.targets.size();
            told.readings = all.readings.size();
            told.cards = all.cards.size();
            return exchange_json(all);
        case ExchangeFormat::cxf: {
            // its time of making: that of what was made last, so that the same content gives the same file
            std::string created;
            for (const Target& target : all.targets) created = std::max(created, target.created);
            for (const Card& card : all.cards) created = std::max(created, card.created);
            CxfText cxf = cxf_text(all, created);
            const auto is_target = [&](const NotTaken& left) {
                return std::any_of(all.targets.begin(), all.targets.end(), [&](const Target& t) { return t.name == left.name; });
            };
            const auto targets_left = static_cast<std::size_t>(std::count_if(cxf.left_out.begin(), cxf.left_out.end(), is_target));
            told.targets = all.targets.size() - targets_left;
            told.cards = all.cards.size() + targets_left - cxf.left_out.size();
            told.left_out = std::move(cxf.left_out);
            if (told.targets + told.cards == 0)
                return Error{Fault::bad_usage, request.out, "", "there is nothing in the workbook that CxF can hold", "write .json instead"};
            return std::move(cxf.text);
        }
        case ExchangeFormat::icc: {
            auto named = named_color_profile(all.targets, "Swatchwright: " + request.workbook.filename().string());
            if (!named) return in_file(named.error(), request.out);
            told.targets = all.targets.size();
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
        told.cards = 1;
        return spectrum->csv;
    }
    if (request.what == "readings") {
        told.readings = all.readings.size();
        return readings_csv(all.readings, all.targets);
    }
    if (request.what == "cards") {
        told.cards = all.cards.size();
        return cards_csv(all.cards);
    }
    told.targets = all.targets.size();
    return targets_csv(all.targets);
}

Result<Exchange> read_exchange(const ImportRequest& request) {
    const auto text = read_whole_file(request.file, kMostExchangeBytes);
    if (!text) return text.error();
    const std::string name = std::filesystem::path(request.file).filename().string();
    if (request.format == ExchangeFormat::json) return exchange_of_json(*text, name);
    if (request.format == ExchangeFormat::cxf) return exchange_of_cxf(*text, {name, request.sd});
    return targets_of_csv(*text, {name, request.map, request.under, request.observer, request.sd, request.kind});
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

Result<Answer> run(const ImportRequest& request) {
    auto incoming = read_exchange(request);
    if (!incoming) {
        Error error = incoming.error();
        error.file = request.file;
        return error;
    }
    Exchange there;
    std::error_code problem;
    if (std::filesystem::exists(request.workbook, problem)) {
        auto found = content_of(request.workbook);
        if (!found) return found.error();
        there = *std::move(found);
    }
    const Exchange fresh = fit_in(*std::move(incoming), there, request.rename);
    const bool any = !(fresh.targets.empty() && fresh.readings.empty() && fresh.cards.empty());
    if (any) {
        const auto added = add_all(request.workbook, fresh);
        if (!added) return in_file(added.error(), request.workbook.string());
    }
    const bool refused = std::any_of(fresh.not_taken.begin(), fresh.not_taken.end(), [](const NotTaken& one) { return !one.place.empty(); });
    Answer answer{request.json ? import_json(request, fresh) : import_report(request, fresh), fresh.notes, !any && refused ? kBadInput : kDone};
    for (const NotTaken& one : fresh.not_taken) answer.messages.push_back("not taken: " + not_taken_words(one));
    return answer;
}

}  // namespace sw
