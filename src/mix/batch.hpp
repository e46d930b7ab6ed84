// A recipe in another size: drops, milliliters, grams, and what rounding makes of the color.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "mix/paint.hpp"

namespace sw {

/// A share of a recipe as people write them; they need not add up to anything.
struct Share {
    int paint = 0;
    double amount = 0;  // >= 0, any unit, the same for all
};
struct BatchPart {
    int paint = 0;
    double ml = 0, drops = 0;     // as asked for
    int whole_drops = 0;          // as it will be counted
    std::optional<double> grams;  // of ml; where the density is known
};
struct Batch {
    std::vector<BatchPart> parts;
    double ml = 0;
    double rounding_de00 = 0;  // between the shares as asked for and the whole drops, CIEDE2000 under the sight
    std::string note;          // "the shares add up to 97: taken as parts of that"; empty if they are 100 or 1
};

/// Shares by volume to a batch of this volume (ml > 0). density: grams a milliliter for each paint of the shelf, 0 where unknown; may be empty.
/// Whole drops are those nearest in color of all that round each amount up or down (up to 12 paints), none below 1 where a share is above 0.
/// Faults: bad_usage (no share above 0, a negative one, no such paint, volume not above 0).
[[nodiscard]] Result<Batch> batch_of(const Shelf&, const std::vector<Share>&, double ml, const Sight&, const std::vector<double>& density = {});

/// Volume of paint for an area: coats times area over what a milliliter covers. cm2, coats > 0; cm2 a milliliter > 0; loss 0..1 of what is sprayed
/// past or stays in the cup. Fault bad_usage: out of range.
[[nodiscard]] Result<double> batch_ml(double cm2, double coats, double cm2_per_ml, double loss = 0);

/// Shares of a pot as it was mixed, additions of one paint together.
[[nodiscard]] std::vector<Share> shares_of(const Shelf&, const Recipe&);

}  // namespace sw
