// swatchwright export, import and share: a workbook's content in open formats.
#include <algorithm>
#include <filesystem>
#include <system_error>

#include "cli/commands.hpp"
#include "cli/exchange_answers.hpp"
#include "cli/exit_code.hpp"
#include "cli/photo_job.hpp"
#include "sheet/file.hpp"

namespace sw {
namespace {

Result<Exchange> content_of(const std::filesystem::path& file) {
    auto workbook = Workbook::open(file, false);
    if (!workbook) return in_file(workbook.error(), file.string());
    auto all = everything_in(*workbook);
    if (!all) return in_file(all.error(), file.string());
    return all;
}

/// How tables were read before; none where that cannot be told, which the workbook says when the colors are to be kept.
std::vector<ColumnMapping> mappings_in(const std::filesystem::path& file) {
    std::error_code problem;
    if (!std::filesystem::exists(file, problem)) return {};
    const auto workbook = Workbook::open(file, false);
    const auto known = workbook ? workbook->mappings() : Result<std::vector<ColumnMapping>>(workbook.error());
    return known ? *known : std::vector<ColumnMapping>();
}

/// What the request asks of the workbook's content.
Result<Exchange> content_asked(const std::filesystem::path& workbook, const std::vector<std::string>& targets) {
    auto all = content_of(workbook);
    if (!all || targets.empty()) return all;
    auto some = only(*std::move(all), targets);
    if (!some) return in_file(some.error(), workbook.string());
    return some;
}

}  // namespace

Result<Answer> run(const ExportRequest& request) {
    const auto all = content_asked(request.workbook, request.targets);
    if (!all) return all.error();
    const auto file = exported(*all, {request.format, request.out, request.workbook.string(), request.what, request.card});
    if (!file) return file.error();
    const auto written = write_file(request.out, file->bytes);
    if (!written) return written.error();
    return Answer{request.json ? export_json(request, *file) : export_report(request, *file), {}, kDone};
}

Result<Answer> run(const ShareRequest& request) {
    auto all = content_asked(request.workbook, request.targets);
    if (!all) return all.error();
    auto shared = share_bundle(*std::move(all), request.workbook.string(), request.paper);
    if (!shared) return in_file(shared.error(), request.out);
    if (const auto written = write_file(request.out, shared->bytes); !written) return written.error();
    ExportedFile told;
    told.written = shared->shared;
    ExportRequest as_export;
    as_export.out = request.out;
    return Answer{request.json ? export_json(as_export, told) : export_report(as_export, told), {}, kDone};
}

Result<Answer> run(const ImportRequest& request) {
    ImportChoice choice{request.format, request.map, request.under, request.observer, request.sd, request.kind, {}};
    if (choice.format == ExchangeFormat::csv && choice.map.empty()) choice.known = mappings_in(request.workbook);
    auto incoming = imported(request.file, choice);
    if (!incoming) return incoming.error();
    std::error_code problem;
    const bool is_there = std::filesystem::exists(request.workbook, problem);
    auto there = is_there ? content_of(request.workbook) : Exchange();
    if (!there) return there.error();
    const Exchange fresh = fit_in(std::move(incoming->content), *there, request.rename);
    const bool any = counts_of(fresh).all() > 0;
    if (any) {
        auto workbook = Workbook::open(request.workbook, true);
        if (!workbook) return in_file(workbook.error(), request.workbook.string());
        const std::string words = "Imported " + std::filesystem::path(request.file).filename().string();
        const auto added = workbook->together(words, [&]() -> Result<Done> {
            const auto all = add_all(*workbook, fresh, words);
            return all && incoming->mapped ? workbook->remember(*incoming->mapped) : all;
        });
        if (!added) return in_file(added.error(), request.workbook.string());
    }
    const bool refused = std::any_of(fresh.not_taken.begin(), fresh.not_taken.end(), [](const NotTaken& one) { return !one.place.empty(); });
    Answer answer{request.json ? import_json(request, fresh) : import_report(request, fresh), fresh.notes, !any && refused ? kBadInput : kDone};
    for (const NotTaken& one : fresh.not_taken) answer.messages.push_back("not taken: " + not_taken_words(one));
    return answer;
}

}  // namespace sw
