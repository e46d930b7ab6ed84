#include "cli/commands.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <system_error>
#include <tuple>

#include "cli/book_answers.hpp"
#include "cli/exit_code.hpp"
#include "cli/files.hpp"
#include "cli/json.hpp"
#include "cli/list_order.hpp"
#include "cli/photo_job.hpp"
#include "cli/report.hpp"
#include "cli/text.hpp"
#include "sheet/light_ladder.hpp"
#include "sheet/words.hpp"

namespace sw {
namespace {

std::string drawn_into(const std::string& file) { return file.empty() ? "" : wrapped("Drawn into " + file + "."); }

Result<Reflectance> read_reflectance(const std::string& file) {
    const auto text = read_text_file(file);
    if (!text) return text.error();
    const auto table = parse_spectrum(*text, file);
    if (!table) return in_file(table.error(), file);
    auto surface = reflectance(*table, file);
    if (!surface) return in_file(surface.error(), file);
    return surface;
}

}  // namespace

Result<Answer> run(const MeasureRequest& request) {
    const auto photo = open_photo(request.photo, request.observer);
    if (!photo) return photo.error();
    std::vector<Reading> readings;
    for (const NamedRegion& region : request.regions) {
        auto reading = read_region(*photo->photo, photo->calibration, region.name, region.region, request.under, request.observer);
        if (!reading) return in_file(reading.error(), request.photo.file);
        readings.push_back(*std::move(reading));
    }
    return Answer{request.json ? measure_json(*photo, readings) : measure_report(*photo, readings), {}, kDone};
}

Result<Answer> run(const CompareRequest& request) {
    std::vector<CalibratedPhoto> photos;
    std::vector<PairInPhoto> pairs;
    for (const PairRequest& pair : request.pairs) {
        auto photo = open_photo(pair.photo, request.options.observer);
        if (!photo) return photo.error();
        photos.push_back(*std::move(photo));
    }
    for (std::size_t i = 0; i < photos.size(); ++i) {
        pairs.push_back({photos[i].photo.get(), &photos[i].calibration, request.pairs[i].chip, request.pairs[i].swatch, photos[i].lit_by});
    }
    auto comparison = compare(pairs, request.options);
    if (!comparison) return in_file(comparison.error(), request.pairs.size() == 1 ? request.pairs.front().photo.file : "");
    for (const CalibratedPhoto& photo : photos) {
        if (photos.size() > 1 && !photo.lit_by) {
            comparison->notes.push_back("The light of " + photo.photo->path +
                                        " is not named, so the pair cannot be listed as seen under it: add lit-by=LIGHT to its --pair.");
        }
    }
    if (!request.ladder.empty()) {
        const std::string title = "Light ladder of " + std::filesystem::path(request.pairs.front().photo.file).filename().string();
        const auto saved = save_light_ladder(*comparison, request.options, request.screen.value_or(Screen()), title,
                                             answer_sentence(comparison->difference, request.tolerance_given), request.ladder);
        if (!saved) return saved.error();
    }
    Answer answer{request.json ? compare_json(photos, *comparison, request.ladder)
                               : compare_report(photos, *comparison, request.tolerance_given) + drawn_into(request.ladder),
                  {},
                  kDone};
    if (request.check && comparison->difference.verdict != Verdict::within) answer.exit_code = kAnsweredNo;
    return answer;
}

Result<Answer> run(const SpectraRequest& request) {
    const auto a = read_reflectance(request.file_a);
    if (!a) return a.error();
    const auto b = read_reflectance(request.file_b);
    if (!b) return b.error();
    std::vector<JudgedPair> pairs;
    const Light& reference = request.under.front();
    for (const Light& under : request.under) {
        pairs.push_back({pair_under_light(*a, *b, reference, under, request.observer, request.correction),
                         pair_range(*a, *b, reference, under, request.observer, request.correction)});
    }
    return Answer{request.json ? spectra_json(request, pairs) : spectra_report(request, pairs), {}, kDone};
}

Result<Answer> run(const LightRequest& request) {
    if (!request.light) {
        std::vector<LightFigures> lights;
        for (const std::string& name : standard_light_names()) {
            const auto named = light(name);
            assert(named);  // ours, always there
            lights.push_back(light_figures(*named, request.observer));
        }
        std::vector<OwnFigures> own;
        std::error_code problem;
        if (std::filesystem::exists(request.workbook, problem)) {
            const auto workbook = Workbook::open(request.workbook, false);
            if (!workbook) return in_file(workbook.error(), request.workbook.string());
            const auto lamps = workbook->lamps();
            if (!lamps) return in_file(lamps.error(), request.workbook.string());
            for (const Lamp& lamp : *lamps) {
                const auto known = light_of(lamp);
                if (!known) return in_file(known.error(), request.workbook.string());
                own.push_back({lamp.name, light_figures(*known, request.observer)});
            }
        }
        return Answer{request.json ? light_list_json(lights, own) : light_list_report(lights, own), {}, kDone};
    }
    const LightFigures figures = light_figures(*request.light, request.observer);
    if (!request.plot.empty()) {
        Plot plot = light_plot(figures.light, figures.quality, light_plot_figures(figures));
        plot.subtitle = light_words(figures.quality, figures.sd);
        plot.note = figures.origin == LightOrigin::published  ? "Exact: a published table or formula."
                    : figures.origin == LightOrigin::believed ? "± is one standard deviation over the lamps that have these figures on their box."
                                                              : "From a file as it is; with what error it was measured is unknown.";
        const auto saved = save_plot(plot, request.plot);
        if (!saved) return saved.error();
    }
    if (request.json) return Answer{light_json(figures, request.plot), {}, kDone};
    return Answer{light_report(figures) + drawn_into(request.plot), {}, kDone};
}

Result<Answer> run(const ColorRequest& request) {
    const ColorFacts facts = color_facts(request.color.lab, request.under, request.observer);
    if (!request.plot.empty()) {
        const auto believed = facts.surface ? believed_reflectance(facts.lab, request.under, request.observer) : std::nullopt;
        const PlotSwatch swatch{facts.srgb.rgb, hex(facts.srgb.rgb) + (facts.srgb.in_gamut ? " (sRGB)" : ": the nearest sRGB has")};
        Plot plot = color_plot(request.text, swatch, believed, color_plot_figures(request, facts));
        plot.subtitle = color_words(facts.lab) + ", under " + request.under.name;
        if (!believed) {
            plot.note = facts.surface ? "Nothing of this color comes back, so there is no reflectance to draw."
                                      : "No plain surface can have this color under " + request.under.name + ", so there is no reflectance to draw.";
        } else {
            plot.note = believed->unusual
                            ? "Three numbers are not a spectrum, and few paints have this color: the range may be too small."
                            : "Three numbers are not a spectrum: the line is what paints of this color usually reflect, the shade where "
                              "95 % of them lie at each wavelength.";
        }
        const auto saved = save_plot(plot, request.plot);
        if (!saved) return saved.error();
    }
    if (request.json) return Answer{color_json(request, facts), {}, kDone};
    return Answer{color_report(request, facts) + drawn_into(request.plot), {}, kDone};
}

namespace {

/// A target to be kept, and where it came from: the photo, and the reading it is made of.
struct NewTarget {
    Target target;
    std::optional<KeptPhoto> photo;
    std::optional<KeptReading> reading;
};

Result<NewTarget> new_target(const TargetRequest& request) {
    NewTarget made;
    Target& target = made.target;
    target.name = request.name;
    target.light = request.under.name;
    target.observer = request.observer;
    if (request.typed) {
        target.lab = *request.typed;
        target.lab_covariance = Eigen::Matrix3d::Identity() * (request.sd * request.sd);
        target.kind = TargetKind::published;
        target.source = request.sd_assumed ? "typed; ± " + brief(request.sd) + " assumed" : "typed";
        return made;
    }
    const auto photo = open_photo(*request.photo, request.observer);
    if (!photo) return photo.error();
    const auto reading = read_region(*photo->photo, photo->calibration, request.name, request.region, request.under, request.observer);
    if (!reading) return in_file(reading.error(), request.photo->file);
    if (!reading->absolute_ok) {
        return color_unknown(request.photo->file, request.name + " " + to_text(request.region));
    }
    target.lab = reading->lab;
    target.lab_covariance = reading->lab_covariance;
    target.kind = TargetKind::chip;
    target.source = request.photo->file + " " + to_text(request.region);
    made.photo = kept_photo(*photo->photo);
    made.reading = kept_reading(*photo, *reading, request.under);
    return made;
}

/// All of it or nothing; the target as it is kept.
Result<Target> keep(Workbook& workbook, const NewTarget& fresh) {
    Target kept;
    const auto done = workbook.together("Added target \"" + fresh.target.name + "\"", [&]() -> Result<Done> {
        const auto target = workbook.add(fresh.target);
        if (!target) return target.error();
        kept = *target;
        if (!fresh.reading) return Done{};
        if (const auto photo = workbook.keep(*fresh.photo); !photo) return photo.error();
        KeptReading reading = *fresh.reading;
        reading.target = kept.id;
        if (const auto added = workbook.add(reading); !added) return added.error();
        return Done{};
    });
    if (!done) return done.error();
    return kept;
}

Answer targets_answer(const TargetRequest& request, const std::vector<Target>& targets, const std::set<std::int64_t>& off_record = {},
                      const std::string& verb = "", const std::vector<Distance>& distances = {}) {
    return Answer{
        request.json ? targets_json(targets, off_record, distances) : targets_report(targets, off_record, verb, request.workbook.string(), distances),
        {},
        kDone};
}

}  // namespace

Result<Answer> run(const TargetRequest& request) {
    std::error_code problem;
    const bool first_use = !request.workbook_given && !std::filesystem::exists(request.workbook, problem);
    if (request.action == TargetAction::list && first_use) return targets_answer(request, {});

    const bool add = request.action == TargetAction::add;
    std::optional<NewTarget> fresh;
    if (add) {  // before the workbook is made: a bad photo leaves no empty workbook behind
        auto made = new_target(request);
        if (!made) return made.error();
        fresh = *std::move(made);
    } else if (first_use) {
        return Error{Fault::name_unknown, request.workbook.string(), request.name, "there is no workbook yet, so no target of that name",
                     "add one with swatchwright target add"};
    }
    auto workbook = Workbook::open(request.workbook, add);
    if (!workbook) return in_file(workbook.error(), request.workbook.string());
    const auto in_workbook = [&](const Error& error) { return in_file(error, request.workbook.string()); };

    if (add) {
        const auto kept = keep(*workbook, *fresh);
        if (!kept) return in_workbook(kept.error());
        Answer answer = targets_answer(request, {*kept}, {}, "Kept");
        const auto all = workbook->targets();
        if (!all) return in_workbook(all.error());
        if (const auto alike = twins_of(*kept, *all); !alike.empty())
            answer.messages.push_back("this may be a color that is kept already: " + twin_words(alike, *all) +
                                      "; see swatchwright find --duplicates");
        if (request.typed && request.sd_assumed)
            answer.messages.push_back("no --sd is given: a standard deviation of " + brief(request.sd) + " is assumed in each of L*, a*, b*");
        return answer;
    }
    const auto readings = workbook->readings();
    if (!readings) return in_workbook(readings.error());
    const auto photos = workbook->photos();
    if (!photos) return in_workbook(photos.error());
    const auto off_record = targets_off_record(*readings, *photos);
    if (request.action == TargetAction::list) {
        auto all = workbook->targets();
        if (!all) return in_workbook(all.error());
        if (request.kind) std::erase_if(*all, [&](const Target& target) { return target.kind != *request.kind; });
        std::vector<Target> targets;
        std::vector<Distance> distances;
        for (Hit<Target>& hit : arranged(
                 *std::move(all), request.list,
                 [](const Target& target) {
                     return std::optional(KnownColor{target.lab, target.lab_covariance});
                 },
                 [](const Target& target) { return target.name; })) {
            if (hit.distance) distances.push_back(*hit.distance);
            targets.push_back(std::move(hit.item));
        }
        return targets_answer(request, targets, off_record, "", distances);
    }
    const auto target = workbook->target(request.name);
    if (!target) return in_workbook(target.error());
    if (request.action == TargetAction::show) return targets_answer(request, {*target}, off_record);
    const auto removed = workbook->remove_target(target->id);
    if (!removed) return in_workbook(removed.error());
    return targets_answer(request, {*target}, off_record, "Removed");
}

}  // namespace sw
