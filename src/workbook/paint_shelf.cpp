#include "workbook/paint_shelf.hpp"

#include <algorithm>
#include <map>

#include "color/light.hpp"
#include "mix/belief.hpp"

namespace sw {
namespace {

Error shelf_error(const std::string& place, const std::string& cause, const std::string& remedy) { return {Fault::bad_usage, "", place, cause, remedy}; }

Result<ColorRead> color_read(const Lab& lab, const Eigen::Matrix3d& covariance, const std::string& light_name, Observer observer,
                             const std::string& place) {
    const Result<Light> under = light(light_name);
    if (!under) {
        Error error = under.error();
        error.place = place;
        return error;
    }
    return ColorRead{sight(*under, observer), lab, covariance};
}

Result<PaintSample> paint_sample(const KeptSample& kept, const std::string& place) {
    PaintSample sample;
    sample.share = kept.share;
    if (kept.spectrum.empty()) {
        Result<ColorRead> read = color_read(kept.lab, kept.lab_covariance, kept.light, kept.observer, place);
        if (!read) return read.error();
        sample.color = *std::move(read);
        return sample;
    }
    const Result<Reflectance> surface = surface_of(kept.spectrum, place);
    if (!surface) return surface.error();
    sample.spectrum = SpectrumRead{on_model_grid(surface->bands), kept.spectrum_sd};
    return sample;
}

/// L* of the masstone; nothing where none was seen.
std::optional<double> masstone_lightness(const KeptPaint& paint) {
    for (const KeptSample& sample : paint.samples) {
        if (sample.share < 1) continue;
        if (sample.spectrum.empty()) return sample.lab.L;
        const Result<Reflectance> surface = surface_of(sample.spectrum, paint.name);
        const Result<Light> d50 = light("D50");
        if (surface && d50) return seen(on_model_grid(surface->bands), sight(*d50, Observer::degree2)).L;
    }
    return std::nullopt;
}

/// What most tints are let down with, else the lightest masstone, else a paint whose pigment is a white one.
const KeptPaint* white_of(const std::vector<const KeptPaint*>& paints) {
    std::map<std::int64_t, int> votes;
    for (const KeptPaint* paint : paints) {
        if (paint->white) ++votes[*paint->white];
    }
    const KeptPaint* best = nullptr;
    for (const KeptPaint* paint : paints) {
        if (votes[paint->id] > 0 && (best == nullptr || votes[paint->id] > votes[best->id])) best = paint;
    }
    if (best != nullptr) return best;
    for (const KeptPaint* paint : paints) {
        const auto lightness = masstone_lightness(*paint), least = best != nullptr ? masstone_lightness(*best) : std::nullopt;
        if (lightness && *lightness > 70 && (!least || *lightness > *least)) best = paint;
    }
    if (best != nullptr) return best;
    for (const KeptPaint* paint : paints) {
        const auto pigment = pigment_class(paint->pigment);
        if (pigment && *pigment == PigmentClass::white) return paint;
    }
    return nullptr;
}

Result<std::vector<const KeptPaint*>> chosen(const std::vector<KeptPaint>& paints, const std::vector<std::string>& only) {
    std::vector<const KeptPaint*> found;
    for (const KeptPaint& paint : paints) found.push_back(&paint);
    if (only.empty()) return found;
    const KeptPaint* white = white_of(found);
    std::vector<const KeptPaint*> some;
    for (const std::string& name : only) {
        const auto at = std::find_if(paints.begin(), paints.end(), [&](const KeptPaint& paint) { return paint.name == name; });
        if (at == paints.end())
            return Error{Fault::name_unknown, "", "paint \"" + name + "\"", "there is no paint of that name", "list the shelf with swatchwright paint list"};
        some.push_back(&*at);
    }
    if (white != nullptr && std::find(some.begin(), some.end(), white) == some.end()) some.push_back(white);
    return some;
}

Result<Done> put_on(PaintShelf& shelf, const KeptPaint& paint, std::int64_t white, const std::vector<KeptPaint>& all) {
    PaintStart start;
    start.paint.name = paint.name;
    start.paint.maker = paint.maker;
    start.paint.code = paint.code;
    start.paint.binder = paint.binder;
    start.paint.finish = paint.finish;
    start.paint.drop = paint.drop;
    if (const auto pigment = pigment_class(paint.pigment)) start.pigment = *pigment;
    std::vector<PaintSample> samples;
    bool left_out = false;
    for (const KeptSample& kept : paint.samples) {
        if (kept.share < 1 && (paint.id == white || paint.white != white)) {
            left_out = true;
            continue;
        }
        Result<PaintSample> sample = paint_sample(kept, "paint \"" + paint.name + "\"");
        if (!sample) return sample.error();
        samples.push_back(*std::move(sample));
    }
    if (left_out) {
        const auto other = std::find_if(all.begin(), all.end(), [&](const KeptPaint& one) { return paint.white == one.id; });
        shelf.messages.push_back("\"" + paint.name + "\": its tints are left out, for they were let down with " +
                                 (other == all.end() ? "another paint" : "\"" + other->name + "\"") + ", not with the shelf's white");
    }
    if (samples.empty())
        shelf.messages.push_back("\"" + paint.name + "\": " + (paint.pigment.empty() ? "nothing of it was seen" : "only its pigment is known") +
                                 ", so its mixes are told with a wide range; add what it looks like: paint measure");
    Result<Shelf> more = with_paint(shelf.shelf, start, samples);
    if (!more) {
        Error error = more.error();
        error.place = "paint \"" + paint.name + "\"" + (error.place.empty() ? "" : ": " + error.place);
        return error;
    }
    shelf.shelf = *std::move(more);
    shelf.ids.push_back(paint.id);
    shelf.density.push_back(paint.density.value_or(0));
    return Done{};
}

}  // namespace

int PaintShelf::place_of(std::int64_t id) const {
    const auto at = std::find(ids.begin(), ids.end(), id);
    return at == ids.end() ? -1 : static_cast<int>(at - ids.begin());
}

Result<PaintShelf> paint_shelf(const std::vector<KeptPaint>& paints, const std::vector<std::string>& only) {
    if (paints.empty()) return shelf_error("", "there is no paint on the shelf", "add those you have: swatchwright paint add NAME --masstone L,a,b");
    const auto taken = chosen(paints, only);
    if (!taken) return taken.error();
    const KeptPaint* white = white_of(*taken);
    if (white == nullptr)
        return shelf_error("", "no paint on the shelf can be its white, from which all others are reckoned",
                           "add a white: swatchwright paint add NAME --masstone L,a,b --pigment PW6");
    PaintShelf shelf;
    std::vector<ModelSpectrum> masstones;
    for (const KeptPaint* paint : *taken) {
        for (const KeptSample& sample : paint->samples) {
            if (sample.share < 1 || sample.spectrum.empty()) continue;
            if (const Result<Reflectance> surface = surface_of(sample.spectrum, paint->name)) masstones.push_back(on_model_grid(surface->bands));
        }
    }
    shelf.shelf.surface = fitted_surface(masstones);
    if (const Result<Done> done = put_on(shelf, *white, white->id, paints); !done) return done.error();
    for (const KeptPaint* paint : *taken) {
        if (paint == white) continue;
        if (const Result<Done> done = put_on(shelf, *paint, white->id, paints); !done) return done.error();
    }
    return shelf;
}

Result<ShelfPots> shelf_pots(const PaintShelf& shelf, const std::vector<KeptPot>& pots, const std::vector<KeptAddition>& additions,
                             const std::vector<PotColor>& colors, std::int64_t with) {
    ShelfPots found;
    for (const KeptPot& kept : pots) {
        if (!kept.teaches && kept.id != with) continue;
        Pot pot;
        pot.name = kept.name;
        bool on_shelf = true;
        for (const KeptAddition& one : additions) {
            if (one.pot != kept.id) continue;
            const int place = shelf.place_of(one.paint);
            on_shelf = on_shelf && place >= 0;
            pot.additions.push_back({place, one.drops});
        }
        if (!on_shelf || pot.additions.empty()) continue;
        for (const PotColor& color : colors) {
            if (color.pot != kept.id || !kept.teaches || color.after > static_cast<int>(pot.additions.size())) continue;
            Result<ColorRead> read = color_read(color.lab, color.lab_covariance, color.light, color.observer, "pot \"" + kept.name + "\"");
            if (!read) return read.error();
            pot.readings.push_back({color.after, *std::move(read), {}});
        }
        if (pot.readings.empty() && kept.id != with) continue;  // it teaches nothing
        found.pots.push_back(std::move(pot));
        found.ids.push_back(kept.id);
    }
    return found;
}

}  // namespace sw
