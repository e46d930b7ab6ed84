#include "mix/batch.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>

#include "color/difference.hpp"

namespace sw {
namespace {

Error no_batch(std::string cause, std::string remedy) {
    return Error{.fault = Fault::bad_usage, .file = {}, .place = {}, .cause = std::move(cause), .remedy = std::move(remedy)};
}

}  // namespace

Result<Batch> batch_of(const Shelf& shelf, const std::vector<Share>& shares, double ml, const Sight& sight, const std::vector<double>& density) {
    if (!(ml > 0 && ml < 1e6)) return no_batch("the batch has no volume", "give it in milliliters, above 0");
    double sum = 0;
    for (const Share& s : shares) {
        if (s.paint < 0 || s.paint >= static_cast<int>(shelf.paints.size())) return no_batch("a paint is not on the shelf", "put it there");
        if (!(s.amount >= 0 && s.amount < 1e9)) return no_batch("a share is below 0", "give how much of it, or leave it out");
        sum += s.amount;
    }
    if (!(sum > 0)) return no_batch("no share is above 0", "give how much of each paint");
    Batch batch;
    if (std::abs(sum - 100) > 0.01 && std::abs(sum - 1) > 1e-4) {
        char text[80];
        std::snprintf(text, sizeof text, "the shares add up to %g: taken as parts of that", sum);
        batch.note = text;
    }
    std::vector<Volume> exact;
    for (const Share& s : shares) {
        if (s.amount == 0) continue;
        const auto p = static_cast<std::size_t>(s.paint);
        BatchPart part;
        part.paint = s.paint;
        part.ml = ml * s.amount / sum;
        part.drops = part.ml / shelf.paints[p].drop.ml;
        if (p < density.size() && density[p] > 0) part.grams = part.ml * density[p];
        batch.parts.push_back(part);
        exact.push_back({s.paint, part.ml});
    }
    const Lab wanted = seen(appearance(medium(shelf, exact), shelf.surface).reflectance, sight);
    double best = std::numeric_limits<double>::infinity();
    const std::size_t ways = std::size_t{1} << std::min<std::size_t>(batch.parts.size(), 12);
    for (std::size_t way = 0; way < ways; ++way) {
        std::vector<int> drops;
        std::vector<Volume> in;
        for (std::size_t i = 0; i < batch.parts.size(); ++i) {
            const double asked = batch.parts[i].drops;
            const bool up = i < 12 ? ((way >> i) & 1U) != 0 : asked - std::floor(asked) >= 0.5;
            drops.push_back(std::max(1, static_cast<int>(std::floor(asked)) + (up ? 1 : 0)));
            in.push_back({batch.parts[i].paint, drops.back() * shelf.paints[static_cast<std::size_t>(batch.parts[i].paint)].drop.ml});
        }
        const double off = difference_2000(wanted, seen(appearance(medium(shelf, in), shelf.surface).reflectance, sight));
        if (!(off < best)) continue;
        best = off;
        batch.ml = 0;
        for (std::size_t i = 0; i < in.size(); ++i) {
            batch.parts[i].whole_drops = drops[i];
            batch.ml += in[i].ml;
        }
    }
    batch.rounding_de00 = best;
    return batch;
}

Result<double> batch_ml(double cm2, double coats, double cm2_per_ml, double loss) {
    if (!(cm2 > 0 && coats > 0 && cm2_per_ml > 0 && loss >= 0 && loss < 1))
        return no_batch("area, coats or coverage is not above 0, or the loss not 0 up to 1", "give them as they are");
    return cm2 * coats / cm2_per_ml / (1 - loss);
}

std::vector<Share> shares_of(const Shelf& shelf, const Recipe& recipe) {
    std::vector<Share> shares;
    for (const Volume& v : volumes(shelf, recipe)) {
        const auto at = std::find_if(shares.begin(), shares.end(), [&](const Share& s) { return s.paint == v.paint; });
        if (at == shares.end())
            shares.push_back({v.paint, v.ml});
        else
            at->amount += v.ml;
    }
    return shares;
}

}  // namespace sw
