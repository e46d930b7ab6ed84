#include "workbook/paint_shelf.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "color/light.hpp"
#include "mix/belief.hpp"
#include "spectral/surface_posterior.hpp"

namespace sw {
namespace {

// Dry film in which the shelf's white scatters once: 1 / S of a white of some 120 / mm. Common practice, no source; its doubt is in kFilmSd.
constexpr double kMicronsPerUnit = 8;
constexpr double kFilmSd = 0.3, kUnknownFilm = 3, kUnknownFilmSd = 0.7;

Error shelf_error(const std::string& place, const std::string& cause, const std::string& remedy) {
    return {Fault::bad_usage, "", place, cause, remedy};
}

Result<ColorRead> color_read(const MixBook& book, const Lab& lab, const Eigen::Matrix3d& covariance, const std::string& light_name, Observer observer,
                             const std::string& place) {
    const Result<Light> under = light(light_name, {}, book.lamps);
    if (!under) {
        Error error = under.error();
        error.place = place + ": light \"" + light_name + "\"";
        return error;
    }
    return ColorRead{sight(*under, observer), lab, covariance};
}

/// As it was laid; without a film it hides.
Result<Coat> coat_of(const CoatLaid& laid, const std::string& place) {
    Coat coat;
    if (laid.coat) coat.surface_seen = *laid.coat == Finish::gloss ? 0 : *laid.coat == Finish::satin ? 0.5 : 1;
    if (!laid.under) return coat;
    coat.thickness = laid.film_um ? *laid.film_um / kMicronsPerUnit : kUnknownFilm;
    const Result<Light> d50 = light("D50");
    const Result<SurfacePosterior> under = surface_posterior(*laid.under, kExact, *d50, Observer::degree2);
    if (!under) {
        Error error = under.error();
        error.place = place + ": undercoat";
        return error;
    }
    coat.undercoat = under->mean.cwiseMax(0.002).cwiseMin(0.99);
    return coat;
}

double film_sd(const CoatLaid& laid) { return laid.film_um ? std::hypot(laid.film_cv.value_or(kFilmSd), kFilmSd) : kUnknownFilmSd; }

Result<PaintSample> paint_sample(const MixBook& book, const KeptSample& kept, const std::string& place, int lone_film) {
    PaintSample sample;
    sample.share = kept.share;
    const Result<Coat> coat = coat_of(kept.laid, place);
    if (!coat) return coat.error();
    sample.coat = *coat;
    if (coat->thickness > 0) {
        sample.film = kept.film ? static_cast<int>(*kept.film) : lone_film;
        sample.film_sd = film_sd(kept.laid);
    }
    if (kept.spectrum.empty()) {
        Result<ColorRead> read = color_read(book, kept.lab, kept.lab_covariance, kept.light, kept.observer, place);
        if (!read) return read.error();
        sample.color = *std::move(read);
        return sample;
    }
    const Result<Reflectance> surface = surface_of(kept.spectrum, place);
    if (!surface) return surface.error();
    // Instruments read 0 in deep blacks, and a little over 1 in whites: one such reading must not stop all others.
    constexpr double kLeast = 0.0005;
    sample.spectrum = SpectrumRead{on_model_grid(surface->value).cwiseMax(kLeast).cwiseMin(1.0), kept.spectrum_sd.value_or(0.003)};
    return sample;
}

bool counts(const KeptSample& sample, const KeptPaint& paint) { return sample.paint == paint.id && !sample.set_aside; }

std::optional<double> masstone_lightness(const MixBook& book, const KeptPaint& paint) {
    for (const KeptSample& sample : book.samples) {
        if (counts(sample, paint) && sample.share == 1) return sample.lab.L;
    }
    return std::nullopt;
}

PigmentClass class_of(const KeptPaint& paint) {
    std::set<PigmentClass> classes;
    for (const std::string& name : pigments_of(paint.pigments)) {
        const auto known = pigment_class(name);
        if (known) classes.insert(*known);
    }
    return classes.size() == 1 ? *classes.begin() : PigmentClass::any;
}

/// Said to be, else what most tints are let down with, else the lightest masstone, else a paint of a white pigment. Null: none.
const KeptPaint* white_of(const MixBook& book, const std::vector<const KeptPaint*>& paints) {
    for (const KeptPaint* paint : paints) {
        if (paint->white) return paint;
    }
    std::map<std::int64_t, int> votes;
    for (const KeptSample& sample : book.samples) {
        if (sample.white) ++votes[*sample.white];
    }
    const KeptPaint* best = nullptr;
    for (const KeptPaint* paint : paints) {
        if (votes[paint->id] > 0 && (best == nullptr || votes[paint->id] > votes[best->id])) best = paint;
    }
    if (best != nullptr) return best;
    constexpr double kLight = 70;  // darker ones are no white
    double lightest = kLight;
    for (const KeptPaint* paint : paints) {
        const auto lightness = masstone_lightness(book, *paint);
        if (!lightness || *lightness <= lightest) continue;
        best = paint;
        lightest = *lightness;
    }
    if (best != nullptr) return best;
    for (const KeptPaint* paint : paints) {
        if (class_of(*paint) == PigmentClass::white) return paint;
    }
    return nullptr;
}

/// Those that are there, and those that only pots name.
std::vector<const KeptPaint*> taken_paints(const MixBook& book) {
    std::vector<const KeptPaint*> taken;
    for (const KeptPaint& paint : book.paints) {
        const bool in_a_pot =
            std::any_of(book.additions.begin(), book.additions.end(), [&](const KeptAddition& one) { return one.paint == paint.id; });
        if (paint.on_shelf || in_a_pot) taken.push_back(&paint);
    }
    return taken;
}

Result<Done> put_on(PaintShelf& shelf, const MixBook& book, const KeptPaint& paint, std::int64_t white) {
    PaintStart start;
    start.paint.name = paint.name;
    start.paint.maker = paint.maker;
    start.paint.code = paint.code;
    start.paint.binder = paint.binder;
    start.paint.finish = paint.finish.value_or(Finish::matte);
    start.paint.drop.ml = paint.drop_ml.value_or(start.paint.drop.ml);
    start.paint.drop.cv = paint.drop_cv.value_or(start.paint.drop.cv);
    start.pigment = class_of(paint);
    const std::string place = "paint \"" + paint.name + "\"";
    std::vector<PaintSample> samples;
    std::set<std::int64_t> others;
    int lone_film = 2'000'000;  // above all that can be kept
    for (const KeptSample& kept : book.samples) {
        if (!counts(kept, paint)) continue;
        if (kept.share < 1 && (paint.id == white || (kept.white && *kept.white != white))) {
            others.insert(kept.white.value_or(0));
            continue;
        }
        Result<PaintSample> sample = paint_sample(book, kept, place, lone_film++);
        if (!sample) return sample.error();
        samples.push_back(*std::move(sample));
    }
    for (const std::int64_t other : others) {
        const KeptPaint* named = book.paint(other);
        shelf.messages.push_back("\"" + paint.name + "\": its tints are left out, for they were let down with " +
                                 (named == nullptr ? "another paint" : "\"" + named->name + "\"") + ", not with the shelf's white");
    }
    if (samples.empty())
        shelf.messages.push_back("\"" + paint.name + "\": " + (paint.pigments.empty() ? "nothing of it was seen" : "only its pigment is known") +
                                 ", so its mixes are told with a wide range; say what it looks like with paint measure");
    Result<Shelf> more = with_paint(shelf.shelf, start, samples);
    if (!more) {
        Error error = more.error();
        error.place = place + (error.place.empty() ? "" : ": " + error.place);
        return error;
    }
    shelf.shelf = *std::move(more);
    shelf.ids.push_back(paint.id);
    shelf.there.push_back(paint.on_shelf);
    shelf.density.push_back(paint.density.value_or(0));
    return Done{};
}

// Letters that must change, come or go to make one name of the other, without case (Levenshtein).
std::size_t apart(const std::string& one, const std::string& two) {
    const auto low = [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + ('a' - 'A')) : c; };
    std::vector<std::size_t> row(two.size() + 1);
    for (std::size_t j = 0; j <= two.size(); ++j) row[j] = j;
    for (std::size_t i = 1; i <= one.size(); ++i) {
        std::size_t corner = row[0];
        row[0] = i;
        for (std::size_t j = 1; j <= two.size(); ++j) {
            const std::size_t change = corner + (low(one[i - 1]) == low(two[j - 1]) ? 0 : 1);
            corner = row[j];
            row[j] = std::min({row[j] + 1, row[j - 1] + 1, change});
        }
    }
    return row.back();
}

template <class T>
const T* with_id(const std::vector<T>& all, std::int64_t id) {
    const auto found = std::find_if(all.begin(), all.end(), [&](const T& one) { return one.id == id; });
    return found == all.end() ? nullptr : &*found;
}

}  // namespace

