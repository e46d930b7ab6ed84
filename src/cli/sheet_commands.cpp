// swatchwright sheet: targets on paper.
#include "cli/commands.hpp"
#include "cli/exchange_answers.hpp"
#include "cli/exit_code.hpp"
#include "cli/photo_job.hpp"
#include "sheet/build_plan.hpp"
#include "sheet/file.hpp"
#include "sheet/target_sheets.hpp"

namespace sw {
namespace {

Result<std::vector<Target>> targets_asked(const SheetRequest& request) {
    const auto workbook = Workbook::open(request.workbook, false);
    if (!workbook) return workbook.error();
    if (request.names.empty()) return workbook->targets();
    std::vector<Target> targets;
    for (const std::string& name : request.names) {
        auto target = workbook->target(name);
        if (!target) return target.error();
        targets.push_back(*std::move(target));
    }
    return targets;
}

/// The photo that a target came from, where it still is; what there is to say of it goes into `messages`.
std::optional<TargetPlace> place_of(const Target& target, std::vector<std::string>& messages) {
    const auto named = photo_place(target.source);
    if (!named) return std::nullopt;
    const auto photo = load_photo(named->file, Transfer{});
    auto place = photo ? target_place(*photo, named->region) : std::nullopt;
    if (!place) messages.push_back("the card is drawn without its photo: " + (photo ? named->file + " is another one now" : describe(photo.error())));
    return place;
}

Result<Sheet> draw_sheet(const SheetRequest& request, const std::vector<Target>& targets, std::vector<std::string>& messages) {
    switch (request.kind) {
        case SheetKind::target:
            return target_card(targets.front(), request.paper, request.out, place_of(targets.front(), messages));
        case SheetKind::labels:
            return target_labels(targets, request.paper, request.out);
        case SheetKind::targets:
        case SheetKind::build:
            break;
    }
    return target_list(targets, "Targets of " + request.workbook.filename().string(), request.paper, request.out);
}

Result<Sheet> draw_build(const SheetRequest& request, SheetTold& told) {
    const auto workbook = Workbook::open(request.workbook, false);
    if (!workbook) return workbook.error();
    const auto parts = workbook->parts();
    if (!parts) return parts.error();
    const auto targets = workbook->targets();
    if (!targets) return targets.error();
    std::vector<std::int64_t> of;
    std::string title = "Build plan of " + request.workbook.filename().string();
    for (const std::string& name : request.names) {
        const auto part = workbook->part(name);
        if (!part) return part.error();
        of.push_back(part->id);
        title = of.size() == 1 ? "Build plan: " + part->name : title + ", " + part->name;
    }
    if (parts->empty())
        return Error{Fault::name_unknown, request.workbook.string(), "", "holds no part to draw", "add one with swatchwright part add"};
    auto plan = build_plan(*parts, *targets, of, title, request.paper, request.out);
    if (!plan) return plan.error();
    told.parts = plan->rows;
    return plan;
}

Result<Answer> written(const SheetRequest& request, const Sheet& drawn, SheetTold told, std::vector<std::string> messages) {
    told.pages = drawn.pages;
    for (const DrawnFile& file : drawn.files) {
        if (const auto saved = write_file(file.name, file.bytes); !saved) return saved.error();
        told.files.push_back(file.name);
    }
    return Answer{request.json ? sheet_json(told) : sheet_report(told), std::move(messages), kDone};
}

}  // namespace

Result<Answer> run(const SheetRequest& request) {
    SheetTold told;
    if (request.kind == SheetKind::build) {
        const auto drawn = draw_build(request, told);
        if (!drawn) return in_file(drawn.error(), request.workbook.string());
        return written(request, *drawn, std::move(told), {});
    }
    const auto targets = targets_asked(request);
    if (!targets) return in_file(targets.error(), request.workbook.string());
    if (targets->empty())
        return Error{Fault::name_unknown, request.workbook.string(), "", "holds no target to draw", "add one with swatchwright target add"};
    std::vector<std::string> messages;
    const auto drawn = draw_sheet(request, *targets, messages);
    if (!drawn) return drawn.error();
    told.targets = targets->size();
    return written(request, *drawn, std::move(told), std::move(messages));
}

}  // namespace sw
