#include "viewer/commands.hpp"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>

#include "sheet/build_plan.hpp"
#include "viewer/line_words.hpp"
#include "viewer/words.hpp"
#include "workbook/mix_desk.hpp"
#include "workbook/reading_request.hpp"

namespace sw::window {
namespace {

constexpr double kTypedSd = 0.5;  // of each of L*, a*, b* that are typed: as the command assumes it

bool lrv_possible(double lrv) { return std::isfinite(lrv) && lrv > 0 && lrv <= 100; }

Error lrv_error(double lrv) {
    return Error{.fault = Fault::gray_unusable,
                 .file = {},
                 .place = "LRV " + shortest(lrv),
                 .cause = "a card's LRV is more than 0 and at most 100",
                 .remedy = "type the figure printed on the card, often 18"};
}

std::optional<Error> name_error(const std::string& name) {
    if (name.empty()) return bad_line("there is no name", "type a name for it first");
    if (name.size() > 200 || std::any_of(name.begin(), name.end(), [](unsigned char c) { return c < 32 || c == 127; }))
        return bad_line("this name cannot be kept", "use at most 200 letters, in one line", name);
    return std::nullopt;
}

/// What the row keeps of the calibration: in words, and all that is needed to take the reading again.
std::string provenance_text(const Work& work, const Results& results, const Context& context, bool against_chip) {
    nlohmann::json json = nlohmann::json::object();
    if (results.calibration) json = nlohmann::json::parse(calibration_text(*results.calibration));
    json["work"] = to_script(work);
    const std::string text = json.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
    ReadingRequest request;
    request.references = work.references;
    request.chart_asked = true;
    request.transfer = work.transfer;
    const Result<Light> under = light("D50");
    if (!under) return text;
    request.under = *under;
    if (!work.lit_by.empty()) {
        Result<Light> lit_by = light(work.lit_by, context.read_file, context.own);
        if (!lit_by) return text;  // a file that is gone: without its spectrum nothing can be taken again
        request.lit_by = std::move(*lit_by);
    }
    if (against_chip) request.chip = work.chip;
    request.tolerance = work.tolerance;
    request.textured = work.textured;
    return with_request(text, request);
}

/// What a step makes of a row that was added: done, or the error.
template <class Row>
Result<Done> done_of(const Result<Row>& added) {
    return added ? Result<Done>(Done{}) : added.error();
}

Result<Done> keep_photo(Workbook& workbook, const std::shared_ptr<const Photo>& photo) {
    if (!photo) return Done{};
    return done_of(workbook.keep(kept_photo(*photo)));
}

Error unknown(const std::string& place, const std::string& cause) {
    return {.fault = Fault::name_unknown, .file = {}, .place = place, .cause = cause, .remedy = "see the list of what is kept (F7)"};
}

Error taken(const std::string& name) {
    return {.fault = Fault::name_taken,
            .file = {},
            .place = "target " + name,
            .cause = "a target of this name is kept already",
            .remedy = "choose another name, or remove the old one first"};
}

/// A reading of a region of the photo as it is kept. chip: it is held against that one.
KeptReading kept_reading(const Work& work, const Context& context, const std::string& name, const Reading& reading, const Region& region,
                         bool against_chip) {
    KeptReading row;
    row.name = name;
    row.photo_file = work.photo;
    row.photo_hash = context.results.photo ? context.results.photo->content_hash : "";
    row.region = to_text(region);
    row.calibration_json = provenance_text(work, context.results, context, against_chip);
    row.lab = reading.lab;
    row.lab_covariance = reading.lab_covariance;
    row.light = reading.light;
    return row;
}

struct Planner {
    const Work& now;
    const Context& context;
    Step step{now, now, {}, {}};

    [[nodiscard]] Result<Target> target_named(const std::string& name) const {
        for (const Target& target : context.shelf.targets) {
            if (target.name == name) return target;
        }
        return unknown("target " + name, "no target of this name is kept");
    }
    [[nodiscard]] bool target_there(const std::string& name) const { return static_cast<bool>(target_named(name)); }

    /// What the work keeps of a light: a lamp of the user's by its name, all others in their canonical form.
    [[nodiscard]] Result<std::string> light_name(const std::string& text) const {
        for (const Lamp& lamp : context.shelf.lamps) {
            if (lamp.name == text && !light(text, context.read_file)) return text;
        }
        const Result<Light> known = light(text, context.read_file, context.own);
        if (!known) return known.error();
        return known->name;
    }

