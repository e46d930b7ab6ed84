// Cards and set-ups: what a workbook keeps for calibrating.
#include <system_error>

#include "calibrate/setup.hpp"
#include "calibrate/setup_text.hpp"
#include "cli/commands.hpp"
#include "cli/exit_code.hpp"
#include "cli/json.hpp"
#include "cli/photo_job.hpp"
#include "cli/report.hpp"
#include "cli/text.hpp"

namespace sw {
namespace {

/// list, show and remove, which are alike. nothing: what `list` tells where there is no workbook yet.
template <class Kept, class Tell, class Book>
Result<Answer> look(const Book& request, const std::string& what, Result<std::vector<Kept>> (Workbook::*all)() const,
                    Result<Kept> (Workbook::*one)(const std::string&) const, Result<Done> (Workbook::*remove)(std::int64_t), Tell tell) {
    std::error_code problem;
    if (!request.workbook_given && !std::filesystem::exists(request.workbook, problem)) {
        if (request.action == TargetAction::list) return tell(std::vector<Kept>(), "");
        return Error{Fault::name_unknown, request.workbook.string(), request.name, "there is no workbook yet, so no " + what + " of that name",
                     what == "card" ? "add one with swatchwright card add" : "make one with swatchwright calibrate PHOTO --save NAME"};
    }
    auto workbook = Workbook::open(request.workbook, false);
    if (!workbook) return in_file(workbook.error(), request.workbook.string());
    if (request.action == TargetAction::list) {
        const auto kept = ((*workbook).*all)();
        if (!kept) return in_file(kept.error(), request.workbook.string());
        return tell(*kept, "");
    }
    const auto kept = ((*workbook).*one)(request.name);
    if (!kept) return in_file(kept.error(), request.workbook.string());
    if (request.action == TargetAction::show) return tell({*kept}, "");
    const auto removed = ((*workbook).*remove)(kept->id);
    if (!removed) return in_file(removed.error(), request.workbook.string());
    return tell({*kept}, "Removed");
}

}  // namespace

Result<Answer> run(const CardRequest& request) {
    const auto tell = [&](const std::vector<Card>& cards, const std::string& verb) {
        return Answer{request.json ? cards_json(cards) : cards_report(cards, verb, request.workbook.string()), {}, kDone};
    };
    if (request.action != TargetAction::add) return look<Card>(request, "card", &Workbook::cards, &Workbook::card, &Workbook::remove_card, tell);
    auto workbook = Workbook::open(request.workbook, true);
    if (!workbook) return in_file(workbook.error(), request.workbook.string());
    const auto kept = workbook->add(request.card);
    if (!kept) return in_file(kept.error(), request.workbook.string());
    Answer answer = tell({*kept}, "Kept");
    if (kept->sd_assumed) answer.messages.push_back("no --sd is given: a standard deviation of " + brief(kept->sd) + " is assumed");
    return answer;
}

Result<Answer> run(const SetupRequest& request) {
    const auto tell = [&](const std::vector<KeptSetup>& setups, const std::string& verb) {
        return Answer{request.json ? setups_json(setups) : setups_report(setups, verb, request.workbook.string()), {}, kDone};
    };
    return look<KeptSetup>(request, "set-up", &Workbook::setups, &Workbook::setup, &Workbook::remove_setup, tell);
}

Result<Answer> run(const CalibrateRequest& request) {
    const auto photo = open_photo(request.photo, request.observer);
    if (!photo) return photo.error();
    if (!request.save.empty()) {
        const auto setup = make_setup(*photo->photo, photo->calibration);
        if (!setup) return in_file(setup.error(), request.photo.file);
        auto workbook = Workbook::open(request.photo.workbook, true);
        if (!workbook) return in_file(workbook.error(), request.photo.workbook.string());
        KeptSetup kept;
        kept.name = request.save;
        kept.photo_file = request.photo.file;
        kept.photo_hash = photo->photo->content_hash;
        kept.light = photo->lit_by ? photo->lit_by->name : "";
        kept.method = photo->calibration.method;
        kept.grade = photo->calibration.grade;
        kept.json = to_text(*setup);
        const auto done = workbook->together("Added set-up \"" + kept.name + "\"", [&]() -> Result<Done> {
            if (const auto added = workbook->add(kept); !added) return added.error();
            if (const auto seen = workbook->keep(kept_photo(*photo->photo)); !seen) return seen.error();
            return Done{};
        });
        if (!done) return in_file(done.error(), request.photo.workbook.string());
    }
    return Answer{request.json ? calibrate_json(request, *photo) : calibrate_report(request, *photo), {}, kDone};
}

}  // namespace sw
