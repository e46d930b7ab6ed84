// swatchwright paint: the shelf.
#include <algorithm>

#include "cli/book_job.hpp"
#include "cli/commands.hpp"
#include "cli/exit_code.hpp"
#include "cli/mix_answers.hpp"
#include "cli/photo_job.hpp"
#include "cli/text.hpp"
#include "color/light.hpp"

namespace sw {
namespace {

/// A sample read from a photo, with what is kept of the photo.
struct SampleFromPhoto {
    KeptSample sample;
    KeptPhoto photo;
    KeptReading reading;
};

Result<SampleFromPhoto> sample_from(const PaintRequest& request) {
    const PlaceInPhoto& place = *request.photo;
    const auto d50 = light("D50");
    if (!d50) return d50.error();
    const auto photo = open_photo(place.photo, Observer::degree2);
    if (!photo) return photo.error();
    const auto reading = read_region(*photo->photo, photo->calibration, request.name, place.region, *d50, Observer::degree2);
    if (!reading) return in_file(reading.error(), place.photo.file);
    if (!reading->absolute_ok) return color_unknown(place.photo.file, request.name + " " + to_text(place.region));
    SampleFromPhoto made;
    made.sample.share = request.photo_share;
    made.sample.lab = reading->lab;
    made.sample.lab_covariance = reading->lab_covariance;
    made.sample.laid = request.photo_laid;
    made.sample.source = place.photo.file + " " + to_text(place.region);
    made.photo = kept_photo(*photo->photo);
    made.reading = kept_reading(*photo, *reading, *d50);
    return made;
}

/// What is said of it, into the paint. Names what cannot be.
Result<Done> describe_paint(KeptPaint& paint, const PaintRequest& request) {
    for (const auto& [said, into] : {std::pair{&request.maker, &paint.maker},
                                     {&request.code, &paint.code},
                                     {&request.binder, &paint.binder},
                                     {&request.pigments, &paint.pigments},
                                     {&request.note, &paint.note},
                                     {&request.rename, &paint.name}}) {
        if (*said) *into = **said;
    }
    if (request.finish) paint.finish = request.finish;
    if (request.is_white) paint.white = *request.is_white;
    if (request.on_shelf) paint.on_shelf = *request.on_shelf;
    for (const auto& [said, into] : {std::pair{&request.drop_ml, &paint.drop_ml},
                                     {&request.density, &paint.density},
                                     {&request.bottle_ml, &paint.bottle_ml},
                                     {&request.price, &paint.price}}) {
        if (*said) *into = *said;
    }
    if (request.drop_g) {
        if (!paint.density)
            return Error{Fault::bad_usage, "", "--drop-g", "a drop's weight says its volume only with a density",
                         "add --density G/ML, or give --drop-ml"};
        paint.drop_ml = *request.drop_g / *paint.density;
    }
    if (request.stock_ml) {
        paint.stock_ml = request.stock_ml;
        paint.stock_said = time_now();
    }
    return Done{};
}

/// One white at most.
Result<Done> no_other_white(Workbook& workbook, const KeptPaint& paint) {
    if (!paint.white) return Done{};
    const auto all = workbook.paints();
    if (!all) return all.error();
    for (KeptPaint other : *all) {
        if (other.id == paint.id || !other.white) continue;
        other.white = false;
        if (const auto put = workbook.put(other); !put) return put;
    }
    return Done{};
}

Result<Done> keep_samples(Workbook& workbook, const PaintRequest& request, const KeptPaint& paint, const std::optional<SampleFromPhoto>& fresh) {
    std::optional<std::int64_t> white;
    const auto read = mix_book(workbook);
    if (!read) return read.error();
    const MixBook& book = *read;
    // A white that was said, or that other tints are let down with, is meant here too, whatever comes to the shelf later; one that is only the
    // lightest so far is not.
    if (const KeptPaint* usual = shelf_white(book);
        usual != nullptr && usual->id != paint.id &&
        (usual->white || std::any_of(book.samples.begin(), book.samples.end(), [&](const KeptSample& one) { return one.white == usual->id; })))
        white = usual->id;
    if (!request.white.empty()) {
        const auto named = paint_named(book, request.white);
        if (!named) return named.error();
        white = named->id;
    }
    std::int64_t film = 0;
    for (const KeptSample& sample : book.samples) {
        if (sample.paint == paint.id) film = std::max(film, sample.film.value_or(0));
    }
    const auto keep = [&](KeptSample sample) -> Result<Done> {
        sample.paint = paint.id;
        if (sample.share < 1) sample.white = white;
        if (sample.film) sample.film = film + 1;
        if (const auto added = workbook.add(sample); !added) return added.error();
        return Done{};
    };
    for (const KeptSample& sample : request.samples) {
        if (const auto kept = keep(sample); !kept) return kept;
    }
    if (!fresh) return Done{};
    if (const auto photo = workbook.keep(fresh->photo); !photo) return photo.error();
    const auto reading = workbook.add(fresh->reading);
    if (!reading) return reading.error();
    KeptSample sample = fresh->sample;
    sample.reading = reading->id;
    return keep(sample);
}

Result<Answer> learn_answer(const PaintRequest& request, Workbook& workbook) {
    const auto all = workbook.pots();
    if (!all) return all.error();
    std::vector<KeptPot> changed;
    const auto teach = [&](const std::vector<std::string>& names, bool teaches) -> Result<Done> {
        for (const std::string& name : names) {
            auto pot = workbook.pot(name);
            if (!pot) return pot.error();
            pot->teaches = teaches;
            changed.push_back(*pot);
        }
        return Done{};
    };
    if (const auto done = teach(request.forget, false); !done) return done.error();
    if (const auto done = teach(request.recall, true); !done) return done.error();
    for (KeptPot pot : request.reset ? *all : std::vector<KeptPot>()) {
        if (!pot.teaches) continue;
        pot.teaches = false;
        changed.push_back(pot);
    }
    if (!changed.empty()) {
        const auto done = workbook.together("Changed what pots teach of the paints", [&]() -> Result<Done> {
            for (const KeptPot& pot : changed) {
                if (const auto put = workbook.put(pot); !put) return put;
            }
            return Done{};
        });
        if (!done) return done.error();
    }
    const auto book = mix_book(workbook);
    if (!book) return book.error();
    const auto shelf = learned_shelf(*book);
    if (!shelf) return shelf.error();
    return Answer{request.json ? learned_json(*shelf, *book) : learned_report(*shelf, *book), {}, kDone};
}

Result<Answer> paint_answer(const PaintRequest& request, Workbook& workbook, const std::optional<SampleFromPhoto>& fresh) {
    const std::string shown = request.workbook.string();
    if (request.action == PaintAction::learn) return learn_answer(request, workbook);
    const auto tell = [&](const std::string& name, const std::string& verb) -> Result<Answer> {
        const auto book = mix_book(workbook);
        if (!book) return book.error();
        std::vector<PaintTold> told;
        for (const KeptPaint& paint : book->paints) {
            if (name.empty() || paint.name == name) told.push_back(told_of(*book, paint));
        }
        if (request.json) return Answer{paints_json(told, *book), {}, kDone};
        if (request.action == PaintAction::show) return Answer{paint_report(told.front(), *book), {}, kDone};
        return Answer{paints_report(told, verb, shown), {}, kDone};
    };
    if (request.action == PaintAction::list) return tell("", "");
    KeptPaint paint;
    if (request.action == PaintAction::add) {
        paint.name = request.name;
        paint.source = "typed";
    } else {
        const auto book = mix_book(workbook);
        if (!book) return book.error();
        const auto named = paint_named(*book, request.name);
        if (!named) return named.error();
        paint = *named;
        if (request.action == PaintAction::remove) {
            const auto told = told_of(*book, paint);
            const bool needed = told.pots > 0 || std::any_of(book->samples.begin(), book->samples.end(),
                                                             [&](const KeptSample& sample) { return sample.white == paint.id; });
            if (needed) {  // what is in a pot must stay known
                paint.on_shelf = false;
                if (const auto put = workbook.put(paint); !put) return put.error();
                auto answer = tell(paint.name, "Took off the shelf:");
                if (answer)
                    answer->messages.push_back("\"" + paint.name + "\" stays in the workbook, because " +
                                               (told.pots > 0 ? "it is in " + counted(told.pots, "pot") : "tints of others were let down with it"));
                return answer;
            }
            if (const auto removed = workbook.remove_paint(paint.id); !removed) return removed.error();
            return Answer{request.json ? paints_json({told}, *book) : paints_report({told}, "Removed", shown), {}, kDone};
        }
    }
    if (request.action == PaintAction::show) return tell(paint.name, "");
    if (const auto described = describe_paint(paint, request); !described) return described.error();
    const bool add = request.action == PaintAction::add;
    const std::string words = (add                                  ? "Added paint \""
                               : request.action == PaintAction::set ? "Changed paint \""
                                                                    : "Measured paint \"") +
                              paint.name + "\"";
    const auto done = workbook.together(words, [&]() -> Result<Done> {
        if (add) {
            const auto added = workbook.add(paint);
            if (!added) return added.error();
            paint = *added;
        } else if (request.action == PaintAction::set) {
            if (const auto put = workbook.put(paint); !put) return put;
        }
        if (const auto other = no_other_white(workbook, paint); !other) return other;
        return keep_samples(workbook, request, paint, fresh);
    });
    if (!done) return done.error();
    auto answer = tell(paint.name, add ? "Kept" : "Changed");
    if (answer && request.sd_assumed) answer->messages.push_back("no --sd is given: a standard deviation of 0.5 is assumed in each of L*, a*, b*");
    return answer;
}

}  // namespace

Result<Answer> run(const PaintRequest& request) {
    const std::string shown = request.workbook.string();
    std::optional<SampleFromPhoto> fresh;
    if (request.photo) {  // before the workbook is made: a bad photo leaves no empty workbook behind
        auto made = sample_from(request);
        if (!made) return made.error();
        fresh = *std::move(made);
    }
    BookRequest opening;
    opening.action = request.action == PaintAction::add ? BookAction::add : BookAction::list;
    opening.name = request.name;
    opening.workbook = request.workbook;
    opening.workbook_given = request.workbook_given;
    auto opened = book_of(opening);
    if (!opened) return opened.error();
    if (!*opened) {
        if (request.action != PaintAction::list) return no_workbook(opening, "paint");
        return Answer{request.json ? paints_json({}, {}) : paints_report({}, "", shown), {}, kDone};
    }
    auto answer = paint_answer(request, **opened, fresh);
    if (!answer) return in_file(answer.error(), shown);
    return answer;
}

}  // namespace sw