    /// By its path, or by its name where only one part bears it.
    [[nodiscard]] Result<Part> part_named(const std::string& name) const {
        const std::vector<Part>& parts = context.shelf.parts;
        const Part* found = nullptr;
        for (const Part& part : parts) {
            if (part_path(parts, part) == name) return part;
        }
        for (const Part& part : parts) {
            if (part.name != name) continue;
            if (found != nullptr)
                return bad_line("there are several parts of this name", "write its path, like \"Car no. 2/" + name + "\"", "part " + name);
            found = &part;
        }
        if (found == nullptr) return unknown("part " + name, "there is no part of this name");
        return *found;
    }

    /// A step that changes one part.
    template <class Change>
    Result<Step> with_part(const std::string& name, const std::string& sentence, Change change) {
        Result<Part> part = part_named(name);
        if (!part) return part.error();
        Part changed = *part;
        change(changed);
        step.edit = [changed](Workbook& workbook) { return workbook.put(changed); };
        step.sentence = sentence;
        return step;
    }

    Result<Step> operator()(const OpenPhoto& c) {
        if (c.path.empty()) return bad_line("no path was given", "type the path of a photo, or drop the file on the window");
        step.after = Work{.photo = c.path,
                          .transfer = {},
                          .lit_by = {},
                          .references = {},
                          .chip = {},
                          .swatch = {},
                          .tolerance = now.tolerance,
                          .textured = now.textured,
                          .lights = now.lights};
        step.sentence = "Opened " + file_name(c.path);
        return step;
    }
    Result<Step> operator()(const SetTransfer& c) {
        step.after.transfer = c.transfer;
        step.sentence = "Encoding: " + transfer_text(c.transfer);
        return step;
    }
    Result<Step> operator()(const SetLitBy& c) {
        if (!c.light.empty()) {
            const auto name = light_name(c.light);
            if (!name) return name.error();
            step.after.lit_by = *name;
        } else {
            step.after.lit_by.clear();
        }
        step.sentence = "Lit by " + (c.light.empty() ? "an unknown light" : step.after.lit_by);
        return step;
    }
    Result<Step> operator()(const SetGray& c) {
        auto& grays = step.after.references.grays;
        if (c.index > grays.size())
            return bad_line("there are only " + std::to_string(grays.size()) + " gray cards",
                            "mark card " + std::to_string(grays.size() + 1) + " first");
        if (c.index == grays.size()) grays.push_back({c.region, 18});
        grays[c.index].region = c.region;
        if (c.lrv) {
            if (!lrv_possible(*c.lrv)) return lrv_error(*c.lrv);
            grays[c.index].lrv = *c.lrv;
        }
        step.sentence = "Marked the " + std::string(c.index == 0 ? "gray card" : "gray card no. " + std::to_string(c.index + 1)) + ", LRV " +
                        shortest(grays[c.index].lrv);
        return step;
    }
    Result<Step> operator()(const SetLrv& c) {
        if (!lrv_possible(c.lrv)) return lrv_error(c.lrv);
        if (c.index >= now.references.grays.size()) return bad_line("there is no gray card yet", "mark it first: G, then drag a box over it");
        step.after.references.grays[c.index].lrv = c.lrv;
        step.sentence = "Gray card's LRV is " + shortest(c.lrv);
        return step;
    }
    Result<Step> operator()(const FindChart&) {
        step.after.references.chart = {ChartMode::automatic, {}};
        step.sentence = "Looked for the 24-patch chart";
        return step;
    }
    Result<Step> operator()(const SetChartCorners& c) {
        step.after.references.chart = {ChartMode::corners, c.corners};
        step.sentence = "Marked the 24-patch chart";
        return step;
    }
    Result<Step> operator()(const ClearChart&) {
        step.after.references.chart = {};
        step.sentence = "Took the 24-patch chart away";
        return step;
    }
    Result<Step> operator()(const SetKnown& c) {
        if (const auto error = name_error(c.name)) return *error;
        auto& known = step.after.references.known;
        const auto old = std::find_if(known.begin(), known.end(), [&](const KnownReference& k) { return k.name == c.name; });
        if (old == known.end()) {
            known.push_back({c.name, c.region, c.lab});
        } else {
            *old = {c.name, c.region, c.lab};
        }
        step.sentence = "Marked the known chip " + c.name;
        return step;
    }
    Result<Step> operator()(const SetChip& c) {
        step.after.chip = c.region;
        step.sentence = "Marked the chip";
        return step;
    }
    Result<Step> operator()(const SetSwatch& c) {
        step.after.swatch = c.region;
        step.sentence = "Marked the swatch";
        return step;
    }
    Result<Step> operator()(const RemoveRegion& c) {
        References& references = step.after.references;
        const auto missing = [&] { return bad_line("the " + title(c.what.mark, c.what.index) + " is not marked", "nothing to remove"); };
        switch (c.what.mark) {
            case Mark::none:
                return bad_line("nothing is selected", "click a region first");
            case Mark::gray:
                if (c.what.index >= references.grays.size()) return missing();
                references.grays.erase(references.grays.begin() + static_cast<std::ptrdiff_t>(c.what.index));
                break;
            case Mark::known:
                if (c.what.index >= references.known.size()) return missing();
                references.known.erase(references.known.begin() + static_cast<std::ptrdiff_t>(c.what.index));
                break;
            case Mark::chart:
                references.chart = {};
                break;
            case Mark::chip:
                step.after.chip.reset();
                break;
            case Mark::swatch:
                step.after.swatch.reset();
                break;
        }
        step.sentence = "Removed: " + title(c.what.mark, c.what.index);
        return step;
    }
    Result<Step> operator()(const SetTolerance& c) {
        if (!(c.de00 >= 0.1 && c.de00 <= 50))
            return bad_line("a tolerance is 0.1 to 50", "2 is usual for a model seen at arm's length", "tolerance " + shortest(c.de00));
        step.after.tolerance = c.de00;
        step.sentence = "Tolerance ΔE00 " + shortest(c.de00);
        return step;
    }
    Result<Step> operator()(const SetTextured& c) {
        step.after.textured = c.textured;
        step.sentence = c.textured ? "Textured surfaces: lightness counts half" : "Smooth surfaces: lightness counts whole";
        return step;
    }
    Result<Step> operator()(const AddLight& c) {
        const auto name = light_name(c.light);
        if (!name) return name.error();
        auto& lights = step.after.lights;
        const bool there = std::find(lights.begin(), lights.end(), *name) != lights.end();
        if (lights.size() >= 12 && !there) return bad_line("twelve lights are as many as can be shown", "remove one first");
        if (!there) lights.push_back(*name);
        step.sentence = "Judge under " + *name + " too";
        return step;
    }
    Result<Step> operator()(const RemoveLight& c) {
        std::string name = c.light;
        if (std::find(now.lights.begin(), now.lights.end(), name) == now.lights.end()) {
            if (const auto known = light_name(c.light)) name = *known;
        }
        if (std::erase(step.after.lights, name) == 0) return bad_line("the list of lights does not hold " + c.light, "see the list in step 4, Match");
        if (step.after.lights.empty()) return bad_line("one light must stay", "add another one first");
        step.sentence = "No longer judged under " + name;
        return step;
    }
    Result<Step> operator()(const SaveTarget& c) {
        if (const auto error = name_error(c.name)) return *error;
        if (!context.results.chip || !now.chip)
            return bad_line("there is no reading of the chip yet", "mark the chip first: C, then drag a box over it");
        if (target_there(c.name)) return taken(c.name);
        const Reading& chip = *context.results.chip;
        const Target target{.id = 0,
                            .name = c.name,
                            .lab = chip.lab,
                            .lab_covariance = chip.lab_covariance,
                            .kind = TargetKind::chip,
                            .light = chip.light,
                            .observer = chip.observer,
                            .source = file_name(now.photo) + " " + to_text(*now.chip),
                            .created = {}};
        const KeptReading reading = kept_reading(now, context, c.name, chip, *now.chip, false);
        step.edit = [target, reading, photo = context.results.photo](Workbook& workbook) -> Result<Done> {
            const Result<Target> kept = workbook.add(target);
            if (!kept) return kept.error();
            KeptReading of_it = reading;
            of_it.target = kept->id;
            if (const Result<KeptReading> added = workbook.add(std::move(of_it)); !added) return added.error();
            return keep_photo(workbook, photo);
        };
        step.sentence = "Kept the chip as target " + c.name;
        return step;
    }
    Result<Step> operator()(const SaveReading& c) {
        if (const auto error = name_error(c.name)) return *error;
        if (!context.results.swatch || !now.swatch)
            return bad_line("there is no reading of the swatch yet", "mark the swatch first: S, then drag a box over it");
        const auto& comparison = context.results.comparison;
        KeptReading row = kept_reading(now, context, c.name, *context.results.swatch, *now.swatch, comparison.has_value());
        if (comparison) {
            const Difference& d = comparison->difference;
            row.de00 = d.de00;
            row.ci_low = d.ci95.low;
            row.ci_high = d.ci95.high;
            row.verdict = to_word(d.verdict);
            // The target is the one that was kept from this very chip, if any.
            const std::string source = now.chip ? file_name(now.photo) + " " + to_text(*now.chip) : "";
            for (const Target& target : context.shelf.targets) {
                if (!source.empty() && target.source == source) row.target = target.id;
            }
        }
        step.edit = [row, photo = context.results.photo](Workbook& workbook) -> Result<Done> {
            if (const Result<KeptReading> added = workbook.add(row); !added) return added.error();
            return keep_photo(workbook, photo);
        };
        step.sentence = "Kept the swatch as reading " + c.name;
        return step;
    }
    Result<Step> operator()(const AddTarget& c) {
        if (const auto error = name_error(c.name)) return *error;
        if (target_there(c.name)) return taken(c.name);
        Target target;
        target.name = c.name;
        target.lab = c.lab;
        target.lab_covariance = Eigen::Matrix3d::Identity() * (kTypedSd * kTypedSd);
        target.source = "typed; ± " + shortest(kTypedSd) + " assumed";
        step.edit = [target](Workbook& workbook) { return done_of(workbook.add(target)); };
        step.sentence = "Typed target " + c.name;
        return step;
    }
    Result<Step> operator()(const RenameTarget& c) {
        if (const auto error = name_error(c.to)) return *error;
        Result<Target> target = target_named(c.name);
        if (!target) return target.error();
        if (c.to != c.name && target_there(c.to)) return taken(c.to);
        Target renamed = *std::move(target);
        renamed.name = c.to;
        step.edit = [renamed](Workbook& workbook) { return workbook.put(renamed); };
        step.sentence = "Renamed target " + c.name + " to " + c.to;
        return step;
    }
    Result<Step> operator()(const RemoveTarget& c) {
        const Result<Target> target = target_named(c.name);
        if (!target) return target.error();
        step.edit = [id = target->id](Workbook& workbook) { return workbook.remove_target(id); };
        step.sentence = "Removed target " + c.name;
        return step;
    }
    Result<Step> operator()(const RemoveReading& c) {
        for (const KeptReading& reading : context.shelf.readings) {
            if (reading.id != c.id) continue;
            step.edit = [id = c.id](Workbook& workbook) { return workbook.remove_reading(id); };
            step.sentence = "Removed reading " + reading.name;
            return step;
        }
        return unknown("reading " + std::to_string(c.id), "no such reading is kept");
    }
    [[nodiscard]] Result<KeptPot> pot_of_name(const std::string& name) const {
        if (context.shelf.mix) {
            for (const KeptPot& pot : context.shelf.mix->pots) {
                if (pot.name == name) return pot;
            }
        }
        return unknown("pot " + name, "there is no pot of this name");
    }
    Result<Step> operator()(const StartPot& c) {
        if (const auto error = name_error(c.name)) return *error;
        const Result<Target> target = target_named(c.target);
        if (!target) return target.error();
        KeptPot pot;
        pot.name = c.name;
        pot.target = target->id;
        pot.tolerance = now.tolerance;
        step.edit = [pot](Workbook& workbook) { return done_of(workbook.add(pot)); };
        step.sentence = "Started pot " + c.name + " for " + c.target;
        return step;
    }
    Result<Step> operator()(const AddDrops& c) {
        const Result<KeptPot> pot = pot_of_name(c.pot);
        if (!pot) return pot.error();
        std::vector<KeptAddition> additions;
        for (const auto& [name, drops] : c.drops) {
            const Result<KeptPaint> paint = paint_named(*context.shelf.mix, name);
            if (!paint) return paint.error();
            const Result<KeptAddition> one = counted_addition(*paint, pot->id, drops, "drops");
            if (!one) return one.error();
            additions.push_back(*one);
            step.sentence +=
                (step.sentence.empty() ? "Added to pot " + c.pot + ": " : ", ") + std::to_string(drops) + (drops == 1 ? " drop " : " drops ") + name;
        }
        if (additions.empty()) return bad_line("no paint is given", "write for example add-drops \"" + c.pot + "\" \"Titanium White\" 4");
        step.edit = [additions](Workbook& workbook) -> Result<Done> {
            for (const KeptAddition& one : additions) {
                if (const auto added = workbook.add(one); !added) return added.error();
            }
            return Done{};
        };
        return step;
    }
    Result<Step> operator()(const ReadPot& c) {
        const Result<KeptPot> pot = pot_of_name(c.pot);
        if (!pot) return pot.error();
        const MixBook& book = *context.shelf.mix;
        const auto additions = additions_of(book.additions, pot->id);
        const auto last = last_put_in(additions);
        if (!last) return bad_line("nothing is in the pot yet, so it has no color", "say what went in first", "pot " + c.pot);
        if (!context.results.swatch || !now.swatch || !context.results.photo || !context.results.calibration)
            return bad_line("there is no reading of the swatch yet", "mark the dry test piece as the swatch: S, then drag a box over it");
        // Under the target's own light where it has a name, so that the two can be held against each other.
        const Target* target = pot->target ? book.target(*pot->target) : nullptr;
        KeptPotReading read;
        auto under = light(target == nullptr ? "D50" : target->light, {}, book.lamps);
        const bool own = under && target != nullptr;
        if (!under) under = light("D50");
        if (!under) return under.error();
        read.light = own ? target->light : "D50";
        read.observer = own ? target->observer : Observer::degree2;
        const auto reading = read_region(*context.results.photo, *context.results.calibration, "swatch", *now.swatch, *under, read.observer);
        if (!reading) return reading.error();
        if (!reading->absolute_ok)
            return Error{Fault::color_unknown, now.photo, "swatch", "a color by itself cannot be told from this photo",
                         "see what step 2, White, says of it"};
        read.pot = pot->id;
        read.addition = *last;
        read.lab = reading->lab;
        read.lab_covariance = reading->lab_covariance;
        read.source = file_name(now.photo) + " " + to_text(*now.swatch);
        if (const auto held = judge(book, *pot, tolerance_of(*pot), read); !held) return held.error();
        KeptReading row = kept_reading(now, context, "pot " + c.pot, *reading, *now.swatch, false);
        row.target = pot->target;
        step.edit = [read, row, photo = context.results.photo](Workbook& workbook) -> Result<Done> {
            const Result<KeptReading> kept = workbook.add(row);
            if (!kept) return kept.error();
            KeptPotReading of_it = read;
            of_it.reading = kept->id;
            if (const auto added = workbook.add(of_it); !added) return added.error();
            return keep_photo(workbook, photo);
        };
        step.sentence = "Read pot " + c.pot;
        return step;
    }
    Result<Step> operator()(const RemovePot& c) {
        const Result<KeptPot> pot = pot_of_name(c.pot);
        if (!pot) return pot.error();
        step.edit = [id = pot->id](Workbook& workbook) { return workbook.remove_pot(id); };
        step.sentence = "Removed pot " + c.pot;
        return step;
    }
    Result<Step> operator()(const AddPart& c) {
        if (const auto error = name_error(c.name)) return *error;
        Part part;
        part.name = c.name;
        if (!c.in.empty()) {
            const Result<Part> parent = part_named(c.in);
            if (!parent) return parent.error();
            part.parent = parent->id;
        }
        step.edit = [part](Workbook& workbook) { return done_of(workbook.add(part)); };
        step.sentence = "Added part " + c.name + (c.in.empty() ? "" : " in " + c.in);
        return step;
    }
    Result<Step> operator()(const RenamePart& c) {
        if (const auto error = name_error(c.to)) return *error;
        return with_part(c.part, "Renamed part " + c.part + " to " + c.to, [&](Part& part) { part.name = c.to; });
    }
    Result<Step> operator()(const SetPartStatus& c) {
        return with_part(c.part, "Part " + c.part + ": " + status_words(c.status), [&](Part& part) { part.status = c.status; });
    }
    Result<Step> operator()(const SetPartTarget& c) {
        if (c.target.empty()) {
            return with_part(c.part, "Part " + c.part + " wears no target", [&](Part& part) { part.target.reset(); });
        }
        const Result<Target> target = target_named(c.target);
        if (!target) return target.error();
        return with_part(c.part, "Part " + c.part + " wears " + c.target, [&](Part& part) {
            part.target = target->id;
            if (part.status == PartStatus::missing) part.status = PartStatus::target;
        });
    }
    Result<Step> operator()(const RemovePart& c) {
        const Result<Part> part = part_named(c.part);
        if (!part) return part.error();
        step.edit = [id = part->id](Workbook& workbook) { return workbook.remove_part(id); };
        step.sentence = "Removed part " + c.part;
        return step;
    }
    Result<Step> operator()(const AddLamp& c) {
        if (const auto error = name_error(c.name)) return *error;
        if (now.lit_by.empty()) return bad_line("the picture's light is unknown", "type it under Lit by first, then give it a name");
        Lamp lamp;
        lamp.name = c.name;
        const Result<Light> under = light(now.lit_by, context.read_file, context.own);
        if (!under) return under.error();
        lamp.light = under->name;
        if (!light(lamp.light))
            return bad_line("a light that is a file, or a lamp already, cannot be given a name here", "use: swatchwright lamp add", now.lit_by);
        lamp.source = "named in the window";
        step.after.lit_by = c.name;
        step.edit = [lamp](Workbook& workbook) { return done_of(workbook.add(lamp)); };
        step.sentence = "Named the lamp " + c.name + ": " + lamp.light;
        return step;
    }
    Result<Step> operator()(const RemoveLamp& c) {
        for (const Lamp& lamp : context.shelf.lamps) {
            if (lamp.name != c.name) continue;
            if (now.lit_by == c.name) step.after.lit_by = lamp.light;
            step.edit = [id = lamp.id](Workbook& workbook) { return workbook.remove_lamp(id); };
            step.sentence = "Removed lamp " + c.name;
            return step;
        }
        return unknown("lamp " + c.name, "there is no lamp of this name");
    }
    Result<Step> operator()(const RemovePhoto& c) {
        for (const KeptPhoto& photo : context.shelf.photos) {
            if (photo.hash != c.hash) continue;
            step.edit = [id = photo.id](Workbook& workbook) { return workbook.remove_photo(id); };
            step.sentence = "Forgot the photo " + file_name(photo.path);
            return step;
        }
        return unknown("photo " + c.hash, "no such photo is on record");
    }
    Result<Step> operator()(const AddNote& c) {
        if (c.text.empty()) return bad_line("the note is empty", "type some words first");
        Note note;
        note.text = c.text;
        switch (c.on) {
            case NoteOn::target: {
                const Result<Target> target = target_named(c.name);
                if (!target) return target.error();
                note.target = target->id;
                break;
            }
            case NoteOn::part: {
                const Result<Part> part = part_named(c.name);
                if (!part) return part.error();
                note.part = part->id;
                break;
            }
            case NoteOn::reading: {
                const auto& readings = context.shelf.readings;
                const auto found =
                    std::find_if(readings.begin(), readings.end(), [&](const KeptReading& r) { return std::to_string(r.id) == c.name; });
                if (found == readings.end()) return unknown("reading " + c.name, "no such reading is kept");
                note.reading = found->id;
                break;
            }
        }
        step.edit = [note](Workbook& workbook) { return done_of(workbook.add(note)); };
        step.sentence = "Noted on " + c.name;
        return step;
    }
    Result<Step> operator()(const RemoveNote& c) {
        const auto& notes = context.shelf.notes;
        if (std::none_of(notes.begin(), notes.end(), [&](const Note& note) { return note.id == c.id; }))
            return unknown("note " + std::to_string(c.id), "there is no such note");
        step.edit = [id = c.id](Workbook& workbook) { return workbook.remove_note(id); };
        step.sentence = "Removed a note";
        return step;
    }
};

}  // namespace

Result<Step> plan(const Work& now, const Command& command, const Context& context) { return std::visit(Planner{now, context}, command); }

}  // namespace sw::window
