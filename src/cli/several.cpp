// swatchwright rank and coat: more than a pair.
#include "cli/commands.hpp"
#include "cli/exit_code.hpp"
#include "cli/files.hpp"
#include "cli/json.hpp"
#include "cli/light_job.hpp"
#include "cli/photo_job.hpp"
#include "cli/report.hpp"
#include "match/coat.hpp"

namespace sw {
namespace {

Result<std::vector<Target>> targets_of(const RankRequest& request) {
    const auto workbook = Workbook::open(request.photo.workbook, false);
    if (!workbook) return in_file(workbook.error(), request.photo.workbook.string());
    std::vector<Target> targets;
    for (const std::string& name : request.targets) {
        auto target = workbook->target(name);
        if (!target) return in_file(target.error(), request.photo.workbook.string());
        targets.push_back(*std::move(target));
    }
    if (!targets.empty()) return targets;
    auto all = workbook->targets();
    if (!all) return in_file(all.error(), request.photo.workbook.string());
    if (all->empty())
        return Error{Fault::name_unknown, request.photo.workbook.string(), "", "has no targets", "add some with swatchwright target add"};
    return all;
}

/// The swatch as read under each target's own light.
Result<std::vector<Ranked>> against_targets(const RankRequest& request, const CalibratedPhoto& photo, const std::vector<Target>& targets) {
    std::vector<HeldAgainst> held;
    std::vector<Reading> readings;
    for (const Target& target : targets) {
        const Reading* reading = nullptr;
        for (const Reading& made : readings) {
            if (made.light == target.light && made.observer == target.observer) reading = &made;
        }
        if (reading == nullptr) {
            const auto under = light(target.light, read_text_file, lamps_in(request.photo.workbook));
            if (!under) return in_file(under.error(), request.photo.workbook.string());
            auto made = read_region(*photo.photo, photo.calibration, "swatch", request.swatches.front().region, *under, target.observer);
            if (!made) return in_file(made.error(), request.photo.file);
            if (!made->absolute_ok) return color_unknown(request.photo.file, "swatch " + to_text(request.swatches.front().region));
            readings.push_back(*std::move(made));
            readings.back().light = target.light;
            reading = &readings.back();
        }
        held.push_back({target.name, target.lab, reading->lab, target.lab_covariance, reading->lab_covariance});
    }
    return rank_targets(held, request.options.tolerance);
}

}  // namespace

Result<Answer> run(const RankRequest& request) {
    std::vector<Target> targets;
    if (!request.chip) {  // before the photo: a name that is not there is told at once
        auto found = targets_of(request);
        if (!found) return found.error();
        targets = *std::move(found);
    }
    const auto photo = open_photo(request.photo, Observer::degree2);
    if (!photo) return photo.error();
    const auto ranked = request.chip
                            ? rank_swatches(*photo->photo, photo->calibration, photo->lit_by, *request.chip, request.swatches, request.options)
                            : against_targets(request, *photo, targets);
    if (!ranked) return in_file(ranked.error(), request.photo.file);
    const std::string to = request.chip ? "the chip" : "the swatch";
    Answer answer{request.json ? rank_json(request, *photo, *ranked, to) : rank_report(request, *photo, *ranked, to), {}, kDone};
    if (request.check && ranked->front().verdict != Verdict::within) answer.exit_code = kAnsweredNo;
    return answer;
}

Result<Answer> run(const CoatRequest& request) {
    std::vector<CalibratedPhoto> photos;
    std::vector<const PairRequest*> asked{&request.before};
    if (!request.one_photo) asked.push_back(&request.after);
    for (const PairRequest* pair : asked) {
        auto photo = open_photo(pair->photo, Observer::degree2);
        if (!photo) return photo.error();
        photos.push_back(*std::move(photo));
    }
    std::vector<std::string> notes;
    std::optional<CoatChange> change;
    if (request.one_photo || request.before.has_chip) {
        std::vector<Comparison> pairs;
        for (std::size_t i = 0; i < photos.size(); ++i) {
            auto pair = compare({{photos[i].photo.get(), &photos[i].calibration, asked[i]->chip, asked[i]->swatch, photos[i].lit_by}});
            if (!pair) {
                Error error = pair.error();
                if (request.one_photo && error.place.starts_with("chip")) error.place.replace(0, 4, "before");  // as the user called them
                if (request.one_photo && error.place.starts_with("swatch")) error.place.replace(0, 6, "after");
                return in_file(error, asked[i]->photo.file);
            }
            pairs.push_back(*std::move(pair));
        }
        change = pairs.size() == 1 ? coat_change(pairs[0]) : coat_change(pairs[0], pairs[1]);
    } else {
        std::vector<Reading> readings;
        for (std::size_t i = 0; i < photos.size(); ++i) {
            auto reading = read_region(*photos[i].photo, photos[i].calibration, "swatch", asked[i]->swatch, *light("D50"));
            if (!reading) return in_file(reading.error(), asked[i]->photo.file);
            if (!reading->absolute_ok) return color_unknown(asked[i]->photo.file, "swatch " + to_text(asked[i]->swatch));
            readings.push_back(*std::move(reading));
        }
        change = coat_change(readings[0], readings[1]);
        notes.emplace_back(
            "Nothing uncoated stands in both photos, so each photo must tell the color by itself and the range is wide: mark a chip in both.");
    }
    if (photos.size() == 2) {
        const auto &one = photos[0].lit_by, &two = photos[1].lit_by;
        if (!one || !two)
            notes.emplace_back("The light of the photos is not named: the same lamp for both is taken for granted.");
        else if (one->name != two->name)
            notes.emplace_back("The photos were taken under two lights; what the change of light does to the color counts as the coat's doing.");
    }
    return Answer{request.json ? coat_json(photos, *change, notes) : coat_report(photos, *change, notes), {}, kDone};
}

}  // namespace sw