const KeptPaint* MixBook::paint(std::int64_t id) const { return with_id(paints, id); }
const KeptPot* MixBook::pot(std::int64_t id) const { return with_id(pots, id); }
const Target* MixBook::target(std::int64_t id) const { return with_id(targets, id); }

Result<MixBook> mix_book(const Workbook& workbook) {
    auto paints = workbook.paints();
    if (!paints) return paints.error();
    auto samples = workbook.samples();
    if (!samples) return samples.error();
    auto pots = workbook.pots();
    if (!pots) return pots.error();
    auto additions = workbook.additions();
    if (!additions) return additions.error();
    auto readings = workbook.pot_readings();
    if (!readings) return readings.error();
    auto targets = workbook.targets();
    if (!targets) return targets.error();
    auto lamps = workbook.lamps();
    if (!lamps) return lamps.error();
    return MixBook{*std::move(paints),  *std::move(samples),          *std::move(pots), *std::move(additions), *std::move(readings),
                   *std::move(targets), own_lights(*std::move(lamps))};
}

Result<KeptPaint> paint_named(const MixBook& book, const std::string& name) {
    std::vector<std::pair<std::size_t, const KeptPaint*>> near;
    for (const KeptPaint& paint : book.paints) {
        if (paint.name == name) return paint;
        near.emplace_back(apart(paint.name, name), &paint);
    }
    std::stable_sort(near.begin(), near.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    if (!near.empty() && near[0].first == 0) return *near[0].second;  // but for case
    std::string names;
    for (std::size_t i = 0; i < std::min<std::size_t>(near.size(), 3); ++i) {
        if (i > 0 && near[i].first > std::max<std::size_t>(near[0].first + 2, 4)) break;
        names += (i == 0 ? "\"" : ", \"") + near[i].second->name + "\"";
    }
    return Error{Fault::name_unknown, "", "paint \"" + name + "\"", "there is no paint of that name",
                 names.empty() ? "there is none at all yet: swatchwright paint add NAME --masstone L,a,b"
                               : "nearest are " + names + "; swatchwright paint list names all"};
}

int PaintShelf::place_of(std::int64_t id) const {
    const auto at = std::find(ids.begin(), ids.end(), id);
    return at == ids.end() ? -1 : static_cast<int>(at - ids.begin());
}

const KeptPaint* shelf_white(const MixBook& book) { return white_of(book, taken_paints(book)); }

Result<PaintShelf> paint_shelf(const MixBook& book) {
    const std::vector<const KeptPaint*> taken = taken_paints(book);
    if (taken.empty()) return shelf_error("", "there is no paint on the shelf", "add those you have: swatchwright paint add NAME --masstone L,a,b");
    const KeptPaint* white = white_of(book, taken);
    if (white == nullptr)
        return shelf_error("", "no paint on the shelf can be its white, by which all others are reckoned",
                           "add one: swatchwright paint add NAME --masstone L,a,b --is-white yes");
    PaintShelf shelf;
    std::vector<ModelSpectrum> masstones;
    for (const KeptSample& sample : book.samples) {
        if (sample.share < 1 || sample.spectrum.empty() || sample.set_aside || sample.laid.coat) continue;
        if (const Result<Reflectance> surface = surface_of(sample.spectrum, "a masstone")) masstones.push_back(on_model_grid(surface->value));
    }
    shelf.shelf.surface = fitted_surface(masstones);
    if (const Result<Done> done = put_on(shelf, book, *white, white->id); !done) return done.error();
    for (const KeptPaint* paint : taken) {
        if (paint == white) continue;
        if (const Result<Done> done = put_on(shelf, book, *paint, white->id); !done) return done.error();
    }
    return shelf;
}

namespace {

/// Goes through a pot's record, up to the first thing in it that nobody knows. step: told each addition, and how much of what was in the pot before
/// is left of it (1, but where some was taken out).
template <class Step>
PotContent walk(const MixBook& book, std::int64_t pot, const Step& step) {
    PotContent content;
    const std::vector<KeptAddition> all = additions_of(book.additions, pot);
    std::set<std::int64_t> explained, numbers;
    for (const KeptAddition& one : all) {
        if (one.explains) explained.insert(*one.explains);
        numbers.insert(one.number);
    }
    for (const KeptAddition& one : all) {
        if (!numbers.contains(one.number - 1) && one.number > 1) content.lost = true;
        if (one.kind == AdditionKind::unknown && !explained.contains(one.id) && content.unknown == 0) content.unknown = one.id;
        if (content.lost || content.unknown != 0) break;
        double left = 1;
        if (one.kind == AdditionKind::taken) {  // the mix stays what it is, there is less of it
            constexpr double kLeast = 0.01;     // the record says more went out than was in: hardly anything is left
            left = std::max(1 - *one.ml / std::max(content.ml, 1e-9), kLeast);
            content.ml *= left;
            content.drops *= left;
            for (auto& [id, ml] : content.paints) ml *= left;
        } else if (one.kind == AdditionKind::paint) {
            const KeptPaint* paint = book.paint(*one.paint);
            const double drop = paint == nullptr ? Drop{}.ml : paint->drop_ml.value_or(Drop{}.ml);
            content.ml += *one.ml;
            content.drops += one.unit == "drops" ? *one.amount : *one.ml / drop;
            const auto known =
                std::find_if(content.paints.begin(), content.paints.end(), [&](const auto& entry) { return entry.first == *one.paint; });
            if (known == content.paints.end())
                content.paints.emplace_back(*one.paint, *one.ml);
            else
                known->second += *one.ml;
        }
        step(one, left);
    }
    return content;
}

}  // namespace

PotContent content_of(const MixBook& book, std::int64_t pot) {
    return walk(book, pot, [](const KeptAddition&, double) {});
}

Result<PotOnShelf> pot_on_shelf(const MixBook& book, const PaintShelf& shelf, const KeptPot& kept) {
    PotOnShelf found;
    found.id = kept.id;
    found.pot.name = kept.name;
    std::map<std::int64_t, int> after;  // additions of the shelf's pot up to one of the record
    bool all_there = true;
    found.content = walk(book, kept.id, [&](const KeptAddition& one, double left) {
        for (Addition& addition : found.pot.additions) addition.drops *= left;
        if (one.kind == AdditionKind::paint) {
            const int place = shelf.place_of(*one.paint);
            all_there = all_there && place >= 0;
            const double drop = place < 0 ? Drop{}.ml : shelf.shelf.paints[static_cast<std::size_t>(place)].drop.ml;
            found.pot.additions.push_back({place, *one.ml / drop, one.spread.value_or(0)});
        }
        after[one.id] = static_cast<int>(found.pot.additions.size());
        if (one.explains) after[*one.explains] = after[one.id];  // a test piece read after the unknown one is of what it was believed to be
    });
    if (!all_there)  // cannot happen: paints in pots are on it
        return shelf_error("pot \"" + kept.name + "\"", "a paint in it is not on the shelf", "put it there");
    for (const KeptPotReading& reading : book.readings) {
        if (reading.pot != kept.id || reading.wet || reading.set_aside || !after.contains(reading.addition)) continue;
        const std::string place = "pot \"" + kept.name + "\"";
        Result<ColorRead> read = color_read(book, reading.lab, reading.lab_covariance, reading.light, reading.observer, place);
        if (!read) return read.error();
        const Result<Coat> coat = coat_of(reading.laid, place);
        if (!coat) return coat.error();
        PotReading seen_so{after.at(reading.addition), *std::move(read), *coat};
        if (seen_so.after < 1) continue;
        if (coat->thickness > 0) {  // what is not known of the film is not known of the color, to first order
            std::vector<Volume> in;
            for (int i = 0; i < seen_so.after; ++i) {
                const Addition& one = found.pot.additions[static_cast<std::size_t>(i)];
                in.push_back({one.paint, one.drops * shelf.shelf.paints[static_cast<std::size_t>(one.paint)].drop.ml});
            }
            const auto with = [&](double factor) {
                Coat other = *coat;
                other.thickness *= factor;
                const Lab lab = seen(appearance(medium(shelf.shelf, in), shelf.shelf.surface, other).reflectance, seen_so.color.sight);
                return Eigen::Vector3d(lab.L, lab.a, lab.b);
            };
            const double sd = film_sd(reading.laid);
            const Eigen::Vector3d moved = (with(std::exp(sd)) - with(std::exp(-sd))) / 2;
            seen_so.color.covariance += moved * moved.transpose();
        }
        found.coat = {};
        found.coat.surface_seen = coat->surface_seen;
        found.pot.readings.push_back(std::move(seen_so));
        found.readings.push_back(reading.id);
    }
    return found;
}

int LearnedShelf::place_of_pot(std::int64_t id) const {
    const auto at = std::find_if(pots.begin(), pots.end(), [&](const PotOnShelf& pot) { return pot.id == id; });
    return at == pots.end() ? -1 : static_cast<int>(at - pots.begin());
}

Result<LearnedShelf> learned_shelf(const MixBook& book, std::int64_t pot) {
    auto start = paint_shelf(book);
    if (!start) return start.error();
    LearnedShelf shelf{*std::move(start), {}, {}};
    std::vector<Pot> pots;
    const KeptPot* asked = book.pot(pot);
    const auto wanted = [&](std::int64_t id) { return id == pot || (asked != nullptr && asked->batch_of == id); };
    for (auto kept = book.pots.rbegin(); kept != book.pots.rend(); ++kept) {  // oldest first
        if (!kept->teaches && !wanted(kept->id)) continue;
        auto one = pot_on_shelf(book, shelf.start, *kept);
        if (!one) return one.error();
        if (!kept->teaches) {
            one->pot.readings.clear();
            one->readings.clear();
        }
        if (one->pot.additions.empty() || (one->pot.readings.empty() && !wanted(kept->id))) continue;  // it teaches nothing
        pots.push_back(one->pot);
        shelf.pots.push_back(*std::move(one));
    }
    Result<Learned> learned = learn(shelf.start.shelf, pots);
    if (!learned) return learned.error();
    shelf.learned = *std::move(learned);
    return shelf;
}

std::optional<double> stock_now(const MixBook& book, const KeptPaint& paint) {
    if (!paint.stock_ml) return std::nullopt;
    double left = *paint.stock_ml;
    for (const KeptAddition& one : book.additions) {
        if (one.paint == paint.id && one.kind == AdditionKind::paint && one.created > paint.stock_said) left -= *one.ml;
    }
    return std::max(left, 0.0);
}

}  // namespace sw
